"""Reading a plan: every way a spreadsheet may write it gives the right reading, or a sentence that says what is wrong.

The plan is the invented Saltmarsh Mill; what counts as a right reading is our own table of columns.
"""

import io
import math
import zipfile

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plan_tables import DEMO, as_csv, as_xlsx, column, demo, heading_row, put, row_of

from helpers.errors import Unreadable, WorkbookError
from helpers.plan.read import read_plan
from helpers.plan.sheets import PlanUnreadable

HEALTHY = read_plan(DEMO).networks
WHOLE = as_xlsx(demo())


def problems(files):
    with pytest.raises(PlanUnreadable) as refused:
        read_plan(files)
    return refused.value.problems


def only(files):
    (problem,) = problems(files)
    return problem


# The demo plan as it stands


def test_demo_plan_is_read_as_it_is_written():
    (network,) = HEALTHY
    assert (network.name, network.bit_rate, network.cable_type) == ("Mill line", 1.5e6, "A")
    assert [len(segment.plugs) for segment in network.segments] == [9, 4]
    assert [segment.length_m for segment in network.segments] == [16.0, 88.0]
    assert len(network.slaves) == 9
    screw = network.segments[1].plugs[-1]
    assert (screw.name, screw.address, screw.own_supply, screw.terminator_on) == ("Discharge screw", 22, True, False)
    assert (screw.min_slave_interval_s, screw.watchdog_s) == (0.001, 0.2)


def test_stations_and_cables_come_in_the_order_along_the_cable_whatever_the_order_of_the_rows():
    tables = demo()
    for rows in tables.values():
        start = heading_row(rows) + 1
        rows[start:] = rows[: start - 1 : -1]
    for row in tables["cable"][heading_row(tables["cable"]) + 1 :]:
        row[2], row[3] = row[3], row[2]
    (network,) = read_plan(as_csv(tables)).networks
    assert network.segments[::-1] == HEALTHY[0].segments


# Ways of writing the same


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
@pytest.mark.parametrize(("delimiter", "decimal"), [(",", "."), (";", ","), ("\t", ",")])
def test_byte_order_mark_separator_and_decimal_comma(encoding, delimiter, decimal):
    tables = put(demo(), "network", 3, "note", "Mühle für Körner")
    network = read_plan(as_csv(tables, delimiter=delimiter, encoding=encoding, decimal=decimal)).networks[0]
    assert network.segments == HEALTHY[0].segments
    assert network.note == "Mühle für Körner"


def test_a_first_line_that_names_the_separator_is_no_row():
    files = {name: b"sep=;\n" + content for name, content in as_csv(demo(), delimiter=";").items()}
    assert read_plan(files).networks == HEALTHY


@pytest.mark.parametrize(
    ("text", "bit_rate"),
    [("12 Mbit/s", 12e6), ("12Mbit/s", 12e6), ("12000", 12e6), ("93,75 kbit/s", 93750.0), ("1,5 Mbit/s", 1.5e6)],
)
def test_bit_rate_as_people_write_it(text, bit_rate):
    assert read_plan(as_csv(put(demo(), "network", 3, "bit rate", text))).networks[0].bit_rate == bit_rate


@pytest.mark.parametrize(
    ("heading", "text", "length_m"),
    [
        ("length (m)", "85", 85.0),
        ("length", "85", 85.0),
        ("Length [ft]", "100", 30.48),
        ("length (ft)", "85 m", 85.0),
        ("length", "100 ft", 30.48),
        ("length (km)", "0,085", 85.0),
    ],
)
def test_length_in_the_unit_of_the_cell_or_else_of_the_heading(heading, text, length_m):
    tables = demo()
    row = row_of(tables, "cable", **{"from": "Repeater", "to": "Intake conveyor"})
    put(tables, "cable", row, "length", text)
    rows = tables["cable"]
    rows[heading_row(rows)][column(rows, "length")] = heading
    assert read_plan(as_csv(tables)).networks[0].segments[1].pieces[0].length_m == pytest.approx(length_m)


