"""`state`: what a control word does to a drive, why it does not start, and which words lead to a wish."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from dataclasses import fields

from helpers.drive.command_sequence import wishes
from helpers.drive.state_answers import state_answer, wish_answer
from helpers.drive.states import STATES, Conditions, Options
from helpers.drive.words import word
from helpers.errors import Unreadable, one_of
from helpers.shell.command import Command
from helpers.shell.text import say


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("state", help=f"the drive is in: {', '.join(STATES)}")
    parser.add_argument("previous", nargs="?", default="0", help="the word it took over last (after power-up: 0)")
    parser.add_argument("control", nargs="?", help="the control word that comes; or instead of it --wish")
    parser.add_argument("--wish", help=f"which words lead to: {', '.join(wishes())}")
    parser.add_argument("--standstill", action="store_true", help="the motor stands")
    parser.add_argument("--local", action="store_true", help="the drive is led from its own panel")
    parser.add_argument("--cause", action="store_true", help="the cause of the fault is still there")
    parser.add_argument("--setpoint", help="the setpoint word, if it is known")
    parser.add_argument("--all", action="store_true", help="the ways out of the state and the status word too")
    parser.add_argument(
        "--option", action="append", default=[], metavar="NAME=CHOICE", help=f"how this drive differs: {_listed()}"
    )


def _listed() -> str:
    return ", ".join(f"{field.name}={field.default}" for field in fields(Options)) + " are taken without it"


def _run(asked: Namespace) -> int:
    one_of("state", asked.state, STATES)
    conditions = Conditions(standstill=asked.standstill, local=asked.local, cause_present=asked.cause)
    options = _options(asked.option)
    if (asked.wish is None) == (asked.control is None):
        raise Unreadable(
            'give either the word that comes, as in: state "switched on" 16#047E 16#047F, or a wish, as in: '
            "state fault --wish run"
        )
    previous, drive = word(asked.previous), (conditions, options)
    if asked.wish is not None:
        return say(wish_answer(asked.wish, asked.state, previous, None, *drive), everything=asked.all)
    zero = asked.setpoint is not None and word(asked.setpoint) == 0
    return say(state_answer(asked.state, previous, word(asked.control), *drive, zero), everything=asked.all)


def _options(given: list[str]) -> Options:
    chosen = {}
    for text in given:
        name, _, choice = text.partition("=")
        one_of("option", name.strip(), [field.name for field in fields(Options)])
        chosen[name.strip()] = choice.strip()
    return Options(**chosen)


STATE = Command(
    "state",
    "what a control word does to a drive, and why it does not start",
    """\
$ python -m helpers state "switching on inhibited" 0 16#047F
The state stays: switching on inhibited. The drive shows 16#0270; the motor is not driven.
With 16#047F: Switching on is inhibited and bit 0 is already 1. Bit 0 must go to 0 first: send
16#047E, then 16#047F.

with --all: The ways out of this state; The status word 16#0270 bit by bit

$ python -m helpers state "switched on" 16#047E 16#047F
Switched on → operation. The drive shows 16#0237; the motor can turn.
...
WARNING: The motor starts to turn if the setpoint is not 0. Make sure that nobody is at the machine.
...

$ python -m helpers state fault 16#047F --wish run
Run: send 16#04FE (leads to: ready for switching on), then 16#047F (leads to: operation).
...

$ python -m helpers state operation 16#047F 16#0000 --option "no_control=ramp stop"
Operation → ramp stop. The drive shows 16#0237; the motor can turn.
...
""",
    _arguments,
    _run,
)
