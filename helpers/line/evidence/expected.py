"""What a fault lets an instrument say: all that may stand in one line of a reading, over its sizes and over time.

Words have to be among those that were seen when the fault was tried; a number has to lie between the least and the
most that were seen, within the tolerance of meter and plant. A share of telegrams may be noted one step to either
side. A line that changed while the fault ran excludes nothing: whatever is read there, the fault may be the cause.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

from helpers.line.evidence.noted import SCALE, Lines, number, tolerance
from helpers.quantity import about

ABSENT = "no such line"


class Expected(NamedTuple):
    """What may stand in one line: words, numbers of one unit from `low` to `high`, or anything (`changes`).

    shares: for each of the words, in which part of the sizes they were seen; the rest of them are numbers.
    """

    texts: frozenset[str]
    low: float = math.inf
    high: float = -math.inf
    unit: str = ""
    changes: bool = False
    shares: tuple[tuple[str, float], ...] = ()

    def fits(self, seen: str, instrument: str = "", *, as_built: bool = False) -> bool:
        """True if this may be read there.

        >>> Expected(frozenset(), 108.0, 112.0, "Ω").fits("113 Ω"), Expected(frozenset({"open"})).fits("113 Ω")
        (True, False)
        """
        return self.meets(exactly(seen), instrument, as_built=as_built)

    def meets(self, other: Expected, instrument: str = "", *, as_built: bool = False) -> bool:
        """True if one reading could come from both."""
        if self.changes or other.changes or self.texts & other.texts:
            return True
        if self.texts and other.texts and _neighbours(self.texts, other.texts):
            return True
        if self.unit != other.unit or not (math.isfinite(self.low) and math.isfinite(other.low)):
            return False
        low, high = max(self.low, other.low), min(self.high, other.high)
        return low - tolerance(instrument, self.unit, as_built=as_built).around(low) <= high

    def shows_more_than(self, other: Expected, instrument: str = "", *, as_built: bool = False) -> bool:
        """True if something was seen here that can't be if the other is expected.

        >>> Expected(frozenset({"lit", "dark"}), changes=True).shows_more_than(Expected(frozenset({"lit"})))
        True
        """
        ends = (Expected(frozenset(), end, end, self.unit) for end in (self.low, self.high) if math.isfinite(end))
        words = (Expected(frozenset({text})) for text in self.texts)
        return any(not other.meets(each, instrument, as_built=as_built) for each in (*words, *ends))

    @property
    def words(self) -> str:
        """What may be read there, for people.

        >>> Expected(frozenset({"open"}), 108.0, 112.0, "Ω").words
        'open or 108 Ω to 112 Ω'
        """
        if self.changes:
            return "now this, now that"
        said = sorted(self.texts)[:2]
        if math.isfinite(self.low):
            low, high = (about(end, self.unit, digits=3) for end in (self.low, self.high))
            said.append(low if low == high else f"{low} to {high}")
        return " or ".join(said)


By_line = Mapping[str, Expected]


def _neighbours(mine: frozenset[str], others: frozenset[str]) -> bool:
    places = [[SCALE.index(text) for text in texts if text in SCALE] for texts in (mine, others)]
    return any(abs(one - other) <= 1 for one in places[0] for other in places[1])


@lru_cache(65536)
def exactly(seen: str) -> Expected:
    """What was read once, and nothing else.

    >>> exactly("4.68 Ω").low, exactly("15.3 kΩ").high, sorted(exactly("open").texts)
    (4.68, 15300.0, ['open'])
    """
    read = number(seen)
    return Expected(frozenset({seen})) if read is None else Expected(frozenset(), read[0], read[0], read[1])


ABSENT_LINE = exactly(ABSENT)


def merged(several: Sequence[By_line]) -> dict[str, Expected]:
    """What may be read if any of these is the case: the sizes of one fault."""
    names = dict.fromkeys(what for lines in several for what in lines)
    return {what: _merged(tuple(lines.get(what, ABSENT_LINE) for lines in several)) for what in names}


@lru_cache(65536)
def _merged(each: tuple[Expected, ...]) -> Expected:
    texts: frozenset[str] = frozenset().union(*(one.texts for one in each))
    shares = tuple((text, sum(text in one.texts for one in each) / len(each)) for text in sorted(texts))
    low, high = min(one.low for one in each), max(one.high for one in each)
    unit = next((one.unit for one in each if one.unit), "")
    return Expected(texts, low, high, unit, any(one.changes for one in each), shares)


def over_time(moments: Iterable[Lines], instrument: str) -> dict[str, Expected]:
    """What may be read, from readings of one instrument at one place one after the other."""
    several = [{what: exactly(seen) for what, seen in lines} for lines in moments]
    found = merged(several)
    for what, expected in found.items():
        seen = {lines.get(what, ABSENT_LINE) for lines in several}
        moves = any(not one.meets(other, instrument) for one in seen for other in seen)
        found[what] = expected._replace(changes=moves, shares=())
    return found


def misfit(lines: Lines, expected: By_line, instrument: str, *, as_built: bool = False) -> str | None:
    """The first line of a reading that can't be if these are expected; None if all fit."""
    return apart({what: exactly(seen) for what, seen in lines}, expected, instrument, as_built=as_built)


def apart(one: By_line, other: By_line, instrument: str, *, as_built: bool = False) -> str | None:
    """The first line that tells two expectations apart; None if a reading could come from both."""
    for what in dict.fromkeys((*one, *other)):
        mine, theirs = one.get(what, ABSENT_LINE), other.get(what, ABSENT_LINE)
        if mine is not theirs and not mine.meets(theirs, instrument, as_built=as_built):
            return what
    return None


def apart_in_time(one: By_line, other: By_line, instrument: str, *, as_built: bool = False) -> str | None:
    """The first line that changes as time passes with one and shows then what it never shows with the other.

    Whoever takes that reading again until it changes has excluded the other. Nothing excludes the one that changes:
    it may stay as it is for as long as anybody looks.
    """
    for what in dict.fromkeys((*one, *other)):
        mine, theirs = one.get(what, ABSENT_LINE), other.get(what, ABSENT_LINE)
        if mine.changes != theirs.changes:
            moving, steady = (mine, theirs) if mine.changes else (theirs, mine)
            if moving.shows_more_than(steady, instrument, as_built=as_built):
                return what
    return None
