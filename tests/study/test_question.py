"""Draws are the same everywhere, and slips that cannot be told apart are dropped or drawn again."""

import subprocess
import sys

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.errors import WorkbookError
from helpers.study.forms import Number
from helpers.study.question import Draw, Question, Slip, draw_from

# Drawn once with CPython 3.11. A Python or machine that draws other numbers breaks every set of questions
# that is already in a learner's hands.
GOLDEN_WHOLE = [85, 5, 74, 102, 2, 75, 85, 20]
GOLDEN_SOME = ["B", "F", "E", "A"]
GOLDEN_SHUFFLED = [1, 4, 5, 2, 0, 3]
GOLDEN_STEP = 50


def test_the_draws_of_a_seed_are_these():
    draw = Draw("a seed")
    assert [draw.whole(1, 125) for _ in range(8)] == GOLDEN_WHOLE
    assert draw.some("ABCDEFG", 4) == GOLDEN_SOME
    assert draw.shuffled(range(6)) == GOLDEN_SHUFFLED
    assert draw.whole(0, 100, step=25) == GOLDEN_STEP


def printed_with_salt(code, salt):
    command = [sys.executable, "-c", code]
    environment = {"PYTHONHASHSEED": salt}
    return subprocess.run(command, env=environment, capture_output=True, text=True, check=True).stdout


def test_the_draws_do_not_hang_on_the_process():
    # Python salts hash() per process; nothing drawn may rest on it.
    code = "from helpers.study.question import Draw; d = Draw('a seed'); print([d.whole(1, 125) for _ in range(8)])"
    assert {printed_with_salt(code, salt) for salt in ("1", "2")} == {f"{GOLDEN_WHOLE}\n"}


def test_every_process_draws_the_same_questions_to_the_last_digit():
    # Not the draws alone: what is calculated from them must not rest on the order of a set either.
    code = (
        "from helpers.study.banks.registry import BANKS, draw_question\n"
        "for lesson in BANKS:\n"
        "    for kind in BANKS[lesson]:\n"
        "        question = draw_question(lesson, kind)\n"
        "        wrong = [repr(sorted(slip.answer) if isinstance(slip.answer, frozenset) else slip.answer)\n"
        "                 for slip in question.slips]\n"
        "        print(lesson, kind, question.text, question.written, question.steps, wrong)"
    )
    first, second = (printed_with_salt(code, salt).splitlines() for salt in ("1", "2"))
    assert len(first) > 100
    assert first == second


@given(st.text(), st.integers(-1000, 1000), st.integers(0, 1000), st.integers(1, 7))
def test_a_whole_number_keeps_its_bounds_and_its_step(seed, low, span, step):
    value = Draw(seed).whole(low, low + span, step)
    assert low <= value <= low + span
    assert (value - low) % step == 0


def test_both_ends_are_drawn():
    draw = Draw("ends")
    assert {draw.whole(3, 5) for _ in range(100)} == {3, 4, 5}
    assert {draw.pick("ab") for _ in range(100)} == {"a", "b"}


@given(st.text(), st.lists(st.integers(), unique=True, max_size=12), st.data())
def test_some_are_different_ones_of_the_options(seed, options, data):
    count = data.draw(st.integers(0, len(options)))
    some = Draw(seed).some(options, count)
    assert len(some) == len(set(some)) == count
    assert set(some) <= set(options)
    assert sorted(Draw(seed).shuffled(options)) == sorted(options)


def question(*slips: float, answer: float = 10.0, relative: float = 0.01) -> Question:
    return Question(
        "How many?", Number(relative=relative), answer, ("Count.",), tuple(Slip(s, f"{s} is wrong") for s in slips)
    )


def left(*slips: float, **more: float) -> list[float]:
    return [slip.answer for slip in draw_from(lambda _: question(*slips, **more), "l", "k", 1).slips]


def test_slips_that_fall_on_the_answer_or_on_each_other_are_dropped():
    assert left(10.0, 20.0, 30.0) == [20.0, 30.0]  # on the answer
    assert left(10.1, 20.0, 30.0) == [20.0, 30.0]  # within the tolerance of the answer
    assert left(10.11, 20.0, 30.0) == [10.11, 20.0, 30.0]  # just outside it
    assert left(20.0, 20.1, 30.0) == [20.0, 30.0]  # on each other: the first, likelier one stays


def test_a_draw_with_too_few_slips_is_drawn_again():
    drawn: list[int] = []

    def make(draw: Draw) -> Question:
        drawn.append(draw.whole(1, 1000))
        return question(20.0, 30.0 if len(drawn) == 3 else 20.0)

    assert [slip.answer for slip in draw_from(make, "l", "k", 1).slips] == [20.0, 30.0]
    assert len(drawn) == len(set(drawn)) == 3


def test_a_kind_that_never_has_two_slips_is_refused_by_name():
    with pytest.raises(WorkbookError, match=r"segments/broken.*seed 7"):
        draw_from(lambda _: question(20.0, 20.0), "segments", "broken", 7)


def test_a_question_knows_where_it_comes_from():
    asked = draw_from(lambda _: question(20.0, 30.0), "segments", "count", "Ann")
    assert (asked.lesson, asked.kind, asked.seed, asked.written) == ("segments", "count", "Ann", "10")
