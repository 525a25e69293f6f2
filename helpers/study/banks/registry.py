"""The banks of questions, by lesson. A new bank is one file.

A bank is a module named for its lesson's key with `KINDS`: the name of each kind of question and the function that
draws one, in the order in which a lesson asks them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from importlib import import_module
from pathlib import Path

from helpers.errors import one_of
from helpers.study.lessons import LESSONS
from helpers.study.question import Kind, Question, draw_from


def _module(lesson: str) -> str:
    return lesson.replace("-", "_")


# The lessons that have a bank, which is a file named for the lesson's key.
_LESSONS = tuple(lesson.key for lesson in LESSONS if Path(__file__).with_name(f"{_module(lesson.key)}.py").is_file())


class Banks(Mapping[str, Mapping[str, Kind]]):
    """The kinds of question of each lesson. A bank is imported when it is asked for: a notebook needs its own only."""

    def __getitem__(self, lesson: str) -> Mapping[str, Kind]:
        kinds: Mapping[str, Kind] = import_module(f"helpers.study.banks.{_module(lesson)}").KINDS
        return kinds

    def __contains__(self, lesson: object) -> bool:
        return lesson in _LESSONS

    def __iter__(self) -> Iterator[str]:
        return iter(_LESSONS)

    def __len__(self) -> int:
        return len(_LESSONS)


BANKS: Mapping[str, Mapping[str, Kind]] = Banks()

# The seed of the questions that a lesson shows first.
STANDARD_SEED = 1


def kinds(lesson: str) -> list[str]:
    """The kinds of question of a lesson, in the order in which they are asked.

    >>> "free-address" in kinds("addresses")
    True
    """
    one_of("lesson with questions", lesson, BANKS)
    return list(BANKS[lesson])


def draw_question(lesson: str, kind: str, seed: int | str = STANDARD_SEED) -> Question:
    """The question of a kind with the numbers of a seed: the same on every machine.

    >>> draw_question("addresses", "free-address", 7) == draw_question("addresses", "free-address", 7)
    True
    """
    one_of(f"kind of question in lesson {lesson}", kind, kinds(lesson))
    return draw_from(BANKS[lesson][kind], lesson, kind, seed)
