"""The answers of the bank, worked out a second time from the words of the question."""

import math
import re

import pytest

from helpers.study.banks.registry import draw_question

SEEDS = range(1, 40)


def numbers(text):
    return [float(number) for number in re.findall(r"(?<![\w.])-?−?\d+(?:\.\d+)?", text.replace("−", "-"))]


@pytest.mark.parametrize("seed", SEEDS)
def test_the_terminator_for_a_signal(seed):
    question = draw_question("reflections", "signal-resistance", seed)
    rt, first, second = numbers(question.text)
    assert question.answer == pytest.approx(1 / (1 / rt + 1 / (first + second)))


@pytest.mark.parametrize("seed", SEEDS)
def test_the_share_that_comes_back_keeps_voltage_and_current(seed):
    """What goes on into the end must have the end's resistance: (1 + r) / (1 − r) = end / cable."""
    question = draw_question("reflections", "echo-share", seed)
    cable, end = numbers(question.text)[:2]
    share = question.answer / 100
    assert (1 + share) / (1 - share) == pytest.approx(end / cable)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_echo_in_bits(seed):
    question = draw_question("reflections", "echo-bits", seed)
    length_m, ns_per_m, rate = numbers(question.text)
    per_s = rate * (1e6 if "Mbit/s" in question.text else 1e3)
    assert question.answer == pytest.approx(length_m * 2 * ns_per_m * 1e-9 * per_s)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_distance_of_a_fault(seed):
    question = draw_question("reflections", "fault-distance", seed)
    back_ns, ns_per_m = numbers(question.text)
    assert question.answer * ns_per_m * 2 == pytest.approx(back_ns)


@pytest.mark.parametrize("seed", SEEDS)
def test_the_level_at_an_end_divides_a_source_of_twice_the_wave(seed):
    """A second method: the line is a source of twice the wave behind its impedance (Thevenin)."""
    question = draw_question("reflections", "end-level", seed)
    wave, cable = numbers(question.text)[:2]
    on = 1 / (1 / 220 + 1 / 780)
    ends = {"missing": math.inf, "One terminator": on, "Two terminators": on / 2, "VP hangs free": 220.0}
    (end,) = [ohm for words, ohm in ends.items() if words in question.text]
    assert question.answer == pytest.approx(2 * wave if end == math.inf else 2 * wave * end / (end + cable))


@pytest.mark.parametrize("seed", SEEDS)
def test_the_highest_quiet_bit_rate(seed):
    question = draw_question("reflections", "quiet-rate", seed)
    trips = int(re.search(r"after (\d+) round trips", question.text)[1])
    trip_us = float(re.search(r"takes ([\d.]+) µs", question.text)[1])
    per_s = {option: float(option.split()[0]) * (1e6 if "M" in option else 1e3) for option in question.form.options}
    quiet = [option for option, rate in per_s.items() if 0.5 / rate >= trips * trip_us * 1e-6 * 0.995]
    assert question.answer == max(quiet, key=per_s.get)
    back = float(re.search(r"sends back (−?-?[\d.]+) of", question.text)[1].replace("−", "-"))
    left = float(re.search(r"within (\d+) %", question.text)[1]) / 100
    assert abs(back) ** (trips + 1) <= left * 1.02 and abs(back) ** trips > left * 0.98


@pytest.mark.parametrize("seed", SEEDS)
def test_a_crowded_cable_has_the_impedance_of_its_inductance_and_capacitance(seed):
    question = draw_question("reflections", "crowded", seed)
    pf, spacing_m, z0, pf_per_m = numbers(question.text)
    henry_per_m = z0**2 * pf_per_m * 1e-12
    assert question.answer == pytest.approx(math.sqrt(henry_per_m / ((pf_per_m + pf / spacing_m) * 1e-12)))
