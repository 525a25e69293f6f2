"""How the checks of a description make a finding."""

from collections.abc import Iterable

from helpers.facts import Fact
from helpers.verdict import Degree, Finding, forbidding


def finding(rule: str, place: str, found: str, allowed: str, source: str, to_do: str, degree: Degree) -> Finding:
    """A finding that asks for something only if it is not in order."""
    return Finding(rule, place, found, allowed, source, "" if degree is Degree.IN_ORDER else to_do, degree)


def advised(facts: Iterable[Fact]) -> Degree:
    """How bad it is to go against facts that ask for care, and forbid nothing; memory asks for nothing."""
    return min(Degree.CAUTION, forbidding(facts))
