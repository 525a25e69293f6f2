"""What parameters cost: limits and a comparison by counting the telegrams of a dialogue."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.drive.parameters import parameter_time
from helpers.drive.parameters.acyclic import Address, Request, Response
from helpers.drive.parameters.acyclic_service import poll
from helpers.errors import OutOfRange

CYCLE = st.floats(1e-4, 0.1)
WORK = st.floats(0, 0.5)
COUNT = st.integers(1, 200)


def test_a_drive_that_answers_at_once():
    assert parameter_time.cyclic(1, cycle_s=0.002, work_s=0).cycles == 2
    assert parameter_time.cyclic(1, cycle_s=0.002, work_s=0, pause=True).cycles == 4
    assert parameter_time.acyclic(1, cycle_s=0.002, work_s=0).cycles == 2
    assert parameter_time.acyclic(39, cycle_s=0.002, work_s=0).cycles == 2
    assert parameter_time.acyclic(40, cycle_s=0.002, work_s=0).cycles == 4
    assert parameter_time.cyclic(0, cycle_s=0.002, work_s=0).cycles == 0
    assert parameter_time.acyclic(0, cycle_s=0.002, work_s=0).cycles == 0


def test_both_sides_of_a_whole_cycle():
    assert parameter_time.cyclic(1, cycle_s=0.002, work_s=0.004).cycles == 3
    assert parameter_time.cyclic(1, cycle_s=0.002, work_s=0.004001).cycles == 4


@given(st.integers(0, 20))
def test_as_many_cycles_as_the_dialogue_has_questions(refusals):
    # one telegram of the controller in each cycle: the write, each refused read, the read that brings the response
    asked = poll(Request("read", (Address(918),)), Response("change", False, 1), refusals=refusals)
    effort = parameter_time.acyclic(1, cycle_s=0.001, work_s=(refusals + 1) * 0.001)
    assert effort.cycles == sum(e.sender == "controller" for e in asked)


@given(COUNT, CYCLE, WORK)
def test_many_parameters_are_no_slower_in_one_request(count, cycle, work):
    one_by_one = parameter_time.cyclic(count, cycle_s=cycle, work_s=work)
    together = parameter_time.acyclic(count, cycle_s=cycle, work_s=work)
    assert together.cycles <= one_by_one.cycles
    assert one_by_one.time_s == pytest.approx(one_by_one.cycles * cycle)
    assert one_by_one.sentence.endswith(".") and together.sentence.endswith(".")


def test_refused():
    for bad in ({"cycle_s": 0, "work_s": 0}, {"cycle_s": 0.001, "work_s": -1}):
        for way in (parameter_time.cyclic, parameter_time.acyclic):
            with pytest.raises(OutOfRange):
                way(1, **bad)
            with pytest.raises(OutOfRange):
                way(-1, cycle_s=0.001, work_s=0)
