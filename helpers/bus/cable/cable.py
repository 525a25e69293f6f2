"""The bus cable: its types, how long a segment of it may be, and how much of its length is used up."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from math import inf

from helpers.bus.cable.bit_rates import bit_rate_text, bit_rates, known_bit_rate
from helpers.bus.cable.laid import LONGEST_M, Piece, Segment, cable_types, total_length_m
from helpers.errors import in_range, one_of
from helpers.facts import Fact, Limit, most, rows, where
from helpers.quantity import quantity
from helpers.verdict import Degree, Finding, at_most, cited, forbidding, judge_most

LENGTH = "length of the segment"
TOO_LONG = "Shorten the cable, choose a lower bit rate, or divide the segment with a repeater."


@cache
def length_limit(cable: str, bit_rate: float) -> Limit:
    """How long a segment of one cable type may be, in m, at a bit rate in bit/s.

    A limit of 0 means that the source allows no such cable at this rate.
    Source: EN 50170 Vol. 2 (1997) p.32 up to 1.5 Mbit/s, device manuals above; see data/segment_length.csv.

    >>> length_limit("B", 1_500_000).cautious, length_limit("B", 1_500_000).last
    (0.0, 200.0)
    """
    one_of("cable type", cable, cable_types())
    known_bit_rate(bit_rate)
    return most(where("segment_length", cable=cable, kbit_s=bit_rate / 1000), "length_m")


def longest_m(piece: Piece, bit_rate: float) -> float:
    """How long a piece of cable is at most, in m.

    Of a piece of which nothing is said: the longest that any source allows for a whole segment of its type; at the bit
    rate in bit/s if that is one of DP and not forbidden there, else at any.

    >>> from helpers.written import Range
    >>> longest_m(Piece(10.0, open=Range()), 1_500_000), longest_m(Piece(10.0), 1_500_000)
    (200.0, 10.0)
    """
    if piece.open is None:
        return piece.length_m
    if piece.open.most is not None:
        return piece.open.most
    here = length_limit(piece.cable, bit_rate).last if bit_rate in bit_rates() else 0.0
    return here or max(row.number("length_m") for row in where("segment_length", cable=piece.cable))


def at_share(segment: Segment, share: float) -> Segment:
    """The segment with each open length fixed, at a share of the way from the shortest (0) to the longest (1).

    >>> from helpers.bus.cable.laid import Plug
    >>> from helpers.written import Range
    >>> line = Segment("s", (Plug("a"), Plug("b")), (Piece(20.0, open=Range(10.0, 20.0, 30.0)),), 500_000)
    >>> [at_share(line, share).length_m for share in (0, 0.25, 1)]
    [10.0, 15.0, 30.0]
    """
    fixed = []
    for piece in segment.pieces:
        least_m = piece.open.least if piece.open else piece.length_m
        length_m = least_m + share * (longest_m(piece, segment.bit_rate) - least_m)
        fixed.append(replace(piece, length_m=length_m, open=None))
    return replace(segment, pieces=tuple(fixed))


def share_used(pieces: Sequence[Piece], bit_rate: float, *, cautious: bool) -> float:
    """The share of the allowed length that the sections use up: 1 is a full segment.

    share = Σ length / limit of its type. No source gives a rule for mixed types; this assumes that each
    metre uses up its part of the limit of its own type. With one type it is the plain comparison.
    `cautious` takes the shortest limit of any source, otherwise the longest. A type that may not be used
    at this rate gives `inf`.

    >>> share_used([Piece(200, "A"), Piece(50, "B")], 500_000, cautious=True)
    0.75
    """
    share = 0.0
    for piece in pieces:
        limit = length_limit(piece.cable, bit_rate)
        length_m = limit.cautious if cautious else limit.last
        if piece.length_m:
            share += piece.length_m / length_m if length_m else inf
    return share


def check_length(pieces: Sequence[Piece], *, bit_rate: float, place: str) -> tuple[Finding, ...]:
    """Judge the length of a segment's cable, and its types. Stubs are not part of this length.

    >>> check_length([Piece(1100)], bit_rate=93_750, place="segment 1")[0].verdict
    'outside cautious practice'
    """
    used = sorted({piece.cable for piece in pieces})

    def length(rate: float) -> Finding:
        if len(used) <= 1:
            return _check_one_type(pieces, rate, place, used[0] if used else cable_types()[0])
        return _check_mix(pieces, rate, place, used)

    return (slower_too(length, bit_rate), *_check_type(used, place))


def slower_too(check: Callable[[float], Finding], bit_rate: float) -> Finding:
    """What a check finds at a bit rate; what is not allowed at a slower one is not allowed here, by the same sources.

    Fewer documents speak of the fast bit rates than of the slow ones, and a fast one is never the more patient.
    """
    here = check(bit_rate)
    for rate in bit_rates():
        if rate < bit_rate and (slower := check(rate)).degree > here.degree:
            source = f"{here.source}; at {bit_rate_text(rate)} already: {slower.source}"
            here = replace(here, degree=slower.degree, to_do=slower.to_do, source=source)
    return here


def _check_one_type(pieces: Sequence[Piece], bit_rate: float, place: str, cable: str) -> Finding:
    finding = at_most(
        rule=LENGTH,
        place=place,
        value=total_length_m(pieces),
        limit=length_limit(cable, bit_rate),
        unit="m",
        to_do=TOO_LONG,
    )
    return replace(finding, found=f"{finding.found} of type {cable} at {bit_rate_text(bit_rate)}")


def _check_mix(pieces: Sequence[Piece], bit_rate: float, place: str, used: Sequence[str]) -> Finding:
    facts = tuple(fact for cable in used for fact in length_limit(cable, bit_rate).facts)
    strict, lenient = (share_used(pieces, bit_rate, cautious=cautious) for cautious in (True, False))
    degree = max(judge_most(strict, Limit(1, inf, facts)), judge_most(lenient, Limit(1, 1, facts)))
    lengths = (
        f"{quantity(total_length_m([s for s in pieces if s.cable == cable]), 'm')} of type {cable}" for cable in used
    )
    return Finding(
        LENGTH,
        place,
        f"{' and '.join(lengths)} at {bit_rate_text(bit_rate)}: {_percent(strict)} of a segment",
        "100 %, each type counted against its own limit (assumed)",
        cited(facts),
        "" if degree is Degree.IN_ORDER else TOO_LONG,
        degree,
        beyond_all=lenient > 1,
    )


def _check_type(used: Sequence[str], place: str) -> tuple[Finding, ...]:
    if "B" not in used:
        return ()
    facts = where("wiring_rules", rule="type B")
    mixed = " Where two types meet, the change of impedance reflects a part of the signal." if len(used) > 1 else ""
    return (
        Finding(
            "type of the cable",
            place,
            "type B" + (" in a line of type A" if len(used) > 1 else ""),
            "type A in new plants",
            cited(facts),
            "Lay type A when the cable is replaced." + mixed,
            Degree.CAUTION,
        ),
    )


@dataclass(frozen=True)
class Sheet:
    """What a cable's data sheet says; None where it is silent.

    impedance in Ω, capacitance core to core in F/m, resistance of both cores together in Ω/m, area of
    one core in mm².
    """

    impedance_ohm: float | None = None
    capacitance_f_per_m: float | None = None
    loop_ohm_per_m: float | None = None
    core_mm2: float | None = None


def check_sheet(sheet: Sheet, cable: str, *, place: str = "data sheet") -> tuple[Finding, ...]:
    """Judge a data sheet against a type of cable (`any`, `A` or `B`), one finding for each figure given.

    Source: EN 50170 Vol. 2 (1997) p.32, see data/cable_types.csv. "Below 30 pF/m" excludes 30 pF/m itself.

    >>> [f.verdict for f in check_sheet(Sheet(impedance_ohm=120, core_mm2=0.34), "A")]
    ['not allowed, by the standard', 'in order']
    """
    one_of("cable type", cable, dict.fromkeys(row["cable"] for row in rows("cable_types")))
    in_si = {
        "impedance": (sheet.impedance_ohm, 1.0),
        "capacitance": (sheet.capacitance_f_per_m, 1e12),
        "loop resistance": (sheet.loop_ohm_per_m, 1e3),
        "core area": (sheet.core_mm2, 1.0),
    }
    findings = []
    for name, (value, per_unit) in in_si.items():
        for row in where("cable_types", cable=cable, quantity=name):
            if value is not None:
                in_range(name, value, 0, LONGEST_M, source="figures the workbook takes")
                findings.append(_check_figure(row, value * per_unit, place))
    return tuple(findings)


@cache
def capacitance_f_per_m(cable: str) -> float:
    """The most capacitance that a cable of this type may have, in F/m.

    >>> round(capacitance_f_per_m("A") * 1e12, 3)
    30.0
    """
    one_of("cable type", cable, cable_types())
    return where("cable_types", cable=cable, quantity="capacitance")[0].number("high") * 1e-12


def _check_figure(row: Fact, value: float, place: str) -> Finding:
    value = round(value, 9)  # 30e-12 F/m times 1e12 must read 30 pF/m
    low = row.number("low") if row.has("low") else -inf
    high = row.number("high") if row.has("high") else inf
    inside = low <= value <= high and (value != high or row["limit_itself"] == "allowed")
    below = "up to" if row["limit_itself"] == "allowed" else "below"
    bounds = (f"from {low:g}" if row.has("low") else "", f"{below} {high:g}" if row.has("high") else "")
    return Finding(
        f"{row['quantity']} of type {row['cable']}",
        place,
        quantity(value, row["unit"]),
        " ".join(filter(None, (*bounds, row["unit"], row["about"]))),
        row.cited,
        "" if inside else "This cable is not of that type; plan with the limits of the type it meets.",
        Degree.IN_ORDER if inside else forbidding([row]),
    )


def _percent(share: float) -> str:
    return "more than the whole" if share == inf else f"{round(100 * share, 2):.12g} %"
