"""Cost of one update of the live line, of the picture, and of a fault's readings; nothing is asserted.

Aim: an update takes at most 50 ms out of every 100 ms; a fault's readings of the demo site are there in 2 s.
"""

import sys
import time
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))
from line_nets import demo, row

from helpers.line.faults.catalogue import by_key
from helpers.line.faults.fault import Chosen
from helpers.panels.bench.bench import bench_panel
from helpers.panels.bench.bench_drawing import bench_drawing, live
from helpers.panels.bench.bench_state import look
from helpers.panels.bench.what_would_i_see import Looked
from helpers.plan.model import Plan

NETWORKS = {"demo": None, "125 at 1.5 Mbit/s": Plan("row", (row(125, 1_500_000, per_segment=13),)),
            "125 at 12 Mbit/s": Plan("row", (row(125, 12_000_000, per_segment=13),))}  # fmt: skip


@pytest.mark.parametrize("name", NETWORKS)
def test_update(benchmark, name):
    panel = bench_panel(NETWORKS[name])
    panel.speed.value = "as fast as it can"
    panel.tick(0.1)
    before, begun = panel.bench.line.now_s, time.perf_counter()
    benchmark.pedantic(panel.tick, (0.1,), rounds=30)
    passed = (panel.bench.line.now_s - before) / (time.perf_counter() - begun)
    print(f"\n{name}: {passed:.1f} simulated seconds for each second of work")


@pytest.mark.parametrize("name", NETWORKS)
def test_picture(benchmark, name):
    panel = bench_panel(NETWORKS[name])
    benchmark(lambda: live(bench_drawing(look(panel.bench.line), panel.bench.plan)))


def test_readings_of_a_fault(benchmark):
    fault = by_key("core open")
    benchmark.pedantic(lambda: list(Looked(demo(), Chosen(fault, fault.places(demo())[3]))), rounds=3)
