"""Panels for the states of a drive: what a word does and why, the words for a wish, what a stopped controller does."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets

from helpers.answer import Answer
from helpers.drive import words
from helpers.drive.command_sequence import shortest, wishes
from helpers.drive.obstacles import contradiction, resting_word, states_showing, status_contradiction
from helpers.drive.state_answers import AFTER_STOP, StatePicture, state_answer, stop_answer, wish_answer
from helpers.drive.states import STATES, Conditions, Options, model_state, settle, status_word
from helpers.drive.words import spelled
from helpers.errors import WorkbookError
from helpers.panels.drive.drive_fields import CONDITIONS, conditions_field, options_field, roomy, word_field
from helpers.panels.drive.state_diagram import state_diagram
from helpers.panels.kit import fields
from helpers.panels.kit.as_html import Draw
from helpers.panels.kit.fields import Field
from helpers.panels.kit.panel import Panel

DRAW: Draw = {StatePicture: state_diagram}

# -- one word -----------------------------------------------------------------------------------------


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
            line.value = spelled(resting_word(chosen))

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

    def drive() -> tuple[Any, ...]:
        return tuple(given[name].value for name in ("state", "previous", "conditions", "options"))

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
        if given["state"].widget.value not in states_showing(status):
            given["state"].widget.value = shown
        for name, bit, value in (("local", 9, 0), ("at_setpoint", 8, 1), ("warning", 7, 1)):
            ticks[name].value = status >> bit & 1 == value
        try:
            fits = not status_contradiction(status, *drive())
        except WorkbookError:
            fits = False
        if not fits:
            given["previous"].widget.value = spelled(resting_word(shown, status))
        busy = False

    def follow_drive(_: Any) -> None:
        """The status word follows the state and the ticks."""
        nonlocal busy
        if busy:
            return
        try:
            shown = status_word(*drive())
        except WorkbookError:
            return
        busy = True
        line.widget.value = spelled(shown)
        busy = False

    panel = Panel(
        "What does this word do, and why does the drive not start?",
        given,
        state_answer,
        draw=DRAW,
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


# -- from a wish to words -----------------------------------------------------------------------------


def wish_panel() -> Panel:
    """From a wish to the shortest sequence of control words, to be played step by step."""
    play = roomy(fields.play("step", 0, 0, 3, pause_ms=1500))
    given = {
        "wish": roomy(fields.choice("I want to", wishes())),
        **state_fields("switching on inhibited", 0),
        "step": play,
        "conditions": conditions_field(),
        "options": options_field(),
    }

    def fit(_: Any) -> None:
        """The slider ends where the sequence ends, and starts anew with each new question."""
        try:
            asked: dict[str, Any] = {
                name: given[name].value for name in ("wish", "state", "previous", "conditions", "options")
            }
        except WorkbookError:
            return
        count = sum(len(move.steps) for move in shortest(**asked).moves)
        _, button = play.around.children  # type: ignore[union-attr]
        for widget in (play.widget, button):
            widget.value, widget.max = 0, count

    for name, field in given.items():
        if name != "step":
            field.widget.observe(fit, "value")

    def answer(state: str, previous: int, conditions: Conditions, options: Options, **asked: Any) -> Answer:
        if not conditions.local and (wrong := contradiction(state, previous, options)):
            raise WorkbookError(wrong)
        return wish_answer(state=state, previous=previous, conditions=conditions, options=options, **asked)

    return Panel(
        "From a wish to control words",
        given,
        answer,
        draw=DRAW,
        hint="Move the slider, or press play. Each word stays until the drive has done with it; a stop is given the "
        "time to reach standstill.",
    )


# -- the controller stops -----------------------------------------------------------------------------


def stop_panel() -> Panel:
    """The trap: the controller goes to stop, and some drives run on."""
    return Panel(
        "The controller goes to stop: what does the motor do?",
        {
            "sent": roomy(fields.choice("it then sends", list(AFTER_STOP.items()), 0)),
            "options": options_field(),
        },
        stop_answer,
        draw=DRAW,
        hint="The motor was running on 16#047F. What the controller sends when it stops is a setting of the "
        "controller; what the drive makes of bit 10 at 0 is in the drive's manual. Test it with the load off.",
    )
