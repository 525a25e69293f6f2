"""Marks what was typed: right, a slip with the sentence that corrects it, wrong with the first step, or not read."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from helpers.errors import WorkbookError
from helpers.study.question import Question

# After this many wrong tries the steps are offered.
TRIES_BEFORE_STEPS = 2


class Verdict(StrEnum):
    """What came of a try. The value is what is stored and exported."""

    RIGHT = "right"
    SLIP = "slip"
    WRONG = "wrong"
    UNREADABLE = "not read"

    @property
    def sign(self) -> str:
        """A sign that stands beside the words, so that colour is never needed."""
        return {Verdict.RIGHT: "✓", Verdict.UNREADABLE: "?"}.get(self, "✗")

    @property
    def words(self) -> str:
        """The verdict in words."""
        return {Verdict.RIGHT: "Right", Verdict.UNREADABLE: "Could not be read"}.get(self, "Not right yet")


@dataclass(frozen=True)
class Marking:
    """The verdict, the sentence for the learner, and the answer as it was read (empty if it was not)."""

    verdict: Verdict
    sentence: str
    read: str = ""

    @property
    def counts(self) -> bool:
        """True if this was a try. What cannot be read is not counted."""
        return self.verdict is not Verdict.UNREADABLE


def mark(question: Question, typed: str) -> Marking:
    """Mark a typed answer; never raises on any text."""
    form = question.form
    if not typed.strip():
        return Marking(
            Verdict.UNREADABLE, f"Nothing is filled in yet. Expected is {form.expected}. No try was counted."
        )
    try:
        got = form.read(typed)
    except WorkbookError as error:
        return Marking(Verdict.UNREADABLE, f"{error} Expected is {form.expected}. No try was counted.")
    read = form.written(got)
    if form.same(question.answer, got):
        return Marking(Verdict.RIGHT, f"The answer is {question.written}.", read)
    for slip in question.slips:
        if form.same(slip.answer, got):
            return Marking(Verdict.SLIP, slip.sentence, read)
    return Marking(Verdict.WRONG, f"Start here: {question.steps[0]}", read)


def steps_offered(wrong_tries: int) -> bool:
    """True once the full solution may be shown."""
    return wrong_tries >= TRIES_BEFORE_STEPS
