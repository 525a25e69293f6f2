"""Cable types, segment lengths and mixed cable."""

from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.cable.bit_rates import bit_rate_text, bit_rates
from helpers.bus.cable.cable import Sheet, capacitance_f_per_m, check_length, check_sheet, length_limit, share_used
from helpers.bus.cable.laid import LONGEST_M, Piece, cable_types, total_length_m
from helpers.bus.circuit.line import cable as circuit_cable
from helpers.errors import OutOfRange, Unknown
from helpers.facts import one, rows, where
from helpers.verdict import Degree

IN_ORDER, CAUTION, BROKEN = Degree.IN_ORDER, Degree.CAUTION, Degree.BY_STANDARD
RATES = st.sampled_from(bit_rates())
CABLES = st.sampled_from(cable_types())
LENGTHS = st.floats(0, 2000)
SECTIONS = st.lists(st.builds(Piece, LENGTHS, CABLES), max_size=6)


def degree(length_m: float, cable: str, kbit_s: float) -> Degree:
    return check_length([Piece(length_m, cable)], bit_rate=kbit_s * 1000, place="segment 1")[0].degree


# EN 50170 Vol. 2 (1997) p.32 (1200 / 1000 / 400 / 200 m); ABB RPBA-01 manual p.113 (100 m above 1.5 Mbit/s);
# HIMA H41q manual p.436 (45.45 kbit/s). Several newer device manuals: 1000 m at every rate up to 187.5 kbit/s.
@pytest.mark.parametrize(
    ("kbit_s", "advised_m", "allowed_m"),
    [
        (9.6, 1000, 1200),
        (19.2, 1000, 1200),
        (45.45, 1000, 1200),
        (93.75, 1000, 1200),
        (187.5, 1000, 1000),
        (500, 400, 400),
        (1500, 200, 200),
    ],
)
def test_type_a_on_both_sides_of_each_limit(kbit_s: float, advised_m: float, allowed_m: float) -> None:
    assert degree(advised_m, "A", kbit_s) is IN_ORDER
    assert degree(allowed_m, "A", kbit_s) is (IN_ORDER if advised_m == allowed_m else CAUTION)
    assert degree(advised_m + 0.01, "A", kbit_s) >= CAUTION
    assert degree(allowed_m + 0.01, "A", kbit_s) is BROKEN


# 100 m: ABB RPBA-01 manual p.113, the only document found for these bit rates, so it advises. EN 50170 Vol. 2 (1997)
# p.32 allows 200 m at 1.5 Mbit/s; what is forbidden there is not allowed at a faster bit rate.
@pytest.mark.parametrize("kbit_s", [3000, 6000, 12000])
def test_type_a_above_1500(kbit_s: float) -> None:
    assert degree(100, "A", kbit_s) is IN_ORDER
    assert degree(100.01, "A", kbit_s) is degree(200, "A", kbit_s) is CAUTION
    assert degree(200.01, "A", kbit_s) is BROKEN
    told = check_length([Piece(201)], bit_rate=kbit_s * 1000, place="segment 1")[0].source
    assert "RPBA-01" in told and "1.5 Mbit/s already: PROFIBUS Specification" in told


# EN 50170 Vol. 2 (1997) p.32, type B. At 1.5 Mbit/s: 70 m by the standard, none by ABB RPBA-01 manual p.113,
# 200 m by Rexroth Fv manual p.235.
@pytest.mark.parametrize(
    ("kbit_s", "advised_m", "allowed_m"),
    [(9.6, 1200, 1200), (19.2, 1200, 1200), (93.75, 1200, 1200), (187.5, 600, 600), (500, 200, 200), (1500, 0, 200)],
)
def test_type_b_on_both_sides_of_each_limit(kbit_s: float, advised_m: float, allowed_m: float) -> None:
    assert degree(advised_m, "B", kbit_s) is IN_ORDER
    assert degree(advised_m + 0.01, "B", kbit_s) is (BROKEN if advised_m == allowed_m else CAUTION)
    assert degree(allowed_m + 0.01, "B", kbit_s) is BROKEN


def test_the_three_sources_on_type_b_at_1500_stand_side_by_side() -> None:
    assert [fact.number("length_m") for fact in length_limit("B", 1_500_000).facts] == [70, 0, 200]
    source = check_length([Piece(69, "B")], bit_rate=1_500_000, place="segment 1")[0].source
    assert all(name in source for name in ("EN 50170", "RPBA-01", "Rexroth"))


# ABB RPBA-01 manual p.113: no type B above 1.5 Mbit/s.
@pytest.mark.parametrize("kbit_s", [3000, 6000, 12000])
def test_no_metre_of_type_b_above_1500(kbit_s: float) -> None:
    assert degree(0, "B", kbit_s) is IN_ORDER
    assert degree(0.1, "B", kbit_s) is CAUTION
    assert degree(200.01, "B", kbit_s) is BROKEN


