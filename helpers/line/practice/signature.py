"""The signature of a fault: what each instrument may say at each place if this fault alone is in the line.

It is found by running it: once for each of its sizes, and over some time for the instruments whose reading moves. The
work is cut into four parts by what it costs, so that a question about one reading does not pay for the others.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cache, lru_cache

from helpers.line.faults.fault import Chosen
from helpers.line.instruments.catalogue import places, take
from helpers.line.instruments.reading import Reading, instruments
from helpers.line.plant.installation import Installation
from helpers.line.plant.place import Place
from helpers.line.practice.expected import Expected, exactly, merged, over_time
from helpers.line.practice.times import size
from helpers.line.traffic.line import Line

EYE, METER, SCOPE, RUNNING = PARTS = ("eye", "meter", "scope", "running")
_METERS = ("volts", "ohms")
# The sizes that a case may have: the seeds of `Fault.put`.
VARIANTS = (1, 2, 3)

Spot = tuple[str, str]  # instrument, and the words of the place
Part = dict[Spot, dict[str, Expected]]


@cache
def part_of(key: str) -> str:
    """The part of the work to which an instrument belongs.

    >>> part_of("ohms"), part_of("stations"), part_of("look")
    ('meter', 'running', 'eye')
    """
    if key in _METERS:
        return METER
    if key == "scope":
        return SCOPE
    return RUNNING if next(each for each in instruments() if each.key == key).moves else EYE


def spot(key: str, place: Place) -> Spot:
    """Where a reading of an instrument at a place stands: what a reading calls its place."""
    is_station = next(each for each in instruments() if each.key == key).place == "station"
    return key, place.device if is_station else place.words


def variants(installation: Installation, chosen: Chosen) -> tuple[Installation, ...]:
    """The installation with a fault in each of its sizes; those that come out the same only once."""
    found: list[Installation] = []
    for seed in VARIANTS:
        made = chosen._replace(seed=seed).put(installation)
        if made not in found:
            found.append(made)
    return tuple(found)


def comes_and_goes(installation: Installation) -> bool:
    """True if something in it changes by itself as time passes."""
    loose = any(stretch.flickers for stretch in installation.stretches)
    return loose or any(device.supply_drops_s or device.fault_returns_s for device in installation.devices)


def signature(several: tuple[Installation, ...], part: str) -> Part:
    """One part of the signature of a fault, given as the installations that its sizes make."""
    return of_all_sizes([of_one_size(each, part) for each in several])


def of_one_size(installation: Installation, part: str) -> Part:
    """One part of the signature of a fault of one size, given as the installation that it makes."""
    return _over_time(installation, part) if part == RUNNING else _at_once(installation, part)


def of_all_sizes(found: Sequence[Part]) -> Part:
    """What may be read if any of these sizes is the case."""
    return {at: merged([one.get(at, {}) for one in found]) for at in found[0]}


def _at_once(installation: Installation, part: str) -> Part:
    line = _line(installation)
    return {
        (reading.instrument, reading.place): {what: exactly(seen) for what, seen in reading.lines}
        for reading in _readings(line, part)
    }


@lru_cache(4)
def _line(installation: Installation) -> Line:
    return Line(installation)


def _over_time(installation: Installation, part: str) -> Part:
    """Readings at moments one after the other: two if nothing changes, else as many as it needs to see the changes."""
    line = Line(installation)
    most, moments = size("moments"), []
    if comes_and_goes(installation):
        line.run(size("first_look_s"))
    else:
        line.run(size("settle_s"))
        moments = [tuple(_readings(line, part)), tuple(_readings(line, part))]
        if not _changes(moments):
            return _merged(moments)
        most = size("unsteady_moments")
    while len(moments) < most:
        moments.append(tuple(_readings(line, part)))
    return _merged(moments)


def _merged(moments: list[tuple[Reading, ...]]) -> Part:
    return {(same[0].instrument, same[0].place): over_time(same) for same in zip(*moments, strict=True)}


def _changes(moments: list[tuple[Reading, ...]]) -> bool:
    return any(line.changes for lines in _merged(moments).values() for line in lines.values())


def _readings(line: Line, part: str) -> Iterator[Reading]:
    for each in instruments():
        if part_of(each.key) == part:
            for place in places(line.installation, each.key):
                yield take(line, each.key, place)


def differing(mine: Mapping[Spot, Mapping[str, Expected]], healthy: Mapping[Spot, Mapping[str, Expected]]) -> Part:
    """Only what is not as in the healthy installation."""
    return {at: dict(lines) for at, lines in mine.items() if lines != healthy.get(at)}