def test_headings_and_words_in_any_case_titles_blank_rows_own_columns_and_remarks():
    tables = demo()
    rows = tables["stations"]
    rows[1] = [text.upper().replace("-", " ") for text in rows[1]]
    for row in rows[2:]:
        row[0] = "mill  LINE"
        row.append("my own")
    rows[1].append("# checked by")
    rows.insert(0, ["Saltmarsh Mill, stations"])
    rows.insert(1, [])
    rows.insert(5, ["", "", ""])
    rows.insert(6, ["# drives from here on"])
    network = read_plan(as_csv(tables)).networks[0]
    assert [s.name for s in network.stations] == [s.name for s in HEALTHY[0].stations]


def test_a_station_may_be_written_with_other_capitals_in_the_cable_table():
    tables = demo()
    put(tables, "cable", row_of(tables, "cable", to="Dryer fan 2"), "to", "dryer Fan  2")
    assert read_plan(as_csv(tables)).networks == HEALTHY


@pytest.mark.parametrize(
    ("text", "on"), [("Yes", True), ("x", True), ("1", True), ("NO", False), ("off", False), ("", False)]
)
def test_yes_and_no_in_several_words(text, on):
    tables = put(demo(), "stations", row_of(demo(), "stations", name="Cooling fan"), "may be off", text)
    assert next(s for s in read_plan(as_csv(tables)).networks[0].stations if s.name == "Cooling fan").may_be_off is on


# Workbooks


def test_workbook_gives_the_same_plan_as_the_folder():
    assert read_plan(as_xlsx(demo())).networks == HEALTHY


def test_sheets_in_another_order_beside_sheets_of_ones_own():
    def shuffle(book):
        book.create_sheet("My notes", 0)["A1"] = "network"
        book.move_sheet("cable", -3)
        book["stations"].title = "Stations "

    assert read_plan(as_xlsx(demo(), shuffle)).networks == HEALTHY


def test_merged_cells_of_words_count_for_every_row():
    def merge(book):
        sheet = book["stations"]
        sheet.merge_cells("A3:A15")
        sheet.merge_cells("B3:B11")
        sheet.merge_cells("B12:B15")

    assert read_plan(as_xlsx(demo(), merge)).networks == HEALTHY


def test_a_merged_length_is_refused_because_it_could_be_one_length_or_a_sum():
    problem = only(as_xlsx(demo(), lambda book: book["cable"].merge_cells("E3:E4")))
    assert (problem.table, problem.row, problem.column) == ("cable", 4, "length")
    assert "merged" in problem.found


def test_formula_without_a_stored_result_is_named():
    def formula(book):
        book["cable"]["E3"] = "=1+1"

    problem = only(as_xlsx(demo(), formula))
    assert (problem.table, problem.row, problem.column) == ("cable", 3, "length")
    assert "spreadsheet program" in problem.found


def test_formula_with_a_stored_result_is_read(tmp_path):
    # openpyxl stores no results; a spreadsheet program does. Its way of storing is written into the file here.
    import zipfile

    (content,) = as_xlsx(demo(), lambda book: book["cable"].__setitem__("E3", "=1+0.5")).values()
    source, target = tmp_path / "plain.xlsx", tmp_path / "mill.xlsx"
    source.write_bytes(content)
    with zipfile.ZipFile(source) as old, zipfile.ZipFile(target, "w") as new:
        for name in old.namelist():
            part = old.read(name)
            new.writestr(name, part.replace(b"<f>1+0.5</f><v />", b"<f>1+0.5</f><v>1.5</v>"))
    assert read_plan(target).networks == HEALTHY


def test_broken_formula_and_date_are_named():
    import datetime

    def spoil(book):
        book["cable"]["E3"] = "#REF!"
        book["stations"]["B3"] = datetime.date(2026, 1, 2)

    found = {(p.table, p.row, p.column): p.found for p in problems(as_xlsx(demo(), spoil))}
    assert "no result" in found["cable", 3, "length"]
    assert "date" in found["stations", 3, "segment"]
    assert len(found) == 2


def test_number_of_a_workbook_may_have_three_decimals_but_a_text_may_not():
    def exact(book):
        book["cable"]["E3"] = 1.234

    assert read_plan(as_xlsx(demo(), exact)).networks[0].segments[0].pieces[0].length_m == 1.234
    assert "one thing only" in only(as_csv(put(demo(), "cable", 3, "length", "1.234"))).expected
    assert (
        read_plan(as_csv(put(demo(), "cable", 3, "length", "1.23"))).networks[0].segments[0].pieces[0].length_m == 1.23
    )
    assert (
        read_plan(as_csv(put(demo(), "cable", 3, "length", "0.125"))).networks[0].segments[0].pieces[0].length_m
        == 0.125
    )


