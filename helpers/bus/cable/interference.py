"""Typical disturbers beside a bus cable, and the order of magnitude of what each brings into it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from helpers.bus.cable.coupling import Coupling, coupling
from helpers.facts import one, rows


@dataclass(frozen=True)
class Disturber:
    """A cable that disturbs: its current, the sum over its cores, and its voltage, their mean, rise within `edge_s`.

    current_a in A, voltage_v in V, edge_s in s; `about` says of what, `cited` how it is known.
    """

    name: str
    current_a: float
    voltage_v: float
    edge_s: float
    about: str
    cited: str

    @property
    def reach_m(self) -> float:
        """Length in m of a parallel run beyond which more of it adds nothing: c · edge / 2.

        On a longer run the edge has passed before its wave has gone there and back.
        Source: C. R. Paul, Introduction to Electromagnetic Compatibility (2006), chapter on crosstalk; from
        memory. The speed is that of light, so the length is the longest possible.

        >>> round(Disturber("edge", 1, 100, 0.2e-6, "", "").reach_m)
        30
        """
        return one("conductors", quantity="speed of light").number("value") * self.edge_s / 2


@cache
def disturbers() -> Mapping[str, Disturber]:
    """The disturbers of data/disturbers.csv by name. Their figures are typical ones, not measured on your plant.

    >>> disturbers()["mains, 50 Hz"].edge_s > 1e-3
    True
    """
    return {
        row["name"]: Disturber(
            row["name"], row.number("current_a"), row.number("voltage_v"), row.number("edge_s"), row["about"], row.cited
        )
        for row in rows("disturbers")
    }


def coupled(disturber: Disturber, *, parallel_m: float, distance_m: float, height_m: float) -> Coupling:
    """What a disturber brings into a bus cable beside it: `helpers.bus.cable.coupling.coupling` with its slopes.

    Both cables have the radius of a bus cable; the length counts up to the disturber's `reach_m`.
    Parameters in m: length side by side, distance from middle to middle, height above the metal of the tray.

    >>> edge = Disturber("edge", 1, 100, 0.2e-6, "", "")
    >>> near = coupled(edge, parallel_m=20, distance_m=0.1, height_m=0.05)
    >>> round(near.voltage_v, 1)
    6.9
    """
    return coupling(
        parallel_m=min(parallel_m, disturber.reach_m),
        distance_m=distance_m,
        height_m=height_m,
        radius_m=one("conductors", quantity="bus cable radius").number("value"),
        current_slope_a_s=disturber.current_a / disturber.edge_s,
        voltage_slope_v_s=disturber.voltage_v / disturber.edge_s,
    )
