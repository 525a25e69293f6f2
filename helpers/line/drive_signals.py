"""What the words of a drive's process data mean to it: setpoints as %, and the signals that it can answer with."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import TYPE_CHECKING

from helpers.drive.scaling import unscale, word_of

if TYPE_CHECKING:
    from helpers.line.drive import DriveApplication

ENERGY = 120  # parameter of the drive


@lru_cache(maxsize=1 << 14)
def percent_of(word: int, form: str = "N2") -> float:
    """The value in % that a word carries.

    >>> percent_of(0x2000)
    50.0
    """
    return unscale(word, format=form).percent


def _speed(drive: DriveApplication) -> int:
    return word_of(drive.speed_percent)


def _current(drive: DriveApplication) -> int:
    return word_of(drive.machine.current_percent)


def _torque(drive: DriveApplication) -> int:
    return word_of(100 * drive.machine.torque)


def _power(drive: DriveApplication) -> int:
    machine = drive.machine
    return word_of(100 * machine.torque * machine.speed_rpm / machine.plate.rated_rpm)


# A word of any other signal stays 0. The smoothed values are the plain ones: this motor has no ripple to smooth.
ANSWERS: Mapping[str, Callable[[DriveApplication], int]] = {
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
