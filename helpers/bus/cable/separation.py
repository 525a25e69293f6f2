"""Separation: which class a cable belongs to, and how far the bus cable must keep from it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache

from helpers.bus.cable.laid import LONGEST_M
from helpers.errors import in_range, one_of
from helpers.facts import Fact, Limit, least, rows, where
from helpers.verdict import Degree, Finding, at_least, cited

USES = tuple(dict.fromkeys(row["use"] for row in rows("cable_classes")))
SUPPLIES = ("AC", "DC")
DIVIDERS = ("none", "aluminium", "steel")
CROSSINGS = ("none", "right angle", "slanting")

DISTANCE = "distance between cables"


@dataclass(frozen=True)
class Run:
    """Another cable that runs beside the bus cable, or crosses it.

    - use: data, power, motor (from a drive), telephone or outdoor (open to lightning and surges)
    - volts, supply: for the use `power`, voltage in V (AC as effective value) and AC or DC
    - shielded: the other cable has a shield, earthed at both ends
    - parallel_m: length in m over which the two run side by side; 0 where they only cross
    - distance_m: the least distance between the two along that length, in m
    - divider: earthed metal between the two: none, aluminium or steel
    - crossing: none, right angle or slanting
    """

    name: str
    use: str = "power"
    volts: float = 400.0
    supply: str = "AC"
    shielded: bool = False
    parallel_m: float = 0.0
    distance_m: float = 0.0
    divider: str = "none"
    crossing: str = "none"

    def __post_init__(self) -> None:
        one_of(f"use of {self.name}", self.use, USES)
        one_of(f"supply of {self.name}", self.supply, SUPPLIES)
        one_of(f"divider beside {self.name}", self.divider, DIVIDERS)
        one_of(f"crossing of {self.name}", self.crossing, CROSSINGS)
        in_range(f"voltage of {self.name}", self.volts, 0, 1e6, "V", "voltages the workbook takes")
        in_range(f"parallel length of {self.name}", self.parallel_m, 0, LONGEST_M, "m", "lengths the workbook takes")
        in_range(f"distance of {self.name}", self.distance_m, 0, LONGEST_M, "m", "distances the workbook takes")


def cable_class(use: str, volts: float = 0.0, supply: str = "AC") -> str:
    """The class of a cable, by its use and for power cables by its voltage in V.

    Cables of one class may share a duct. Source: M. Felser, PROFIBUS Manual, distances.

    >>> [cable_class("power", volts) for volts in (24, 25, 400, 690)]
    ['signal', 'low voltage', 'low voltage', 'high voltage or high frequency']
    """
    return _class(Run("cable", use, volts, supply))["class"]


def separation_limit(run: Run) -> Limit:
    """The least distance in m between the bus cable and a parallel run.

    Each source that says something on this class, shield and divider counts; none of them makes the
    distance depend on the parallel length. Sources: data/separation.csv.

    >>> limit = separation_limit(Run("mains", volts=400))
    >>> limit.cautious, limit.last
    (0.3, 0.05)
    """
    return _limit(_class(run)["against"], run.shielded, run.divider)


@cache
def _limit(against: str, shielded: bool, divider: str) -> Limit:
    shields, dividers = ("any", "yes" if shielded else "no"), ("any", divider)
    facts = tuple(
        row
        for row in rows("separation")
        if row["against"] == against and row["shielded"] in shields and row["divider"] in dividers
    )
    return least(facts, "distance_m")


def check_run(run: Run) -> tuple[Finding, ...]:
    """The findings on one cable beside the bus cable: its distance, its crossing.

    >>> [f.verdict for f in check_run(Run("mains", volts=230, parallel_m=20, distance_m=0.2))]
    ['outside cautious practice']
    """
    findings = []
    if run.parallel_m > 0:
        findings.append(_check_distance(run))
    if run.crossing != "none":
        findings.append(_check_crossing(run))
    return tuple(findings)


def check_runs(runs: Iterable[Run]) -> tuple[Finding, ...]:
    """The findings on all cables beside one bus cable, in their order."""
    return tuple(finding for run in runs for finding in check_run(run))


def _check_distance(run: Run) -> Finding:
    finding = at_least(
        rule=DISTANCE,
        place=run.name,
        value=run.distance_m,
        limit=separation_limit(run),
        unit="m",
        to_do="Move the cables apart, or put an earthed metal divider between them.",
    )
    beside = "" if run.divider == "none" else f", {run.divider} divider"
    shield = ", shielded" if run.shielded else ""
    found = f"{finding.found} over {run.parallel_m:g} m, class {_class(run)['class']}{shield}{beside}"
    return replace(finding, found=found)


def _check_crossing(run: Run) -> Finding:
    signal = _class(run)["class"] == "signal"
    slanting = run.crossing == "slanting" and not signal
    return Finding(
        "crossing",
        run.name,
        run.crossing,
        "any angle within one class" if signal else "right angle",
        cited(crossing_facts()),
        "Lead the cables across each other at a right angle; a slanting crossing is a parallel run."
        if slanting
        else "",
        Degree.CAUTION if slanting else Degree.IN_ORDER,
    )


@cache
def crossing_facts() -> tuple[Fact, ...]:
    """The sources that ask for crossings at a right angle.

    >>> len(crossing_facts()) > 1
    True
    """
    return where("wiring_rules", rule="right angle")


def _class(run: Run) -> Fact:
    """The first row of data/cable_classes.csv that takes the cable; its rows stand in order of voltage."""
    return next(row for row in rows("cable_classes") if _takes(row, run))


def _takes(row: Fact, run: Run) -> bool:
    if row["use"] != run.use or row["supply"] not in ("", run.supply):
        return False
    below = not row.has("below_v") or run.volts < row.number("below_v")
    up_to = not row.has("up_to_v") or run.volts <= row.number("up_to_v")
    return below and up_to
