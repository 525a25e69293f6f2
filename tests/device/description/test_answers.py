"""Answers on device descriptions say what the calculations say. The descriptions are invented; what a keyword means

is tested beside the reader, with its source.
"""

import re

import pytest

from helpers import facts
from helpers.device.description.answers import FINDINGS, MODULES, OCTETS, WHO, description_answer
from helpers.device.description.checks import check
from helpers.device.description.compare import TO_DO, compare, revision_answer, steps
from helpers.device.description.read import read_description
from helpers.device.description.set_up_answer import read_values
from helpers.errors import Unknown, WorkbookError
from helpers.verdict import Degree, worst

DEMOS = ("Mil_FFF1.gsd", "newer/Mil_FFF1.gsd", "Mil_FFF1.gsg", "Mil_FFF2.gsd", "Mil_FFF3.gsd", "Mil_FFF4.gsd")
FOLDER = facts.DATA / "demo" / "descriptions"
OLD, NEW, GERMAN, COMPACT, FIRST, FAULTY = (read_description(FOLDER / name) for name in DEMOS)
OPTION = "option: 16 inputs"


def rows_of(answer):
    return [*answer.rows, *(row for _, rows in answer.folded for row in rows)]


# -- one description ----------------------------------------------------------------------------------


def test_what_the_file_says():
    answer = description_answer(OLD)
    said = {row["what"]: row["the file says"] for row in answer.rows}
    assert answer.sentence == "Mill drive M, issue 1.1: ident number 16#FFF1, 8 modules."
    assert said["bit rates"] == "9.6, 19.2, 45.45, 93.75, 187.5, 500 kbit/s, 1.5, 3, 6, 12 Mbit/s"
    assert (said["finds the bit rate"], said["shortest time between cycles"]) == ("by itself", "1 ms")
    assert said["longest answer time"] == "800 bit times at 12 Mbit/s"
    assert said["parameters"] == "5 with names, in up to 13 octets"
    assert [row["keyword"] for row in answer.folded[0][1]] == ["Mill_Own_Keyword"]
    first = {row["what"]: row["the file says"] for row in description_answer(FIRST).rows}
    assert (first["finds the bit rate"], first["modules"]) == (
        "no: set it at the device", "one fixed set of identifiers",
    )  # fmt: skip
    assert first["longest answer time"] == "150 bit times at 1.5 Mbit/s"


def test_a_description_that_says_next_to_nothing():
    answer = description_answer(read_description(b"#Profibus_DP\nFMS_supp = 0", "x.gsd"))
    said = {row["what"]: row["the file says"] for row in answer.rows}
    assert answer.sentence == "x.gsd: ident number none, 0 modules."
    assert {said[what] for what in ("longest answer time", "shortest time between cycles")} == {"not said"}
    assert (said["bit rates"], said["maker"]) == ("none", "nothing")
    assert answer.degree is Degree.CANNOT_WORK


def test_findings_name_line_keyword_found_and_expected():
    answer = description_answer(FAULTY, FINDINGS)
    told = [finding for finding in check(FAULTY) if finding.degree]
    rows = [*answer.rows, *answer.folded[0][1]]
    assert len(rows) == len(told)
    assert [(row["line"], row["keyword or place"]) for row in rows[:3]] == [
        (23, "Auto_Baud_supp"), (26, "Max_Module"), (28, "Max_Output_Len"),
    ]  # fmt: skip
    assert (rows[0]["found"], rows[0]["expected"]) == ("'maybe'", "0 or 1")
    assert rows[0]["what to do"] == told[0].to_do and rows[1]["what to do"] == "as above"
    lines = {row["keyword or place"]: row["line"] for row in rows}
    assert lines["Min_Slave_Intervall"] == FAULTY.general["min_slave_intervall"].line  # a check that looks at numbers
    assert lines["Hardware_Release"] == ""  # what is absent stands nowhere
    assert lines["cut off"] == FAULTY.module("cut off").line
    good = description_answer(OLD, FINDINGS)
    assert good.degree is worst(check(OLD)) is Degree.IN_ORDER and not good.rows


def test_modules_parameters_and_slots():
    answer = description_answer(OLD, MODULES)
    option = next(row for row in rows_of(answer) if row.get("module") == OPTION)
    assert (option["bytes out"], option["bytes in"], option["identifiers"], option["own parameters"]) == (0, 2, "11", 1)
    parameters, slots = answer.folded[1][1], answer.folded[2][1]
    assert parameters[0]["default"] == "1 (ramp down)"
    assert slots[1]["takes the references"] == "7"
    cut = next(row for row in rows_of(description_answer(FAULTY, MODULES)) if row.get("module") == "cut off")
    assert cut["bytes out"] == "not whole"


