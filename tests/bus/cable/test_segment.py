"""Number of devices, unit loads, stubs, spacing, and the highest bit rate."""

from dataclasses import replace
from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.cable.bit_rates import bit_rates
from helpers.bus.cable.cable import length_limit
from helpers.bus.cable.laid import Piece, Plug, Segment, even_line
from helpers.bus.cable.segment import (
    cabinet_line,
    check,
    check_number,
    check_spacing,
    check_stubs,
    highest_bit_rate,
    spacing_limit,
    stub_capacitance_limit,
    stub_f,
    stub_length_limit,
)
from helpers.errors import OutOfRange, Unknown, WorkbookError
from helpers.facts import rows
from helpers.verdict import Degree, Finding, worst

IN_ORDER, CAUTION, BROKEN = Degree.IN_ORDER, Degree.CAUTION, Degree.BY_STANDARD
DEVICES = st.builds(
    Plug,
    st.just("device"),
    st.sampled_from(["controller", "drive", "repeater", "engineering computer"]),
    st.floats(0, 4),
    st.floats(0, 10),
    st.sampled_from(["A", "B"]),
    st.floats(0, 100e-12),
)


@st.composite
def segments(draw: st.DrawFn, most: int = 12) -> Segment:
    plugs = draw(st.lists(DEVICES, min_size=2, max_size=most))
    count = len(plugs) - 1
    piece = st.builds(Piece, st.floats(0, 300), st.sampled_from(["A", "A", "B"]))
    pieces = draw(st.lists(piece, min_size=count, max_size=count))
    return Segment("line", tuple(plugs), tuple(pieces), draw(st.sampled_from(bit_rates())))


def row_of(*kinds: str, unit_load: float = 1.0) -> Segment:
    plugs = tuple(Plug(f"{kind} {n}", kind, unit_load=unit_load) for n, kind in enumerate(kinds))
    return Segment("segment 1", plugs, (Piece(2),) * (len(kinds) - 1), 500_000)


def degrees(findings: tuple[Finding, ...]) -> dict[str, Degree]:
    return {finding.rule: finding.degree for finding in findings}


# M. Felser, PROFIBUS Manual, electrical transmission: 32 stations per segment, repeaters counted; two
# repeaters leave 30; about 10 % reserve. Common practice: a place is kept for an engineering computer.
@pytest.mark.parametrize(
    ("drives", "number", "reserve"),
    [(27, IN_ORDER, None), (28, IN_ORDER, CAUTION), (30, IN_ORDER, CAUTION), (31, CAUTION, None), (32, CAUTION, None)],
)
def test_the_number_of_interfaces_on_both_sides(drives: int, number: Degree, reserve: Degree | None) -> None:
    found = degrees(check_number(row_of("controller", *["drive"] * drives)))
    assert found["bus interfaces"] is number
    assert found.get("reserve for later") is reserve


@pytest.mark.parametrize(
    ("others", "number"),
    [(["repeater", *["drive"] * 30], CAUTION), (["engineering computer", *["drive"] * 30], IN_ORDER),
     (["engineering computer", *["drive"] * 31], CAUTION)],
)  # fmt: skip
def test_32_interfaces_are_legal_and_only_a_missing_place_for_a_computer_is_a_caution(others, number) -> None:  # type: ignore[no-untyped-def]
    found = next(f for f in check_number(row_of("controller", *others)) if f.rule == "bus interfaces")
    assert found.degree is number
    assert ("no place is left for an engineering computer" in found.found) == ("repeater" in others)
    assert found.beyond_all == (len(others) > 31)


def test_two_repeaters_leave_thirty_places() -> None:
    assert degrees(check_number(row_of("repeater", *["drive"] * 30, "repeater")))["bus interfaces"] is CAUTION
    # One handbook alone sets the limit of 32; that 33 unit loads are too many is said by more.
    full = degrees(check_number(row_of("repeater", *["drive"] * 31, "repeater")))
    assert (full["bus interfaces"], full["unit loads"]) == (CAUTION, Degree.BY_EVERY_SOURCE)


