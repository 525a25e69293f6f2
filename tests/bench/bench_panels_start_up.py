"""How fast the panels of start-up and diagnosis answer.

Run: pytest tests/bench/bench_panels_start_up.py. Wanted: 150 ms from an input to the finished picture.
"""

import itertools

from helpers.bus.recording.diagnosis_answer import examples
from helpers.line.traffic import start_up_answer
from helpers.panels.telegrams.diagnosis import diagnosis_panel
from helpers.panels.telegrams.start_up import (
    read_examples,
    read_start_up_panel,
    start_up_bytes_panel,
    start_up_panel,
)


def changing(benchmark, panel, field, values):
    turn = itertools.cycle(values)  # the first differs from what is there, or the first round measures nothing
    widget = panel.fields[field].widget

    def change():
        widget.value = next(turn)

    benchmark(change)
    assert not panel.said.value


def test_another_diagnosis(benchmark):
    changing(benchmark, diagnosis_panel(), "text", [*list(examples().values())[1:], "02 05 00 FF FF F1"])


def test_another_watchdog(benchmark):
    changing(benchmark, start_up_bytes_panel(), "watchdog", ["1 x 20", "50 ms", "650 s"])


def test_other_start_up_octets(benchmark):
    changing(benchmark, read_start_up_panel(), "text", list(read_examples().values())[::-1])


def test_another_step_of_a_start(benchmark):
    changing(benchmark, start_up_panel(), "number", range(2, 17))


def test_another_fault_played_for_the_first_time(benchmark):
    turn = itertools.cycle(start_up_answer.cases())
    benchmark(lambda: start_up_answer.start.__wrapped__(next(turn), True))
