"""`state`: what a control word does to a drive, why it does not start, and which words lead to a wish."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from dataclasses import fields

from helpers.caution import WARNING, Caution
from helpers.drive.command_sequence import shortest, wishes
from helpers.drive.obstacles import obstacles
from helpers.drive.states import STATES, Conditions, Options, Step, settle
from helpers.drive.words import spelled, word
from helpers.errors import Unreadable, one_of
from helpers.safe_work import cautions, in_words
from helpers.shell.command import Command
from helpers.shell.text import paragraph, table


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("state", help=f"the drive is in: {', '.join(STATES)}")
    parser.add_argument("previous", nargs="?", default="0", help="the word it took over last (after power-up: 0)")
    parser.add_argument("control", nargs="?", help="the control word that comes; or instead of it --wish")
    parser.add_argument("--wish", help=f"which words lead to: {', '.join(wishes())}")
    parser.add_argument("--standstill", action="store_true", help="the motor stands")
    parser.add_argument("--local", action="store_true", help="the drive is led from its own panel")
    parser.add_argument("--cause", action="store_true", help="the cause of the fault is still there")
    parser.add_argument("--setpoint", help="the setpoint word, if it is known")
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
    if asked.wish is not None:
        found = shortest(asked.wish, asked.state, asked.previous, conditions, options)
        print(paragraph(found.sentence))
        _tell([(spelled(move.word), step) for move in found.moves for step in move.steps])
        return 0
    control = word(asked.control)
    steps = settle(asked.state, asked.previous, control, conditions, options, wait=False)
    setpoint = None if asked.setpoint is None else word(asked.setpoint)
    held = obstacles(asked.state, asked.previous, control, conditions, options, setpoint=setpoint)
    last = steps[-1]
    print(f"{asked.state} → {last.after}, status word {spelled(last.status)}")
    _tell([(spelled(control), step) for step in steps])
    told = {step.why for step in steps}
    reasons = [reason for reason in held if reason not in told]
    if reasons:
        print("\nthis too keeps the motor from its setpoint")
        print("\n".join(paragraph(f"  {reason}", "    ") for reason in reasons))
    return 0


def _tell(steps: list[tuple[str, Step]]) -> None:
    """The steps as a table, then what can hurt."""
    if not steps:
        return
    print()
    print(
        table(
            [
                {"word": sent, "leads to": step.after, "status": spelled(step.status), "why": step.why}
                for sent, step in steps
            ]
        )
    )
    said = [Caution(WARNING, words) for words in dict.fromkeys(step.caution for _, step in steps if step.caution)]
    if any(step.after == "operation" and step.changed for _, step in steps):
        said += cautions("word starts")
    if said:
        print(f"\n{paragraph(in_words(said))}")


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
switching on inhibited → switching on inhibited, status word 16#0270

word     leads to                status   why
16#047F  switching on inhibited  16#0270  Switching on is inhibited and bit 0 is already 1. Bit 0
                                          must go to 0 first: send 16#047E, then 16#047F.

$ python -m helpers state "switched on" 16#047E 16#047F
switched on → operation, status word 16#0237
...
WARNING: The motor starts to turn if the setpoint is not 0. Make sure that nobody is at the machine.
...

$ python -m helpers state fault 16#047F --wish run
Run: send 16#04FE (leads to: ready for switching on), then 16#047F (leads to: operation).
...

$ python -m helpers state operation 16#047F 16#0000 --option "no_control=ramp stop"
operation → ramp stop, status word 16#0237
...
""",
    _arguments,
    _run,
)
