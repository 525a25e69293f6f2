"""One edge on a line, followed by hand: what comes back from an end, and when it has died down.

The line here has no losses and nothing between its ends; `waveform` calculates the whole segment. What the two
have in common is tested.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, sqrt

from helpers.bus.circuit.elements import Terminator, known
from helpers.bus.circuit.line import Cable, cable
from helpers.errors import OutOfRange, in_range

_MOST = 100_000  # round trips; an echo that loses nothing never dies


def parallel(*ohms: float) -> float:
    """Resistances side by side [Ω]: 1 / Σ (1 / R); of none at all it is infinite.

    >>> round(parallel(220, 780), 1), parallel()
    (171.6, inf)
    """
    for ohm in ohms:
        in_range("resistance", ohm, 0, inf, "Ω")
    if 0 in ohms:
        return 0.0
    conductance = sum(1 / ohm for ohm in ohms)
    return 1 / conductance if conductance else inf


def terminator_ohm(terminator: Terminator | None = None) -> float:
    """What a terminator is for a fast signal [Ω]: rt ∥ 2·rs.

    A supply holds VP still against DGND, so for a change both are one point. If VP hangs free, rt is left alone;
    if it lies on DGND, nothing changes for the signal, only the idle level is gone.
    Source: circuit of the terminator, M. Felser, PROFIBUS Manual, bus termination; the value is calculated.

    >>> round(terminator_ohm(), 1), round(terminator_ohm(Terminator(supply="open")), 1)
    (171.6, 220.0)
    """
    terminator = terminator or Terminator()
    if terminator.supply == "open":
        return terminator.rt_ohm
    return parallel(terminator.rt_ohm, 2 * terminator.rs_ohm)


def reflection(end_ohm: float, line_ohm: float) -> float:
    """Share of a wave that comes back from an end: (Z − Z0) / (Z + Z0).

    Parameters: end_ohm, what the line ends in [Ω], infinite for an open end; line_ohm, the line's impedance [Ω].
    Returns +1 for an open end, 0 for a matched one, −1 for a short. Source: any textbook on lines.

    >>> round(reflection(terminator_ohm(), 150), 3), reflection(inf, 150)
    (0.067, 1.0)
    """
    in_range("resistance at the end", end_ohm, 0, inf, "Ω")
    if not 0 < line_ohm < inf:
        raise OutOfRange(f"impedance of the line is {line_ohm:g} Ω; allowed is more than 0.")
    return 1.0 if end_ohm == inf else (end_ohm - line_ohm) / (end_ohm + line_ohm)


@dataclass(frozen=True)
class Arrival:
    """A wave arrives at an end. Voltages are shares of the first wave.

    time_s: since the sender's edge [s]. wave: what arrives. level: what the end stands at from then on.
    """

    at: str
    time_s: float
    wave: float
    level: float


@dataclass(frozen=True)
class Bouncing:
    """An edge sent at the near end of a bare line, which bounces between two ends.

    delay_s: one way [s]. near, far: what each end sends back, −1 to 1; at the near end is the sender.
    """

    delay_s: float
    near: float
    far: float

    def __post_init__(self) -> None:
        in_range("delay of the line", self.delay_s, 0, 1, "s")
        for name, share in (("near", self.near), ("far", self.far)):
            in_range(f"reflection at the {name} end", share, -1, 1)

    def arrivals(self, count: int) -> tuple[Arrival, ...]:
        """The first `count` arrivals: far end, near end, far end …

        >>> [(round(a.time_s * 1e9), a.wave, a.level) for a in Bouncing(450e-9, -0.5, 1.0).arrivals(3)]
        [(450, 1.0, 2.0), (900, 1.0, 1.5), (1350, -0.5, 1.0)]
        """
        found = []
        wave, levels = 1.0, {"far": 0.0, "near": 1.0}
        for n in range(count):
            at, share = ("near", self.near) if n % 2 else ("far", self.far)
            levels[at] += wave * (1 + share)
            found.append(Arrival(at, (n + 1) * self.delay_s, wave, levels[at]))
            wave *= share
        return tuple(found)

    @property
    def final(self) -> float:
        """Where the far end comes to rest: (1 + far) / (1 − near·far), as a share of the first wave."""
        left = 1 - self.near * self.far
        if left <= 0:
            raise OutOfRange("both ends send everything back: the line never comes to rest.")
        return (1 + self.far) / left

    def settled_s(self, share: float = 0.1) -> float:
        """When the far end is within `share` of its final level for good [s].

        At the n-th arrival (near·far)ⁿ of the final level is missing.

        >>> round(Bouncing(450e-9, -0.5, 1.0).settled_s() * 1e9)       # at the fourth arrival 0.0625 is missing
        3150
        """
        in_range("share that may be missing", share, 1e-6, 0.999)
        missing = abs(self.near * self.far)
        trips = next((n for n in range(1, _MOST) if missing**n <= share), None)
        if trips is None:
            raise OutOfRange("both ends send nearly everything back: the line takes too long to come to rest.")
        return (2 * (trips - 1) + 1) * self.delay_s


def bouncing(length_m: float, far_ohm: float, *, near_ohm: float | None = None, kind: Cable | None = None) -> Bouncing:
    """The bounces on a line of `length_m` whose far end is `far_ohm`.

    near_ohm: what the line sees at the sender [Ω]; not given, the usual sender with a terminator beside it.

    >>> round(bouncing(100, inf).near, 2)
    -0.59
    """
    line = kind or cable()
    near = parallel(known("rs485", "driver_source_ohm"), terminator_ohm()) if near_ohm is None else near_ohm
    delay_s = length_m * line.delay_s_per_m
    return Bouncing(delay_s, reflection(near, line.impedance_ohm), reflection(far_ohm, line.impedance_ohm))


def loaded_ohm(spacing_m: float, *, capacitance_f: float, inductor_h: float = 0.0, kind: Cable | None = None) -> float:
    """Impedance of a cable with a station every `spacing_m` [Ω]: √((L'·d + 4·L) / (C'·d + C)).

    Parameters: capacitance_f, of one station [F]; inductor_h, of each of the four inductors of a plug [H].
    Validity: an edge that is long against the way from station to station. Source: any textbook on loaded lines.

    >>> round(loaded_ohm(0.5, capacitance_f=50e-12)), round(loaded_ohm(5, capacitance_f=50e-12))
    (72, 130)
    """
    line = kind or cable()
    in_range("distance between stations", spacing_m, 0, inf, "m")
    in_range("capacitance of a station", capacitance_f, 0, 1e-6, "F")
    in_range("inductor of a plug", inductor_h, 0, 1e-3, "H")
    henry = line.impedance_ohm * line.delay_s_per_m * spacing_m + 4 * inductor_h
    farad = line.capacitance_f_per_m * spacing_m + capacitance_f
    if not 0 < farad < inf or not henry < inf:
        raise OutOfRange(f"distance {spacing_m:g} m with {capacitance_f:g} F makes no line; allowed is more than 0.")
    return sqrt(henry / farad)
