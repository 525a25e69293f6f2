"""Which fault shows in which reading: a table made by running every fault, to look up from either side.

Running them all takes minutes, so what comes of it for the demo site is kept in `data/demo/`: the table in
`fault_readings.csv` and `fault_pairs.csv`, and in `fault_signatures.json` what each fault at each place lets each
instrument say, by which fault-finding practice marks. One command makes all three anew:

    python -m helpers.panels.practice.fault_table

Do that when line, faults, instruments or a table of facts have changed; a test says when it is due.
"""

from __future__ import annotations

import csv
import math
import os
import re
import time
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path

from helpers.answer import Answer, Row
from helpers.errors import one_of
from helpers.facts import DATA, Fact, rows, where
from helpers.line.faults.catalogue import FAULTS, by_key
from helpers.line.hazard import declared
from helpers.line.instruments.reading import instrument, instruments
from helpers.line.practice import tables
from helpers.line.practice.case import mill
from helpers.line.practice.signatures import SHIPPED, Signatures
from helpers.panels.kit import fields
from helpers.panels.kit.panel import Panel

SOURCE = "worked out: every fault run on the practice line of the invented Saltmarsh Mill"
READINGS, PAIRS = "demo/fault_readings", "demo/fault_pairs"
BY_FAULT, BY_INSTRUMENT, ALIKE = "what a fault shows", "what an instrument shows", "faults that look alike"
# Numbers of these instruments are kept without their unit; they end the text, behind a colon or behind "or".
_UNITS = {"volts": "V", "ohms": "Ω", "continuity": "Ω", "scope": "V", "io sheet": "%"}
_NUMBER = re.compile(r"[:r] -?[\d.]+( to -?[\d.]+)?$")
_HINT = (
    "Each fault was run at one place of the demo site, in every size that the practice uses. Of several places of an "
    "instrument the one at the fault is given, else the first that differs from the healthy line. What is not listed "
    "reads as usual. On the bench you can put a fault anywhere."
)


# -- the rows ---------------------------------------------------------------------------------------------------------


@cache
def known() -> tuple[str, ...]:
    """The faults that the table has, by their keys, in the order of the job."""
    stored = {row["fault"] for row in rows(READINGS)}
    return tuple(fault.key for fault in FAULTS if fault.key in stored)


def shown_by(fault: str) -> list[Row]:
    """For each instrument, what it shows of a fault. `Unknown` for a fault that the table does not have.

    >>> [row["what it shows"] for row in shown_by("controller in stop") if row["min"] == 1]
    ['switch: stop']
    """
    one_of("fault", fault, known())
    seen = {row["instrument"]: _shows(row) for row in where(READINGS, fault=fault)}
    return [
        {"instrument": each.name, "min": each.minutes, "what it shows": seen.get(each.key, tables.AS_USUAL)}
        for each in instruments()
    ]


def shown_at(key: str) -> list[Row]:
    """All faults that an instrument shows, and how. `Unknown` for another instrument."""
    return [
        {"fault": by_key(row["fault"]).name, "put at": row["place"], "what it shows": _shows(row)}
        for row in where(READINGS, instrument=instrument(key).key)
    ]


def _shows(row: Fact) -> str:
    unit = _UNITS.get(row["instrument"], "")
    return f"{row['shows']} {unit}" if unit and _NUMBER.search(row["shows"]) else row["shows"]


def crosses(faults: Sequence[str] = (), among: Sequence[str] = ()) -> list[Row]:
    """Faults against instruments: a cross where the reading differs from that of the healthy line.

    faults, among: keys of faults and of instruments; all of them if none are named.

    >>> crosses(["controller in stop"], ["front", "look"])
    [{'fault': 'Controller in stop', 'front of the device': '×', 'plug and board': '·'}]
    """
    found: list[Row] = []
    for key in faults or known():
        one_of("fault", key, known())
        seen = {row["instrument"] for row in where(READINGS, fault=key)}
        row = {"fault": by_key(key).name}
        for each in [instrument(name) for name in among] or instruments():
            row[each.name] = "×" if each.key in seen else "·"
        found.append(row)
    return found


def alike() -> list[Row]:
    """Pairs of faults that no single reading tells apart, with the reason."""
    return [
        {
            "one": f"{by_key(row['one']).name}, {row['one_place']}",
            "other": f"{by_key(row['other']).name}, {row['other_place']}",
            "reason": row["reason"],
        }
        for row in rows(PAIRS)
    ]


