"""A good path to a fault: at each step the reading that is expected to exclude most single faults per minute."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import NamedTuple

from helpers.line.faults.fault import Chosen
from helpers.line.instruments.kit import places
from helpers.line.instruments.reading import instrument, instruments
from helpers.line.place import Place
from helpers.line.practice.expected import Lines, apart
from helpers.line.practice.signature import spot
from helpers.line.practice.signatures import Signatures
from helpers.line.practice.work import size

_MOST_STEPS = 12


class Step(NamedTuple):
    """One reading of the path: instrument, place, the minutes that it costs, and how many single faults are left."""

    key: str
    place: Place
    minutes: float
    left: int


def good_path(signatures: Signatures, cause: Chosen) -> tuple[Step, ...]:
    """The path for one cause, from the signatures that are made already; () while the cause has none.

    It does not know the cause: a step is chosen by how finely it divides what is left, and the cause only says which
    of the parts is left then. The first reading at a dead bus also costs isolating it and bringing it back.
    """
    usable = [each for each in instruments() if signatures.known(cause, each.key)]
    left = [c for c in signatures.all if all(signatures.known(c, each.key) for each in usable)]
    if cause._replace(seed=1) not in left:
        return ()
    offers = [(each.key, place) for each in usable for place in places(signatures.installation, each.key)]
    steps: list[Step] = []
    dead = False
    while len(left) > 1 and len(steps) < _MOST_STEPS:
        best, worth = None, 0.0
        for key, place in offers:
            excluded = _excluded(signatures, left, key, place)
            minutes = _minutes(key, dead)
            if excluded / minutes > worth + 1e-9:
                best, worth = (key, place, minutes), excluded / minutes
        if best is None:
            break
        key, place, minutes = best
        own = signatures.expected(cause, *spot(key, place))
        kept = [c for c in left if apart(own, signatures.expected(c, *spot(key, place))) is None]
        offers.remove((key, place))
        dead |= instrument(key).bus == "dead"
        if len(kept) < len(left):
            steps.append(Step(key, place, minutes, len(kept)))
        left = kept
    return tuple(steps)


def _excluded(signatures: Signatures, left: Sequence[Chosen], key: str, place: Place) -> float:
    """How many of these a reading is expected to exclude: equal expectations form a part, and one part stays."""
    parts = Counter(_form(signatures.expected(c, *spot(key, place))) for c in left)
    return len(left) - sum(count * count for count in parts.values()) / len(left)


def _form(lines: Lines) -> tuple[object, ...]:
    return tuple(lines.items())


def _minutes(key: str, dead: bool) -> float:
    what = instrument(key)
    around = size("isolate_minutes") + size("restore_minutes") if what.bus == "dead" and not dead else 0.0
    return what.minutes + around
