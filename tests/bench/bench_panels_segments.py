"""How fast the panels of the lesson on segments answer: run with `pytest tests/bench/bench_panels_segments.py`.

The aim is 150 ms for calculation and drawing together.
"""

import pytest

from helpers.bus.cable.laid import even_line
from helpers.bus.cable.line_picture import LinePicture
from helpers.bus.cable.segment_answer import even_answer, segment_answer
from helpers.panels.cable.plugs import plug_view
from helpers.panels.cable.segment import DRAW
from helpers.panels.cable.segment_drawing import line_drawing
from helpers.panels.cable.termination import termination_panel, termination_view
from helpers.panels.kit.as_html import html_of
from helpers.panels.network.network_drawing import demo_site
from helpers.plan.my_networks import demo_network
from helpers.plan.rows import segment_in, segment_rows


def test_a_segment_in_order(benchmark):
    benchmark(lambda: html_of(even_answer(32, 90, 1_500_000), draw=DRAW))


@pytest.mark.parametrize("stations", [40, 200])
def test_a_segment_that_needs_repeaters(benchmark, stations):
    benchmark(lambda: html_of(even_answer(stations, 10.0 * stations, 500_000), draw=DRAW))


def test_a_list(benchmark):
    benchmark(
        lambda: html_of(segment_answer(segment_in(segment_rows(demo_network(), "1"), bit_rate=1_500_000)), draw=DRAW)
    )


def test_termination_with_its_meter_readings(benchmark):
    benchmark(lambda: html_of(termination_view({1, 3, 6}, 1_500_000), draw=DRAW))


def test_inside_a_plug(benchmark):
    benchmark(lambda: html_of(plug_view("cutting", True, "end")))


def test_the_drawing_of_a_full_segment(benchmark):
    segment = even_line(stations=32, length_m=155, bit_rate=500_000)
    benchmark(lambda: line_drawing(LinePicture((segment,))).html)


def test_the_demo_site(benchmark):
    benchmark(lambda: demo_site().svg)


def test_a_switch_turned(benchmark):
    button = termination_panel().fields["on"].widget.buttons[2]

    def turn():
        button.value = not button.value

    benchmark(turn)
