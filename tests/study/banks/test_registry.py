"""What holds for every kind of question in every bank, whatever its subject."""

import re
from pathlib import Path

import pytest

import helpers.study.banks
from helpers.errors import Unknown
from helpers.study.banks.registry import BANKS, STANDARD_SEED, draw_question, kinds
from helpers.study.forms import Choice, Number
from helpers.study.lessons import LESSONS
from helpers.study.marking import Verdict, mark

ALL = [(lesson, kind) for lesson in BANKS for kind in kinds(lesson)]
SEEDS = [STANDARD_SEED, *range(2, 60), "Ann", "a name with spaces | 3", ""]
each_kind = pytest.mark.parametrize(("lesson", "kind"), ALL, ids=["/".join(pair) for pair in ALL])


def test_every_bank_that_is_written_is_listed_under_a_lesson():
    written = {path.stem for path in Path(helpers.study.banks.__file__).parent.glob("[!_]*.py")} - {"registry"}
    assert {lesson.replace("-", "_") for lesson in BANKS} == written
    assert len(BANKS) == len(written)
    assert set(BANKS) <= {lesson.key for lesson in LESSONS}


@pytest.mark.parametrize("lesson", BANKS)
def test_a_lesson_has_at_least_five_kinds_of_question(lesson):
    assert len(kinds(lesson)) >= 5


@each_kind
def test_the_right_answer_and_each_slip_are_told_apart(lesson, kind):
    for seed in SEEDS:
        question = draw_question(lesson, kind, seed)
        assert mark(question, question.written).verdict is Verdict.RIGHT, seed
        assert len(question.slips) >= 2, seed
        for slip in question.slips:
            result = mark(question, question.form.written(slip.answer))
            assert (result.verdict, result.sentence) == (Verdict.SLIP, slip.sentence), seed


@each_kind
def test_a_question_can_be_read_and_followed(lesson, kind):
    for seed in SEEDS:
        question = draw_question(lesson, kind, seed)
        told = [question.text, *question.steps, *(slip.sentence for slip in question.slips)]
        assert len(question.steps) >= 2, seed
        assert all(text.strip() and text == text.strip() for text in told), seed
        assert all(text[-1] in ".?!:)" or text is question.text for text in told), (seed, told)
        assert not any(re.search(r"\d\.\d{7}|\{|\}|None|True|False|0x", text) for text in told), (seed, told)
        if isinstance(question.form, Number) and question.form.unit:
            assert question.form.unit in question.text, seed
        if isinstance(question.form, Choice):
            assert {question.answer, *(slip.answer for slip in question.slips)} <= set(question.form.options), seed
            assert len(set(question.form.options)) == len(question.form.options) >= 3, seed
        if question.rows:
            assert all(row.keys() == question.rows[0].keys() for row in question.rows), seed


@each_kind
def test_other_seeds_give_other_numbers_and_the_same_seed_the_same(lesson, kind):
    assert draw_question(lesson, kind, 5) == draw_question(lesson, kind, 5)
    questions = [draw_question(lesson, kind, seed) for seed in SEEDS]
    assert len({f"{question.text} {question.rows}" for question in questions}) > 20


@each_kind
def test_what_was_drawn_are_plain_numbers(lesson, kind):
    question = draw_question(lesson, kind)
    for value in (question.answer, *(slip.answer for slip in question.slips)):
        assert type(value) in (int, float, str, frozenset)


def test_a_name_that_is_not_known_is_refused_with_the_list():
    with pytest.raises(Unknown, match=r"known are .*addresses"):
        kinds("adresses")
    with pytest.raises(Unknown, match=r"known are .*free-address"):
        draw_question("addresses", "free-adress")
