"""Panel for the states of a drive: what a word does and why."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import ipywidgets as widgets

from helpers.answer import Answer, Row
from helpers.caution import WARNING, Caution
from helpers.drive import words
from helpers.drive.obstacles import contradiction, obstacles
from helpers.drive.states import (
    CALM,
    CONTROL_BY_PLC,
    STATES,
    USUAL,
    Conditions,
    Options,
    Step,
    settle,
    status_word,
)
from helpers.drive.timeline import model_state
from helpers.drive.words import spelled
from helpers.errors import WorkbookError
from helpers.panels.drive.drive_fields import CONDITIONS, conditions_field, options_field, roomy, word_field
from helpers.panels.drive.state_diagram import open_ways, state_diagram
from helpers.panels.kit import fields
from helpers.panels.kit.fields import Field
from helpers.panels.kit.panel import Panel
from helpers.safe_work import cautions
from helpers.wording import capital_first

_FAULT, _LED_BY_BUS = 1 << 3, 1 << 9  # of the status word
# The word on which a drive usually rests in a state.
_REST = {
    "switching on inhibited": 0x0000,
    "ready for switching on": 0x047E,
    "switched on": 0x0477,
    "operation": 0x047F,
    "disabling operation": 0x0477,
    "ramp stop": 0x047E,
    "quick stop": 0x047B,
    "fault reaction": 0x047F,
    "fault": 0x047F,
}

# The setpoint goes to the motor only with these bits: ramp generator enabled, setpoint enabled.
_FOLLOWS = words.encode(on=["enable ramp generator", "enable setpoint"])
_MOVING = _FOLLOWS | words.encode(on=["unfreeze ramp generator", "jog 1", "jog 2"])


# -- one word -----------------------------------------------------------------------------------------


def state_view(
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
    if status is not None:
        _fit(status, state, previous, conditions, options)
    steps = settle(state, previous, control, conditions, options, wait=False)
    last = steps[-1]
    follows = last.after == "operation" and not conditions.local and last.taken & _FOLLOWS == _FOLLOWS
    held = obstacles(state, previous, control, conditions, options, setpoint=0 if setpoint_zero else None)
    shown = () if status is None or status & _FAULT else words.deciding(status)
    because = " ".join(dict.fromkeys(step.why for step in steps))
    if shown:
        because = f"Before this word: {' '.join(shown)} With it: {because}"
    told = "the motor can turn" if STATES[last.after][1] else "the motor is not driven"
    if follows and setpoint_zero and control & CONTROL_BY_PLC:  # else this setpoint is not taken over
        told = "the motor is held at standstill by its setpoint of 0"
    # In operation already, the rise of one of these bits alone sets a standing motor going.
    moves = last.after == "operation" and not conditions.local and bool(last.taken & ~previous & _MOVING)
    return Answer(
        f"{_way_in_words(steps)} The drive shows {spelled(last.status)}; {told}.",
        because=because,
        caution=caution_of(steps) or (cautions("bit starts", "word starts") if moves else ()),
        pictures=[state_diagram(last.after, ways(steps), options)],
        rows=[{"this too keeps the motor from its setpoint": reason} for reason in held if reason not in because],
        folded=[
            ("The ways out of this state", _open_rows(last.after, options)),
            (f"The status word {spelled(last.status)} bit by bit", _bit_rows(last.status)),
        ],
        sources=[f"{step.source} ({step.standing})" for step in steps],
    )


def _fit(status: int, state: str, previous: int, conditions: Conditions, options: Options) -> None:
    """Refuse a status word that shows another state, and a word before that cannot have led to it."""
    if not model_state(status):
        raise WorkbookError(f"{spelled(status)} cannot be used. {words.state(status).sentence}")
    if state not in _showing(status):
        raise WorkbookError(f"{spelled(status)} shows {' or '.join(_showing(status))}, not {state}.")
    if bool(status & _LED_BY_BUS) == conditions.local:
        raise WorkbookError("Bit 9 of the status word and “led from its own panel” contradict each other.")
    if conditions.local:
        return
    if wrong := contradiction(state, previous, options):
        raise WorkbookError(wrong)
    for shown, asks, stop in ((4, 1, "OFF2"), (5, 2, "OFF3")):
        is_, expected = (one >> shown & 1 for one in (status, status_word(state, previous, conditions, options)))
        if is_ != expected:
            raise WorkbookError(
                f"Status bit {shown} is {is_}: {stop} is {'not ' if is_ else ''}active; bit {asks} of the word before, "
                f"{spelled(previous)}, is {previous >> asks & 1}. "
                + ("Then this word has not reached the drive." if is_ else
                   "Then an input of the drive asks for the stop, or the drive gets another word (byte order).")
            )  # fmt: skip


def _showing(status: int) -> list[str]:
    """The states that show such a status word: more than one while a drive stops."""
    shown = model_state(status)
    return [shown, "ramp stop", "disabling operation"] if shown in ("operation", "switched on") else [shown]


def _fitting(state: str, status: int) -> int:
    """A word before that fits a state and the stops in its status word."""
    if state != "switching on inhibited":
        return _REST[state]
    stops = status >> 3 & 0b110  # status bits 4 and 5 stand for control bits 1 and 2
    return _REST["operation"] & ~0b110 | stops if stops else 0


def _way_in_words(steps: Sequence[Step]) -> str:
    if not any(step.changed for step in steps):
        return f"The state stays: {steps[0].before}."
    way = " → ".join([steps[0].before, *(step.after for step in steps if step.changed)])
    return f"{capital_first(way)}."


def ways(steps: Sequence[Step]) -> list[tuple[str, str]]:
    """The changes of state on this way, each from where to where."""
    return [(step.before, step.after) for step in steps if step.changed]


def caution_of(steps: Sequence[Step]) -> tuple[Caution, ...]:
    """What can hurt on this way; where pulses come, what to do before the word is sent."""
    said = tuple(Caution(WARNING, words) for words in dict.fromkeys(step.caution for step in steps if step.caution))
    starts = any(step.after == "operation" and step.changed for step in steps)
    return (*said, *cautions("word starts")) if starts else said


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


def state_fields(state: str, previous: int) -> dict[str, Field]:
    """State and word before; a state that cannot rest on the word gets one on which it does."""
    given = {
        "state": roomy(fields.choice("the drive is in", STATES, state)),
        "previous": roomy(fields.text("word before", spelled(previous), words.word)),
    }

    def rest(_: Any) -> None:
        chosen, line = given["state"].widget.value, given["previous"].widget
        try:
            fits = not contradiction(chosen, words.word(line.value))
        except WorkbookError:
            return  # the panel says that it cannot be read
        if not fits:
            line.value = spelled(_REST[chosen])

    given["state"].widget.observe(rest, "value")
    return given


def _if_known(typed: str) -> int | None:
    return words.word(typed) if typed.strip() else None


def state_panel() -> Panel:
    """A status word, the word before and a control word: what follows, and why."""
    control = word_field("control word", 0x047F)
    go_on = widgets.Button(
        description="Go on from there",
        tooltip="Takes the state and the word over, so that you can send the next word",
        layout=widgets.Layout(width="290px"),
    )
    line = roomy(fields.text("status word", spelled(status_word("switching on inhibited", 0)), _if_known))
    given = {
        "status": line,
        **state_fields("switching on inhibited", 0),
        "control": Field(control.widget, control.read, around=widgets.VBox([control.around, go_on])),
        "conditions": conditions_field(),
        "setpoint_zero": fields.tick("the setpoint is 0"),
        "options": options_field(),
    }
    ticks = dict(zip(CONDITIONS, given["conditions"].widget.parts, strict=True))
    busy = False

    def follow_status(_: Any) -> None:
        """The state, the ticks and, where it does not fit, the word before follow a status word that is typed."""
        nonlocal busy
        try:
            status = words.word(line.widget.value)
        except WorkbookError:
            return
        shown = model_state(status)
        if busy or not shown:
            return
        busy = True
        if given["state"].widget.value not in _showing(status):
            given["state"].widget.value = shown
        for name, bit, value in (("local", 9, 0), ("at_setpoint", 8, 1), ("warning", 7, 1)):
            ticks[name].value = status >> bit & 1 == value
        try:
            _fit(status, *(given[name].value for name in ("state", "previous", "conditions", "options")))  # type: ignore[arg-type]
        except WorkbookError:
            given["previous"].widget.value = spelled(_fitting(shown, status))
        busy = False

    def follow_drive(_: Any) -> None:
        """The status word follows the state and the ticks."""
        nonlocal busy
        if busy:
            return
        try:
            shown = status_word(*(given[name].value for name in ("state", "previous", "conditions", "options")))  # type: ignore[arg-type]
        except WorkbookError:
            return
        busy = True
        line.widget.value = spelled(shown)
        busy = False

    panel = Panel(
        "What does this word do, and why does the drive not start?",
        given,
        state_view,
        hint="Read the drive's status word first (empty: not known), then the word before; they must fit. Type the "
        "control word, or press its bits (bit 15 at the upper left). This is a model: no drive hears it.",
    )

    def proceed(_: Any) -> None:
        nonlocal busy
        try:
            asked: dict[str, Any] = {name: field.value for name, field in panel.fields.items()}
        except WorkbookError:
            return  # the panel says already which field cannot be read
        del asked["setpoint_zero"], asked["status"]
        last = settle(**asked, wait=False)[-1]
        busy = True
        given["state"].widget.value = last.after
        given["previous"].widget.value = spelled(last.taken)
        busy = False
        follow_drive(None)

    line.widget.observe(follow_status, "value")
    for name in ("state", "conditions", "options"):
        given[name].widget.observe(follow_drive, "value")
    go_on.on_click(proceed)
    return panel
