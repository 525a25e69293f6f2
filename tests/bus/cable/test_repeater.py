"""Dividing a line with repeaters, and how many may stand in line."""

from dataclasses import replace
from functools import cache
from math import ceil, inf

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from helpers.bus.cable.cable import length_limit, share_used
from helpers.bus.cable.laid import Piece, Plug, Segment, even_line
from helpers.bus.cable.repeater import Proposal, check_repeaters, check_total_length, propose, ways
from helpers.bus.cable.segment import check, planned_interfaces
from helpers.bus.cable.termination import check_termination
from helpers.errors import OutOfRange
from helpers.verdict import Degree, worst

IN_ORDER, CAUTION, BROKEN = Degree.IN_ORDER, Degree.CAUTION, Degree.BY_EVERY_SOURCE


def line(*lengths_m: float, kbit_s: float = 500, cable: str = "A") -> Segment:
    plugs = tuple(Plug(chr(65 + n), "drive" if n else "controller") for n in range(len(lengths_m) + 1))
    return Segment("line", plugs, tuple(Piece(m, cable) for m in lengths_m), kbit_s * 1000)


def stations(proposal: Proposal) -> list[str]:
    return ["".join(d.name for d in segment.plugs if not d.is_repeater) for segment in proposal.segments]


# 3: TRICOR manual p.49; 9: testo 6681 manual p.43, Beckhoff BC3150 documentation; 3 to 10 by the maker:
# Fronius manual p.11.
@pytest.mark.parametrize(
    ("in_line", "degree"), [(0, IN_ORDER), (3, IN_ORDER), (4, CAUTION), (10, CAUTION), (11, BROKEN)]
)
def test_repeaters_in_line_on_both_sides(in_line: int, degree: Degree) -> None:
    finding = check_repeaters(in_line, place="line")
    assert finding.degree is degree
    assert all(name in finding.source for name in ("TRICOR", "testo", "Fronius"))


# About 10 km: Fronius manual p.11.
@pytest.mark.parametrize(("length_m", "degree"), [(10_000, IN_ORDER), (10_001, CAUTION)])
def test_the_length_over_all_segments(length_m: float, degree: Degree) -> None:
    assert check_total_length(length_m, place="line").degree is degree


@pytest.mark.parametrize(
    ("joins", "longest"),
    [
        ({}, 0),
        ({"R1": ("1", "2")}, 1),
        ({"R1": ("1", "2"), "R2": ("2", "3"), "R3": ("3", "4")}, 3),
        ({"R1": ("hub", "1"), "R2": ("hub", "2"), "R3": ("hub", "3"), "R4": ("hub", "4")}, 2),
        ({"R1": ("1", "2"), "R2": ("3", "4")}, 1),
        ({"R1": ("1", "2"), "R2": ("2", "3"), "R3": ("3", "1")}, 1),
    ],
)
def test_the_longest_chain_of_a_line_a_star_and_a_ring(joins: dict[str, tuple[str, str]], longest: int) -> None:
    lengths_m = dict.fromkeys((segment for pair in joins.values() for segment in pair), 10.0) or {"1": 10.0}
    found = ways(lengths_m, joins)
    assert max(len(way.repeaters) for way in found) == longest
    assert all(way.length_m == 10.0 * len(way.segments) == 10.0 * (len(way.repeaters) + 1) for way in found)


def test_a_line_that_keeps_the_rules_is_only_terminated() -> None:
    proposal = propose(line(100, 100))
    assert (stations(proposal), proposal.places, proposal.remarks) == (["ABC"], (), ())
    assert worst(check_termination(proposal.segments[0])) is IN_ORDER


def test_too_long_by_a_metre_asks_for_one_repeater() -> None:
    # 400 m at 500 kbit/s: EN 50170 Vol. 2 (1997) p.32.
    assert len(propose(line(200, 200)).places) == 0
    proposal = propose(line(200, 201))
    (place,) = proposal.places
    # 399 m fit before the last metre, so the repeater can stand beside C: 1 m of cable before it.
    assert (place.after, place.before, place.position_m, place.from_device_m) == ("B", "C", 400, 200)


def test_a_repeater_stands_one_metre_beside_the_last_station_that_fits() -> None:
    proposal = propose(line(300, 300, 300))
    assert [(p.after, p.before, p.position_m) for p in proposal.places] == [("B", "C", 301), ("C", "D", 601)]
    assert [segment.length_m for segment in proposal.segments] == [301, 300, 299]


