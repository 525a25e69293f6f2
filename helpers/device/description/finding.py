"""How the checks of a description make a finding."""

from helpers.facts import Fact
from helpers.verdict import Degree, Finding


def finding(rule: str, place: str, found: str, allowed: str, source: str, to_do: str, degree: Degree) -> Finding:
    """A finding that asks for something only if it is not in order."""
    return Finding(rule, place, found, allowed, source, "" if degree is Degree.IN_ORDER else to_do, degree)


def standing_degree(row: Fact) -> Degree:
    """How bad it is to go against a fact: what is from memory, or common practice, breaks nothing."""
    return Degree.CAUTION if row.standing in ("memory", "common practice") else Degree.BROKEN
