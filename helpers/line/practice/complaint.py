"""A complaint in the plant's own words, from what is seen now and what is seen usually."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cache
from random import Random

from helpers.facts import where
from helpers.line.practice.observation import DARK, LIT, RUNS, STANDS, STOPS_FOR_GOOD, Observation, Seen
from helpers.wording import capital_first

# Speeds as people say them: up to which share of the usual speed, and the words.
_SHARES = ((0.15, "a tenth"), (0.27, "a quarter"), (0.4, "a third"), (0.6, "half"), (0.8, "two thirds"),
           (0.97, "nine tenths"), (1.25, "more than all"), (1.75, "one and a half times"))  # fmt: skip
# So many drives are named; of more, the last are only counted.
_MOST = 4


def complaint(now: Observation, usual: Observation, random: Random) -> str:
    """What the people of the plant say, in one to three sentences.

    Empty if nobody would see a difference.
    """
    return " ".join(_sentences(now, usual, random))


def handover(random: Random) -> str:
    """What is said where nobody has noticed anything: a check before the network is handed over."""
    return _words("handover", (), random)


def _sentences(now: Observation, usual: Observation, random: Random) -> Iterator[str]:
    kinds: dict[str, list[str]] = {}
    before = dict(usual.drives)
    for name in now.differing(usual):
        kinds.setdefault(_kind(dict(now.drives)[name], before[name]), []).append(name)
    ran = [name for name, seen in usual.drives if seen.does != STANDS]
    if len(ran) > 1 and kinds.get("stands") == ran:
        yield _words("everything", (), random)
        return
    for kind, names in kinds.items():
        speeds = {
            _share(dict(now.drives)[name].percent / before[name].percent) for name in names if before[name].percent
        }
        yield _words(kind, names, random, " to ".join(sorted(speeds)))
    if kinds and sum(map(len, kinds.values())) < len(now.drives):
        yield _words("rest", (), random)
    if not kinds and now.light != usual.light and now.light != DARK:
        yield _words("light" if now.light == LIT else "flickers", (), random)


def _kind(now: Seen, before: Seen) -> str:
    if now.unasked and not before.unasked:
        return "unasked"
    if now.does == RUNS and before.does == RUNS:
        return "slow" if abs(now.percent) < abs(before.percent) else "fast"
    if now.does == STOPS_FOR_GOOD and before.does == STANDS:
        return "starts"
    return "starts" if now.does == RUNS else now.does


def _share(share: float) -> str:
    """A share of the usual speed, as people say it.

    >>> _share(0.35), _share(2.0)
    ('a third', 'twice and more')
    """
    return next((words for most, words in _SHARES if abs(share) <= most), "twice and more")


def _words(kind: str, names: Sequence[str], random: Random, speed: str = "") -> str:
    row = random.choice(where("demo/complaints", kind=kind))
    words = row["one" if len(names) == 1 else "many"]
    return capital_first(words.format(who=_listed(names), speed=speed))


def _listed(names: Sequence[str]) -> str:
    called = [_called(name) for name in names]
    if len(called) > _MOST:
        called = [*called[: _MOST - 1], f"{len(called) - _MOST + 1} more"]
    return called[0] if len(called) == 1 else f"{', '.join(called[:-1])} and {called[-1]}" if called else ""


@cache
def _called(name: str) -> str:
    """A device as people call it: one with a number by its name, another with an article.

    >>> _called("Discharge screw"), _called("Dryer fan 1"), _called("PMP")
    ('the discharge screw', 'dryer fan 1', 'the PMP')
    """
    plain = name[:1].lower() + name[1:] if name[1:2].islower() else name
    return plain if any(letter.isdigit() for letter in name) else f"the {plain}"
