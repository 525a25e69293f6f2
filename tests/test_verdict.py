"""Degrees and findings: the three verdicts, and what a table of them shows."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.facts import Fact, Limit, least, most
from helpers.verdict import Degree, Finding, at_least, at_most, judge_least, judge_most, quantity, worst, worst_first


def fact(value: float, standing: str = "standard", source: str = "some page") -> Fact:
    return Fact("invented", 2, {"value": str(value), "source": source, "standing": standing})


def test_three_degrees_in_words_in_order_of_badness() -> None:
    assert [degree.words for degree in sorted(Degree)] == [
        "in order",
        "outside cautious practice",
        "breaks the standard",
    ]


def test_common_practice_never_breaks_the_standard() -> None:
    advice = (fact(1, "common practice", ""),)
    assert judge_least(0, least(advice, "value")) is Degree.CAUTION
    assert judge_most(1e9, most(advice, "value")) is Degree.CAUTION


def test_both_sides_of_both_thresholds() -> None:
    limit = most((fact(1000, "device manual"), fact(1200)), "value")
    assert [judge_most(v, limit) for v in (1000, 1000.001, 1200, 1200.001)] == [
        Degree.IN_ORDER,
        Degree.CAUTION,
        Degree.CAUTION,
        Degree.BROKEN,
    ]
    limit = least((fact(0.3, "device manual"), fact(0.1, "device manual")), "value")
    assert [judge_least(v, limit) for v in (0.3, 0.2999, 0.1, 0.0999)] == [
        Degree.IN_ORDER,
        Degree.CAUTION,
        Degree.CAUTION,
        Degree.BROKEN,
    ]


def test_rounding_of_decimal_fractions_is_not_a_finding() -> None:
    assert sum([0.1] * 3) > 0.3
    assert judge_most(sum([0.1] * 3), Limit(0.3, 0.3, ())) is Degree.IN_ORDER
    assert judge_least(1 - 0.9, Limit(0.1, 0.1, ())) is Degree.IN_ORDER


def test_a_value_that_is_not_a_number_is_never_in_order() -> None:
    assert judge_most(math.nan, Limit(1, 2, ())) is Degree.BROKEN
    assert judge_least(math.nan, Limit(2, 1, ())) is Degree.BROKEN


def test_an_endless_value_is_judged() -> None:
    assert judge_least(math.inf, Limit(2, 1, ())) is Degree.IN_ORDER
    assert judge_most(math.inf, Limit(1, 2, ())) is Degree.BROKEN


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
        _found("b", Degree.BROKEN),
        _found("c", Degree.CAUTION),
        _found("d", Degree.BROKEN),
    ]
    assert [finding.rule for finding in worst_first(mixed)] == ["b", "d", "c", "a"]
    assert worst(mixed) is Degree.BROKEN
    assert worst([]) is Degree.IN_ORDER


@pytest.mark.parametrize(("value", "text"), [(0.0, "0 m"), (1e-4, "0 m"), (12000.5, "12000.5 m"), (1e6, "1000000 m")])
def test_a_number_is_written_without_exponent(value: float, text: str) -> None:
    assert quantity(value, "m") == text


@given(
    st.floats(0, 1e6),
    st.floats(0, 1e6),
    st.lists(st.tuples(st.floats(0, 1e6), st.sampled_from(["standard", "common practice"])), min_size=1),
)
def test_more_is_never_better_where_less_is_safer(value: float, more: float, values: list[tuple[float, str]]) -> None:
    limit = most(tuple(fact(v, standing) for v, standing in values), "value")
    assert judge_most(value + more, limit) >= judge_most(value, limit)
