"""How fast the panels of formats and bus time answer, drawing included: pytest tests/bench/bench_panels_formats.py.

The aim is 150 ms for each answer.
"""

import pytest

from helpers.bus.time.answers import cycle_answer, step_answer
from helpers.bus.time.format_choice import choice_answer
from helpers.bus.time.message_cycle import Exchange
from helpers.device import formats, signals
from helpers.device.format_answers import build_answer, family_answer, identifiers_answer, layout_answer
from helpers.panels.device.formats import DRAW, choice_panel
from helpers.panels.kit.as_html import html_of
from helpers.panels.time.cycle import cycle_panel
from helpers.plan.rows import exchanges_in

MANY = signals.demo_signals()


def test_family(benchmark):
    benchmark(lambda: html_of(family_answer("standard telegrams"), draw=DRAW))


def test_layout(benchmark):
    benchmark(lambda: html_of(layout_answer("PPO 5", MANY), draw=DRAW))


def test_choice_among_all_formats(benchmark):
    benchmark(lambda: html_of(choice_answer(MANY, True, "every known format"), draw=DRAW))


def test_a_tick_in_the_choice_panel(benchmark):
    panel = choice_panel()
    box = panel.fields["ENERGY"].widget

    def tick():
        box.value = not box.value

    benchmark(tick)


def test_identifiers_of_a_full_configuration(benchmark):
    benchmark(lambda: html_of(identifiers_answer(bytes([0xF1] * 244), bytes([0xF1] * 243)), draw=DRAW))


def test_an_identifier_put_together(benchmark):
    benchmark(lambda: html_of(build_answer(out=2, out_unit="word", into=3, in_unit="word"), draw=DRAW))


def test_step(benchmark):
    names = [one.name for one in formats.all_formats()]
    benchmark(lambda: html_of(step_answer(names[0], names[-1], 124), draw=DRAW))


@pytest.mark.parametrize("kinds", [1, 9, 125])
def test_cycle_with_its_chart(benchmark, kinds):
    stations = tuple(Exchange(12, n % kinds) for n in range(125))
    benchmark(lambda: html_of(cycle_answer(stations), draw=DRAW))


def test_a_change_in_the_cycle_panel(benchmark):
    panel = cycle_panel()
    rate = panel.fields["bit_rate"].widget

    def change():
        rate.value = 12_000_000.0 if rate.value < 12_000_000 else 1_500_000.0

    benchmark(change)


def test_stations_are_read(benchmark):
    benchmark(exchanges_in, [(f"Fan {n}", "Mill 2/3") for n in range(80)])
