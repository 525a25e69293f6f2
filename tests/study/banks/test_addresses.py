"""The questions on addresses, answered a second time from their text alone.

Ranges: M. Felser, PROFIBUS Manual, addressing – stations 0 to 125, 126 as delivered, 127 to all.
"""

import re
from collections import Counter

import pytest

from helpers.study.banks.registry import draw_question

SEEDS = range(1, 200)


def drawn(kind):
    return [draw_question("addresses", kind, seed) for seed in SEEDS]


def numbers(text):
    return [int(n) for n in re.findall(r"\d+", text)]


def test_no_drive_runs_with_126_127_or_more():
    for question in drawn("usable"):
        listed = numbers(question.text.splitlines()[1])
        assert question.answer == {n for n in listed if n > 125}
        assert all(f"{n}: " in " ".join(question.steps) for n in question.answer)


def test_125_addresses_are_left_when_0_is_kept():
    for question in drawn("addresses-left"):
        controllers, drives, _repeaters = numbers(question.text)[:3]
        assert question.answer == 125 - controllers - drives


def test_hexadecimal_is_what_python_writes():
    for question in drawn("hexadecimal"):
        assert question.written == f"16#{numbers(question.text)[0]:02X}"


def counts(text):
    """What switches 1 to 7 count, and at which position, from the words of the question."""
    first, last = (int(n) for n in re.findall(r"Switch 1 counts (\d+), switch 7 counts (\d+)", text)[0])
    assert {first, last} == {1, 64}
    weights = [1, 2, 4, 8, 16, 32, 64] if first == 1 else [64, 32, 16, 8, 4, 2, 1]
    return weights, re.findall(r"counts when it is (\w+)", text)[0]


def test_the_switches_add_up_to_the_address():
    seen = set()
    for question in drawn("dip-read"):
        weights, at = counts(question.text)
        seen.add((weights[0], at))
        stands = [row["stands at"] for row in question.rows]
        assert question.answer == sum(w for w, stand in zip(weights, stands, strict=True) if stand == at)
    assert seen == {(1, "ON"), (64, "ON"), (1, "OFF"), (64, "OFF")}


def test_the_switches_are_set_to_the_address():
    for question in drawn("dip-set"):
        weights, at = counts(question.text)
        address = int(re.findall(r"for address (\d+)", question.text)[0])
        stands = ["ON" if bit == "1" else "OFF" for bit in question.answer]
        assert sum(w for w, stand in zip(weights, stands, strict=True) if stand == at) == address


def test_rotary_switches_are_two_hexadecimal_digits():
    for question in drawn("rotary"):
        left, right = re.findall(r"(?:stands|one) at (\w)", question.text)
        digits = left + right if "The left one counts most" in question.text else right + left
        assert question.answer == int(digits, 16) <= 125


def test_the_free_address_is_the_lowest_that_nobody_has():
    for question in drawn("free-address"):
        taken = {row["address"] for row in question.rows}
        assert "–" in taken  # the repeater
        assert question.answer == min(n for n in range(1, 126) if str(n) not in taken)


def test_an_address_given_twice_is_found_in_decimal():
    for question in drawn("given-twice"):
        found = Counter(
            int(text.rsplit(" ", 1)[1], 16 if "0 to F" in text else 10)
            for text in (str(row["address set"]) for row in question.rows)
        )
        assert question.answer == {n for n, times in found.items() if times > 1} != set()


def test_the_old_address_holds_until_the_supply_has_been_off():
    for question in drawn("takes-effect"):
        old = re.findall(r"from (\d+) to", question.text)[0]
        assert question.answer.startswith(f"at {old}, until its supply")
        assert any("isolation, every step" in step for step in question.steps)  # the caution where the hand would move


@pytest.mark.parametrize("kind", ["dip-read", "rotary", "hexadecimal"])
def test_the_first_step_shows_the_way_and_not_the_result(kind):
    for question in drawn(kind):
        assert not re.search(rf"\b{question.answer:.0f}\b", question.steps[0]) or question.answer in (64, 16, 15, 10)