def test_sheet_formatted_to_its_end_is_refused_with_the_remedy():
    def stretch(book):
        book["cable"].cell(6000, 1, " ")

    with pytest.raises(Unreadable, match=r"5000 rows.*Delete"):
        read_plan(as_xlsx(demo(), stretch))


def test_what_would_take_minutes_is_refused_before_it_is_read():
    (content,) = WHOLE.values()
    packed = io.BytesIO(content)
    with zipfile.ZipFile(packed, "a", zipfile.ZIP_DEFLATED) as workbook:
        workbook.writestr("xl/worksheets/long.xml", b" " * 6_000_000)
    with pytest.raises(Unreadable, match=r"'mill\.xlsx' unpacks to 6\.. MB of cells; allowed are 6 MB\. Delete"):
        read_plan({"mill.xlsx": packed.getvalue()})
    files = as_csv(demo())
    files["cable.csv"] += b"x\n" * 5000
    with pytest.raises(Unreadable, match=r"cable\.csv' has more rows or columns than allowed: 5000 rows, 200 columns"):
        read_plan(files)
    files["cable.csv"] = as_csv(demo())["cable.csv"] + b"\n" * 4900
    assert read_plan(files).networks == HEALTHY


@settings(max_examples=40, deadline=None)
@given(st.lists(st.tuples(st.floats(0, 1, exclude_max=True), st.integers(0, 255)), min_size=1, max_size=6))
def test_a_damaged_workbook_is_read_or_refused_in_words(hits):
    (content,) = WHOLE.values()
    damaged = bytearray(content)
    for place, octet in hits:
        damaged[int(place * len(damaged))] = octet
    try:
        read_plan({"mill.xlsx": bytes(damaged)})
    except WorkbookError as error:
        assert str(error)


# Files that are no plan


def test_missing_table_is_named_with_the_file_expected():
    files = as_csv(demo())
    del files["cable.csv"]
    assert str(only(files)) == "table cable: found no such table; expected a file cable.csv, or a sheet cable."


def test_empty_and_headless_tables():
    files = as_csv(demo())
    files["network.csv"] = b""
    assert (only(files).table, only(files).found) == ("network", "an empty table")
    files["network.csv"] = b"Mill line,1.5 Mbit/s\n"
    assert only(files).found == "Mill line | 1.5 Mbit/s"
    files["network.csv"] = b"network,bit rate\n"
    assert "no row" in problems(files)[0].found


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("mill.xlsx", b"not a workbook", "not a workbook"),
        ("mill.xlsx", b"", "not a workbook"),
        ("mill.xls", b"x", "saved as .xlsx"),
        ("network.csv", b"network,bit rate\n", "folder"),
    ],
)
def test_a_file_that_is_no_plan(tmp_path, name, content, said):
    (tmp_path / name).write_bytes(content)
    with pytest.raises(Unreadable, match=said):
        read_plan(tmp_path / name)


def test_nothing_there(tmp_path):
    with pytest.raises(Unreadable, match="is not there"):
        read_plan(tmp_path / "nowhere")
    with pytest.raises(Unreadable, match=r"network\.csv, stations\.csv, cable\.csv.*nothing"):
        read_plan(tmp_path)
    with pytest.raises(Unreadable, match="sheets are Sheet"):
        import openpyxl

        openpyxl.Workbook().save(tmp_path / "empty.xlsx")
        read_plan(tmp_path / "empty.xlsx")
    with pytest.raises(Unreadable, match="give the workbook itself"):
        read_plan(tmp_path)
    with pytest.raises(Unreadable, match="second table cable"):
        read_plan(as_csv(demo()) | {"Cables.txt": b""})
    with pytest.raises(Unreadable, match="second table cable"):
        read_plan(as_xlsx(demo(), lambda book: book.create_sheet("cables")))
    with pytest.raises(Unreadable, match="not both"):
        read_plan(as_csv(demo()) | as_xlsx(demo()))


# Faults of cells, all of them at once


