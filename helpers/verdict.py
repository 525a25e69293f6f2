"""The three degrees of a verdict, and the finding that carries one.

What every source forbids *breaks the standard*. What one source, or common practice, advises against
is *outside cautious practice*. The rest is *in order*. A plant that has run for ten years is not called
illegal for a matter of taste.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum
from math import isclose

from helpers.facts import Fact, Limit

# Lengths are sums of decimal fractions: 0.1 + 0.2 must not break a limit of 0.3.
_ROUNDING = 1e-9


class Degree(IntEnum):
    """How bad a finding is; the greater, the worse.

    >>> max(Degree.IN_ORDER, Degree.CAUTION).words
    'outside cautious practice'
    """

    IN_ORDER = 0
    CAUTION = 1
    BROKEN = 2

    @property
    def words(self) -> str:
        """The degree as people read it."""
        return ("in order", "outside cautious practice", "breaks the standard")[self]


@dataclass(frozen=True)
class Finding:
    """One line of a verdict table.

    `rule` is a short name; `place` the segment, station or cable run; `found` and `allowed` are texts with
    their units; `source` cites every source of the rule with its standing; `to_do` is one sentence,
    empty where nothing is to be done.
    """

    rule: str
    place: str
    found: str
    allowed: str
    source: str
    to_do: str
    degree: Degree

    @property
    def verdict(self) -> str:
        """The degree in words."""
        return self.degree.words


def judge_most(value: float, limit: Limit) -> Degree:
    """Judge a value of which less is safer: the limits themselves are still allowed.

    >>> from helpers.facts import Limit
    >>> [judge_most(length_m, Limit(1000, 1200, ())).words for length_m in (1000, 1001, 1201)]
    ['in order', 'outside cautious practice', 'breaks the standard']
    """
    return _degree(_above(value, limit.cautious), _above(value, limit.last))


def judge_least(value: float, limit: Limit) -> Degree:
    """Judge a value of which more is safer, such as a distance.

    >>> from helpers.facts import Limit
    >>> [judge_least(distance_m, Limit(0.3, 0.1, ())).words for distance_m in (0.3, 0.29, 0.09)]
    ['in order', 'outside cautious practice', 'breaks the standard']
    """
    return _degree(_above(limit.cautious, value), _above(limit.last, value))


def at_most(*, rule: str, place: str, value: float, limit: Limit, unit: str, to_do: str) -> Finding:
    """A finding on a value that must not be above a limit; `to_do` is kept only if it is."""
    degree = judge_most(value, limit)
    allowed = _allowed("at most", limit.cautious, limit.last, unit)
    return _finding(rule, place, quantity(value, unit), allowed, _sources(limit, unit), to_do, degree)


def at_least(*, rule: str, place: str, value: float, limit: Limit, unit: str, to_do: str) -> Finding:
    """A finding on a value that must not be below a limit; `to_do` is kept only if it is."""
    degree = judge_least(value, limit)
    allowed = _allowed("at least", limit.cautious, limit.last, unit)
    return _finding(rule, place, quantity(value, unit), allowed, _sources(limit, unit), to_do, degree)


def worst(findings: Iterable[Finding]) -> Degree:
    """The worst degree of all; nothing found is in order."""
    return max((finding.degree for finding in findings), default=Degree.IN_ORDER)


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings with the worst in front; equally bad ones keep their order."""
    return tuple(sorted(findings, key=lambda finding: -finding.degree))


def cited(facts: Iterable[Fact]) -> str:
    """The sources of several facts with their standing, each once, as the column `source` shows them.

    >>> from helpers.facts import where
    >>> cited(where("segment_length", cable="B", kbit_s=500))
    'PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.32 (standard)'
    """
    return "; ".join(dict.fromkeys(fact.cited for fact in facts))


def quantity(value: float, unit: str) -> str:
    """A number as people read it, to three decimals, with its unit.

    >>> quantity(0.1 + 0.2, "m"), quantity(1200.0, "m"), quantity(32, "")
    ('0.3 m', '1200 m', '32')
    """
    return f"{round(value, 3):.12g} {unit}".strip()


def _above(value: float, bound: float) -> bool:
    """True if value > bound beyond rounding, and for a value that is not a number."""
    return not (value <= bound or isclose(value, bound, rel_tol=_ROUNDING))


def _degree(cautious_broken: bool, last_broken: bool) -> Degree:
    if last_broken:
        return Degree.BROKEN
    return Degree.CAUTION if cautious_broken else Degree.IN_ORDER


def _allowed(word: str, cautious: float, last: float, unit: str) -> str:
    if cautious == last:
        return f"{word} {quantity(last, unit)}"
    if abs(last) == float("inf"):
        return f"{word} {quantity(cautious, unit)} is advised"
    return f"{word} {quantity(cautious, unit)} by the strictest source, {quantity(last, unit)} by the most lenient"


def _sources(limit: Limit, unit: str) -> str:
    """The sources; where they disagree, with the value that each of them gives."""
    if limit.cautious == limit.last or not limit.column:
        return limit.cited
    told = (f"{quantity(fact.number(limit.column), unit)} – {fact.cited}" for fact in limit.facts)
    return "; ".join(dict.fromkeys(told))


def _finding(rule: str, place: str, found: str, allowed: str, source: str, to_do: str, degree: Degree) -> Finding:
    return Finding(rule, place, found, allowed, source, "" if degree is Degree.IN_ORDER else to_do, degree)
