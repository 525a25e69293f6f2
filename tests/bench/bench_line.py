"""Speed of the practice line: simulated over real time. `pytest tests/bench/bench_line.py -s`; nothing is asserted.

Aims: 30 drives at 12 Mbit/s 3 times as fast as real time or better, at 1.5 Mbit/s 25 times; 125 stations on five
segments at 1.5 Mbit/s 8 times. Motors that run up cost more than motors at their speed, so both are shown.
"""

import time

import pytest
from line_nets import demo, row

from helpers.line.build import installation_of
from helpers.line.instruments.kit import every
from helpers.line.line import Line

NETWORKS = [(30, 12_000_000, 3), (30, 1_500_000, 25), (125, 1_500_000, 8)]


def ratio(line, seconds):
    begun = time.process_time()
    line.run(seconds)
    return seconds / (time.process_time() - begun)


@pytest.mark.parametrize(("drives", "bit_rate", "aim"), NETWORKS)
def test_simulated_over_real_time(drives, bit_rate, aim):
    begun = time.process_time()
    line = Line(installation_of(row(drives, bit_rate, per_segment=25)))
    line.run(0.05)
    started = time.process_time() - begun
    running_up = ratio(line, 1)
    line.run(8)
    settled = ratio(line, 2)
    line.recording.on = True
    recorded = ratio(line, 1)
    print(f"\n{drives} drives at {bit_rate / 1e6:g} Mbit/s, aim {aim}: running up {running_up:.1f}, at speed ")
    print(f"{settled:.1f}, recorded {recorded:.1f}; from the plan to the first telegrams {started:.2f} s")


def test_every_reading_of_the_demo_site(benchmark):
    line = Line(demo())
    line.run(1)
    assert benchmark.pedantic(every, (line,), rounds=3)
