"""From the table of evidence: what each fault changes in which reading, and pairs that no reading tells apart."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import lru_cache
from itertools import combinations
from typing import NamedTuple

from helpers.line.evidence.expected import apart, apart_in_time
from helpers.line.evidence.observe import Spot, spot
from helpers.line.evidence.table import Evidence
from helpers.line.faults.catalogue import FAULTS
from helpers.line.faults.fault import Chosen
from helpers.line.instruments.catalogue import at_rest, places
from helpers.line.instruments.reading import instruments

AS_USUAL = "as usual"


class Pair(NamedTuple):
    """Two faults that no reading tells apart, and why."""

    one: Chosen
    other: Chosen
    reason: str


def representatives(evidence: Evidence) -> tuple[Chosen, ...]:
    """Each fault that can be in the installation once, at the place in the middle of those that it can have."""
    found = []
    for fault in FAULTS:
        each = [chosen for chosen in evidence.all if chosen.fault is fault and evidence.known(chosen)]
        found += each[len(each) // 2 : len(each) // 2 + 1]
    return tuple(found)


def table(evidence: Evidence, faults: Sequence[Chosen] | None = None) -> list[dict[str, str]]:
    """One row for each fault: fault, place, and for each instrument by its name the line that it changes.

    Of several places of an instrument the one at the fault itself is shown, else the first that changes.
    """
    rows = []
    for chosen in representatives(evidence) if faults is None else faults:
        row = {"fault": chosen.fault.name, "place": chosen.place.words}
        for each in instruments():
            row[each.name] = _shown(evidence, chosen, each.key)
        rows.append(row)
    return rows


@lru_cache(64)
def shows_and_silent(evidence: Evidence, key: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The names of the faults that an instrument shows, and of those that leave its reading as it is."""
    shown = {chosen.fault.name: _shown(evidence, chosen, key) != AS_USUAL for chosen in representatives(evidence)}
    return tuple(sorted(filter(shown.get, shown))), tuple(sorted(name for name in shown if not shown[name]))


def indistinguishable(evidence: Evidence, faults: Sequence[Chosen] | None = None) -> tuple[Pair, ...]:
    """The pairs among these faults (without them: one place of each) that no reading tells apart."""
    those = representatives(evidence) if faults is None else faults
    return tuple(
        Pair(one, other, _reason(evidence, one, other))
        for one, other in combinations(those, 2)
        if told_apart_by(evidence, one, other) is None
    )


def told_apart_by(evidence: Evidence, one: Chosen, other: Chosen) -> tuple[Spot, str] | None:
    """The first reading that tells two faults apart and its line; None if there is none.

    Readings that need no running come first. At last those count that change as time passes with one fault alone:
    they have to be taken until they change.
    """
    for differs in (apart, apart_in_time):
        for at in _spots(evidence):
            line = differs(evidence.expected(one, *at), evidence.expected(other, *at), at[0])
            if line is not None:
                return at, line
    return None


def _spots(evidence: Evidence) -> Iterator[Spot]:
    for each in sorted(instruments(), key=lambda each: not at_rest(each.key)):
        for place in places(evidence.installation, each.key):
            yield spot(each.key, place)


def _shown(evidence: Evidence, chosen: Chosen, key: str) -> str:
    around = sorted(places(evidence.installation, key), key=lambda place: not place.meets(chosen.place))
    for place in around:
        at = spot(key, place)
        mine, healthy = evidence.expected(chosen, *at), evidence.healthy(*at)
        line = apart(mine, healthy, key)
        if line is not None:
            where = f"{place.words}: " if place.words else ""
            return f"{where}{line}: {mine[line].words if line in mine else 'not there'}"
    return AS_USUAL


def _reason(evidence: Evidence, one: Chosen, other: Chosen) -> str:
    lines = (line for at in _spots(evidence) for c in (one, other) for line in evidence.expected(c, *at).values())
    if any(line.changes for line in lines):
        return "What they change comes and goes, so a single reading is no proof against either: watch for longer."
    shown = [f"{each.name}: {seen}" for each in instruments() if (seen := _shown(evidence, one, each.key)) != AS_USUAL]
    if not shown:
        return "Neither changes any reading of these instruments."
    return f"Both change the same readings in the same way ({'; '.join(shown[:2])})."
