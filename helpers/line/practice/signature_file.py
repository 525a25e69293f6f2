"""Signatures as text: the form in which those of the demo site are shipped, and any others kept on the disk.

A JSON document, a line for each reading, to be read and compared by people too. It has for each fault, place and part
only what is not as in the healthy installation. A line of a reading stands as its text or its number; as a list of
those that may be read, of numbers the least and the most; `true` in front of the list says that it changes with time.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from functools import lru_cache
from math import isfinite
from typing import Any, NamedTuple

from helpers.line.practice.expected import Expected, Lines
from helpers.line.practice.signature import Part, Spot

Key = tuple[str, str, str]  # key of the fault, words of its place, part

_ABOUT = (
    "Worked out: what each single fault lets the instruments say, where that is not as in the healthy installation. "
    "One line for each reading: instrument, places, lines; lines that are not named are as in the healthy one."
)
# Stands behind a reading whose lines are not those of the healthy one with some changed.
_ALL = "no other lines"


class Kept(NamedTuple):
    """What is kept: of which installation and code it is, the healthy parts, and those of the faults."""

    stamp: str
    healthy: Mapping[str, Part]
    parts: Mapping[Key, Part]


def to_text(kept: Kept) -> str:
    """The text of what is kept; the parts of `kept.parts` need to be in `kept.healthy` too."""
    sound = [_entry(("", "", part), made, {}) for part, made in kept.healthy.items()]
    faulty = [_entry(key, made, kept.healthy[key[2]]) for key, made in kept.parts.items()]
    head = json.dumps([_ABOUT, kept.stamp], ensure_ascii=False)
    return "[\n" + ",\n".join([head, *sound, *faulty]) + "\n]\n"


def from_text(text: str, stamp: str) -> Kept | None:
    """What is kept in a text; None if it has another stamp. `ValueError` if it is damaged."""
    healthy: dict[str, Part] = {}
    parts: dict[Key, Part] = {}
    try:
        (_, found), *entries = json.loads(text)
        if found != stamp:
            return None
        for fault, place, part, readings in entries:
            if fault:
                parts[fault, place, part] = dict(_readings(readings, healthy[part]))
            else:
                healthy[part] = dict(_readings(readings, {}))
    except (AttributeError, KeyError, TypeError) as error:
        raise ValueError(f"These are no signatures: {error}") from error
    return Kept(stamp, healthy, parts)


# -- writing ----------------------------------------------------------------------------------------------------------


def _entry(key: Key, made: Part, healthy: Part) -> str:
    """One part of one fault; places at which the same is read are put together."""
    same: dict[tuple[str, str, str], list[str]] = {}
    for spot, lines in made.items():
        same.setdefault((spot[0], *_changed(lines, healthy.get(spot))), []).append(spot[1])
    readings = [
        f"  [{_json(instrument)}, {_json(places)}, {lines}{note}]" for (instrument, lines, note), places in same.items()
    ]
    head = ", ".join(map(_json, key))
    return f"[{head}, [\n" + ",\n".join(readings) + "\n]]" if readings else f"[{head}, []]"


def _changed(lines: Lines, healthy: Lines | None) -> tuple[str, str]:
    """What differs from the healthy lines; all of them, with a note, where other lines are there, or in other order."""
    if healthy is None or list(lines) == list(healthy):
        return _json({what: _plain(e) for what, e in lines.items() if healthy is None or e != healthy[what]}), ""
    return _json({what: _plain(e) for what, e in lines.items()}), f", {_json(_ALL)}"


def _json(value: Any) -> str:
    return json.dumps(value, ensure_ascii=False)


def _plain(expected: Expected) -> Any:
    numbers = (n for n in dict.fromkeys((expected.low, expected.high)) if isfinite(n))
    seen = [*sorted(expected.texts), *numbers]
    if expected.changes:
        return [True, *seen]
    return seen[0] if len(seen) == 1 else seen


# -- reading ----------------------------------------------------------------------------------------------------------


def _readings(readings: Any, healthy: Part) -> Iterator[tuple[Spot, dict[str, Expected]]]:
    for instrument, places, changed, *note in readings:
        lines = {what: _expected(*(seen if isinstance(seen, list) else [seen])) for what, seen in changed.items()}
        for place in places:
            spot = (instrument, place)
            yield spot, dict(lines) if note else {**healthy.get(spot, {}), **lines}


@lru_cache(65536, typed=True)
def _expected(*seen: Any) -> Expected:
    changes = bool(seen) and seen[0] is True
    texts = frozenset(value for value in seen[changes:] if isinstance(value, str))
    numbers = [float(value) for value in seen[changes:] if not isinstance(value, str)]
    if len(numbers) > 2:
        raise ValueError(f"{len(numbers)} numbers where the least and the most have to be.")
    return Expected(texts, min(numbers), max(numbers), changes) if numbers else Expected(texts, changes=changes)
