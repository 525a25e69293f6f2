"""The plan in the terms of the calculations: ways through repeaters, what is exchanged, and figures by hand."""

from dataclasses import replace

import pytest
from plan_tables import DEMO

from helpers.bus.cable.laid import Piece, Segment
from helpers.bus.time.timing import longest_delay_bits
from helpers.plan.figures import cycle, cycle_table, summarize
from helpers.plan.model import Network
from helpers.plan.read import read_plan
from helpers.verdict import Degree

MILL = read_plan(DEMO).networks[0]
REPEATER = next(s for s in MILL.stations if s.is_repeater)
FAN = MILL.slaves[1]


def joined(*segments):
    """A network of segments, each given by its length and the repeaters in it."""
    parts = []
    for n, (length_m, repeaters) in enumerate(segments, 1):
        stations = [replace(FAN, name=f"Fan {n}")]
        stations += [replace(REPEATER, name=name) for name in repeaters]
        last = len(stations) - 1
        pieces = tuple(Piece(length_m / last) for _ in range(last))
        parts.append(Segment(str(n), tuple(stations), pieces, 500e3))
    return Network("line", 500e3, "A", tuple(parts))


def test_ways_through_a_chain_and_through_a_star():
    chain = joined((100, "A"), (200, "AB"), (300, "B"))
    far = max(chain.ways, key=lambda way: way.length_m)
    assert (far.repeaters, far.length_m, far.segments) == (("a", "b"), 600, ("1", "2", "3"))
    # one repeater with three ports: any two of its segments are one repeater apart
    star = joined((100, "A"), (200, "A"), (300, "A"))
    assert max(way.length_m for way in star.ways) == 500
    assert max(len(way.repeaters) for way in star.ways) == 1


def test_ways_are_the_same_both_ways():
    chain = joined((100, "A"), (200, "AB"), (300, "B"))
    ends = {(way.segments[0], way.segments[-1]): way for way in chain.ways}
    assert len(ends) == 9
    for (start, end), way in ends.items():
        back = ends[end, start]
        assert (way.segments, way.repeaters, way.length_m) == (back.segments[::-1], back.repeaters[::-1], back.length_m)


def test_signal_delay_of_a_chain():
    # 2 · (600 m · 5 ns/m · 0.5 Mbit/s + 2 · 3 bit): the delays themselves are from memory, see data/timing_rules.csv
    assert longest_delay_bits(joined((100, "A"), (200, "AB"), (300, "B")).ways, 500e3) == pytest.approx(2 * (1.5 + 6))


@pytest.mark.parametrize(
    ("drive", "controller", "sizes"),
    [
        ("PPO 4", "PPO 4", (12, 12)),  # ABB FPBA-01 manual p.185: F5, 6 words each way
        ("", "PPO 1", (12, 12)),  # the same: F3 F1, 4 + 2 words
        ("PPO 3", "", (4, 4)),
        ("PPO 3", "something", (4, 4)),
        ("16#11 16#21", "16#11 16#21", (2, 2)),
    ],
)
def test_exchange_by_the_format(drive, controller, sizes):
    exchange = replace(FAN, format_drive=drive, format_controller=controller).exchange
    assert (exchange.outputs, exchange.inputs) == sizes


@pytest.mark.parametrize("text", ["", "long format", "F3 F", "00 00 4F", "EF " * 8])
def test_no_exchange_where_the_format_is_unknown_or_too_long(text):
    assert replace(FAN, format_drive=text, format_controller=text).exchange is None


def test_cycle_of_the_demo_by_hand():
    # Standard's form, PROFIBUS Specification p.900 eq. 21: 267 + 11 · bytes for each of 9 stations, 2·TTD each;
    # then 33 + 37 (token) and 66 + 300 (gap poll) for each of two masters, and the token's way between them.
    delay = 2 * (104 * 5e-9 * 1.5e6 + 3)
    bits = 9 * (267 + delay) + 11 * (78 + 88) + 2 * (33 + 37 + 66 + 300) + 2 * delay / 2
    assert cycle(MILL).typical.bits == pytest.approx(bits)


def test_summary_of_the_demo():
    summary = summarize(MILL)
    assert (summary.masters, summary.slaves, summary.repeaters, summary.segments) == (2, 9, 1, 2)
    assert summary.length_m == 104
    assert (summary.bytes_out, summary.bytes_in, summary.not_counted) == (78, 88, ())
    assert [row.bit_rate for row in summary.rates if row.chosen] == [1_500_000]
    assert summary.cells["bit rate"] == "1.5 Mbit/s"
    assert summary.cells["data not known of"] == "none"


def test_cycle_table_gets_faster_with_the_bit_rate_down_to_the_slowest_station():
    rows = cycle_table(MILL)
    assert len(rows) == 10
    typical = [row.typical_s for row in rows]
    assert typical == sorted(typical, reverse=True)
    assert typical[-1] == pytest.approx(0.001)  # the drives of the demo ask for 1 ms
    assert all(row.best_s <= row.typical_s <= row.worst_s for row in rows)


def test_cycle_table_says_which_bit_rates_the_cable_carries():
    segment = MILL.segments[0].with_piece(0, length_m=150)
    rows = cycle_table(replace(MILL, segments=(segment, MILL.segments[1])))
    # type A: 200 m at 1.5 Mbit/s (EN 50170 Vol. 2, 1997, p.32), 100 m at 3 Mbit/s (ABB RPBA-01 manual p.113)
    assert [row.cable for row in rows] == [Degree.IN_ORDER] * 7 + [Degree.CAUTION] * 3
    assert rows[7].cells["cable, stubs, spacing"] == "outside cautious practice"


def test_network_without_stations_to_poll_has_no_cycle():
    masters = tuple(s for s in MILL.segments[0].plugs if s.is_master)
    pair = replace(MILL.segments[0], plugs=masters, pieces=MILL.segments[0].pieces[:1])
    assert cycle_table(replace(MILL, segments=(pair,))) == ()
    assert summarize(replace(MILL, segments=(pair,))).slaves == 0


def test_network_is_found_by_name():
    plan = read_plan(DEMO)
    assert plan.network("Mill line") is plan.networks[0]
    with pytest.raises(ValueError, match="known are Mill line"):
        plan.network("Mill")
