"""What a rule says where lengths of cable are open: in order or not for every length within, or from which length on.

A rule is asked with every open length at its shortest, at its longest, and between. Longer cable never makes a rule on
length or time milder, and never makes one on the distance between stations stricter; so two equal verdicts at both ends
hold for all between, and two unequal ones meet at one length.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from functools import cache
from itertools import pairwise

from helpers.plan.model import Network
from helpers.plan.rules import Rule
from helpers.quantity import quantity
from helpers.verdict import Degree, Finding


def taken(network: Network) -> str:
    """What the open lengths of a network count as where one number is needed; empty if all are measured."""
    as_likely = [
        f"segment {segment.name}, {left.name} – {right.name}: {quantity(piece.length_m, 'm')} ({piece.length_text})"
        for segment in network.segments
        for (left, right), piece in zip(pairwise(segment.plugs), segment.pieces, strict=True)
        if piece.open
    ]
    return f"Lengths that are open count as the most likely: {'; '.join(as_likely)}." if as_likely else ""


Key = tuple[str, str]  # rule and place
_HALVINGS = 30
_EVERY = {0: "in order for every length within", 1: "outside cautious practice for every length within",
          2: "not allowed for any length within"}  # fmt: skip
_MEASURE = "Measure the lengths that are open. "


def judged(rule: Rule, network: Network) -> Iterator[Finding]:
    """The findings of a rule that depends on lengths, on a network of which some are open."""

    @cache
    def at(share: float) -> Mapping[Key, Finding]:
        return {(f.rule, f.place): f for f in rule.check(network.at_share(share))}

    likely = {(f.rule, f.place): f for f in rule.check(network)}
    shortest, longest = at(0.0), at(1.0)
    for key in {**likely, **shortest, **longest}:
        ends = [found[key] for found in (shortest, longest) if key in found]
        degrees = [_degree(found, key) for found in (shortest, longest)]
        if degrees[0].verdict != degrees[1].verdict:
            worst = max(ends, key=lambda finding: finding.degree)
            found = _depends(network, key, [(share, _degree(at(share), key)) for share in _changes(at, key)])
            yield replace(worst, found=found, degree=Degree.DEPENDS, to_do=_MEASURE + worst.to_do)
        elif key in likely or max(degrees):
            yield _for_every(ends or [likely[key]], min(degrees))


def _degree(found: Mapping[Key, Finding], key: Key) -> Degree:
    """What a rule says of a place; one that it does not name is in order."""
    return found[key].degree if key in found else Degree.IN_ORDER


def _for_every(ends: list[Finding], degree: Degree) -> Finding:
    """One finding for all lengths between the shortest and the longest."""
    mildest = min(ends, key=lambda finding: finding.degree)
    if ends[0].found == ends[-1].found:
        return mildest
    words = _EVERY[2 if degree.forbidden else degree]
    return replace(mildest, found=f"{ends[0].found} to {ends[-1].found}: {words}")


def _changes(at: Callable[[float], Mapping[Key, Finding]], key: Key) -> list[float]:
    """The shares from which on the verdict is another one, the shortest itself first."""
    shares = [0.0]
    while _degree(at(shares[-1]), key).verdict != _degree(at(1.0), key).verdict:
        low, high = shares[-1], 1.0
        verdict = _degree(at(low), key).verdict
        for _ in range(_HALVINGS):
            middle = (low + high) / 2
            low, high = (middle, high) if _degree(at(middle), key).verdict == verdict else (low, middle)
        shares.append(high)
    return shares


def _depends(network: Network, key: Key, steps: list[tuple[float, Degree]]) -> str:
    """The verdicts in a row, each with the length from which on it holds."""
    what = _measured(network, key[1])[0]
    lengths = [_text(network.at_share(share), key[1]) for share in (0.0, 1.0)]
    (_, first), *others = steps
    word, then = ("beyond", "") if others[0][1] > first else ("from", " on")
    told = [f"{word} {_text(network.at_share(share), key[1])}{then} {degree.words}" for share, degree in others]
    return f"{what} {lengths[0]} to {lengths[1]}: {'; '.join([first.words, *told])}"


def _text(network: Network, place: str) -> str:
    return quantity(round(_measured(network, place)[1], 2), "m")


def _measured(network: Network, place: str) -> tuple[str, float]:
    """The length that matters at a place: what it is called, and how long it is [m]."""
    for segment in network.segments:
        title = f"segment {segment.name}"
        if place == title:
            return "cable of the segment", segment.length_m
        for number, piece in enumerate(segment.pieces):
            left, right = segment.plugs[number : number + 2]
            if place == f"{title}: {left.name} – {right.name}":
                return "cable and stubs between them", left.stub_length_m + piece.length_m + right.stub_length_m
    return "cable over all segments", max(way.length_m for way in network.ways)
