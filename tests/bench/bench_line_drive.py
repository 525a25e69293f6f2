"""How fast a drive of the practice line is. Run: pytest tests/bench/bench_line_drive.py."""

import itertools

import pytest
from driven import READY, RUN, make, running, send

from helpers.line.station.keypad import front

STEP_S = 0.01


@pytest.fixture
def drive():
    return running(percent=60, data_format="Mill 2/3")


def test_a_step_while_nothing_changes(benchmark, drive):
    benchmark(drive.advance, STEP_S)


def test_a_step_on_the_ramp(benchmark):
    drive = make("Mill 2/3", machine="Dryer fan")
    send(drive, READY)
    turns = itertools.cycle([100, -100])

    def lead():
        send(drive, READY)
        send(drive, RUN, next(turns))
        return (), {}

    benchmark.pedantic(lambda: [drive.advance(STEP_S) for _ in range(500)], setup=lead, rounds=20)


def test_outputs_as_before(benchmark, drive):
    benchmark(send, drive, RUN, 60)


def test_outputs_with_another_setpoint(benchmark, drive):
    octets = [RUN.to_bytes(2, "big") + n.to_bytes(2, "big") for n in range(0x4000)]
    numbers = itertools.cycle(octets)
    benchmark(lambda: drive.take_outputs(next(numbers)))


def test_outputs_with_another_control_word(benchmark, drive):
    octets = itertools.cycle([word.to_bytes(2, "big") + b"\x10\x00" for word in (RUN, READY)])
    benchmark(lambda: drive.take_outputs(next(octets)))


def test_inputs_as_before(benchmark, drive):
    benchmark(drive.inputs)


def test_inputs_on_the_ramp(benchmark, drive):
    def changed():
        drive._stale = True
        return drive.inputs()

    benchmark(changed)


def test_the_front(benchmark, drive):
    benchmark(front, drive, "data exchange")
