"""`isolation`: isolation, every step, before a hand goes into a cabinet, a drive or a machine."""

from __future__ import annotations

from argparse import Namespace

from helpers import safe_work
from helpers.shell.command import Command
from helpers.shell.text import paragraph


def _run(_: Namespace) -> int:
    for line in safe_work.whole():
        print(paragraph(line, "    "))
    return 0


ISOLATION = Command(
    "isolation",
    "isolation, every step: before a hand goes into a cabinet, a drive or a machine",
    """\
$ python -m helpers isolation
...
 1. Switch the machine off by its own procedure.
...
11. Earth and short-circuit where local rules ask for it.
...
""",
    run=_run,
)
