"""The texts on safe work, each in one place: isolation step by step, what *secured* means, and the cautions.

The steps are rows of `data/safe_work.csv`, the cautions rows of `data/cautions.csv`. A caution that sends a hand into
a cabinet or a drive names no step: it says `EVERY_STEP`, and the steps stand once on the page.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache

from helpers import facts
from helpers.caution import Caution, worst_first
from helpers.wording import capital_first

EVERY_STEP = "isolation, every step"


@cache
def steps(way: str) -> tuple[str, ...]:
    """The sentences of one way in their order: "isolate", "restore", "secured" and so on.

    >>> len(steps("isolate")), steps("isolate")[0]
    (11, 'Switch the machine off by its own procedure.')
    """
    return tuple(row["words"] for row in facts.where("safe_work", way=way))


@cache
def isolation() -> dict[str, str]:
    """The steps of isolation by their short names, in their order.

    >>> list(isolation())[:4]
    ['switch off', 'isolate', 'own lock and tag', 'block']
    """
    return {row["name"]: row["words"] for row in facts.where("safe_work", way="isolate")}


def named() -> str:
    """The steps of isolation by their names, where there is no room for the whole: the page tells it.

    >>> named()[:44]
    'Isolation, every step: switch off · isolate '
    """
    return f"{capital_first(EVERY_STEP)}: {' · '.join(isolation())}."


def cautions(*keys: str) -> tuple[Caution, ...]:
    """The cautions with these keys, the worst first, none twice; `Unknown` for a key that is none.

    >>> [caution.signal for caution in cautions("hot", "cabinet")]
    ['DANGER', 'CAUTION']
    """
    return worst_first(map(_caution, keys))


def listed(keys: str) -> tuple[Caution, ...]:
    """The cautions that a cell of a table names, with a semicolon between their keys; () for an empty cell.

    >>> [caution.signal for caution in listed("comes back; cabinet")], listed("")
    (['DANGER', 'WARNING'], ())
    """
    return cautions(*filter(None, map(str.strip, keys.split(";"))))


def whole() -> tuple[str, ...]:
    """All that stands once on a page or in a record, as plain text: cautions, steps, what *secured* means, who may.

    >>> whole()[0][:7], len(whole())
    ('DANGER:', 16)
    """
    numbered = [f"{number:2}. {step}" for number, step in enumerate(steps("isolate"), 1)]
    dead, *others = map(str, cautions("dead", "moves", "dust"))
    return (dead, *numbered, *others, f"Secured against starting: {steps('secured')[0]}", *steps("who"))


def in_words(given: Iterable[Caution]) -> str:
    """Cautions as plain text, each with its signal word; where they speak of isolation, how to see its steps."""
    text = " ".join(map(str, given))
    return f"{text} ({EVERY_STEP}: python -m helpers isolation)" if EVERY_STEP in text else text


@cache
def _caution(key: str) -> Caution:
    row = facts.one("cautions", caution=key)
    return Caution(row["signal"], row["words"])
