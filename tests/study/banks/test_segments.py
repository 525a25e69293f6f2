"""The questions on segments, answered a second time from their text alone.

Lengths: PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.32. Both ends, nowhere else, and repeaters counted among
32: M. Felser, PROFIBUS Manual, bus termination and electrical transmission. 390 Ω – 220 Ω – 390 Ω: the same, bus
termination. 0.11 Ω a metre is twice the 55 Ω/km of a core. What a cutting plug does is common practice.
"""

import re

import pytest

from helpers.study.banks.registry import draw_question

SEEDS = range(1, 150)
A = {"187.5 kbit/s": 1000, "500 kbit/s": 400, "1.5 Mbit/s": 200, "12 Mbit/s": 100}
# By the strictest source, fastest first; type B at 1.5 Mbit/s and above: ABB RPBA-01 manual p.113 allows none.
STRICTEST = {
    "A": [("12 Mbit/s", 100), ("1.5 Mbit/s", 200), ("500 kbit/s", 400), ("187.5 kbit/s", 1000)],
    "B": [("500 kbit/s", 200), ("187.5 kbit/s", 600), ("93.75 kbit/s", 1200)],
}


def drawn(kind):
    return [draw_question("segments", kind, seed) for seed in SEEDS]


def numbers(text):
    return [float(n) for n in re.findall(r"\d+(?:\.\d+)?", text)]


def parallel(*ohms):
    return 1 / sum(1 / ohm for ohm in ohms)


def test_everything_that_transmits_is_counted_once():
    for question in drawn("interfaces"):
        drives, remotes = numbers(question.text)[:2]
        assert question.answer == 2 + drives + remotes + (2 if "at each end" in question.text else 1)


def test_unit_loads_are_added_up():
    for question in drawn("unit-loads"):
        light, old, two, repeaters, one = numbers(question.text)
        assert (two, one) == (2, 1)
        assert question.answer == light / 2 + 2 * old + repeaters


def test_a_foot_is_0_3048_metres():
    for question in drawn("feet"):
        rate = re.findall(r"runs at (.*?)\.\n", question.text)[0]
        assert question.answer == pytest.approx(A[rate] - 0.3048 * numbers(question.text)[0])
        assert question.answer > 0


def test_the_highest_rate_is_the_fastest_row_that_the_cable_fits_into():
    seen = set()
    for question in drawn("highest-rate"):
        length, kind = re.findall(r"has (\d+) m of cable, type (\w)", question.text)[0]
        seen.add((kind, question.answer))
        assert question.answer == next(rate for rate, most in STRICTEST[kind] if int(length) <= most)
    assert len(seen) == 6


def test_the_stubs_count_with_the_inputs_at_their_ends():
    for question in drawn("stub-capacitance"):
        stubs, length, per_m, device = numbers(question.text)
        assert per_m == 30
        assert question.answer == pytest.approx(stubs * (30 * length + device))


def test_each_segment_keeps_to_its_length_and_with_one_repeater_fewer_it_would_not():
    for question in drawn("repeaters"):
        length = numbers(question.text)[0]
        most = A[re.findall(r"to run at (.*?),", question.text)[0]]
        assert length / (question.answer + 1) <= most < length / question.answer


def test_two_terminators_for_each_segment():
    for question in drawn("terminators"):
        stations, repeaters = numbers(question.text)
        assert question.answer == 2 * (repeaters + 1)
        # 32 interfaces in a segment, a repeater counts in both of its own: M. Felser, PROFIBUS Manual.
        assert stations <= min(32 * (repeaters + 1) - 2 * repeaters, 125)


def listed(question):
    return [int(n) for n in re.findall(r"addresses ([\d, ]+), in this order", question.text)[0].split(", ")]


def test_what_lies_behind_the_outgoing_side_is_lost():
    seen = set()
    for question in drawn("cut-off"):
        line, here = listed(question), int(re.findall(r"terminator at (\d+)", question.text)[0])
        exchanged = "are exchanged" in question.text
        seen.add(exchanged)
        place = line.index(here)
        assert question.answer == set(line[place if exchanged else place + 1 :])
        assert 1 not in question.answer
    assert seen == {False, True}


def test_an_end_without_a_terminator_of_its_own_gets_its_switch_on():
    answers = []
    for question in drawn("switches-on"):
        line = listed(question)
        own = {int(n) for n in re.findall(r"[Bb]eside (\d+)", question.text)}
        assert question.answer == {line[0], line[-1]} - own
        answers.append(len(question.answer))
    assert set(answers) == {0, 1}


def test_the_idle_voltage_does_not_know_how_many_there_are():
    for question in drawn("idle-volts"):
        supply = float(re.findall(r"fed with ([\d.]+) V", question.text)[0])
        assert question.answer == pytest.approx(supply * 220 / 1000)


def test_the_meter_sees_the_far_terminator_behind_the_cable():
    for question in drawn("meter-reading"):
        loop = 0.11 * float(re.findall(r"cable is (\d+) m", question.text)[0])
        if "both ends" in question.text:
            expected = parallel(220, 220 + loop)
        elif "Only the terminator at the far end" in question.text:
            expected = 220 + loop
        else:
            expected = parallel(220, 220, 220 + loop)
        assert question.answer == pytest.approx(expected)


def test_each_reading_has_one_cause():
    causes = {
        "both ends on, nothing else": lambda loop: parallel(220, 220 + loop),
        "only the near end on": lambda loop: 220,
        "only the far end on": lambda loop: 220 + loop,
        "both ends on, and one more in the middle": lambda loop: parallel(
            220, loop / 2 + parallel(220, 220 + loop / 2)
        ),
        "three on at the near end, and the far end": lambda loop: parallel(220, 220, 220, 220 + loop),
    }
    seen = set()
    for question in drawn("meter-cause"):
        length, shown = (float(re.findall(rf"{before} ([\d.]+)", question.text)[0]) for before in ("is", "shows"))
        fitting = [cause for cause, reading in causes.items() if abs(reading(0.11 * length) - shown) < 0.06]
        assert fitting == [question.answer]
        seen.add(question.answer)
    assert seen == set(causes)
