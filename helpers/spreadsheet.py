"""Writes tables as CSV files for a spreadsheet program, and takes the mark off again that protects its cells.

A spreadsheet program runs a cell that begins with `=`, `+`, `-` or `@` as a formula, whoever typed it. Such a text
gets an apostrophe in front, which shows it as a text; a number keeps its sign.
Sources: OWASP, CSV Injection (signs and apostrophe); RFC 4180 (quotes, line ends CR LF).
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping, Sequence

# The wide forms count like the plain ones in a spreadsheet program set to an Asian language.
_FORMULA = re.compile(r"[\s\x00-\x1f]*[=+\-@＝＋－＠]|[\t\r\n]")
_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?(?:[eE][+-]?\d+)?")


def csv_file(rows: Iterable[Iterable[object]], *, remarks: str = "") -> bytes:
    """Rows, the headings first, as a CSV file in UTF-8; `remarks` as for `csv_text`."""
    # The mark in front makes spreadsheet programs read it as UTF-8; half a character pair is written out, not lost.
    return csv_text(rows, remarks=remarks).encode("utf-8-sig", "backslashreplace")


def rows_file(rows: Sequence[Mapping[str, object]], columns: Sequence[str] = ()) -> bytes:
    r"""Rows as a CSV file; the headings are `columns`, which a table without rows needs, or the keys of the first row.

    >>> rows_file([{"station": "fan", "address": 5}]).decode("utf-8-sig")
    'station,address\r\nfan,5\r\n'
    """
    return csv_file([columns or rows[0], *(row.values() for row in rows)])


def csv_text(rows: Iterable[Iterable[object]], *, remarks: str = "") -> str:
    r"""Rows, the headings first, as a CSV table of which no spreadsheet program runs a cell as a formula.

    remarks: the sign by which the reader of this table knows a remark; a cell that begins with it is marked too.

    >>> csv_text([("station", "offset"), ("=1+1", -5)])
    "station,offset\r\n'=1+1,-5\r\n"
    """
    text = io.StringIO()
    csv.writer(text, lineterminator="\r\n").writerows([marked(str(cell), remarks) for cell in row] for row in rows)
    return text.getvalue()


def marked(text: str, remarks: str = "") -> str:
    """A text with an apostrophe in front where a spreadsheet program would run it as a formula.

    >>> marked("=1+1"), marked("-0,5"), marked("Intake"), marked("'=1+1")
    ("'=1+1", '-0,5', 'Intake', "''=1+1")
    """
    return f"'{text}" if _needs_mark(text, remarks) else text


def unmarked(text: str, remarks: str = "") -> str:
    """The text as it was before `marked`; one that never had the mark stays as it is.

    >>> unmarked("'=1+1"), unmarked("'s Heer")
    ('=1+1', "'s Heer")
    """
    return text[1:] if text.startswith("'") and _needs_mark(text[1:], remarks) else text


def _needs_mark(text: str, remarks: str) -> bool:
    """True for a text that could be a formula, and for one that looks marked already, so that reading gives it back."""
    bare = text.lstrip("'")
    starts = bool(_FORMULA.match(bare)) or bool(remarks and bare.startswith(remarks))
    return starts and not _NUMBER.fullmatch(bare)
