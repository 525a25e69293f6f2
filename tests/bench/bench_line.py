"""Speed of the practice line: simulated over real time. `pytest tests/bench/bench_line.py -s`; nothing is asserted.

Aims: 30 drives at 12 Mbit/s 3 times as fast as real time or better, at 1.5 Mbit/s 25 times; 125 stations on five
segments at 1.5 Mbit/s 8 times. Motors that run up cost more than motors at their speed: the answers change with every
look at a drive and no telegram can be kept. So each phase is shown, and the first second, in which stations start too.
The clock counts this process alone; on a machine with other work a person waits longer.
"""

import gc
import time

import pytest
from line_nets import demo, row

from helpers.line.instruments.catalogue import every
from helpers.line.plant.build import installation_of
from helpers.line.traffic.line import Line

NETWORKS = [(30, 12_000_000, 3), (30, 1_500_000, 25), (125, 1_500_000, 8)]


def ratio(line, seconds):
    gc.collect()  # what lies about from before is not the line's
    begun = time.process_time()
    line.run(seconds)
    return seconds / (time.process_time() - begun)


@pytest.mark.parametrize(("drives", "bit_rate", "aim"), NETWORKS)
def test_simulated_over_real_time(drives, bit_rate, aim):
    begun = time.process_time()
    line = Line(installation_of(row(drives, bit_rate, per_segment=25)))
    line.run(0.05)
    started = time.process_time() - begun
    first, running_up = ratio(line, 1), ratio(line, 2)
    line.run(6)
    settled = ratio(line, 2)
    line.recording.on = True
    recorded = ratio(line, 1)
    print(f"\n{drives} drives at {bit_rate / 1e6:g} Mbit/s, aim {aim}: first second {first:.1f}, running up", end=" ")
    print(f"{running_up:.1f}, at speed {settled:.1f}, and recorded {recorded:.1f} times as fast as real time;")
    print(f"from the plan to the first telegrams {started:.2f} s")


def test_every_reading_of_the_demo_site(benchmark):
    line = Line(demo())
    line.run(1)
    assert benchmark.pedantic(every, (line,), rounds=3)
