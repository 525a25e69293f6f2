"""The columns of a recording that was saved as a table: which of them holds the octets, and which the time.

One row alone can't tell: in `12;E5` the 12 may be an octet or the number of the row. Many rows can. A column that
counts the rows, or the octets beside it, is none of octets; nor is one that holds text. So the first rows of a
recording are looked at together, and all rows are then read by what they showed.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import NamedTuple

from helpers.bus.telegram import hexadecimal

# Time stamps as recorders write them: a date and a clock, or a number of seconds, with or without a unit.
DATE = r"(?:\d{4}-\d\d-\d\d[T ]|\d\d?[./]\d\d?[./]\d{2,4}[ ])?"
CLOCK = r"\d\d?:\d\d:\d\d(?:[.,:]\d{1,9})?(?:Z|[ ]?[ap]m)?"
SECONDS = (
    r"(?:t\s?=\s?)?[+-]?(?:\d{1,12}(?:[.,]\d{1,12})?[ ]?(?:s|ms|us|µs|μs|ns)|\d{1,12}\.\d{1,12}|\d{1,12},\d{3,12})"
)
STAMP = re.compile(rf"{DATE}{CLOCK}|{SECONDS}", re.IGNORECASE)

ROWS_LOOKED_AT = 200
_SHARE = 0.9  # of the rows; the rest may be names of columns, or damaged
_FEW, _SOME = 3, 5  # rows that count by ones, or only upwards, before a column is taken for a counter
_MOST_COLUMNS = 400  # an octet in each of a telegram's, and some for numbers and times
_SHORT_ACKNOWLEDGEMENT = "E5"  # the only telegram of one octet


class Columns(NamedTuple):
    """What parts the columns, the columns with octets (from `first`, before `end`), and the one with the time."""

    sign: str
    first: int
    end: int | None
    stamp: int | None

    def cells(self, line: str) -> list[str]:
        """The cells of a row; empty where a line is no row of this table."""
        cells = _split(line, self.sign)
        return cells if len(cells) > self.first else []

    def of(self, cells: Sequence[str]) -> tuple[str, str]:
        """Time stamp and octets of a row, as they are written."""
        stamp = cells[self.stamp] if self.stamp is not None and self.stamp < len(cells) else ""
        return stamp, " ".join(cells[self.first : self.end])


def find(lines: Sequence[str], read_plainly: Callable[[str], tuple[bytes, str]]) -> Columns | None:
    """The columns of a table; None where the lines are none, or can be read as well without columns.

    Parameters: lines, the first of a recording; read_plainly, the octets of a line that is no row of a table, and what
    of it is unread.

    >>> find(["1,0.5,DC 01 01", "2,0.6,E5"], lambda line: hexadecimal.read(line))
    Columns(sign=',', first=2, end=3, stamp=1)
    """
    found = None
    most = 0
    for sign in ";\t,":
        chosen = [line for line in lines if sign in line and not line.lstrip().startswith("//")]
        rows = [cells for line in chosen if (cells := _split(line, sign))]
        best = _best(rows)
        held = sum(len(hexadecimal.read(best.of(row)[1])[0]) for row in rows) if best else 0
        if best and held > most and _is_table(rows, best, [read_plainly(line) for line in chosen], held):
            found, most = best._replace(sign=sign, stamp=_time(rows, best)), held
    return found


def _split(line: str, sign: str) -> list[str]:
    """The cells of a line; empty if it has no columns."""
    if sign not in line or line.count(sign) > _MOST_COLUMNS:
        return []
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=sign, skipinitialspace=True))]
    except (csv.Error, StopIteration):
        return []  # such as a cell of more characters than any telegram has


def _best(rows: Sequence[Sequence[str]]) -> Columns | None:
    """The one column with most octets, or the columns from one to the end with an octet in each."""
    best, most = None, 0
    lead = 0  # columns in front that count something
    for n in range(max(map(len, rows), default=0)):
        cells = [row[n] for row in rows if n < len(row)]
        count = sum(_evident(cell) for cell in cells)
        if count > most:
            best, most = Columns("", n, n + 1, None), count
        lead += lead == n and (_counts(cells) or _lengths(rows, n))
    for n in range(lead, max(map(len, rows), default=0)):
        spread = [_single(row[n:]) for row in rows if any(_single([cell]) for cell in row)]
        if len(spread) and sum(map(bool, spread)) >= _SHARE * len(spread):
            if sum(spread) > most:
                best, most = Columns("", n, None, None), sum(spread)
            break
    return best


def _is_table(rows: Sequence[Sequence[str]], best: Columns, plainly: Sequence[tuple[bytes, str]], held: int) -> bool:
    """True where a column counts, or bears a name, or keeps the lines from being read without columns."""
    if any(_counts([row[n] for row in rows if n < len(row)]) or _lengths(rows, n) for n in range(best.first)):
        return True
    others = [cell for row in rows for cell in (*row[: best.first], *row[best.first + 1 :])]
    names = rows[0]
    named = len(rows) > 1 and len(names) == len(rows[1]) and all(names)
    if best.end and named and not any(hexadecimal.read(cell)[0] for cell in names) and not any(map(_evident, others)):
        return True
    unread = sum(bool(rest) for _, rest in plainly)
    return 2 * unread >= len(plainly) and held >= sum(len(known) for known, _ in plainly)


def _evident(cell: str) -> int:
    """How many octets a cell holds beyond doubt: a number in one piece, or a pair of digits, may count something."""
    known, unread = hexadecimal.read(cell)
    if unread or cell.isdecimal() or STAMP.fullmatch(cell):
        return 0
    return len(known) if len(known) > 1 or hexadecimal.marked(cell) or cell.upper() == _SHORT_ACKNOWLEDGEMENT else 0


def _single(cells: Sequence[str]) -> int:
    """How many octets stand in cells of one octet each, perhaps empty at the end; 0 if a cell holds anything else."""
    count = 0
    for n, cell in enumerate(cells):
        if not cell and not any(cells[n:]):
            return count
        if not (len(cell) == 2 or hexadecimal.marked(cell)) or len(hexadecimal.read(cell)[0]) != 1:
            return 0
        count += 1
    return count


def _numbers(cells: Sequence[str]) -> list[int]:
    """The whole numbers in a column; empty if too much of it is something else."""
    found = [int(cell) for cell in cells if cell.isascii() and cell.isdecimal() and len(cell) <= _DIGITS]
    return found if len(found) >= _SHARE * (len(cells) - 1) else []  # the first cell may be a name


_DIGITS = 18


def _counts(cells: Sequence[str]) -> bool:
    """True for a column of numbers that go up by one from row to row, or at least go up."""
    numbers = _numbers(cells)
    steps = [after - before for before, after in pairwise(numbers)]
    by_one = len(numbers) >= _FEW and all(step == 1 for step in steps)
    return by_one or (len(numbers) >= _SOME and all(step > 0 for step in steps))


def _lengths(rows: Sequence[Sequence[str]], n: int) -> bool:
    """True for a column that says in each row how many octets stand behind it, perhaps in brackets."""
    said = fitting = 0
    for row in rows:
        if n + 1 < len(row) and (number := row[n].strip("[]() ")).isascii() and number.isdecimal():
            said += 1
            behind = hexadecimal.read(" ".join(row[n + 1 :]))[0]
            fitting += len(behind) == int(number[:_DIGITS])
    return said >= _FEW and fitting >= _SHARE * said


def _time(rows: Sequence[Sequence[str]], best: Columns) -> int | None:
    """The column with the time: stamps, or else numbers that go up otherwise than by one."""
    columns = [
        (n, [row[n] for row in rows if n < len(row)])
        for n in range(max(map(len, rows)))
        if n < best.first or (best.end is not None and n >= best.end)
    ]
    for n, cells in columns:
        if 2 * sum(bool(STAMP.fullmatch(cell)) for cell in cells) >= len(cells):
            return n
    rising = (n for n, cells in columns if _counts(cells) and not _by_one(cells))
    return next(rising, None)


def _by_one(cells: Sequence[str]) -> bool:
    return all(after - before == 1 for before, after in pairwise(_numbers(cells)))