# -- the panel --------------------------------------------------------------------------------------------------------


def fault_table_view(look: str, fault: str, key: str) -> Answer:
    """The table from one side: what a fault shows, what an instrument shows, or pairs that look alike."""
    if look == ALIKE:
        pairs = alike()
        every = len(known()) * (len(known()) - 1) // 2
        return Answer(
            f"{len(pairs) or 'None'} of {every} pairs of faults look alike to every instrument.",
            because="For each of the others some reading differs. What comes and goes is told apart only by a reading "
            "that is taken again until it changes.",
            rows=pairs,
            sources=(SOURCE,),
        )
    if look == BY_INSTRUMENT:
        what, found = instrument(key), shown_at(key)
        return Answer(
            f"{what.name}: shows {len(found)} of {len(known())} faults. It takes {what.minutes:g} min.",
            because="A fault that is not in this list leaves the reading as it is: the reading says nothing about it.",
            caution=declared(what.hazards).cautions,
            rows=found,
            sources=(SOURCE,),
        )
    one, found = by_key(fault), shown_by(fault)
    telling = [row for row in found if row["what it shows"] != tables.AS_USUAL]
    (place,) = {row["place"] for row in where(READINGS, fault=fault)}
    quick = f" The quickest that shows it: {telling[0]['instrument']}." if telling else " A single look shows nothing."
    return Answer(
        f"{one.name}, put at: {place}. {len(telling)} of {len(found)} instruments show it.{quick}",
        because=one.what,
        rows=telling,
        folded=[("Instruments that read as usual", [row for row in found if row not in telling])],
        sources=(SOURCE,),
    )


def fault_table_panel() -> Panel:
    """Look up what a fault shows, what an instrument shows, and what looks alike."""
    chosen = {
        "look": fields.choice("look up", (BY_FAULT, BY_INSTRUMENT, ALIKE)),
        "fault": fields.choice("fault", [(by_key(key).name, key) for key in known()]),
        "key": fields.choice("instrument", [(each.name, each.key) for each in instruments()]),
    }
    for field in chosen.values():
        field.widget.style.description_width = "75px"  # the names of faults are long
    return Panel("Which fault shows where", chosen, fault_table_view, hint=_HINT)


# -- made anew --------------------------------------------------------------------------------------------------------


def make(folder: Path = DATA) -> None:
    """Run every fault at every place on all processors, and write all that is kept of it."""
    signatures = Signatures(mill())
    signatures.start(processes=os.cpu_count() or 1)
    while signatures.working:
        print(f"\r{len(signatures.all)} faults and places are run: {signatures.progress:4.0%}", end="", flush=True)
        time.sleep(1)
    signatures.work(math.inf)  # should a process have ended before its time
    print("\rThe tables are written …" + " " * 30)
    write_signatures(signatures, folder)
    write_tables(signatures, folder)


def write_signatures(signatures: Signatures, folder: Path = DATA) -> None:
    """Write what is made of the signatures, as it is shipped."""
    (folder / SHIPPED.relative_to(DATA)).write_text(signatures.text, encoding="utf-8", newline="\n")


def write_tables(signatures: Signatures, folder: Path = DATA) -> None:
    """Run every fault once at one place, and write what each instrument shows and what looks alike."""
    faults = tables.representatives(signatures)
    names = {each.name: each.key for each in instruments()}
    found = []
    for chosen, row in zip(faults, tables.table(signatures, faults), strict=True):
        shows = [(names[name], seen) for name, seen in row.items() if name in names and seen != tables.AS_USUAL]
        found += [(chosen.fault.key, chosen.place.words, *each) for each in shows or [("", "")]]
    pairs = [
        (one.fault.key, one.place.words, other.fault.key, other.place.words, reason)
        for one, other, reason in tables.indistinguishable(signatures, faults)
    ]
    _write(folder / f"{READINGS}.csv", ("fault", "place", "instrument", "shows"), found)
    _write(folder / f"{PAIRS}.csv", ("one", "one_place", "other", "other_place", "reason"), pairs)


def _write(path: Path, columns: Sequence[str], lines: Iterable[Sequence[str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as file:
        table = csv.writer(file, lineterminator="\n")
        table.writerow((*columns, "source", "standing"))
        table.writerows((*line, SOURCE, "calculated") for line in lines)


if __name__ == "__main__":
    make()
