"""The drive on its own: the steps before it meets the bus, filled in and judged.

The steps are rows of `data/commissioning_steps.csv`: what to do, what to see, the caution, why, and what must
come first. Two things are judged besides their order: the waiting time against the one of the drive's own maker, and
the voltage left in the DC link against `data/dc_link.csv`. No time of discharge is calculated: it hangs on parts
inside the drive, so its warning label or its manual says it and the meter proves it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

from helpers import facts, safe_work, written
from helpers.caution import Caution
from helpers.errors import in_range, one_of
from helpers.verdict import Degree, Finding, at_least, at_most, cited, forbidding

OUTCOMES = ("done", "not done", "not possible")
NAMEPLATES, WAIT, MEASURE = "read nameplates and label", "wait", "measure the DC link"
LIVE = "DC link"  # the rule on the voltage that is left

# The units of readings that are numbers, with the range in which one can be meant.
_RANGES = {"min": (0.0, 600.0), "V": (-2000.0, 2000.0), "%": (-200.0, 200.0), "address": (0.0, 126.0)}


@dataclass(frozen=True)
class CommissioningStep:
    """One step of the list.

    order: its number, from 1. group: "dead", "alone" or "hand over". reading: what is written down, "min", "V",
    "%", "address", "text" or nothing. safety: True if leaving it out can hurt somebody. after: the steps that
    must be done before.
    """

    order: int
    name: str
    group: str
    reading: str
    safety: bool
    after: tuple[str, ...]
    do: str
    see: str
    caution: tuple[Caution, ...]
    why: str
    cited: str


@dataclass(frozen=True)
class Result:
    """What came of a step. turn: 1 for the step that was done first, and so on; 0 if it was not done."""

    step: str
    outcome: str = "not done"
    reading: str = ""
    remark: str = ""
    who: str = ""
    turn: int = 0


@dataclass(frozen=True)
class Checklist:
    """The list of one drive, as far as it is filled in."""

    drive: str
    results: tuple[Result, ...] = ()

    def result(self, name: str) -> Result:
        """What came of a step; "not done" if nothing was written yet."""
        return next((result for result in self.results if result.step == name), Result(name))


@cache
def steps() -> tuple[CommissioningStep, ...]:
    """All steps in their order.

    >>> [step.name for step in steps()][:3]
    ['read nameplates and label', 'agree and keep clear', 'isolate']
    """
    return tuple(
        CommissioningStep(
            row.whole("order"),
            row["step"],
            row["group"],
            row["reading"],
            row["safety"] == "yes",
            tuple(row["after"].split("; ")) if row["after"] else (),
            row["do"].format_map(safe_work.isolation()),
            row["see"],
            (Caution(row["signal"], row["caution"]),) if row["caution"] else (),
            row["why"],
            row.cited,
        )
        for row in facts.rows("commissioning_steps")
    )


def step_called(name: str) -> CommissioningStep:
    """The step of this name; `Unknown` with the list otherwise."""
    one_of("step", name, [step.name for step in steps()])
    return next(step for step in steps() if step.name == name)


def skipping_safety() -> Degree:
    """How bad it is to leave out, or to put off, a step that makes a drive dead or keeps people clear."""
    return max(Degree.CAUTION, forbidding(_safety_rows()))


@cache
def _safety_rows() -> tuple[facts.Fact, ...]:
    return facts.where("commissioning_steps", safety="yes")


def touch_limit() -> facts.Limit:
    """The direct voltage in V that may be left in a DC link. What is known from memory only decides nothing.

    >>> touch_limit().last
    60.0
    """
    known = facts.where("dc_link", quantity="touch limit", kind="DC")
    return facts.most(tuple(row for row in known if row.standing != "memory"), "value")


@cache
def us_practice() -> str:
    """From which voltage on work rules of the United States act, with their sources; it stands beside the limit.

    >>> us_practice()[:36]
    'US practice acts from 50 V AC and DC'
    """
    known = facts.where("dc_link", quantity="US practice")
    first = min(known, key=lambda row: row.number("value"))
    sources = "; ".join(row.source.partition(": ")[0] for row in known)
    return f"US practice acts from {first['value']} {first['unit']} {first['kind']} ({sources}; {first.standing})"


def value_of(name: str, reading: str) -> float | None:
    """The reading of a step as a number in the step's unit; None where it is a text, or nothing is written.

    Errors: `Unreadable` and `OutOfRange`, naming the step.

    >>> value_of("measure the DC link", "4,5 V"), value_of("wait", "10 min")
    (4.5, 10.0)
    """
    unit = step_called(name).reading
    if unit not in _RANGES or not reading.strip():
        return None
    if unit == "V":
        value = written.read_quantity(reading, "voltage", "V")
    elif unit == "address":
        value = written.whole(reading)
    else:
        value = written.number(reading.strip().removesuffix(unit))
    in_range(f"the reading of “{name}”", value, *_RANGES[unit], "" if unit == "address" else unit)
    return value


def marked(
    checklist: Checklist, name: str, outcome: str, *, reading: str = "", remark: str = "", who: str = ""
) -> Checklist:
    """The list after one step was marked. What is done gets the next turn; done already, it keeps its turn.

    Errors: `Unknown` for a step or an outcome, `Unreadable` or `OutOfRange` for a reading.

    >>> marked(Checklist("fan"), "lock", "done").result("lock").turn
    1
    """
    step_called(name)
    one_of("outcome", outcome, OUTCOMES)
    value_of(name, reading)
    before = checklist.result(name)
    last = max((result.turn for result in checklist.results), default=0)
    turn = (before.turn or last + 1) if outcome == "done" else 0
    new = Result(name, outcome, reading.strip(), remark.strip(), who.strip(), turn)
    others = [result for result in checklist.results if result.step != name]
    ordered = sorted([*others, new], key=lambda result: step_called(result.step).order)
    return replace(checklist, results=tuple(ordered))


def must_come_first(checklist: Checklist, name: str) -> tuple[CommissioningStep, ...]:
    """The steps that a step needs before it and that do not stand yet.

    >>> [step.name for step in must_come_first(Checklist("fan"), "lock")]
    ['isolate']
    """
    turn = checklist.result(name).turn
    return tuple(
        before for before in map(step_called, step_called(name).after) if not _stands(checklist, before, ahead_of=turn)
    )


def next_step(checklist: Checklist) -> CommissioningStep | None:
    """The first step that is still open and may be done now; None when the list is full."""
    left = open_steps(checklist)
    return next((step for step in left if not must_come_first(checklist, step.name)), left[0] if left else None)


def open_steps(checklist: Checklist) -> tuple[CommissioningStep, ...]:
    """The steps that are not done and not said to be impossible.

    >>> len(open_steps(Checklist("fan"))) == len(steps())
    True
    """
    return tuple(step for step in steps() if checklist.result(step.name).outcome == "not done")


def judge(checklist: Checklist) -> tuple[Finding, ...]:
    """What is wrong with a list, step by step; steps still open come last.

    A step done before one that keeps people safe, a wait shorter than the maker's, a DC link above the limit
    *break the standard*. Anything else out of order is *outside cautious practice*.

    >>> [finding.rule for finding in judge(marked(Checklist("fan"), "wait", "done", reading="5"))][:2]
    ['order of steps', 'waiting time']
    """
    found = list[Finding]()
    for step in steps():
        result = checklist.result(step.name)
        if result.outcome == "done":
            found += [_too_early(checklist, step, before) for before in must_come_first(checklist, step.name)]
            if step.reading and not result.reading:
                found.append(
                    _finding("reading", step, "done, nothing written down", "a reading", "Write down what you read.")
                )
        elif result.outcome == "not possible" and not result.remark:
            found.append(
                _finding("remark", step, "not possible, no reason given", "a reason", "Say why it is not possible.")
            )
    return (*found, *_waiting_time(checklist), *_dc_link(checklist), *map(_missing, open_steps(checklist)))


def _stands(checklist: Checklist, step: CommissioningStep, *, ahead_of: int) -> bool:
    """True if a step is done, and before the turn given (0: any). A reason counts, but not where people are at risk."""
    result = checklist.result(step.name)
    if result.outcome == "not possible":
        return bool(result.remark) and not step.safety
    if step.name == MEASURE and _dangerous(result):
        return False
    return result.outcome == "done" and (not ahead_of or result.turn < ahead_of)


def _dangerous(measured: Result) -> bool:
    """True unless the meter has shown a voltage below the limit."""
    value = value_of(MEASURE, measured.reading)
    return value is None or abs(value) > touch_limit().cautious


def _too_early(checklist: Checklist, step: CommissioningStep, before: CommissioningStep) -> Finding:
    outcome = checklist.result(before.name)
    if outcome.outcome == "done" and outcome.turn < checklist.result(step.name).turn:
        found = f"done while “{before.name}” had shown no safe voltage"
    else:
        found = f"done before “{before.name}”"
    return Finding(
        "order of steps",
        step.name,
        found,
        f"after “{before.name}”",
        cited(_safety_rows()) if before.safety else before.cited,
        f"{'Stop. Make it safe, then do' if before.safety else 'Do'} “{before.name}”, then this step again.",
        skipping_safety() if before.safety else Degree.CAUTION,
    )


def _waiting_time(checklist: Checklist) -> list[Finding]:
    """The wait against the time that the drive asks for, once there is a wait."""
    label, waited = (checklist.result(name) for name in (NAMEPLATES, WAIT))
    minutes = value_of(WAIT, waited.reading)
    if waited.outcome != "done" or minutes is None:
        return []
    asked = value_of(NAMEPLATES, label.reading)
    if asked is None:
        to_do = "Read the waiting time on the drive's warning label or in its manual, and wait that long."
        return [_finding("waiting time", step_called(WAIT), f"{minutes:g} min", "the drive's time, not read", to_do)]
    limit = facts.Limit(asked, asked, _safety_rows())
    to_do = "Wait the rest of the time, then measure."
    return [at_least(rule="waiting time", place=WAIT, value=minutes, limit=limit, unit="min", to_do=to_do)]


def _dc_link(checklist: Checklist) -> list[Finding]:
    """The voltage left in the DC link, once it was measured."""
    value = value_of(MEASURE, checklist.result(MEASURE).reading)
    if value is None:
        return []
    to_do = "Touch nothing, close what is open, wait and measure again. If it stays, call an electrician."
    return [at_most(rule=LIVE, place=MEASURE, value=abs(value), limit=touch_limit(), unit="V", to_do=to_do)]


def _missing(step: CommissioningStep) -> Finding:
    return _finding("missing step", step, "not done", "done, or a reason why not", step.do)


def _finding(rule: str, step: CommissioningStep, found: str, allowed: str, to_do: str) -> Finding:
    return Finding(rule, step.name, found, allowed, step.cited, to_do, Degree.CAUTION)
