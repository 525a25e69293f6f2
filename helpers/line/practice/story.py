"""Afterwards: what each reading said, what it excluded and why, and what a good path would have been."""

from __future__ import annotations

from helpers.line.evidence.expected import ABSENT
from helpers.line.evidence.noted import noted
from helpers.line.evidence.table import Candidates, Evidence
from helpers.line.faults.fault import Chosen
from helpers.line.instruments import io_sheet
from helpers.line.instruments.reading import Reading, instrument
from helpers.line.practice.marking import NO_EVIDENCE, Marks, excluded_by
from helpers.line.practice.path import Path
from helpers.line.practice.session import STANDING, TURNING, Entry, Session
from helpers.wording import counted

_MOST_LINES = 4


def story(session: Session, marks: Marks, evidence: Evidence) -> tuple[str, ...]:
    """The session as it was, in sentences: the complaint, each thing done, the cause, and a good path."""
    case = session.case
    told = [f"The plant said: {case.complaint}"]
    by_entry = {number: (out, left) for number, out, left in excluded_by(session, evidence)}
    for number, entry in enumerate(session.log):
        line = f"After {entry.minute:g} min: {entry.what}. {_result(entry)}"
        if entry.written:
            line += f" {_by_hand(entry)}"
        if number in by_entry and entry.reading:
            out, left = by_entry[number]
            line += f" {_said(entry.reading, out, evidence)} {_left(left)}"
        elif entry.reading and not entry.written:
            line += " The plant was changed before, so this excludes nothing."
        told.append(line)
    if any(left.unknown for _, left in by_entry.values()):
        told.append(f"{NO_EVIDENCE} With it, each reading would say here what it excludes.")
    if by_hand := io_sheet.forced(session.line):
        told.append(f"At the end these outputs were still written by hand, not by the program: {', '.join(by_hand)}.")
    told += [f"It was: {c.fault.name}, {c.place.words}. {c.fault.what}" for c in case.chosen]
    if marks.path.steps and len(case.chosen) == 1:
        told.append(_path(marks.path, whole=evidence.complete))
    return tuple(told)


def _path(path: Path, *, whole: bool) -> str:
    """The readings of a good path, and what is left at its end."""
    steps = "; then ".join(
        f"{', '.join(filter(None, (instrument(step.key).name, step.place.words)))} "
        f"({'again until it changes, ' if step.again else ''}{step.minutes:g} min, {step.left} left)"
        for step in path.steps
    )
    so_far = "" if whole else ", as far as the evidence for this network is made"
    alike = "; ".join(f"{chosen.fault.name}, {chosen.place.words}" for chosen in path.left)
    end = "" if len(path.left) == 1 else f" No reading tells these apart at one look: {alike}."
    return f"A good path{so_far}: {steps}.{end}"


def _result(entry: Entry) -> str:
    """What came of it; of a long reading only its length, as the log has it line by line."""
    if entry.reading is None or entry.result != entry.reading.text:
        return entry.result
    lines = len(entry.reading.lines)
    return f"It has {lines} lines; the log shows them." if lines > _MOST_LINES else f"{entry.result.rstrip('.')}."


def _left(left: Candidates) -> str:
    """How many single faults are left, and of how many nobody knows yet."""
    count, unknown = len(left.fitting), len(left.unknown)
    open_still = f", and of {unknown} nothing is known" if unknown else ""
    return f"{count} single {'fault is' if count == 1 else 'faults are'} left{open_still}."


def _by_hand(entry: Entry) -> str:
    """What follows from words that a person wrote."""
    if f"{STANDING} before, {TURNING}" in entry.result:
        return (
            "A drive that turns with words by hand has its cable, address, format and sources in order. What held it "
            "is in the words of the program, unless the fault comes and goes."
        )
    return "It excludes nothing: the words were yours, not those of the program."


def _said(reading: Reading, out: list[Chosen], evidence: Evidence) -> str:
    if not out:
        return "This excludes no further fault."
    first = out[0]
    line = evidence.why_not(first, reading) or ""
    expected = evidence.expected(first, reading.instrument, reading.place).get(line)
    seen = dict(noted(reading, evidence.installation)).get(line, ABSENT)
    count = counted(len(out), "single fault")
    return (
        f"This excludes {count}, for example {first.fault.name} ({first.place.words}): "
        f"with it, “{line}” would read “{expected.words if expected else ABSENT}”, and it read “{seen}”."
    )
