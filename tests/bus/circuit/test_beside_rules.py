"""Rule and physics side by side. The rules: data/segment_length.csv, stubs.csv, wiring_rules.csv and their sources."""

from dataclasses import replace

import pytest

from helpers.bus.circuit.beside_rules import FAST, MIDDLE, SLOW, beside, side_by_side
from helpers.bus.segment import even_line
from helpers.verdict import Degree


@pytest.fixture(scope="module")
def table():
    return {(row.case, row.bit_rate): row for row in side_by_side()}


def test_a_full_segment_that_keeps_the_rules_works_at_every_bit_rate(table):
    full = [row for row in table.values() if row.case.startswith("full length")]
    assert len(full) == 10
    assert {row.words for row in full} == {"both accept it"}


def test_a_missing_terminator_is_quiet_at_the_low_bit_rate_only(table):
    missing = [table["100 m, one terminator missing", rate] for rate in (FAST, MIDDLE, SLOW)]
    assert all(row.degree == Degree.BROKEN for row in missing)
    assert [row.words for row in missing] == ["both reject it", "both reject it", "the rule is stricter"]


def test_ten_stubs_of_three_metres(table):
    """At 1.5 Mbit/s the rule allows 6.6 m in all; the calculation still finds a margin at 30 m."""
    assert table["100 m, ten stubs of 3 m", FAST].words == "both reject it"
    assert table["100 m, ten stubs of 3 m", MIDDLE].words == "the rule is stricter"
    assert table["100 m, ten stubs of 3 m", SLOW].words == "both accept it"


def test_every_row_says_against_what_rule_and_where_it_comes_from(table):
    for row in table.values():
        assert row.sending != row.hearing
        for finding in row.against:
            assert finding.rule and finding.source
        assert (row.degree == Degree.IN_ORDER) == (not row.against)


def test_all_four_things_that_rule_and_physics_can_say_together(table):
    kept, broken = table["100 m, ten stubs of 3 m", SLOW], table["100 m, ten stubs of 3 m", FAST]
    assert (kept.words, broken.words) == ("both accept it", "both reject it")
    assert replace(kept, margin_v=-0.01).words == "the rules accept what does not work here"
    assert replace(broken, margin_v=0.01).words == "the rule is stricter"


def test_one_segment_alone():
    planned = even_line(stations=3, length_m=30, bit_rate=MIDDLE)
    assert beside("three stations", planned).case == "three stations"
    assert beside("three stations", planned).bit_rate == MIDDLE
