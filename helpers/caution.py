"""Cautions and their four signal words, which rank what happens if the hazard is not avoided.

The words and their order are the rows of `data/signal_words.csv`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from helpers import facts
from helpers.errors import one_of

# From the least to the worst, the order of the table.
SIGNALS = NOTICE, CAUTION, WARNING, DANGER = tuple(row["word"] for row in facts.rows("signal_words"))


@dataclass(frozen=True)
class Caution:
    """What can happen and how it is avoided, in a sentence or two; its signal word is one of `SIGNALS`.

    >>> str(Caution(NOTICE, "The stations behind this plug are lost."))
    'NOTICE: The stations behind this plug are lost.'
    """

    signal: str
    words: str

    def __post_init__(self) -> None:
        one_of("signal word", self.signal, SIGNALS)

    def __str__(self) -> str:
        return f"{self.signal}: {self.words}"

    @property
    def injures(self) -> bool:
        """True if somebody can be hurt.

        >>> Caution(NOTICE, "").injures, Caution(CAUTION, "").injures
        (False, True)
        """
        return facts.one("signal_words", word=self.signal)["injures"] == "yes"


def worst_first(cautions: Iterable[Caution]) -> tuple[Caution, ...]:
    """The cautions, the worst at the top; equal ones stay in their order, and none stands twice."""
    distinct = tuple(dict.fromkeys(cautions))
    return tuple(sorted(distinct, key=lambda caution: -SIGNALS.index(caution.signal)))
