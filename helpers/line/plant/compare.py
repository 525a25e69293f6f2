"""Whether an installation is as it should be: it is held against another one, part by part.

Only what matters to the plant is compared. Noise follows from cable, shield and earth, so it is left out; a parameter
task that the program takes back after its answer does no harm, so it counts as none.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields, replace
from math import isclose

from helpers.bus.circuit.elements import Section
from helpers.line.plant.installation import Configured, Device, Installation, Project, Stretch
from helpers.line.plant.place import sections

_DEVICE = {
    "ident": "ident number",
    "rates": "bit rates that it can do",
    "tsdr_bits": "time to answer",
    "powered": "supply",
    "board_seated": "seat of the bus board",
    "supply_drops_s": "supply that drops",
    "fault_returns_s": "fault that comes back",
    "cause_present": "cause of a fault",
    "board_earthed": "earth wire of the bus board",
    "user_octets": "parameters that it takes",
    "address_over_bus": "address over the bus",
}
_PROJECT = {"address": "address", "ident": "ident number", "data_format": "format", "watchdog_s": "watchdog",
            "user": "parameter octets", "program": "program"}  # fmt: skip


def healthy(installation: Installation, reference: Installation) -> bool:
    """True if all that matters is as in the reference, the installation in which everything is right.

    >>> from helpers.line.plant.build import installation_of
    >>> from helpers.plan.read import read_plan
    >>> from helpers.facts import DATA
    >>> mill = installation_of(read_plan(DATA / "demo/saltmarsh-mill").networks[0])
    >>> healthy(mill, mill), healthy(mill.with_device("Cooling fan", board_seated=False), mill)
    (True, False)
    """
    return next(_differences(installation, reference), None) is None


def differences(installation: Installation, reference: Installation) -> tuple[str, ...]:
    """What differs from the reference, each in a few words: place, and what there is different.

    >>> from helpers.line.plant.build import installation_of
    >>> from helpers.plan.read import read_plan
    >>> from helpers.facts import DATA
    >>> mill = installation_of(read_plan(DATA / "demo/saltmarsh-mill").networks[0])
    >>> differences(mill.with_device("Cooling fan", board_seated=False), mill)
    ('Cooling fan: seat of the bus board',)
    """
    return tuple(_differences(installation, reference))


def _differences(now: Installation, right: Installation) -> Iterator[str]:
    if now is right:
        return
    if now.bit_rate != right.bit_rate:
        yield "controller: bit rate"
    if now.running != right.running:
        yield "controller: switch of its program"
    for segment, (here, there) in enumerate(zip(now.stretches, right.stretches, strict=True)):
        if here is not there:
            yield from _in_stretch(here, there, [p.words for p in sections(right) if p.segment == segment])
    for device, planned in zip(now.devices, right.devices, strict=True):
        if device is not planned:
            yield from _in_device(device, planned)
    yield from _in_project(now.loaded, right.loaded, "loaded")
    yield from _in_project(now.edited, right.edited, "in the engineering computer")
    if not isclose(now.delay_bits, right.delay_bits, rel_tol=1e-9, abs_tol=1e-6):
        yield "cable: time that a signal needs"


def _in_stretch(now: Stretch, right: Stretch, words: list[str]) -> Iterator[str]:
    taps = zip(now.circuit.plugs, right.circuit.plugs, strict=True)
    for plug, (here, there) in enumerate(taps):
        if here != there or now.laid.plugs[plug] != right.laid.plugs[plug]:
            yield f"segment {now.name}, plug {plug + 1} ({now.devices[plug] or 'no device'})"
    for number, (piece, planned) in enumerate(zip(now.circuit.sections, right.circuit.sections, strict=True)):
        loose = {flicker for flicker in now.flickers if flicker.section == number}
        was_loose = {flicker for flicker in right.flickers if flicker.section == number}
        if _sorted(piece) != _sorted(planned) or loose != was_loose:
            yield f"cable {words[number]}"
        if (number in now.beside) != (number in right.beside):
            yield f"way of the cable {words[number]}"


def _sorted(piece: Section) -> Section:
    """The piece with its faults in one order, whichever came first."""
    return replace(piece, faults=tuple(sorted(piece.faults, key=repr)))


def _in_device(now: Device, right: Device) -> Iterator[str]:
    for values in ("set", "active"):
        here, there = getattr(now.settings, values), getattr(right.settings, values)
        for field in fields(here):
            if getattr(here, field.name) != getattr(there, field.name):
                yield f"{now.name}: {field.name.replace('_', ' ')} that is {values}"
    for name, text in _DEVICE.items():
        if getattr(now, name) != getattr(right, name):
            yield f"{now.name}: {text}"


def _in_project(now: Project, right: Project, where: str) -> Iterator[str]:
    if now is right:
        return
    if now.cycle_s != right.cycle_s:
        yield f"controller: time of its program, {where}"
    if (now.address, now.retries) != (right.address, right.retries):
        yield f"controller: address or retries, {where}"
    for station, planned in zip(now.stations, right.stations, strict=True):
        here, there = _calm(station), _calm(planned)
        for name, text in _PROJECT.items():
            if getattr(here, name) != getattr(there, name):
                yield f"{station.name}: {text}, {where}"


def _calm(station: Configured) -> Configured:
    """The station without a parameter task that the program takes back by itself."""
    program = station.program
    if program is None or program.task is None or not program.cleared:
        return station
    return replace(station, program=replace(program, task=None))
