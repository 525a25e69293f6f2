"""The machine behind a drive: what one motor speed is in each of its units, and so what 100 % is.

Everything that a setpoint is given in – %, rpm, Hz, m/s, m³/h – rises in step with the motor's speed. So one
reference speed gives the reference in every unit, and `helpers.drive.scaling.scale` does the rest. The machines of
the Saltmarsh Mill, an invented site, are rows of `data/demo/machines.csv`.

    motor speed, no load     n = 120 · f / poles
    behind the gearbox       n / i
    belt on a drum           v = π · d · n / (60 · i)
    screw                    v = p · n / (60 · i)
    fan                      flow ~ n, pressure ~ n², power ~ n³

Speeds in rpm, lengths in m, line speed in m/s. The speed of an induction motor under load is lower by its slip.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache

from helpers import facts, written
from helpers.drive.scaling import Scaled, form, scale, signed, unscale
from helpers.errors import OutOfRange, Unknown, Unreadable, in_range, one_of, quoted

KINDS = ("motor", "drum", "screw", "fan")

# The spellings of a unit, with the factor to the first of them.
_UNITS = {
    "%": ("%", 1.0),
    "rpm": ("rpm", 1.0),
    "1/min": ("rpm", 1.0),
    "hz": ("Hz", 1.0),
    "m/s": ("m/s", 1.0),
    "m/min": ("m/s", 1 / 60),
    "m³/h": ("m³/h", 1.0),
    "m3/h": ("m³/h", 1.0),
    "counts": ("counts", 1.0),
    "count": ("counts", 1.0),
}


@dataclass(frozen=True)
class Machine:
    """What a motor drives. size_m: diameter of a drum or pitch of a screw; the full values are a fan's."""

    name: str
    kind: str
    gear_ratio: float = 1.0
    size_m: float = 0.0
    full_rpm: float = 0.0
    full_flow_m3_h: float = 0.0
    meaning: str = ""

    @property
    def own_unit(self) -> str:
        """The unit in which the plant speaks of this machine."""
        return {"motor": "rpm", "drum": "m/s", "screw": "m/s", "fan": "m³/h"}[self.kind]

    @property
    def units(self) -> tuple[str, ...]:
        """The units besides % in which this machine's speed can be given.

        >>> machine("Dryer fan").units
        ('rpm', 'Hz', 'm³/h')
        """
        return tuple(dict.fromkeys(("rpm", "Hz", self.own_unit)))


MOTOR = Machine("motor alone", "motor", meaning="the motor shaft, without a machine")


@cache
def machines() -> tuple[Machine, ...]:
    """The machines of the Saltmarsh Mill.

    >>> [m.name for m in machines() if m.kind == "screw"]
    ['Discharge screw']
    """

    def read(row: facts.Fact, column: str) -> float:
        return row.number(column) if row.has(column) else 0.0

    return tuple(
        Machine(
            row["machine"],
            row["kind"],
            read(row, "gear_ratio"),
            read(row, "size_m"),
            read(row, "full_rpm"),
            read(row, "full_flow_m3_h"),
            row["meaning"],
        )
        for row in facts.rows("demo/machines")
    )


def machine(name: str) -> Machine:
    """The machine of this name; `MOTOR` for the motor alone."""
    known = {m.name.casefold(): m for m in (MOTOR, *machines())}
    if name.strip().casefold() not in known:
        raise Unknown(f"machine is {name!r}; known are {', '.join(m.name for m in known.values())}.")
    return known[name.strip().casefold()]


def speed_in(unit: str, at: Machine, *, motor_rpm: float, poles: int) -> float:
    """A motor speed in another unit of the machine.

    n_motor / i · π · d / 60 for a drum, n · p / 120 in Hz, and for a fan its full flow · n / n_full.

    Parameters: unit, one of `at.units`; at, the machine; motor_rpm, the motor's speed without slip in rpm; poles of
    the motor. Raises `Unknown` for a unit that the machine has not, `OutOfRange` for a fan that turns backwards.

    >>> speed_in("Hz", MOTOR, motor_rpm=1500, poles=4)
    50.0
    >>> round(speed_in("m/s", machine("Intake conveyor"), motor_rpm=1500, poles=4), 4)
    1.2566
    """
    one_of(f"unit for {at.name}", unit, at.units)
    if unit == "rpm":
        return float(motor_rpm)
    if unit == "Hz":
        return frequency(motor_rpm, poles=poles)
    if at.kind == "fan":
        if motor_rpm < 0:
            raise OutOfRange(
                f"motor speed is {motor_rpm:g} rpm; the law flow ~ speed holds for a fan that turns forwards."
            )
        return motor_rpm / at.full_rpm * at.full_flow_m3_h
    return line_speed(motor_rpm, travel(at.kind, size_m=at.size_m, gear_ratio=at.gear_ratio))