def test_what_the_description_does_not_allow_is_broken_and_said():
    answer = description_answer(OLD, OCTETS, [OPTION])
    assert answer.degree is Degree.CANNOT_WORK and "does not take it" in answer.because
    assert description_answer(COMPACT, OCTETS).degree is Degree.IN_ORDER  # one set of identifiers: nothing to choose


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ("ramp", "'ramp' is no value of a parameter; write one a line"),
        ("= 5", "is no value of a parameter"),
        ("speed = 5", "no parameter is called 'speed'; with these modules they are: when the bus fails"),
        ("when the bus fails = fly", "known are coast to a stop"),
        ("delay before a stop, in 10 ms = 6001", "allowed is 0 to 6000"),
    ],
)
def test_values_that_are_refused(typed, message):
    with pytest.raises(WorkbookError, match=re.escape(message)):
        description_answer(OLD, OCTETS, ["PPO 4"], read_values(typed))


def test_what_the_bus_tells_and_what_only_the_file():
    answer = description_answer(OLD, WHO)
    silent = [row for row in answer.rows if row["on the bus"] == "–"]
    assert answer.sentence.endswith(f"of {len(answer.rows)} things to know, {len(silent)} are never said on the bus.")
    assert {"bit rates", "parameters"} <= {row["what"] for row in silent}


def test_an_unknown_view_is_refused():
    with pytest.raises(Unknown):
        description_answer(OLD, "everything")
    with pytest.raises(Unknown):
        revision_answer(OLD, NEW, show="everything")


# -- the panels ---------------------------------------------------------------------------------------


# -- two descriptions ---------------------------------------------------------------------------------


def test_what_changed_is_shown_worst_first_with_what_it_does():
    answer = revision_answer(OLD, NEW)
    changes = compare(OLD, NEW)
    assert answer.sentence.startswith("From Mill drive M, issue 1.1 to Mill drive M, issue 2.0: 13 changes, 2 of them")
    assert len(rows_of(answer)) == len(changes)
    assert [row["what it does"][0] for row in answer.rows] == ["■", "■", "▲", "▲", "▲"]
    assert {row["what it does"] for row in answer.folded[1][1]} == {"● changes nothing that runs"}
    assert "keep people away" in str(answer.caution)


def test_a_module_that_is_not_in_use_breaks_nothing():
    assert "none of them breaks" in revision_answer(OLD, NEW, ["Mill 2/3"]).sentence
    assert "1 of them breaks" in revision_answer(OLD, NEW, ["Mill 3/5"]).sentence


def test_what_has_to_be_done_is_that_of_the_comparison():
    answer = revision_answer(OLD, NEW, show=TO_DO)
    assert [list(row.values())[1] for row in answer.rows] == list(steps(compare(OLD, NEW)))
    assert "any of them can start" in str(answer.caution)
    harmless = read_description((FOLDER / "Mil_FFF1.gsd").read_bytes().replace(b"= 2\r", b"= 2\r"), "Mil_FFF1.gsd")
    assert revision_answer(OLD, harmless).sentence.startswith("No difference")


def test_languages_devices_and_nothing():
    assert "differ in texts only" in revision_answer(OLD, GERMAN).sentence
    assert not revision_answer(OLD, GERMAN).caution
    assert "nothing has to be done" in revision_answer(OLD, GERMAN, show=TO_DO).sentence
    assert "16#FFF1 and 16#FFF2: these are two devices" in revision_answer(OLD, COMPACT).because
    more = (FOLDER / "Mil_FFF1.gsd").read_bytes().replace(b"Max_Module = 2", b"Max_Module = 3")
    grown = revision_answer(OLD, read_description(more, "Mil_FFF1.gsd"))
    assert "1 change, none of them breaks" in grown.sentence and not grown.caution and len(grown.rows) == 1


def test_columns_bear_the_names_by_which_a_reader_finds_them():
    module = description_answer(OLD, MODULES).rows[0]
    assert (module["module"], module["reference"]) == ("Mill 2/3", 1)
    lost = revision_answer(OLD, NEW).rows[0]
    assert (lost["what"], lost["before"], lost["after"]) == ("module Mill 3/5", "E2 D4", "–")


def test_the_octets_that_are_sent_stand_beside_the_values_they_come_from():
    answer = description_answer(OLD, OCTETS, ["PPO 4"])
    assert (answer.rows[0]["parameter"], answer.rows[0]["value"]) == ("when the bus fails", "1 (ramp down)")
    check_config, parameters = answer.folded[0][1]
    assert check_config["octets"] == "F5"
    # reserved for DPV1, then the description's own defaults: 16#81, 100 (16#0064), 0
    assert parameters["octets"] == "00 00 00 81 00 64 00"


def test_parameters_without_names_are_counted():
    text = b'#Profibus_DP\nVendor_Name = "Mill"\nUser_Prm_Data_Len = 3\nUser_Prm_Data = 1, 2, 3\n'
    said = {row["what"]: row["the file says"] for row in description_answer(read_description(text)).rows}
    assert said["parameters"] == "3 octets without names"
