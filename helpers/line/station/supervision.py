"""What a drive watches over: its supply, its heatsink, its motor, and what it does when something is wrong.

    heatsink   θ' = (ambient + rise · I² / air − θ) / time constant         I as a part of the rated current
    motor      h' = (100 % · I² − h) / time constant
    DC link    √2 · supply                                                   textbook: a rectifier with a capacitor

The numbers are rows of `data/demo/drive_constants.csv`, the faults of `data/demo/device_faults.csv`; both invented.
Heating by a first-order lag is a textbook relation, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import sqrt

from helpers import facts
from helpers.bus.services.diag_blocks import Block, Message
from helpers.errors import one_of
from helpers.line.station.machine import Machine

_STATUS_TYPE, _FIRST_BIT = 161, 24  # of its own status block: how the drive's device description counts them


@dataclass(frozen=True)
class FaultText:
    """A fault of the invented drive: number, name, meaning, what to look at first, remedy, caution.

    `stop`: how the drive stops for it – coast, ramp or quick.
    """

    number: int
    key: str
    name: str
    meaning: str
    look_first: str
    remedy: str
    caution: str
    stop: str
    diagnosis_bit: int

    @property
    def block(self) -> Block:
        """Its block of the diagnosis: a status message of the drive's own type, one bit and the fault's number."""
        data = bytes((1 << self.diagnosis_bit - _FIRST_BIT, self.number))
        return Message("status", _STATUS_TYPE & 0x7F, slot=0, specifier=1, data=data).block


@cache
def faults() -> tuple[FaultText, ...]:
    """All faults that the drive knows, by number.

    >>> [fault.name for fault in faults()][:2]
    ['supply too low', 'motor does not turn']
    """
    return tuple(
        FaultText(
            row.whole("number"),
            row["key"],
            row["name"],
            _with_numbers(row["meaning"]),
            row["look_first"],
            _with_numbers(row["remedy"]),
            row["caution"],
            row["stop"],
            row.whole("diagnosis_bit"),
        )
        for row in facts.rows("demo/device_faults")
    )


def _with_numbers(text: str) -> str:
    """A text whose {names} are numbers of the drive."""
    return text.format_map({row["name"]: row["value"] for row in facts.rows("demo/drive_constants")})


@cache
def fault(key: str | int) -> FaultText:
    """The fault of this key or number.

    >>> fault(22).key, fault("heatsink").number
    ('heatsink', 22)
    """
    column = "number" if isinstance(key, int) else "key"
    one_of(f"{column} of a fault", key, [getattr(known, column) for known in faults()])
    return next(known for known in faults() if getattr(known, column) == key)


@cache
def constant(name: str) -> float:
    """A number of the invented drive, in the unit of its row in `data/demo/drive_constants.csv`."""
    return facts.one("demo/drive_constants", name=name).number("value")


class Supervision:
    """The drive's view of itself. What a fault of the plant changes is set from outside:

    mains_v: the supply [V]. air: how much of its air the heatsink gets, 0 to 1. phase_missing: one core to the motor
    carries nothing. release_open: something outside holds the drive. returns_s: the release opens for a moment so long
    after each acknowledgement [s]; 0 for never.
    """

    def __init__(self) -> None:
        self.mains_v = constant("mains_v")
        self.air = 1.0
        self.phase_missing = False
        self.release_open = False
        self.returns_s = 0.0
        self.heatsink_c = constant("ambient_c")
        self.motor_percent = 0.0
        self._quiet_s = self._stalled_s = self._pulses_s = self._waited_s = 0.0
        self._every_s = constant("supervision_s")

    @property
    def link_v(self) -> float:
        """Voltage of the DC link in V."""
        return sqrt(2) * self.mains_v

    @property
    def warning(self) -> bool:
        """True shortly before a trip by heat."""
        return self.heatsink_c >= constant("heatsink_warning_c") or self.motor_percent >= constant(
            "motor_warning_percent"
        )

    def acknowledged(self) -> None:
        """A fault was acknowledged: times begin anew."""
        self._quiet_s = self._stalled_s = self._pulses_s = 0.0

    def cause_present(self, key: str) -> bool:
        """True if the cause of a fault is still there. What shows only with pulses on counts as gone."""
        if key == "undervoltage":
            return self.mains_v < constant("undervoltage_gone_v")
        if key == "heatsink":
            return self.heatsink_c > constant("heatsink_gone_c")
        if key == "motor heat":
            return self.motor_percent > constant("motor_gone_percent")
        return key == "release missing" and self.release_open

    def found(self) -> str:
        """The key of a fault whose cause can be seen without pulses; empty if there is none."""
        if self.release_open:
            return "release missing"
        if self.mains_v < constant("undervoltage_v"):
            return "undervoltage"
        if self.heatsink_c >= constant("heatsink_trip_c"):
            return "heatsink"
        return "motor heat" if self.motor_percent >= constant("motor_trip_percent") else ""

    def due(self, dt_s: float) -> bool:
        """Let time pass; True every 0.1 s of simulated time: then it is time to `look`."""
        self._waited_s += dt_s
        return self._waited_s >= self._every_s

    def look(self, machine: Machine, pulses: bool, torque_limit: float) -> str:
        """Look at everything; the key of a fault that is found, or empty."""
        passed, self._waited_s = self._waited_s, 0.0
        self._warm(passed, machine.current_percent / 100)
        self._quiet_s += passed
        if self.returns_s and self._quiet_s >= self.returns_s:
            self._quiet_s = 0.0
            return "release missing"
        self._pulses_s = self._pulses_s + passed if pulses else 0.0
        if self.phase_missing and self._pulses_s >= constant("phase_s"):
            return "phase missing"
        standing = abs(machine.speed_rpm) < constant("stall_percent") / 100 * machine.plate.rated_rpm
        held = pulses and standing and abs(machine.torque) >= min(torque_limit, machine.plate.breakdown)
        self._stalled_s = self._stalled_s + passed if held else 0.0
        return "stalled" if self._stalled_s >= constant("stall_s") else self.found()

    def _warm(self, passed_s: float, current: float) -> None:
        # I² of an interval far shorter than both time constants: one straight step is exact enough
        heat = current * current
        air = max(self.air, constant("least_air"))
        goal_c = constant("ambient_c") + constant("heatsink_rise_k") * heat / air
        self.heatsink_c += (goal_c - self.heatsink_c) * passed_s / constant("heatsink_time_s")
        self.motor_percent += (100 * heat - self.motor_percent) * passed_s / constant("motor_time_s")
