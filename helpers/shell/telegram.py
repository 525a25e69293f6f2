"""`telegram`: a pasted recording telegram by telegram, with pairs and damage; one telegram octet by octet."""

from __future__ import annotations

import sys
from argparse import ArgumentParser, Namespace
from collections import Counter
from collections.abc import Iterator
from contextlib import nullcontext
from typing import TypeVar

from helpers.bus.recording import recording_text, telegram_meaning
from helpers.bus.recording.answers import TELEGRAMS, listed_answer, octet_answer, tally, unusual_answer
from helpers.bus.recording.recording_text import Capture
from helpers.bus.recording.telegram_meaning import Telegram
from helpers.errors import OutOfRange, in_range
from helpers.files import open_file
from helpers.shell.command import Command
from helpers.shell.text import say, text_of
from helpers.written import whole

Step = TypeVar("Step")
MOST_SHOWN = 60
_NEAR = 20  # telegrams: so far from a request its answer may be
_REMARKED = "with a remark"


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
    listed: list[Telegram] = []
    counts: Counter[str] = Counter()
    for telegram in _stoppable(telegram_meaning.read(recording.octets)):
        counts.update(tally([telegram]))
        counts[_REMARKED] += bool(telegram.remark)
        if len(listed) < most and (telegram.remark or not asked.unusual):
            listed.append(telegram)
        if telegram.number % 10_000 == 0:
            _progress("explaining", telegram.at / len(recording.octets))
    if counts[TELEGRAMS] == 1 and not asked.unusual:
        return _told(listed[0], None, asked.sources)
    if asked.unusual:
        print(text_of(unusual_answer(recording, listed, found=counts[_REMARKED], telegrams=counts[TELEGRAMS])))
    else:
        print(text_of(listed_answer(recording, listed, counts)))
    wanted = counts[_REMARKED] if asked.unusual else counts[TELEGRAMS]
    if wanted > len(listed):
        print(f"\n--most {wanted} shows them all")
    return int(bool(counts[telegram_meaning.DAMAGED] or counts[telegram_meaning.RUBBISH]))


def _one(recording: Capture, number: int, sources: bool) -> int:
    near = {t.number: t for t in telegram_meaning.read(recording.octets) if abs(t.number - number) <= _NEAR}
    if number not in near:
        count = sum(1 for _ in telegram_meaning.read(recording.octets))
        raise OutOfRange(f"telegram is {number}; allowed is 1 to {count}, as many as the recording has.")
    return _told(near[number], near.get(near[number].partner or 0), sources)


def _told(telegram: Telegram, partner: Telegram | None, sources: bool) -> int:
    say(octet_answer(telegram, partner), sources=sources)
    return int(telegram.frame is None)


TELEGRAM = Command(
    "telegram",
    "what telegrams say: a recording with its pairs and damage, or one telegram octet by octet",
    """\
$ python -m helpers telegram 68 05 05 68 8C 81 6D 3C 3E F4 16
No. 1, SD2 request from master 1 to station 12 – Slave_Diag: asks for the diagnosis of the station.
No answer.

octet  value  name  meaning
1      68     SD2   begins a telegram with data of any length
2      05     LE    5 octets from DA to the last data byte
...
8      3C     DSAP  access point 60: Slave_Diag
9      3E     SSAP  access point 62: cyclic services
10     F4     FCS   the octets from DA to the last data byte, added up
11     16     ED    ends a telegram

$ python -m helpers telegram --file data/demo/bus_recording.txt --unusual
7 of 29 telegrams and pieces are unusual.
What is wrong is said at its octet.

no.  who to whom       meaning           remark            octets             pair  line  time stamp
2    master 1 to       FDL status: asks  no answer         10 02 01 49 4C 16        4     0.001122
     station 2         whether a
                       station is there
...

$ python -m helpers telegram --file data/demo/bus_recording.txt --octet 5
No. 5, SD2 request from master 1 to station 12 – Set_Prm: locked, ident 16#FFF1, watchdog 200 ms,
min TSDR 11, no group, 2 further octets. Its answer is no. 6: received.
...
""",
    _arguments,
    _run,
)
