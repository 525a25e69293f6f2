"""A program and a drive talking over the cyclic parameter channel, cycle by cycle.

In each bus cycle the request goes out and an answer comes in. The drive needs some cycles for a task; until then its
last answer stands there, and it belongs to another task. To the drive, the same request again is no new task.
Nothing in the four words says "this is new": identifier, parameter number and subindex have to fit the request.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from helpers.drive.parameters.access import refusal
from helpers.drive.parameters.parameter_channel import (
    NO_RIGHTS,
    NO_TASK,
    OCTETS,
    PLAIN,
    REFUSED,
    Channel,
    answers,
    decode,
    encode,
    no_task,
    tasks,
    value_text,
)
from helpers.drive.parameters.parameter_store import Store, raw, respond
from helpers.errors import in_range
from helpers.wording import capital_first

MOST_CYCLES = 30  # a program that waits longer has to give up and say so
_REPORT_WORD, _REPORT_DOUBLE = 9, 10  # identifiers of `data/parameter_answers.csv`


@dataclass(frozen=True)
class Cycle:
    """One bus cycle: which task of the program (from 1), what went out, what came in, and whether it belongs."""

    number: int
    task: int
    request: Channel
    answer: Channel
    match: Match


@dataclass(frozen=True)
class Outcome:
    """What the program takes for the answer to a task. `right`: it is, and the drive has acted on this very task."""

    request: Channel
    taken: Channel
    cycles: int
    right: bool
    sentence: str


@dataclass(frozen=True)
class Dialogue:
    """All cycles, what came of each task, and the drive's parameters afterwards."""

    cycles: tuple[Cycle, ...]
    outcomes: tuple[Outcome, ...]
    store: Store


class _Drive:
    """The drive's end: the request it last took as new, and the answer that stands on the bus."""

    def __init__(self, store: Store, work: int) -> None:
        self.store, self.work = store, work
        self.answer, self.taken = no_task(), no_task()
        self._next: Channel | None = None
        self._left = 0

    def takes(self, request: Channel) -> None:
        """The request of this cycle arrives; what is ready stands on the bus from the next cycle on."""
        if request != self.taken:
            self.taken = request
            self._next, self.store = respond(self.store, request)
            self._left = 1 if request.identifier == NO_TASK else self.work
        if self._next is not None:
            self._left -= 1
            if self._left == 0:
                self.answer, self._next = self._next, None


def dialogue(
    store: Store,
    requests: Sequence[Channel],
    *,
    work_cycles: int = 2,
    hold_cycles: int | None = None,
    report_in_cycle: int = 0,
    reported: int = 120,
) -> Dialogue:
    """What passes between a program and the drive.

    Parameters: store, the drive's parameters; requests, the program's tasks in their order; work_cycles, bus cycles
    that the drive needs for a task; hold_cycles, how many cycles the program keeps each task before it takes what
    stands there, None for a program that waits until the answer belongs; report_in_cycle, the cycle in which the
    drive reports by itself that the parameter `reported` has changed (0: never).

    >>> from helpers.drive.parameters.parameter_channel import read
    >>> from helpers.drive.parameters.parameter_store import demo_store
    >>> [c.answer.value for c in dialogue(demo_store(), [read(918), read(922)]).cycles]
    [0, 0, 21, 21, 21, 1]
    """
    in_range("cycles that the drive works", work_cycles, 1, MOST_CYCLES - 1)
    in_range("cycles that the program keeps a task", hold_cycles or 1, 1, MOST_CYCLES)
    drive = _Drive(store, work_cycles)
    cycles: list[Cycle] = []
    outcomes: list[Outcome] = []
    for number, request in enumerate(requests, 1):
        new = request != drive.taken or request.identifier == NO_TASK
        for kept in range(1, MOST_CYCLES + 1):
            answer = _report(drive.store, reported) if len(cycles) + 1 == report_in_cycle else drive.answer
            drive.takes(request)
            found = match(request, answer)
            cycles.append(Cycle(len(cycles) + 1, number, request, answer, found))
            if kept == hold_cycles or (hold_cycles is None and found.belongs):
                break
        outcomes.append(_outcome(request, cycles[-1], kept, new))
    return Dialogue(tuple(cycles), tuple(outcomes), drive.store)


