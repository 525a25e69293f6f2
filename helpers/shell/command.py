"""What a command of the shell is: a name, a line of help, examples, its arguments and one function."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from collections.abc import Callable
from dataclasses import dataclass


def no_arguments(parser: ArgumentParser) -> None:
    """For a command that has none of its own."""


@dataclass(frozen=True)
class Command:
    """One command. `run` prints its answer and gives the exit status; `parts` are commands below it.

    `examples` are shown at the end of its help: each line that begins with `$` is typed, the lines up to
    the next empty one are the answer. The tests run every one of them.
    """

    name: str
    summary: str
    examples: str = ""
    arguments: Callable[[ArgumentParser], None] = no_arguments
    run: Callable[[Namespace], int] | None = None
    parts: tuple[Command, ...] = ()
