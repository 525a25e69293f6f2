"""A case for fault-finding: what is wrong where, and what the plant says of it. Drawn from a seed, without end."""

from __future__ import annotations

from collections.abc import Set
from dataclasses import dataclass
from functools import cache
from random import Random

from helpers.errors import OutOfRange, in_range
from helpers.facts import where
from helpers.line.evidence.observe import comes_and_goes
from helpers.line.faults.catalogue import FAULTS, GROUPS, possible
from helpers.line.faults.fault import Chosen, combined, exclude
from helpers.line.plant.build import installation_of
from helpers.line.plant.installation import Installation
from helpers.line.practice.complaint import complaint, handover
from helpers.line.practice.observation import Observation, usual, watch
from helpers.line.traffic.line import Line
from helpers.plan.my_networks import demo_network

GRADES = (1, 2, 3)
_MOST_SIZES = 1 << 30  # a case has any of so many sizes
# How often a fault is drawn anew because nobody would see it, and a second one because it excludes the first.
_TRIES = 6


@dataclass(frozen=True)
class Case:
    """One case. `chosen` and `faulty` are the solution; everything else is for the learner.

    installation: all in order. complaint: what the plant says. hint: what was worked on last, empty above grade 1.
    groups: the groups of faults that come into question; all of them above grade 1. visible: somebody has seen
    something; else it is a check before handover. now: what is seen.
    """

    seed: int
    grade: int
    installation: Installation
    chosen: tuple[Chosen, ...]
    faulty: Installation
    now: Observation
    visible: bool
    complaint: str
    hint: str
    groups: tuple[str, ...]


@cache
def mill() -> Installation:
    """The demo site, all in order."""
    return installation_of(demo_network())


def draw_case(seed: int, grade: int, installation: Installation | None = None) -> Case:
    """The case of a seed, the same on every machine; in the demo site, or in another installation that is in order.

    grade 1: one fault that is found by looking, few groups come into question, and a hint. 2: one fault of any kind.
    3: two faults, or one that comes and goes. `OutOfRange` for another grade and where no fault can be.
    """
    in_range("grade of difficulty", grade, GRADES[0], GRADES[-1], source="three grades")
    healthy = mill() if installation is None else installation
    random = Random(f"case {grade} {seed}")
    unseen: set[str] = set()
    for _ in range(_TRIES):
        chosen = _drawn(random, grade, healthy, unseen)
        faulty = combined(healthy, chosen)
        now = watch(Line(faulty))
        said = complaint(now, usual(healthy), random)
        # Grade 2 also has faults that nobody has noticed yet.
        if said or grade == 2:
            break
        if len(chosen) == 1:
            unseen.add(chosen[0].fault.key)
    first = chosen[0].fault.group
    hint, groups = "", GROUPS
    if grade == 1:
        hint = random.choice(where("demo/practice_hints", group=first))["words"]
        other = random.choice([group for group in GROUPS if group != first])
        groups = tuple(group for group in GROUPS if group in (first, other))
    return Case(seed, grade, healthy, chosen, faulty, now, bool(said), said or handover(random), hint, groups)


def _drawn(random: Random, grade: int, healthy: Installation, unseen: Set[str]) -> tuple[Chosen, ...]:
    """unseen: faults of which nobody saw anything when they were drawn before for this case, alone."""
    if grade == 1:
        return (_one(random, healthy, unseen, most_grade=1),)
    if grade == 2:
        return (_one(random, healthy),)
    if random.random() < 0.3:
        every = (c for c in possible(healthy) if c.fault.key not in unseen)
        unsteady = [c for c in every if comes_and_goes(c.put(healthy))]
        if unsteady:
            return (_sized(random, random.choice(unsteady)),)
    for _ in range(10 * _TRIES):
        first, second = _one(random, healthy), _one(random, healthy)
        if not exclude(healthy, first, second):
            return first, second
    return (first,)


def _one(
    random: Random, healthy: Installation, unseen: Set[str] = frozenset(), *, most_grade: int = GRADES[-1]
) -> Chosen:
    """A fault first and then its place, so that one with many places is not drawn more often.

    Each fault draws a lot of its own, so one that is new to the workbook changes only the cases that it wins.

    One of `unseen` only if there is no other.
    """
    known = [(fault, fault.places(healthy)) for fault in FAULTS if fault.grade <= most_grade]
    able = [(fault, places) for fault, places in known if places]
    able = [(fault, places) for fault, places in able if fault.key not in unseen] or able
    if not able:
        raise OutOfRange("In this installation no fault can be: 0 are possible, 1 at least is needed.")
    lots = random.random()
    fault, places = min(able, key=lambda one: Random(f"{lots} {one[0].key}").random())
    return _sized(random, Chosen(fault, random.choice(places)))


def _sized(random: Random, chosen: Chosen) -> Chosen:
    return chosen._replace(seed=random.randrange(_MOST_SIZES))
