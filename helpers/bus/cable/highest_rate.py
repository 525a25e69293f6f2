"""The highest bit rate that the cable of a segment carries, and what stands in the way of the next one."""

from __future__ import annotations

from dataclasses import dataclass, replace

from helpers.bus.cable.bit_rates import bit_rates
from helpers.bus.cable.cable import check_length
from helpers.bus.cable.segment import Segment, check_number, check_spacing, check_stubs
from helpers.verdict import Finding


@dataclass(frozen=True)
class Highest:
    """The highest bit rate that a segment's cable carries, and why the next one fails.

    bit_rate is None if even the slowest fails; why is empty if the fastest passes. at_none: what is wrong is wrong at
    every bit rate, such as too many stations.
    """

    bit_rate: int | None
    why: tuple[Finding, ...]
    at_none: bool = False


def highest_bit_rate(segment: Segment, *, leniently: bool = False) -> Highest:
    """The highest bit rate at which length, stubs and spacing are in order.

    leniently: what one source allows will do, and what common practice alone advises against is let pass.
    The segment's own bit rate does not matter. A segment that is not allowed at any, such as one with too many
    stations, has none; a caution that no bit rate changes says nothing of the bit rate.

    >>> from helpers.bus.cable.segment import even_line
    >>> answer = highest_bit_rate(even_line(stations=5, length_m=150, bit_rate=9600))
    >>> answer.bit_rate, answer.why[0].allowed
    (1500000, 'at most 100 m')
    """
    if forbidden := tuple(finding for finding in check_number(segment) if finding.degree.forbidden):
        return Highest(None, forbidden, at_none=True)
    best: int | None = None
    why: tuple[Finding, ...] = ()
    for bit_rate in bit_rates():
        found = _of_rate(replace(segment, bit_rate=bit_rate))
        why = tuple(f for f in found if (f.beyond_all or f.degree.forbidden if leniently else f.degree))
        if why:
            break
        best = bit_rate
    return Highest(best, why)


def _of_rate(segment: Segment) -> tuple[Finding, ...]:
    length = check_length(segment.sections, bit_rate=segment.bit_rate, place=segment.name)[:1]
    return (*length, *check_stubs(segment), *check_spacing(segment))