def test_every_fault_is_told_in_one_go_with_table_row_column_found_and_expected():
    tables = demo()
    put(tables, "network", 3, "bit rate", "fast")
    put(tables, "stations", 5, "address", "three")
    put(tables, "stations", 6, "kind", "dryer")
    put(tables, "stations", 7, "unit load", "-1")
    put(tables, "stations", 8, "terminator on", "perhaps")
    put(tables, "stations", 9, "name", "")
    put(tables, "cable", 4, "length", "long")
    put(tables, "cable", 12, "length", "5 miles")
    put(tables, "cable", 13, "cable type", "C")
    told = [(p.table, p.row, p.column, p.found) for p in problems(as_csv(tables))]
    assert told == [
        ("network", 3, "bit rate", "'fast'"),
        ("stations", 5, "address", "'three'"),
        ("stations", 6, "kind", "'dryer'"),
        ("stations", 7, "unit load", "'-1'"),
        ("stations", 8, "terminator on", "'perhaps'"),
        ("stations", 9, "name", "nothing"),
        ("cable", 4, "length", "'long'"),
        ("cable", 12, "length", "'5 miles'"),
        ("cable", 13, "cable type", "'C'"),
    ]
    expected = {p.column: p.expected for p in problems(as_csv(tables))}
    assert "for example 1.5 Mbit/s" in expected["bit rate"]
    assert expected["cable type"] == "one of A, B"
    assert expected["terminator on"] == "yes or no"


def test_a_station_needs_an_address_and_a_repeater_does_not():
    tables = put(demo(), "stations", 6, "address", "")
    assert (only(as_csv(tables)).row, only(as_csv(tables)).column) == (6, "address")
    assert [s.address for s in HEALTHY[0].stations if s.is_repeater] == [None, None]


def test_unknown_repeated_and_missing_headings():
    tables = demo()
    rows = tables["stations"]
    head = rows[heading_row(rows)]
    head[head.index("terminator on")] = "terminatr on"
    head[head.index("note")] = "place"
    head[head.index("unit load")] = ""
    told = {(p.column, p.found) for p in problems(as_csv(tables))}
    assert ("terminatr on", "a heading that is not known") in told
    assert ("place", "this heading twice") in told
    assert ("number 8", "'1'") in told
    assert len(told) == 3
    rows[heading_row(rows)][column(rows, "kind")] = "# sort"
    assert ("kind", "no such heading") in {(p.column, p.found) for p in problems(as_csv(tables))}


def test_heading_with_a_unit_of_another_kind():
    tables = demo()
    rows = tables["cable"]
    rows[heading_row(rows)][column(rows, "length")] = "length (pF)"
    problem = only(as_csv(tables))
    assert (problem.row, problem.column) == (heading_row(rows) + 1, "length")
    assert "'pF' is not a unit" in problem.found


@pytest.mark.parametrize("text", ["1e400", "nan", "inf", "1,2,3", "--", "1.200.300"])
def test_what_is_no_length_is_refused(text):
    assert only(as_csv(put(demo(), "cable", 3, "length", text))).column == "length"


CELL = st.one_of(
    st.text(max_size=12), st.floats().map(str), st.sampled_from(["12 Mbit/s", "16#7E", "1,5", "=A1", "#REF!"])
)


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(["network", "stations", "cable"]), st.integers(0, 14), st.integers(0, 18), CELL)
def test_any_text_in_any_cell_gives_a_plan_or_a_workbook_error(table, row, place, text):
    tables = demo()
    rows = tables[table]
    cells = rows[row % len(rows)]
    cells[place % len(cells)] = text
    try:
        plan = read_plan(as_csv(tables, encoding="utf-8-sig"))
    except UnicodeEncodeError:
        return  # a lone surrogate can't be written to a file
    except WorkbookError as error:
        assert str(error)
    else:
        assert all(math.isfinite(network.bit_rate) for network in plan)


@settings(max_examples=40, deadline=None)
@given(st.binary(max_size=200), st.sampled_from(["network.csv", "stations.csv", "cable.csv", "plan.xlsx"]))
def test_any_bytes_give_a_workbook_error(content, name):
    with pytest.raises(WorkbookError):
        read_plan({name: content})


def test_a_number_too_large_for_any_calculation_is_refused_in_words():
    for number in ("16#" + "F" * 256, "9" * 400):
        assert "whole number" in only(as_csv(put(demo(), "stations", 4, "address", number))).expected
        assert "whole number" in only(as_csv(put(demo(), "stations", 4, "position", number))).expected