@pytest.mark.parametrize("kind", ["controller", "engineering computer", "repeater", "coupler", "remote I/O", "other"])
def test_every_kind_of_interface_counts_once(kind: str) -> None:
    segment = row_of("drive", kind)
    assert (segment.interfaces, segment.unit_loads) == (2, 2)


def test_a_terminator_at_a_place_of_its_own_takes_no_place() -> None:
    segment = row_of("drive", "drive", "terminator")
    assert (segment.interfaces, segment.unit_loads) == (2, 2)


def test_the_finding_on_the_number_counts_by_kind() -> None:
    assert check_number(row_of("controller", "drive", "drive", "repeater"))[0].found == (
        "4 (1 controller, 2 drives, 1 repeater)"
    )


# 32 unit loads: B&B Electronics application note on RS-485, 1997, p.38; Texas Instruments SLLA628.
@pytest.mark.parametrize(
    ("unit_load", "plugs", "degree"),
    [(1.6, 20, IN_ORDER), (1.61, 20, Degree.BY_EVERY_SOURCE), (0.5, 64, IN_ORDER), (0.5, 65, Degree.BY_EVERY_SOURCE)],
)
def test_the_unit_loads_on_both_sides(unit_load: float, plugs: int, degree: Degree) -> None:
    found = degrees(check_number(row_of(*["drive"] * plugs, unit_load=unit_load)))
    assert found["unit loads"] is degree


def line_with_stubs(*stubs_m: float, kbit_s: float, cable: str = "A", input_f: float = 0.0) -> Segment:
    ends = (Plug("first"), Plug("last"))
    on_stubs = tuple(
        Plug(f"stub {n}", stub_length_m=m, stub_cable=cable, stub_capacitance_f=input_f) for n, m in enumerate(stubs_m)
    )
    plugs = (ends[0], *on_stubs, ends[1])
    return Segment("segment 1", plugs, (Piece(2),) * (len(plugs) - 1), kbit_s * 1000)


# SICK VISIC100SF manual p.44; ABB PFEA113 manual p.72 (6.6 m at 1.5 Mbit/s). Omron CS1W-PRM21 manual p.49
# advises against stubs above 500 kbit/s. 9.6 and 45.45 kbit/s are not listed and take the faster neighbour.
@pytest.mark.parametrize(
    ("kbit_s", "allowed_m", "within"),
    [
        (9.6, 500, IN_ORDER),
        (19.2, 500, IN_ORDER),
        (45.45, 100, IN_ORDER),
        (93.75, 100, IN_ORDER),
        (187.5, 33, IN_ORDER),
        (500, 20, IN_ORDER),
        (1500, 6.6, CAUTION),
    ],
)
def test_the_sum_of_stubs_on_both_sides(kbit_s: float, allowed_m: float, within: Degree) -> None:
    rule = "length of all stubs"
    assert degrees(check_stubs(line_with_stubs(allowed_m / 2, allowed_m / 2, kbit_s=kbit_s)))[rule] is within
    # Three makers speak of 1.5 Mbit/s, one of the slower bit rates.
    beyond = Degree.BY_EVERY_SOURCE if kbit_s == 1500 else CAUTION
    assert degrees(check_stubs(line_with_stubs(allowed_m / 2, allowed_m / 2 + 0.01, kbit_s=kbit_s)))[rule] is beyond


# Beckhoff BC3150 documentation, topology; Omron CS1W-PRM21 manual p.49.
@pytest.mark.parametrize("kbit_s", [3000, 6000, 12000])
def test_no_stub_above_1500(kbit_s: float) -> None:
    assert worst(check_stubs(line_with_stubs(0, kbit_s=kbit_s))) is IN_ORDER
    assert worst(check_stubs(line_with_stubs(0.01, kbit_s=kbit_s))) is Degree.BY_EVERY_SOURCE
    assert stub_capacitance_limit(kbit_s * 1000) is None


