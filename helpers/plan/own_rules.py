"""A finding on one of the plan's own rules, whose words stand in `data/plan_rules.csv`."""

from __future__ import annotations

from functools import cache

from helpers import facts
from helpers.verdict import Degree, Finding, cited


def own_finding(rule: str, place: str, found: str, degree: Degree = Degree.CAUTION) -> Finding:
    """What was found at a place, judged; what is allowed, the source and what to do are those of the rule.

    >>> own_finding("bit rate", "network", "1.5 Mbit/s", Degree.IN_ORDER).allowed
    'one of the bit rates of DP'
    """
    allowed, source, to_do = _words(rule)
    return Finding(rule, place, found, allowed, source, to_do if degree > Degree.IN_ORDER else "", degree)


@cache
def _words(rule: str) -> tuple[str, str, str]:
    """What a rule allows, its sources, what to do. Looked up once: a plan asks for each station."""
    rows = facts.where("plan_rules", rule=rule)
    return rows[0]["allowed"], cited(rows), rows[0]["to_do"]
