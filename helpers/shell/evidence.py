"""`evidence`: makes the table by which fault-finding practice marks, of the demo site or of a network of one's own."""

from __future__ import annotations

import sys
from argparse import Namespace

from helpers.shell.command import Command
from helpers.shell.network import add_network, named_networks


def _run(asked: Namespace) -> int:
    # The practice line is large; no other command needs it.
    from helpers.line.evidence.make import make_evidence, make_shipped

    made = make_evidence(named_networks(asked), _told) if asked.plan else (make_shipped(_told),)
    for evidence in made:
        names = ", ".join(stretch.name for stretch in evidence.installation.stretches)
        print(f"Segments {names}: {len(evidence.all)} faults at their places are worked out.")
    return 0 if made else 1


def _told(share: float, words: str) -> None:
    print(f"\r{words}: {share:4.0%}", end="" if share < 1 else "\n", file=sys.stderr, flush=True)


EVIDENCE = Command(
    "evidence",
    "work out what every single fault lets the instruments say, for fault-finding practice; takes some minutes",
    """\
$ python -m helpers evidence --plan "Saltmarsh Mill"
Segments 1, 2: 351 faults at their places are worked out.
""",
    arguments=add_network,
    run=_run,
)
