"""The word panels draw any word, and take what people write."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.drive import words
from helpers.drive.word_answers import TwoWordsPicture, WordPicture
from helpers.panels.drive.words import build_word_panel, compare_drawing, compare_panel, word_drawing, word_panel


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


def test_bits_of_the_maker_stand_below_a_bracket() -> None:
    # Bits 11 to 15: Eaton manual MN040010EN p.87.
    assert "the maker decides" in word_drawing(WordPicture(0)).svg


def test_a_zero_that_holds_the_drive_is_seen_in_the_drawing() -> None:
    held = WordPicture(0x0250, "status")
    svg = word_drawing(held).svg
    assert svg.count("◆") == 3 and "keep the drive from running: 5 = 0, 6 = 1" in held.says
    assert "◆" not in word_drawing(WordPicture(0x0337, "status")).svg


def test_two_equal_words_differ_in_nothing() -> None:
    panel = compare_panel()
    panel.fields["after"].widget.value = "16#0337"
    assert "no bit differs" in panel.result.value


@given(st.integers(0, 0xFFFF), st.integers(0, 0xFFFF), st.sampled_from(words.KINDS))
def test_each_bit_that_rises_or_falls_is_marked(before: int, after: int, kind: str) -> None:
    marks = compare_drawing(TwoWordsPicture(before, after, kind)).svg
    assert marks.count("▲ 1") == (after & ~before).bit_count()
    assert marks.count("▼ 0") == (before & ~after).bit_count()
