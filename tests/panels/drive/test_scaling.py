"""The panels for setpoints: published words come out, both ways agree, and nonsense gets a sentence."""

import csv

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers import facts
from helpers.drive.machines import MOTOR, machine, machines
from helpers.errors import WorkbookError
from helpers.panels.drive.scaling import (
    own_machine_panel,
    scale_drawing,
    setpoint_panel,
    setpoint_view,
    two_sides_panel,
    two_sides_view,
)

with (facts.DATA / "published" / "drive_scaling.csv").open(encoding="utf-8") as file:
    PUBLISHED = list(csv.DictReader(file))


def shown(entered, at=MOTOR, full="1500 rpm", poles=4, format="N2", rounding="nearest"):
    return setpoint_view(at, entered, full, poles, format, rounding)


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda row: f"{row['format']} {row['word']}")
def test_published_words_say_what_is_printed(row):
    # Source of each: the row itself.
    view = shown(int(row["word"].replace("16#", ""), 16), format=row["format"])
    percent = float(view.sentence.split(" = ")[-1].split(" %")[0])
    assert percent == pytest.approx(float(row["percent"]), abs=0.6 * 10 ** -int(row["decimals"]))


def test_the_word_for_a_belt_speed_and_back():
    view = shown((0.8, "m/s"), machine("Intake conveyor"))
    assert "16#28BE" in view.sentence  # π · 0.4 m · 1500 / (25 · 60) = 1.2566 m/s; 0.8 / 1.2566 · 16384 = 10430.4
    assert "π × 0.4 m × 1500 rpm" in view.rows[0]["calculation"] and view.caution
    assert "0.79997 m/s" in shown(0x28BE, machine("Intake conveyor")).sentence
    assert shown((0.8, "m/s"), machine("Intake conveyor"), full="50 Hz").sentence == view.sentence


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
    view = shown((12000.0, "m³/h"), machine("Dryer fan"), full="1480 rpm")
    assert "16#2000" in view.sentence  # half the flow at half the speed: 50 %
    assert "12.5 % of the power" in view.because  # n³, the laws of fans
    backwards = shown(0xE000, machine("Dryer fan"))
    assert "m³/h" not in backwards.sentence and "-750 rpm" in backwards.sentence and "forwards" in backwards.because
    with pytest.raises(WorkbookError, match="forwards"):
        shown((-100.0, "m³/h"), machine("Dryer fan"))


@given(st.integers(0, 0xFFFF), st.sampled_from([*machines(), MOTOR]), st.sampled_from(["N2", "10000"]))
@settings(max_examples=40)
def test_any_word_gets_a_view_with_a_picture_in_words(word, at, format):
    view = shown(word, at, format=format)
    assert f"16#{word:04X}" in view.pictures[0].says and view.rows


def test_double_words_are_shown_with_both_words():
    view = shown((100.0, "%"), format="N4")
    assert "16#4000_0000" in view.sentence
    assert scale_drawing.__doc__ and "N4" in view.pictures[0].says


def test_two_sides():
    wrong = two_sides_view(60, "1500 rpm", 16384, "1500 rpm", "10000", exchanged=False, poles=4)
    assert "900 rpm; the drive runs 1474.5 rpm" in wrong.sentence and wrong.caution  # 9830 / 10000 · 1500
    alike = two_sides_view(60, "1500 rpm", 16384, "50 Hz", "N2", exchanged=False, poles=4)
    assert "agree" in alike.sentence and not alike.caution
    assert "not 0" in two_sides_view(0, "1500 rpm", 16384, "60 Hz", "N2", exchanged=True, poles=4).because
    # 16#199A is 40 %; its bytes exchanged, 16#9A19, are a negative number.
    assert "other way" in two_sides_view(40, "1500 rpm", 16384, "1500 rpm", "N2", exchanged=True, poles=4).sentence
    assert "held" in two_sides_view(90, "1500 rpm", 16384, "1500 rpm", "10000", exchanged=False, poles=4).because


NONSENSE = ("", "60", "fast", "16#12345", "12 m³/h", "1e9 rpm", "16#", "∞ %", "2#2", "-")


def test_nonsense_gets_a_sentence_and_the_last_result_stays():
    panel = setpoint_panel()
    for typed in NONSENSE:
        panel.fields["entered"].widget.value = typed
        assert "Not usable" in panel.said.value and "failed here" not in panel.said.value, typed
        assert "16#28BE" in panel.result.value
    panel.fields["entered"].widget.value = "48 m/min"
    assert not panel.said.value and "16#28BE" in panel.result.value


def test_every_control_of_the_own_machine_acts():
    panel = own_machine_panel()
    before = panel.result.value
    for name, value in (("gear", "31,5"), ("size", "500 mm"), ("full", "60 Hz"), ("poles", 6), ("format", "10000"),
                        ("rounding", "cut"), ("entered", "1 m/s")):  # fmt: skip
        panel.fields[name].widget.value = value
        assert not panel.said.value, name
        assert panel.result.value != before or name == "rounding", name
        before = panel.result.value
    panel.fields["kind"].widget.value = "fan"
    assert "Not usable" in panel.said.value  # a fan has no m/s
    panel.fields["entered"].widget.value = "9000 m³/h"
    before = panel.result.value
    for name, value in (("full_rpm", "1470"), ("flow", "18000")):
        panel.fields[name].widget.value = value
        assert panel.result.value != before
        before = panel.result.value
    for name, value in (("gear", "0"), ("flow", "many"), ("full", "3 m/s"), ("size", "0.4 kg")):
        panel.fields[name].widget.value = value
        assert "Not usable" in panel.said.value and "failed here" not in panel.said.value, name


def test_every_control_of_the_two_sides_acts():
    panel = two_sides_panel()
    before = panel.result.value
    for name, value in (("wanted", -60), ("program", "50 Hz"), ("program_full", 32767), ("drive", "60 Hz"),
                        ("drive_format", "N2"), ("exchanged", True), ("poles", 2)):  # fmt: skip
        panel.fields[name].widget.value = value
        assert not panel.said.value, name
        assert panel.result.value != before or name == "program", name
        before = panel.result.value
