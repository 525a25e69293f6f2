"""Response time against a simulation of three clocks that run without regard to each other."""

import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.time.cycle import bus_cycle
from helpers.bus.time.message_cycle import Exchange
from helpers.bus.time.response import response_time
from helpers.errors import OutOfRange, Unknown

FAN, SCREW = Exchange(4, 4, name="dryer fan"), Exchange(12, 12, name="discharge screw")
BUS = bus_cycle([FAN, SCREW, *[Exchange(8, 8)] * 10], bit_rate=500_000)


def test_the_steps_of_the_best_case():
    best = response_time(BUS, controller_cycle_s=0.02, input_delay_s=0.001, output_delay_s=0.003).best
    bit_s = 1 / 500_000
    # Nothing is waited for: answer of 4 bytes, one run, request of 4 bytes.
    assert best.seconds == pytest.approx(0.001 + 0.02 + 0.003 + 2 * (11 * 4 + 99) * bit_s)


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 1))
def test_best_average_worst(controller_cycle_s, input_delay_s, output_delay_s):
    result = response_time(
        BUS, controller_cycle_s=controller_cycle_s, input_delay_s=input_delay_s, output_delay_s=output_delay_s
    )
    assert result.best.seconds < result.average.seconds < result.worst.seconds
    # From best to worst: two bus cycles and one run of the program.
    assert result.worst.seconds - result.best.seconds == pytest.approx(2 * BUS.worst.seconds + controller_cycle_s)
    for chain in (result.best, result.average, result.worst):
        assert chain.seconds == sum(step.seconds for step in chain.steps)


def test_three_clocks_simulated():
    """Second method: a change at a random moment is carried along the clocks; every phase is as likely."""
    draw = random.Random(7)
    bus_s, program_s = BUS.typical.seconds, 0.0137
    answer_s, request_s = (11 * 12 + 99) / 500_000, (11 * 4 + 99) / 500_000

    def next_tick(now, period, phase):
        return now + (phase - now) % period

    times = []
    for _ in range(20_000):
        asked, program, served = draw.uniform(0, bus_s), draw.uniform(0, program_s), draw.uniform(0, bus_s)
        arrived = next_tick(0, bus_s, asked) + answer_s
        written = next_tick(arrived, program_s, program) + program_s
        times.append(next_tick(written, bus_s, served) + request_s)
    result = response_time(BUS, controller_cycle_s=program_s, input_station=SCREW, output_station=FAN)
    assert sum(times) / len(times) == pytest.approx(result.average.seconds, rel=0.01)
    assert result.best.seconds <= min(times) and max(times) <= result.worst.seconds


def test_the_stations_named_count():
    small = response_time(BUS, controller_cycle_s=0.02, input_station=FAN, output_station=FAN)
    large = response_time(BUS, controller_cycle_s=0.02, input_station=SCREW, output_station=SCREW)
    assert large.best.seconds - small.best.seconds == pytest.approx(2 * 11 * 8 / 500_000)
    assert response_time(BUS, controller_cycle_s=0.02) == small
    mixed = response_time(BUS, controller_cycle_s=0.02, input_station=SCREW, output_station=FAN).worst
    telegrams = {step.name: step.seconds for step in mixed.steps if step.name in ("answer", "request")}
    assert telegrams == pytest.approx({"answer": (11 * 12 + 99) / 500_000, "request": (11 * 4 + 99) / 500_000})


def test_what_is_refused():
    for wrong in (
        {"controller_cycle_s": -1},
        {"controller_cycle_s": 0.02, "input_delay_s": -1},
        {"controller_cycle_s": 0.02, "output_delay_s": float("nan")},
    ):
        with pytest.raises(OutOfRange):
            response_time(BUS, **wrong)
    with pytest.raises(Unknown, match="station is"):
        response_time(BUS, controller_cycle_s=0.02, input_station=Exchange(99, 99))


def test_the_steps_of_a_chain_and_their_sum():
    times = response_time(BUS, controller_cycle_s=0.02)
    steps = {step.name: step.seconds for step in times.best.steps}
    assert len(steps) == 8 and steps["program"] == 0.02
    assert times.best.seconds == pytest.approx(sum(steps.values()))
    assert response_time(BUS, controller_cycle_s=1).best.seconds == pytest.approx(1.001, abs=5e-4)


def test_each_case_bears_its_name():
    chains = response_time(BUS, controller_cycle_s=0.02)
    assert [each.title.rpartition(", ")[2] for each in (chains.best, chains.average, chains.worst)] == [
        "best", "average", "worst",
    ]  # fmt: skip
