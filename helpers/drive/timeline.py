"""A record of control and status words over time, read from CSV text, with each transition named.

Columns: `time (s)` or `time (ms)`, `control`, `status`; a word column may be called `control (hex)` or
`status (hex)` if its cells are bare hexadecimal digits. Comma, semicolon or tab between the cells; with semicolon
or tab, times may have a decimal comma. `control 2` and `status 2`, if they are there, hold the signs of life.
Further columns are left alone.
"""

from __future__ import annotations

import csv
from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

from helpers.drive import sign_of_life, words
from helpers.drive.sign_of_life import Beat
from helpers.drive.states import CALM, CONTROL_BY_PLC, ON, USUAL, Conditions, Options, model_state, settle
from helpers.drive.words import spelled, word
from helpers.errors import Unreadable, WorkbookError
from helpers.written import number

TIME_UNITS = {"time (s)": 1.0, "time (ms)": 1e-3}
KINDS = ("control", "status")
SIGNS_OF_LIFE = {"controller": "control 2", "drive": "status 2"}
LOCAL = Conditions(local=True)

# A long record says the same few words again and again.
_settled = lru_cache(maxsize=1024)(settle)


@dataclass(frozen=True)
class Sample:
    """One line of the record: time in s, control word, status word, and the second words if there are any."""

    time_s: float
    control: int
    status: int
    control_2: int | None = None
    status_2: int | None = None


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

    >>> last = read("time (ms),control,status\n0,16#047E,16#0231\n20,16#047F,16#0237\n")[1]
    >>> last.time_s, spelled(last.control), last.control_2
    (0.02, '16#047F', None)
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
    return _events(tuple(samples), options)


@lru_cache(maxsize=2)  # the remarks ask for the changes again, and so does every cut out of the same record
def _events(samples: tuple[Sample, ...], options: Options) -> tuple[Event, ...]:
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


def remarks(samples: Sequence[Sample], options: Options = USUAL) -> tuple[str, ...]:
    r"""What a reader of the record should look at: words that did not start, and states that did not come.

    >>> remarks(read("time (s),control,status\n0,16#0000,16#0240\n1,16#047F,16#0240\n"))[0][:52]
    'At 1 s: the word run does not start the drive. Switc'
    """
    changes = [event for event in events(samples, options) if event.kind == "control"]
    times = [sample.time_s for sample in samples]
    places = [*(bisect_left(times, event.time_s) for event in changes), len(samples)]
    found = []
    for event, (start, end) in zip(changes, pairwise(places), strict=True):
        if not event.expected:
            continue
        if event.name == "run" and event.expected != "operation":
            found.append(f"At {event.time_s:g} s: the word run does not start the drive. {event.why}")
        shown = {model_state(sample.status) for sample in samples[start : end + 1]}
        if event.expected not in shown:
            found.append(
                f"At {event.time_s:g} s: after {event.name}, the state {event.expected} was expected; it did not come "
                "before the next word."
            )
    return tuple(found)


def lives(samples: Sequence[Sample], *, tolerance: int = 1, method: str = "in a row") -> Mapping[str, tuple[Beat, ...]]:
    r"""What each partner makes of the other's sign of life, one beat for each line of the record.

    Keys: `controller` (counted in `control 2`) and `drive` (in `status 2`), each only if the record has its column.
    The record must hold one line for each cycle; tolerance and method as for `helpers.drive.sign_of_life.watch`.

    >>> record = read("time (s),control,status,control 2\n0,0,0,16#1000\n1,0,0,16#1000\n2,0,0,16#1000\n")
    >>> [beat.fault for beat in lives(record)["controller"]]
    [False, False, True]
    """
    columns = {name: [getattr(s, column.replace(" ", "_")) for s in samples] for name, column in SIGNS_OF_LIFE.items()}
    return {
        name: sign_of_life.watch(map(sign_of_life.count, values), tolerance=tolerance, method=method)
        for name, values in columns.items()
        if values and None not in values
    }


def _control_event(before: Sample, after: Sample, taken: int, options: Options) -> Event:
    usual = words.usual(after.control)
    name = usual.name if usual else f"control word {spelled(after.control)}"
    state = model_state(before.status)
    if state == "operation" and taken and not taken & ON:
        state = "ramp stop"  # some drives show the bits of operation while they ramp down
    expected, why = "", ""
    if state:
        conditions = CALM if before.status & 0x0200 else LOCAL
        steps = _settled(state, taken, after.control, conditions, options)
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
    for kind in (*KINDS, *SIGNS_OF_LIFE.values()):
        found[kind] = next((name for name in (kind, f"{kind} (hex)") if name in names), "")
    missing = [kind for kind in ("time", *KINDS) if not found[kind]]
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
    control_2, status_2 = (
        _word(row.get(columns[name], ""), columns[name]) if columns[name] else None for name in SIGNS_OF_LIFE.values()
    )
    return Sample(round(time_s, 9), control, status, control_2, status_2)


def _word(cell: str, column: str) -> int:
    if column.endswith("(hex)"):
        return word(f"16#{cell.strip()}")
    return word(cell)