def _report(store: Store, number: int) -> Channel:
    parameter = store[number]
    identifier = _REPORT_DOUBLE if parameter.bits == 32 else _REPORT_WORD
    return Channel(identifier, number, 0, raw(parameter, 0), report=True)


def _outcome(request: Channel, last: Cycle, cycles: int, new: bool) -> Outcome:
    if not last.match.belongs:
        sentence = f"Taken too early. {last.match.sentence}"
    elif not new:
        sentence = (
            "Not carried out: to the drive, the same request again is no new task. It repeats its old answer. Send "
            "task 0 in between, and wait for answer 0."
        )
    else:
        sentence = last.match.sentence
    return Outcome(request, last.answer, cycles, last.match.belongs and new, sentence)


@dataclass(frozen=True)
class Match:
    """Whether an answer belongs to a request. `kind`: answer, refusal, none, report, or other."""

    kind: str
    sentence: str

    @property
    def belongs(self) -> bool:
        """True if the request is answered, well or by a refusal."""
        return self.kind in ("answer", "refusal")


def match(request: Channel, answer: Channel, *, index: str = PLAIN) -> Match:
    """Whether an answer belongs to a request; index as for `decode`.

    It does if its identifier is one that the task can bring, its parameter number is the one asked, and for an
    array its subindex too (Delta PD-01 manual p.15). A drive repeats its last answer until the task changes, so
    an answer on the bus may still be the one before; and two equal requests in a row cannot be told apart at
    all without a pause between them. An answer that would belong with the bytes of its words exchanged is told.

    >>> from helpers.drive.parameters.parameter_channel import read
    >>> match(read(110), decode(bytes.fromhex("106E000000000050"))).kind
    'answer'
    >>> match(read(111), decode(bytes.fromhex("106E000000000050"))).kind
    'other'
    """
    found = _match(request, answer, index)
    if found.belongs:
        if answer.other == request.other:
            return found
        beside = f"16#{answer.other:02X}, 16#{request.other:02X} in the request"
        note = f"Beside the subindex IND bears {beside}. If the drive numbers pages there, it is another parameter."
        return replace(found, sentence=f"{found.sentence} {note}")
    turned = _bytes_exchanged(answer, index)
    if request.identifier == NO_TASK or not _match(request, turned, index).belongs:
        return found
    told = (
        f"With high and low byte of each word exchanged, it is the answer: {_said(turned)}. The bytes are exchanged "
        "on the way, by the controller or by the program."
    )
    if _sound(answer):  # then it may as well be what it seems
        return replace(found, sentence=f"{found.sentence} Or else: {told[0].lower()}{told[1:]}")
    return Match("other", f"As it stands, this is no answer to the request. {told}")


def doubt(answer: Channel, *, index: str = PLAIN) -> str:
    """What speaks against an answer that stands alone, and how it reads with the bytes exchanged; else empty.

    >>> doubt(decode(bytes.fromhex("106E000000000050")))
    ''
    >>> doubt(decode(bytes.fromhex("9613000000001500")))[-94:]
    'With high and low byte of each word exchanged it reads: answer 1, parameter 918, 21 (16#0015).'
    """
    got = answers()[answer.identifier & 0xF]
    if _sound(answer):
        return ""
    turned = _bytes_exchanged(answer, index)
    reads = f" With high and low byte of each word exchanged it reads: {_said(turned)}." if _sound(turned) else ""
    if got.kind == "report":
        return "" if answer.report else f"Identifier {got.identifier} is that of a report, yet bit 11 is 0.{reads}"
    if got.kind != "reserved" and not reads:
        return ""
    return f"Identifier {got.identifier} ({got.name}) with bit 11 at {answer.report:d} is no usual answer.{reads}"


