"""The panels of bus time against published sums, and against arithmetic done by hand."""

from collections import Counter
from itertools import pairwise

import pytest
from drawn import chart_texts, check_chart
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.time.answers import TimeBar, bars, cycle_answer, step_answer
from helpers.bus.time.message_cycle import Exchange
from helpers.device import formats
from helpers.errors import WorkbookError
from helpers.facts import DATA
from helpers.panels.kit.as_html import html_of
from helpers.panels.kit.chart import curves_chart
from helpers.panels.time.cycle import (
    cycle_panel,
    demo_stations,
    read_stations,
    step_panel,
)
from helpers.plan.read import read_plan

NAMES = [one.name for one in formats.all_formats()]


def seconds(text):
    """A time as the panels write it, in seconds."""
    number, unit = text.replace("−", "-").replace("±", "").split()
    return float(number) * {"µs": 1e-6, "ms": 1e-3, "s": 1.0}[unit]


# -- bars ---------------------------------------------------------------------------------------------


times = st.lists(st.floats(0, 1e6), min_size=3, max_size=3)
labels = st.sampled_from(["standard's form", "PPO 3", "standard telegram 20"])


@settings(max_examples=50)
@given(st.lists(st.tuples(labels, times), min_size=1, max_size=4).filter(lambda rows: any(sum(t) > 1 for _, t in rows)))
def test_bars_are_as_long_as_their_times_and_stay_on_the_sheet(rows):
    names = ("request", "TSDR", "answer")
    times = [TimeBar(label, tuple(zip(names, lengths, strict=True)), "1 ms") for label, lengths in rows]
    shown = bars(times, "bit times", width=400)
    chart = curves_chart(shown)
    check_chart(chart)
    for row, (_, lengths) in enumerate(rows):
        drawn = [bar for bar in shown.bars if bar.y == row]
        assert sum(bar.end - bar.begin for bar in drawn) == pytest.approx(sum(lengths))
        assert all(before.end == behind.begin for before, behind in pairwise(drawn))
        # The whole in words stands behind its bar, not on it.
        total = [text for text in chart_texts(chart) if text.words == "1 ms"][row]
        wide = 400 - 42 - 6.6 * max(len(label) for label, _ in rows)
        end = 400 - 28 - wide + (shown.notes[row].x / shown.x.last) * wide
        assert total.left == pytest.approx(end + 8, abs=1)


def test_bars_say_what_they_show():
    shown = bars([TimeBar("PPO 3", (("request", 143.0), ("answer", 143.0)), "191 µs")], "bit times", width=400)
    assert shown.says == "PPO 3 191 µs: request 143, answer 143"
    assert shown.below == ["1 request · 2 answer"]


# -- what a longer format costs -----------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_any_format_can_stand_against_any_other(name):
    view = step_answer(name, "PPO 2", 3)
    check_chart(curves_chart(*view.pictures))
    assert [words for _, words in view.pictures[0].y.ticks] == [name, "PPO 2"]


def test_the_step_panel_answers_its_controls():
    panel = step_panel()
    panel.fields["drives"].widget.value = 1
    panel.fields["after"].widget.value = "PPO 3"
    assert "With 1 drive at 1.5 Mbit/s" in panel.result.value and "no longer and no shorter" in panel.result.value


# -- stations as people list them ---------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "sizes"),
    [
        ("4 × PPO 4", [(12, 12)] * 4),
        ("2x12/16", [(12, 16)] * 2),
        ("3 * 0/2 bytes", [(0, 2)] * 3),
        ("PPO 3", [(4, 4)]),
        ("F3 F1", [(12, 12)]),
        ("2 × F3 F1; 1 × Mill 2/3, ST1", [(12, 12), (12, 12), (4, 6), (4, 4)]),
        ("\n\n2/2\n", [(2, 2)]),
        ("125 x 1/1", [(1, 1)] * 125),
    ],
)
def test_stations_are_read_as_people_list_them(typed, sizes):
    assert [(one.outputs, one.inputs) for one in read_stations(typed)] == sizes


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("", "there is no station"),
        ("4 × PPO 9", "'PPO 9' is no format"),
        ("0 x 2/2", "allowed is 1 to 125"),
        ("126 x 2/2", "allowed is 1 to 125"),
        ("99999999999999999999 x 2/2", "allowed is 1 to 125"),
        ("245/2", "outputs is 245 byte; allowed is 0 to 244"),  # Lenze EPM manual p.267
        ("4 ×", "is no format"),
        ("2.5 x 2/2", "is no format"),
        ("z" * 300, "is no format"),
    ],
)
def test_what_is_no_station_gets_a_sentence(typed, says):
    with pytest.raises(WorkbookError, match=says) as caught:
        read_stations(typed)
    assert len(str(caught.value)) < 220


@given(st.text(max_size=30) | st.from_regex(r"[0-9 ×x*/PO.,F]{0,14}", fullmatch=True))
def test_any_text_gives_stations_or_a_sentence(typed):
    try:
        found = read_stations(typed)
    except WorkbookError as error:
        assert str(error).endswith(".")
    else:
        assert found and all(isinstance(one, Exchange) for one in found)


def test_the_start_is_the_demo_site():
    plan = read_plan(DATA / "demo" / "saltmarsh-mill")
    found = Counter(one.name for one in read_stations(demo_stations()))
    assert found == Counter(station.format_controller for station in plan.networks[0].slaves)


# -- the bus cycle three ways -------------------------------------------------------------------------


def test_the_chart_is_told_in_words_and_stored_in_the_still_picture():
    answer = cycle_answer(read_stations("6 × PPO 4"))
    assert "1.5 Mbit/s 2.415 ms (2.087 ms to 3.319 ms)" in answer.pictures[1].says  # as in the doctest of bus_cycle
    check_chart(curves_chart(answer.pictures[1]))
    assert "bus cycle over the bit rate" in html_of(answer, still=True)


def test_the_cycle_panel_answers_and_refuses():
    panel = cycle_panel()
    assert "the 9 stations are asked once" in panel.result.value
    panel.fields["stations"].widget.value = "3 × PPO 5"
    assert "the 3 stations are asked once" in panel.result.value
    for name, typed in (
        ("stations", "100 × 2/2\n26 × 4/4"),
        ("stations", "x"),
        ("length_m", "-1"),
        ("interval_s", "7 s"),
    ):
        good = panel.fields[name].widget.value
        panel.fields[name].widget.value = typed
        assert "Not usable" in panel.said.value and "the 3 stations" in panel.result.value
        panel.fields[name].widget.value = good
        assert panel.said.value == ""
