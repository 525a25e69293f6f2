"""A question: drawn from a seed, with its answer, the steps to it, and the slips people make on the way.

A bank (`helpers/study/banks/`, one file a lesson) holds functions that take a `Draw` and return a `Question`.
"""

from __future__ import annotations

import hashlib
import random
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from helpers.errors import WorkbookError
from helpers.study.forms import Choice, Form

T = TypeVar("T")

# How often a question is drawn again when its slips coincide, before its bank counts as faulty.
DRAWS = 100


@dataclass(frozen=True)
class Slip:
    """A wrong answer calculated from a mistake, and the sentence that corrects the mistake."""

    answer: Any
    sentence: str


@dataclass(frozen=True)
class Question:
    """One question with numbers in it.

    text: what is asked, unit included; a line break starts a new line.
    form: how the answer is written (`helpers.study.forms`); it carries the unit and the tolerance.
    answer: the right value, in the form's own type.
    steps: the way to the answer, one sentence each. The first is given to someone who is stuck, so it
        shows the way and not the result.
    slips: at least two survive drawing; those that fall on the answer or on each other are dropped.
    rows: a table that belongs to the question; the keys of the first row are its columns.
    """

    text: str
    form: Form[Any]
    answer: Any
    steps: tuple[str, ...]
    slips: tuple[Slip, ...]
    rows: Sequence[Mapping[str, object]] = ()
    lesson: str = ""
    kind: str = ""
    seed: int | str = ""

    @property
    def written(self) -> str:
        """The right answer as a learner would type it."""
        return self.form.written(self.answer)


class Draw:
    """Draws numbers from a seed: the same seed gives the same numbers on every machine.

    Everything rests on the start from a whole number and on `random()`, the two things of which Python
    promises that they stay the same from version to version (Python documentation, module random,
    "Notes on Reproducibility"). Its choice and sample carry no such promise.

    >>> Draw("a seed").whole(1, 125) == Draw("a seed").whole(1, 125)
    True
    """

    def __init__(self, seed: str) -> None:
        self._random = random.Random(int.from_bytes(hashlib.sha256(seed.encode()).digest())).random

    def whole(self, low: int, high: int, step: int = 1) -> int:
        """A whole number from low to high, both possible, in steps."""
        return low + step * int(self._random() * ((high - low) // step + 1))

    def pick(self, options: Sequence[T]) -> T:
        """One of the options."""
        return options[self.whole(0, len(options) - 1)]

    def some(self, options: Sequence[T], count: int) -> list[T]:
        """`count` different ones of the options, in drawn order."""
        rest = list(options)
        return [rest.pop(self.whole(0, len(rest) - 1)) for _ in range(count)]

    def shuffled(self, options: Sequence[T]) -> list[T]:
        """All options in drawn order."""
        return self.some(options, len(options))

    def choice(self, options: Iterable[str]) -> Choice:
        """The form of an answer that is one of the options, in drawn order."""
        return Choice(tuple(self.shuffled(tuple(options))))


Kind = Callable[[Draw], Question]


def draw_from(make: Kind, lesson: str, kind: str, seed: int | str) -> Question:
    """The question that `make` draws from the seed, with at least two slips that can be told apart."""
    for again in range(DRAWS):
        question = _distinct(make(Draw(f"{lesson}/{kind}/{seed}/{again}")))
        if len(question.slips) >= 2:
            return replace(question, lesson=lesson, kind=kind, seed=seed)
    raise WorkbookError(
        f"question kind {lesson}/{kind}: no draw from seed {seed} has two slips that can be told apart."
    )


def _distinct(question: Question) -> Question:
    """The question without slips that a learner's text could not tell from the answer or from one before."""
    form, kept = question.form, list[Slip]()
    for slip in question.slips:
        typed = form.read(form.written(slip.answer))
        if not any(form.same(other, typed) for other in (question.answer, *(s.answer for s in kept))):
            kept.append(slip)
    return replace(question, slips=tuple(kept))
