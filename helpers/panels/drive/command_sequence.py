"""Panels for words that are to be sent to a drive: the way to what is wanted, and what zeros do."""

from __future__ import annotations

from itertools import chain
from typing import Any

from helpers.answer import Answer
from helpers.drive.command_sequence import shortest, wishes
from helpers.drive.obstacles import contradiction
from helpers.drive.states import (
    CALM,
    STATES,
    USUAL,
    Conditions,
    Options,
    settle,
    status_word,
)
from helpers.drive.words import spelled
from helpers.errors import WorkbookError
from helpers.panels.drive.drive_fields import conditions_field, options_field, roomy
from helpers.panels.drive.state_diagram import state_diagram
from helpers.panels.drive.states import caution_of, state_fields, ways
from helpers.panels.kit import fields
from helpers.panels.kit.panel import Panel
from helpers.safe_work import cautions

# -- from a wish to words -----------------------------------------------------------------------------


def wish_view(
    wish: str,
    state: str,
    previous: int,
    step: int = 99,
    conditions: Conditions = CALM,
    options: Options = USUAL,
) -> Answer:
    """The shortest sequence of control words for a wish, shown up to a step; step 0 is before the first word."""
    found = shortest(wish, state, previous, conditions, options)
    steps = list(chain.from_iterable(move.steps for move in found.moves))
    shown = steps[:step]
    now = shown[-1].after if shown else state
    status = shown[-1].status if shown else status_word(state, previous, conditions, options)
    numbered = [(n, move.word, one) for n, move in enumerate(found.moves, 1) for one in move.steps]
    why = shown[-1].why if shown else "Nothing has been sent yet." if steps else ""
    place = f"Step {len(shown)} of {len(steps)}: {now}, the drive shows {spelled(status)}. " if steps else ""
    return Answer(
        found.sentence,
        because=f"{place}{why}",
        caution=caution_of(steps),
        pictures=[
            state_diagram(now, ways(shown), options, numbers=[n for n, one in enumerate(shown, 1) if one.changed])
        ],
        rows=[
            {
                "step": n,
                "word": f"{word}. {spelled(sent)}",
                "leads to": one.after,
                "status word": spelled(one.status),
                "shown": "◀ here" if n == len(shown) else "✓" if n < len(shown) else "",
            }
            for n, (word, sent, one) in enumerate(numbered, 1)
        ],
        folded=[("Why, step by step", [{"step": n, "why": one.why} for n, one in enumerate(steps, 1)])],
        sources=[f"{one.source} ({one.standing})" for one in steps],
    )


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
        return wish_view(state=state, previous=previous, conditions=conditions, options=options, **asked)

    return Panel(
        "From a wish to control words",
        given,
        answer,
        hint="Move the slider, or press play. Each word stays until the drive has done with it; a stop is given the "
        "time to reach standstill.",
    )


# -- the controller stops -----------------------------------------------------------------------------

_AFTER_STOP = {
    "zeros (16#0000)": 0x0000,
    "ready to start (16#047E)": 0x047E,
    "all stops (16#0400)": 0x0400,
    "run, kept as it is (16#047F)": 0x047F,
}

_DRIVES = {"ignored": "a drive that ignores it (bit 10 = 0)", "ramp stop": "a drive that then ramps down"}


def stop_view(sent: int, options: Options = USUAL) -> Answer:
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
        caution=caution_of(steps) or (cautions("runs on") if runs_on else ()),
        pictures=[state_diagram(last.after, ways(steps), options)],
        rows=[
            {"the controller sends": name, **{head: _end(word, choice) for choice, head in _DRIVES.items()}}
            for name, word in _AFTER_STOP.items()
        ],
        sources=[f"{step.source} ({step.standing})" for step in steps],
    )


def _end(word: int, no_control: str) -> str:
    steps = settle("operation", 0x047F, word, CALM, Options(no_control=no_control), wait=False)
    after = steps[-1].after
    if after == "operation":
        return "▲ runs on"
    return f"● brakes: {after}" if STATES[after][1] else "● coasts"


def stop_panel() -> Panel:
    """The trap: the controller goes to stop, and some drives run on."""
    return Panel(
        "The controller goes to stop: what does the motor do?",
        {
            "sent": roomy(fields.choice("it then sends", list(_AFTER_STOP.items()), 0)),
            "options": options_field(),
        },
        stop_view,
        hint="The motor was running on 16#047F. What the controller sends when it stops is a setting of the "
        "controller; what the drive makes of bit 10 at 0 is in the drive's manual. Test it with the load off.",
    )
