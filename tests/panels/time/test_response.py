"""The panel of response time against sums done by hand."""

import re

import pytest
from drawn import boxes, check_legible
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.time.message_cycle import Exchange
from helpers.panels.time.response import ALONE, COMPUTER, SECOND, response_panel, response_view
from helpers.verdict import Degree

SIX = (Exchange(12, 12),) * 6


def row(view, what):
    return next(row for row in view.rows if row["what"] == what)


def seconds(text):
    number, unit = text.split()
    return float(number) * {"µs": 1e-6, "ms": 1e-3, "s": 1.0}[unit]


def test_the_three_cases_by_hand():
    # Telegrams of 231 bit (11n + 99: M. Felser, PROFIBUS Manual) at 1.5 Mbit/s; cycles as in the doctest of bus_cycle.
    view = response_view(SIX, controller_s=0.020)
    average, worst, best = map(seconds, re.findall(r"[\d.]+ (?:µs|ms|s)\b", view.sentence)[:3])
    telegrams = 2 * 231 / 1.5e6
    assert best == pytest.approx(telegrams + 0.020, rel=1e-3)
    assert average == pytest.approx(telegrams + 0.020 + 0.010 + 3622 / 1.5e6, rel=1e-3)
    assert worst == pytest.approx(telegrams + 0.040 + 2 * 4979 / 1.5e6, rel=1e-3)


@pytest.mark.parametrize(
    ("watchdog_s", "degree"),
    [
        (0, Degree.CAUTION),
        (0.01, Degree.CAUTION),
        (0.02, Degree.IN_ORDER),
        (0.2, Degree.IN_ORDER),
        (651, Degree.CANNOT_WORK),
    ],
)
def test_the_watchdog_is_judged_on_both_sides(watchdog_s, degree):
    # 650.25 s is the longest: 255 · 255 · 10 ms, PROFIBUS Specification p.734 eq. 8; five worst cycles, common practice
    view = response_view(SIX, watchdog_s=watchdog_s)
    assert view.degree is degree
    assert ("without end" in str(view.caution)) == (watchdog_s == 0)
    assert any(line["what"] == "watchdog set" for line in view.rows) == (watchdog_s > 0)


@pytest.mark.parametrize(("watchdog_s", "instead"), [(0.256, "260 ms"), (2.57, "2.58 s"), (0.2, ""), (650.25, "")])
def test_a_time_that_no_two_factors_give_is_named_with_the_next_one(watchdog_s, instead):
    # PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.734 eq. 8: 10 ms times two factors of one octet each
    view = response_view(SIX, watchdog_s=watchdog_s)
    (how,) = [line["how"] for line in view.rows if line["what"] == "watchdog set"]
    assert (f"the next is {instead} = 10 ms ·" in how) if instead else "factors" not in how


def test_a_second_master_lengthens_everything_and_its_share_is_told():
    alone, computer, second = (response_view(SIX, other=other) for other in (ALONE, COMPUTER, SECOND))
    times = [seconds(row(view, "bus cycle, typical")["time"]) for view in (alone, computer, second)]
    assert times == sorted(set(times))
    # token 33 + TID1 37 and a gap poll of 66 + TSL 300, at 1.5 Mbit/s
    assert seconds(row(computer, "of it the second master")["time"]) == pytest.approx(436 / 1.5e6, rel=1e-3)
    # as many stations again: the whole typical cycle once more
    assert times[2] == pytest.approx(2 * times[0], rel=1e-3)
    assert "of it the second master" not in [line["what"] for line in alone.rows]


@settings(max_examples=25)
@given(
    st.lists(st.tuples(st.integers(0, 244), st.integers(0, 244)), min_size=1, max_size=5),
    st.sampled_from([9_600.0, 500_000.0, 12_000_000.0]),
    st.floats(0, 1),
    st.sampled_from([ALONE, COMPUTER, SECOND]),
)
def test_the_bars_are_as_long_as_the_times(sizes, bit_rate, controller_s, other):
    view = response_view(tuple(Exchange(*size) for size in sizes), bit_rate, controller_s, other)
    check_legible(view.pictures[0])
    average, worst, best = map(seconds, re.findall(r"[\d.]+ (?:µs|ms|s)\b", view.sentence)[:3])
    assert best <= average <= worst
    drawn = {}
    for _, y, width, *_ in boxes(view.pictures[0]):
        drawn[y] = drawn.get(y, 0) + width
    assert [long / max(drawn.values()) for long in drawn.values()] == pytest.approx(
        [time / worst for time in (best, average, worst)], abs=2e-3
    )


def test_the_panel_answers_and_refuses():
    panel = response_panel()
    assert "In order." in panel.result.value
    panel.fields["watchdog_s"].widget.value = "10 ms"
    assert "Outside cautious practice." in panel.result.value and "does not fit" in panel.result.value
    for name, typed in (("stations", ""), ("controller_s", "-1 ms"), ("watchdog_s", "soon"), ("output_s", "1 h")):
        good = panel.fields[name].widget.value
        panel.fields[name].widget.value = typed
        assert "Not usable" in panel.said.value
        panel.fields[name].widget.value = good
        assert not panel.said.value
