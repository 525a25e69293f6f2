"""The three verdicts, the degrees behind them, and the finding that carries one.

*Not allowed* is said with its reason: by the standard, by every source found (two independent documents at
least), or because it cannot work. What one document or common practice advises against is *outside cautious
practice*. The rest is *in order*. Memory never decides. A plant that has run for ten years is not called
illegal for a matter of taste.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import IntEnum
from math import isclose

from helpers.facts import Fact, Limit
from helpers.quantity import quantity

# Lengths are sums of decimal fractions: 0.1 + 0.2 must not break a limit of 0.3.
_ROUNDING = 1e-9


FINDING_COLUMNS = ("verdict", "rule", "place", "found", "allowed", "source", "what to do")
VERDICTS = ("in order", "outside cautious practice", "not allowed")


class Degree(IntEnum):
    """How bad a finding is; the greater, the worse. Three of them are *not allowed*, each with its reason.

    DEPENDS: a length is open, and for some of what it may be the verdict is another one than for the rest.

    >>> max(Degree.IN_ORDER, Degree.CAUTION).words, Degree.BY_STANDARD.words
    ('outside cautious practice', 'not allowed, by the standard')
    """

    IN_ORDER = 0
    CAUTION = 1
    DEPENDS = 2
    BY_EVERY_SOURCE = 3
    BY_STANDARD = 4
    CANNOT_WORK = 5

    @property
    def verdict(self) -> str:
        """One of `VERDICTS`, or that it depends."""
        return "depends" if self is Degree.DEPENDS else VERDICTS[min(self, 2)]

    @property
    def words(self) -> str:
        """The degree as people read it: the verdict, and why something is not allowed."""
        reasons = ("", "", " on a length", ", by every source found", ", by the standard", ", cannot work")
        return self.verdict + reasons[self]

    @property
    def forbidden(self) -> bool:
        """True for what is not allowed, whatever the reason."""
        return self > Degree.DEPENDS


def forbidding(facts: Iterable[Fact]) -> Degree:
    """How bad it is to go against what all of these facts say.

    The standard forbids by itself, other documents if two of them agree that are independent of each other. One
    document, or common practice, advises. Memory and what is worked out decide nothing.

    >>> from helpers.facts import where
    >>> forbidding(where("segment_length", cable="A", kbit_s=500)).words
    'not allowed, by the standard'
    """
    facts = tuple(facts)
    if any(fact.standing == "standard" for fact in facts):
        return Degree.BY_STANDARD
    makers = {maker for fact in facts for maker in fact.makers}
    if len(makers) > 1:
        return Degree.BY_EVERY_SOURCE
    return Degree.CAUTION if makers or any(fact.standing == "common practice" for fact in facts) else Degree.IN_ORDER


@dataclass(frozen=True)
class Finding:
    """One line of a verdict table.

    `rule` is a short name; `place` the segment, station or cable run; `found` and `allowed` are texts with
    their units; `source` cites every source of the rule with its standing; `to_do` is one sentence,
    empty where nothing is to be done; `beyond_all` says that no source found allows it, however few they are.
    """

    rule: str
    place: str
    found: str
    allowed: str
    source: str
    to_do: str
    degree: Degree
    beyond_all: bool = False

    @property
    def verdict(self) -> str:
        """The degree in words."""
        return self.degree.words


def judge_most(value: float, limit: Limit) -> Degree:
    """Judge a value of which less is safer: the limits themselves are still allowed.

    >>> from helpers.facts import most, where
    >>> limit = most(where("segment_length", cable="A", kbit_s=93.75), "length_m")
    >>> [judge_most(length_m, limit).words for length_m in (1000, 1001, 1201)]
    ['in order', 'outside cautious practice', 'not allowed, by the standard']
    """
    return _degree(_above(value, limit.cautious), _above(value, limit.last), limit)


def judge_least(value: float, limit: Limit) -> Degree:
    """Judge a value of which more is safer, such as a distance.

    >>> from helpers.facts import least, where
    >>> limit = least(where("spacing", from_kbit_s=3000), "length_m")
    >>> [judge_least(length_m, limit).words for length_m in (1, 0.9)]
    ['in order', 'outside cautious practice']
    """
    return _degree(_above(limit.cautious, value), _above(limit.last, value), limit)


def at_most(*, rule: str, place: str, value: float, limit: Limit, unit: str, to_do: str) -> Finding:
    """A finding on a value that must not be above a limit; `to_do` is kept only if it is."""
    degree = judge_most(value, limit)
    allowed = _allowed("at most", limit.cautious, limit.last, unit)
    found, source, beyond = quantity(value, unit), _sources(limit, unit), _above(value, limit.last)
    return Finding(rule, place, found, allowed, source, to_do if degree else "", degree, beyond)


def at_least(*, rule: str, place: str, value: float, limit: Limit, unit: str, to_do: str) -> Finding:
    """A finding on a value that must not be below a limit; `to_do` is kept only if it is."""
    degree = judge_least(value, limit)
    allowed = _allowed("at least", limit.cautious, limit.last, unit)
    found, source, beyond = quantity(value, unit), _sources(limit, unit), _above(limit.last, value)
    return Finding(rule, place, found, allowed, source, to_do if degree else "", degree, beyond)


def worst(findings: Iterable[Finding]) -> Degree:
    """The worst degree of all; nothing found is in order."""
    return max((finding.degree for finding in findings), default=Degree.IN_ORDER)


def worst_first(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings with the worst verdict in front; equally bad ones, whatever the reason, keep their order."""
    return tuple(sorted(findings, key=lambda finding: -min(finding.degree, Degree.BY_EVERY_SOURCE)))


def findings_table(findings: Iterable[Finding]) -> list[dict[str, str]]:
    """The verdict table as rows for a data frame, a file or a page; `FINDING_COLUMNS` are its headings."""
    return [
        dict(zip(FINDING_COLUMNS, (f.verdict, f.rule, f.place, f.found, f.allowed, f.source, f.to_do), strict=True))
        for f in findings
    ]


def cited(facts: Iterable[Fact]) -> str:
    """The sources of several facts with their standing, each once, as the column `source` shows them.

    >>> from helpers.facts import where
    >>> cited(where("segment_length", cable="B", kbit_s=500))
    'PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.32 (standard)'
    """
    return "; ".join(dict.fromkeys(fact.cited for fact in facts))


def _above(value: float, bound: float) -> bool:
    """True if value > bound beyond rounding, and for a value that is not a number."""
    return not (value <= bound or isclose(value, bound, rel_tol=_ROUNDING))


def _degree(beyond_cautious: bool, beyond_last: bool, limit: Limit) -> Degree:
    if beyond_last:
        return max(Degree.CAUTION, forbidding(limit.facts))
    return Degree.CAUTION if beyond_cautious else Degree.IN_ORDER


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
    values = (f"{quantity(fact.number(limit.column), unit)} – {fact.cited}" for fact in limit.facts)
    return "; ".join(dict.fromkeys(values))