def test_no_stub_is_in_order_at_every_rate() -> None:
    for bit_rate in bit_rates():
        findings = check_stubs(even_line(stations=5, length_m=50, bit_rate=bit_rate))
        assert [f.degree for f in findings] == [IN_ORDER]


def test_each_stub_length_of_the_table_is_its_capacitance_at_type_a() -> None:
    # Second method: 30 pF/m (EN 50170 Vol. 2 p.32) times the length, within the table's rounding.
    for row in rows("stubs"):
        if row.has("capacitance_f"):
            assert row.number("capacitance_f") / 30e-12 == pytest.approx(row.number("length_m"), rel=0.02)
            assert row.number("length_m") * 30e-12 <= row.number("capacitance_f") * 1.000001


def test_type_b_reaches_the_capacitance_at_half_the_length() -> None:
    # 60 pF/m (EN 50170 Vol. 2 p.32): 0.6 nF at 500 kbit/s are 10 m of type B.
    rule = "capacitance of all stubs"
    assert degrees(check_stubs(line_with_stubs(10, kbit_s=500, cable="B")))[rule] is IN_ORDER
    assert degrees(check_stubs(line_with_stubs(10.01, kbit_s=500, cable="B")))[rule] is CAUTION
    assert stub_f(Plug("d", stub_length_m=10, stub_cable="B")) == pytest.approx(600e-12)


def test_the_inputs_of_devices_eat_into_the_capacitance() -> None:
    # 0.6 nF at 500 kbit/s: 10 m of type A are 300 pF and leave 300 pF for ten inputs of 30 pF.
    rule = "capacitance of all stubs"
    full = line_with_stubs(*[1] * 10, kbit_s=500, input_f=30e-12)
    assert degrees(check_stubs(full))[rule] is IN_ORDER
    assert degrees(check_stubs(line_with_stubs(*[1] * 10, kbit_s=500, input_f=31e-12)))[rule] is CAUTION
    assert check_stubs(full)[1].found == "300 pF in cable, 300 pF in devices at 500 kbit/s"


# 1 m, stubs counted: Bronkhorst PROFIBUS manual p.9 without a limit of the rate, and common practice; other
# sources ask it above 1.5 Mbit/s only.
@pytest.mark.parametrize(("kbit_s", "short"), [(9.6, CAUTION), (1500, CAUTION), (3000, CAUTION), (12000, CAUTION)])
def test_one_metre_between_devices_on_both_sides(kbit_s: float, short: Degree) -> None:
    def spaced(length_m: float, stub_m: float = 0.0) -> Degree:
        plugs = (Plug("a", stub_length_m=stub_m), Plug("b"))
        return worst(check_spacing(Segment("s", plugs, (Piece(length_m),), kbit_s * 1000)))

    assert spaced(1.0) is IN_ORDER
    assert spaced(0.99) is short
    assert spaced(0.5, stub_m=0.5) is IN_ORDER
    assert spaced(0.5, stub_m=0.49) is short


def test_each_short_piece_is_a_finding_of_its_own_the_shortest_first() -> None:
    plugs = tuple(Plug(name) for name in "abcd")
    segment = Segment("s", plugs, (Piece(0.5), Piece(2), Piece(0.1)), 12_000_000)
    assert [(f.place, f.found) for f in check_spacing(segment)] == [("s: c – d", "0.1 m"), ("s: a – b", "0.5 m")]


def test_a_terminator_of_its_own_needs_no_distance() -> None:
    plugs = (Plug("a"), Plug("end", "terminator"))
    assert check_spacing(Segment("s", plugs, (Piece(0.2),), 12_000_000)) == ()


def test_a_segment_in_order_gives_each_rule_once() -> None:
    findings = check(even_line(stations=10, length_m=90, bit_rate=12_000_000))
    assert [f.rule for f in findings] == [
        "length of the segment",
        "bus interfaces",
        "unit loads",
        "length of all stubs",
        "cable between devices",
    ]
    assert all(f.source or f.rule == "cable between devices" for f in findings)
    assert not any(f.to_do for f in findings)


