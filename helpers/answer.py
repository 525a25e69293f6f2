"""An answer as plain data: a verdict in words, its reason, pictures as descriptions, and the table behind it.

Answers are made on the floors of calculation and plan by plain functions of their inputs, so they can be tested without
any widget. Panels show them as HTML (`helpers.panels.kit.as_html`), the shell as text (`helpers.shell.text`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Protocol

from helpers.caution import Caution
from helpers.verdict import Degree

Row = Mapping[str, object]


class Picture(Protocol):
    """What a picture shows, as data; how it is drawn is for the panels."""

    @property
    def says(self) -> str:
        """The picture in words, for a reader who cannot see it."""


@dataclass(frozen=True)
class TakeAway:
    """A result as a file: its name, its bytes and its media type."""

    name: str
    content: bytes
    media: str = "text/csv"


@dataclass(frozen=True)
class Answer:
    """What is said of one set of inputs.

    sentence: the result in one or two plain sentences, units included.
    degree: the verdict, where there is one to give.
    because: the rule behind it and its source.
    caution: what can hurt, at the place where the hand would move.
    pictures: what is to be drawn, each with its words.
    rows: the table behind the result; the keys of the first row are its columns.
    folded: further tables, each with a heading; folded up until the reader asks.
    sources: where the numbers come from, each with its standing; folded up until the reader asks.
    files: results to take away.
    """

    sentence: str
    degree: Degree | None = None
    because: str = ""
    caution: Sequence[Caution] = ()
    pictures: Sequence[Picture] = ()
    rows: Sequence[Row] = ()
    folded: Sequence[tuple[str, Sequence[Row]]] = ()
    sources: Sequence[str] = ()
    files: Sequence[TakeAway] = ()
