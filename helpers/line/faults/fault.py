"""What a fault is, where its sizes come from, and two of them at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from random import Random
from typing import NamedTuple

from helpers.errors import OutOfRange
from helpers.facts import Fact, one
from helpers.line.plant.compare import differences
from helpers.line.plant.installation import Installation
from helpers.line.plant.place import Place, check

Places = Callable[[Installation], tuple[Place, ...]]
Make = Callable[[Installation, Place, Random], Installation]


@dataclass(frozen=True, kw_only=True)
class Fault:
    """One thing that can be wrong.

    group: ends, cable, shield, addresses, settings, project, program or drive. grade: 1 is found by looking, 3 needs
    thought. what: what is physically or logically different, in one sentence. places: where it can be; make: the
    installation with it. cures: ways to put it right, each the keys of repairs in the order in which they are done.
    """

    key: str
    name: str
    group: str
    grade: int
    what: str
    places: Places
    make: Make
    cures: tuple[tuple[str, ...], ...]

    def put(self, installation: Installation, place: Place, seed: int = 1) -> Installation:
        """The installation with this fault at a place; the seed draws its size. `Unknown` for another place."""
        check(place, self.places(installation), self.name)
        return self.make(installation, place, Random(seed))


class Chosen(NamedTuple):
    """A fault, where it is, and the seed that draws its size."""

    fault: Fault
    place: Place
    seed: int = 1

    def put(self, installation: Installation) -> Installation:
        """The installation with it."""
        return self.fault.put(installation, self.place, self.seed)


def combined(installation: Installation, chosen: Sequence[Chosen]) -> Installation:
    """The installation with several faults, one after the other. `OutOfRange` if two of them exclude each other."""
    for n, first in enumerate(chosen):
        for second in chosen[n + 1 :]:
            if exclude(installation, first, second):
                raise OutOfRange(
                    f"{first.fault.name} ({first.place.words}) and {second.fault.name} ({second.place.words}) can't be "
                    "together: one would undo or hide the other. Allowed are faults that leave each other as they are."
                )
    for one_of_them in chosen:
        installation = one_of_them.put(installation)
    return installation


def exclude(installation: Installation, first: Chosen, second: Chosen) -> bool:
    """True if two faults touch the same thing.

    They do if one has no place left beside the other, if the order in which they are put in matters, or if both
    together are no more than one alone.
    """
    alone = first.put(installation), second.put(installation)
    if second.place not in second.fault.places(alone[0]) or first.place not in first.fault.places(alone[1]):
        return True
    both = second.put(alone[0])
    if differences(both, first.put(alone[1])):
        return True
    return any(not differences(both, less) for less in (installation, *alone))


def drawn(random: Random, name: str) -> float:
    """A size between the two ends that `data/practice_faults.csv` gives.

    >>> 250 <= drawn(Random(1), "contact_ohm") <= 600
    True
    """
    row = _row(name)
    return random.uniform(row.number("low"), row.number("high"))


def size(name: str) -> float:
    """A size for which `data/practice_faults.csv` gives one value only, or the lower of two."""
    return _row(name).number("low")


@cache
def _row(name: str) -> Fact:
    return one("practice_faults", name=name)
