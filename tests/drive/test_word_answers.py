"""What is said of a word is what the profile's bit tables say, for any word."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.drive import words
from helpers.drive.word_answers import WordPicture, compare_answer, word_answer


def test_the_published_run_word_is_explained() -> None:
    # 16#047F: Vacon CX PROFIBUS manual p.13-14; ABB FPBA-01 manual p.142 and p.144.
    answer = word_answer("control", 0x047F, 0x047E)
    assert answer.sentence.startswith("16#047F = 2#0000_0100_0111_1111 = 1151. Run.")
    assert "Bit 0 (on) rises to 1" in answer.because
    assert "no bit changed" in word_answer("control", 0x047F, 0x047F).because


@pytest.mark.parametrize(("word", "warned"), [(0x047F, True), (0x047E, False), (0x0477, False), (0x007F, False)])
def test_a_word_that_can_start_a_motor_carries_its_caution(word: int, warned: bool) -> None:
    assert bool(word_answer("control", word).caution) is warned
    assert not word_answer("status", word).caution


@given(st.integers(0, 0xFFFF), st.sampled_from(words.KINDS))
def test_every_word_has_16_rows_and_a_drawing_that_names_its_set_bits(word: int, kind: str) -> None:
    answer = word_answer(kind, word)
    assert sum(int(row["value"]) << int(row["bit"]) for row in answer.rows) == word  # type: ignore[call-overload]
    named = WordPicture(word, kind).says.split("bits set: ")[1].split("; keep the drive")[0]
    assert named.split(", ") == (
        [f"{bit} {words.bits(kind)[bit].name}" for bit in range(16) if word >> bit & 1] or ["none"]
    )


def test_a_comparison_names_the_state_and_warns() -> None:
    # 16#0337 running at setpoint: ABB FPBA-01 manual p.142; fault bits: Lenze 931M/W manual p.35.
    assert compare_answer("status", 0x0337, 0x0238).because.endswith("State: operation → fault.")
    assert compare_answer("control", 0x047E, 0x047F).caution
    assert "1 bit differs" in compare_answer("control", 0x047F, 0x047E).sentence
    assert "no bit differs" in compare_answer("control", 0x047F, 0x047F).sentence


@given(st.integers(0, 0xFFFF), st.integers(0, 0xFFFF), st.sampled_from(words.KINDS))
def test_two_words_differ_in_the_bits_of_their_exclusive_or(before: int, after: int, kind: str) -> None:
    rows = compare_answer(kind, before, after).rows
    assert sum(1 << int(row["bit"]) for row in rows) == before ^ after  # type: ignore[call-overload]


def test_bits_of_the_maker_are_marked() -> None:
    # Bits 11 to 15: Eaton manual MN040010EN p.87.
    named = [row["name"] for row in compare_answer("control", 0, 0xFFFF).rows if "maker" in str(row["name"])]
    assert len(named) == 5