# Lengths of EN 50170 Vol. 2 (1997) p.32 and ABB RPBA-01 manual p.113, both sides of each.
@pytest.mark.parametrize(
    ("length_m", "strict", "lenient"),
    [
        (100, 12_000_000, 12_000_000),
        (100.1, 1_500_000, 1_500_000),
        (200, 1_500_000, 1_500_000),
        (200.1, 500_000, 500_000),
        (400.1, 187_500, 187_500),
        (1000, 187_500, 187_500),
        (1000.1, None, 93_750),
        (1200, None, 93_750),
        (1200.1, None, None),
    ],
)
def test_the_highest_bit_rate_by_length(length_m: float, strict: int | None, lenient: int | None) -> None:
    line = even_line(stations=2, length_m=length_m, bit_rate=9600)
    assert highest_bit_rate(line).bit_rate == strict
    assert highest_bit_rate(line, leniently=True).bit_rate == lenient


def test_the_reason_why_the_next_rate_fails_is_named() -> None:
    with_stubs = even_line(stations=3, length_m=30, bit_rate=9600, stub_length_m=0.5)
    answer = highest_bit_rate(with_stubs)
    assert answer.bit_rate == 500_000
    assert [f.rule for f in answer.why] == ["length of all stubs"]
    assert "1.5 Mbit/s" in answer.why[0].found
    lenient = highest_bit_rate(with_stubs, leniently=True)
    assert (lenient.bit_rate, lenient.why[0].degree) == (1_500_000, Degree.BY_EVERY_SOURCE)


def test_where_the_fastest_passes_there_is_no_reason() -> None:
    answer = highest_bit_rate(even_line(stations=3, length_m=30, bit_rate=9600))
    assert (answer.bit_rate, answer.why) == (12_000_000, ())


def test_where_the_slowest_fails_there_is_no_rate() -> None:
    answer = highest_bit_rate(even_line(stations=2, length_m=1300, bit_rate=12_000_000))
    assert answer.bit_rate is None
    assert "9.6 kbit/s" in answer.why[0].found


@pytest.mark.parametrize("leniently", [False, True])
def test_a_segment_with_too_many_stations_is_allowed_at_no_bit_rate(leniently: bool) -> None:
    # 32 unit loads: B&B Electronics application note on RS-485, 1997, p.38; Texas Instruments SLLA628.
    full, over = (even_line(stations=count, length_m=100, bit_rate=9600) for count in (32, 33))
    assert highest_bit_rate(full, leniently=leniently).bit_rate == 12_000_000
    answer = highest_bit_rate(over, leniently=leniently)
    assert (answer.bit_rate, answer.at_none, answer.why[0].rule) == (None, True, "unit loads")


@given(segments(), st.booleans())
def test_the_highest_bit_rate_passes_and_every_higher_one_fails(segment: Segment, leniently: bool) -> None:
    rate_rules = {"length of the segment", "length of all stubs", "capacitance of all stubs", "cable between devices"}

    def passes(bit_rate: int) -> bool:
        at_rate = check(replace(segment, bit_rate=bit_rate))
        found = [f for f in at_rate if f.rule in rate_rules]
        kept = not any(f.degree.forbidden or f.beyond_all if leniently else f.degree for f in found)
        return kept and not any(f.degree.forbidden for f in at_rate if f.rule in {"bus interfaces", "unit loads"})

    assert highest_bit_rate(segment, leniently=leniently).bit_rate == max(filter(passes, bit_rates()), default=None)


@given(segments(), DEVICES, st.floats(0, 300))
def test_adding_a_device_with_its_cable_never_improves_number_stubs_or_length(
    segment: Segment, plug: Plug, length_m: float
) -> None:
    longer = replace(segment, plugs=(*segment.plugs, plug), pieces=(*segment.pieces, Piece(length_m)))
    before, after = (
        worst(f for f in check(s) if f.rule not in ("reserve for later", "cable between devices"))
        for s in (segment, longer)
    )
    assert after >= before