@dataclass(frozen=True)
class Setpoint:
    """A setpoint of a machine. `unit`: the one it was given in, or the machine's own; `references`: what 100 % is."""

    scaled: Scaled
    unit: str
    references: dict[str, float]

    @property
    def values(self) -> dict[str, float]:
        """What the word carries, in every unit of the machine and in %."""
        share = self.scaled.counts / form(self.scaled.format).full
        return {unit: share * reference for unit, reference in self.references.items()}


def setpoint(
    entered: tuple[float, str] | int,
    at: Machine,
    *,
    full_rpm: float,
    poles: int,
    format: str = "N2",
    rounding: str = "nearest",
) -> Setpoint:
    """The word for a value of a machine, or the value of a word.

    Parameters: entered, a number with its unit or a word, as from `value_or_word`; full_rpm, what the drive calls
    100 %, in rpm; poles of the motor; format and rounding as for `scale`. A fan that turns backwards has no flow.

    >>> f"{setpoint((0.8, 'm/s'), machine('Intake conveyor'), full_rpm=1500, poles=4).scaled.word:04X}"
    '28BE'
    """
    known = form(format)
    references = {u: speed_in(u, at, motor_rpm=full_rpm, poles=poles) for u in at.units} | {"%": 100.0}
    if isinstance(entered, tuple):
        value, unit = entered
        backwards = value < 0
        one_of(f"unit for {at.name}", unit, (*references, "counts"))
        if at.kind == "fan" and unit == at.own_unit and backwards:
            raise OutOfRange(f"flow is {value:g} {unit}; a fan turns forwards for it, so it is 0 or more.")
        reference = {**references, "counts": float(known.full)}[unit]
        scaled = scale(value, reference=reference, unit=unit, format=format, rounding=rounding)
    else:
        backwards = signed(entered, bits=known.bits) < 0
        unit = "rpm" if at.kind == "fan" and backwards else at.own_unit
        scaled = unscale(entered, reference=references[unit], unit=unit, format=format)
    if at.kind == "fan" and backwards:
        references.pop(at.own_unit)
    return Setpoint(scaled, unit, references)


def reference_speed(text: str, *, poles: int) -> float:
    """What a drive calls 100 %, in rpm, from a text such as `1500 rpm` or `50 Hz`.

    >>> reference_speed("50 Hz", poles=4)
    1500.0
    """
    number, unit = measured(text)
    one_of("unit of what the drive calls 100 %", unit, ("rpm", "Hz"))
    speed = synchronous_speed(number, poles=poles) if unit == "Hz" else number
    in_range("what the drive calls 100 %", speed, 1, 100_000, "rpm")
    return speed


def measured(text: str) -> tuple[float, str]:
    """A number and its unit: %, rpm, Hz, m/s, m/min, m³/h or counts. The unit has to be there.

    >>> measured("0,8 m/s"), measured("48 m/min"), measured("1200rpm")
    ((0.8, 'm/s'), (0.8, 'm/s'), (1200.0, 'rpm'))
    """
    typed = text.strip()
    found = re.fullmatch(r"([+\-−]?[\d.,]+)\s*(\S.*)?", typed)
    if not found or (found[2] or "").strip().lower() not in _UNITS:
        shown = quoted(typed)
        raise Unreadable(
            f"{shown} is not a number with a unit; write for example 60 %, 900 rpm, 30 Hz, 0.8 m/s or 9830 counts."
        )
    unit, factor = _UNITS[found[2].strip().lower()]
    return float(f"{written.number(found[1].replace('−', '-')) * factor:.15g}"), unit


def value_or_word(text: str, bits: Callable[[str], int] = written.whole) -> tuple[float, str] | int:
    """What was typed: a number with its unit, or a word (`16#2666`, `0x2666`, `2666h`, `2#…`).

    >>> value_or_word("16#2666"), value_or_word("60 %")
    (9830, (60.0, '%'))
    """
    typed = text.strip().lower()
    if typed.startswith(("16#", "0x", "2#", "0b")) or re.fullmatch(r"[0-9a-f][0-9a-f\s_]*h", typed):
        return bits(text)
    return measured(text)


# -- from the motor to what it moves ------------------------------------------------------------------


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
    one_of("kind of machine", kind, ("drum", "screw"))
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
