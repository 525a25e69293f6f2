"""A record of control and status words over time, read from CSV text, with each transition named.

Columns: `time (s)` or `time (ms)`, `control`, `status`; a word column may be called `control (hex)` or
`status (hex)` if its cells are bare hexadecimal digits. Comma, semicolon or tab between the cells; with semicolon
or tab, times may have a decimal comma. Further columns are left alone.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from helpers.drive import words
from helpers.drive.states import CALM, CONTROL_BY_PLC, ON, STATES, USUAL, Conditions, Options, settle
from helpers.drive.words import spelled, word
from helpers.errors import Unreadable, WorkbookError
from helpers.written import number

TIME_UNITS = {"time (s)": 1.0, "time (ms)": 1e-3}
KINDS = ("control", "status")
LOCAL = Conditions(local=True)


@dataclass(frozen=True)
class Sample:
    """One line of the record: time in s, control word, status word."""

    time_s: float
    control: int
    status: int


@dataclass(frozen=True)
class Event:
    """One change: its time in s, which word changed, a name for it, and what changed, in sentences.

    After a control word, `expected` is the state to which it should lead, and `why` the reason; both are empty
    after a status word, and where the status word shows no state.
    """

    time_s: float
    kind: str
    name: str
    sentences: tuple[str, ...]
    expected: str = ""
    why: str = ""


def read(text: str) -> tuple[Sample, ...]:
    r"""The samples in a CSV text; `Unreadable` names every line that cannot be read.

    >>> read("time (ms),control,status\n0,16#047E,16#0231\n20,16#047F,16#0237\n")[1]
    Sample(time_s=0.02, control=1151, status=567)
    """
    lines = text.removeprefix("\ufeff").splitlines()
    head = next((n for n, line in enumerate(lines) if line.strip()), None)
    if head is None:
        raise Unreadable("the record is empty; it needs the columns time (s) or time (ms), control and status.")
    separator = next((sign for sign in "\t;" if sign in lines[head]), ",")
    names = [name.strip().lower() for name in _cells(lines[head], separator)]
    columns = _columns(names)
    samples, wrong = [], []
    for n, line in enumerate(lines[head + 1 :], head + 2):
        try:
            cells = _cells(line, separator)
            if any(cell.strip() for cell in cells):
                samples.append(_sample(cells, names, columns))
        except WorkbookError as error:
            wrong.append(f"line {n}: {error}")
    wrong += [
        f"at {after.time_s:g} s the time goes back (before it stands {before.time_s:g} s)."
        for before, after in pairwise(samples)
        if after.time_s < before.time_s
    ]
    if wrong:
        raise Unreadable("The record cannot be read. " + " ".join(wrong))
    return tuple(samples)


def events(samples: Iterable[Sample], options: Options = USUAL) -> tuple[Event, ...]:
    r"""Every change in a record, in order of time; on one line the control word comes first.

    Parameters: samples, as `read` gives them; options, the points on which drives differ, for what is expected.

    >>> record = read("time (s),control,status\n0,16#047E,16#0231\n1,16#047F,16#0231\n2,16#047F,16#0237\n")
    >>> [(event.name, event.expected) for event in events(record)]
    [('run', 'operation'), ('ready for switching on → operation', '')]
    """
    found: list[Event] = []
    taken = 0
    for before, after in pairwise(samples):
        if before.control & CONTROL_BY_PLC:
            taken = before.control
        if before.control != after.control:
            found.append(_control_event(before, after, taken, options))
        if before.status != after.status:
            found.append(_status_event(before, after))
    return tuple(found)


def model_state(status: int | str) -> str:
    """The state of the model that a status word shows, or an empty text; a fault goes before all else.

    >>> model_state("16#0238"), model_state("16#0237"), model_state("16#0217")
    ('fault', 'operation', 'quick stop')
    """
    number_ = word(status)
    reading = words.state(number_)
    if reading.fault:
        return "fault reaction" if number_ & 0x0004 else "fault"
    if reading.name == "operation" and not number_ & 0x0020:
        return "quick stop"
    return reading.name if reading.name in STATES else ""


def _control_event(before: Sample, after: Sample, taken: int, options: Options) -> Event:
    usual = words.usual(after.control)
    name = usual.name if usual else f"control word {spelled(after.control)}"
    state = model_state(before.status)
    if state == "operation" and taken and not taken & ON:
        state = "ramp stop"  # some drives show the bits of operation while they ramp down
    expected, why = "", ""
    if state:
        conditions = CALM if before.status & 0x0200 else LOCAL
        steps = settle(state, taken, after.control, conditions, options)
        expected, why = steps[-1].after, steps[-1].why
    return Event(after.time_s, "control", name, words.compare(before.control, after.control), expected, why)


def _status_event(before: Sample, after: Sample) -> Event:
    was, now = words.state(before.status), words.state(after.status)
    if now.fault != was.fault:
        name = f"fault in {was.name}" if now.fault else "fault acknowledged"
    elif now.name != was.name:
        name = f"{was.name} → {now.name}"
    else:
        name = f"{now.name}, other bits"
    return Event(after.time_s, "status", name, words.compare(before.status, after.status, "status"))


def _columns(names: list[str]) -> dict[str, str]:
    """Which column is the time, the control word and the status word."""
    found = {"time": next((name for name in TIME_UNITS if name in names), "")}
    for kind in KINDS:
        found[kind] = next((name for name in (kind, f"{kind} (hex)") if name in names), "")
    missing = [kind for kind, name in found.items() if not name]
    if missing:
        raise Unreadable(
            f"the record lacks the column {' and '.join(missing)}; it has {', '.join(filter(None, names)) or 'none'}. "
            "Needed are time (s) or time (ms), control or control (hex), status or status (hex)."
        )
    return found


def _cells(line: str, separator: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=separator), [])
    except csv.Error as error:
        raise Unreadable(f"this line is no CSV ({error}).") from None


def _sample(cells: list[str], names: list[str], columns: dict[str, str]) -> Sample:
    if any(cell.strip() for cell in cells[len(names) :]):
        raise Unreadable(
            f"{len(cells)} cells under {len(names)} columns; with a decimal comma, separate the cells by semicolons."
        )
    row = dict(zip(names, cells, strict=False))
    time_s = number(row.get(columns["time"], "")) * TIME_UNITS[columns["time"]]
    control, status = (_word(row.get(columns[kind], ""), columns[kind]) for kind in KINDS)
    return Sample(round(time_s, 9), control, status)


def _word(cell: str, column: str) -> int:
    if column.endswith("(hex)"):
        return word(f"16#{cell.strip()}")
    return word(cell)
