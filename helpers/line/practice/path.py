"""A good path to a fault, by the method that the lesson teaches.

What the plant says comes first: it tells of every drive whether it turns. Then the station table. Then where the two
point: at one drive by whether it is in data exchange, at many the plugs where the loss begins. After that where a
suspect is left, looking before opening, opening before measuring, and measuring at a dead bus last. Within one of these
the reading comes first that is expected to exclude most single faults per minute. What comes and goes is looked at
again until it changes.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from helpers.line.evidence.expected import By_line, apart
from helpers.line.evidence.observe import spot
from helpers.line.evidence.table import Evidence, key_of
from helpers.line.faults.fault import Chosen
from helpers.line.instruments.catalogue import NOWHERE, places
from helpers.line.instruments.reading import instrument, instruments
from helpers.line.plant.installation import Installation
from helpers.line.plant.place import Place
from helpers.line.practice.case import Case
from helpers.line.practice.observation import RUNS, STANDS, usual
from helpers.line.times import size

TABLE = "stations"
# For one drive. In data exchange: sources, words. Not in it: supply, plug, address, format.
IN_EXCHANGE = ("settings", "io sheet", "front")
NOT_IN_EXCHANGE = ("front", "look", "settings", "diagnosis")
# For many: the last station that answers and the first that does not.
MANY = ("look", "front")
_LOOK, _FRONT, _MOTOR = "look", "front", "motor"

Offer = tuple[str, Place]


class Step(NamedTuple):
    """One reading of the path: instrument, place, the minutes that it costs, and how many single faults are left.

    again: it is taken again until it changes; twice is reckoned.
    """

    key: str
    place: Place
    minutes: float
    left: int
    again: bool = False


class Path(NamedTuple):
    """The readings, and the single faults that are left behind the last one: the cause, and what looks like it."""

    steps: tuple[Step, ...] = ()
    left: tuple[Chosen, ...] = ()


def good_path(evidence: Evidence, case: Case) -> Path:
    """The path to the first cause of a case, from the table of evidence; empty where that has nothing of it.

    The path does not know the cause: it goes by what is told and read, and the cause only says what is read then. It
    ends with one cause, or with those that no reading tells apart. The first reading at a dead bus also costs
    isolating it and bringing it back.
    """
    cause = case.chosen[0]
    left = [chosen for chosen in evidence.all if evidence.known(chosen)]
    if not evidence.known(cause):
        return Path()
    told = [chosen for chosen in left if _as_the_plant_says(evidence, case, chosen)]
    # Of two faults the plant may say what neither makes alone; then what it says excludes nothing.
    left = told if key_of(cause) in map(key_of, told) else left
    search = _Search(evidence, cause, left)
    search.read((TABLE, NOWHERE), first=True)
    for offer in _where_it_points(evidence, case):
        if offer in search.offers and search.worth(offer) > 0:
            search.read(offer)
    while len(search.left) > 1 and (best := search.best()):
        search.read(best)
    return Path(tuple(search.steps), tuple(search.left))


def _as_the_plant_says(evidence: Evidence, case: Case, chosen: Chosen) -> bool:
    """False for a fault with which a drive would turn that is said to stand, or stand that is said to run."""
    for name, seen in case.now.drives:
        motor = evidence.expected(chosen, _FRONT, name).get(_MOTOR)
        healthy = evidence.healthy(_FRONT, name).get(_MOTOR)
        if motor is None or healthy is None:
            continue
        if seen.does == RUNS and not motor.meets(healthy):
            return False
        if seen.does == STANDS and motor == healthy:
            return False
    return True


def _where_it_points(evidence: Evidence, case: Case) -> Iterator[Offer]:
    """The readings that the station table and the complaint point to, in the order of the lesson."""
    installation, table = evidence.installation, spot(TABLE, NOWHERE)
    complained = case.now.differing(usual(installation))
    seen, healthy = evidence.expected(case.chosen[0], *table), evidence.healthy(*table)
    changed = [line for line, expected in seen.items() if expected != healthy.get(line)]
    lost = [d.name for d in installation.stations if any(line.startswith(f"{d.name} (") for line in changed)]
    concerned = list(dict.fromkeys((*complained, *lost)))
    keys: tuple[str, ...] = MANY
    devices = _where_it_begins(installation, concerned)
    if len(concerned) == 1:
        keys, devices = NOT_IN_EXCHANGE if lost else IN_EXCHANGE, concerned
    for device in devices:
        for key in keys:
            yield from ((key, place) for place in places(installation, key) if place.device == device)


def _where_it_begins(installation: Installation, concerned: Sequence[str]) -> list[str]:
    """The device before the first of these along the cable, and that first one."""
    found = []
    for stretch in installation.stretches:
        hit = [n for n, device in enumerate(stretch.devices) if device in concerned]
        if hit:
            found += [device for device in stretch.devices[max(hit[0] - 1, 0) : hit[0] + 1] if device]
    return found


class _Search:
    """What is left, and what can still be read."""

    def __init__(self, evidence: Evidence, cause: Chosen, left: list[Chosen]) -> None:
        self.evidence, self.cause, self.left = evidence, cause, left
        self.offers = [(each.key, place) for each in instruments() for place in places(evidence.installation, each.key)]
        self.steps: list[Step] = []
        self._dead = False
        self._forms: dict[tuple[Chosen, str, str], tuple[object, ...]] = {}

    def read(self, offer: Offer, *, first: bool = False) -> None:
        """Take a reading. It is a step if it is the first or excludes something, and then it has cost its minutes."""
        own = self._expected(self.cause, offer)
        kept = [c for c in self.left if apart(own, self._expected(c, offer), offer[0]) is None]
        steady = [c for c in kept if not _moves_more(own, self._expected(c, offer), offer[0])]
        if again := len(steady) < len(kept):
            kept = steady
        if first or len(kept) < len(self.left):
            minutes = self._minutes(offer) + again * instrument(offer[0]).minutes
            self.steps.append(Step(*offer, minutes, len(kept), again))
            self._dead |= instrument(offer[0]).bus == "dead"
        self.offers.remove(offer)
        self.left = kept

    def worth(self, offer: Offer) -> float:
        """How many single faults it is expected to exclude: equal expectations form a part, and one part stays."""
        parts = Counter(self._form(c, offer) for c in self.left)
        return len(self.left) - sum(count * count for count in parts.values()) / len(self.left)

    def best(self) -> Offer | None:
        """The next reading; None if none is expected to exclude anything more."""
        at_suspects = [o for o in self.offers if o[1] == NOWHERE or any(o[1].meets(c.place) for c in self.left)]
        for offers in (at_suspects, self.offers):
            for kind in sorted({_kind(key) for key, _ in offers}):
                able = [(self.worth(o) / self._minutes(o), o) for o in offers if _kind(o[0]) == kind]
                most, best = max(able, key=lambda pair: pair[0])
                if most > 1e-9:
                    return best
        return None

    def _expected(self, chosen: Chosen, offer: Offer) -> By_line:
        return self.evidence.expected(chosen, *spot(*offer))

    def _form(self, chosen: Chosen, offer: Offer) -> tuple[object, ...]:
        known = (chosen, *spot(*offer))
        if known not in self._forms:
            self._forms[known] = tuple(self._expected(chosen, offer).items())
        return self._forms[known]

    def _minutes(self, offer: Offer) -> float:
        what = instrument(offer[0])
        around = size("isolate_minutes") + size("restore_minutes") if what.bus == "dead" and not self._dead else 0.0
        return what.minutes + around


def _moves_more(own: By_line, other: By_line, instrument: str) -> bool:
    """True if a line changes as time passes, and shows then what it never shows with the other fault."""
    return any(
        expected.changes and not other[line].changes and expected.shows_more_than(other[line], instrument)
        for line, expected in own.items()
        if line in other
    )


def _kind(key: str) -> int:
    """From the desk and the fronts, to a look at the plug, to a meter at the live bus, to the dead bus."""
    what = instrument(key)
    if what.bus == "dead":
        return 3
    return 1 if key == _LOOK else 2 if what.place in ("plug", "section") else 0