def _bytes_exchanged(one: Channel, index: str) -> Channel:
    octets = encode(one, index=index)
    return decode(bytes(octets[n ^ 1] for n in range(OCTETS)), index=index)


def _sound(answer: Channel) -> bool:
    """Whether the octets alone look like an answer to a task."""
    return answers()[answer.identifier & 0xF].kind in ("value", "refusal") and not answer.report


def _said(answer: Channel) -> str:
    got = answers()[answer.identifier & 0xF]
    what = refusal(answer.value & 0xFFFF).sentence.rstrip(".") if got.identifier == REFUSED else ""
    what = what or (got.name if got.identifier == NO_RIGHTS else value_text(got.width, answer.value))
    return f"answer {got.identifier}, parameter {answer.parameter}, {what}"


def _match(request: Channel, answer: Channel, index: str) -> Match:
    task, got = tasks()[request.identifier & 0xF], answers()[answer.identifier & 0xF]
    if got.kind == "none":
        if request.identifier == NO_TASK:
            return Match("answer", "Nothing was asked, and nothing is answered.")
        return Match("none", "No answer yet: keep the request as it is.")
    if got.kind == "report":
        if not answer.report:
            return Match(
                "report", f"{doubt(answer, index=index)} It is no answer to the request. Keep the request and wait."
            )
        return Match(
            "report",
            f"The drive reports by itself that parameter {answer.parameter} has changed; this is no answer. "
            "Bit 11 marks it; how it is confirmed is in the drive's manual. Keep the request and wait.",
        )
    if answer.parameter != request.parameter or request.identifier == NO_TASK:
        return Match(
            "other",
            f"This answer is for parameter {answer.parameter}, not for the present request: it is the answer to "
            "the task before. Keep the request and wait.",
        )
    if got.identifier == REFUSED:
        return Match("refusal", refusal(answer.value & 0xFFFF).sentence)
    if got.identifier == NO_RIGHTS:
        return Match("refusal", f"{capital_first(got.name)}: {got.meaning}.")
    if got.identifier not in task.answers:
        return Match(
            "other",
            f"Answer {got.identifier} ({got.name}) does not fit task {task.identifier} ({task.name}): it is the "
            "answer to the task before. Keep the request and wait.",
        )
    if task.array and answer.subindex != request.subindex:
        return Match(
            "other",
            f"This answer is for element {answer.subindex}, element {request.subindex} was asked: it is the "
            "answer to the task before. Keep the request and wait.",
        )
    if task.writes and answer.value != request.value:
        return Match(
            "other",
            f"The answer repeats {answer.value}, {request.value} was written: it is the answer to the task "
            "before, or the drive keeps another value. Read the parameter back.",
        )
    return Match("answer", f"Answered: {value_text(got.width, answer.value)}.")


def follow(cycles: Iterable[tuple[Channel, Channel]]) -> tuple[Match, ...]:
    """The cycles of a dialogue, request and answer side by side: which answers belong, and which are old.

    To a drive, the same request again is no new task, unless it has answered 0 in between: it repeats its
    answer, and a second change is not carried out. Such an answer is marked in its sentence.

    >>> from helpers.drive.parameters.parameter_channel import read
    >>> old = decode(bytes.fromhex("106E000000000050"))
    >>> [m.kind for m in follow([(read(110), old), (read(111), old)])]
    ['answer', 'other']
    """
    told: list[Match] = []
    answered: Channel | None = None
    for request, answer in cycles:
        found = match(request, answer)
        if found.belongs and request == answered:
            again = "It is the old answer repeated. To ask anew, send task 0, wait for answer 0, then ask."
            found = replace(found, sentence=f"{found.sentence} {again}")
        told.append(found)
        if answers()[answer.identifier & 0xF].kind == "none":
            answered = None
        elif found.belongs:
            answered = request
    return tuple(told)
