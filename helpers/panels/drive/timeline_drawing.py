"""A record of words as lanes over time: what the controller sends, what the drive shows, and the signs of life."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from helpers.drive import words
from helpers.drive.sign_of_life import Beat
from helpers.drive.states import model_state
from helpers.drive.timeline import Event, Sample
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing

WIDTH = 760
_LEFT, _RIGHT, _HIGH = 132, 750, 30
_LETTER = 6.6  # px, width of a letter of size 11
_APART = 2  # px from cross to cross
_FLAG = 22  # px, room for the number of a change
_RUNS = words.encode(on=["on", "no coast stop", "no quick stop", "enable operation", "control by PLC"])
_PULSES = words.encode("status", on=["operation enabled"])


def lanes(
    samples: Sequence[Sample],
    changes: Sequence[Event],
    lives: Mapping[str, Sequence[Beat]],
    *,
    low: float,
    high: float,
) -> Drawing:
    """The part of a record from `low` to `high` (s); the numbers below are those of the changes in the table."""
    height = 66 + 3 * (_HIGH + 8) + 50 * len(lives)
    sheet = Drawing(WIDTH, height, _says(changes))

    def at(time_s: float) -> float:
        return _LEFT + (_RIGHT - _LEFT) * (time_s - low) / (high - low)

    bottom = height - 50
    for x, numbers in _flags(changes, at):
        sheet.line(x, 8, x, bottom + 4, stroke=GREY, width=0.8, dash="2 3")
        sheet.text(min(x, WIDTH - 4 * len(numbers)), bottom + 16, numbers, size=11, bold=True, fill=BLUE)
    sheet.text(8, bottom + 16, "change no.", size=11, anchor="start", bold=True, fill=BLUE)
    _axis(sheet, bottom + 24, low, high, at)
    for row, (title, told) in enumerate((("controller sends", _sent), ("drive shows", _shown), ("pulses", _pulses))):
        y = 8.0 + row * (_HIGH + 8)
        sheet.text(8, y + 19, title, size=12, anchor="start")
        _lane(sheet, y, [(at(sample.time_s), told(sample)) for sample in samples], at(high))
    for row, (who, beats) in enumerate(lives.items()):
        _life(sheet, 8.0 + 3 * (_HIGH + 8) + 50 * row, who, samples, beats, at)
    return sheet


@dataclass(frozen=True)
class _Told:
    """What a box of a lane says: its name, and a shorter text for where the name has no room."""

    name: str
    short: str = ""
    fill: str = PAPER


def _sent(sample: Sample) -> _Told:
    usual, short = words.usual(sample.control), words.spelled(sample.control)
    runs = sample.control & _RUNS == _RUNS
    return _Told(usual.name if usual else short, short, SKY if runs else PAPER)


def _shown(sample: Sample) -> _Told:
    state, short = model_state(sample.status), words.spelled(sample.status)
    if "fault" in state:
        return _Told(f"▲ {state}", short, SAND)
    # The word may change within a state; the box changes with the state only.
    return _Told(state or short, short, SKY if state == "operation" else PAPER)


def _pulses(sample: Sample) -> _Told:
    return _Told("on", fill=SKY) if sample.status & _PULSES else _Told("off")


def _lane(sheet: Drawing, y: float, told: Sequence[tuple[float, _Told]], end: float) -> None:
    """One lane: a box for each stretch of time with the same name, the name in it where there is room."""
    stretches = [told[0]]
    for x, box in told:
        if box.name != stretches[-1][1].name:
            stretches.append((x, box))
    hidden: float | None = None
    for (x, box), stop in zip(stretches, [*(x for x, _ in stretches[1:]), end], strict=True):
        if stop - x < 1:  # too short for this scale: drawn together with its neighbours
            hidden = x if hidden is None else hidden
            continue
        if hidden is not None:
            sheet.box(hidden, y, max(1.5, x - hidden), _HIGH, fill=INK, stroke="none")
            hidden = None
        sheet.box(x, y, stop - x, _HIGH, fill=box.fill, line=1)
        lines = _fitted(box.name, stop - x - 6) or _fitted(box.short, stop - x - 4)
        for n, line in enumerate(lines):
            sheet.text((x + stop) / 2, y + 19 + 12 * (n - (len(lines) - 1) / 2), line, size=11)
    if hidden is not None:
        sheet.box(hidden, y, max(1.5, end - hidden), _HIGH, fill=INK, stroke="none")


def _fitted(text: str, room: float) -> list[str]:
    """The text in one or two lines; none if there is no room for its words."""
    if len(text) * _LETTER <= room:
        return [text]
    cut = min((n for n, letter in enumerate(text) if letter == " "), key=lambda n: abs(2 * n - len(text)), default=0)
    lines = [text[:cut], text[cut + 1 :]]
    return lines if cut and max(map(len, lines)) * _LETTER <= room else []


def _flags(changes: Sequence[Event], at: Callable[[float], float]) -> list[tuple[float, str]]:
    """Where the numbers of the changes stand; those too close to one another share a place."""
    groups: list[list[int]] = []
    places = [at(change.time_s) for change in changes]
    for n, x in enumerate(places):
        if groups and x - places[groups[-1][0]] < _FLAG + 7 * len(str(n)):
            groups[-1].append(n)
        else:
            groups.append([n])
    return [(places[g[0]], f"{g[0] + 1}" + (f"–{g[-1] + 1}" if len(g) > 1 else "")) for g in groups]


def _axis(sheet: Drawing, y: float, low: float, high: float, at: Callable[[float], float]) -> None:
    span = high - low
    step = 10.0 ** math.floor(math.log10(span / 4))
    step *= next(factor for factor in (1, 2, 5, 10) if span / (step * factor) <= 9)
    digits = max(0, -math.floor(math.log10(step)))
    sheet.line(_LEFT, y, _RIGHT, y, stroke=INK, width=1)
    sheet.text(8, y + 18, "time in s", size=11, anchor="start")
    for n in range(math.ceil(low / step), math.floor(high / step) + 1):
        x = at(n * step)
        sheet.line(x, y, x, y + 5, stroke=INK, width=1)
        sheet.text(min(x, _RIGHT - 8), y + 18, f"{n * step:.{digits}f}", size=11)


def _life(
    sheet: Drawing, y: float, who: str, samples: Sequence[Sample], beats: Sequence[Beat], at: Callable[[float], float]
) -> None:
    """A sign of life as steps from 0 to 15; a cross for each count that was not the expected one."""
    sheet.text(8, y + 16, "sign of life:", size=12, anchor="start")
    sheet.text(8, y + 31, who, size=12, anchor="start")
    high = 36.0
    for value in (0, 15):
        sheet.text(_LEFT - 4, y + high - (high - 6) * value / 15 + 4, value, size=11, anchor="end", fill=GREY)
    points: list[tuple[float, float]] = []
    told_fault, crossed = False, -math.inf
    for n, (sample, beat) in enumerate(zip(samples, beats, strict=True)):
        x, level = at(sample.time_s), y + high - (high - 6) * beat.count / 15
        if points and x - points[-1][0] < 0.5 and beat.count == beat.expected:
            continue
        points += [(x, points[-1][1]), (x, level)] if points else [(x, level)]
        failed = beat.failures and (n == 0 or beat.failures > beats[n - 1].failures)
        if failed and x - crossed >= _APART:  # crosses on top of each other would be one black bar
            crossed = x
            for tilt in (-4, 4):
                sheet.line(x - 4, level - tilt, x + 4, level + tilt, stroke=ORANGE, width=2)
        if beat.fault and not told_fault:
            told_fault = True
            sheet.text(min(x + 6, _RIGHT - 40), y + 8, "▲ fault", size=11, anchor="start", bold=True)
    sheet.path([*points, (at(samples[-1].time_s), points[-1][1])], stroke=BLUE, width=1.5)


def _says(changes: Sequence[Event]) -> str:
    told = "; ".join(f"{n}: {c.time_s:g} s {c.kind} word, {c.name}" for n, c in enumerate(changes[:30], 1))
    more = f"; and {len(changes) - 30} more" if len(changes) > 30 else ""
    return f"Control word, status word and pulses over time. Changes: {told or 'none'}{more}."
