"""The panels of bus time against published sums, and against arithmetic done by hand."""

from dataclasses import replace
from itertools import pairwise

import pytest
from drawn import chart_texts, check_chart
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.time.answers import TimeBar, bars, cycle_answer, step_answer
from helpers.device import formats
from helpers.facts import DATA
from helpers.panels.kit.as_html import html_of
from helpers.panels.kit.chart import curves_chart
from helpers.panels.time.cycle import (
    cycle_panel,
    step_panel,
)
from helpers.plan.model import Plan
from helpers.plan.my_networks import demo_network, demo_plan, my_networks
from helpers.plan.read import read_plan
from helpers.plan.rows import exchanges_in

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


def alike(count, text):
    """So many stations of one format."""
    return exchanges_in([(f"Fan {n}", text) for n in range(count)])


def test_the_start_is_the_demo_site():
    plan = read_plan(DATA / "demo" / "saltmarsh-mill")
    rows = cycle_panel().fields["stations"].widget.rows
    assert rows == tuple((station.name, station.format_controller) for station in plan.networks[0].slaves)


# -- the bus cycle three ways -------------------------------------------------------------------------


def test_the_chart_is_told_in_words_and_stored_in_the_still_picture():
    answer = cycle_answer(alike(6, "PPO 4"))
    assert "1.5 Mbit/s 2.415 ms (2.087 ms to 3.319 ms)" in answer.pictures[1].says  # as in the doctest of bus_cycle
    check_chart(curves_chart(answer.pictures[1]))
    assert "bus cycle over the bit rate" in html_of(answer, still=True)


def test_the_cycle_panel_answers_and_refuses():
    panel = cycle_panel()
    assert "the 9 stations are asked once" in panel.result.value
    table = panel.fields["stations"].widget
    table.put([(f"Fan {n}", "PPO 5") for n in range(3)])
    assert "the 3 stations are asked once" in panel.result.value
    for name, typed in (
        ("stations", tuple((f"Fan {n}", "2/2") for n in range(126))),
        ("stations", (("Fan 1", "x"),)),
        ("length_m", "-1"),
        ("interval_s", "7 s"),
    ):
        good = panel.fields[name].widget.value
        panel.fields[name].widget.value = typed
        assert "Not usable" in panel.said.value and "the 3 stations" in panel.result.value
        panel.fields[name].widget.value = good
        assert panel.said.value == ""


def test_another_network_brings_its_stations_bit_rate_cable_and_slowest_station(tmp_path, monkeypatch):
    monkeypatch.setenv("WORKBOOK_PROGRESS", str(tmp_path))
    panel = cycle_panel()
    panel.fields["stations"].widget.network.value = ("the Mill extended", "Silo line")
    assert "At 3 Mbit/s the 4 stations are asked once" in panel.result.value and panel.said.value == ""
    values = {name: panel.fields[name].widget.value for name in ("length_m", "interval_s", "computer")}
    assert values == {"length_m": "145 m", "interval_s": "1 ms", "computer": False}
    my_networks().save("mine", demo_plan("the Mill extended"))
    my_networks().choose("mine")
    own = cycle_panel(own=True)
    assert own.fields["stations"].widget.network.value == ("mine", "Mill line")
    assert own.fields["interval_s"].widget.value == "1 ms" and own.fields["computer"].widget.value


def test_a_network_of_ones_own_that_lacks_a_format_is_told_and_can_be_mended_in_the_table(tmp_path, monkeypatch):
    monkeypatch.setenv("WORKBOOK_PROGRESS", str(tmp_path))
    network = demo_network()
    segments = tuple(
        replace(s, plugs=tuple(replace(p, format_controller="", format_drive="") for p in s.plugs))
        for s in network.segments
    )
    my_networks().save("bare", Plan("bare", (replace(network, segments=segments),)))
    my_networks().choose("bare")
    panel = cycle_panel(own=True)
    assert "9 cells can&#x27;t be used" in panel.said.value and "format in controller" in panel.said.value
    panel.fields["stations"].widget.put([("Fan", "PPO 4")])
    assert panel.said.value == "" and "the station is asked once" in panel.result.value
