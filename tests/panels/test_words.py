"""The word panels say what the profile's bit tables say, for any word."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.drive import words
from helpers.panels.words import build_word_panel, word_drawing, word_panel, word_view


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
    named = word_drawing(word, kind).says.split("bits set: ")[1]
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
    assert "16#047F" in panel.result.value and "Caution" in panel.result.value
    panel.fields["on"].widget.value = ()
    assert "16#0000" in panel.result.value
