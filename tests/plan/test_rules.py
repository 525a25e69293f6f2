"""Stations of a plan against their device descriptions: where a file is found, and what is held against it.

Plan and descriptions are invented. What a keyword means has its source in data/description_keywords.csv; what a rule of
the plan rests on stands in data/plan_rules.csv.
"""

import shutil

import pytest
from plan_tables import DEMO, as_csv, as_xlsx, demo, put, row_of

from helpers.plan.check import check, remarks
from helpers.plan.model import DescriptionFile
from helpers.plan.read import read_plan
from helpers.plan.save import plan_files
from helpers.verdict import Degree

COMPACT = (DEMO.parent / "descriptions" / "Mil_FFF2.gsd").read_bytes()
VALVE = "Dust filter valve"  # PPO 3, 1 ms, described by Mil_FFF2.gsd


def with_valve(**cells):
    """The tables of the demo with other cells in the row of the valve."""
    tables = demo()
    for heading, value in cells.items():
        put(tables, "stations", row_of(tables, "stations", name=VALVE), heading.replace("_", " "), value)
    return tables


def findings(plan, rule):
    return [finding for finding in check(plan) if finding.rule == rule and finding.place == VALVE]


def degree(rule, files=None, **cells):
    (found,) = findings(read_plan(as_csv(with_valve(**cells)) | (files or {})), rule)
    return found.degree


def own(old, new):
    assert COMPACT.count(old) == 1
    return {"own.gsd": COMPACT.replace(old, new)}


def test_every_drive_of_the_demo_is_held_against_its_description():
    plan = read_plan(DEMO)
    drives = [station for station in plan.networks[0].slaves if station.kind == "drive"]
    rules = ("device description", "ident number", "bit rate of a station", "setting of the bit rate",
             "format in the description", "min slave interval described")  # fmt: skip
    for rule in rules:
        found = [finding for finding in check(plan) if finding.rule == rule]
        assert [finding.place for finding in found] == [station.name for station in drives]
        assert {finding.degree for finding in found} == {Degree.IN_ORDER}


def test_a_plan_without_the_columns_stays_readable_and_is_asked_for_none():
    tables = demo()
    for row in tables["stations"]:
        if len(row) > 22:
            del row[20:22]
    assert tables["stations"][1][19:] == ["watchdog (ms)", "note"]
    plan = read_plan(as_csv(tables))
    assert {station.description for station in plan.networks[0].stations} == {""}
    assert not [finding for finding in check(plan) if "description" in finding.rule]
    assert remarks(check(plan)) == ()


# -- where a file is found ----------------------------------------------------------------------------


def test_beside_the_tables_comes_before_the_demo_descriptions(tmp_path):
    shutil.copytree(DEMO, tmp_path, dirs_exist_ok=True)
    assert findings(read_plan(tmp_path), "setting of the bit rate")[0].degree is Degree.IN_ORDER
    (tmp_path / "MIL_fff2.GSD").write_bytes(COMPACT.replace(b"Auto_Baud_supp = 1", b"Auto_Baud_supp = 0"))
    (tmp_path / "Mil_0815.gsd").write_bytes(b"no station names it")
    plan = read_plan(tmp_path)
    assert [file.name for file in plan.networks[0].descriptions] == ["MIL_fff2.GSD"]
    assert findings(plan, "setting of the bit rate")[0].degree is Degree.CAUTION


def test_beside_a_workbook_and_with_an_upload(tmp_path):
    files = own(b"PPO 3", b"four bytes")
    (name, content), *_ = as_xlsx(with_valve(device_description="own.gsd")).items()
    (tmp_path / name).write_bytes(content)
    (tmp_path / "own.gsd").write_bytes(files["own.gsd"])
    for source in (tmp_path / name, {name: content} | files):
        plan = read_plan(source)
        assert (plan.name, plan.networks[0].descriptions) == ("mill", (DescriptionFile("own.gsd", files["own.gsd"]),))
        assert remarks(check(plan)) == ()


@pytest.mark.parametrize("name", ["lost.gsd", "../saltmarsh-mill/network.csv", "C:\\files\\lost.gsd", "x" * 300])
def test_a_file_that_is_not_there_is_said_once_and_nothing_else_is_asked(name):
    (found,) = remarks(check(read_plan(as_csv(with_valve(device_description=name)))))
    assert (found.rule, found.place, found.degree) == ("device description", VALVE, Degree.CAUTION)
    assert "neither beside the plan nor" in found.found and len(found.found) < 200


def test_a_folder_in_front_of_the_name_does_not_matter():
    assert degree("device description", device_description="D:\\descriptions\\Mil_FFF2.gsd") is Degree.IN_ORDER


@pytest.mark.parametrize("content", [b"", b"\x89PNG\r\n\x1a\n" + bytes(range(256)), b"network,bit rate"])
def test_a_file_that_is_no_description_is_said_once(content):
    tables = with_valve(device_description="own.gsd")
    (found,) = remarks(check(read_plan(as_csv(tables) | {"own.gsd": content})))
    assert (found.rule, found.place, found.degree) == ("device description", VALVE, Degree.CAUTION)
    assert found.found.startswith("own.gsd is no device description")


