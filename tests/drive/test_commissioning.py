"""The steps before a drive meets the bus, and the verdict on a list that is filled in.

EN 50110-1, dead working, from memory: disconnect, secure against reconnection, verify the absence of voltage, in this
order and before the work. IEC 60204-1:2016, clause 6.2.4: at most 60 V left in what can be touched.
The other orders are common practice, no source.
"""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers import safe_work
from helpers.drive.commissioning import (
    MEASURE,
    NAMEPLATES,
    OUTCOMES,
    WAIT,
    Checklist,
    Result,
    judge,
    marked,
    must_come_first,
    next_step,
    open_steps,
    step_called,
    steps,
    touch_limit,
    us_practice,
    value_of,
)
from helpers.errors import OutOfRange, Unknown, Unreadable
from helpers.facts import rows
from helpers.verdict import Degree, worst

NAMES = [step.name for step in steps()]
READINGS = {NAMEPLATES: "10", WAIT: "12 min", MEASURE: "3 V", "run from the panel": "30 %", "station address": "12"}


def filled(names=NAMES, **readings):
    """A list with these steps done one after another."""
    told = READINGS | {name.replace("_", " "): reading for name, reading in readings.items()}
    checklist = Checklist("Cooling fan")
    for name in names:
        text = "noted" if step_called(name).reading == "text" else ""
        checklist = marked(checklist, name, "done", reading=told.get(name, text), who="A. Fitter")
    return checklist


def found(checklist, *, missing=False):
    return [f for f in judge(checklist) if f.degree and (missing or f.rule != "missing step")]


def without(name):
    return [each for each in NAMES if each != name]


# The table


def test_every_step_can_be_reached_from_the_steps_before_it():
    for place, step in enumerate(steps()):
        assert step.order == place + 1
        assert set(step.after) <= set(NAMES[:place])
        assert step.do and step.see and step.why and step.cited
    needed = {name for step in steps() for name in step.after}
    assert needed == set(without("hand over")), "every step leads on"


def test_nobody_touches_the_board_before_the_five_of_dead_working():
    order = {step.name: step.order for step in steps()}
    chain = [
        "isolate",
        "lock",
        "wait",
        "measure the DC link",
        "seat the option board",
        "connect the board's earth wire",
    ]
    assert [order[name] for name in chain] == sorted(order[name] for name in chain)
    for earlier, later in pairwise(chain):
        assert earlier in step_called(later).after
    assert all(step_called(name).safety for name in chain[:4])
    assert all(step.caution for step in steps() if step.safety or "switch on" in step.name or "run" in step.name)


def test_the_limit_is_sixty_volts():
    assert (touch_limit().cautious, touch_limit().last) == (60, 60)
    # NFPA 70E and OSHA 29 CFR 1910.333 act from 50 V, AC and DC: known from memory, so told and not judged.
    assert "50 V AC and DC" in us_practice() and "70E" in us_practice() and "1910.333" in us_practice()
    assert {row.standing for row in touch_limit().facts} == {"standard"}
    assert all(row["kind"] in ("DC", "AC", "AC and DC") for row in rows("dc_link"))


# The verdict


def test_a_list_done_in_order_is_in_order():
    checklist = filled()
    assert found(checklist, missing=True) == []
    assert worst(judge(checklist)) is Degree.IN_ORDER
    assert {f.rule for f in judge(checklist)} == {"waiting time", "DC link"}
    assert (open_steps(checklist), next_step(checklist)) == ((), None)


def test_an_empty_list_is_open_and_nothing_worse():
    empty = Checklist("Cooling fan")
    assert [f.place for f in found(empty, missing=True)] == NAMES
    assert {f.rule for f in judge(empty)} == {"missing step"}
    assert next_step(empty).name == NAMES[0]


@pytest.mark.parametrize("name", NAMES)
def test_a_step_left_out_is_found_where_it_was_needed(name):
    checklist = filled(without(name))
    needing = {step.name for step in steps() if name in step.after}
    degree = Degree.BY_EVERY_SOURCE if step_called(name).safety else Degree.CAUTION
    early = [f for f in found(checklist) if f.rule == "order of steps"]
    assert {f.place for f in early} == needing
    assert all(f.found == f"done before “{name}”" and f.degree is degree for f in early)
    assert [step.name for step in open_steps(checklist)] == [name]
    assert next_step(checklist).name == name
    # With a reason, a step may be impossible; but not one that keeps people safe.
    excused = found(marked(checklist, name, "not possible", remark="built in at the works"))
    still = needing if step_called(name).safety else set()
    assert {f.place for f in excused if f.rule == "order of steps"} == still
    bare = found(marked(checklist, name, "not possible"))
    assert {(f.rule, f.place) for f in bare} >= {("remark", name), *(("order of steps", place) for place in needing)}


@given(st.permutations(NAMES))
@settings(max_examples=30)
def test_any_order_is_judged_by_what_came_before(order):
    checklist = filled(order)
    at = {name: place for place, name in enumerate(order)}
    wrong = {(step.name, before) for step in steps() for before in step.after if at[before] > at[step.name]}
    told = {(f.place, f.found.split("“")[1].rstrip("”")) for f in found(checklist)}
    assert told == wrong
    for step in steps():
        assert {before.name for before in must_come_first(checklist, step.name)} == {
            before for place, before in wrong if place == step.name
        }


