"""Program and drive cycle by cycle: the answer that comes late, the one that is old, and the task not repeated."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers import facts
from helpers.drive.parameters import parameter_channel as pkw
from helpers.drive.parameters import parameter_time
from helpers.drive.parameters.parameter_channel import Channel, change, no_task, read
from helpers.drive.parameters.parameter_dialogue import MOST_CYCLES, dialogue, doubt, follow, match
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


OCTETS = st.binary(min_size=8, max_size=8)
PRINTED = facts.rows("published/drive_parameter_channel")


@pytest.mark.parametrize("name", dict.fromkeys(row["name"] for row in PRINTED if row["direction"] == "answer"))
def test_printed_answers_belong_to_their_requests(name):
    request, answer = (pkw.decode(bytes.fromhex(row["octets"])) for row in PRINTED if row["name"] == name)
    found = match(request, answer)
    assert found.belongs
    assert found.kind == ("refusal" if name == "refused write" else "answer")


def test_the_refused_write_says_what_to_do():
    # Delta PD-01 manual p.19: answer 7 with error 0, illegal parameter number, in PWE2
    request, answer = (pkw.decode(bytes.fromhex(o)) for o in ("202D800000000002", "702D800000000000"))
    assert match(request, answer).sentence.startswith("Error 0: there is no parameter of this number")
    assert pkw.explain_answer(answer)[-1].meaning.startswith("Error 0")


@given(OCTETS, OCTETS, st.sampled_from(pkw.INDEX_USES))
def test_every_pair_is_judged_in_words(request, answer, index):
    asked, got = pkw.decode(request, index=index), pkw.decode(answer, index=index)
    found = match(asked, got, index=index)
    assert found.sentence.endswith(".")
    if found.belongs and asked.identifier and got.identifier:
        assert got.parameter == asked.parameter


def test_an_answer_from_another_page_does_not_belong():
    asked = pkw.decode(bytes.fromhex("139A 0080 0000 0000"), index="subindex, page bits")
    same, other = (
        pkw.decode(bytes.fromhex(o), index="subindex, page bits") for o in ("139A008000000065", "139A000000000065")
    )
    assert match(asked, same, index="subindex, page bits").kind == "answer"
    found = match(asked, other, index="subindex, page bits")
    assert found.kind == "other" and "parameter 922" in found.sentence
    # Read without pages, the numbers are the same; what differs is said.
    plain = [pkw.decode(bytes.fromhex(o)) for o in ("139A008000000000", "139A000000000065")]
    assert "another parameter" in match(*plain).sentence


# --- bytes exchanged in each word ---------------------------------------------------------------------------------


def exchanged(text):
    octets = bytes.fromhex(text)
    return bytes(octet for n in range(0, 8, 2) for octet in octets[n : n + 2][::-1])


@pytest.mark.parametrize(
    ("request_", "answer", "said"),
    [
        ("1396 0000 0000 0000", "1396 0000 0000 0015", "parameter 918, 21"),
        ("1396 0000 0000 0000", "7396 0000 0000 0011", "Error 17"),
        ("6393 0200 0000 0000", "4393 0200 0000 0005", "parameter 915, 5"),
        ("2396 0000 0000 0007", "8396 0000 0000 0000", "no right"),
    ],
)
def test_exchanged_bytes_are_told_and_no_report_is_made_of_them(request_, answer, said):
    asked, got = pkw.decode(bytes.fromhex(request_)), pkw.decode(exchanged(answer))
    found = match(asked, got)
    assert not found.belongs and found.kind != "report"
    assert "bytes are exchanged" in found.sentence and said in found.sentence
    assert "has changed" not in found.sentence
    straight = match(asked, pkw.decode(bytes.fromhex(answer)))
    assert straight.belongs and "exchanged" not in straight.sentence


def test_an_answer_alone_that_is_hardly_one_is_doubted():
    got = pkw.decode(exchanged("1396 0000 0000 0015"))
    assert got.identifier == 9 and not got.report
    assert "bit 11 is 0" in doubt(got) and "parameter 918, 21" in doubt(got)
    assert "bit 11 is 0" in match(pkw.read(110), got).sentence
    assert "has changed" not in match(pkw.read(110), got).sentence
    # A report with its bit, an answer, a refusal and no answer are none to doubt.
    for octets in ("9878 0000 0000 0005", "1396 0000 0000 0015", "7396 0000 0000 0011", "0000 0000 0000 0000"):
        assert doubt(pkw.decode(bytes.fromhex(octets))) == ""


def test_octets_that_may_be_both_are_told_as_both():
    # 1311 reads parameter 785; its answer with the bytes exchanged looks like an answer for parameter 275.
    found = match(pkw.read(785), pkw.decode(exchanged("1311 0000 0000 0015")))
    assert found.kind == "other" and "parameter 275" in found.sentence and "parameter 785, 21" in found.sentence


# --- which answer belongs to which request ------------------------------------------------------------------------

VALUE_101 = Channel(1, 922, value=101)


@pytest.mark.parametrize(
    ("request_", "answer", "kind"),
    [
        (pkw.read(922), VALUE_101, "answer"),
        (pkw.read(922), Channel(2, 922, value=101), "answer"),
        (pkw.read(930), VALUE_101, "other"),  # the number of the task before
        (pkw.read(922), Channel(4, 922, value=101), "other"),  # an array's answer to no array's task
        (pkw.read(922), Channel(0), "none"),
        (pkw.no_task(), Channel(0), "answer"),
        (pkw.no_task(), VALUE_101, "other"),
        (pkw.read(915, subindex=2), Channel(4, 915, 1, 5), "other"),  # the element of the task before
        (pkw.read(915, subindex=2), Channel(4, 915, 2, 5), "answer"),
        (pkw.change(918, 7), Channel(1, 918, value=3), "other"),  # the value of the task before
        (pkw.change(918, 7), Channel(1, 918, value=7), "answer"),
        (pkw.change(918, 7), Channel(2, 918, value=7), "other"),
        (pkw.change(918, 7), Channel(7, 918, value=17), "refusal"),
        (pkw.change(918, 7), Channel(8, 918), "refusal"),
        (pkw.change(918, 7), Channel(7, 922, value=17), "other"),
        (pkw.read(922), Channel(9, 922, value=3), "report"),
        (pkw.read(922), Channel(13, 922), "other"),
    ],
)
def test_match(request_, answer, kind):
    assert match(request_, answer).kind == kind


def test_the_old_answer_trap():
    pause, nothing = pkw.no_task(), Channel(0)
    found = follow(
        [
            (pkw.read(922), nothing),
            (pkw.read(922), VALUE_101),
            (pkw.read(922), VALUE_101),  # held: repeated
            (pause, VALUE_101),  # the drive still repeats
            (pkw.read(922), VALUE_101),  # asked again too early: cannot be told from the old answer
            (pause, nothing),
            (pkw.read(922), VALUE_101),  # now it is new
        ]
    )
    assert [m.kind for m in found] == ["none", "answer", "answer", "other", "answer", "answer", "answer"]
    assert ["old answer repeated" in m.sentence for m in found] == [False, False, True, False, True, False, False]


def test_a_pause_kept_up_is_no_old_answer_and_no_answer_between_two_tasks_makes_the_next_one_new():
    pause, nothing = pkw.no_task(), Channel(0)
    kept_up = follow([(pause, nothing)] * 3)
    assert all("old answer repeated" not in m.sentence for m in kept_up)
    asked_again = follow([(pkw.read(922), VALUE_101), (pkw.read(922), nothing), (pkw.read(922), VALUE_101)])
    assert [m.kind for m in asked_again] == ["answer", "none", "answer"]
    assert "old answer repeated" not in asked_again[-1].sentence


@pytest.mark.parametrize("work", [1, 2, 3])
def test_a_drive_works_at_a_task_for_its_cycles_and_at_a_pause_for_one(work):
    talk = dialogue(demo_store(), [pkw.read(922), pkw.no_task(), pkw.read(918)], work_cycles=work)
    # what is ready stands on the bus from the next cycle on
    assert [outcome.cycles for outcome in talk.outcomes] == [work + 1, 2, work + 1]
