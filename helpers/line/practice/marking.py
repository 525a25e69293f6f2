"""Marks for a session, part by part and each in a sentence: cause, repair, evidence, time, order of work."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from helpers.errors import WorkbookError
from helpers.line.evidence.table import Candidates, Evidence, key_of
from helpers.line.faults.catalogue import by_key
from helpers.line.faults.fault import Chosen
from helpers.line.instruments.reading import instrument
from helpers.line.plant.place import Place
from helpers.line.practice.path import Path, good_path
from helpers.line.practice.session import Entry, Session
from helpers.wording import counted

RIGHT, PARTLY, WRONG, OPEN = "right", "partly", "wrong", "open"
NO_EVIDENCE = "The evidence for this network is not made yet."
_NAMED = 3


class Claim(NamedTuple):
    """What the learner says: the key of a fault, and where it is."""

    key: str
    place: Place


class Mark(NamedTuple):
    """One part: what it is about, a word (right, partly, wrong, open), and a sentence."""

    part: str
    word: str
    sentence: str


class Marks(NamedTuple):
    """All parts; `left` are the single faults that the readings leave, `path` a good path to the first cause."""

    parts: tuple[Mark, ...]
    left: Candidates
    path: Path

    def part(self, name: str) -> Mark:
        """The part of this name: cause, repair, evidence, time or order of work."""
        return next(mark for mark in self.parts if mark.part == name)


def mark(session: Session, claims: tuple[Claim, ...], evidence: Evidence) -> Marks:
    """Mark a session in which these causes were named. `WorkbookError` if the evidence is of another installation."""
    if evidence.installation != session.case.installation:
        raise WorkbookError("This evidence is of another installation than the case; both have to be the same.")
    left = evidence.candidates(session.evidence)
    path = good_path(evidence, session.case)
    parts = (_cause(session, claims), _repair(session), _evidence(session, left), _time(session, path), _order(session))
    return Marks(parts, left, path)


def _cause(session: Session, claims: tuple[Claim, ...]) -> Mark:
    causes = session.case.chosen
    said = "; ".join(f"{c.fault.name}, {c.place.words}" for c in causes)
    if not claims:
        return Mark("cause", OPEN, f"You have not named a cause. It was: {said}.")
    hit = [c for c in causes if any(by_key(x.key) is c.fault and x.place.meets(c.place) for x in claims)]
    kind = [c for c in causes if any(x.key == c.fault.key for x in claims)]
    if len(hit) == len(causes):
        more = len(claims) - len(causes)
        note = f" You have also named {more} that {'was' if more == 1 else 'were'} not there." if more > 0 else ""
        return Mark("cause", PARTLY if more > 0 else RIGHT, f"Cause and place are right: {said}.{note}")
    if hit:
        return Mark("cause", PARTLY, f"{len(hit)} of {len(causes)} causes are right. There were: {said}.")
    if kind:
        return Mark("cause", PARTLY, f"The kind of fault is right, the place is not. It was: {said}.")
    return Mark("cause", WRONG, f"It was another cause: {said}.")


def _repair(session: Session) -> Mark:
    done = sum(bool(entry.repair) for entry in session.log)
    if session.healthy and session.bus == "alive" and session.tripped:
        named = ", ".join(session.tripped)
        return Mark("repair", PARTLY, f"Everything is repaired, but a fault still waits to be acknowledged: {named}.")
    if session.healthy and session.bus == "alive":
        return Mark("repair", RIGHT, "The plant is again as it was planned, and in operation.")
    if session.healthy:
        return Mark("repair", PARTLY, "Everything is repaired, but the bus is still isolated.")
    if not done:
        return Mark("repair", OPEN, "Nothing was repaired.")
    return Mark("repair", WRONG, f"After {counted(done, 'repair')} something is still not as planned.")


def _evidence(session: Session, left: Candidates) -> Mark:
    readings = counted(len(session.evidence), "reading")
    if not session.evidence:
        return Mark("evidence", OPEN, "You have measured nothing before the plant was changed, so nothing is excluded.")
    if left.unknown:
        return Mark("evidence", OPEN, f"{NO_EVIDENCE} So nobody can say what your readings exclude.")
    count, own = len(left.fitting), [key_of(chosen) for chosen in session.case.chosen]
    if len(own) > 1:
        if not count:
            return Mark("evidence", RIGHT, "No single fault gives all your readings, so there had to be two at least.")
        alone = counted(count, "single fault")
        return Mark("evidence", PARTLY, f"{alone} alone would also give your readings: {_some(left)}.")
    others = [chosen for chosen in left.fitting if key_of(chosen) not in own]
    if not others:
        return Mark("evidence", RIGHT, f"What you have read excludes every other single fault ({readings}).")
    still = f"{counted(len(others), 'other single fault')}: {_some(Candidates(tuple(others), ()))}"
    return Mark("evidence", PARTLY, f"What you have read ({readings}) leaves {still}.")


def _some(left: Candidates) -> str:
    named = ", ".join(f"{c.fault.name} ({c.place.words})" for c in left.fitting[:_NAMED])
    more = len(left.fitting) - _NAMED
    return f"{named} and {more} more" if more > 0 else named


def _time(session: Session, path: Path) -> Mark:
    looking = sum(step.minutes for step in path.steps)
    spent = f"You have used {session.minutes:g} min in all"
    if not path.steps or len(session.case.chosen) > 1:
        return Mark("time", OPEN, f"{spent}. There is no path to hold it against here.")
    own = minutes_to_look(session.log)
    if not own:
        return Mark("time", OPEN, f"{spent}, and taken no reading of the plant as it was. So there is no time to mark.")
    word = RIGHT if own <= looking else PARTLY
    return Mark(
        "time", word, f"{spent}, {own:g} min of it to look and measure; a good path takes {looking:g} min for that."
    )


def minutes_to_look(log: Sequence[Entry]) -> float:
    """The minutes that went into readings of the case [min].

    With them isolating the bus and bringing it back, if that was done for a reading. Repairs, acknowledging, words by
    hand and tests after a repair are no part of it.
    """
    minutes, around, measured, before = 0.0, 0.0, False, 0.0
    for entry in log:
        cost, before = entry.minute - before, entry.minute
        if entry.bus:
            around += cost
            if entry.bus == "alive":
                minutes += around if measured else 0.0
                around, measured = 0.0, False
        elif entry.reading and entry.evidence:
            minutes += cost
            measured = measured or instrument(entry.reading.instrument).bus == "dead"
    return minutes + (around if measured else 0.0)


def _order(session: Session) -> Mark:
    if not any(entry.reading or entry.repair or entry.breach for entry in session.log):
        return Mark("order of work", OPEN, "You have done nothing yet.")
    breaches = [f"{entry.what}: {entry.result}" for entry in session.log if entry.breach]
    if not breaches:
        return Mark("order of work", RIGHT, "Nothing was tried by which somebody could have been hurt.")
    numbered = " ".join(f"({number}) {breach}" for number, breach in enumerate(breaches, 1))
    return Mark("order of work", WRONG, f"{counted(len(breaches), 'attempt')} refused: {numbered}")


def excluded_by(session: Session, evidence: Evidence) -> list[tuple[int, list[Chosen], Candidates]]:
    """For each reading that is evidence: its number in the log, what it excluded, and what was left after it."""
    left, found = evidence.candidates(()), []
    for number, entry in enumerate(session.log):
        if entry.reading and entry.evidence:
            now = evidence.candidates((entry.reading,), (*left.fitting, *left.unknown))
            stay = set(now.fitting)
            found.append((number, [chosen for chosen in left.fitting if chosen not in stay], now))
            left = now
    return found
