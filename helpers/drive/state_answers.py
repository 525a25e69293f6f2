"""Answers: what a control word does to a drive, which words lead to a wish, what a stopped controller leads to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from helpers.answer import Answer, Row
from helpers.caution import WARNING, Caution
from helpers.drive import words
from helpers.drive.command_sequence import shortest
from helpers.drive.obstacles import obstacles, status_contradiction
from helpers.drive.states import (
    CALM,
    CONTROL_BY_PLC,
    STATES,
    USUAL,
    Conditions,
    Options,
    Step,
    Transition,
    settle,
    status_word,
    transitions,
)
from helpers.drive.words import spelled
from helpers.errors import WorkbookError
from helpers.safe_work import cautions
from helpers.wording import capital_first

Way = tuple[str, str]

_FAULT = 1 << 3  # of the status word
# The setpoint goes to the motor only with these bits: ramp generator enabled, setpoint enabled.
_FOLLOWS = words.encode(on=["enable ramp generator", "enable setpoint"])
_MOVING = _FOLLOWS | words.encode(on=["unfreeze ramp generator", "jog 1", "jog 2"])


@dataclass(frozen=True)
class StatePicture:
    """All states: the one of now, the ways that led there in their order, and the ways that are open.

    The ways taken bear the `numbers`, without them 1, 2, 3 …
    """

    now: str
    taken: tuple[Way, ...] = ()
    options: Options = USUAL
    numbers: tuple[int, ...] = ()

    @property
    def open_ways(self) -> tuple[OpenWay, ...]:
        """The ways out of the state of now."""
        return open_ways(self.now, self.options)

    @property
    def says(self) -> str:
        """The state, the way to it and the states that can follow."""
        led = " → ".join([*(before for before, _ in self.taken), self.now]) if self.taken else "none"
        follow = "; ".join(f"{way.letter}: {way.after}" for way in self.open_ways)
        return f"States of a drive. Now: {self.now}. Way taken: {led}. Can follow: {follow}."


@dataclass(frozen=True)
class OpenWay:
    """A way out of a state: its letter, where it leads, what it asks for, and the sentence of the first rule."""

    letter: str
    after: str
    asks: str
    why: str


def open_ways(state: str, options: Options = USUAL) -> tuple[OpenWay, ...]:
    """The ways out of a state on a drive with these options, one for each state that can follow.

    >>> [(way.letter, way.after, way.asks) for way in open_ways("ready for switching on")][1:]
    [('B', 'switched on', 'bit 0 rises, bits 1, 2 = 1')]
    """
    by_goal: dict[str, list[Transition]] = {}
    for rule in transitions(options):
        if rule.before == state:
            by_goal.setdefault(rule.after, []).append(rule)
    return tuple(
        OpenWay(letter, after, "; or ".join(asks(rule) for rule in rules), rules[0].why)
        for letter, (after, rules) in zip("ABCDEFGH", by_goal.items(), strict=False)
    )


def asks(rule: Transition) -> str:
    """What a rule asks for, in words: its bits, and what else must be so.

    >>> from helpers.drive.states import rules
    >>> [asks(rule) for rule in rules("fault") if rule.after == "switching on inhibited"]
    ['bit 7 rises, the cause is gone']
    """
    # That bit 10 is 1 goes without saying, unless a rule asks for the contrary.
    ones = rule.value & ~rule.rises & ~CONTROL_BY_PLC
    zeros = rule.mask & ~rule.value
    needs = {"standstill": "the motor stands", "moving": "the motor still turns", "cause gone": "the cause is gone"}
    parts = [
        f"{_numbered(rule.rises)} rises" if rule.rises else "",
        f"{_numbered(ones)} = 1" if ones else "",
        f"{_numbered(zeros)} = 0" if zeros else "",
        needs.get(rule.needs, rule.needs),
    ]
    return ", ".join(part for part in parts if part)


def _numbered(mask: int) -> str:
    numbers = [str(bit) for bit in range(16) if mask >> bit & 1]
    return f"bit{'s' if len(numbers) > 1 else ''} {', '.join(numbers)}"


# -- one word -----------------------------------------------------------------------------------------


def state_answer(
    state: str,
    previous: int,
    control: int,
    conditions: Conditions = CALM,
    options: Options = USUAL,
    setpoint_zero: bool = False,
    status: int | None = None,
) -> Answer:
    """What one control word does: the next state, the status word, the reason, and what keeps the motor still.

    With the status word that the drive shows now, what does not fit together is refused.
    """
    if status is not None and (wrong := status_contradiction(status, state, previous, conditions, options)):
        raise WorkbookError(wrong)
    steps = settle(state, previous, control, conditions, options, wait=False)
    last = steps[-1]
    follows = last.after == "operation" and not conditions.local and last.taken & _FOLLOWS == _FOLLOWS
    held = obstacles(state, previous, control, conditions, options, setpoint=0 if setpoint_zero else None)
    shown = () if status is None or status & _FAULT else words.deciding(status)
    why = " ".join(dict.fromkeys(step.why for step in steps))
    because = f"With {spelled(control)}: {why}"
    if shown:
        because = f"Before this word: {' '.join(shown)} {because}"
    motor = "the motor can turn" if STATES[last.after][1] else "the motor is not driven"
    if follows and setpoint_zero and control & CONTROL_BY_PLC:  # else this setpoint is not taken over
        motor = "the motor is held at standstill by its setpoint of 0"
    # In operation already, the rise of one of these bits alone sets a standing motor going.
    moves = last.after == "operation" and not conditions.local and bool(last.taken & ~previous & _MOVING)
    return Answer(
        f"{_way_in_words(steps)} The drive shows {spelled(last.status)}; {motor}.",
        because=because,
        caution=_caution_of(steps) or (cautions("bit starts", "word starts") if moves else ()),
        pictures=[StatePicture(last.after, _ways(steps), options)],
        rows=[{"this too keeps the motor from its setpoint": reason} for reason in held if reason not in because],
        folded=[
            ("The ways out of this state", _open_rows(last.after, options)),
            (f"The status word {spelled(last.status)} bit by bit", _bit_rows(last.status)),
        ],
        sources=_cited(steps),
    )


def _way_in_words(steps: Sequence[Step]) -> str:
    if not any(step.changed for step in steps):
        return f"The state stays: {steps[0].before}."
    way = " → ".join([steps[0].before, *(step.after for step in steps if step.changed)])
    return f"{capital_first(way)}."


def _ways(steps: Sequence[Step]) -> tuple[Way, ...]:
    """The changes of state on this way, each from where to where."""
    return tuple((step.before, step.after) for step in steps if step.changed)


def _caution_of(steps: Sequence[Step]) -> tuple[Caution, ...]:
    """What can hurt on this way; where pulses come, what to do before the word is sent."""
    standing = tuple(Caution(WARNING, words) for words in dict.fromkeys(step.caution for step in steps if step.caution))
    starts = any(step.after == "operation" and step.changed for step in steps)
    return (*standing, *cautions("word starts")) if starts else standing


def _open_rows(state: str, options: Options) -> list[Row]:
    return [
        {"way": way.letter, "leads to": way.after, "asks for (with bit 10 = 1)": way.asks, "why": way.why}
        for way in open_ways(state, options)
    ]


def _bit_rows(status: int) -> list[Row]:
    return [
        {
            "bit": f"{row.bit}{' ◆' if row.holds else ''}",
            "value": row.value,
            "name": row.name,
            "what it says now": row.meaning,
        }
        for row in words.decode(status, "status")
    ]


# -- from a wish to words -----------------------------------------------------------------------------


def wish_answer(
    wish: str,
    state: str,
    previous: int,
    step: int | None = None,
    conditions: Conditions = CALM,
    options: Options = USUAL,
) -> Answer:
    """The shortest sequence of control words for a wish; with `step`, as far as it has been played, from 0 on."""
    sequence = shortest(wish, state, previous, conditions, options)
    sent = [(f"{n}. {spelled(move.word)}", taken) for n, move in enumerate(sequence.moves, 1) for taken in move.steps]
    steps = [taken for _, taken in sent]
    played = steps[:step]
    now = played[-1].after if played else state
    status = played[-1].status if played else status_word(state, previous, conditions, options)
    why = played[-1].why if played else "Nothing has been sent yet." if steps else ""
    place = f"Step {len(played)} of {len(steps)}: {now}, the drive shows {spelled(status)}. {why}" if steps else ""
    numbers = tuple(n for n, taken in enumerate(played, 1) if taken.changed)
    return Answer(
        sequence.sentence,
        because="" if step is None else place,
        caution=_caution_of(steps),
        pictures=[StatePicture(now, _ways(played), options, numbers)],
        rows=[
            {
                "step": n,
                "word": word,
                "leads to": taken.after,
                "status word": spelled(taken.status),
                **({"why": taken.why} if step is None else {"shown": _shown(n, len(played))}),
            }
            for n, (word, taken) in enumerate(sent, 1)
        ],
        folded=[]
        if step is None
        else [("Why, step by step", [{"step": n, "why": taken.why} for n, taken in enumerate(steps, 1)])],
        sources=_cited(steps),
    )


def _shown(step: int, played: int) -> str:
    """How far a sequence has been played, beside one of its steps."""
    return "◀ here" if step == played else "✓" if step < played else ""


# -- the controller stops -----------------------------------------------------------------------------

AFTER_STOP = {
    "zeros (16#0000)": 0x0000,
    "ready to start (16#047E)": 0x047E,
    "all stops (16#0400)": 0x0400,
    "run, kept as it is (16#047F)": 0x047F,
}

_DRIVES = {"ignored": "a drive that ignores it (bit 10 = 0)", "ramp stop": "a drive that then ramps down"}


def stop_answer(sent: int, options: Options = USUAL) -> Answer:
    """What a running motor does when its controller goes to stop and sends this word."""
    steps = settle("operation", 0x047F, sent, CALM, options, wait=False)
    last = steps[-1]
    rest = settle("operation", 0x047F, sent, CALM, options)[-1]
    runs_on = last.after == "operation"
    if runs_on:
        sentence = f"{spelled(sent)}: the motor runs on, although the controller has stopped."
    elif STATES[last.after][1]:
        sentence = f"{spelled(sent)}: the drive brakes ({last.after}); at standstill it is {rest.after}."
    else:
        sentence = f"{spelled(sent)}: the pulses are off at once and the motor coasts; the drive is {last.after}."
    return Answer(
        sentence,
        because=" ".join(dict.fromkeys(step.why for step in steps)),
        caution=_caution_of(steps) or (cautions("runs on") if runs_on else ()),
        pictures=[StatePicture(last.after, _ways(steps), options)],
        rows=[
            {"the controller sends": name, **{head: _end(word, choice) for choice, head in _DRIVES.items()}}
            for name, word in AFTER_STOP.items()
        ],
        sources=_cited(steps),
    )


def _end(word: int, no_control: str) -> str:
    steps = settle("operation", 0x047F, word, CALM, Options(no_control=no_control), wait=False)
    after = steps[-1].after
    if after == "operation":
        return "▲ runs on"
    return f"● brakes: {after}" if STATES[after][1] else "● coasts"


def _cited(steps: Sequence[Step]) -> list[str]:
    return [f"{step.source} ({step.standing})" for step in steps]
