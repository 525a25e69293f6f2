"""`diagnosis`: what the diagnosis of a station means, what to look at first, and what to do."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from helpers.bus.recording.diagnosis_answer import diagnosis_answer
from helpers.shell.command import Command
from helpers.shell.text import say


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("octets", nargs="+", help="the octets of the diagnosis, or the whole telegram that bears them")
    parser.add_argument("--all", "--bits", action="store_true", help="every octet and every bit, blocks included")
    parser.add_argument("--dpv1", action="store_true", help="the station works by DPV1: read its own blocks as alarms")
    parser.add_argument("--sources", action="store_true", help="say where each meaning is printed")


def _run(asked: Namespace) -> int:
    answer = diagnosis_answer(" ".join(asked.octets), dpv1=asked.dpv1 or None)
    return say(answer, everything=asked.all, sources=asked.sources)


DIAGNOSIS = Command(
    "diagnosis",
    "what a station's diagnosis means, what to look at first, what to do",
    """\
$ python -m helpers diagnosis 06 0C 00 01 FF F1
Configuration refused. The data format in the controller is not the one in the station.
...
reports    what it means                 look at first                 what to do
Cfg_Fault  the configuration that was    Which data format is set in   Make them the same. A change
           sent is not the one the       the station, and which in     in the drive often counts
...

$ python -m helpers diagnosis 68 0E 0E 68 81 8C 08 3E 3C 08 0C 00 01 FF F1 80 42 A6 FC 16 --all
In data exchange, with a fault of its own. The bus works. The station reports a fault of its own.
...
9       A6     type and error         word: line break
...
""",
    _arguments,
    _run,
)
