"""Why a drive does not turn, and what cannot be: a state that does not fit its status word or the word it took over."""

from __future__ import annotations

from helpers.drive.states import (
    CALM,
    CONTROL_BY_PLC,
    STATES,
    USUAL,
    Conditions,
    Options,
    model_state,
    settle,
    status_word,
    step,
)
from helpers.drive.words import bits, spelled, word
from helpers.drive.words import state as state_shown
from helpers.errors import one_of

# The bits that the motor needs to follow its setpoint once it is in operation, and those that lead there.
_FOLLOWING, _NEEDED = 0b0000_0111_0000, 0b0100_0111_1110
_LED_BY_BUS = 1 << 9  # of the status word
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


def obstacles(
    state: str,
    previous: int | str,
    control: int | str,
    conditions: Conditions = CALM,
    options: Options = USUAL,
    *,
    setpoint: int | None = None,
) -> tuple[str, ...]:
    """Why the drive does not turn: first what holds it now, then what would hold it afterwards; empty if nothing does.

    In operation the word in force counts: with bit 10 at 0 that is the one before, and the setpoint beside this word
    is not taken over. A motor that is being stopped needs no reason. Parameters as for `step`; setpoint, if known.

    >>> obstacles("operation", 0x047F, 0x047F, setpoint=0)
    ('The setpoint is 0: the motor is held at standstill.',)
    """
    arrived = word(control)
    steps = settle(state, previous, arrived, conditions, options, wait=False)
    last = steps[-1]
    if STATES[last.after][1]:
        if last.after != "operation" or conditions.local:
            return ()
        looked_at, needed = last.taken | CONTROL_BY_PLC, _FOLLOWING
        told = [step(last.after, looked_at, looked_at, conditions, options).why]
        reasons = told if needed & ~looked_at else []
        setpoint = setpoint if arrived & CONTROL_BY_PLC else None
    else:
        looked_at, needed = arrived, _NEEDED
        told, reasons = [one.why for one in steps], [last.why]
    for bit in bits("control"):
        missing = needed & ~looked_at & 1 << bit.number
        if missing and not any(f"it {bit.number} is 0" in sentence for sentence in told):
            reasons = [*reasons, f"Bit {bit.number} is 0: {bit.zero}."]
    return (*reasons, *(["The setpoint is 0: the motor is held at standstill."] if setpoint == 0 else []))


def contradiction(state: str, taken: int | str, options: Options = USUAL) -> str:
    """Why a drive that is led by the bus cannot rest in a state on the word it took over last; empty if it can.

    >>> contradiction("ready for switching on", 0x047E)
    ''
    >>> contradiction("switching on inhibited", 0x047E)[:67]
    'After 16#047E the drive would be ready for switching on, not switch'
    """
    one_of("state", state, STATES)
    last = word(taken)
    if not last & CONTROL_BY_PLC:
        if not last and state in ("switching on inhibited", "fault"):
            return ""
        return (
            f"{spelled(last)} has bit 10 at 0: a drive that is {state} has not taken it over. Give the last word "
            "before it with bit 10 at 1; 16#0000 is right only after power-up, inhibited or in a fault."
        )
    rests = settle(state, last, last, CALM, options, wait=False)[-1].after
    if rests == state:
        return ""
    return (
        f"After {spelled(last)} the drive would be {rests}, not {state}. Read both once more. If they stay so, this "
        "word does not reach it (byte order, data exchange), or one of its inputs holds it."
    )


def status_contradiction(status: int, state: str, previous: int, conditions: Conditions, options: Options) -> str:
    """Why a drive cannot show a status word in this state after this word; empty if it can.

    >>> status_contradiction(0x0231, "operation", 0x047F, CALM, USUAL)
    '16#0231 shows ready for switching on, not operation.'
    """
    if not model_state(status):
        return f"{spelled(status)} cannot be used. {state_shown(status).sentence}"
    if state not in states_showing(status):
        return f"{spelled(status)} shows {' or '.join(states_showing(status))}, not {state}."
    if bool(status & _LED_BY_BUS) == conditions.local:
        return "Bit 9 of the status word and “led from its own panel” contradict each other."
    if conditions.local:
        return ""
    return contradiction(state, previous, options) or _stop_contradiction(
        status, status_word(state, previous, conditions, options), previous
    )


def _stop_contradiction(status: int, expected: int, previous: int) -> str:
    """A stop that the status word shows and the word before did not ask for, or the other way round."""
    for shown, asks, stop in ((4, 1, "OFF2"), (5, 2, "OFF3")):
        value = status >> shown & 1
        if value != expected >> shown & 1:
            return (
                f"Status bit {shown} is {value}: {stop} is {'not ' if value else ''}active; bit {asks} of the word "
                f"before, {spelled(previous)}, is {previous >> asks & 1}. "
                + ("Then this word has not reached the drive." if value else
                   "Then an input of the drive asks for the stop, or the drive gets another word (byte order).")
            )  # fmt: skip
    return ""


def states_showing(status: int) -> tuple[str, ...]:
    """The states that show such a status word: more than one while a drive stops.

    >>> states_showing(0x0231), states_showing(0x0237)[1:]
    (('ready for switching on',), ('ramp stop', 'disabling operation'))
    """
    shown = model_state(status)
    return (shown, "ramp stop", "disabling operation") if shown in ("operation", "switched on") else (shown,)


def resting_word(state: str, status: int | None = None) -> int:
    """A word on which a drive rests in a state; with its status word, one that fits the stops shown there.

    >>> spelled(resting_word("operation")), spelled(resting_word("switching on inhibited", 0x0250))
    ('16#047F', '16#047B')
    """
    if state != "switching on inhibited" or status is None:
        return _REST[state]
    stops = status >> 3 & 0b110  # status bits 4 and 5 stand for control bits 1 and 2
    return _REST["operation"] & ~0b110 | stops if stops else 0
