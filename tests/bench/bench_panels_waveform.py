"""How fast the waveform bench answers, drawing included: pytest tests/bench/bench_panels_waveform.py.

The aim is 150 ms for each answer.
"""

import pytest

from helpers.bus.circuit.faults import HEALTHY
from helpers.bus.circuit.margin import margins_answer
from helpers.bus.circuit.rules import compared
from helpers.panels.cable.bounce import bounce_view
from helpers.panels.cable.waveform import waveform_panel, waveform_view
from helpers.panels.kit.as_html import html_of


@pytest.mark.parametrize("stations", [2, 8, 32])
@pytest.mark.parametrize("bit_rate", [93_750, 1_500_000, 12_000_000])
def test_bench(benchmark, stations, bit_rate):
    benchmark(lambda: html_of(waveform_view(stations, bit_rate=bit_rate, right="missing")))


def test_a_change_in_the_panel(benchmark):
    panel = waveform_panel()
    slider = panel.fields["stations"].widget

    def change():
        slider.value = 9 if slider.value == 8 else 8

    benchmark(change)


def test_bounce(benchmark):
    benchmark(lambda: html_of(bounce_view(100, "missing", 12_000_000)))


@pytest.mark.parametrize("stations", [8, 32])
def test_margins(benchmark, stations):
    benchmark(lambda: html_of(margins_answer(HEALTHY, stations, 100.0, 0.0, 12e6)))


def test_the_table_of_rule_and_calculation(benchmark):
    """Aim: a few seconds."""
    benchmark.pedantic(compared.__wrapped__, rounds=2)
