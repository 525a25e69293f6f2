"""The lessons in their order, and the table of how far a learner has come in each."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from helpers.errors import one_of


@dataclass(frozen=True)
class Lesson:
    """One lesson: its key (banks and progress use it), number, title, file below `workbook/`, minutes it takes."""

    key: str
    number: int
    title: str
    file: str
    minutes: int


LESSONS = (
    Lesson("who-speaks", 1, "Who speaks when", "lessons/01-who-speaks-when.ipynb", 20),
    Lesson("drive-alone", 2, "The drive on its own", "lessons/02-the-drive-on-its-own.ipynb", 25),
    Lesson("addresses", 3, "Addresses and switches", "lessons/03-addresses.ipynb", 20),
    Lesson("segments", 4, "Cable, segments and termination", "lessons/04-cable-segments-termination.ipynb", 30),
    Lesson("reflections", 5, "Reflections", "lessons/05-reflections.ipynb", 30),
    Lesson("shield", 6, "Shield, ground and separation", "lessons/06-shield-ground-separation.ipynb", 30),
    Lesson("description", 7, "The GSD file", "lessons/07-device-description.ipynb", 25),
    Lesson("formats", 8, "Choosing a data format", "lessons/08-choosing-a-data-format.ipynb", 30),
    Lesson("cycle-time", 9, "How long a cycle takes", "lessons/09-how-long-a-cycle-takes.ipynb", 30),
    Lesson("io-image", 10, "I/O image and byte order", "lessons/10-io-image-and-byte-order.ipynb", 25),
    Lesson("words", 11, "Control and status words", "lessons/11-control-and-status-words.ipynb", 30),
    Lesson("scaling", 12, "Setpoints and scaling", "lessons/12-setpoints-and-scaling.ipynb", 25),
    Lesson("parameters", 13, "Reading and writing parameters", "lessons/13-reading-and-writing-parameters.ipynb", 30),
    Lesson("start-up", 14, "Start-up on the bus and diagnosis", "lessons/14-start-up-and-diagnosis.ipynb", 30),
    Lesson("faults", 15, "Finding faults", "lessons/15-finding-faults.ipynb", 30),
)


def lesson_called(key: str) -> Lesson:
    """The lesson with this key; `Unknown` with the list of keys otherwise."""
    one_of("lesson", key, [lesson.key for lesson in LESSONS])
    return next(lesson for lesson in LESSONS if lesson.key == key)


@dataclass(frozen=True)
class Standing:
    """How far a learner is in one lesson: `right` of `kinds` kinds of question; `here` marks the place left last."""

    lesson: Lesson
    right: int
    kinds: int
    here: bool

    @property
    def words(self) -> str:
        """The progress in words.

        >>> Standing(LESSONS[0], 2, 5, False).words
        '2 of 5 kinds of question right'
        """
        if not self.kinds:
            return "no questions"
        if self.right == self.kinds:
            return f"all {self.kinds} kinds of question right"
        return f"{self.right} of {self.kinds} kinds of question right" if self.right else "not begun"


def progress_table(
    lessons: Sequence[Lesson],
    kinds: Mapping[str, Collection[str]],
    right: Mapping[str, Collection[str]],
    last: str = "",
) -> list[Standing]:
    """One row per lesson.

    kinds: the kinds of question each lesson has; right: those answered right at least once (a kind that
    the lesson no longer has is not counted); last: the lesson in which the last answer was given.
    """
    return [
        Standing(
            lesson,
            right=len(set(right.get(lesson.key, ())) & set(kinds.get(lesson.key, ()))),
            kinds=len(kinds.get(lesson.key, ())),
            here=lesson.key == last,
        )
        for lesson in lessons
    ]
