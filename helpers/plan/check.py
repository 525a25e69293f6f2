"""Checks a network plan: every rule on every network, as a table with the worst first."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cache

from helpers.plan.model import Network, Plan
from helpers.plan.rules import RULES, Rule
from helpers.quantity import quantity
from helpers.verdict import Degree, Finding, worst_first

Key = tuple[str, str]  # rule and place
_HALVINGS = 30
_EVERY = {0: "in order for every length within", 1: "outside cautious practice for every length within",
          2: "not allowed for any length within"}  # fmt: skip
_MEASURE = "Measure the lengths that are open. "


def check(plan: Plan) -> tuple[Finding, ...]:
    """All findings on a plan, the worst first; rules that are kept are in order and stand at the end.

    With several networks each place begins with the network's name.

    >>> from helpers.plan.read import read_plan
    >>> max(finding.degree for finding in check(read_plan("data/demo/saltmarsh-mill"))).words
    'in order'
    """
    findings: list[Finding] = []
    for network in plan:
        several = len(plan.networks) > 1
        for finding in check_network(network):
            findings.append(replace(finding, place=f"{network.name}: {finding.place}") if several else finding)
    return worst_first(findings)


def check_network(network: Network) -> tuple[Finding, ...]:
    """All findings on one network, in the order of the rules.

    At a bit rate that is not one of DP the rules that depend on it are left out.
    """
    rules = [rule for rule in RULES if network.has_known_rate or not rule.needs_rate]
    is_open = network.has_open_lengths
    return tuple(
        finding
        for rule in rules
        for finding in (_judged(rule, network) if is_open and rule.by_length else rule.check(network))
    )


def remarks(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings that ask for something: all but those in order."""
    return tuple(finding for finding in findings if finding.degree > Degree.IN_ORDER)


def sentence(findings: Iterable[Finding]) -> str:
    """The verdict in one sentence: how many findings there are of each degree.

    >>> sentence(())
    'Nothing to check.'
    """
    degrees = [finding.degree for finding in findings]
    if not degrees:
        return "Nothing to check."
    if max(degrees) is Degree.IN_ORDER:
        return f"Everything is in order ({len(degrees)} checks)."
    if max(degrees).forbidden:
        head = "This plan is not allowed as it is"
    elif Degree.DEPENDS in degrees:
        head = "Whether this plan is in order depends on lengths that are open"
    else:
        head = "Nothing is forbidden; cautious practice advises against something"
    counts = [f"{degrees.count(degree)} × {degree.words}" for degree in reversed(Degree) if degree in degrees]
    return f"{head}: {', '.join(counts)}."


# -- where lengths of cable are open
#
# A rule is asked with every open length at its shortest, at its longest, and between. Longer cable never makes a rule
# on length or time milder, and never makes one on the distance between stations stricter. So two equal verdicts at both
# ends hold for all between, and two unequal ones meet at one length.


def _judged(rule: Rule, network: Network) -> Iterator[Finding]:
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
    changes = [f"{word} {_text(network.at_share(share), key[1])}{then} {degree.words}" for share, degree in others]
    return f"{what} {lengths[0]} to {lengths[1]}: {'; '.join([first.words, *changes])}"


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
