"""Lengths that nobody has measured: what they are taken for, and the three answers of a rule."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plan_tables import DEMO, as_csv, demo, plans, put, row_of

from helpers.errors import Unreadable
from helpers.facts import one
from helpers.line.plant.build import installation_of
from helpers.plan.check import check, check_network, remarks, sentence
from helpers.plan.figures import cycle_table, summarize, taken
from helpers.plan.read import read_plan
from helpers.plan.record import record_text
from helpers.plan.save import plan_files
from helpers.verdict import Degree

# EN 50170 Vol. 2 (1997) p.32: 200 m of type A in one segment at 1.5 Mbit/s. Segment 2 of the demo has 88 m of cable,
# 85 m of them from the repeater to the first drive, so 3 m are elsewhere.
LIMIT_M, ELSEWHERE_M = 200.0, 3.0
LENGTH = "length of the segment"


def with_length(text):
    tables = demo()
    return read_plan(as_csv(put(tables, "cable", row_of(tables, "cable", **{"from": "Repeater"}), "length", text)))


def length_of_segment_2(plan):
    return next(f for f in check(plan) if (f.rule, f.place) == (LENGTH, "segment 2"))


def test_the_demo_is_as_the_limits_here_say():
    measured = read_plan(DEMO).networks[0].segments[1]
    assert measured.length_m - measured.pieces[0].length_m == ELSEWHERE_M


@pytest.mark.parametrize(
    ("text", "degree", "words"),
    [
        ("10 to 197 m", Degree.IN_ORDER, "in order for every length within"),
        ("10 to 197.5 m", Degree.DEPENDS, "beyond 200 m not allowed, by the standard"),
        ("197 to 300 m", Degree.DEPENDS, "beyond 200 m not allowed, by the standard"),
        ("197.5 to 300 m", Degree.BY_STANDARD, "not allowed for any length within"),
        ("about 150 m", Degree.IN_ORDER, "in order for every length within"),
        ("about 160 m", Degree.DEPENDS, "beyond 200 m not allowed, by the standard"),
        ("", Degree.DEPENDS, "cable of the segment 3 m to 203 m"),
        ("?", Degree.DEPENDS, "cable of the segment 3 m to 203 m"),
    ],
)
def test_the_three_answers_on_both_sides_of_each_threshold(text, degree, words):
    finding = length_of_segment_2(with_length(text))
    assert finding.degree is degree
    assert words in finding.found


@settings(max_examples=40, deadline=None)
@given(st.floats(0, 400), st.floats(0, 400), st.floats(0, 1))
def test_an_answer_holds_for_each_length_within(first, second, share):
    least, most = sorted((round(first, 3), round(second, 3)))
    answer = length_of_segment_2(with_length(f"{least:.4f} to {most:.4f} m")).degree
    fixed = length_of_segment_2(with_length(f"{least + share * (most - least):.6f} m")).degree
    if answer is not Degree.DEPENDS:
        assert fixed is answer
    assert (answer is Degree.DEPENDS) == (least + ELSEWHERE_M <= LIMIT_M < most + ELSEWHERE_M)


def test_a_distance_between_stations_depends_the_other_way_round():
    # Common practice: 1 m of cable from device to device.
    tables = demo()
    row = row_of(tables, "cable", **{"from": "Dryer fan 1"})
    (finding,) = remarks(check(read_plan(as_csv(put(tables, "cable", row, "length", "20 cm to 3 m")))))
    assert (finding.rule, finding.degree) == ("cable between devices", Degree.DEPENDS)
    assert "outside cautious practice; from 1 m on in order" in finding.found


def test_each_open_length_says_what_it_was_taken_for():
    told = [f.found for f in check(with_length("?")) if f.rule == "open length"]
    assert told == ["not measured: taken as 0 to 200 m, most likely 10 m"]
    assert not [f for f in check(read_plan(DEMO)) if f.rule == "open length"]


def test_the_sentence_says_that_it_depends():
    assert sentence(check(with_length("?"))).startswith("Whether this plan is in order depends on lengths")
    assert "1 × depends on a length" in sentence(check(with_length("100 to 300 m")))


@pytest.mark.parametrize("workbook", [False, True])
@pytest.mark.parametrize("text", ["?", "about 20 m", "about 66 ft", "10 to 30 m", "0.5 to 1.25 km", "~1,5 m"])
def test_a_plan_with_open_lengths_survives_saving_and_reading(text, workbook):
    plan = with_length(text)
    assert plan.networks[0].has_open_lengths
    assert read_plan(plan_files(plan, workbook=workbook)).networks == plan.networks


@pytest.mark.parametrize(
    ("text", "words"),
    [("30 to 10 m", "the smaller number first"), ("about far", "about 20 m"), ("10 to 30 V", "10 to 30 m"),
     ("about 1.234 m", "mean one thing only"), ("1 to 200000 m", "0 to 100000 m"), ("-1 to 5 m", "0 to 100000 m")],
)  # fmt: skip
def test_what_is_no_range_is_refused_with_its_row(text, words):
    with pytest.raises(Unreadable, match="table cable, row") as refused:
        with_length(text)
    assert words in str(refused.value)


def test_where_a_number_is_needed_the_most_likely_length_is_taken_and_said():
    network = with_length("10 to 30 m").networks[0]
    assert installation_of(network).stretches[1].circuit.sections[0].length_m == 20
    assert taken(network).endswith("segment 2, Repeater – Intake conveyor: 20 m (10 to 30 m).")
    assert taken(read_plan(DEMO).networks[0]) == ""
    usual_m = one("open_lengths", name="likely").number("value")
    assert installation_of(with_length("?").networks[0]).stretches[1].circuit.sections[0].length_m == usual_m


def test_figures_and_record_show_the_range():
    plan = with_length("10 to 30 m")
    assert summarize(plan.networks[0]).cells["cable without stubs"] == "29 to 49 m (most likely 39 m)"
    assert "10 to 30 m A" in " ".join(record_text(plan).split())


def test_the_table_of_bit_rates_says_where_it_depends():
    # 100 m at 3 Mbit/s and above: ABB RPBA-01 manual p.113, which alone makes it a caution beyond.
    rows = cycle_table(with_length("50 to 150 m").networks[0])
    assert [row.cable for row in rows] == [Degree.IN_ORDER] * 7 + [Degree.DEPENDS] * 3


@settings(max_examples=25, deadline=None)
@given(plans())
def test_any_plan_with_open_lengths_gets_a_verdict_that_its_ends_agree_with(plan):
    for network in plan:
        findings = check_network(network)
        ends = [{(f.rule, f.place): f.degree for f in check_network(network.at_share(share))} for share in (0.0, 1.0)]
        for finding in findings:
            degrees = [end.get((finding.rule, finding.place), Degree.IN_ORDER) for end in ends]
            if finding.degree is Degree.DEPENDS:
                assert degrees[0].verdict != degrees[1].verdict
            elif finding.rule == LENGTH:
                assert finding.degree is min(degrees)


def test_lengths_that_are_measured_are_checked_as_before():
    network = read_plan(DEMO).networks[0]
    assert check_network(network) == check_network(replace(network, segments=network.at_share(0.3).segments))
