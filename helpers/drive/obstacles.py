"""Why a drive does not turn, and what cannot be: a state that does not fit the word a drive is said to hold."""

from __future__ import annotations

from helpers.drive.states import CALM, CONTROL_BY_PLC, STATES, USUAL, Conditions, Options, settle, step
from helpers.drive.words import bits, spelled, word
from helpers.errors import one_of

# The bits that the motor needs to follow its setpoint once it is in operation, and those that lead there.
_FOLLOWING, _NEEDED = 0b0000_0111_0000, 0b0100_0111_1110


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
