"""Rotations of the token that go as one before them went: their outcome is taken over instead of being worked out.

What a rotation does follows from how handlers and stations stand before it. If chance had no part in one, nobody was
found in the gap and the drives did not move on within it, then one that begins alike goes alike; what the stations
measure meanwhile may change. Time, counters, watchdogs and the recording come out as if each telegram had been sent.
"""

from __future__ import annotations

import math
from operator import itemgetter
from typing import TYPE_CHECKING, NamedTuple

from helpers.line.station import dp_slave
from helpers.line.traffic import token_ring

if TYPE_CHECKING:
    from helpers.line.traffic.line import Line

_MOST_KNOWN = 8  # as many as the start of a station takes that is started again and again, and some more
_PAUSE = 8  # rotations after one in which chance had a part: the next ones will be no better

Standing = tuple[tuple[object, ...], ...]


class Before(NamedTuple):
    """How everything is before a rotation. `marks`: numbers that only change if a rotation can't be taken over."""

    standing: Standing
    counted: tuple[dict[str, int], ...]
    until_s: tuple[float, ...]
    marks: tuple[int, ...]
    bits: float
    noted: int


class Told(NamedTuple):
    """One telegram of a course: when [bit times from the start], its octets, and whether it is whole.

    poll: its number, if it looks into a gap: it is for another address each time. inputs: the number of the station
    whose inputs it carries: they are those of the moment.
    """

    since: float
    octets: bytes
    whole: bool
    poll: int | None
    inputs: int | None


class Course(NamedTuple):
    """How a rotation goes.

    before, after: how everything stands. bits: its length. counted: what it adds to the counters of each handler.
    heard: which stations hear their controller, by number, and when [bit times from the start]. telegrams: None if
    they were not taken down.
    """

    before: Standing
    after: Standing
    bits: float
    disturbed: bool
    counted: tuple[tuple[int, tuple[tuple[str, int], ...]], ...]
    heard: tuple[tuple[int, float], ...]
    telegrams: tuple[Told, ...] | None


