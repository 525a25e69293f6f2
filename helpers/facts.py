"""The facts: numbers from outside, read from the tables of `data/`, each with its source and standing.

A table is a CSV file. Every row has a `source` (document, page or clause) and a `standing`, one of
`STANDINGS`. Rows that disagree stand side by side; `limit` shows what that means for a verdict.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from math import inf
from pathlib import Path
from typing import Any

from helpers.errors import Unknown, Unreadable, one_of

DATA = Path(__file__).resolve().parent.parent / "data"

STANDINGS = (
    "standard",
    "handbook",
    "publication",
    "device manual",
    "calculated",
    "common practice",
    "own setting",
    "memory",
)


_DOCUMENTS = ("standard", "handbook", "publication", "device manual")  # what somebody has printed


class Fact(Mapping[str, str]):
    """One row of a table: its columns as text, with readers for numbers."""

    def __init__(self, table: str, line: int, columns: dict[str, str]) -> None:
        self._columns = columns
        self.place = f"data/{table}.csv line {line}"

    def __getitem__(self, column: str) -> str:
        one_of(f"column in {self.place}", column, self._columns)
        return self._columns[column]

    def __iter__(self) -> Iterator[str]:
        return iter(self._columns)

    def __len__(self) -> int:
        return len(self._columns)

    # Mapping's own versions expect a KeyError; a missing column raises `Unknown` here.
    def __contains__(self, column: object) -> bool:
        return column in self._columns

    def get(self, column: str, default: Any = None) -> Any:
        """The column's text, or `default` if the table has no such column."""
        return self._columns.get(column, default)

    @property
    def source(self) -> str:
        """Document, with page or clause; empty for common practice and for our own settings."""
        return self._columns["source"]

    @property
    def standing(self) -> str:
        """How the value is known: one of `STANDINGS`."""
        return self._columns["standing"]

    @property
    def makers(self) -> frozenset[str]:
        """Who made the documents that the source names: what two of them say, two independent sources say.

        Empty for common practice, for memory and for what was worked out: no document stands behind these.

        >>> sorted(one("plan_rules", rule="bit rate").makers)
        ['ABB']
        """
        if self.standing not in _DOCUMENTS:
            return frozenset()
        names = (re.search(r"[^\W\d_]{2,}", document) for document in self.source.split(";"))
        return frozenset(name[0] for name in names if name)

    @property
    def cited(self) -> str:
        """Source and standing in one text, as shown beside a number."""
        return f"{self.source} ({self.standing})" if self.source else self.standing

    def has(self, column: str) -> bool:
        """True if the column holds something; an empty cell means: not given by this source."""
        return self[column] != ""

    def number(self, column: str) -> float:
        """The column as a number, in the unit its name ends with."""
        try:
            return float(self[column])
        except ValueError:
            raise Unreadable(f"{self.place}, column {column}: {self[column]!r} is not a number.") from None

    def whole(self, column: str) -> int:
        """The column as a whole number; `16#` and `0x` mark hexadecimal."""
        text = self[column].replace("16#", "0x")
        try:
            return int(text, 0)
        except ValueError:
            raise Unreadable(f"{self.place}, column {column}: {text!r} is not a whole number.") from None


@cache
def rows(table: str) -> tuple[Fact, ...]:
    """All rows of `data/<table>.csv`, in file order.

    >>> rows("bit_rates")[0].number("kbit_s")
    9.6
    """
    path = DATA / f"{table}.csv"
    if not path.is_file():
        raise Unknown(f"no table {table!r}; known are {', '.join(sorted(p.stem for p in DATA.glob('*.csv')))}.")
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.DictReader(file)
        if not {"source", "standing"} <= set(reader.fieldnames or ()):
            raise Unreadable(f"data/{table}.csv lacks the columns source and standing.")
        return tuple(Fact(table, n, dict(row)) for n, row in enumerate(reader, 2))


def where(table: str, /, **columns: object) -> tuple[Fact, ...]:
    """The rows of a table whose columns equal the values given; numbers compare as numbers.

    >>> [fact.whole("length_m") for fact in where("segment_length", cable="A", kbit_s=500)]
    [400]
    """
    return tuple(row for row in rows(table) if all(_equal(row[c], v) for c, v in columns.items()))


def one(table: str, /, **columns: object) -> Fact:
    """The only row that `where` finds; `Unknown` if there is none, or more than one."""
    matching = where(table, **columns)
    if len(matching) != 1:
        columns_in_words = ", ".join(f"{c} = {v}" for c, v in columns.items())
        raise Unknown(f"data/{table}.csv has {len(matching)} rows with {columns_in_words}; one was expected.")
    return matching[0]


def _equal(cell: str, value: object) -> bool:
    if isinstance(value, str):
        return cell == value
    try:
        return float(cell) == value
    except ValueError:
        return False


@dataclass(frozen=True)
class Limit:
    """What the sources of one rule allow: beyond `cautious` at least one advises against it, beyond `last` all do.

    How much weight they have together says `verdict.forbidding`.
    """

    cautious: float
    last: float
    facts: tuple[Fact, ...]
    column: str = ""  # the one that holds the value each source gives

    @property
    def cited(self) -> str:
        """All sources, each once, for the column `source` of a verdict."""
        return "; ".join(dict.fromkeys(fact.cited for fact in self.facts))


def most(facts: tuple[Fact, ...], column: str) -> Limit:
    """The limit of a quantity of which less is safer (a length, a count).

    Advice of `common practice` can make a value cautious, never illegal: `last` comes from the other rows
    where there are any. Memory makes nothing stricter; if it is more lenient than all documents, it casts doubt
    on them and moves `last`.
    """
    values, documented = _values(facts, column), _documented(facts, column)
    return Limit(min(values, default=inf), max(documented, default=inf), facts, column)


def least(facts: tuple[Fact, ...], column: str) -> Limit:
    """The limit of a quantity of which more is safer (a distance); the standings count as for `most`."""
    values, documented = _values(facts, column), _documented(facts, column)
    return Limit(max(values, default=-inf), min(documented, default=-inf), facts, column)


def _values(facts: tuple[Fact, ...], column: str) -> list[float]:
    if not facts:
        raise Unknown("a limit without any source was asked for.")
    return [fact.number(column) for fact in facts if fact.standing != "memory"]


def _documented(facts: tuple[Fact, ...], column: str) -> list[float]:
    """The values that a document gives; then those from memory too, which may only soften them."""
    documents = [fact.number(column) for fact in facts if fact.standing not in ("common practice", "memory")]
    return documents and documents + [fact.number(column) for fact in facts if fact.standing == "memory"]
