"""Which fault shows in which reading, to look up from either side: from the table of evidence of the demo site."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from helpers.answer import Answer, Row
from helpers.errors import one_of
from helpers.line.evidence.pairs import AS_USUAL, Pair, indistinguishable, representatives, table
from helpers.line.evidence.table import demo_evidence
from helpers.line.faults.catalogue import by_key
from helpers.line.hazard import declared
from helpers.line.instruments.reading import instrument, instruments
from helpers.panels.kit import fields
from helpers.panels.kit.panel import Panel

SOURCE = "worked out: every fault tried on the practice line of the invented Saltmarsh Mill"
BY_FAULT, BY_INSTRUMENT, ALIKE = "what a fault shows", "what an instrument shows", "faults that look alike"
_HINT = (
    "Each fault stands at one place of the demo site, in sizes from the least to the most. Of several places of an "
    "instrument the one at the fault is given, else the first that differs from the healthy line. What is not listed "
    "reads as usual. On the bench you can put a fault anywhere."
)


# -- the rows ---------------------------------------------------------------------------------------------------------


@cache
def _table() -> dict[str, Row]:
    """For each fault what the instruments show of it, by the keys of the faults, in the order of the job."""
    evidence = demo_evidence()
    faults = representatives(evidence)
    return {chosen.fault.key: row for chosen, row in zip(faults, table(evidence, faults), strict=True)}


def known() -> tuple[str, ...]:
    """The faults that the table has, by their keys, in the order of the job."""
    return tuple(_table())


def _row(fault: str) -> Row:
    one_of("fault", fault, known())
    return _table()[fault]


def shown_by(fault: str) -> list[Row]:
    """For each instrument, what it shows of a fault. `Unknown` for a fault that the table does not have.

    >>> [row["what it shows"] for row in shown_by("controller in stop") if row["min"] == 1]
    ['switch: stop']
    """
    row = _row(fault)
    return [{"instrument": each.name, "min": each.minutes, "what it shows": row[each.name]} for each in instruments()]


def shown_at(key: str) -> list[Row]:
    """All faults that an instrument shows, and how. `Unknown` for another instrument."""
    name = instrument(key).name
    shown = [row for row in _table().values() if row[name] != AS_USUAL]
    return [{"fault": row["fault"], "put at": row["place"], "what it shows": row[name]} for row in shown]


def crosses(faults: Sequence[str] = (), among: Sequence[str] = ()) -> list[Row]:
    """Faults against instruments: a cross where the reading differs from that of the healthy line.

    faults, among: keys of faults and of instruments; all of them if none are named.

    >>> crosses(["controller in stop"], ["front", "look"])
    [{'fault': 'Controller in stop', 'front of the device': '×', 'plug and board': '·'}]
    """
    kit = [instrument(name).name for name in among] or [each.name for each in instruments()]
    rows = [_row(key) for key in faults or known()]
    return [{"fault": row["fault"]} | {name: "·" if row[name] == AS_USUAL else "×" for name in kit} for row in rows]


@cache
def _pairs() -> tuple[Pair, ...]:
    return indistinguishable(demo_evidence())


def alike() -> list[Row]:
    """Pairs of faults that no single reading tells apart, with the reason."""
    return [
        {
            "one": f"{pair.one.fault.name}, {pair.one.place.words}",
            "other": f"{pair.other.fault.name}, {pair.other.place.words}",
            "reason": pair.reason,
        }
        for pair in _pairs()
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
    telling = [row for row in found if row["what it shows"] != AS_USUAL]
    place = _row(fault)["place"]
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
