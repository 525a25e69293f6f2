"""The banks of questions, by lesson. A new bank is one import and one line here.

A bank is a module `bank_<lesson>.py` with `KINDS`: the name of each kind of question and the function that
draws one, in the order in which a lesson asks them.
"""

from __future__ import annotations

from collections.abc import Mapping

from helpers.errors import one_of
from helpers.study import (
    bank_addresses,
    bank_cycle_time,
    bank_description,
    bank_drive_alone,
    bank_faults,
    bank_formats,
    bank_io_image,
    bank_parameters,
    bank_reflections,
    bank_scaling,
    bank_segments,
    bank_shield,
    bank_start_up,
    bank_who_speaks,
    bank_words,
)
from helpers.study.question import Kind, Question, draw_from

BANKS: Mapping[str, Mapping[str, Kind]] = {
    "who-speaks": bank_who_speaks.KINDS,
    "drive-alone": bank_drive_alone.KINDS,
    "addresses": bank_addresses.KINDS,
    "segments": bank_segments.KINDS,
    "description": bank_description.KINDS,
    "formats": bank_formats.KINDS,
    "cycle-time": bank_cycle_time.KINDS,
    "io-image": bank_io_image.KINDS,
    "reflections": bank_reflections.KINDS,
    "shield": bank_shield.KINDS,
    "scaling": bank_scaling.KINDS,
    "parameters": bank_parameters.KINDS,
    "start-up": bank_start_up.KINDS,
    "words": bank_words.KINDS,
    "faults": bank_faults.KINDS,
}

# The seed of the numbers that a lesson shows first and works through.
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
