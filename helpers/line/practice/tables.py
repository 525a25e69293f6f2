"""Tables made by running every fault: what each changes in which reading, and pairs that no reading tells apart."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import NamedTuple

from helpers.line.faults.catalogue import FAULTS
from helpers.line.faults.fault import Chosen
from helpers.line.instruments.catalogue import places
from helpers.line.instruments.reading import instruments
from helpers.line.practice.expected import apart, apart_in_time
from helpers.line.practice.signature import PARTS, Spot, part_of, spot
from helpers.line.practice.signatures import Signatures

AS_USUAL = "as usual"


class Pair(NamedTuple):
    """Two faults that no reading tells apart, and why."""

    one: Chosen
    other: Chosen
    reason: str


def representatives(signatures: Signatures) -> tuple[Chosen, ...]:
    """Each fault that can be in the installation once, at the place in the middle of those that it can have."""
    found = []
    for fault in FAULTS:
        each = [chosen for chosen in signatures.all if chosen.fault is fault]
        found += each[len(each) // 2 : len(each) // 2 + 1]
    return tuple(found)


def table(signatures: Signatures, faults: Sequence[Chosen] | None = None) -> list[dict[str, str]]:
    """One row for each fault: fault, place, and for each instrument by its name the line that it changes.

    Of several places of an instrument the one at the fault itself is shown, else the first that changes. Makes the
    signatures that are missing.
    """
    rows = []
    for chosen in representatives(signatures) if faults is None else faults:
        row = {"fault": chosen.fault.name, "place": chosen.place.words}
        for each in instruments():
            row[each.name] = _shown(signatures, chosen, each.key)
        rows.append(row)
    return rows


def indistinguishable(signatures: Signatures, faults: Sequence[Chosen] | None = None) -> tuple[Pair, ...]:
    """The pairs among these faults (without them: one place of each) that no reading tells apart."""
    those = representatives(signatures) if faults is None else faults
    return tuple(
        Pair(one, other, _reason(signatures, one, other))
        for one, other in combinations(those, 2)
        if told_apart_by(signatures, one, other) is None
    )


def told_apart_by(signatures: Signatures, one: Chosen, other: Chosen) -> tuple[Spot, str] | None:
    """The first reading that tells two faults apart and its line; None if there is none.

    Readings that need no running come first. At last those count that change as time passes with one fault alone:
    they have to be taken until they change.
    """
    for differs in (apart, apart_in_time):
        for at in _spots(signatures):
            line = differs(signatures.expected(one, *at), signatures.expected(other, *at))
            if line is not None:
                return at, line
    return None


def _spots(signatures: Signatures) -> Iterator[Spot]:
    for each in sorted(instruments(), key=lambda each: PARTS.index(part_of(each.key))):
        for place in places(signatures.installation, each.key):
            yield spot(each.key, place)


def _shown(signatures: Signatures, chosen: Chosen, key: str) -> str:
    around = sorted(places(signatures.installation, key), key=lambda place: not place.meets(chosen.place))
    for place in around:
        at = spot(key, place)
        mine, healthy = signatures.expected(chosen, *at), signatures.healthy(*at)
        line = apart(mine, healthy)
        if line is not None:
            where = f"{place.words}: " if place.words else ""
            return f"{where}{line}: {mine[line].words if line in mine else 'not there'}"
    return AS_USUAL


def _reason(signatures: Signatures, one: Chosen, other: Chosen) -> str:
    lines = (line for at in _spots(signatures) for c in (one, other) for line in signatures.expected(c, *at).values())
    if any(line.changes for line in lines):
        return "What they change comes and goes, so a single reading is no proof against either: watch for longer."
    shown = [
        f"{each.name}: {seen}" for each in instruments() if (seen := _shown(signatures, one, each.key)) != AS_USUAL
    ]
    if not shown:
        return "Neither changes any reading of these instruments."
    return f"Both change the same readings in the same way ({'; '.join(shown[:2])})."
