"""Answers on the parameter channel: printed octets come out, old answers are told from new."""

import pytest

from helpers.drive.parameters.channel_answers import (
    dialogue_answer,
    error_answer,
    error_number,
    octets_of,
    parameter_answer,
    reply_answer,
    task_answer,
    task_from_fields,
)
from helpers.drive.parameters.parameter_channel import PLAIN
from helpers.drive.parameters.parameter_text import tasks
from helpers.errors import Unknown, WorkbookError


def talked(lines, work=2, hold=0, running=False, rights=True, report=False, power_off=False):
    return dialogue_answer(
        tasks(lines), work=work, hold=hold, running=running, rights=rights, report=report, power_off=power_off
    )


def task(identifier, number, subindex, value, ind=PLAIN):
    asked = task_from_fields(identifier=identifier, number=number, subindex=subindex, value=value)
    return task_answer(asked, ind=ind, value=value)


@pytest.mark.parametrize(
    ("identifier", "number", "subindex", "value", "octets"),
    [
        (1, 922, 0, 0, "13 9A 00 00 00 00 00 00"),  # Toshiba manual E6581738 p.17
        (2, 927, 0, 1, "23 9F 00 00 00 00 00 01"),  # Lenze 931M/W manual p.46
        (6, 964, 0, 0, "63 C4 00 00 00 00 00 00"),  # Toshiba manual E6581738 p.17
        (3, 121, 5, -2, "30 79 00 00 FF FF FF FE"),  # calculated from the layout; no array, so no subindex
        (9, 964, 5, 0, "93 C4 00 00 00 00 00 00"),  # calculated: the number of elements belongs to no element
        (4, 110, 5, 0, "40 6E 05 00 00 00 00 00"),  # from memory: IND names the element of the description
    ],
)
def test_a_task_becomes_its_octets(identifier, number, subindex, value, octets):
    answer = task(identifier, number, subindex, value, PLAIN)
    assert answer.sentence.startswith(octets) and len(answer.rows) == 10
    assert bool(answer.caution) is (identifier in (2, 3))


def test_the_subindex_may_stand_in_the_other_byte():
    low = task(7, 915, 3, 140, "free, subindex")
    assert low.sentence.startswith("73 93 00 03 00 00 00 8C") and low.rows[3]["octets"] == "00 03"
    assert "counts elements from 1" in task(7, 915, 3, 140, PLAIN).because


def test_a_page_in_ind_takes_the_number_beyond_1999_and_says_how_it_is_known():
    # Bit 7 of the page adds 2000: from memory.
    for index, ind in (("subindex, page bits", "02 80"), ("page bits, subindex", "80 02")):
        answer = task(6, 2110, 2, 0, index)
        assert answer.sentence.startswith(f"60 6E {ind}")
        assert any("page" in source and "memory" in source for source in answer.sources)
        assert "parameter 2110: 80" in reply_answer(None, octets_of(f"40 6E {ind} 00 00 00 50"), index).sentence
    assert not any("page:" in source for source in task(6, 110, 2, 0, "subindex, page bits").sources)
    # Page n: the number less n times 2000, in the first octet: Delta PD-01 manual p.17.
    counted = task(1, 4110, 0, 0, "page number, subindex")
    assert counted.sentence.startswith("10 6E 02 00") and any("p.17 (device manual)" in s for s in counted.sources)


def test_the_demo_drive_tells_name_unit_and_sign():
    assert "110 is: ramp up time, in steps of 0.1 s" in task(2, 110, 0, 95, PLAIN).because
    assert "With its sign the value is -70000" in task(1, 121, 0, 0, PLAIN).because
    assert "In the demo drive" not in task(2, 110, 0, 7000, PLAIN).because  # refused: no value


def test_answers_are_read_and_held_against_the_request():
    octets = octets_of("139A 0000 0000 0065")  # Toshiba manual E6581738 p.17
    assert "parameter 922: 101" in reply_answer(None, octets, PLAIN).sentence
    assert "Answered" in reply_answer(octets_of("13 9A 00 00 00 00 00 00"), octets, PLAIN).because
    assert "task before" in reply_answer(octets_of("13 96 00 00 00 00 00 00"), octets, PLAIN).because
    refusal = reply_answer(None, octets_of("70 2D 80 00 00 00 00 00"), PLAIN)  # Delta PD-01 manual p.19
    assert "no parameter of this number" in refusal.sentence
    no_right = reply_answer(None, octets_of("80 6E 00 00 00 00 00 00"), PLAIN)  # answer 8: Lenze 931M/W manual p.43
    assert "no right to change" in no_right.sentence
    assert "value is -2" in reply_answer(None, octets_of("10 70 00 00 00 00 FF FE"), PLAIN).because
    assert "value is -70000" in reply_answer(None, octets_of("20 79 00 00 FF FE EE 90"), PLAIN).because


