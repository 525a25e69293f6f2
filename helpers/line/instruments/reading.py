"""A reading: which instrument, where, and what it says; and the table of instruments with what each costs in time."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from helpers import facts
from helpers.errors import one_of


@dataclass(frozen=True)
class Instrument:
    """A row of `data/instruments.csv`: its key and name, what its place is, the minutes it takes, and its hazards.

    bus: "alive" or "dead", how the bus has to be for it, or "any". moves: what it says changes as time passes.
    hazards: as `hazard.declared` reads them.
    """

    key: str
    name: str
    place: str
    minutes: float
    bus: str
    moves: bool
    hazards: str
    about: str


@dataclass(frozen=True)
class Reading:
    """What an instrument says at a place. `lines` are pairs: what is looked at, and what is seen, as a person notes it.

    Two readings are the same if a technician could not tell them apart.
    """

    instrument: str
    place: str
    lines: tuple[tuple[str, str], ...]

    @property
    def text(self) -> str:
        """The reading in one line.

        >>> Reading("volts", "plug of Cooling fan", (("B against A", "1.01 V"),)).text
        'B against A: 1.01 V'
        """
        return "; ".join(f"{what}: {seen}" for what, seen in self.lines)


@cache
def instruments() -> tuple[Instrument, ...]:
    """All instruments, the quick ones of the desk first.

    >>> instruments()[0].name
    'station table'
    """
    return tuple(
        Instrument(
            row["instrument"],
            row["name"],
            row["place"],
            row.number("minutes"),
            row["bus"],
            row["moves"] == "yes",
            row["hazards"],
            row["about"],
        )
        for row in facts.rows("instruments")
    )


def instrument(key: str) -> Instrument:
    """The instrument with this key; `Unknown` with the list if there is none."""
    one_of("instrument", key, [each.key for each in instruments()])
    return next(each for each in instruments() if each.key == key)


def differences(one: Iterable[Reading], other: Iterable[Reading]) -> tuple[tuple[Reading, Reading], ...]:
    """The readings of the same instrument at the same place that differ."""
    known = {(reading.instrument, reading.place): reading for reading in other}
    pairs = ((reading, known.get((reading.instrument, reading.place))) for reading in one)
    return tuple((mine, theirs) for mine, theirs in pairs if theirs is not None and mine.lines != theirs.lines)