def test_the_repeater_counts_on_both_sides() -> None:
    # 40 stations; with a reserve of 10 % (M. Felser, PROFIBUS Manual, electrical transmission) 28 places a segment.
    proposal = propose(even_line(stations=40, length_m=200, bit_rate=500_000))
    assert [segment.interfaces for segment in proposal.segments] == [28, 14]
    lenient = propose(even_line(stations=40, length_m=200, bit_rate=500_000), cautious=False)
    assert [segment.interfaces for segment in lenient.segments] == [32, 10]


@pytest.mark.parametrize(("count", "repeaters"), [(31, 0), (32, 1)])
def test_a_line_is_divided_only_where_it_must_be(count: int, repeaters: int) -> None:
    assert len(propose(even_line(stations=count, length_m=100, bit_rate=500_000)).places) == repeaters


def test_a_piece_longer_than_a_segment_gets_repeaters_on_the_way_and_a_remark() -> None:
    proposal = propose(line(10, 1000, 10))
    assert [place.from_device_m for place in proposal.places] == [390, 400]
    assert [round(segment.length_m) for segment in proposal.segments] == [400, 400, 220]
    assert len(proposal.remarks) == 2
    assert all("housing" in remark and "400 m" in remark for remark in proposal.remarks)


@pytest.mark.parametrize(
    ("piece_m", "offsets", "on_the_way"),
    [
        (402, [1, 400], 0),  # 400 m between two cabinets, 1 m of cable beside each
        (402.5, [390], 1),
        (791, [390, 400], 1),  # from a repeater on the way 400 m to 1 m beside the next cabinet
        (791.5, [390, 400], 2),
    ],
)
def test_a_piece_is_too_long_only_beyond_a_segment_from_cabinet_to_cabinet(piece_m, offsets, on_the_way) -> None:
    """400 m at 500 kbit/s: EN 50170 Vol. 2 (1997) p.32; 1 m beside a cabinet is the workbook's own choice."""
    proposal = propose(line(10, piece_m, 10))
    assert [place.from_device_m for place in proposal.places] == offsets
    assert len(proposal.remarks) == on_the_way


def test_a_piece_too_short_for_a_repeater_is_lengthened() -> None:
    proposal = propose(line(399, 1.5, 399))
    assert [segment.length_m for segment in proposal.segments] == [400, 400]
    assert (proposal.places[0].after, proposal.places[0].from_device_m) == ("B", 1)
    assert proposal.remarks == (
        "Between B and C lies 1.5 m of cable: lengthen it, so that repeater 1 has 1 m on each side.",
    )


def test_anywhere_can_save_repeaters() -> None:
    long = line(*[350] * 8)
    assert len(propose(long).places) == 7
    # 2800 m in pieces of 400 m.
    assert len(propose(long, anywhere=True).places) == 6


@given(st.floats(1, 5_000), st.sampled_from([187.5, 500, 1500, 12000]))
def test_two_stations_need_the_length_divided_by_the_limit(length_m: float, kbit_s: float) -> None:
    limit_m = length_limit("A", kbit_s * 1000).last
    # Positions are whole centimetres, and 1 m stays free beside the last station.
    assume(length_m % limit_m > 2 and limit_m - length_m % limit_m > 2)
    assert len(propose(line(length_m, kbit_s=kbit_s)).segments) == ceil(length_m / limit_m)


def test_the_findings_judge_the_number_of_repeaters_and_the_whole_length() -> None:
    few, many = propose(line(*[390] * 3)), propose(line(*[390] * 6))
    assert [f.degree for f in few.findings] == [IN_ORDER, IN_ORDER]
    assert [f.degree for f in many.findings] == [CAUTION, IN_ORDER]
    assert [f.degree for f in propose(line(*[390] * 30)).findings] == [BROKEN, CAUTION]


def test_names_of_repeaters_that_are_there_stay_theirs() -> None:
    with_one = replace(line(300, 300), plugs=(Plug("A"), Plug("repeater 1", "repeater"), Plug("C")))
    assert [place.name for place in propose(with_one).places] == ["repeater 2"]


@pytest.mark.parametrize(
    ("hopeless", "message"),
    [
        (line(200, kbit_s=12000, cable="B"), "type B at 12 Mbit/s; allowed is at most 0 m"),
        (line(200, kbit_s=1500, cable="B"), "type B at 1.5 Mbit/s; allowed is at most 0 m"),
        (
            replace(line(200, kbit_s=12000), plugs=(Plug("A", stub_length_m=1), Plug("B"))),
            "A between two repeaters at 12 Mbit/s has stubs 1 m; allowed is at most 0 m",
        ),
        (
            replace(line(500), plugs=(Plug("A", unit_load=31), Plug("B"))),
            "unit loads 33; allowed is at most 32",
        ),
        (
            replace(line(500), plugs=(Plug("A", stub_length_m=1, stub_capacitance_f=571e-12), Plug("B"))),
            "stub capacitance 601 pF; allowed is at most 600 pF",
        ),
    ],
)
def test_where_no_repeater_helps_a_sentence_says_so(hopeless: Segment, message: str) -> None:
    with pytest.raises(OutOfRange, match="No repeater helps") as caught:
        propose(hopeless)
    assert message in str(caught.value)


