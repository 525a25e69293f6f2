"""The panel for a record of words over time: what was sent, what was shown, and whether both partners were awake."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import ipywidgets as widgets

from helpers.answer import Answer
from helpers.drive.record_answer import DEMOS, LONGEST, demo_record, read_record, record_answer
from helpers.errors import Unreadable, WorkbookError, in_range
from helpers.panels.drive.drive_fields import options_field, roomy
from helpers.panels.kit import fields
from helpers.panels.kit.fields import Field, Upload
from helpers.panels.kit.panel import Panel
from helpers.written import read_quantity

# -- the panel ----------------------------------------------------------------------------------------


def _time(typed: str) -> float | None:
    return read_quantity(typed, "time", "s") if typed.strip() else None


def _uploaded(files: Sequence[Upload]) -> Upload | None:
    """The one file that was chosen; more than one, or a very large one, is refused."""
    if len(files) > 1:
        raise Unreadable(f"{len(files)} files were chosen; one record at a time, please.")
    if files:
        in_range(f"{files[0].name}: size in bytes", len(files[0].content), 0, LONGEST)
    return files[0] if files else None


def _text(content: bytes) -> str:
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("latin-1")


def _answer(file: Upload | None, text: str, **given: Any) -> Answer:
    """A file that was chosen goes before the text in the field."""
    if file is None:
        return record_answer(read_record(text), **given)
    try:
        return record_answer(read_record(_text(file.content)), name=f"{file.name}: ", **given)
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
