"""The word panels say what the profile's bit tables say, for any word."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.drive import words
from helpers.panels.drive.words import (
    build_word_panel,
    compare_drawing,
    compare_panel,
    compare_view,
    word_drawing,
    word_panel,
    word_view,
)


def test_the_published_run_word_is_explained() -> None:
    # 16#047F: Vacon CX PROFIBUS manual p.13-14; ABB FPBA-01 manual p.142 and p.144.
    view = word_view("control", 0x047F, 0x047E)
    assert view.sentence.startswith("16#047F = 2#0000_0100_0111_1111 = 1151. Run.")
    assert "Bit 0 (on) rises to 1" in view.because
    assert "no bit changed" in word_view("control", 0x047F, 0x047F).because


@pytest.mark.parametrize(("word", "warned"), [(0x047F, True), (0x047E, False), (0x0477, False), (0x007F, False)])
def test_a_word_that_can_start_a_motor_carries_its_caution(word: int, warned: bool) -> None:
    assert bool(word_view("control", word).caution) is warned
    assert not word_view("status", word).caution


@given(st.integers(0, 0xFFFF), st.sampled_from(words.KINDS))
def test_every_word_has_16_rows_and_a_drawing_that_names_its_set_bits(word: int, kind: str) -> None:
    view = word_view(kind, word)
    assert sum(int(row["value"]) << int(row["bit"]) for row in view.rows) == word  # type: ignore[call-overload]
    named = word_drawing(word, kind).says.split("bits set: ")[1].split("; keep the drive")[0]
    assert named.split(", ") == (
        [f"{bit} {words.bits(kind)[bit].name}" for bit in range(16) if word >> bit & 1] or ["none"]
    )


@pytest.mark.parametrize("typed", ["", "16#1FFFF", "-1", "0337", "rubbish", "1e9", "2#2"])
def test_rubbish_gets_a_sentence(typed: str) -> None:
    panel = word_panel()
    panel.fields["value"].widget.value = typed
    assert "Not usable" in panel.said.value
    assert "16#047F" in panel.result.value


def test_bits_put_together_give_the_word() -> None:
    panel = build_word_panel()
    assert "16#047E" in panel.result.value
    panel.fields["on"].widget.value = (0, 1, 2, 3, 4, 5, 6, 10)
    assert "16#047F" in panel.result.value and "⚠ <b>WARNING</b>" in panel.result.value
    panel.fields["on"].widget.value = ()
    assert "16#0000" in panel.result.value


@given(st.integers(0, 0xFFFF), st.integers(0, 0xFFFF), st.sampled_from(words.KINDS))
def test_two_words_differ_in_the_bits_of_their_exclusive_or(before: int, after: int, kind: str) -> None:
    view = compare_view(kind, before, after)
    assert sum(1 << int(row["bit"]) for row in view.rows) == before ^ after  # type: ignore[call-overload]
    marks = compare_drawing(before, after, kind).svg
    assert marks.count("▲ 1") == (after & ~before).bit_count()
    assert marks.count("▼ 0") == (before & ~after).bit_count()


def test_a_comparison_names_the_state_and_warns() -> None:
    # 16#0337 running at setpoint: ABB FPBA-01 manual p.142; fault bits: Lenze 931M/W manual p.35.
    assert compare_view("status", 0x0337, 0x0238).because == "State: operation → fault."
    assert compare_view("control", 0x047E, 0x047F).caution
    assert "1 bit differs" in compare_view("control", 0x047F, 0x047E).sentence
    assert "no bit differs" in compare_view("control", 0x047F, 0x047F).sentence
    panel = compare_panel()
    panel.fields["after"].widget.value = "16#0337"
    assert "no bit differs" in panel.result.value


def test_bits_of_the_maker_are_marked() -> None:
    # Bits 11 to 15: Eaton manual MN040010EN p.87.
    assert "the maker decides" in word_drawing(0).svg
    named = [row["name"] for row in compare_view("control", 0, 0xFFFF).rows if "maker" in str(row["name"])]
    assert len(named) == 5


def test_a_zero_that_holds_the_drive_is_seen_in_the_drawing() -> None:
    svg = word_drawing(0x0250, "status").svg
    assert svg.count("◆") == 3 and "keep the drive from running: 5 = 0, 6 = 1" in word_drawing(0x0250, "status").says
    assert "◆" not in word_drawing(0x0337, "status").svg
