"""A panel for a wire to earth: good at mains frequency is not good at the frequencies of a drive."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from helpers import facts
from helpers.answer import Answer, Row
from helpers.bus.cable.bonding import conductor_areas
from helpers.bus.cable.coupling import copper_ohm
from helpers.bus.cable.earth_wire import Flat, Round, impedance_ohm
from helpers.curves import Axis, Curve, Curves, Note, Points, Tone, decades
from helpers.errors import in_range
from helpers.panels.kit import fields
from helpers.panels.kit.panel import Panel
from helpers.quantity import about, quantity
from helpers.safe_work import cautions
from helpers.written import read_quantity

_LOW_HZ, _HIGH_HZ, _POINTS = 10.0, 100e6, 57
_SHOWN_HZ = (50.0, 10e3, 1e6, 10e6, 30e6)
_THICKNESS_M = 0.002


def wire_view(length_m: float, area_mm2: float, width_m: float, frequency_hz: float) -> Answer:
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
        rows=[_row(names, f, wire, braid, short) for f in sorted({*_SHOWN_HZ, frequency_hz})],
        sources=["inductance of straight wires and bars: F. W. Grover, Inductance Calculations (1946), from memory",
                 facts.one("conductors", quantity="copper resistivity").cited,
                 *(f"{row['rule']}: {row['about']} ({row.cited})" for rule in _RULES
                   for row in facts.where("wiring_rules", rule=rule))],
    )  # fmt: skip


def _over_frequency(
    wire: Round, braid: Flat, names: tuple[str, str], frequency_hz: float, wire_ohm: float, braid_ohm: float
) -> Curves:
    hertz = [_LOW_HZ * (_HIGH_HZ / _LOW_HZ) ** (n / (_POINTS - 1)) for n in range(_POINTS)]
    wires, braids = ([impedance_ohm(each, f) for f in hertz] for each in (wire, braid))
    low, high = min(*wires, *braids), max(*wires, *braids)
    here = f"{about(frequency_hz, 'Hz')}: {about(wire_ohm, 'Ω')}"
    return Curves(
        f"impedance against frequency of {quantity(wire.length_m, 'm')} of {names[0]} and of {names[1]}: "
        f"{about(wire_ohm, 'Ω')} and {about(braid_ohm, 'Ω')} at {about(frequency_hz, 'Hz')}",
        Axis("frequency", _LOW_HZ, _HIGH_HZ, log=True, ticks=decades(_LOW_HZ, _HIGH_HZ, lambda f: about(f, "Hz"))),
        Axis("impedance", low, high, log=True, ticks=decades(low, high, lambda ohm: about(ohm, "Ω"))),
        [Curve(hertz, wires, names[0]), Curve(hertz, braids, names[1], Tone.OTHER)],
        [Points([frequency_hz], [wire_ohm])],
        notes=[Note(frequency_hz, wire_ohm, here, "above left", bold=True)],
    )


def _too_long(length_m: float, frequency_hz: float) -> str:
    """A sentence where the wire is no longer short against the wavelength: a tenth of it is the usual limit."""
    wave_m = facts.one("conductors", quantity="speed of light").number("value") / frequency_hz
    if length_m <= wave_m / 10:
        return ""
    return f" The wave is {about(wave_m, 'm')} long: a wire longer than a tenth of it is an aerial, not an earth."


_RULES = ("option board", "single earth point", "contact", "flat braid", "building earth")


def _row(names: tuple[str, str], frequency_hz: float, wire: Round, braid: Flat, short: Round) -> Row:
    return {
        "frequency": about(frequency_hz, "Hz"),
        names[0]: about(impedance_ohm(wire, frequency_hz), "Ω"),
        names[1]: about(impedance_ohm(braid, frequency_hz), "Ω"),
        f"{names[0]}, half as long": about(impedance_ohm(short, frequency_hz), "Ω"),
    }


def _hertz(label: str) -> Callable[[str], float]:
    def read(typed: str) -> float:
        value = read_quantity(typed, "frequency", "Hz")
        in_range(label, value, _LOW_HZ, _HIGH_HZ, "Hz")
        return value

    return read


def wire_panel() -> Panel:
    """What a wire to earth is worth at the frequencies of a drive."""
    noise = facts.one("oscilloscope", quantity="noise of drives")
    return Panel(
        "How good is this earth wire?",
        {
            "length_m": fields.with_unit("length", "30 cm", "length", "m", 0.02, 1000),
            "area_mm2": fields.choice("wire", [(quantity(area, "mm²"), area) for area in conductor_areas()], 4.0),
            "width_m": fields.with_unit("flat braid, width", "25 mm", "length", "mm", 0.003, 0.2),
            "frequency_hz": fields.text("frequency", "10 MHz", _hertz("frequency")),
        },
        wire_view,
        hint=f"The noise of a drive is strongest from its switching frequency up, and lies mostly below {noise['mhz']} "
        f"MHz ({noise.cited}). The braid is taken as 2 mm thick.",
    )
