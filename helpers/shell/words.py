"""`words`: what a control word or a status word says, bit by bit, and what changes from one to the next."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace
from itertools import pairwise

from helpers.drive import words
from helpers.errors import Unreadable
from helpers.safe_work import cautions, in_words
from helpers.shell.command import Command
from helpers.shell.text import paragraph, table

# A control word with these bits, when bit 0 rises, makes a motor turn.
_STARTS = words.encode(on=["on", "enable operation"])


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
    for value in values:
        _tell(value, asked.kind)
        if len(values) == 1:
            print(table([_row(row, asked.sources) for row in reversed(words.decode(value, asked.kind))]))
    for before, after in pairwise(values):
        print(f"\nfrom {words.spelled(before)} to {words.spelled(after)}")
        changes = words.compare(before, after, asked.kind) or ("nothing changes",)
        print("\n".join(paragraph(f"  {line}", "    ") for line in changes))
    if asked.kind == "control" and any(value & _STARTS == _STARTS for value in values):
        print(f"\n{paragraph(in_words(cautions('word starts')))}")
    return 0


def _made(asked: Namespace) -> int | None:
    on, off = ([part.strip() for part in text.split(",") if part.strip()] for text in (asked.on, asked.off))
    if not on and not off:
        return None
    return words.encode(asked.kind, on=on, off=off, start=asked.start)


def _tell(value: int, kind: str) -> None:
    known = words.usual(value, kind)
    print(f"{words.spelled(value)} = {words.pattern(value)} = {value}" + (f": {known.name}" if known else ""))
    if known:
        print(paragraph(known.meaning))
    if kind == "status":
        print(paragraph(words.state(value).sentence))


def _row(row: words.BitRow, sources: bool) -> dict[str, object]:
    cells: dict[str, object] = {"bit": row.bit, "value": row.value, "name": row.name, "meaning": row.meaning}
    return cells | ({"source": f"{row.source} ({row.standing})".strip()} if sources else {})


WORDS = Command(
    "words",
    "what a control word or a status word says, bit by bit",
    """\
$ python -m helpers words status 16#0337
16#0337 = 2#0000_0011_0011_0111 = 823: running at setpoint
operation, speed in tolerance, control requested
The state is operation. A drive that is switching off may show the same bits.
bit  value  name                    meaning
...
3    0      fault                   no fault
2    1      operation enabled       operation enabled: pulses on
...

$ python -m helpers words control 16#047E 16#047F
...
from 16#047E to 16#047F
  Bit 0 (on) rises to 1: ON: the rise from 0 to 1 takes the drive to switched on.
...

$ python -m helpers words control --start 16#047F --off on
16#047E = 2#0000_0100_0111_1110 = 1150: ready to start
...
""",
    _arguments,
    _run,
)
