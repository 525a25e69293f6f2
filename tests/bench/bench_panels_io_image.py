"""How fast the panels of the I/O image answer, drawing included: pytest tests/bench/bench_panels_io_image.py.

The aim is 150 ms for each answer.
"""

import pytest

from helpers.device.consistency import tearing_answer
from helpers.device.formats import by_name
from helpers.device.io_answers import io_image_answer
from helpers.device.io_image import ImageStation
from helpers.panels.device import byte_order, io_image
from helpers.panels.device.byte_order import byte_order_panel
from helpers.panels.device.io_image import io_image_panel
from helpers.panels.kit.as_html import html_of


@pytest.mark.parametrize("count", [4, 30, 125])
def test_image(benchmark, count):
    stations = [ImageStation(f"drive {n}", by_name("PPO 5"), (), n) for n in range(count)]
    benchmark(lambda: html_of(io_image_answer(stations, image_bytes=8192), draw=io_image.DRAW))


def test_a_change_in_the_image_panel(benchmark):
    panel = io_image_panel()
    rule = panel.fields["rule"].widget

    def change():
        rule.value = "packed" if rule.value == "grid" else "grid"

    benchmark(change)


def test_a_change_in_the_byte_order_panel(benchmark):
    panel = byte_order_panel()
    value = panel.fields["value"].widget

    def change():
        value.value = "16#047E" if value.value == "16#047F" else "16#047F"

    benchmark(change)


def test_a_torn_channel(benchmark):
    benchmark(lambda: html_of(tearing_answer("8 octets", "00 " * 8, "FF " * 8, "byte by byte"), draw=byte_order.DRAW))
