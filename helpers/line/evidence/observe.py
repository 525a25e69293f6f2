"""Every reading of one installation, as it is compared: some from the installation itself, some from a line that runs.

What runs hangs on the cable only by who hears whom. So two installations that are alike in all else, and in which each
telegram arrives or is lost for certain in the same way, run alike, and are run once.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from helpers.bus.circuit.elements import Break
from helpers.line.evidence.expected import Expected, exactly, over_time
from helpers.line.evidence.noted import Lines, noted
from helpers.line.instruments.catalogue import at_rest, places, read, take
from helpers.line.instruments.reading import instrument, instruments
from helpers.line.plant.installation import Flicker, Installation
from helpers.line.plant.place import Place
from helpers.line.times import size
from helpers.line.traffic.line import Line
from helpers.line.traffic.medium import Medium

Spot = tuple[str, str]  # instrument, and the words of the place
Observed = dict[Spot, dict[str, Expected]]

_SHORTEST_REQUEST = 3  # octets: the token


def spot(key: str, place: Place) -> Spot:
    """Where a reading of an instrument at a place stands: what a reading calls its place."""
    return key, place.device if instrument(key).place == "station" else place.words


def comes_and_goes(installation: Installation) -> bool:
    """True if something in it changes by itself as time passes."""
    loose = any(stretch.flickers for stretch in installation.stretches)
    return loose or any(device.supply_drops_s or device.fault_returns_s for device in installation.devices)


def observed(installation: Installation, planned: Installation) -> Observed:
    """What every instrument says everywhere; planned: the installation in which all is in order."""
    return {**_still(installation, planned), **_moving(installation, planned)}


def _still(installation: Installation, planned: Installation) -> Observed:
    keys = [each.key for each in instruments() if at_rest(each.key)]
    return {
        spot(key, place): {what: exactly(seen) for what, seen in noted(read(installation, key, place), planned)}
        for key in keys
        for place in places(installation, key)
    }


def _moving(installation: Installation, planned: Installation) -> Observed:
    hearing = _hearing(installation)
    if hearing is None:
        return _run(installation, planned)
    known = _known(planned)
    # What is laid and what is wrong with it matters no more once it is known who hears whom.
    bare = replace(installation, stretches=tuple(
        replace(stretch, noise_v=(), wrong=(), beside=frozenset(), laid=plan.laid, flickers=_times(stretch.flickers))
        for stretch, plan in zip(installation.stretches, planned.stretches, strict=True)
    ))  # fmt: skip
    key = (bare, hearing)
    if key not in known:
        known[key] = _run(installation, planned)
    return known[key]


@lru_cache(2)
def _known(planned: Installation) -> dict[tuple[object, ...], Observed]:
    """What has been run already of a plant, by what decides it."""
    return {}


def _times(flickers: tuple[Flicker, ...]) -> tuple[Flicker, ...]:
    """Only when they open: what opens is told by who hears whom then."""
    return tuple(Flicker(0, Break("A"), flicker.every_s, flicker.open_s) for flicker in flickers)


def _hearing(installation: Installation) -> tuple[object, ...] | None:
    """Who hears whom, with loose contacts closed and open; None if it is a matter of chance."""
    told: list[object] = []
    loose = frozenset(flicker for stretch in installation.stretches for flicker in stretch.flickers)
    for now_open in dict.fromkeys((frozenset[Flicker](), loose)):
        medium = Medium(installation, now_open)
        for master in (
            device
            for device in installation.devices
            if not device.is_station and device.kind != "repeater" and device.on_bus
        ):
            for device in installation.devices:
                if device.kind == "repeater" or device is master:
                    continue
                there = _way(medium, master.name, device.name, _SHORTEST_REQUEST)
                back = _way(medium, device.name, master.name, 1) if there else False
                if there is None or back is None:
                    return None
                told += (there, back)
    return tuple(told)


def _way(medium: Medium, sender: str, receiver: str, octets: int) -> bool | None:
    """True if all telegrams arrive, False if none does, not even a short one; None if it is a matter of chance."""
    if medium.clean(sender, receiver):
        return True
    return False if medium.hopeless(sender, receiver, octets) else None


def _run(installation: Installation, planned: Installation) -> Observed:
    """Readings at moments one after the other: two if nothing changes, else as many as it needs to see the changes."""
    line, steady = Line(installation), not comes_and_goes(installation)
    moments: list[tuple[tuple[Spot, Lines], ...]] = []
    most = size("moments")
    line.run(size("settle_s") if steady else size("first_look_s"))
    while len(moments) < most:
        moments.append(tuple(_moment(line, planned)))
        if steady and len(moments) == 2:
            if not any(line_of.changes for lines in _merged(moments).values() for line_of in lines.values()):
                break
            most = size("unsteady_moments")
    return _merged(moments)


def _merged(moments: list[tuple[tuple[Spot, Lines], ...]]) -> Observed:
    return {same[0][0]: over_time((lines for _, lines in same), same[0][0][0]) for same in zip(*moments, strict=True)}


def _moment(line: Line, planned: Installation) -> Iterator[tuple[Spot, Lines]]:
    for each in instruments():
        if not at_rest(each.key):
            for place in places(line.installation, each.key):
                yield spot(each.key, place), noted(take(line, each.key, place), planned)
