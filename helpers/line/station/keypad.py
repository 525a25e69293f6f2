"""The front of the invented drive: lights, display, fault text and keys.

Lights, faults and keys are rows of `data/demo/device_lights.csv`, `device_faults.csv` and `device_keys.csv`. No real
drive has these; look into the manual of yours. A light is told by its pattern and a sign, never by a colour alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from helpers import facts
from helpers.drive.settings import changed, own_name, waiting
from helpers.drive.states import STATES
from helpers.errors import one_of
from helpers.line.station.drive import DriveApplication
from helpers.line.station.supervision import FaultText

BUS_STATES = ("no board", "no bus", "waiting for parameters", "waiting for configuration", "data exchange", "clear")


@dataclass(frozen=True)
class Light:
    """One light: its name, its pattern in words, a sign for it, what it means, what to look at first."""

    name: str
    pattern: str
    sign: str
    meaning: str
    look_first: str


@dataclass(frozen=True)
class Key:
    """One key: its short name, what is printed on it, what it does, and its hazards as `hazard.declared` reads them."""

    key: str
    name: str
    does: str
    hazards: str


@dataclass(frozen=True)
class Front:
    """Everything that can be seen on the front. `fault` is None without one; the display is dark without supply."""

    lights: tuple[Light, ...]
    display: tuple[str, ...]
    fault: FaultText | None


@cache
def lights(name: str) -> dict[str, Light]:
    """What a light can show, by the word for the case in which it does.

    >>> lights("Run")["pulses off"].pattern
    'dark'
    """
    one_of("light", name, {row["light"] for row in facts.rows("demo/device_lights")})
    return {
        row["when"]: Light(name, row["pattern"], row["sign"], row["meaning"], row["look_first"])
        for row in facts.where("demo/device_lights", light=name)
    }


@cache
def keys() -> tuple[Key, ...]:
    """The keys, in the order in which they sit on the front.

    >>> [key.name for key in keys()][:3]
    ['Start', 'Stop', 'Acknowledge']
    """
    return tuple(Key(row["key"], row["name"], row["does"], row["hazards"]) for row in facts.rows("demo/device_keys"))


def key(name: str) -> Key:
    """The key of this short name; `Unknown` with the list if there is none."""
    one_of("key", name, [known.key for known in keys()])
    return next(known for known in keys() if known.key == name)


def front(drive: DriveApplication, bus_state: str) -> Front:
    """What the front shows. Changes nothing.

    Parameters: drive; bus_state, one of `BUS_STATES`: how its bus board stands.
    """
    one_of("state of the bus board", bus_state, BUS_STATES)
    if not drive.powered:
        dark = ("no supply", "pulses off", "no board", "no fault")
        return Front(_shown(dark), (), None)
    return Front(_shown(("supply", _run(drive), bus_state, _fault(drive))), _display(drive), drive.fault)


def press(drive: DriveApplication, key: str) -> str:
    """Press a key; what it has done, in a sentence.

    >>> from helpers.drive.parameters.parameter_store import demo_store
    >>> from helpers.drive.settings import Settings
    >>> from helpers.line.station.machine import Machine, plate
    >>> press(DriveApplication(Settings(), None, demo_store(), Machine(plate("Dryer fan"))), "start")
    'The motor starts and makes for 0.0 %.'
    """
    one_of("key", key, [known.key for known in keys()])
    if not drive.powered:
        return "Nothing happens: the drive has no supply."
    if key == "start":
        return _start(drive)
    if key == "stop":
        turning = STATES[drive.state][1]
        drive.stop()
        return "The motor ramps down." if turning else "Nothing to stop: the motor is not driven."
    if key == "acknowledge":
        return _acknowledge(drive)
    if key in ("local", "remote"):
        source = "panel" if key == "local" else "bus"
        drive.settings = changed(changed(drive.settings, "setpoint_source", source), "run_source", source)
        return f"Run command and setpoint come from the {source} now."
    drive.at_panel(drive.panel_percent + (1 if key == "faster" else -1))
    return f"The setpoint of the panel is {drive.panel_percent:.1f} %."


def _start(drive: DriveApplication) -> str:
    if drive.start():
        return f"The motor starts and makes for {drive.setpoint_percent:.1f} %."
    if drive.fault:
        return f"It does not start: fault {drive.fault.number}, {drive.fault.name}."
    source = drive.settings.active.run_source
    if source != "panel":
        return f"It does not start: the run command comes from the {source}."
    return "The motor is driven already."


def _acknowledge(drive: DriveApplication) -> str:
    known = drive.fault
    if known is None:
        return "There is no fault to acknowledge."
    if drive.acknowledge():
        return f"Fault {known.number} is cleared."
    return f"Fault {known.number} stays: {known.name}. The cause is still there, or the motor is still braking."


def _shown(cases: tuple[str, str, str, str]) -> tuple[Light, ...]:
    return tuple(lights(name)[case] for name, case in zip(("Power", "Run", "Bus", "Fault"), cases, strict=True))


def _run(drive: DriveApplication) -> str:
    if not STATES[drive.state][1]:
        return "pulses off"
    return "at setpoint" if drive.at_setpoint else "under way"


def _fault(drive: DriveApplication) -> str:
    if drive.fault:
        return "cause present" if drive.cause_present else "fault"
    return "warning" if drive.supervision.warning else "no fault"


def _display(drive: DriveApplication) -> tuple[str, ...]:
    active = drive.settings.active
    lines = [f"F{drive.fault.number} {drive.fault.name}" if drive.fault else drive.state]
    lines.append(f"run: {active.run_source} · setpoint: {active.setpoint_source} {drive.setpoint_percent:.1f} %")
    lines.append(f"speed {drive.speed_percent:.1f} % · current {drive.machine.current_percent:.0f} %")
    lines.append(f"address {drive.settings.set.address} · {drive.settings.set.data_format}")
    lines += [f"{own_name(name)}: counts after power-up" for name in waiting(drive.settings)]
    return tuple(lines)
