"""The general state machine of the drive profile: what a control word does in a state, and why.

The transitions are rows of `data/state_transitions.csv`, the points on which drives differ rows of
`data/drive_options.csv`. A row applies if its bits stand as it says; the first row that applies wins, so the
order of the rows is the order of priority: coast stop, quick stop, ramp stop, disable operation, on.

One step makes one transition. A drive evaluates its word again and again, so that one word can lead
through several states: `settle` steps until nothing changes any more.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cache

import numpy as np
import numpy.typing as npt

from helpers import facts
from helpers.drive.words import state as state_shown
from helpers.drive.words import word
from helpers.errors import one_of

# Each state of the model with the profile's number, and whether the drive's pulses are on. A drive that ramps
# down because bit 3 went to 0 is still in operation (S4) and shows its bits; S5 has two ways down.
STATES: Mapping[str, tuple[str, bool]] = {
    "switching on inhibited": ("S1", False),
    "ready for switching on": ("S2", False),
    "switched on": ("S3", False),
    "operation": ("S4", True),
    "disabling operation": ("S4", True),
    "ramp stop": ("S5", True),
    "quick stop": ("S5", True),
    "fault reaction": ("fault", True),
    "fault": ("fault", False),
}

ON = 1 << 0
CONTROL_BY_PLC = 1 << 10


_STOP_OF_FAULT = {"coast": "fault", "ramp": "fault reaction", "quick": "fault reaction"}


@dataclass(frozen=True)
class Options:
    """The points on which drives differ. Choices, meanings and sources: `data/drive_options.csv`.

    Without a choice a drive does what the profile says; where it leaves the point open, what a manual prints.

    >>> Options().no_control, Options(disable="ramps").disable
    ('ignored', 'ramps')
    """

    disable: str = "coasts"
    no_control: str = "ignored"
    on_while_stopping: str = "cancels the ramp"
    bit_2_stopping: str = "1"
    bit_1_ramp: str = "1"
    bit_6_fault: str = "0"

    def __post_init__(self) -> None:
        for option in fields(self):
            choices = [row["choice"] for row in facts.where("drive_options", field=option.name)]
            one_of(option.name, getattr(self, option.name), choices)


@dataclass(frozen=True)
class Conditions:
    """What else the drive knows besides the word.

    standstill: the motor stands (counts while the drive is stopping). local: led from its own panel.
    cause_present: the cause of a fault is still there. warning, at_setpoint, comparison_reached: status bits
    7, 8 and 10.
    """

    standstill: bool = False
    local: bool = False
    cause_present: bool = False
    warning: bool = False
    at_setpoint: bool = False
    comparison_reached: bool = False


USUAL = Options()
CALM = Conditions()


@dataclass(frozen=True)
class Transition:
    """A row of the table of transitions. `after` equals `before` where nothing changes and the row says why.

    A word fits if `word & mask == value` and all bits of `rises` have just risen. `before` and `after` are
    "any" in the rows that hold in every state.
    """

    before: str
    after: str
    mask: int
    value: int
    rises: int
    needs: str
    option: str
    choice: str
    why: str
    caution: str
    makers: str
    source: str
    standing: str


@dataclass(frozen=True)
class Step:
    """One step of the drive: where it was, where it is, what it reports and why.

    `taken` is the word the drive has taken over, to be given as `previous` to the next step: a word with
    bit 10 at 0 is not taken over; one that comes while the drive is led from its own panel counts as seen, so that
    nothing starts when the control goes back to the bus. `caution` is empty where nothing can start or run on.
    """

    before: str
    after: str
    taken: int
    status: int
    why: str
    caution: str
    source: str
    standing: str

    @property
    def changed(self) -> bool:
        """True if the state changed."""
        return self.after != self.before


def _bits(numbers: str) -> int:
    return sum(1 << int(n) for n in numbers.split())


def _rule(row: facts.Fact) -> Transition:
    on, off, rises = _bits(row["on"]), _bits(row["off"]), _bits(row["rises"])
    if on | off | rises and not off & CONTROL_BY_PLC:
        on |= CONTROL_BY_PLC  # a bit counts only in a word that the drive takes over
    on |= rises
    return Transition(
        row["from"],
        row["to"],
        on | off,
        on,
        rises,
        row["needs"],
        row["option"],
        row["choice"],
        row["why"],
        row["caution"],
        row["makers"],
        row.source,
        row.standing,
    )


@cache
def rules(state: str) -> tuple[Transition, ...]:
    """The rows that hold in a state, the strongest first.

    >>> [rule.after for rule in rules("switched on")][:3]
    ['switching on inhibited', 'switching on inhibited', 'ready for switching on']
    """
    one_of("state", state, STATES)
    return tuple(_rule(row) for row in facts.rows("state_transitions") if row["from"] in (state, "any"))


@cache
def _open(state: str, conditions: Conditions, options: Options) -> tuple[Transition, ...]:
    """The rows of a state that can apply, whatever the word: what they ask besides its bits is met."""
    met = {
        "": True,
        "standstill": conditions.standstill,
        "moving": not conditions.standstill,
        "local": conditions.local,
        "cause gone": not conditions.cause_present,
    }
    return tuple(
        rule
        for rule in rules(state)
        if met[rule.needs]
        and not (rule.mask and conditions.local)
        and (not rule.option or getattr(options, rule.option) == rule.choice)
    )


def transitions(options: Options = USUAL) -> tuple[Transition, ...]:
    """All rows that lead from one state to another on a drive with these options: the arrows of the diagram.

    >>> sorted(rule.before for rule in transitions() if rule.after == "operation")
    ['disabling operation', 'ramp stop', 'switched on']
    """
    return tuple(
        rule
        for state in STATES
        for rule in rules(state)
        if rule.before == state != rule.after and (not rule.option or getattr(options, rule.option) == rule.choice)
    )


@cache
def _state_bits(state: str, options: Options) -> int:
    """Bits 0 to 3 and 6 of the status word in a state."""
    number, _ = STATES[state]
    name = "operation" if number in ("S4", "S5") else state
    shown = facts.one("drive_states", name=name).whole("status_bits")
    if number == "S5" and options.bit_2_stopping == "0":
        shown &= ~(1 << 2)
    if state == "ramp stop" and options.bit_1_ramp == "0":
        shown &= ~(1 << 1)
    if state == "fault" and options.bit_6_fault == "1":
        shown |= 1 << 6
    return shown


def status_word(state: str, taken: int, conditions: Conditions = CALM, options: Options = USUAL) -> int:
    """The status word a drive shows in a state.

    Parameters: state, one of `STATES`; taken, the control word taken over last; conditions and options as
    for `step`. Bits 0 to 3 and 6 come from `data/drive_states.csv`, bits 4 and 5 from bits 1 and 2 of the
    control word. Bits 11 to 15 are the maker's and stay 0 here.

    >>> from helpers.drive.words import spelled
    >>> spelled(status_word("operation", 0x047F, Conditions(at_setpoint=True)))
    '16#0337'
    """
    one_of("state", state, STATES)
    no_coast_stop = conditions.local or bool(taken & 1 << 1)
    no_quick_stop = (conditions.local or bool(taken & 1 << 2)) and state != "quick stop"
    return (
        _state_bits(state, options)
        | no_coast_stop << 4
        | no_quick_stop << 5
        | conditions.warning << 7
        | conditions.at_setpoint << 8
        | (not conditions.local) << 9
        | conditions.comparison_reached << 10
    )


def step(
    state: str,
    previous: int | str,
    control: int | str,
    conditions: Conditions = CALM,
    options: Options = USUAL,
) -> Step:
    """The next state, the status word and the sentence why.

    Parameters: state, one of `STATES`; previous, the word the drive took over last (16#0000 after power-up);
    control, the word that arrives; conditions, what else the drive knows; options, the points on which
    drives differ.

    >>> step("switching on inhibited", 0x0000, "16#047F").why[:59]
    'Switching on is inhibited and bit 0 is already 1. Bit 0 mus'
    >>> step("ready for switching on", 0x047E, "16#047F").after
    'switched on'
    """
    before, arrived = word(previous), word(control)
    risen = arrived & ~before
    rule = next(
        r for r in _open(state, conditions, options) if arrived & r.mask == r.value and risen & r.rises == r.rises
    )
    after = state if rule.after == "any" else rule.after
    # What the drive does of itself leaves the bits as they were seen: where bit 0 stood at 1, ON needs its fall first.
    taken = arrived if arrived & CONTROL_BY_PLC else before
    return Step(
        state,
        after,
        taken,
        status_word(after, taken, conditions, options),
        rule.why,
        rule.caution,
        rule.source,
        rule.standing,
    )


def settle(
    state: str,
    previous: int | str,
    control: int | str,
    conditions: Conditions = CALM,
    options: Options = USUAL,
    *,
    wait: bool = True,
) -> tuple[Step, ...]:
    """All steps that one word leads through; at least one. With `wait`, a stop is given the time to reach standstill.

    >>> [step.after for step in settle("ready for switching on", 0x047E, 0x047F)]
    ['switched on', 'operation']
    >>> [step.after for step in settle("operation", 0x047F, 0x047E)]
    ['ramp stop', 'ready for switching on']
    """
    known = conditions
    steps = [step(state, previous, control, known, options)]
    while True:
        last = steps[-1]
        following = step(last.after, last.taken, control, known, options)
        if following.changed:
            steps.append(following)
        elif wait and not known.standstill and STATES[last.after][1] and last.after != "operation":
            known = replace(known, standstill=True)
        else:
            return tuple(steps)


def next_states(
    state: str,
    previous: int,
    words: npt.NDArray[np.int64],
    conditions: Conditions = CALM,
    options: Options = USUAL,
) -> npt.NDArray[np.int64]:
    """The next state for many control words at once, as positions in `list(STATES)`, same shape as `words`.

    The same rules as in `step`; for looking at all 65 536 words of a state.
    """
    names = list(STATES)
    risen = words & ~previous
    after = np.empty(words.shape, dtype=np.int64)
    for rule in reversed(_open(state, conditions, options)):  # the strongest comes last and overwrites
        fits = (words & rule.mask == rule.value) & (risen & rule.rises == rule.rises)
        after[fits] = names.index(state if rule.after == "any" else rule.after)
    return after


def fault(state: str, *, stop: str = "coast") -> str:
    """The state after an internal fault; stop is the drive's reaction: coast, ramp or quick.

    A drive without pulses has nothing to brake. Source: Eaton manual MN040010EN p.94.

    >>> fault("operation", stop="ramp"), fault("switched on", stop="ramp")
    ('fault reaction', 'fault')
    """
    one_of("state", state, STATES)
    one_of("stop", stop, _STOP_OF_FAULT)
    return _STOP_OF_FAULT[stop] if STATES[state][1] and state != "fault" else "fault"


def acknowledge_at_panel(state: str, conditions: Conditions = CALM) -> str:
    """The state after the acknowledge key of the drive's own panel: as over the bus, once the cause is gone."""
    one_of("state", state, STATES)
    cleared = state == "fault" and not conditions.cause_present
    return "switching on inhibited" if cleared else state


def power_up(conditions: Conditions = CALM) -> str:
    """The state after power off and on: inhibited, or the fault again if its cause is still there.

    The word taken over last is then 16#0000.
    """
    return "fault" if conditions.cause_present else "switching on inhibited"


def model_state(status: int | str) -> str:
    """The state of the model that a status word shows, or an empty text; a fault goes before all else.

    >>> model_state("16#0238"), model_state("16#0237"), model_state("16#0217")
    ('fault', 'operation', 'quick stop')
    """
    bits = word(status)
    reading = state_shown(bits)
    if reading.fault:
        return "fault reaction" if bits & 0x0004 else "fault"
    if reading.name == "operation" and not bits & 0x0020:
        return "quick stop"
    return reading.name if reading.name in STATES else ""
