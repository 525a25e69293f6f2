"""Typical disturbers beside a bus cable, and the order of magnitude of what each brings into it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

from helpers.answer import Answer, Row
from helpers.bus.cable.coupling import Coupling, coupling
from helpers.curves import Axis, Curve, Curves, Note, Points, decades
from helpers.facts import one, rows
from helpers.quantity import about, quantity

NEAR_M, FAR_M, _POINTS = 0.02, 2.0, 60
_TICKS_M = (0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0)


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


# -- what is said of it ----------------------------------------------------------------------------


@cache
def _distances() -> tuple[float, ...]:
    return tuple(NEAR_M * (FAR_M / NEAR_M) ** (n / (_POINTS - 1)) for n in range(_POINTS))


def coupling_answer(disturber: Disturber, parallel_m: float, distance_m: float, height_m: float) -> Answer:
    """Order of magnitude of what one disturber brings into the loop of shield and tray, against the distance."""

    def at(distance: float, source: Disturber = disturber) -> tuple[float, float]:
        coupling = coupled(source, parallel_m=parallel_m, distance_m=distance, height_m=height_m)
        return coupling.voltage_v, coupling.current_a

    here, twice = at(distance_m), at(2 * distance_m)
    half = coupled(disturber, parallel_m=parallel_m / 2, distance_m=distance_m, height_m=height_m)
    points = [(distance, at(distance)[0]) for distance in _distances()]
    reach = (
        f" Only the first {about(disturber.reach_m, 'm')} count: the edge lasts {about(disturber.edge_s, 's')}."
        if parallel_m > disturber.reach_m
        else ""
    )
    return Answer(
        f"About {about(here[0], 'V', digits=1)} in the loop of shield and tray. At twice the distance: about "
        f"{about(twice[0], 'V', digits=1)}; at half the length: about {about(half.voltage_v, 'V', digits=1)}.",
        because="An order of magnitude, to compare one way of laying with another: two single wires above earthed "
        "metal that carries the return current, air between them. What a shield earthed at both ends keeps from the "
        f"cores is not part of it.{reach}",
        pictures=[_against_distance(disturber.name, points, distance_m, parallel_m, here[0], twice[0])],
        rows=[
            {"at this distance, beside": d.name, "voltage in the loop": about(at(distance_m, d)[0], "V", digits=1),
             "current into the shield": about(at(distance_m, d)[1], "A", digits=1),
             "figures": f"{about(d.current_a, 'A')} and {about(d.voltage_v, 'V')} within {about(d.edge_s, 's')}",
             "known": d.cited.partition(" (")[2].rstrip(")") or d.cited}
            for d in disturbers().values()
        ],
        sources=[*(f"{d.name}: {d.about}; {d.cited}" for d in disturbers().values()),
                 "two wires above a plane: C. R. Paul, Introduction to Electromagnetic Compatibility, from memory"],
    )  # fmt: skip


def coupling_table(
    disturber: Disturber, *, lengths_m: Sequence[float], distances_m: Sequence[float], height_m: float
) -> list[Row]:
    """Volts in the loop of shield and tray: a row for each length, a column for each distance."""
    return [
        {"side by side in m": length}
        | {
            f"{distance:g} m apart": round(
                coupled(disturber, parallel_m=length, distance_m=distance, height_m=height_m).voltage_v, 1
            )
            for distance in distances_m
        }
        for length in lengths_m
    ]


def _against_distance(
    name: str,
    points: Sequence[tuple[float, float]],
    distance_m: float,
    parallel_m: float,
    here_v: float,
    twice_v: float,
) -> Curves:
    top_v = max(points[0][1], here_v)
    low_v, high_v = top_v / 10_000, top_v * 1.5
    distances_m, volts = zip(*points, strict=True)
    here = f"{quantity(distance_m, 'm')}: {about(here_v, 'V', digits=1)}"
    return Curves(
        f"voltage in the loop against distance: {name}, {quantity(parallel_m, 'm')} side by side; "
        f"{about(here_v, 'V', digits=1)} at {quantity(distance_m, 'm')}, {about(twice_v, 'V', digits=1)} at "
        f"{quantity(2 * distance_m, 'm')}",
        Axis("distance between the middles of the cables", NEAR_M, FAR_M, log=True,
             ticks=[(metres, about(metres, "m")) for metres in _TICKS_M]),
        Axis("voltage in the loop", low_v, high_v, log=True, ticks=decades(low_v, high_v, lambda v: about(v, "V"))),
        [Curve(distances_m, volts, name)],
        [Points([distance_m], [here_v])],
        notes=[Note(distance_m, here_v, here, "above right", bold=True)],
    )  # fmt: skip
