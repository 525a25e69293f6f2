"""What the words of a drive's process data mean to it: setpoints as %, and the signals that it can answer with."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import Protocol

from helpers.drive.parameters.parameter_store import Store
from helpers.drive.scaling import unscale, word_of
from helpers.line.station.machine import Machine
from helpers.line.station.supervision import FaultText, Supervision

ENERGY = 120  # parameter of the drive


class Drive(Protocol):
    """What a signal can tell of a drive: `helpers.line.station.drive` builds one, and imports this file."""

    @property
    def status(self) -> int:
        """The status word."""

    @property
    def speed_percent(self) -> float:
        """The shaft's speed in %."""

    @property
    def run_s(self) -> float:
        """Time under power in s."""

    @property
    def machine(self) -> Machine:
        """What it turns."""

    @property
    def supervision(self) -> Supervision:
        """What it watches."""

    @property
    def store(self) -> Store:
        """Its parameters."""

    @property
    def fault(self) -> FaultText | None:
        """What it has tripped for, or None."""


@lru_cache(maxsize=1 << 14)
def percent_of(word: int, form: str = "N2") -> float:
    """The value in % that a word carries.

    >>> percent_of(0x2000)
    50.0
    """
    return unscale(word, format=form).percent


def _speed(drive: Drive) -> int:
    return word_of(drive.speed_percent)


def _current(drive: Drive) -> int:
    return word_of(drive.machine.current_percent)


def _torque(drive: Drive) -> int:
    return word_of(100 * drive.machine.torque)


def _power(drive: Drive) -> int:
    machine = drive.machine
    return word_of(100 * machine.torque * machine.speed_rpm / machine.plate.rated_rpm)


# A word of any other signal stays 0. The smoothed values are the plain ones: this motor has no ripple to smooth.
ANSWERS: Mapping[str, Callable[[Drive], int]] = {
    "ZSW1": lambda drive: drive.status,
    "NIST_A": _speed,
    "NIST_A_GLATT": _speed,
    "NIST_B": lambda drive: word_of(drive.speed_percent, "N4"),
    "CURRENT": _current,
    "IAIST_GLATT": _current,
    "TORQUE": _torque,
    "MIST_GLATT": _torque,
    "POWER": _power,
    "PIST_GLATT": _power,
    "LINK_VOLTAGE": lambda drive: round(drive.supervision.link_v),
    "MOTOR_HEAT": lambda drive: round(drive.supervision.motor_percent),
    "FAULT_NUMBER": lambda drive: drive.fault.number if drive.fault else 0,
    "ENERGY": lambda drive: drive.store[ENERGY].values[0],
    "RUN_TIME": lambda drive: int(drive.run_s // 60),
}

SLOW = ("LINK_VOLTAGE", "MOTOR_HEAT", "RUN_TIME")  # these change while the motor runs evenly
