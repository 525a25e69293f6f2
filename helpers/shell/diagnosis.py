"""`diagnosis`: what the diagnosis of a station means, what to look at first, and what to do."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace

from helpers.bus.recording import recording_text, telegram_meaning
from helpers.bus.recording.service_octets import service_data
from helpers.bus.services import diagnosis, slave_diag
from helpers.bus.services.bits import BitRow
from helpers.bus.services.diagnosis import Advice
from helpers.safe_work import in_words
from helpers.shell.command import Command
from helpers.shell.text import paragraph, table


def _arguments(parser: ArgumentParser) -> None:
    parser.add_argument("octets", nargs="+", help="the octets of the diagnosis, or the whole telegram that bears them")
    parser.add_argument(
        "--bits", action="store_true", help="all bits of the first three octets, those that are 0 as well"
    )
    parser.add_argument("--dpv1", action="store_true", help="the station works by DPV1: read its own blocks as alarms")
    parser.add_argument("--sources", action="store_true", help="say where each meaning is printed")


def _run(asked: Namespace) -> int:
    given = recording_text.read(" ".join(asked.octets)).octets
    octets = service_data(given, "Slave_Diag", telegram_meaning.ANSWER)[0].data
    diagnosed = slave_diag.decode(octets, part=True)
    found = diagnosis.read(diagnosed, dpv1=asked.dpv1 or None)
    print(found.state.upper())
    print(paragraph(" ".join(filter(None, (found.sentence, slave_diag.missing(diagnosed))))))
    print()
    lines = slave_diag.explain(octets, dpv1=asked.dpv1 or None, part=True)
    rows = ((line.first, line.octets.hex(" ").upper(), line.name, line.meaning) for line in lines)
    print(table([dict(zip(("octet", "value", "name", "meaning"), row, strict=True)) for row in rows]))
    if asked.bits:
        print()
        print(table([_bit_row(row, asked.sources) for row in slave_diag.bit_rows(octets, part=True)]))
    for one in found.advice:
        print()
        _tell(one, asked.sources)
    return 0


def _bit_row(row: BitRow, sources: bool) -> dict[str, object]:
    cells: dict[str, object] = {"octet": row.octet, "bit": row.bit, "value": row.value, "name": row.name}
    return cells | {"meaning": row.meaning} | ({"source": row.source} if sources else {})


def _tell(one: Advice, sources: bool) -> None:
    parts = [("look first", one.look_first), ("to do", one.to_do), ("caution", in_words(one.caution))]
    if sources:
        parts.append(("source", one.source))
    print(paragraph(f"{one.about}: {one.meaning}"))
    for name, text in parts:
        if text:
            print(paragraph(f"  {name:<11} {text}", " " * 14))


DIAGNOSIS = Command(
    "diagnosis",
    "what a station's diagnosis means, what to look at first, what to do",
    """\
$ python -m helpers diagnosis 06 0C 00 01 FF F1
CONFIGURATION REFUSED
The data format in the controller is not the one in the station.

octet  value  name              meaning
...
4      01     Master_Add        parametrised by the master with address 1
5      FF F1  ident number      16#FFF1

Cfg_Fault: the configuration that was sent is not the one the station has
  look first  Which data format is set in the station, and which in the controller?
...

$ python -m helpers diagnosis 68 0E 0E 68 81 8C 08 3E 3C 08 0C 00 01 FF F1 80 42 A6 FC 16
IN DATA EXCHANGE, WITH A FAULT OF ITS OWN
...
9      A6     type and error         word: line break
...
""",
    _arguments,
    _run,
)
