"""Degrees and findings: the three verdicts, and what a table of them shows."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.facts import Fact, Limit, least, most
from helpers.verdict import (
    VERDICTS,
    Degree,
    Finding,
    at_least,
    at_most,
    forbidding,
    judge_least,
    judge_most,
    worst,
    worst_first,
)


def fact(value: float, standing: str = "standard", source: str = "some page") -> Fact:
    return Fact("invented", 2, {"value": str(value), "source": source, "standing": standing})


def test_three_verdicts_and_the_reasons_of_the_third() -> None:
    known = [degree for degree in sorted(Degree) if degree is not Degree.DEPENDS]
    assert {degree.verdict: degree.forbidden for degree in known} == dict(
        zip(VERDICTS, (False, False, True), strict=True)
    )
    assert [degree.words for degree in Degree if degree.forbidden] == [
        "not allowed, by every source found",
        "not allowed, by the standard",
        "not allowed, cannot work",
    ]


def test_what_depends_is_not_forbidden_but_worse_than_a_caution() -> None:
    assert Degree.DEPENDS.words == "depends on a length" and not Degree.DEPENDS.forbidden
    found = [
        Finding("r", "p", "", "", "", "", degree) for degree in (Degree.CAUTION, Degree.DEPENDS, Degree.CANNOT_WORK)
    ]
    assert [f.degree for f in worst_first(found)] == [Degree.CANNOT_WORK, Degree.DEPENDS, Degree.CAUTION]


@pytest.mark.parametrize(
    ("rows", "degree"),
    [
        ([("standard", "Some Standard, clause 2")], Degree.BY_STANDARD),
        ([("device manual", "Alpha manual p.1"), ("handbook", "B. Beta, Handbook")], Degree.BY_EVERY_SOURCE),
        ([("device manual", "Alpha manual p.1; Beta manual p.2")], Degree.BY_EVERY_SOURCE),
        # Two printings of one maker are one voice, and so is one document alone.
        ([("device manual", "Alpha manual p.1"), ("device manual", "Alpha handbook p.2")], Degree.CAUTION),
        ([("handbook", "B. Beta, Handbook")], Degree.CAUTION),
        ([("common practice", "")], Degree.CAUTION),
        ([("device manual", "Alpha manual p.1"), ("memory", "Gamma, looked for and not found")], Degree.CAUTION),
        ([("memory", "Alpha, not found"), ("memory", "Beta, not found")], Degree.IN_ORDER),
        ([("own setting", "")], Degree.IN_ORDER),
        ([], Degree.IN_ORDER),
    ],
)
def test_who_can_forbid_and_who_only_advises(rows: list[tuple[str, str]], degree: Degree) -> None:
    assert forbidding(fact(1, *row) for row in rows) is degree


def test_memory_makes_nothing_stricter() -> None:
    manuals = (fact(100, "device manual", "Alpha manual p.1"), fact(100, "device manual", "Beta manual p.1"))
    stricter, softer = fact(50, "memory", "not found"), fact(200, "memory", "not found")
    assert judge_most(100, most((*manuals, stricter), "value")) is Degree.IN_ORDER
    assert judge_least(100, least((*manuals, softer), "value")) is Degree.IN_ORDER
    assert judge_most(1e9, most((stricter,), "value")) is Degree.IN_ORDER
    assert judge_least(-1e9, least((stricter,), "value")) is Degree.IN_ORDER


def test_memory_casts_doubt() -> None:
    manuals = (fact(100, "device manual", "Alpha manual p.1"), fact(100, "device manual", "Beta manual p.1"))
    doubted = most((*manuals, fact(200, "memory", "not found")), "value")
    assert judge_most(150, most(manuals, "value")) is Degree.BY_EVERY_SOURCE
    assert judge_most(150, doubted) is Degree.CAUTION


def test_common_practice_never_forbids() -> None:
    advice = (fact(1, "common practice", ""),)
    assert judge_least(0, least(advice, "value")) is Degree.CAUTION
    assert judge_most(1e9, most(advice, "value")) is Degree.CAUTION


def test_both_sides_of_both_thresholds() -> None:
    limit = most((fact(1000, "device manual"), fact(1200)), "value")
    assert [judge_most(v, limit) for v in (1000, 1000.001, 1200, 1200.001)] == [
        Degree.IN_ORDER,
        Degree.CAUTION,
        Degree.CAUTION,
        Degree.BY_STANDARD,
    ]
    limit = least((fact(0.3, "device manual"), fact(0.1, "device manual")), "value")
    assert [judge_least(v, limit) for v in (0.3, 0.2999, 0.1, 0.0999)] == [
        Degree.IN_ORDER,
        Degree.CAUTION,
        Degree.CAUTION,
        Degree.CAUTION,  # one document alone, told twice
    ]


def test_rounding_of_decimal_fractions_is_not_a_finding() -> None:
    assert sum([0.1] * 3) > 0.3
    assert judge_most(sum([0.1] * 3), Limit(0.3, 0.3, ())) is Degree.IN_ORDER
    assert judge_least(1 - 0.9, Limit(0.1, 0.1, ())) is Degree.IN_ORDER


def test_a_value_that_is_not_a_number_is_never_in_order() -> None:
    assert judge_most(math.nan, Limit(1, 2, (fact(2),))) is Degree.BY_STANDARD
    assert judge_least(math.nan, Limit(2, 1, (fact(1),))) is Degree.BY_STANDARD
    assert judge_most(math.nan, Limit(1, 2, ())) is Degree.CAUTION


def test_an_endless_value_is_judged() -> None:
    assert judge_least(math.inf, Limit(2, 1, ())) is Degree.IN_ORDER
    assert judge_most(math.inf, Limit(1, 2, (fact(2),))) is Degree.BY_STANDARD


def test_a_finding_tells_found_allowed_source_and_what_to_do() -> None:
    limit = most((fact(1000, "device manual", "manual p.1"), fact(1200, "standard", "clause 2")), "value")
    bad = at_most(rule="length", place="segment 1", value=1100.0, limit=limit, unit="m", to_do="Shorten it.")
    assert (bad.found, bad.verdict, bad.to_do) == ("1100 m", "outside cautious practice", "Shorten it.")
    assert "1000 m" in bad.allowed and "1200 m" in bad.allowed
    assert bad.source == "1000 m – manual p.1 (device manual); 1200 m – clause 2 (standard)"


def test_sources_that_agree_are_cited_without_their_value() -> None:
    limit = most((fact(100, "device manual", "manual p.1"), fact(100, "standard", "clause 2")), "value")
    same = at_most(rule="length", place="segment 1", value=100.0, limit=limit, unit="m", to_do="Shorten it.")
    assert same.source == "manual p.1 (device manual); clause 2 (standard)"


def test_nothing_is_to_be_done_where_all_is_in_order() -> None:
    good = at_least(rule="distance", place="run 1", value=0.3, limit=Limit(0.3, 0.3, ()), unit="m", to_do="Move it.")
    assert (good.to_do, good.allowed) == ("", "at least 0.3 m")


def test_advice_alone_is_called_advice() -> None:
    limit = most((fact(31, "common practice", ""),), "value")
    finding = at_most(rule="count", place="segment 1", value=32, limit=limit, unit="", to_do="Take one off.")
    assert finding.allowed == "at most 31 is advised"


def _found(rule: str, degree: Degree) -> Finding:
    return Finding(rule, "segment 1", "", "", "", "", degree)


def test_worst_first_keeps_the_order_of_equals() -> None:
    mixed = [
        _found("a", Degree.IN_ORDER),
        _found("b", Degree.BY_STANDARD),
        _found("c", Degree.CAUTION),
        _found("d", Degree.BY_STANDARD),
    ]
    assert [finding.rule for finding in worst_first(mixed)] == ["b", "d", "c", "a"]
    assert worst(mixed) is Degree.BY_STANDARD
    assert worst([]) is Degree.IN_ORDER


@given(
    st.floats(0, 1e6),
    st.floats(0, 1e6),
    st.lists(st.tuples(st.floats(0, 1e6), st.sampled_from(["standard", "common practice"])), min_size=1),
)
def test_more_is_never_better_where_less_is_safer(value: float, more: float, values: list[tuple[float, str]]) -> None:
    limit = most(tuple(fact(v, standing) for v, standing in values), "value")
    assert judge_most(value + more, limit) >= judge_most(value, limit)
