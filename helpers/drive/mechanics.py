"""From the motor to the machine: frequency, speed, gearbox, drum, screw and fan.

    motor speed, no load     n = 120 · f / poles
    behind the gearbox       n / i
    belt on a drum           v = π · d · n / (60 · i)
    screw                    v = p · n / (60 · i)
    fan                      flow ~ n, pressure ~ n², power ~ n³

Speeds in rpm, lengths in m, line speed in m/s. The speed of an induction motor under load is lower by its slip.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from helpers.errors import in_range, one_of

KINDS = ("drum", "screw")


@dataclass(frozen=True)
class Travel:
    """What moves behind the gearbox: gear ratio, and the way of belt or grain per turn of the output shaft in m."""

    gear_ratio: float
    per_turn_m: float


def travel(kind: str, *, size_m: float, gear_ratio: float) -> Travel:
    """A drum (size: its diameter in m) or a screw (size: its pitch in m) behind a gearbox of ratio i : 1.

    >>> round(travel("drum", size_m=0.4, gear_ratio=25).per_turn_m, 4)
    1.2566
    """
    one_of("kind of machine", kind, KINDS)
    in_range("diameter" if kind == "drum" else "pitch", size_m, 1e-3, 100, "m")
    in_range("gear ratio", gear_ratio, 1e-3, 1e5)
    return Travel(gear_ratio, math.pi * size_m if kind == "drum" else size_m)


def line_speed(motor_rpm: float, machine: Travel) -> float:
    """The speed of belt or grain in m/s at a motor speed in rpm; the sign is the direction.

    >>> round(line_speed(1450, travel("drum", size_m=0.4, gear_ratio=25)), 3)
    1.215
    """
    return motor_rpm / machine.gear_ratio * machine.per_turn_m / 60


def motor_speed(line_speed_m_s: float, machine: Travel) -> float:
    """The motor speed in rpm for a speed of belt or grain in m/s.

    >>> round(motor_speed(1.0, travel("drum", size_m=0.4, gear_ratio=25)), 1)
    1193.7
    """
    return line_speed_m_s * 60 / machine.per_turn_m * machine.gear_ratio


def synchronous_speed(frequency_hz: float, *, poles: int) -> float:
    """The speed in rpm of the motor's field: 120 · f / poles (Mitsubishi 700 series manual p.250).

    >>> synchronous_speed(50, poles=4)
    1500.0
    """
    _even_poles(poles)
    return 120 * frequency_hz / poles


def frequency(speed_rpm: float, *, poles: int) -> float:
    """The frequency in Hz of a field that turns at a speed in rpm.

    >>> frequency(1500, poles=4)
    50.0
    """
    _even_poles(poles)
    return speed_rpm * poles / 120


@dataclass(frozen=True)
class FanPoint:
    """What a fan does at a part of its full speed: flow, pressure and power, each as a part of its full value."""

    flow: float
    pressure: float
    power: float


def fan(speed: float) -> FanPoint:
    """The similarity laws of a fan in one unchanged duct; speed as a part of full speed, 0 to 2.

    >>> fan(0.5)
    FanPoint(flow=0.5, pressure=0.25, power=0.125)
    """
    in_range("speed as a part of full speed", speed, 0, 2)
    return FanPoint(speed, speed**2, speed**3)


def _even_poles(poles: int) -> None:
    one_of("number of poles", poles, range(2, 50, 2))
