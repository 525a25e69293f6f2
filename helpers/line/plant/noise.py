"""The noise between the cores at each plug, from how the cable is laid, shielded and earthed.

    noise² = quiet² + Σ (conversion · part · V)²        V by `interference.coupled`, one term for each piece

Beside a motor cable without shield a piece of bus cable takes up V on both cores together. A shield that is whole
leaves a part of it, one that is open all of it; the conversion is what appears between the cores. A bus board without
its earth wire sends the current of the drive's edges over the shield to the next device: V is that current times
the impedance of so long a wire, at its own plug alone. All of it holds while edges arrive; an order of magnitude, the
shares from memory (`data/practice_faults.csv`).
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from math import hypot, pi

from helpers.bus.cable.earth_wire import Round, impedance_ohm
from helpers.bus.cable.interference import coupled, disturbers
from helpers.bus.cable.separation import Run, separation_limit
from helpers.bus.circuit.elements import Break, Section
from helpers.facts import one
from helpers.line.plant.installation import Installation, Stretch

NEIGHBOUR = "motor, no shield"


@cache
def usual_distance_m() -> float:
    """The distance to a motor cable that at least one source allows: what a plant is taken to keep to [m].

    >>> usual_distance_m()
    0.1
    """
    return separation_limit(Run("motor cable", use="motor")).last


def with_noise(installation: Installation) -> Installation:
    """The installation with the noise at each plug worked out anew."""
    stretches = tuple(replace(s, noise_v=noise_v(installation, n)) for n, s in enumerate(installation.stretches))
    return replace(installation, stretches=stretches)


def noise_v(installation: Installation, segment: int) -> tuple[float, ...]:
    """Effective noise between the cores at each plug of a segment [V].

    >>> from helpers.line.plant.build import installation_of
    >>> from helpers.plan.read import read_plan
    >>> from helpers.facts import DATA
    >>> noise_v(installation_of(read_plan(DATA / "demo/saltmarsh-mill").networks[0]), 1)
    (0.05, 0.05, 0.05, 0.05)
    """
    stretch = installation.stretches[segment]
    quiet = one("practice_line", name="quiet_noise_v").number("value")
    along = [_share("conversion") * _piece_v(stretch, n) for n in range(len(stretch.circuit.sections))]
    everywhere = hypot(quiet, *along)
    return tuple(
        hypot(everywhere, _board_v(stretch, plug))
        if device and not installation.device(device).board_earthed
        else everywhere
        for plug, device in enumerate(stretch.devices)
    )


def shield_open(section: Section) -> bool:
    """True if the shield of a piece of cable is not carried through."""
    return any(isinstance(fault, Break) and fault.core == "shield" for fault in section.faults)


def _piece_v(stretch: Stretch, number: int) -> float:
    """What one piece of cable takes up on both cores together [V]; 0 for one that is laid as it should be."""
    section, beside = stretch.circuit.sections[number], number in stretch.beside
    is_open = shield_open(section)
    if not (beside or is_open):
        return 0.0
    distance_m = _share("beside_m") if beside else usual_distance_m()
    taken = coupled(
        disturbers()[NEIGHBOUR],
        parallel_m=section.length_m,
        distance_m=distance_m,
        height_m=_share("tray_height_m"),
    )
    return taken.voltage_v * (1.0 if is_open else _share("shield_left"))


def _board_v(stretch: Stretch, plug: int) -> float:
    """Between the cores at a board whose earth current flows over the shield to the nearer neighbour [V]."""
    lengths = [s.length_m for n, s in enumerate(stretch.circuit.sections) if n in (plug - 1, plug) and s.length_m]
    if not lengths:
        return 0.0
    wire = Round(min(lengths), _share("earth_area_mm2"))
    frequency_hz = 1 / (pi * disturbers()[NEIGHBOUR].edge_s)  # up to there an edge's spectrum keeps its height
    volts = _share("board_current_a") * impedance_ohm(wire, frequency_hz)
    return volts * _share("shield_left") * _share("conversion")


@cache
def _share(name: str) -> float:
    return one("practice_faults", name=name).number("low")
