"""The panel of response time against sums done by hand."""

import re

import pytest
from drawn import check_chart
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.time.answers import ALONE, COMPUTER, SECOND, response_answer
from helpers.bus.time.message_cycle import Exchange
from helpers.panels.kit.chart import curves_chart
from helpers.panels.time.response import response_panel

SIX = (Exchange(12, 12),) * 6


def seconds(text):
    number, unit = text.split()
    return float(number) * {"µs": 1e-6, "ms": 1e-3, "s": 1.0}[unit]


@settings(max_examples=25)
@given(
    st.lists(st.tuples(st.integers(0, 244), st.integers(0, 244)), min_size=1, max_size=5),
    st.sampled_from([9_600.0, 500_000.0, 12_000_000.0]),
    st.floats(0, 1),
    st.sampled_from([ALONE, COMPUTER, SECOND]),
)
def test_the_bars_are_as_long_as_the_times(sizes, bit_rate, controller_s, other):
    answer = response_answer(tuple(Exchange(*size) for size in sizes), bit_rate, controller_s, other)
    check_chart(curves_chart(answer.pictures[0]))
    average, worst, best = map(seconds, re.findall(r"[\d.]+ (?:µs|ms|s)\b", answer.sentence)[:3])
    assert best <= average <= worst
    for row, time in enumerate((best, average, worst)):
        bars = [bar for bar in answer.pictures[0].bars if bar.y == row]
        assert sum(bar.end - bar.begin for bar in bars) / 1000 == pytest.approx(time, rel=2e-3)


def test_the_panel_answers_and_refuses():
    panel = response_panel()
    assert "In order." in panel.result.value
    panel.fields["watchdog_s"].widget.value = "10 ms"
    assert "Outside cautious practice." in panel.result.value and "does not fit" in panel.result.value
    for name, typed in (
        ("stations", (("Fan", "x"),)),
        ("controller_s", "-1 ms"),
        ("watchdog_s", "soon"),
        ("output_s", "1 h"),
    ):
        good = panel.fields[name].widget.value
        panel.fields[name].widget.value = typed
        assert "Not usable" in panel.said.value
        panel.fields[name].widget.value = good
        assert not panel.said.value