def test_every_cable_type_has_a_length_at_every_bit_rate() -> None:
    assert {(row["cable"], row.number("kbit_s") * 1000) for row in rows("segment_length")} == {
        (cable, bit_rate) for cable in ("A", "B") for bit_rate in bit_rates()
    }


@pytest.mark.parametrize("cable", cable_types())
def test_a_faster_bus_is_never_longer(cable: str) -> None:
    limits = [length_limit(cable, bit_rate) for bit_rate in bit_rates()]
    assert [limit.last for limit in limits] == sorted((limit.last for limit in limits), reverse=True)
    assert [limit.cautious for limit in limits] == sorted((limit.cautious for limit in limits), reverse=True)


def test_feet_become_metres_before_they_are_judged() -> None:
    # 1312 ft are 399.9 m and 1313 ft are 400.2 m (1 ft = 0.3048 m exactly); the limit is 400 m at 500 kbit/s.
    assert degree(1312 * 0.3048, "A", 500) is IN_ORDER
    assert degree(1313 * 0.3048, "A", 500) is BROKEN


def test_ten_sections_of_decimal_fractions_add_up_to_the_limit() -> None:
    pieces = [Piece(33.3)] * 3 + [Piece(0.1)]
    assert sum(piece.length_m for piece in pieces) != 100
    assert check_length(pieces, bit_rate=12_000_000, place="segment 1")[0].degree is IN_ORDER


def test_mixed_types_each_use_up_their_own_share() -> None:
    # By hand: 200/400 + 50/200 = 0.75, 200/400 + 100/200 = 1 (limits of EN 50170 Vol. 2 p.32 at 500 kbit/s).
    assert share_used([Piece(200), Piece(50, "B")], 500_000, cautious=True) == pytest.approx(0.75)
    full = [Piece(200), Piece(100, "B")]
    assert check_length(full, bit_rate=500_000, place="segment 1")[0].degree is IN_ORDER
    over = [Piece(200), Piece(100.1, "B")]
    finding = check_length(over, bit_rate=500_000, place="segment 1")[0]
    assert finding.degree is BROKEN
    assert finding.found == "200 m of type A and 100.1 m of type B at 500 kbit/s: 100.05 % of a segment"


def test_mixed_types_are_judged_by_the_strict_and_by_the_lenient_source() -> None:
    # At 1.5 Mbit/s one source allows no type B, another 200 m: 100/200 + 100/200 is full for the lenient one.
    mixed = [Piece(100), Piece(100, "B")]
    assert share_used(mixed, 1_500_000, cautious=True) == inf
    assert check_length(mixed, bit_rate=1_500_000, place="segment 1")[0].degree is CAUTION
    assert check_length([*mixed, Piece(0.1)], bit_rate=1_500_000, place="segment 1")[0].degree is BROKEN


def test_the_share_of_one_type_is_the_plain_comparison() -> None:
    assert share_used([Piece(100), Piece(100)], 500_000, cautious=True) == pytest.approx(0.5)
    assert share_used([], 500_000, cautious=True) == 0


def test_type_b_is_not_for_new_plants() -> None:
    # EN 50170 Vol. 2 (1997) p.32.
    findings = check_length([Piece(10, "B")], bit_rate=500_000, place="segment 1")
    assert [(f.rule, f.degree) for f in findings][1:] == [("type of the cable", CAUTION)]
    mixed = check_length([Piece(10, "B"), Piece(10)], bit_rate=500_000, place="segment 1")
    assert "reflects" in mixed[1].to_do
    assert len(check_length([Piece(10)], bit_rate=500_000, place="segment 1")) == 1


def test_no_cable_at_all_is_in_order() -> None:
    assert [f.degree for f in check_length([], bit_rate=9600, place="segment 1")] == [IN_ORDER]


@given(SECTIONS, st.builds(Piece, LENGTHS, CABLES), RATES)
def test_adding_cable_never_improves_a_verdict(pieces: list[Piece], more: Piece, bit_rate: int) -> None:
    before = max(f.degree for f in check_length(pieces, bit_rate=bit_rate, place=""))
    after = max(f.degree for f in check_length([*pieces, more], bit_rate=bit_rate, place=""))
    assert after >= before


@given(SECTIONS, RATES)
def test_the_order_of_sections_does_not_matter(pieces: list[Piece], bit_rate: int) -> None:
    forward, backward = (check_length(s, bit_rate=bit_rate, place="") for s in (pieces, pieces[::-1]))
    assert [f.degree for f in forward] == [f.degree for f in backward]
    assert total_length_m(pieces) == pytest.approx(total_length_m(pieces[::-1]))


