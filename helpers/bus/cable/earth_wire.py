"""What a wire to earth is worth: its resistance at mains frequency, its inductance at the frequencies of a drive."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import hypot, log, pi, sqrt

from helpers.answer import Answer, Row
from helpers.bus.cable.coupling import copper_ohm
from helpers.curves import Axis, Curve, Curves, Note, Points, Tone, decades
from helpers.errors import OutOfRange, in_range
from helpers.facts import one, where
from helpers.quantity import about, quantity
from helpers.safe_work import cautions

LOW_HZ, HIGH_HZ, _POINTS = 10.0, 100e6, 57
_SHOWN_HZ = (50.0, 10e3, 1e6, 10e6, 30e6)
_THICKNESS_M = 0.002


_RULES = ("option board", "single earth point", "contact", "flat braid", "building earth")

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


# -- what is said of it ----------------------------------------------------------------------------


def wire_answer(length_m: float, area_mm2: float, width_m: float, frequency_hz: float) -> Answer:
    """Impedance of a round wire and a flat braid of one length, from mains frequency to radio frequency."""
    wire = Round(length_m, area_mm2)
    braid = Flat(length_m, width_m, min(_THICKNESS_M, width_m))
    short = replace(wire, length_m=length_m / 2)
    alone = copper_ohm(length_m=length_m, area_mm2=area_mm2)
    names = (f"wire {quantity(area_mm2, 'mm²')}", f"braid {quantity(width_m * 1000, 'mm')} wide")
    wires: tuple[Round | Flat, ...] = (wire, braid, short)
    here, flat, half = (impedance_ohm(each, frequency_hz) for each in wires)
    return Answer(
        f"At {about(frequency_hz, 'Hz')} the wire has about {about(here, 'Ω')}, the flat braid {about(flat, 'Ω')}, and "
        f"half the length of the wire {about(half, 'Ω')}. An ohmmeter shows {about(alone, 'Ω')}.",
        because="At high frequency inductance decides. It grows a little faster than the length and falls with the "
        "width; mm² hardly count. So: short, wide, bare metal on bare metal. An order of magnitude: a straight "
        f"conductor, alone in air.{_too_long(length_m, frequency_hz)}",
        caution=cautions("earth wire"),
        pictures=[_over_frequency(wire, braid, names, frequency_hz, here, flat)],
        rows=[_frequency_row(names, f, wire, braid, short) for f in sorted({*_SHOWN_HZ, frequency_hz})],
        sources=["inductance of straight wires and bars: F. W. Grover, Inductance Calculations (1946), from memory",
                 one("conductors", quantity="copper resistivity").cited,
                 *(f"{row['rule']}: {row['about']} ({row.cited})" for rule in _RULES
                   for row in where("wiring_rules", rule=rule))],
    )  # fmt: skip


def _over_frequency(
    wire: Round, braid: Flat, names: tuple[str, str], frequency_hz: float, wire_ohm: float, braid_ohm: float
) -> Curves:
    hertz = [LOW_HZ * (HIGH_HZ / LOW_HZ) ** (n / (_POINTS - 1)) for n in range(_POINTS)]
    wires, braids = ([impedance_ohm(each, f) for f in hertz] for each in (wire, braid))
    low, high = min(*wires, *braids), max(*wires, *braids)
    here = f"{about(frequency_hz, 'Hz')}: {about(wire_ohm, 'Ω')}"
    return Curves(
        f"impedance against frequency of {quantity(wire.length_m, 'm')} of {names[0]} and of {names[1]}: "
        f"{about(wire_ohm, 'Ω')} and {about(braid_ohm, 'Ω')} at {about(frequency_hz, 'Hz')}",
        Axis("frequency", LOW_HZ, HIGH_HZ, log=True, ticks=decades(LOW_HZ, HIGH_HZ, lambda f: about(f, "Hz"))),
        Axis("impedance", low, high, log=True, ticks=decades(low, high, lambda ohm: about(ohm, "Ω"))),
        [Curve(hertz, wires, names[0]), Curve(hertz, braids, names[1], Tone.OTHER)],
        [Points([frequency_hz], [wire_ohm])],
        notes=[Note(frequency_hz, wire_ohm, here, "above left", bold=True)],
    )


def _too_long(length_m: float, frequency_hz: float) -> str:
    """A sentence where the wire is no longer short against the wavelength: a tenth of it is the usual limit."""
    wave_m = one("conductors", quantity="speed of light").number("value") / frequency_hz
    if length_m <= wave_m / 10:
        return ""
    return f" The wave is {about(wave_m, 'm')} long: a wire longer than a tenth of it is an aerial, not an earth."


def _frequency_row(names: tuple[str, str], frequency_hz: float, wire: Round, braid: Flat, short: Round) -> Row:
    return {
        "frequency": about(frequency_hz, "Hz"),
        names[0]: about(impedance_ohm(wire, frequency_hz), "Ω"),
        names[1]: about(impedance_ohm(braid, frequency_hz), "Ω"),
        f"{names[0]}, half as long": about(impedance_ohm(short, frequency_hz), "Ω"),
    }
