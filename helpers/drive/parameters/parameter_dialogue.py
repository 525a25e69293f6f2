"""A program and a drive talking over the cyclic parameter channel, cycle by cycle.

In each bus cycle the request goes out and an answer comes in. The drive needs some cycles for a task; until then its
last answer stands there, and it belongs to another task. To the drive, the same request again is no new task.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from helpers.drive.parameters.parameter_channel import NO_TASK, Channel, no_task
from helpers.drive.parameters.parameter_match import Match, match
from helpers.drive.parameters.parameter_store import Store, raw, respond
from helpers.errors import in_range

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
