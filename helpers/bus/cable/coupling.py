"""What earth currents and neighbouring cables do to the bus cable: two estimates from textbook formulas.

Both are orders of magnitude, good for comparing one way of laying cables with another. Neither replaces
a measurement.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, log, pi

from helpers.bus.cable.laid import LONGEST_M, cable_types
from helpers.errors import in_range, one_of
from helpers.facts import one

_TAKEN = "values the workbook takes"


def copper_ohm(*, length_m: float, area_mm2: float) -> float:
    """Resistance in Ω of a copper conductor: resistivity × length / area.

    Direct current and mains frequency, 20 °C. Source of the resistivity: data/conductors.csv.

    >>> round(copper_ohm(length_m=100, area_mm2=16), 4)
    0.1078
    """
    in_range("length", length_m, 0, LONGEST_M, "m", _TAKEN)
    in_range("area", area_mm2, 1e-3, 1e4, "mm²", _TAKEN)
    return one("conductors", quantity="copper resistivity").number("value") * length_m / (area_mm2 * 1e-6)


def shield_ohm(*, length_m: float, cable: str = "A") -> float:
    """Resistance in Ω of a bus cable's shield, contacts left out. A typical value, from memory.

    >>> round(shield_ohm(length_m=100), 6)
    1.0
    """
    one_of("cable type", cable, cable_types())
    in_range("length", length_m, 0, LONGEST_M, "m", _TAKEN)
    return one("line_electrical", cable=cable, quantity="shield_ohm_per_m").number("value") * length_m


@dataclass(frozen=True)
class Compensation:
    """Currents in A through shield and bonding conductor, and the voltage in V left between their ends."""

    shield_a: float
    bond_a: float
    voltage_v: float

    @property
    def total_a(self) -> float:
        """The whole compensating current in A."""
        return self.shield_a + self.bond_a


def compensating_current(*, open_v: float, source_ohm: float, shield_ohm: float, bond_ohm: float = inf) -> Compensation:
    """How a difference of earth potential divides over the shield and a bonding conductor beside it.

    Shield and bonding conductor are two resistances in parallel, fed by the open-circuit voltage open_v
    through source_ohm, the resistance of the earth paths and of what drives the current. So
    V = open_v / (1 + source_ohm · (1/shield_ohm + 1/bond_ohm)), and each current is V over its resistance.

    Parameters: open_v in V, measured with the shield open at one end; resistances in Ω, contacts included;
    bond_ohm `inf` for none. Returns a `Compensation`.
    Validity: direct current and mains frequency, where resistance decides. At the frequencies of a
    drive inductance decides, and a thin round conductor far from the cable relieves the shield little.
    Source: current divider, any textbook of circuit theory. That the shield must never carry the
    balancing current: ABB AC 800M PROFIBUS manual p.97.

    >>> alone = compensating_current(open_v=2, source_ohm=0.5, shield_ohm=1.0)
    >>> bonded = compensating_current(open_v=2, source_ohm=0.5, shield_ohm=1.0, bond_ohm=0.1)
    >>> round(alone.shield_a, 2), round(bonded.shield_a, 2)
    (1.33, 0.31)
    """
    in_range("voltage between the earths", open_v, 0, 1e6, "V", _TAKEN)
    in_range("resistance of the source", source_ohm, 0, inf, "Ω", _TAKEN)
    in_range("resistance of the shield", shield_ohm, 1e-6, inf, "Ω", "a shield of no resistance does not exist")
    in_range("resistance of the bonding conductor", bond_ohm, 1e-6, inf, "Ω", "no conductor is without resistance")
    if source_ohm == inf:
        return Compensation(0.0, 0.0, 0.0)
    voltage_v = open_v / (1 + source_ohm * (1 / shield_ohm + 1 / bond_ohm))
    return Compensation(voltage_v / shield_ohm, voltage_v / bond_ohm, voltage_v)


@dataclass(frozen=True)
class Coupling:
    """What a parallel run brings into the bus cable: M in H, C in F, voltage in V, current in A."""

    mutual_h: float
    mutual_f: float
    voltage_v: float
    current_a: float


def coupling(
    *,
    parallel_m: float,
    distance_m: float,
    height_m: float,
    radius_m: float,
    current_slope_a_s: float = 0.0,
    voltage_slope_v_s: float = 0.0,
) -> Coupling:
    """Order of magnitude of what a cable couples into a bus cable that runs beside it.

    Both are taken as single round wires of one radius, at one height above a conducting plane (tray, duct,
    earthed mounting plate) that carries the return currents:
    M' = µ0/4π · ln(1 + 4·height²/distance²) and L' = µ0/2π · ln(2·height/radius) per metre,
    C' = M' / (c² · (L'² − M'²)) per metre, c the speed of light;
    voltage = M' · length · current slope, in the loop of shield and plane open at one end;
    current = C' · length · voltage slope, into the shield.

    Parameters: lengths in m (distance from middle to middle); slopes in A/s and V/s of the sum of currents
    and voltages of the disturbing cable: a cable whose cores and shield cancel each other couples less.
    Validity: radius far below height and distance, length far below a wavelength, air between. What a
    shield earthed at both ends keeps from the cores is not part of it: the figures are for comparing
    distances and lengths.
    Source: two wires above a plane, C. R. Paul, Introduction to Electromagnetic Compatibility (2006),
    chapter on crosstalk; from memory.

    >>> near = coupling(parallel_m=20, distance_m=0.1, height_m=0.05, radius_m=0.004, current_slope_a_s=1e7)
    >>> far = coupling(parallel_m=20, distance_m=0.3, height_m=0.05, radius_m=0.004, current_slope_a_s=1e7)
    >>> round(near.voltage_v, 1), round(far.voltage_v, 1)
    (13.9, 2.1)
    """
    in_range("parallel length", parallel_m, 0, LONGEST_M, "m", _TAKEN)
    in_range("radius", radius_m, 1e-6, 1.0, "m", _TAKEN)
    in_range("distance", distance_m, 2 * radius_m, LONGEST_M, "m", "nearer, the two wires would overlap")
    in_range("height", height_m, radius_m, 1e3, "m", "lower, the wires would touch the plane")
    in_range("current slope", current_slope_a_s, 0, 1e15, "A/s", _TAKEN)
    in_range("voltage slope", voltage_slope_v_s, 0, 1e15, "V/s", _TAKEN)
    magnetic = one("conductors", quantity="magnetic constant").number("value")
    light = one("conductors", quantity="speed of light").number("value")
    mutual = magnetic / (4 * pi) * log(1 + 4 * height_m**2 / distance_m**2)
    own = magnetic / (2 * pi) * log(2 * height_m / radius_m)
    mutual_h = mutual * parallel_m
    mutual_f = mutual / (light**2 * (own**2 - mutual**2)) * parallel_m
    return Coupling(mutual_h, mutual_f, mutual_h * current_slope_a_s, mutual_f * voltage_slope_v_s)