@given(LENGTHS, CABLES, RATES)
def test_mixing_agrees_with_one_type_where_there_is_only_one(length_m: float, cable: str, bit_rate: int) -> None:
    plain = check_length([Piece(length_m, cable)], bit_rate=bit_rate, place="")[0].degree
    strict = share_used([Piece(length_m, cable)], bit_rate, cautious=True)
    # The standard speaks of the bit rates up to 1.5 Mbit/s; what it forbids there, it forbids for a faster one.
    lenient = share_used([Piece(length_m, cable)], min(bit_rate, 1_500_000), cautious=False)
    by_share = BROKEN if lenient > 1 + 1e-9 else CAUTION if strict > 1 + 1e-9 else IN_ORDER
    assert plain is by_share


# EN 50170 Vol. 2 (1997) p.32, type A: 135 to 165 Ω, below 30 pF/m, below 110 Ω/km, 0.34 mm² or more.
@pytest.mark.parametrize(
    ("sheet", "good"),
    [
        (Sheet(impedance_ohm=135), True),
        (Sheet(impedance_ohm=134.9), False),
        (Sheet(impedance_ohm=165), True),
        (Sheet(impedance_ohm=165.1), False),
        (Sheet(capacitance_f_per_m=29.9e-12), True),
        (Sheet(capacitance_f_per_m=30e-12), False),
        (Sheet(loop_ohm_per_m=0.1099), True),
        (Sheet(loop_ohm_per_m=0.110), False),
        (Sheet(core_mm2=0.34), True),
        (Sheet(core_mm2=0.33), False),
    ],
)
def test_a_data_sheet_on_both_sides_of_type_a(sheet: Sheet, good: bool) -> None:
    assert [f.degree for f in check_sheet(sheet, "A")] == [IN_ORDER if good else BROKEN]


# The same page, type B and the least for any cable.
@pytest.mark.parametrize(
    ("cable", "sheet", "good"),
    [
        ("B", Sheet(impedance_ohm=100), True),
        ("B", Sheet(impedance_ohm=130), True),
        ("B", Sheet(impedance_ohm=130.1), False),
        ("B", Sheet(capacitance_f_per_m=59e-12), True),
        ("B", Sheet(capacitance_f_per_m=60e-12), False),
        ("B", Sheet(core_mm2=0.22), True),
        ("any", Sheet(impedance_ohm=220), True),
        ("any", Sheet(impedance_ohm=221), False),
        ("any", Sheet(core_mm2=0.21), False),
    ],
)
def test_a_data_sheet_of_another_cable(cable: str, sheet: Sheet, good: bool) -> None:
    assert [f.degree for f in check_sheet(sheet, cable)] == [IN_ORDER if good else BROKEN]


def test_type_b_has_no_limit_of_resistance_and_an_empty_sheet_says_nothing() -> None:
    assert check_sheet(Sheet(loop_ohm_per_m=0.5), "B") == ()
    assert check_sheet(Sheet(), "A") == ()


def test_a_finding_on_a_sheet_shows_both_bounds() -> None:
    finding = check_sheet(Sheet(impedance_ohm=120), "A")[0]
    assert (finding.found, finding.allowed) == ("120 Ω", "from 135 up to 165 Ω at 3 MHz to 20 MHz")
    assert check_sheet(Sheet(capacitance_f_per_m=28e-12), "A")[0].allowed == "below 30 pF/m"


def test_the_cable_of_the_circuit_keeps_to_the_limits_of_its_type() -> None:
    for kind in cable_types():
        limits, wire = one("cable_types", cable=kind, quantity="impedance"), circuit_cable(kind)
        assert limits.number("low") < wire.impedance_ohm < limits.number("high")
        assert wire.capacitance_f_per_m <= capacitance_f_per_m(kind) * (1 + 1e-9)
    loop = one("cable_types", cable="A", quantity="loop resistance").number("high")
    assert circuit_cable("A").loop_ohm_per_m * 1000 == pytest.approx(loop)


def test_one_core_has_half_the_resistance_of_the_loop() -> None:
    (core,) = where("cable_types", cable="A", quantity="core resistance")
    (loop,) = where("cable_types", cable="A", quantity="loop resistance")
    assert 2 * core.number("high") == loop.number("high")


@pytest.mark.parametrize("length_m", [-0.1, nan, inf, LONGEST_M + 1])
def test_a_length_that_cannot_be_is_refused(length_m: float) -> None:
    with pytest.raises(OutOfRange, match="length of a section"):
        Piece(length_m)


@pytest.mark.parametrize(
    "call",
    [
        lambda: Piece(1, "C"),
        lambda: length_limit("C", 500_000),
        lambda: length_limit("A", 31_250),
        lambda: length_limit("A", nan),
        lambda: bit_rate_text(1000),
        lambda: check_sheet(Sheet(), "C"),
        lambda: capacitance_f_per_m("any"),
    ],
)
def test_what_is_unknown_is_refused_with_the_list(call) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(Unknown, match="known are"):
        call()


def test_a_sheet_with_a_negative_figure_is_refused() -> None:
    with pytest.raises(OutOfRange, match="impedance is -1"):
        check_sheet(Sheet(impedance_ohm=-1), "A")
