"""The whole kit of instruments: where each can be used, and how to take a reading with one."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from helpers.line.instruments import at_the_cable, at_the_desk, at_the_device
from helpers.line.instruments.reading import Reading, instrument, instruments
from helpers.line.plant import place as places_of
from helpers.line.plant.installation import Installation
from helpers.line.plant.place import Place
from helpers.line.traffic.line import Line

NOWHERE = Place("")

_PLACES: Mapping[str, Callable[[Installation], tuple[Place, ...]]] = {
    "": lambda _: (NOWHERE,),
    "station": places_of.polled,
    "device": places_of.devices,
    "plug": places_of.plugs,
    "section": places_of.sections,
}

# These need no line that runs: what they read stands still.
_AT_REST: Mapping[str, Callable[[Installation, Place], Reading]] = {
    "project": at_the_desk.project,
    "settings": at_the_device.settings,
    "look": at_the_device.look,
    "volts": at_the_cable.volts,
    "ohms": at_the_cable.ohms,
    "continuity": at_the_cable.continuity,
    "scope": at_the_cable.scope,
    "tug": at_the_cable.tug,
}
_RUNNING: Mapping[str, Callable[[Line, Place], Reading]] = {
    "stations": lambda line, _: at_the_desk.stations(line),
    "diagnosis": at_the_desk.diagnosis,
    "recording": lambda line, _: at_the_desk.recording(line),
    "io sheet": at_the_desk.io_sheet,
    "controller": lambda line, _: at_the_desk.controller(line),
    "front": at_the_device.front,
}


def places(installation: Installation, key: str) -> tuple[Place, ...]:
    """Where an instrument can be used; one place without words for what has no place of its own."""
    return _PLACES[instrument(key).place](installation)


def take(line: Line, key: str, place: Place = NOWHERE) -> Reading:
    """Take a reading. Some take simulated time. `Unknown` for an instrument or a place that does not exist."""
    what = instrument(key)
    if what.place:
        places_of.check(place, places(line.installation, key), what.name)
    return _AT_REST[key](line.installation, place) if at_rest(key) else _RUNNING[key](line, place)


def at_rest(key: str) -> bool:
    """True for an instrument that needs no line that runs.

    >>> at_rest("ohms"), at_rest("stations")
    (True, False)
    """
    return key in _AT_REST


def read(installation: Installation, key: str, place: Place) -> Reading:
    """What an instrument says that needs no line that runs; raises as `take`."""
    what = instrument(key)
    places_of.check(place, places(installation, key), what.name)
    return _AT_REST[key](installation, place)


def every(line: Line) -> tuple[Reading, ...]:
    """Every reading there is, the quick ones of the desk first; simulated time passes."""
    return tuple(take(line, each.key, place) for each in instruments() for place in places(line.installation, each.key))
