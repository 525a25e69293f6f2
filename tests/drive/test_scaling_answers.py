"""Answers on setpoints: published words come out, and both ways agree."""

import csv

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers import facts
from helpers.drive.machines import MOTOR, machine, machines
from helpers.drive.scaling_answers import setpoint_answer, two_sides_answer
from helpers.errors import WorkbookError

with (facts.DATA / "published" / "drive_scaling.csv").open(encoding="utf-8") as file:
    PUBLISHED = list(csv.DictReader(file))


def shown(entered, at=MOTOR, full="1500 rpm", poles=4, format="N2", rounding="nearest"):
    return setpoint_answer(at, entered, full, poles=poles, format=format, rounding=rounding)


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda row: f"{row['format']} {row['word']}")
def test_published_words_say_what_is_printed(row):
    # Source of each: the row itself.
    answer = shown(int(row["word"].replace("16#", ""), 16), format=row["format"])
    percent = float(answer.sentence.split(" = ")[-1].split(" %")[0])
    assert percent == pytest.approx(float(row["percent"]), abs=0.6 * 10 ** -int(row["decimals"]))


def test_the_word_for_a_belt_speed_and_back():
    answer = shown((0.8, "m/s"), machine("Intake conveyor"))
    assert "16#28BE" in answer.sentence  # π · 0.4 m · 1500 / (25 · 60) = 1.2566 m/s; 0.8 / 1.2566 · 16384 = 10430.4
    assert "π × 0.4 m × 1500 rpm" in answer.rows[0]["calculation"] and answer.caution
    assert "0.79997 m/s" in shown(0x28BE, machine("Intake conveyor")).sentence
    assert shown((0.8, "m/s"), machine("Intake conveyor"), full="50 Hz").sentence == answer.sentence


def test_at_the_edges_of_the_format():
    assert "held at its limit" not in shown((199.99, "%")).because
    over = shown((200.0, "%"))
    assert "held at its limit" in over.because and "16#7FFF" in over.sentence and "More than 100 %" in over.because
    assert "16#8000" in shown((-200.0, "%")).sentence
    assert "16#2710" in shown((130.0, "%"), format="10000").sentence
    assert "10000 only" in shown(0x4000, format="10000").because
    assert not shown((0.0, "rpm")).caution
    assert [r["word"] for r in over.folded[0][1]] == ["16#7FFE", "16#7FFF"]
    counts = shown((-1.0, "counts"))
    assert counts.sentence.startswith("-1 counts is the word 16#FFFF") and "One count is 0.09155 rpm" in counts.because


def test_a_fan_tells_its_power_and_no_flow_backwards():
    answer = shown((12000.0, "m³/h"), machine("Dryer fan"), full="1480 rpm")
    assert "16#2000" in answer.sentence  # half the flow at half the speed: 50 %
    assert "12.5 % of the power" in answer.because  # n³, the laws of fans
    backwards = shown(0xE000, machine("Dryer fan"))
    assert "m³/h" not in backwards.sentence and "-750 rpm" in backwards.sentence and "forwards" in backwards.because
    with pytest.raises(WorkbookError, match="forwards"):
        shown((-100.0, "m³/h"), machine("Dryer fan"))


@given(st.integers(0, 0xFFFF), st.sampled_from([*machines(), MOTOR]), st.sampled_from(["N2", "10000"]))
@settings(max_examples=40)
def test_any_word_gets_an_answer_with_a_picture_in_words(word, at, format):
    answer = shown(word, at, format=format)
    assert f"16#{word:04X}" in answer.pictures[0].says and answer.rows


def test_double_words_are_shown_with_both_words():
    answer = shown((100.0, "%"), format="N4")
    assert "16#4000_0000" in answer.sentence
    assert "N4" in answer.pictures[0].says


def two_sides(wanted, program, drive, drive_format, exchanged):
    """What comes of it where the program takes 16384 counts for 100 %, with a motor of four poles."""
    return two_sides_answer(
        wanted=wanted, program=program, program_full=16384, drive=drive, drive_format=drive_format,
        exchanged=exchanged, poles=4,
    )  # fmt: skip


def test_two_sides():
    wrong = two_sides(60, "1500 rpm", "1500 rpm", "10000", exchanged=False)
    assert "900 rpm; the drive runs 1474.5 rpm" in wrong.sentence and wrong.caution  # 9830 / 10000 · 1500
    alike = two_sides(60, "1500 rpm", "50 Hz", "N2", exchanged=False)
    assert "agree" in alike.sentence and not alike.caution
    assert "not 0" in two_sides(0, "1500 rpm", "60 Hz", "N2", exchanged=True).because
    # 16#199A is 40 %; its bytes exchanged, 16#9A19, are a negative number.
    assert "other way" in two_sides(40, "1500 rpm", "1500 rpm", "N2", exchanged=True).sentence
    assert "held" in two_sides(90, "1500 rpm", "1500 rpm", "10000", exchanged=False).because
