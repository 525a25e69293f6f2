"""Sizes of the practice work: times to look, minutes that actions cost, and what a meter can tell apart."""

from __future__ import annotations

from functools import cache

from helpers import safe_work
from helpers.facts import one


@cache
def size(name: str) -> float:
    """A value of `data/practice_work.csv`, in the unit that stands there.

    >>> size("watch_minutes")
    5.0
    """
    return one("practice_work", name=name).number("value")


@cache
def steps(way: str) -> tuple[str, ...]:
    """The steps of taking the bus out of operation ("isolate") or bringing it back ("restore"), in their order.

    >>> steps("restore")[0]
    'Plug every device in again and close what you have opened.'
    """
    if way == "isolate":
        return (*safe_work.steps("agree"), safe_work.named(), *safe_work.steps("unplug"))
    return safe_work.steps(way)
