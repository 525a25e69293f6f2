"""Four verdicts, and what the learner is told with each."""

import pytest

from helpers.study.forms import Number
from helpers.study.marking import Verdict, mark, steps_offered
from helpers.study.question import Question, Slip

ASKED = Question(
    "How long is the cable, in m?",
    Number("m", "length", relative=0.01),
    200.0,
    steps=("Add up the pieces.", "120 m + 80 m = 200 m."),
    slips=(Slip(280.0, "One piece was counted twice."), Slip(61.0, "Those are feet.")),
)


@pytest.mark.parametrize(
    ("typed", "verdict", "says"),
    [
        ("200", Verdict.RIGHT, "The answer is 200 m."),
        ("0,2 km", Verdict.RIGHT, "The answer is 200 m."),
        ("280 m", Verdict.SLIP, "One piece was counted twice."),
        ("61", Verdict.SLIP, "Those are feet."),
        ("150", Verdict.WRONG, "Start here: Add up the pieces."),
        ("", Verdict.UNREADABLE, "Nothing is filled in yet. Expected is a number in m"),
        ("long", Verdict.UNREADABLE, "Expected is a number in m, for example 12 m. No try was counted."),
        ("200 s", Verdict.UNREADABLE, "s is a unit of time; asked is a length in m."),
    ],
)
def test_each_answer_gets_its_verdict_and_its_sentence(typed, verdict, says):
    result = mark(ASKED, typed)
    assert result.verdict is verdict
    assert says in result.sentence


def test_what_cannot_be_read_is_no_try():
    assert [mark(ASKED, typed).counts for typed in ("200", "280", "150", "", "long")] == [True] * 3 + [False] * 2


def test_the_result_says_how_the_answer_was_read():
    # A comma is a decimal comma here; the learner who meant one thousand five hundred sees it.
    assert mark(ASKED, "1,500").read == "1.5 m"


def test_a_wrong_answer_is_not_told_the_result():
    assert "200" not in mark(ASKED, "150").sentence


def test_every_verdict_has_its_own_words_and_a_sign():
    assert [(v.sign, v.words) for v in Verdict] == [
        ("✓", "Right"),
        ("✗", "Not right yet"),
        ("✗", "Not right yet"),
        ("?", "Could not be read"),
    ]


def test_the_steps_are_offered_after_a_second_try():
    assert [steps_offered(tries) for tries in range(4)] == [False, False, True, True]
