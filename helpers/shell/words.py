"""`words`: what a control word or a status word says, bit by bit, and what changes from one to the next."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from itertools import pairwise

from helpers.drive import words
from helpers.drive.word_answers import compare_answer, word_answer
from helpers.errors import Unreadable
from helpers.shell.command import Command
from helpers.shell.text import say, text_of


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("kind", choices=words.KINDS, metavar="KIND", help=", ".join(words.KINDS))
    parser.add_argument("word", nargs="*", help="one word: 16#047F, 1151, 2#0000_0100_0111_1111; or two to compare")
    parser.add_argument("--on", default="", help="make a word: bits that are 1, by number or name: 0,1,2,3")
    parser.add_argument("--off", default="", help="make a word: bits that are 0")
    parser.add_argument("--start", default="0", help="the word to begin with when --on or --off make one (0)")
    parser.add_argument("--sources", action="store_true", help="say where the meaning of each bit is printed")


def _run(asked: Namespace) -> int:
    made = _made(asked)
    values = [words.word(text) for text in asked.word] if made is None else [made]
    if not values:
        raise Unreadable("no word is given; write for example: words status 16#0337, or words control --on 0,1,2")
    if len(values) == 1:
        return say(word_answer(asked.kind, values[0]), sources=asked.sources)
    answers = (compare_answer(asked.kind, before, after) for before, after in pairwise(values))
    print("\n\n".join(text_of(answer, sources=asked.sources) for answer in answers))
    return 0


def _made(asked: Namespace) -> int | None:
    on, off = ([part.strip() for part in text.split(",") if part.strip()] for text in (asked.on, asked.off))
    if not on and not off:
        return None
    return words.encode(asked.kind, on=on, off=off, start=asked.start)


WORDS = Command(
    "words",
    "what a control word or a status word says, bit by bit",
    """\
$ python -m helpers words status 16#0337
16#0337 = 2#0000_0011_0011_0111 = 823. Running at setpoint.
Operation, speed in tolerance, control requested. The state is operation. A drive that is switching
off may show the same bits.

bit  value  name                        what it says now                               standing
...
3    0      fault                       no fault                                       device manual
...

$ python -m helpers words control 16#047E 16#047F
From 16#047E to 16#047F: 1 bit differs.
16#047E: ready to start. 16#047F: run.
...

$ python -m helpers words control --start 16#047F --off on
16#047E = 2#0000_0100_0111_1110 = 1150. Ready to start.
...
""",
    _arguments,
    _run,
)
