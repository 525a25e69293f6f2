"""Checks a network plan: every rule on every network, as a table with the worst first."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from helpers.plan.model import Network, Plan
from helpers.plan.open_lengths import judged
from helpers.plan.rules import RULES
from helpers.verdict import Degree, Finding, worst_first


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
        for finding in (judged(rule, network) if is_open and rule.by_length else rule.check(network))
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
