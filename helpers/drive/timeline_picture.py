"""A record of words as rows over time: what the controller sends, what the drive shows, and the signs of life."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from helpers.curves import Axis, Bar, Curve, Curves, Note, Points, Tone, thinned
from helpers.drive import words
from helpers.drive.sign_of_life import Beat
from helpers.drive.states import model_state
from helpers.drive.timeline import Event, Sample

_WIDE = 610  # px along the axis of time, about
_FLAG, _DIGIT = 22, 7  # px between the numbers of two changes, and for each digit
_CROSS = 4  # px from cross to cross: those on top of each other would be one dark bar
_RUNS = words.encode(on=["on", "no coast stop", "no quick stop", "enable operation", "control by PLC"])
_PULSES = words.encode("status", on=["operation enabled"])


def rows_over_time(
    samples: Sequence[Sample],
    changes: Sequence[Event],
    lives: Mapping[str, Sequence[Beat]],
    *,
    low: float,
    high: float,
) -> Curves:
    """The part of a record from `low` to `high` (s); the numbers below are those of the changes in the table."""
    pixel_s = (high - low) / _WIDE
    titles = ["controller sends", "drive shows", "pulses", *(f"sign of life,\n{who}, 0 to 15" for who in lives)]
    bars = [
        bar
        for row, shown in enumerate((_sent, _shown, _pulses))
        for bar in _stretches([(sample.time_s, shown(sample)) for sample in samples], row, high, pixel_s)
    ]
    signs = [_life(row, samples, beats, pixel_s) for row, beats in enumerate(lives.values(), 3)]
    flags = _flags(changes, pixel_s)
    last = len(titles)
    return Curves(
        _says(changes),
        Axis("time in s", low, high),
        Axis("", last + 0.3, -0.5, ticks=[*((row, title) for row, title in enumerate(titles)), (last, "change no.")]),
        [curve for curve, _, _ in signs],
        points=[crosses for _, crosses, _ in signs],
        bars=bars,
        notes=[*(Note(time_s, last, numbers, "centre", bold=True) for time_s, numbers in flags),
               *(note for _, _, faults in signs for note in faults)],
        upright=[time_s for time_s, _ in flags],
        height=90 + 40 * last,
    )  # fmt: skip


@dataclass(frozen=True)
class _Stretch:
    """What a word says for a while: its name, a shorter text for where that has no room, and its look."""

    name: str
    short: str = ""
    tone: Tone = Tone.QUIET


def _sent(sample: Sample) -> _Stretch:
    usual, short = words.usual(sample.control), words.spelled(sample.control)
    runs = sample.control & _RUNS == _RUNS
    return _Stretch(usual.name if usual else short, short, Tone.MAIN if runs else Tone.QUIET)


def _shown(sample: Sample) -> _Stretch:
    state, short = model_state(sample.status), words.spelled(sample.status)
    if "fault" in state:
        return _Stretch(f"▲ {state}", short, Tone.OTHER)
    # The word may change within a state; the bar changes with the state only.
    return _Stretch(state or short, short, Tone.MAIN if state == "operation" else Tone.QUIET)


def _pulses(sample: Sample) -> _Stretch:
    return _Stretch("on", tone=Tone.MAIN) if sample.status & _PULSES else _Stretch("off")


def _stretches(said: Sequence[tuple[float, _Stretch]], row: int, end_s: float, pixel_s: float) -> list[Bar]:
    """A bar for each stretch of time with one name; those too short for this scale are one dark bar together."""
    begins = [said[0], *(now for before, now in pairwise(said) if now[1].name != before[1].name)]
    ends_s = [*(time_s for time_s, _ in begins[1:]), end_s]
    bars: list[Bar] = []
    for (begin_s, stretch), stop_s in zip(begins, ends_s, strict=True):
        if stop_s - begin_s >= pixel_s:
            bars.append(Bar(begin_s, stop_s, row, stretch.name, stretch.short, stretch.tone))
        elif bars and bars[-1].tone is Tone.WRONG:
            bars[-1] = Bar(bars[-1].begin, stop_s, row, tone=Tone.WRONG)
        else:
            bars.append(Bar(begin_s, stop_s, row, tone=Tone.WRONG))
    return bars


def _flags(changes: Sequence[Event], pixel_s: float) -> list[tuple[float, str]]:
    """When the numbers of the changes stand; those too close to one another share a place."""
    groups: list[list[int]] = []
    for n, change in enumerate(changes):
        if groups and change.time_s - changes[groups[-1][0]].time_s < pixel_s * (_FLAG + _DIGIT * len(str(n))):
            groups[-1].append(n)
        else:
            groups.append([n])
    return [
        (changes[group[0]].time_s, f"{group[0] + 1}" + (f"–{group[-1] + 1}" if len(group) > 1 else ""))
        for group in groups
    ]


def _life(
    row: int, samples: Sequence[Sample], beats: Sequence[Beat], pixel_s: float
) -> tuple[Curve, Points, list[Note]]:
    """A sign of life as steps from 0 to 15, a cross for each count that was not the expected one, the first fault."""
    times_s = np.array([sample.time_s for sample in samples], float)
    levels = np.array([row + 0.4 - 0.8 * beat.count / 15 for beat in beats], float)
    failed = [n for n, beat in enumerate(beats) if beat.failures > (beats[n - 1].failures if n else 0)]
    crosses: list[int] = []
    for n in failed:
        if not crosses or times_s[n] - times_s[crosses[-1]] >= _CROSS * pixel_s:
            crosses.append(n)
    faults = [Note(times_s[n], row - 0.3, "▲ fault", bold=True) for n, beat in enumerate(beats) if beat.fault][:1]
    return (
        Curve(*thinned(times_s, levels), steps=True),
        Points(times_s[crosses], levels[crosses], tone=Tone.WRONG),
        faults,
    )


def _says(changes: Sequence[Event]) -> str:
    told = "; ".join(f"{n}: {c.time_s:g} s {c.kind} word, {c.name}" for n, c in enumerate(changes[:30], 1))
    more = f"; and {len(changes) - 30} more" if len(changes) > 30 else ""
    return f"Control word, status word and pulses over time. Changes: {told or 'none'}{more}."