@pytest.mark.parametrize(
    ("volts", "degree"),
    [
        ("0", Degree.IN_ORDER),
        ("60", Degree.IN_ORDER),
        ("60.1", Degree.BY_STANDARD),
        ("-60", Degree.IN_ORDER),
        ("-60.1", Degree.BY_STANDARD),
        ("0,565 kV", Degree.BY_STANDARD),
        ("400 mV", Degree.IN_ORDER),
    ],
)
def test_the_voltage_left_on_both_sides_of_the_limit(volts, degree):
    checklist = filled(measure_the_DC_link=volts)
    (finding,) = [f for f in judge(checklist) if f.rule == "DC link"]
    assert finding.degree == degree
    assert ("Touch nothing" in finding.to_do) == (degree > 0)
    # A meter that shows a dangerous voltage is no leave to open the drive.
    early = [f for f in found(checklist) if f.rule == "order of steps"]
    assert [(f.place, f.degree) for f in early] == [("seat the option board", Degree.BY_EVERY_SOURCE)] * (degree > 0)
    assert all("no safe voltage" in f.found for f in early)


@pytest.mark.parametrize(
    ("plate", "waited", "degree"),
    [
        ("10", "10", Degree.IN_ORDER),
        ("10", "9.9", Degree.BY_EVERY_SOURCE),
        ("5", "9.9", Degree.IN_ORDER),
        ("", "9", Degree.CAUTION),
    ],
)
def test_the_waiting_time_on_both_sides_of_the_label(plate, waited, degree):
    checklist = filled(read_nameplates_and_label=plate, wait=waited)
    (finding,) = [f for f in judge(checklist) if f.rule == "waiting time"]
    assert finding.degree == degree
    assert bool(finding.to_do) == (degree > 0)


@pytest.mark.parametrize("name", [step.name for step in steps() if step.reading])
def test_a_reading_that_was_not_written_down_is_found(name):
    bare = marked(filled(), name, "done", reading="")
    assert ("reading", name) in {(f.rule, f.place) for f in found(bare)}


# Filling in


def test_a_correction_keeps_the_turn_and_doing_it_again_takes_a_new_one():
    checklist = filled(NAMES[:5])
    assert [checklist.result(name).turn for name in NAMES[:5]] == [1, 2, 3, 4, 5]
    corrected = marked(checklist, "lock", "done", remark="tag 12")
    assert (corrected.result("lock").turn, corrected.result("lock").remark) == (4, "tag 12")
    again = marked(marked(checklist, "lock", "not done"), "lock", "done")
    assert again.result("lock").turn == 6
    assert [f.place for f in found(again) if f.rule == "order of steps"] == ["wait"]
    assert [result.step for result in again.results] == NAMES[:5]


@given(st.lists(st.tuples(st.sampled_from(NAMES), st.sampled_from(OUTCOMES)), max_size=30))
@settings(max_examples=30)
def test_turns_are_never_given_twice(marks):
    checklist = Checklist("fan")
    for name, outcome in marks:
        checklist = marked(checklist, name, outcome)
    turns = [result.turn for result in checklist.results if result.outcome == "done"]
    assert len(set(turns)) == len(turns) and 0 not in turns
    assert all((result.turn > 0) == (result.outcome == "done") for result in checklist.results)
    assert {step.name for step in open_steps(checklist)} == set(NAMES) - {
        name for name, outcome in dict(marks).items() if outcome != "not done"
    }
    following = next_step(checklist)
    assert following is None or following in open_steps(checklist)


def test_what_cannot_be_meant_is_refused():
    empty = Checklist("fan")
    with pytest.raises(Unknown, match="step is 'dance'; known are read nameplates and label"):
        marked(empty, "dance", "done")
    with pytest.raises(Unknown, match="outcome is 'perhaps'; known are done, not done, not possible"):
        marked(empty, "lock", "perhaps")
    with pytest.raises(Unreadable):
        marked(empty, MEASURE, "done", reading="none left")
    with pytest.raises(OutOfRange, match=r"the reading of “wait” is -1 min; allowed is 0 to 600 min"):
        marked(empty, WAIT, "done", reading="-1")
    with pytest.raises(OutOfRange, match="the reading of “station address” is 127; allowed is 0 to 126"):
        marked(empty, "station address", "done", reading="127")


def test_a_reading_is_read_in_its_unit():
    assert value_of(WAIT, "10min") == value_of(WAIT, " 10 ") == 10
    assert value_of(MEASURE, "0.5 kV") == 500
    assert value_of("station address", "16#0A") == 10
    assert value_of("run from the panel", "30 %") == 30
    assert value_of("data format", "12") is None and value_of("lock", "12") is None and value_of(WAIT, "") is None


def test_a_list_is_a_value():
    checklist = filled()
    assert checklist == filled() and replace(checklist, drive="other") != checklist
    assert checklist.result("lock") == Result("lock", "done", who="A. Fitter", turn=4)


def test_a_reading_between_the_two_voltages_is_in_order_and_the_other_stands_beside_it():
    (finding,) = [f for f in judge(filled(measure_the_DC_link="55 V")) if f.rule == "DC link"]
    assert finding.degree == 0 and "memory" not in finding.source


def test_the_orders_of_the_dead_steps_are_those_of_isolation():
    told = " ".join(step_called(name).do for name in ("isolate", "lock", "wait", "measure the DC link"))
    places = [told.index(step) for step in safe_work.steps("isolate")]
    assert places == sorted(places)


def test_a_step_that_has_to_wait_for_a_voltage_to_fall_is_named_with_what_must_come_first():
    checklist = filled(without("seat the option board"), **{MEASURE: "100 V"})
    assert [step.name for step in must_come_first(checklist, "seat the option board")] == [MEASURE]
    assert next_step(checklist).name == "seat the option board"
