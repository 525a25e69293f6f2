"""Places of an installation, named as people name them: a plug, a piece of cable, a segment, a device."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from helpers.errors import Unknown, one_of
from helpers.line.plant.installation import Installation


@dataclass(frozen=True)
class Place:
    """Where something is. `words` are for people; the numbers count from 0 and are -1 where they don't apply.

    device: the device at the plug, or the place itself; section n of a segment follows its plug n.
    """

    words: str
    device: str = ""
    segment: int = -1
    plug: int = -1
    section: int = -1

    def meets(self, other: Place) -> bool:
        """True if the two are one spot: the same plug or piece of cable, a device and its plug, a segment with all.

        >>> Place("plug of Fan", "Fan", 0, 3).meets(Place("Fan", "Fan"))
        True
        """
        if self.plug >= 0 and other.plug >= 0:
            return (self.segment, self.plug) == (other.segment, other.plug)
        if self.section >= 0 and other.section >= 0:
            return (self.segment, self.section) == (other.segment, other.section)
        if self.device and other.device:
            return self.device == other.device
        return self.segment == other.segment >= 0


def plugs(installation: Installation) -> tuple[Place, ...]:
    """Every plug.

    >>> from helpers.line.plant.build import installation_of
    >>> from helpers.plan.read import read_plan
    >>> from helpers.facts import DATA
    >>> mill = installation_of(read_plan(DATA / "demo/saltmarsh-mill").networks[0])
    >>> plugs(mill)[5].words, sections(mill)[5].words
    ('plug of Cooling fan', 'between Cooling fan and Dust filter fan')
    """
    return tuple(_plugs(installation))


def _plugs(installation: Installation) -> Iterator[Place]:
    for segment, stretch in enumerate(installation.stretches):
        for plug, device in enumerate(stretch.devices):
            words = f"plug of {device}" if device else f"{_end(stretch.devices, plug)} of segment {stretch.name}"
            if device and len(tuple(installation.places(device))) > 1:
                words += f" in segment {stretch.name}"
            yield Place(words, device, segment, plug)


def ends(installation: Installation) -> tuple[Place, ...]:
    """The first and the last plug of each segment."""
    return tuple(place for place in plugs(installation) if is_end(installation, place))


def is_end(installation: Installation, place: Place) -> bool:
    """True for the first and the last plug of a segment."""
    return place.plug in (0, len(installation.stretches[place.segment].devices) - 1)


def sections(installation: Installation) -> tuple[Place, ...]:
    """Every piece of cable between two plugs."""
    found = []
    for segment, stretch in enumerate(installation.stretches):
        names = [device or _end(stretch.devices, plug) for plug, device in enumerate(stretch.devices)]
        for section in range(len(stretch.circuit.sections)):
            found.append(Place(f"between {names[section]} and {names[section + 1]}", "", segment, section=section))
    return tuple(found)


def segments(installation: Installation) -> tuple[Place, ...]:
    """Every segment."""
    return tuple(Place(f"segment {s.name}", "", n) for n, s in enumerate(installation.stretches))


def devices(installation: Installation, *kinds: str) -> tuple[Place, ...]:
    """The devices of these kinds; all of them if none is named."""
    return tuple(Place(d.name, d.name) for d in installation.devices if not kinds or d.kind in kinds)


def stations(installation: Installation) -> tuple[Place, ...]:
    """The devices that the controller polls."""
    return tuple(Place(device.name, device.name) for device in installation.stations)


def addressed_over_bus(installation: Installation) -> tuple[Place, ...]:
    """The drives whose description says that they take an address over the bus.

    >>> from helpers.line.plant.build import installation_of
    >>> from helpers.facts import DATA
    >>> from helpers.plan.read import read_plan
    >>> mill = installation_of(read_plan(DATA / "demo/saltmarsh-mill").networks[0])
    >>> [place.words for place in addressed_over_bus(mill)]
    ['Dust filter valve']
    """
    return tuple(p for p in devices(installation, "drive") if installation.device(p.device).address_over_bus)


def polled(installation: Installation) -> tuple[Place, ...]:
    """The stations as the engineering computer lists them."""
    return tuple(Place(f"{s.name} in the project", s.name) for s in installation.edited.stations)


def driven(installation: Installation) -> tuple[Place, ...]:
    """The drives for which the controller has a program."""
    return tuple(Place(f"program for {s.name}", s.name) for s in installation.edited.stations if s.program is not None)


def controller(installation: Installation) -> tuple[Place, ...]:
    """The controller alone."""
    return (Place(installation.controller.name, installation.controller.name),)


def find(words: str, among: tuple[Place, ...]) -> Place:
    """The place of these words; `Unknown` with the list if there is none."""
    one_of("place", words, [place.words for place in among])
    return next(place for place in among if place.words == words)


def check(place: Place, among: tuple[Place, ...], what: str) -> None:
    """Raise `Unknown` unless a place is one of those."""
    if place not in among:
        known = ", ".join(p.words for p in among) or "none here"
        raise Unknown(f"{what} can't be at {place.words!r}; places for it are: {known}.")


def _end(names: tuple[str, ...], plug: int) -> str:
    if plug == 0:
        return "left end"
    return "right end" if plug == len(names) - 1 else f"plug {plug + 1}"
