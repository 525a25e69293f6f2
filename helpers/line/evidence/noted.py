"""A reading as it is compared: line by line, numbers in their base unit, and what can have any value by its class.

An address can be one of a hundred; what matters is whether it is the station's own, another station's, 126 or free.
So it is with formats, ident numbers and parameters: the station's own, or another one. A row of the station table
holds several things; each of them is a line of its own here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import NamedTuple

from helpers.drive.settings import SettingValues, own_name
from helpers.facts import one
from helpers.line.instruments.reading import Reading
from helpers.line.plant.installation import Installation

ANOTHER, FREE = "another one", "a free one"
_ADDRESSES = {("settings", own_name("address")), ("settings", "address"), ("project", "address")}
_OWN = {("settings", own_name("data_format")), ("project", "data format"), ("project", "ident number"),
        ("project", "parameter bytes"), ("diagnosis", "ident")}  # fmt: skip
_NOBODY = "16#0000"  # ident number in what the controller itself says of a station that is lost
_ACTIVE = ", but active is "
_STRANGERS = "stations that the project does not have"
# Shares of telegrams as a person notes them: neighbours in this row are not told apart.
SCALE = ("none", "a few", "some", "many")
_NUMBER = re.compile(r"([-−]?\d+(?:\.\d+)?) (µ|m|k|M)?(V|Ω|%|m|s)")
_TIMES = {"µ": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6, None: 1.0}
_KINDS = {"Ω": "resistance", "V": "voltage", "%": "speed"}

Lines = tuple[tuple[str, str], ...]


class Tolerance(NamedTuple):
    """Two numbers nearer than `step` and this share of them tell nothing apart."""

    share: float
    step: float

    def around(self, value: float) -> float:
        """How far from a number another one may be."""
        return self.step + abs(value) * self.share


@lru_cache(64)
def tolerance(instrument: str, unit: str, *, as_built: bool) -> Tolerance:
    """What two readings of an instrument may differ by and tell nothing, from `data/reading_tolerance.csv`.

    as_built: by plant and meter, for a plant that is not quite as the plan says; else by the meter alone.

    >>> tolerance("ohms", "Ω", as_built=True)
    Tolerance(share=0.05, step=1.0)
    """
    kind = "signal" if (instrument, unit) == ("scope", "V") else _KINDS.get(unit, "other")
    row = one("reading_tolerance", kind=kind, cause="plant" if as_built else "meter")
    return Tolerance(row.number("share"), row.number("step"))


@lru_cache(65536)
def number(seen: str) -> tuple[float, str] | None:
    """The number in what was seen, and its unit; None for words.

    >>> number("15.3 kΩ"), number("−1.10 V"), number("open")
    ((15300.0, 'Ω'), (-1.1, 'V'), None)
    """
    found = _NUMBER.fullmatch(seen)
    if found is None:
        return None
    return float(f"{float(found[1].replace('−', '-')) * _TIMES[found[2]]:.6g}"), found[3]


def noted(reading: Reading, planned: Installation) -> Lines:
    """The lines of a reading as they are compared; planned: the installation in which all is in order."""
    return tuple(_noted(reading, planned))


def _noted(reading: Reading, planned: Installation) -> Iterator[tuple[str, str]]:
    for what, seen in reading.lines:
        key = (reading.instrument, what)
        if reading.instrument == "stations":
            yield from _station(what, seen, planned)
        elif key in _ADDRESSES:
            yield what, _ACTIVE.join(_address(part, reading.place, planned) for part in seen.split(_ACTIVE))
        elif key in _OWN:
            own = _own(reading.place, planned)
            yield what, _ACTIVE.join(part if part in own else ANOTHER for part in seen.split(_ACTIVE))
        else:
            yield what, seen


def _station(what: str, seen: str, planned: Installation) -> Iterator[tuple[str, str]]:
    if what == _STRANGERS:
        classes = {_address(part, "", planned) for part in seen.split(", ")} if seen != "none" else {"none"}
        yield what, ", ".join(sorted(classes))
        return
    name = what.rpartition(" (")[0]
    does, repeats, lost, *damaged = seen.split(", ")
    yield name, does
    yield f"{name}, repeats", repeats.removeprefix("repeats ")
    yield f"{name}, lost", lost.removeprefix("lost ")
    yield f"{name}, answers", "damaged" if damaged else "whole or none"


def _address(text: str, name: str, planned: Installation) -> str:
    """The class of an address: own, of another device, as delivered, free."""
    owners = {str(device.address): device.name for device in planned.devices if device.kind != "repeater"}
    owner = owners.get(text)
    if owner is None:
        return text if text == str(SettingValues().address) else FREE
    return text if owner == name else f"that of {owner}"


@lru_cache(1024)
def _own(name: str, planned: Installation) -> frozenset[str]:
    station = planned.edited.station(name) if any(s.name == name for s in planned.edited.stations) else None
    own = {planned.device(name).settings.active.data_format, f"16#{planned.device(name).ident:04X}", _NOBODY}
    if station:
        own |= {station.data_format, f"16#{station.ident:04X}", station.user.hex(" ").upper() or "none of its own"}
    return frozenset(own)
