"""Instruments at a device: its front, its settings, its plug and board as the eye sees them."""

from __future__ import annotations

from helpers.drive.settings import NAMES, own_name
from helpers.line.instruments.reading import Reading
from helpers.line.plant.installation import Installation
from helpers.line.plant.noise import shield_open
from helpers.line.plant.place import Place
from helpers.line.station.dp_slave import EXCHANGE, OFF
from helpers.line.station.drive import DriveApplication
from helpers.line.station.keypad import front as front_of
from helpers.line.traffic.line import Line


def bus_state(line: Line, name: str) -> str:
    """How the bus board of a station stands, in the words of `helpers.line.station.keypad.BUS_STATES`."""
    device, slave = line.installation.device(name), line.slaves[name]
    if not device.board_seated:
        return "no board"
    if slave.state == OFF or not line.hears_controller(name):
        return "no bus"
    return "clear" if slave.state == EXCHANGE and slave.clear else slave.state


def front(line: Line, place: Place) -> Reading:
    """The front of a station: lights, display, fault text; of other devices whether they have supply."""
    name = place.device
    application = line.applications.get(name)
    if isinstance(application, DriveApplication):
        seen = front_of(application, bus_state(line, name))
        lights = tuple((light.name, light.pattern) for light in seen.lights)
        turning = "turns" if abs(application.speed_percent) > 1 else "stands"
        fault = f"{seen.fault.number} {seen.fault.name}" if seen.fault else "none"
        return Reading("front", name, (*lights, ("motor", turning), ("fault", fault)))
    powered = line.installation.device(name).powered
    lines = [("supply light", "lit" if powered else "dark")]
    if application is not None:
        lines.append(("bus light", bus_state(line, name) if powered else "dark"))
    return Reading("front", name, tuple(lines))


def settings(installation: Installation, place: Place) -> Reading:
    """What is set in a station, and what is active where that differs."""
    name = place.device
    values = installation.device(name).settings
    if installation.device(name).kind != "drive":
        return Reading("settings", name, (("address", str(values.set.address)),))
    lines = []
    for setting in NAMES:
        chosen, active = getattr(values.set, setting), getattr(values.active, setting)
        lines.append((own_name(setting), str(chosen) if chosen == active else f"{chosen}, but active is {active}"))
    return Reading("settings", name, tuple(lines))


def look(installation: Installation, place: Place) -> Reading:
    """A plug and the board behind it, as the eye sees them with the cover open."""
    stretch = installation.stretches[place.segment]
    here = stretch.circuit.plugs[place.plug]
    own = int(stretch.laid.plugs[place.plug].own_supply)
    switched = len(here.terminators) - own
    board = installation.by_name.get(place.device)
    pieces = [n for n in (place.plug - 1, place.plug) if 0 <= n < len(stretch.circuit.sections)]
    shields = [shield_open(stretch.circuit.sections[n]) for n in pieces]
    kinds = sorted({stretch.circuit.sections[n].cable.name for n in pieces})
    seen = [
        ("terminators switched on", str(switched) if switched else "none"),
        (
            "terminator with its own supply",
            ("on" if here.terminators[-1].supply == "on" else "without supply") if own else "none",
        ),
        (
            "bus cable",
            "the cable that comes in sits on the outgoing side" if here.sides_exchanged else "sides as marked",
        ),
        ("stub", f"{here.stub_m:g} m" if here.stub_m else "none"),
        ("cores", "green and red exchanged" if here.swapped else "in their places"),
        ("shield", "not carried through on one side" if any(shields) else "carried through, clamped over a large area"),
        ("print on the cable", ", ".join(f"type {kind}" for kind in kinds)),
        ("beside a motor cable", "yes, in one bundle" if any(n in stretch.beside for n in pieces) else "no"),
    ]
    if board is not None and board.kind == "drive":
        seen.append(("bus board", "seated firmly" if board.board_seated else "not down in its socket"))
        seen.append(("earth wire of the board", "connected" if board.board_earthed else "not connected"))
    return Reading("look", place.words, tuple(seen))
