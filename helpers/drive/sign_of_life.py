"""The sign of life: a count of four bits by which controller and drive show each other that they are awake.

The controller counts in bits 12 to 15 of control word 2, the drive in the same bits of status word 2: 1, 2, … 15,
1, 2 … A partner that misses too many counts reports a fault. How many are tolerated is parameter 925; how they
are counted differs between makers (`data/sign_of_life.csv`).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from helpers import facts
from helpers.drive.words import word
from helpers.errors import in_range, one_of

METHODS = ("in a row", "error counter")
SHIFT = 12


@dataclass(frozen=True)
class Beat:
    """One cycle: the count that came, the one expected, the failures so far, and whether it is a fault now."""

    count: int
    expected: int
    failures: int
    fault: bool
    sentence: str


def count(word_2: int | str) -> int:
    """The count in control word 2 or status word 2.

    >>> count("16#A003")
    10
    """
    return word(word_2) >> SHIFT


def with_count(word_2: int | str, value: int) -> int:
    """The word with another count; the other bits stay.

    >>> f"{with_count('16#A003', 11):04X}"
    'B003'
    """
    in_range("sign of life", value, _fact("silent"), _fact("last"), source="four bits")
    return word(word_2) & 0x0FFF | value << SHIFT


def following(value: int) -> int:
    """The count after this one.

    >>> following(14), following(15), following(0)
    (15, 1, 1)
    """
    in_range("sign of life", value, _fact("silent"), _fact("last"), source="four bits")
    return value + 1 if value < _fact("last") else _fact("first")


def watch(counts: Iterable[int], *, tolerance: int, method: str = "in a row") -> tuple[Beat, ...]:
    """What a partner makes of the counts it sees, one for each cycle of the sender.

    Parameters: counts, 0 to 15; tolerance, parameter 925; method, `in a row` (a good count clears the failures;
    fault when more than `tolerance` fail in a row) or `error counter` (Kollmorgen AKD2G manual: 10 up, 1 down,
    fault above 10 times the parameter). The first count only sets the start.

    >>> [beat.fault for beat in watch([1, 2, 2, 2, 3], tolerance=1)]
    [False, False, False, True, False]
    """
    one_of("method", method, METHODS)
    in_range("parameter 925", tolerance, 0, 0xFFFF, source="16 bits")
    told: list[Beat] = []
    failures, seen = 0, None
    for arrived in counts:
        in_range("sign of life", arrived, _fact("silent"), _fact("last"), source="four bits")
        expected = arrived if seen is None else following(seen)
        good = arrived == expected and arrived != _fact("silent")
        if method == "in a row":
            failures, limit = (0 if good else failures + 1), tolerance
        else:
            failures = max(0, failures - _fact("down")) if good else failures + _fact("up")
            limit = tolerance * _fact("weight")
        fault = failures > limit and tolerance != _fact("off")
        told.append(Beat(arrived, expected, failures, fault, _sentence(arrived, expected, good, fault)))
        seen = arrived
    return tuple(told)


def _sentence(arrived: int, expected: int, good: bool, fault: bool) -> str:
    if good:
        return f"{arrived} came, as expected." + (" The fault stands: earlier failures still count." if fault else "")
    what = (
        "0 came: the partner reports a failure itself." if not arrived else f"{arrived} came, {expected} was expected."
    )
    return what + (" Too many failures: fault." if fault else " Still tolerated.")


@cache
def _fact(item: str) -> int:
    return facts.one("sign_of_life", item=item).whole("value")
