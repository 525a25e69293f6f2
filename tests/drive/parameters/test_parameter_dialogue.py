"""Program and drive cycle by cycle: the answer that comes late, the one that is old, and the task not repeated."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.drive.parameters import parameter_time
from helpers.drive.parameters.parameter_channel import change, no_task, read
from helpers.drive.parameters.parameter_dialogue import MOST_CYCLES, dialogue
from helpers.drive.parameters.parameter_store import demo_store
from helpers.errors import OutOfRange


@given(
    st.integers(1, 6), st.lists(st.sampled_from([918, 922, 110, 111, 113, 120]), min_size=1, max_size=6, unique=True)
)
@settings(max_examples=30)
def test_a_program_that_waits_takes_the_right_answers_in_the_time_calculated(work, numbers):
    talk = dialogue(demo_store(), [read(n) for n in numbers], work_cycles=work)
    assert all(outcome.right for outcome in talk.outcomes)
    assert [outcome.taken.value for outcome in talk.outcomes] == [demo_store()[n].values[0] for n in numbers]
    effort = parameter_time.cyclic(len(numbers), cycle_s=0.001, work_s=0.001 * work)
    assert len(talk.cycles) == effort.cycles


def test_the_answer_stays_until_the_task_changes_and_a_hasty_program_takes_the_old_one():
    # The drive repeats its answer until the task changes: Delta PD-01 manual p.15.
    talk = dialogue(demo_store(), [read(918), read(110), read(111)], work_cycles=2, hold_cycles=2)
    assert [outcome.right for outcome in talk.outcomes] == [False, False, False]
    assert [outcome.taken.number for outcome in talk.outcomes] == [0, 918, 110]
    assert "too early" in talk.outcomes[1].sentence and "918" in talk.outcomes[1].sentence
    enough = dialogue(demo_store(), [read(918), read(110)], work_cycles=2, hold_cycles=3)
    assert all(outcome.right for outcome in enough.outcomes)


def test_the_same_request_again_is_carried_out_only_after_a_pause():
    once_more = dialogue(demo_store(), [change(110, 95), change(110, 95)])
    assert [outcome.right for outcome in once_more.outcomes] == [True, False]
    assert "task 0" in once_more.outcomes[1].sentence
    paused = dialogue(demo_store(), [change(110, 95), no_task(), change(110, 95)])
    assert all(outcome.right for outcome in paused.outcomes)
    assert paused.store[110].values == (95,)


def test_a_refusal_ends_the_waiting_and_changes_nothing():
    talk = dialogue(demo_store(), [change(964, 1, subindex=1), change(110, 9999)])
    assert [outcome.taken.value for outcome in talk.outcomes] == [1, 2]  # read only, out of limits
    assert all(outcome.right for outcome in talk.outcomes) and talk.store == demo_store()


def test_a_report_is_no_answer_and_the_program_waits_on():
    talk = dialogue(demo_store(), [read(918)], work_cycles=2, report_in_cycle=3)
    assert [cycle.match.kind for cycle in talk.cycles] == ["none", "none", "report", "answer"]
    reported = talk.cycles[2].answer
    assert reported.report and reported.number == 120 and reported.value == 1843200
    assert dialogue(demo_store(), [read(918)], report_in_cycle=1, reported=918).cycles[0].answer.identifier == 9


@pytest.mark.parametrize("wrong", [{"work_cycles": 0}, {"work_cycles": MOST_CYCLES}, {"hold_cycles": 31}])
def test_what_is_no_number_of_cycles_is_refused(wrong):
    with pytest.raises(OutOfRange):
        dialogue(demo_store(), [read(918)], **wrong)