class Memory:
    """The last courses of a line. `forget` them whenever the cable, or who listens, may have changed."""

    def __init__(self, line: Line) -> None:
        self._line = line
        self._courses: list[Course] = []
        self._next: dict[int, Course | None] = {}
        self._pause = 0

    def forget(self) -> None:
        """Nothing is known any more."""
        self._courses, self._next, self._pause = [], {}, 0

    # -- learning -----------------------------------------------------------------------------------------------------

    def look(self) -> Before | None:
        """How everything is before a rotation that is worked out; None where looking is not worth while."""
        if self._pause:
            self._pause -= 1
            return None
        line = self._line
        counted = tuple(vars(handler.counters).copy() for handler in line.handlers)
        until_s = tuple(slave.until_s for slave in line.slaves.values())
        return Before(self._standing(), counted, until_s, self._marks(), line.bits, line.recording.noted)

    def learn(self, before: Before) -> None:
        """Keep the course of the rotation that has just ended, if another one would go the same way."""
        line, last = self._line, self._line.last
        if last is None or self._marks() != before.marks or (heard := self._heard(before)) is None:
            self._pause = _PAUSE if line.draws != before.marks[0] else 0
            return
        counted = tuple(
            (number, handler.counters.since(earlier))
            for number, (earlier, handler) in enumerate(zip(before.counted, line.handlers, strict=True))
        )
        telegrams = self._telegrams(before)
        course = Course(before.standing, self._standing(), last.bits, last.disturbed, counted, heard, telegrams)
        others = (known for known in self._courses if known.before != course.before)
        self._courses, self._next = [course, *others][:_MOST_KNOWN], {}

    def _standing(self) -> Standing:
        line = self._line
        handlers, slaves = line.handlers, line.slaves.values()
        return ((*line.out,), *[each.standing for each in handlers], *[each.standing for each in slaves])

    def _marks(self) -> tuple[int, ...]:
        line = self._line
        return line.draws, line.events, sum(slave.acted for slave in line.slaves.values())

    def _heard(self, before: Before) -> tuple[tuple[int, float], ...] | None:
        """Which stations heard their controller, and when; None where a watchdog tells something else."""
        line, heard = self._line, []
        for number, (name, slave) in enumerate(line.slaves.items()):
            if slave.until_s != before.until_s[number]:
                at_bits = line.asked_at.get(name, 0.0)
                if slave.until_s != line.seconds(at_bits) + slave.watchdog_s:
                    return None
                heard.append((number, at_bits - before.bits))
        return tuple(heard)

    def _telegrams(self, before: Before) -> tuple[Told, ...] | None:
        recording = self._line.recording
        count = recording.noted - before.noted
        if not recording.on or count > len(recording):
            return None
        polls = {token_ring.poll(address, own): n for n, (_, own, address) in enumerate(self._line.polled)}
        slaves = enumerate(self._line.slaves.values())
        inputs = {slave.data_answer(): n for n, slave in slaves if slave.state == dp_slave.EXCHANGE}
        return tuple(
            Told(at_bits - before.bits, octets, whole, polls.get(octets), inputs.get(octets))
            for at_bits, octets, whole in recording.last(count)
        )

    # -- taking over --------------------------------------------------------------------------------------------------

    def replay(self, end_bits: float) -> bool:
        """Let rotations pass whose course is known, until the drives move on or the time is over; False if none was."""
        line, course = self._line, self._known(self._standing()) if self._courses else None
        if course is None:
            return False
        before = course.before
        safe_s = min((slave.until_s for slave in line.slaves.values()), default=math.inf)
        passed: list[tuple[Course, float]] = []
        while (
            course
            and line.bits < min(end_bits, line.next_step)
            and line.bits + course.bits < line.late_step
            and line.seconds(line.bits + course.bits) <= safe_s
            and line.poll_nobody()
        ):
            if not passed:
                self._exchange()
            if line.recording.on:
                self._note(course)
            passed.append((course, line.bits))
            line.pass_over(course.bits, disturbed=course.disturbed)
            course = self._following(course)
        if passed:
            self._take_over(before, passed)
        return bool(passed)

    def _known(self, standing: Standing) -> Course | None:
        noted = self._line.recording.on
        known = (course for course in self._courses if course.telegrams is not None or not noted)
        return next((course for course in known if course.before == standing), None)

    def _following(self, course: Course) -> Course | None:
        """The course that goes on from where another one ends."""
        if id(course) not in self._next:
            self._next[id(course)] = self._known(course.after)
        return self._next[id(course)]

    def _exchange(self) -> None:
        """Each handler in data exchange gets the inputs of the moment; they stay the same until the drives move on."""
        for handler in self._line.handlers:
            if handler.exchanging and len(at := self._line.listeners(handler.address)) == 1:
                handler.take_inputs(at[0].data_answer())

    def _note(self, course: Course) -> None:
        line = self._line
        slaves = list(line.slaves.values())
        for since, octets, whole, poll, inputs in course.telegrams or ():
            if poll is not None:
                _, own, address = line.polled[poll]
                octets = token_ring.poll(address, own)
            elif inputs is not None:
                octets = slaves[inputs].data_answer()
            line.recording.note(line.bits + since, octets, whole)

    def _take_over(self, before: Standing, passed: list[tuple[Course, float]]) -> None:
        """Bring handlers and stations to where these courses, begun at these bit times, lead."""
        line, after = self._line, passed[-1][0].after
        stand = [None, *(handler.stand for handler in line.handlers), *(slave.stand for slave in line.slaves.values())]
        for number, (was, now) in enumerate(zip(before, after, strict=True)):
            if was is not now and was != now and (set_it := stand[number]):
                set_it(now)
        slaves = list(line.slaves.values())
        last = {id(course): (course, begun) for course, begun in passed}
        for course, _ in last.values():
            count = sum(course is one for one, _ in passed)
            for number, more in course.counted:
                line.handlers[number].counters.add(more, count)
        for course, begun in sorted(last.values(), key=itemgetter(1)):
            for number, since in course.heard:
                slaves[number].until_s = line.seconds(begun + since) + slaves[number].watchdog_s
        if line.bits >= line.next_step:
            line.step()
