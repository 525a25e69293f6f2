"""`telegram`: a pasted recording telegram by telegram, with pairs and damage; one telegram octet by octet."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from collections import Counter
from collections.abc import Iterator
from contextlib import nullcontext
from typing import TypeVar

from helpers.bus.recording import recording_text, telegram_meaning
from helpers.bus.recording.recording_text import Capture, skipped
from helpers.bus.recording.telegram_meaning import Telegram
from helpers.errors import OutOfRange, in_range
from helpers.files import open_file
from helpers.shell.command import Command
from helpers.shell.text import paragraph, table
from helpers.written import whole

Step = TypeVar("Step")
MOST_SHOWN = 60
_OCTETS_SHOWN = 4
DAMAGED, RUBBISH = "damaged", "rubbish"
ROLES = {
    telegram_meaning.REQUEST: "requests",
    telegram_meaning.ANSWER: "answers",
    telegram_meaning.TOKEN: "tokens",
    telegram_meaning.DAMAGED: DAMAGED,
    telegram_meaning.RUBBISH: RUBBISH,
}
COUNTED = (*ROLES.values(), "unanswered", "repeated")


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("octets", nargs="*", help="hexadecimal in any usual spelling: 10 02 01, 0x10,0x02, 16#10")
    parser.add_argument("--file", help="a file with a recording; - reads what is piped in")
    parser.add_argument(
        "--octet", metavar="N", help="explain every octet of telegram N; a single one is explained anyway"
    )
    parser.add_argument("--unusual", action="store_true", help="only what has a remark: damage, no answer, repetitions")
    parser.add_argument("--most", default=str(MOST_SHOWN), help=f"how many telegrams to show ({MOST_SHOWN})")
    parser.add_argument("--sources", action="store_true", help="with every octet: where its meaning is printed")


def _run(asked: Namespace) -> int:
    recording = _recording(asked)
    for problem in recording.problems[:10]:
        print(paragraph(f"line {problem.line}: {problem.sentence}", "  "))
    if recording.unread > 10:
        print(f"and {recording.unread - 10} more lines that could not be read")
    if asked.octet:
        return _one(recording, whole(asked.octet), asked.sources)
    return _all(recording, whole(asked.most), asked)


def _recording(asked: Namespace) -> Capture:
    if not asked.file:
        return recording_text.read(" ".join(asked.octets))
    with nullcontext(sys.stdin.buffer) if asked.file == "-" else open_file(asked.file) as file:
        reader = recording_text.Reader(file)
        for share in _stoppable(iter(reader)):
            _progress("reading", share)
    return reader.capture


def _stoppable(steps: Iterator[Step]) -> Iterator[Step]:
    """The steps until someone presses Ctrl-C; what has been read by then is shown."""
    try:
        yield from steps
    except KeyboardInterrupt:
        print("stopped; what follows had been read by then", file=sys.stderr)


def _progress(what: str, share: float) -> None:
    if sys.stderr.isatty():
        print(f"\r{what}: {share:4.0%}", end="\n" if share == 1 else "", file=sys.stderr)


def _all(recording: Capture, most: int, asked: Namespace) -> int:
    in_range("telegrams to show", most, 1, 1_000_000)
    shown: list[Telegram] = []
    counted: Counter[str] = Counter()
    number = 0
    for one in _stoppable(telegram_meaning.read(recording.octets)):
        number += 1
        counted.update(_counted(one))
        if len(shown) < most and (one.remark or not asked.unusual):
            shown.append(one)
        if number % 10_000 == 0:
            _progress("explaining", one.at / len(recording.octets))
    if number == 1 and not asked.unusual:
        return _told(shown[0], asked.sources)
    stamped = any(line.stamp for line in recording.lines)
    print(table([_row(one, recording, stamped) for one in shown]) or "nothing unusual")
    print()
    print(paragraph(f"{number} telegrams and pieces: {', '.join(f'{what} {counted[what]}' for what in COUNTED)}"))
    if recording.unread:
        print(skipped(recording.unread))
    wanted = counted["with a remark"] if asked.unusual else number
    if wanted > len(shown):
        print(f"{wanted - len(shown)} more are not shown; --most {wanted} shows them")
    return int(bool(counted[DAMAGED] or counted[RUBBISH]))


def _counted(one: Telegram) -> Iterator[str]:
    yield ROLES[one.role]
    yield from (what for what, word in (("unanswered", "no answer"), ("repeated", "repeated")) if word in one.remark)
    if one.remark:
        yield "with a remark"


def _row(one: Telegram, recording: Capture, stamped: bool) -> dict[str, object]:
    said = ": ".join(filter(None, (one.service if one.service != one.role else "", one.meaning)))
    said = said if one.frame else one.role
    pair = {"request": "→ ", "answer": "← "}.get(one.role, "") + str(one.partner) if one.partner else ""
    line = recording.line_of(one.at)
    row: dict[str, object] = {
        "no": one.number,
        "who to whom": one.way or ("no address in it" if one.frame else ""),
        "meaning": " – ".join(filter(None, (said, one.remark))),
        "octets": one.octets[:_OCTETS_SHOWN].hex(" ").upper() + (" …" if len(one.octets) > _OCTETS_SHOWN else ""),
        "pair": pair,
        "line": line.number,
    }
    return row | ({"time": line.stamp} if stamped else {})


def _one(recording: Capture, number: int, sources: bool) -> int:
    found = next((one for one in telegram_meaning.read(recording.octets) if one.number == number), None)
    if found is None:
        count = sum(1 for _ in telegram_meaning.read(recording.octets))
        raise OutOfRange(f"telegram is {number}; allowed is 1 to {count}, as many as the recording has.")
    return _told(found, sources)


def _told(one: Telegram, sources: bool) -> int:
    said = ": ".join(filter(None, (one.service, one.meaning)))
    who = f"from {one.way}:" if one.way else ""
    print(paragraph(" ".join(filter(None, (f"{one.kind}, {one.role}", who, said))), "  "))
    if one.remark:
        print(paragraph(one.remark, "  "))
    rows = []
    for line in one.lines:
        octets = line.octets.hex(" ").upper()
        row: dict[str, object] = {"octet": line.first, "value": octets, "name": line.name, "meaning": line.meaning}
        rows.append(row | ({"source": line.source} if sources else {}))
    print(table(rows))
    return int(one.frame is None)


TELEGRAM = Command(
    "telegram",
    "what telegrams say: a recording with its pairs and damage, or one telegram octet by octet",
    """\
$ python -m helpers telegram 68 05 05 68 8C 81 6D 3C 3E F4 16
SD2, request from master 1 to station 12: Slave_Diag: asks for the diagnosis of the station
no answer
octet  value  name  meaning
1      68     SD2   begins a telegram with data of any length
2      05     LE    5 octets from DA to the last data byte
...
8      3C     DSAP  access point 60: Slave_Diag
9      3E     SSAP  access point 62: cyclic services
10     F4     FCS   the octets from DA to the last data byte, added up
11     16     ED    ends a telegram

$ python -m helpers telegram --file data/demo/bus_recording.txt --unusual
no  who to whom             meaning                              octets         pair  line  time
2   master 1 to station 2   FDL status: asks whether a station   10 02 01 49 …        4     0.001122
                            is there – no answer
...
22                          rubbish – 16#00 begins no telegram   00                   24    0.006497
...

$ python -m helpers telegram --file data/demo/bus_recording.txt --octet 5
SD2, request from master 1 to station 12: Set_Prm: locked, ident 16#FFF1, watchdog 200 ms, min TSDR
  11, no group, 2 further octets
...
""",
    _arguments,
    _run,
)