def test_the_dialogue_tells_old_answers_from_new():
    assert "belongs" in talked("read 918\nread 110").sentence
    hasty = talked("read 918\nread 110", hold=2)
    assert "Wrong for task 1, 2" in hasty.sentence and hasty.rows[1]["taken"].startswith("13 96")
    assert "no new task" in talked("write 110 = 95\nwrite 110 = 95").rows[1]["why"]
    assert "report" in talked("read 918", report=True).pictures[0].says
    assert "Error 17" in talked("write 112 = -100", running=True).rows[0]["why"]
    assert talked("write 110 = 95", rights=False).rows[0]["why"].startswith("No right")


def test_what_is_not_stored_is_lost():
    assert "lost at power off" in talked("write 110 = 95").because
    assert "110 is now 80" in talked("write 110 = 95", power_off=True).because
    assert "110 is now 95. All was stored" in talked("write 110 = 95\nwrite 971 = 1", power_off=True).because
    assert "outlives" in talked("write 110 = 95\nwrite 971 = 1").because
    assert "Nothing has changed" in talked("read 918").because


@pytest.mark.parametrize(
    ("typed", "cyclic", "acyclic", "service"),
    [
        # SEW manual DH.41B p.77 and p.79; Toshiba manual, sibling of E6581738, p.45
        ("17", "operating state", "operating state", "not in the table"),
        ("18", "another error", "reserved", "not in the table"),
        ("25", "reserved", "no such axis", "not in the table"),
        ("32", "reserved", "text element cannot be changed", "not in the table"),
        ("181", "specific to the maker", "specific to the maker", "state conflict"),
        ("B5", "specific to the maker", "specific to the maker", "state conflict"),
        ("b5", "specific to the maker", "specific to the maker", "state conflict"),
        ("16#B5", "specific to the maker", "specific to the maker", "state conflict"),
        ("0xB5", "specific to the maker", "specific to the maker", "state conflict"),
        ("300", "specific to the maker", "no such number", "not in the table"),
    ],
)
def test_an_error_number_is_told_in_each_of_the_three_tables(typed, cyclic, acyclic, service):
    rows = error_answer(error_number(typed)).rows
    meanings = [row["what it means"] for row in rows]
    assert [said in meaning for said, meaning in zip((cyclic, acyclic, service), meanings, strict=True)] == [True] * 3


@pytest.mark.parametrize("typed", ["", "many", "70000", "-1", "1,5", "B5B5"])
def test_no_error_number_gets_a_sentence(typed):
    with pytest.raises(WorkbookError, match=r"\.$"):
        error_number(typed)


def test_a_number_of_the_makers_own_is_not_guessed():
    assert "971: store" in parameter_answer(971).sentence
    with pytest.raises(Unknown, match="maker's own"):
        parameter_answer(3000)


def test_octets_of_each_cycle_are_written_as_a_telegram_is():
    # Toshiba manual E6581738 p.17: reading parameter 922; the drive of the mill answers in the third cycle
    (_, cycles), *_ = talked("read 922").folded
    assert cycles[0]["request"] == "13 9A 00 00 00 00 00 00"
    assert cycles[0]["answer"] == "00 00 00 00 00 00 00 00"
    assert cycles[-1]["answer"].startswith("13 9A 00 00 ")


def test_an_answer_to_a_task_with_a_page_is_matched_in_the_same_octets():
    asked, got = octets_of("60 6E 02 80 00 00 00 00"), octets_of("40 6E 02 80 00 00 00 50")
    told = reply_answer(asked, got, "subindex, page bits")
    assert "parameter 2110" in told.sentence and told.sentence.endswith(".") and ".." not in told.sentence
    # without the page the task is for parameter 110
    other = reply_answer(octets_of("60 6E 02 00 00 00 00 00"), got, "subindex, page bits")
    assert "parameter 2110, not for the present request" in other.because