@pytest.mark.parametrize(("wrong", "count"), [(b"= many", "1 line "), (b"= many\nMax_Module =", "2 lines ")])
def test_lines_that_can_not_be_read_are_counted(wrong, count):
    files = own(b"Fail_Safe = 0", b"Fail_Safe = 0\nMax_Diag_Entries " + wrong)
    plan = read_plan(as_csv(with_valve(device_description="own.gsd")) | files)
    (found,) = remarks(check(plan))
    line = 1 + files["own.gsd"].splitlines().index(b"Max_Diag_Entries = many")
    assert found.found.startswith(f"own.gsd: {count}not as expected; line {line}, Max_Diag_Entries: found 'many'")


# -- both sides of each rule --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("16#FFF2", Degree.IN_ORDER),
        ("65522", Degree.IN_ORDER),
        ("0xFFF1", Degree.BY_STANDARD),
        ("0", Degree.BY_STANDARD),
    ],
)
def test_the_ident_number(written, expected):
    # A station takes part only if the ident number of Set_Prm is its own:
    # PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.734
    assert degree("ident number", ident_number=written) is expected


def test_an_ident_number_is_compared_only_where_the_plan_has_one():
    assert findings(read_plan(as_csv(with_valve(ident_number=""))), "ident number") == []
    files = own(b"Ident_Number = 0xFFF2", b"")
    assert degree("ident number", files, device_description="own.gsd") is Degree.BY_STANDARD


@pytest.mark.parametrize(("old", "new"), [(b"1.5M_supp = 1", b"1.5M_supp = 0"), (b"1.5M_supp = 1", b"")])
def test_the_bit_rate(old, new):
    plan = read_plan(as_csv(with_valve(device_description="own.gsd")) | own(old, new))
    (found,) = remarks(check(plan))
    assert (found.rule, found.degree) == ("bit rate of a station", Degree.CANNOT_WORK)
    assert "500 kbit/s, 3 Mbit/s" in found.found


def test_a_station_that_offers_no_bit_rate_at_all():
    text = b"\n".join(line for line in COMPACT.split(b"\n") if b"_supp = 1" not in line or b"Set" in line)
    plan = read_plan(as_csv(with_valve(device_description="own.gsd")) | {"own.gsd": text})
    assert findings(plan, "bit rate of a station")[0].found == "own.gsd offers none"


@pytest.mark.parametrize(
    ("drive", "controller", "lost"),
    [
        ("PPO 3", "F1", ""),  # by what it means, not by its name
        ("PPO 4", "PPO 3", "no PPO 4"),
        ("PPO 3", "PPO 4", "no PPO 4"),
        ("PPO 1", "PPO 4", "no PPO 1 and no PPO 4"),
        ("long format", "PPO 3", ""),  # a rule of its own says that it is not known
        ("F1 F1", "", "no F1 F1"),  # a device with one set of identifiers takes it once
    ],
)
def test_the_format(drive, controller, lost):
    plan = read_plan(as_csv(with_valve(format_in_drive=drive, format_in_controller=controller)))
    (found,) = findings(plan, "format in the description")
    assert found.degree is (Degree.CANNOT_WORK if lost else Degree.IN_ORDER)
    assert found.found.endswith(lost)
    assert ("gives" in found.found) == bool(lost)


def test_no_format_is_no_question_of_the_description():
    plan = read_plan(as_csv(with_valve(format_in_drive="", format_in_controller="")))
    assert findings(plan, "format in the description") == []


@pytest.mark.parametrize(
    ("planned", "expected"),
    [("1", Degree.IN_ORDER), ("1.1", Degree.IN_ORDER), ("0.9", Degree.CAUTION), ("", Degree.CAUTION)],
)
def test_the_shortest_time_between_polls(planned, expected):
    # Min_Slave_Intervall = 10 stands for 1 ms: it counts in 100 µs (esd CAN-DP and CPCI-DP manuals, commented listing)
    assert degree("min slave interval described", min_slave_interval=planned) is expected


def test_a_description_without_that_time():
    files = own(b"Min_Slave_Intervall = 10", b"")
    plan = read_plan(as_csv(with_valve(device_description="own.gsd")) | files)
    assert findings(plan, "min slave interval described") == []


def test_descriptions_of_stations_that_nobody_polls_are_left_alone():
    tables = demo()
    put(tables, "stations", row_of(tables, "stations", name="Controller"), "device description", "lost.gsd")
    assert remarks(check(read_plan(as_csv(tables)))) == ()


def test_an_ident_number_is_saved_as_people_write_it():
    for workbook in (True, False):
        files = plan_files(read_plan(DEMO), workbook=workbook)
        assert read_plan(files).networks == read_plan(DEMO).networks
    assert b"16#FFF2" in files["stations.csv"]
