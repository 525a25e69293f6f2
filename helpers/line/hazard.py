"""What can hurt at an action, as data: every action declares its hazards, or “none, because …”.

A hazard is a row of `data/hazards.csv`. It has a signal word, a sentence, and what the gate asks for before it: that
the bus is isolated, or that people are clear of the machine there or of every machine.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from helpers import facts
from helpers.caution import Caution, worst_first
from helpers.errors import Unreadable, one_of

ISOLATED, HERE, EVERYWHERE = ASKS = ("isolated", "clear here", "clear everywhere")
_NONE = "none, because "


@dataclass(frozen=True)
class Hazard:
    """One hazard. asks: one of `ASKS`, or empty where the sentence is all there is."""

    key: str
    caution: Caution
    asks: str


@dataclass(frozen=True)
class Care:
    """What an action declares: its hazards, the worst first, or because of what there are none."""

    hazards: tuple[Hazard, ...]
    because: str = ""

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """The cautions that stand where the hand moves."""
        return tuple(hazard.caution for hazard in self.hazards)

    @property
    def words(self) -> str:
        """All of them in one text, each with its signal word; empty without a hazard.

        >>> declared("guards people").words
        'WARNING: A release may guard people: find out why it is open, and never bridge it.'
        """
        return " ".join(map(str, self.cautions))

    def asking(self, *asks: str) -> tuple[Hazard, ...]:
        """The hazards that ask for one of these."""
        return tuple(hazard for hazard in self.hazards if hazard.asks in asks)


@cache
def hazard(key: str) -> Hazard:
    """The hazard of this key; `Unknown` with the list if there is none."""
    known = {row["hazard"]: row for row in facts.rows("hazards")}
    one_of("hazard", key, known)
    row = known[key]
    if row["asks"]:
        one_of("what a hazard asks for", row["asks"], ASKS)
    return Hazard(key, Caution(row["signal"], row["words"]), row["asks"])


@cache
def declared(text: str) -> Care:
    """What a declaration says: keys of hazards with a semicolon between them, or “none, because …”.

    `Unreadable` for one that says nothing, and for “none” without a reason.

    >>> [hazard.caution.signal for hazard in declared("stations lost; starts any").hazards]
    ['WARNING', 'NOTICE']
    >>> declared("none, because nothing is touched").because
    'nothing is touched'
    """
    if text.startswith(_NONE) and text[len(_NONE) :].strip():
        return Care((), text[len(_NONE) :])
    if not text.strip() or text.startswith("none"):
        raise Unreadable(f"An action declares {text!r}; it has to name its hazards, or say “none, because …”.")
    named = {each.caution: each for each in map(hazard, (key.strip() for key in text.split(";")))}
    return Care(tuple(named[caution] for caution in worst_first(named)))


@cache
def care(action: str) -> Care:
    """What an action of `data/actions.csv` declares: those of the desk, the plant's switches and the panels."""
    return declared(facts.one("actions", action=action)["hazards"])
