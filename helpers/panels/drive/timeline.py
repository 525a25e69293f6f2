"""The panel for a record of words over time: what was sent, what was shown, and whether both partners were awake."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import Any

import ipywidgets as widgets

from helpers.answer import Answer, Row
from helpers.drive import timeline
from helpers.drive.sign_of_life import Beat
from helpers.drive.states import USUAL, Options
from helpers.drive.timeline import Event, Sample
from helpers.drive.timeline_picture import rows_over_time
from helpers.errors import Unreadable, WorkbookError, in_range
from helpers.facts import DATA
from helpers.panels.drive.drive_fields import options_field, roomy
from helpers.panels.kit import fields
from helpers.panels.kit.fields import Field, Upload
from helpers.panels.kit.panel import Panel
from helpers.wording import counted
from helpers.written import read_quantity

DEMOS = {"cooling fan: words": "word_record.csv", "dust filter: signs of life": "sign_of_life_record.csv"}
_LONGEST = 2_000_000  # characters of a record
_ROWS, _MORE = 9, 200


@lru_cache
def demo_record(name: str) -> str:
    """An invented record of the Saltmarsh Mill, as CSV text; names: `DEMOS`."""
    return (DATA / "demo" / DEMOS[name]).read_text(encoding="utf-8")


@lru_cache(maxsize=2)
def read_record(text: str) -> tuple[Sample, ...]:
    """The samples of a CSV text; a record that is too long is refused with a sentence."""
    in_range("length of the record in characters", len(text), 0, _LONGEST)
    return timeline.read(text)


def record_view(
    samples: Sequence[Sample],
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
    rows = [_row(n, event) for n, event in enumerate(changes, 1)]
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


def _row(n: int, event: Event) -> Row:
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


# -- the panel ----------------------------------------------------------------------------------------


def _time(typed: str) -> float | None:
    return read_quantity(typed, "time", "s") if typed.strip() else None


def _uploaded(files: Sequence[Upload]) -> Upload | None:
    """The one file that was chosen; more than one, or a very large one, is refused."""
    if len(files) > 1:
        raise Unreadable(f"{len(files)} files were chosen; one record at a time, please.")
    if files:
        in_range(f"{files[0].name}: size in bytes", len(files[0].content), 0, _LONGEST)
    return files[0] if files else None


def _text(content: bytes) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("latin-1")


def _answer(file: Upload | None, text: str, **given: Any) -> Answer:
    """A file that was chosen goes before the text in the field."""
    if file is None:
        return record_view(read_record(text), **given)
    try:
        return record_view(read_record(_text(file.content)), name=f"{file.name}: ", **given)
    except WorkbookError as error:
        raise Unreadable(f"{file.name}: {error}") from None


def timeline_panel(demo: str = "cooling fan: words") -> Panel:
    """Read a record of control and status words: a demo, pasted, or from a CSV file."""
    example = roomy(fields.choice("example", DEMOS, demo), "58px")
    line = roomy(fields.lines("record", demo_record(demo), rows=7), "58px")
    file = fields.upload("Choose a CSV file", ".csv,.txt")
    file.widget.multiple = False

    def fill(change: Any) -> None:
        line.widget.value = demo_record(change["new"])

    def forget_file(_: Any) -> None:
        file.widget.value = ()

    example.widget.observe(fill, "value")
    line.widget.observe(forget_file, "value")
    return Panel(
        "A record of words over time",
        {
            "file": Field(file.widget, lambda chosen: _uploaded(file.read(chosen)), around=file.widget),  # type: ignore[arg-type]
            "text": Field(line.widget, around=widgets.VBox([example.widget, line.widget])),
            "start_s": fields.text("from (s), if not all", "", _time),
            "end_s": fields.text("to (s)", "", _time),
            "tolerance": fields.slider("failures tolerated", 3, 0, 15),
            "options": options_field(),
        },
        _answer,
        hint="Take an invented example, paste a record over it, or choose a file. Columns: time (s) or "
        "time (ms), control, status. For the signs of life also control 2 and status 2, with one line for each cycle. "
        "“Failures tolerated” is parameter 925.",
    )
