"""The map of lessons and how far a learner has come."""

import pytest

from helpers.errors import Unknown
from helpers.study.lessons import LESSONS, Lesson, lesson_called, progress_table

TWO = [Lesson("a", 1, "First", "lessons/01-a.ipynb", 20), Lesson("b", 2, "Second", "lessons/02-b.ipynb", 25)]
KINDS = {"a": ["x", "y", "z"], "b": ["x"]}


def test_the_lessons_are_numbered_in_order_and_named_once():
    assert [lesson.number for lesson in LESSONS] == list(range(1, len(LESSONS) + 1))
    assert len({lesson.key for lesson in LESSONS}) == len(LESSONS)
    for lesson in LESSONS:
        assert lesson.file.startswith(f"lessons/{lesson.number:02d}-")
        assert 15 <= lesson.minutes <= 30


def test_a_lesson_is_found_by_its_key():
    assert lesson_called("addresses").number == 3
    with pytest.raises(Unknown, match="known are who-speaks, drive-alone, addresses"):
        lesson_called("adresses")


def test_the_table_counts_what_was_answered_right():
    rows = progress_table(TWO, KINDS, {"a": {"x", "z"}}, last="a")
    assert [(row.lesson.key, row.right, row.kinds, row.here) for row in rows] == [("a", 2, 3, True), ("b", 0, 1, False)]
    assert [row.words for row in rows] == ["2 of 3 kinds of question right", "not begun"]


def test_the_table_ends_with_all_right():
    (row,) = progress_table(TWO[:1], KINDS, {"a": ["x", "y", "z"]})
    assert (row.words, row.here) == ("all 3 kinds of question right", False)


def test_a_kind_that_is_gone_is_not_counted():
    (row,) = progress_table(TWO[:1], KINDS, {"a": {"x", "given up"}, "gone": {"x"}})
    assert (row.right, row.kinds) == (1, 3)


def test_a_lesson_without_questions_says_so():
    (row,) = progress_table(TWO[:1], {}, {})
    assert (row.kinds, row.words) == (0, "no questions")
