"""The answer on a record of words: rows over time of what is sent and shown, signs of life, every change named."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np

from helpers.answer import Answer, Row
from helpers.curves import Axis, Bar, Curve, Curves, Note, Points, Tone, thinned
from helpers.drive import timeline, words
from helpers.drive.sign_of_life import Beat
from helpers.drive.states import USUAL, Options, model_state
from helpers.drive.timeline import Event, Sample
from helpers.errors import Unreadable, in_range
from helpers.facts import DATA
from helpers.wording import counted

DEMOS = {"cooling fan: words": "word_record.csv", "dust filter: signs of life": "sign_of_life_record.csv"}
LONGEST = 2_000_000  # characters of a record
_WIDE = 610  # px along the axis of time, about
_FLAG, _DIGIT = 22, 7  # px between the numbers of two changes, and for each digit
_CROSS = 4  # px from cross to cross: those on top of each other would be one dark bar
_RUNS = words.encode(on=["on", "no coast stop", "no quick stop", "enable operation", "control by PLC"])
_PULSES = words.encode("status", on=["operation enabled"])
_ROWS, _MORE = 9, 200  # of the table: open, and folded up


@lru_cache
def demo_record(name: str) -> str:
    """An invented record of the Saltmarsh Mill, as CSV text; names: `DEMOS`."""
    return (DATA / "demo" / DEMOS[name]).read_text(encoding="utf-8")


@lru_cache(maxsize=2)
def read_record(text: str) -> tuple[Sample, ...]:
    """The samples of a CSV text; a record that is too long is refused with a sentence."""
    in_range("length of the record in characters", len(text), 0, LONGEST)
    return timeline.read(text)


def record_answer(
    samples: Sequence[Sample],
    *,
    start_s: float | None = None,
    end_s: float | None = None,
    tolerance: int = 3,
    options: Options = USUAL,
    name: str = "",
) -> Answer:
    """A record as lanes over time, with every change named; `start_s` and `end_s` cut out a part of it."""
    if not samples:
        raise Unreadable("the record has headings, but no line below them.")
    low = samples[0].time_s if start_s is None else start_s
    high = samples[-1].time_s if end_s is None else end_s
    if not (low < high and low < samples[-1].time_s and high > samples[0].time_s):
        raise Unreadable(
            f"from {low:g} s to {high:g} s there is nothing to show; the record runs from {samples[0].time_s:g} s to "
            f"{samples[-1].time_s:g} s."
        )
    # A line holds until the next one, so the line before the cut belongs to it.
    first = max(0, bisect_right(samples, low, key=lambda sample: sample.time_s) - 1)
    last = bisect_right(samples, high, key=lambda sample: sample.time_s)
    part = [replace(sample, time_s=max(low, sample.time_s)) for sample in samples[first:last]]
    lives = timeline.lives(samples, tolerance=tolerance)
    in_part = {who: beats[first:last] for who, beats in lives.items()}
    changes = [event for event in timeline.events(samples, options) if low <= event.time_s <= high]
    remarks = [*timeline.remarks(samples, options), *_life_remarks(samples, lives)]
    sent = sum(event.kind == "control" for event in changes)
    rows = [_change_row(n, event) for n, event in enumerate(changes, 1)]
    return Answer(
        f"{name}{counted(len(part), 'line')} from {low:g} s to {high:g} s: {counted(sent, 'change')} of the control "
        f"word, {len(changes) - sent} of the status word.",
        because=" ".join(remarks[:3]) + (f" {len(remarks) - 3} more below." if len(remarks) > 3 else ""),
        pictures=[rows_over_time(part, changes, in_part, low=low, high=high)],
        rows=rows[:_ROWS],
        folded=[
            (_rest(len(rows)), rows[_ROWS : _ROWS + _MORE]),
            ("Bit by bit, and why", [_detail(n, event) for n, event in enumerate(changes[:_MORE], 1)]),
            ("All remarks", [{"remark": remark} for remark in remarks[:_MORE]] if len(remarks) > 3 else []),
        ],
    )


def _rest(count: int) -> str:
    unseen = count - _ROWS - _MORE
    return f"{count - _ROWS} more changes" + (f", the first {_MORE} of them" if unseen > 0 else "")


def _change_row(n: int, event: Event) -> Row:
    return {
        "no.": n,
        "time in s": f"{event.time_s:.3f}",
        "who": "controller" if event.kind == "control" else "drive",
        "what": event.name,
        "should lead to": event.expected,
    }


def _detail(n: int, event: Event) -> Row:
    return {"no.": n, "what": event.name, "bits": " ".join(event.sentences), "why": event.why}


def _life_remarks(samples: Sequence[Sample], lives: Mapping[str, Sequence[Beat]]) -> list[str]:
    """For each partner whose sign of life failed: when first, how often, and from when on it is a fault."""
    found = []
    for who, beats in lives.items():
        bad = [n for n, beat in enumerate(beats) if beat.failures > (beats[n - 1].failures if n else 0)]
        if bad:
            beat = beats[bad[0]]
            faults = [n for n in bad if beats[n].fault]
            told = f"; from {samples[faults[0]].time_s:g} s on it is a fault" if faults else "; still tolerated"
            found.append(
                f"Sign of life of the {who}: {counted(len(bad), 'failure')}, the first at "
                f"{samples[bad[0]].time_s:g} s ({beat.count} came, {beat.expected} was expected){told}."
            )
    return found


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
