"""The ways through repeaters: from one segment of a network to another."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Way:
    """The way from one segment to another: the segments on it, the repeaters between, and all their cable in m."""

    segments: tuple[str, ...]
    repeaters: tuple[str, ...]
    length_m: float


def ways_from(start: str, lengths_m: Mapping[str, float], joined: Mapping[str, Collection[str]]) -> dict[str, Way]:
    """The way with the fewest repeaters to each segment that can be reached from a segment, that to itself included.

    Parameters: lengths_m, for each segment all its cable; joined, for each repeater the segments that it joins.

    >>> ways_from("1", {"1": 10.0, "2": 20.0, "3": 40.0}, {"R": ("1", "2")})["2"].length_m
    30.0
    """
    repeaters_at: dict[str, list[str]] = {}
    for repeater, segments in joined.items():
        for segment in segments:
            repeaters_at.setdefault(segment, []).append(repeater)
    reached = {start: Way((start,), (), lengths_m[start])}
    for here in (waiting := [start]):
        way = reached[here]
        for repeater in repeaters_at.get(here, ()):
            for there in joined[repeater]:
                if there not in reached:
                    whole_m = way.length_m + lengths_m[there]
                    reached[there] = Way((*way.segments, there), (*way.repeaters, repeater), whole_m)
                    waiting.append(there)
    return reached


def ways(lengths_m: Mapping[str, float], joined: Mapping[str, Collection[str]]) -> tuple[Way, ...]:
    """The ways from each segment to each other, and to itself. Each segment on a way counts with all its cable.

    >>> found = ways({"1": 1, "2": 1, "3": 1, "4": 1}, {"R1": ("1", "2"), "R2": ("2", "3"), "R3": ("2", "4")})
    >>> max((way.repeaters for way in found), key=len)
    ('R1', 'R2')
    """
    return tuple(way for start in lengths_m for way in ways_from(start, lengths_m, joined).values())
