"""The lessons in their order, the what-if pages, and the table of how far a learner has come in each lesson."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from helpers.errors import one_of


@dataclass(frozen=True)
class Lesson:
    """One lesson: its key (its bank and progress bear it), number, title, file below `workbook/`, minutes, subject."""

    key: str
    number: int
    title: str
    file: str
    minutes: int
    about: str = ""


LESSONS = (
    Lesson(
        "who-speaks", 1, "Who speaks when", "lessons/01-who-speaks-when.ipynb", 20,
        "controller, stations, polling, the token, and what a telegram is",
    ),
    Lesson(
        "drive-alone", 2, "The drive on its own", "lessons/02-the-drive-on-its-own.ipynb", 25,
        "prove it without the bus, then hand it over",
    ),
    Lesson(
        "addresses", 3, "Addresses and switches", "lessons/03-addresses.ipynb", 20,
        "give every station its own address, and set it right",
    ),
    Lesson(
        "segments", 4, "Cable, segments and termination", "lessons/04-cable-segments-termination.ipynb", 30,
        "how long, how many, and both ends closed",
    ),
    Lesson(
        "reflections", 5, "Reflections", "lessons/05-reflections.ipynb", 30,
        "what the cable does to the signal, and why a fault goes quiet at a lower bit rate",
    ),
    Lesson(
        "shield", 6, "Shield, ground and separation", "lessons/06-shield-ground-separation.ipynb", 30,
        "keep the drives' noise out of the bus",
    ),
    Lesson(
        "description", 7, "The GSD file", "lessons/07-device-description.ipynb", 25,
        "the device description, which tells the controller what the drive can do",
    ),
    Lesson(
        "formats", 8, "Choosing a data format", "lessons/08-choosing-a-data-format.ipynb", 30,
        "the shortest that carries what you need, and what it costs in time",
    ),
    Lesson(
        "cycle-time", 9, "How long a cycle takes", "lessons/09-how-long-a-cycle-takes.ipynb", 30,
        "from the bit to the answer of the plant",
    ),
    Lesson(
        "io-image", 10, "I/O image and byte order", "lessons/10-io-image-and-byte-order.ipynb", 25,
        "where the drive's words lie in the controller",
    ),
    Lesson(
        "words", 11, "Control and status words", "lessons/11-control-and-status-words.ipynb", 30,
        "make it run, make it stop, and why it does not start",
    ),
    Lesson(
        "scaling", 12, "Setpoints and scaling", "lessons/12-setpoints-and-scaling.ipynb", 25,
        "from the speed of a belt to 16 bits and back",
    ),
    Lesson(
        "parameters", 13, "Reading and writing parameters", "lessons/13-reading-and-writing-parameters.ipynb", 30,
        "the drive's settings over the bus",
    ),
    Lesson(
        "start-up", 14, "Start-up on the bus and diagnosis", "lessons/14-start-up-and-diagnosis.ipynb", 30,
        "the first telegrams, and what a station says when it objects",
    ),
    Lesson(
        "faults", 15, "Finding faults", "lessons/15-finding-faults.ipynb", 30,
        "a method, and a line to practise on",
    ),
)  # fmt: skip


@dataclass(frozen=True)
class WhatIf:
    """A what-if page: the question that it answers, its file below `workbook/`, and a word more."""

    asks: str
    file: str
    more: str = ""


# The what-if pages, by where on the job the question comes up.
WHAT_IF = {
    "Before the bus": (
        WhatIf(
            "What to do before the drive goes on the bus",
            "what-if/first-run.ipynb",
            ", a checklist for the site record",
        ),
    ),
    "Address and cable": (
        WhatIf("Is this address free, and how do I set the switches?", "what-if/addresses.ipynb"),
        WhatIf(
            "Is this segment in order, and which plugs must be switched on?", "what-if/segment-and-termination.ipynb"
        ),
        WhatIf("What will a meter read?", "what-if/meter.ipynb"),
        WhatIf("What does the signal look like?", "what-if/waveform.ipynb"),
        WhatIf("Who can hear whom?", "what-if/margins.ipynb"),
        WhatIf("Are my cables far enough apart?", "what-if/separation.ipynb"),
    ),
    "Description, format, time, image": (
        WhatIf("What does this GSD file say, and what did the new one change?", "what-if/device-description.ipynb"),
        WhatIf("Which format do I need, and what will the cycle be?", "what-if/format-and-cycle-time.ipynb"),
        WhatIf("Where do the words lie in the controller?", "what-if/io-image.ipynb"),
    ),
    "The drive": (
        WhatIf("What does this word mean?", "what-if/words.ipynb"),
        WhatIf("Why does this drive not start?", "what-if/states.ipynb"),
        WhatIf("Which number is this speed?", "what-if/scaling.ipynb"),
        WhatIf("How do I read or write this parameter?", "what-if/parameters.ipynb"),
    ),
    "Bytes and diagnosis": (
        WhatIf("What does this telegram say?", "what-if/telegrams.ipynb"),
        WhatIf("What does this diagnosis mean, and what do I do?", "what-if/diagnosis.ipynb"),
        WhatIf("Which parameter bytes does the station get?", "what-if/start-up-bytes.ipynb"),
    ),
    "The whole network": (
        WhatIf(
            "Is my whole network in order?", "what-if/network-plan.ipynb", " Fill in a spreadsheet, get the verdict."
        ),
        WhatIf("My network on the bench", "what-if/my-network-on-the-bench.ipynb", ": what would I see if …?"),
    ),
}


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