@given(segments(), st.integers(0), st.floats(0, 5))
def test_lengthening_a_stub_never_improves_the_stubs(segment: Segment, which: int, more_m: float) -> None:
    n = which % len(segment.plugs)
    plug = replace(segment.plugs[n], stub_length_m=segment.plugs[n].stub_length_m + more_m)
    longer = replace(segment, plugs=(*segment.plugs[:n], plug, *segment.plugs[n + 1 :]))
    assert worst(check_stubs(longer)) >= worst(check_stubs(segment))


@given(segments())
def test_a_line_reads_the_same_from_both_ends(segment: Segment) -> None:
    turned = replace(segment, plugs=segment.plugs[::-1], pieces=segment.pieces[::-1])
    assert sorted(f.degree for f in check(turned)) == sorted(f.degree for f in check(segment))


def test_limits_become_stricter_with_the_rate() -> None:
    for limit in (stub_length_limit, spacing_limit):
        values = [(limit(bit_rate).cautious, limit(bit_rate).last) for bit_rate in bit_rates()]
        assert values == sorted(values, reverse=limit is stub_length_limit)
    assert length_limit("A", 12_000_000).last < length_limit("A", 9600).last


def test_an_even_line_is_even_and_terminated_at_its_ends() -> None:
    line = even_line(stations=5, length_m=100, bit_rate=500_000, stub_length_m=2)
    assert line.length_m == pytest.approx(100)
    assert [plug.terminator_on for plug in line.plugs] == [True, False, False, False, True]
    assert [plug.stub_length_m for plug in line.plugs] == [0, 2, 2, 2, 0]
    assert line.plugs[0].kind == "controller"


@pytest.mark.parametrize(
    "call",
    [
        lambda: Segment("s", (Plug("a"),), (), 9600),
        lambda: Segment("s", (Plug("a"), Plug("b")), (), 9600),
        lambda: Plug("a", unit_load=-1),
        lambda: Plug("a", stub_length_m=nan),
        lambda: Plug("a", stub_length_m=inf),
        lambda: Plug("a", stub_capacitance_f=-1e-12),
        lambda: even_line(stations=1, length_m=10, bit_rate=9600),
    ],
)
def test_numbers_that_cannot_be_are_refused(call) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutOfRange, match="allowed is"):
        call()


@pytest.mark.parametrize(
    "call",
    [
        lambda: Plug("a", kind="pump"),
        lambda: Plug("a", plug_type="wooden"),
        lambda: Plug("a", stub_cable="C"),
        lambda: even_line(stations=2, length_m=10, bit_rate=31_250),
        lambda: stub_length_limit(1),
        lambda: stub_capacitance_limit(1),
        lambda: spacing_limit(31_250),
    ],
)
def test_names_and_rates_that_are_unknown_are_refused(call) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(Unknown, match="known are"):
        call()


# -- a line from a few figures


def test_a_cabinet_at_the_far_end_of_the_cable() -> None:
    line = cabinet_line(stations=5, length_m=90, bit_rate=12_000_000, spacing_m=1, stub_length_m=2)
    assert [s.length_m for s in line.pieces] == [87, 1, 1, 1]
    assert line.length_m == 90
    assert [d.stub_length_m for d in line.plugs] == [0, 2, 2, 2, 0]
    even = cabinet_line(stations=4, length_m=90, bit_rate=500_000, stub_capacitance_f=3e-11)
    assert [s.length_m for s in even.pieces] == [30, 30, 30]
    assert [d.stub_capacitance_f for d in even.plugs] == [0, 3e-11, 3e-11, 0]


def test_two_stations_have_all_the_cable_between_them() -> None:
    assert cabinet_line(stations=2, length_m=90, bit_rate=500_000, spacing_m=5).length_m == 90


def test_stations_that_need_more_cable_than_there_is() -> None:
    assert cabinet_line(stations=12, length_m=10, bit_rate=500_000, spacing_m=1).pieces[0].length_m == 0
    with pytest.raises(WorkbookError, match=r"11 stations 1 m apart take 10 m of cable; allowed is at most .*9.9 m"):
        cabinet_line(stations=12, length_m=9.9, bit_rate=500_000, spacing_m=1)
