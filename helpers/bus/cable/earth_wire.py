"""What a wire to earth is worth: its resistance at mains frequency, its inductance at the frequencies of a drive."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, log, pi, sqrt

from helpers.bus.cable.coupling import copper_ohm
from helpers.errors import OutOfRange, in_range
from helpers.facts import one

_TAKEN = "values the workbook takes"
_LONGEST_M, _WIDEST_M = 1000.0, 1.0


@dataclass(frozen=True)
class Round:
    """A round copper wire: length in m, area in mm²."""

    length_m: float
    area_mm2: float

    def __post_init__(self) -> None:
        in_range("length of the wire", self.length_m, 1e-3, _LONGEST_M, "m", _TAKEN)
        in_range("area of the wire", self.area_mm2, 0.1, 1000, "mm²", _TAKEN)
        _long_enough(self.length_m, self.radius_m, "radius")

    @property
    def radius_m(self) -> float:
        """Radius in m of the solid wire of this area; a stranded one is a little thicker."""
        return sqrt(self.area_mm2 * 1e-6 / pi)

    @property
    def henry(self) -> float:
        """Inductance in H with the current on the surface: µ0/2π · length · (ln(2·length/radius) − 1).

        Validity: straight, alone, far longer than thick, above some 10 kHz, where the current keeps to the
        surface. Near other metal it is less, so it is an order of magnitude.
        Source: F. W. Grover, Inductance Calculations (1946), straight round wire; from memory.

        >>> round(Round(1.0, 16).henry * 1e6, 2)
        1.16
        """
        return _per_metre() * self.length_m * (log(2 * self.length_m / self.radius_m) - 1)


@dataclass(frozen=True)
class Flat:
    """A flat copper braid: length, width and thickness in m, taken as solid metal."""

    length_m: float
    width_m: float
    thickness_m: float

    def __post_init__(self) -> None:
        in_range("length of the braid", self.length_m, 1e-3, _LONGEST_M, "m", _TAKEN)
        in_range("width of the braid", self.width_m, 1e-4, _WIDEST_M, "m", _TAKEN)
        in_range("thickness of the braid", self.thickness_m, 1e-5, self.width_m, "m", "thinner than it is wide")
        _long_enough(self.length_m, self.width_m, "width")

    @property
    def area_mm2(self) -> float:
        """Area in mm²."""
        return self.width_m * self.thickness_m * 1e6

    @property
    def henry(self) -> float:
        """Inductance in H: µ0/2π · length · (ln(2·length/(width + thickness)) + 1/2).

        Validity: as for a round wire. Source: F. W. Grover, Inductance Calculations (1946), straight
        rectangular bar, its last term (a few per cent) left out; from memory.

        >>> round(Flat(1.0, 0.025, 0.002).henry * 1e6, 2)
        0.96
        """
        return _per_metre() * self.length_m * (log(2 * self.length_m / (self.width_m + self.thickness_m)) + 0.5)


def impedance_ohm(wire: Round | Flat, frequency_hz: float) -> float:
    """Impedance in Ω of a wire at a frequency in Hz: √(R² + (2π·f·L)²), R the resistance at direct current.

    That R grows with frequency is left out: where it does, the inductance is far greater.

    >>> wire = Round(0.3, 16)
    >>> f"{impedance_ohm(wire, 50):.2g} {impedance_ohm(wire, 10e6):.2g}"
    '0.00033 17'
    """
    in_range("frequency", frequency_hz, 0, 1e9, "Hz", _TAKEN)
    resistance = copper_ohm(length_m=wire.length_m, area_mm2=wire.area_mm2)
    return hypot(resistance, 2 * pi * frequency_hz * wire.henry)


def _per_metre() -> float:
    return one("conductors", quantity="magnetic constant").number("value") / (2 * pi)


def _long_enough(length_m: float, across_m: float, what: str) -> None:
    if length_m < 5 * across_m:
        raise OutOfRange(
            f"length is {length_m:g} m; allowed is {5 * across_m:.3g} m and more, five times the {what} "
            "(shorter, the formula of a long wire does not hold)."
        )
