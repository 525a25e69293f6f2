"""Finds the command that was typed and runs it. A new command is one more entry in `COMMANDS`.

Only what that command needs is imported, so that it answers at once.
"""

from __future__ import annotations

import io
import os
import sys
from argparse import ArgumentParser, RawDescriptionHelpFormatter
from collections.abc import Sequence
from importlib import import_module

from helpers.errors import WorkbookError
from helpers.shell.command import Command
from helpers.wording import capital_first

# Each is a module of its name here, with a `Command` of its name in capitals.
COMMANDS = (
    "plan",
    "address",
    "segment",
    "cycle",
    "telegram",
    "diagnosis",
    "words",
    "state",
    "description",
    "scale",
    "parameter",
    "isolation",
    "evidence",
)

UNREADABLE = 2
# What a shell gives for a command that a signal ended: 128 and the number of the signal, SIGINT or SIGPIPE.
INTERRUPTED, NOBODY_READS = 130, 141

ABOUT = "Quick answers about a PROFIBUS DP network with drives. Each command shows examples with --help."
EXAMPLES = """\
examples:
  python -m helpers plan check data/demo/saltmarsh-mill
  python -m helpers address 16#7E
  python -m helpers segment --length 180 --stations 20 --rate "1.5 Mbit/s"
  python -m helpers cycle --stations 8 --format "PPO 4"
  python -m helpers telegram --file data/demo/bus_recording.txt
  python -m helpers diagnosis 06 0C 00 01 FF F1
  python -m helpers words status 16#0337
  python -m helpers state fault 16#047F --wish run
  python -m helpers scale "0.8 m/s" --machine "Intake conveyor"
  python -m helpers parameter task "read 918"
  python -m helpers description check data/demo/descriptions/Mil_FFF3.gsd
"""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command; gives the exit status: 0 all well, 1 something is not allowed, 2 not understood.

    Ctrl-C gives 130. Where nobody reads the answer any more it is 141.
    """
    for name in ("stdout", "stderr"):
        if getattr(sys, name) is None:  # closed before we began
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115 -- until the end
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # an old console lacks some signs; a ? is better than a crash
    try:
        try:
            asked = _parser(sys.argv[1:] if arguments is None else arguments).parse_args(
                arguments
            )  # which may print a help text and end
            status: int = asked.run(asked)
        finally:
            sys.stdout.flush()
        return status
    except WorkbookError as error:
        print(error, file=sys.stderr)
    except BrokenPipeError:
        _leave_unsaid()
        return NOBODY_READS
    except KeyboardInterrupt:
        return INTERRUPTED
    except OSError as error:
        if not error.filename:
            _leave_unsaid()
        print(f"{error.filename or 'the place for the answer'} can't be used: {error.strerror}.", file=sys.stderr)
    return UNREADABLE


def commands(*names: str) -> list[Command]:
    """The commands of these names, without names all of them."""
    return [getattr(import_module(f"helpers.shell.{name}"), name.upper()) for name in names or COMMANDS]


def _parser(typed: Sequence[str]) -> ArgumentParser:
    parser = ArgumentParser(
        prog="python -m helpers", description=ABOUT, epilog=EXAMPLES, formatter_class=RawDescriptionHelpFormatter
    )
    _add(parser, commands(typed[0]) if typed and typed[0] in COMMANDS else commands())
    return parser


def _leave_unsaid() -> None:
    """Drop what could not be printed, so that Python does not try once more while it ends."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _add(parser: ArgumentParser, commands: Sequence[Command]) -> None:
    listed = parser.add_subparsers(title="commands", metavar="COMMAND", required=True)
    for command in commands:
        below = listed.add_parser(
            command.name,
            help=command.summary,
            description=f"{capital_first(command.summary)}.",
            epilog=f"examples:\n\n{command.examples}" if command.examples else None,
            formatter_class=RawDescriptionHelpFormatter,
        )
        command.arguments(below)
        if command.parts:
            _add(below, command.parts)
        if command.run:
            below.set_defaults(run=command.run)
