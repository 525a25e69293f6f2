"""How fast the bus time is calculated: run with `pytest tests/bench/bench_timing.py`."""

from helpers.bus.time.cycle import bus_cycle
from helpers.bus.time.estimate import compare, step_cost
from helpers.bus.time.message_cycle import Exchange, message_cycle
from helpers.bus.time.watchdog import watchdog_factors

FULL_LINE = [Exchange(12, 12, name=f"drive {n}") for n in range(125)]


def test_one_message_cycle(benchmark):
    benchmark(message_cycle, Exchange(12, 12), bit_rate=12_000_000)


def test_cycle_of_125_different_stations(benchmark):
    benchmark(bus_cycle, FULL_LINE, bit_rate=1_500_000)


def test_comparison_of_125_different_stations(benchmark):
    benchmark(compare, bus_cycle(FULL_LINE, bit_rate=1_500_000))


def test_format_step_at_every_bit_rate(benchmark):
    benchmark(step_cost, [Exchange(4, 4)] * 30, [Exchange(12, 12)] * 30)


def test_watchdog_factors(benchmark):
    benchmark(watchdog_factors, 2.57)