def test_the_lenient_source_still_helps_type_b_at_1500() -> None:
    assert len(propose(line(300, kbit_s=1500, cable="B"), cautious=False).segments) == 2


@st.composite
def lines(draw: st.DrawFn) -> Segment:
    count = draw(st.integers(2, 12))
    lengths = draw(st.lists(st.integers(1, 900), min_size=count - 1, max_size=count - 1))
    cables = draw(st.lists(st.sampled_from("AAB"), min_size=count - 1, max_size=count - 1))
    stubs = draw(st.lists(st.sampled_from([0.0, 0.0, 5.0]), min_size=count, max_size=count))
    load = draw(st.sampled_from([1.0, 6.0]))
    plugs = tuple(Plug(f"d{n}", unit_load=load, stub_length_m=m) for n, m in enumerate(stubs))
    pieces = tuple(Piece(m, c) for m, c in zip(lengths, cables, strict=True))
    return Segment("line", plugs, pieces, draw(st.sampled_from([93_750, 187_500, 500_000])))


@given(lines(), st.booleans(), st.booleans())
def test_the_proposal_passes_every_check(whole: Segment, cautious: bool, anywhere: bool) -> None:
    proposal = propose(whole, cautious=cautious, anywhere=anywhere)
    allowed = IN_ORDER if cautious else CAUTION
    for segment in proposal.segments:
        findings = [*check(segment), *check_termination(segment)]
        # Type B stays type B: no repeater changes that finding.
        assert worst(f for f in findings if f.rule != "type of the cable") <= allowed
    kept = [plug.name for s in proposal.segments for plug in s.plugs if not plug.is_repeater]
    assert kept == [plug.name for plug in whole.plugs]
    assert sum(s.length_m for s in proposal.segments) >= whole.length_m - 1e-6


@given(lines())
def test_anywhere_never_needs_more(whole: Segment) -> None:
    assert len(propose(whole, anywhere=True).segments) <= len(propose(whole).segments)


@given(lines())
@settings(max_examples=60)
def test_no_other_choice_of_places_beside_stations_needs_fewer(whole: Segment) -> None:
    """Second method: try every choice of places 1 m after and 1 m before a station."""
    proposal = propose(whole)
    assume(not proposal.remarks)
    assume(len(proposal.segments) > 1)
    assert len(proposal.segments) == fewest(whole)


def fewest(whole: Segment) -> int:
    cuts = sorted({(n, max(m, 1.0)) for n, piece in enumerate(whole.pieces) for m in (1.0, piece.length_m - 1.0)})

    def fits(start: tuple[int, float] | None, end: tuple[int, float] | None) -> bool:
        first = 0 if start is None else start[0] + 1
        last = len(whole.plugs) - 1 if end is None else end[0]
        plugs = whole.plugs[first : last + 1]
        repeaters = (start is not None) + (end is not None)
        if len(plugs) + repeaters > planned_interfaces().cautious:
            return False
        if sum(d.unit_load for d in plugs) + repeaters > 32:
            return False
        stubs_m = {93_750: 100, 187_500: 33, 500_000: 20}[int(whole.bit_rate)]
        if sum(d.stub_length_m for d in plugs) > stubs_m:
            return False
        pieces = list(whole.pieces[first:last])
        if start is not None and end is not None and start[0] == end[0]:
            piece = whole.pieces[start[0]]
            pieces = [Piece(end[1] - start[1], piece.cable)]
        else:
            if start is not None:
                piece = whole.pieces[start[0]]
                pieces.append(Piece(max(piece.length_m - start[1], 1.0), piece.cable))
            if end is not None:
                pieces.append(Piece(end[1], whole.pieces[end[0]].cable))
        return share_used(pieces, whole.bit_rate, cautious=True) <= 1 + 1e-9

    @cache
    def best(start: tuple[int, float] | None) -> float:
        if fits(start, None):
            return 1
        later = [cut for cut in cuts if start is None or cut > start]
        return min((1 + best(cut) for cut in later if fits(start, cut)), default=inf)

    return int(best(None))
