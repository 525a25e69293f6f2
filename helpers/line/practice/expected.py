"""What a fault lets an instrument say: all that may stand in one line of a reading, over its sizes and over time.

A line of a reading is text or a number with its unit. Texts have to be among those that were seen when the fault was
run; a number has to lie between the least and the most that were seen, with the tolerance of the meter. A line that
changed while the fault ran tells nothing: whatever is read there, the fault may be the cause.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping
from functools import lru_cache
from typing import NamedTuple

from helpers.line.instruments.reading import Reading
from helpers.line.practice.times import size

_NUMBER = re.compile(r"([-−]?\d+(?:\.\d+)?) (V|Ω|kΩ|MΩ|%)")
_STEPS = {"V": "volts_step", "Ω": "ohms_step", "kΩ": "ohms_step", "MΩ": "ohms_step", "%": "percent_step"}
ABSENT = "no such line"


class Expected(NamedTuple):
    """What may stand in one line: texts, numbers from `low` to `high`, or anything (`changes`)."""

    texts: frozenset[str]
    low: float = math.inf
    high: float = -math.inf
    changes: bool = False

    def fits(self, seen: str) -> bool:
        """True if this may be read there.

        >>> Expected(frozenset(), 108.0, 112.0).fits("113 Ω"), Expected(frozenset({"open"})).fits("113 Ω")
        (True, False)
        """
        if self.changes or seen in self.texts:
            return True
        value, step = _read(seen)
        return value is not None and self.low - _margin(self.low, step) <= value <= self.high + _margin(self.high, step)

    def meets(self, other: Expected) -> bool:
        """True if one reading could come from both."""
        if self.changes or other.changes or self.texts & other.texts:
            return True
        step = size("ohms_step")  # the largest of them; numbers are compared only with numbers of the same line
        low, high = max(self.low, other.low), min(self.high, other.high)
        return math.isfinite(low) and math.isfinite(high) and low - _margin(low, step) <= high

    def shows_more_than(self, other: Expected) -> bool:
        """True if something was seen here that can't be if the other is expected.

        >>> Expected(frozenset({"lit", "dark"}), changes=True).shows_more_than(Expected(frozenset({"lit"})))
        True
        """
        if not all(other.fits(seen) for seen in self.texts):
            return True
        step = size("ohms_step")  # as in `meets`
        out = (
            value < other.low - _margin(other.low, step) or value > other.high + _margin(other.high, step)
            for value in (self.low, self.high)
            if math.isfinite(value)
        )
        return not other.changes and any(out)

    @property
    def words(self) -> str:
        """What may be read there, for people.

        >>> Expected(frozenset({"open"}), 108.0, 112.0).words
        'open or 108 to 112'
        """
        if self.changes:
            return "now this, now that"
        said = sorted(self.texts)[:2]
        if math.isfinite(self.low):
            low, high = f"{self.low:.4g}", f"{self.high:.4g}"
            said.append(low if low == high else f"{low} to {high}")
        return " or ".join(said)


Lines = Mapping[str, Expected]


def merged(several: Iterable[Lines]) -> dict[str, Expected]:
    """What may be read if any of these is the case: variants of one fault."""
    all_lines = list(several)
    found = {}
    for what in dict.fromkeys(what for lines in all_lines for what in lines):
        each = [lines.get(what, _absent()) for lines in all_lines]
        found[what] = _kept(
            frozenset().union(*(e.texts for e in each)),
            min(e.low for e in each),
            max(e.high for e in each),
            any(e.changes for e in each),
        )
    return found


def over_time(readings: Iterable[Reading]) -> dict[str, Expected]:
    """What may be read, from readings of one instrument at one place one after the other."""
    several = [{what: exactly(seen) for what, seen in reading.lines} for reading in readings]
    found = merged(several)
    for what, expected in found.items():
        seen = {dict(lines).get(what, _absent()) for lines in several}
        if any(not one.meets(other) for one in seen for other in seen):
            found[what] = expected._replace(changes=True)
    return found


@lru_cache(65536)
def exactly(seen: str) -> Expected:
    """What was read once, and nothing else.

    >>> exactly("4.68 Ω").low, exactly("15.3 kΩ").high, sorted(exactly("open").texts)
    (4.68, 15300.0, ['open'])
    """
    value, _ = _read(seen)
    return Expected(frozenset({seen})) if value is None else Expected(frozenset(), value, value)


def misfit(reading: Reading, lines: Lines) -> str | None:
    """The first line of a reading that can't be if these are expected; None if all fit."""
    seen = dict(reading.lines)
    for what in dict.fromkeys((*seen, *lines)):
        if not lines.get(what, _absent()).fits(seen.get(what, ABSENT)):
            return what
    return None


def apart(one: Lines, other: Lines) -> str | None:
    """The first line that tells two expectations apart; None if a reading could come from both."""
    for what in dict.fromkeys((*one, *other)):
        if not one.get(what, _absent()).meets(other.get(what, _absent())):
            return what
    return None


def apart_in_time(one: Lines, other: Lines) -> str | None:
    """The first line that changes as time passes with one and shows then what it never shows with the other.

    Whoever takes that reading again until it changes has excluded the other. Nothing excludes the one that changes:
    it may stay as it is for as long as anybody looks.
    """
    for what in dict.fromkeys((*one, *other)):
        mine, theirs = one.get(what, _absent()), other.get(what, _absent())
        if mine.changes != theirs.changes:
            moving, steady = (mine, theirs) if mine.changes else (theirs, mine)
            if moving.shows_more_than(steady):
                return what
    return None


def _absent() -> Expected:
    return exactly(ABSENT)


@lru_cache(65536)
def _kept(texts: frozenset[str], low: float, high: float, changes: bool) -> Expected:
    """One object for the same contents: most lines of most faults are the healthy ones."""
    return Expected(texts, low, high, changes)


@lru_cache(65536)
def _read(seen: str) -> tuple[float | None, float]:
    """The number in a line and the step of its unit; None for text."""
    found = _NUMBER.fullmatch(seen)
    if found is None:
        return None, 0.0
    number, unit = found[1].replace("−", "-"), found[2]
    return float(number) * {"kΩ": 1e3, "MΩ": 1e6}.get(unit, 1), size(_STEPS[unit])


def _margin(value: float, step: float) -> float:
    return step + abs(value) * size("reading_share") if math.isfinite(value) else 0.0
