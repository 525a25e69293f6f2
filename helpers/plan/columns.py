"""The columns of a network plan, as `data/plan_columns.csv` lists them.

That one table drives reading, the blank plan, saving and the help text.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache

from helpers import facts, written
from helpers.errors import Unreadable
from helpers.written import Range, read_range

TABLES = ("network", "stations", "cable", "neighbours")
OPTIONAL = ("neighbours",)  # a plan without it says nothing of other cables
HEXADECIMAL = "16#"  # the unit of a whole number that people write so
BYTE = "%"  # begins the unit of a whole number that is a byte of the controller: %IB, %QB

_YES = {"yes", "y", "true", "on", "x", "1"}
_NO = {"no", "n", "false", "off", "0"}
_HEADING_UNIT = re.compile(r"^(?P<name>.*\S)\s*[\[(]\s*(?P<unit>[^\])]+?)\s*[\])]$")
_THOUSANDS_OR_FRACTION = re.compile(r"^([1-9]\d{0,2})[.,](\d{3})(?!\d)")
_ROUNDING = 1e-9  # 6553.5 ms read into seconds is not exactly 6.5535 s

Value = str | int | float | bool | Range | None


def plain(text: str) -> str:
    """A heading or a word without case, spaces and signs, so that `Remote IO` is `remote I/O`.

    >>> plain("Own-supply terminator") == plain("own_supply  TERMINATOR")
    True
    """
    return "".join(c for c in text.casefold() if c.isalnum())


@dataclass(frozen=True)
class Column:
    """One column of one table: what may stand in it, and the name its value has in the plan."""

    table: str
    heading: str
    field: str
    kind: str
    unit: str
    required: str
    default: str
    allowed: tuple[str, ...]
    meaning: str
    example: str
    open: bool = False  # a range may stand for the number

    @property
    def measured(self) -> bool:
        """True if a unit may be written in the cell or in the heading."""
        return self.kind in written.UNITS

    @property
    def is_number(self) -> bool:
        """True if a number stands in the cells, with or without a unit."""
        return self.measured or self.kind in ("whole", "number")

    @property
    def expected(self) -> str:
        """What may stand in a cell, as an error message says it."""
        if self.kind == "yes or no":
            return "yes or no"
        if self.kind == "choice":
            return "one of " + ", ".join(self.allowed)
        span = self.allowed[0] if self.allowed else "0 or more"
        kinds = {"whole": f"a whole number, {span}", "number": f"a number, {span}", "text": "a text"}
        measured = f"a {self.kind} of {span} {self.unit}, in that unit or with its own"
        ranges = ", or ?, about 20 m, 10 to 30 m" if self.open else ""
        return f"{measured if self.measured else kinds[self.kind]}, for example {self.example}{ranges}"

    @property
    def explained(self) -> str:
        """Meaning, allowed words and what an empty cell means, in one text for help and blank plan."""
        words = f" One of: {', '.join(self.allowed)}." if self.kind in ("choice", "yes or no") else ""
        usual = f" Empty means {self.default}." if self.default else ""
        return f"{self.meaning}.{words}{usual}"

    @property
    def filled(self) -> str:
        """When a cell must be filled, in words."""
        needed, _, kinds = self.required.partition(" ")
        return {"yes": "always", "no": "may be empty"}.get(needed, f"not for {kinds.replace('|', ', ')}")

    @property
    def highest(self) -> float:
        """The greatest number that may stand in a cell, in the base unit of its kind; the least is 0."""
        if not self.allowed:
            return math.inf
        factor = written.UNITS[self.kind][self.unit.lower()] if self.measured else 1.0
        return float(self.allowed[0].removeprefix("0 to ")) * factor

    def needed_for(self, kind: str) -> bool:
        """True if a cell of this column must be filled in a row of this kind of station."""
        needed, _, kinds = self.required.partition(" ")
        return needed == "yes" or (needed == "unless" and kind not in kinds.split("|"))

    def heading_unit(self, heading: str) -> str:
        """The unit meant by a bare number under this heading: `length (ft)` means feet.

        Raises `Unreadable` if the heading names a unit that its column does not have.
        """
        found = _HEADING_UNIT.match(heading.strip())
        if not found:
            return self.unit
        unit = found["unit"]
        if not self.measured or unit.lower().replace("µ", "u") not in written.UNITS[self.kind]:
            raise Unreadable(f"heading {heading.strip()!r}: {unit!r} is not a unit of {self.heading}")
        return unit

    def value(self, text: str, unit: str, *, typed: bool = True) -> Value:
        """The value of a filled cell. Raises `Unreadable` whose text says what was expected.

        Parameters: text, the cell; unit, the one of a bare number; typed, False for a cell that the
        spreadsheet program keeps as a number, where 1.234 can only mean one thing.
        """
        if self.kind == "text":
            return text
        if self.kind in ("choice", "yes or no"):
            return self._word(text)
        if self.open:
            span = read_range(text, lambda part: self._number(part, unit, typed), about_share=about_share())
            if span and (span.most or 0.0) > self.highest:
                raise Unreadable(self.expected)
            return span or self._number(text, unit, typed)
        return self._number(text, unit, typed)

    def _number(self, text: str, unit: str, typed: bool) -> int | float:
        unclear = _THOUSANDS_OR_FRACTION.match(text) if typed and self.measured else None
        if unclear:
            whole, fraction = unclear.groups()
            raise Unreadable(f"a number that can mean one thing only, not {whole}{fraction} or {whole} and a fraction")
        try:
            value: float
            if self.kind == "whole":
                value = _whole(text, self.unit)
            elif self.kind == "number":
                value = written.number(text)
            else:
                value = written.read_quantity(text, self.kind, unit)
        except Unreadable:
            raise Unreadable(self.expected) from None
        if not 0 <= value <= self.highest * (1 + _ROUNDING) or math.isinf(value):
            raise Unreadable(self.expected)
        return value

    def _word(self, text: str) -> Value:
        word = plain(text)
        if self.kind == "yes or no":
            if word in _YES or word in _NO:
                return word in _YES
        else:
            for allowed in self.allowed:
                if word == plain(allowed):
                    return allowed
        raise Unreadable(self.expected)


def _whole(text: str, unit: str) -> int:
    """A whole number, also as a spreadsheet writes it with an empty fraction: `5.0`, `5,00`, and behind its `%IB`."""
    bare = text.strip()
    if unit.startswith(BYTE) and bare.upper().startswith(unit):
        bare = bare[len(unit) :]
    return written.whole(re.sub(r"^(\d+)[.,]0+$", r"\1", bare))


@cache
def about_share() -> float:
    """By how much of it a length that is *about* so long may be off.

    >>> about_share()
    0.25
    """
    return facts.one("open_lengths", name="about").number("value")


@cache
def columns(table: str) -> tuple[Column, ...]:
    """The columns of one table, in the order of a blank plan.

    >>> [column.heading for column in columns("network")]
    ['network', 'bit rate', 'cable type', 'highest station address', 'note']
    """
    return tuple(
        Column(
            table=row["table"],
            heading=row["column"],
            field=row["field"],
            kind=row["kind"].removeprefix("open "),
            open=row["kind"].startswith("open "),
            unit=row["unit"],
            required=row["required"],
            default=row["default"],
            allowed=tuple(row["allowed"].split("|")) if row["allowed"] else (),
            meaning=row["meaning"],
            example=row["example"],
        )
        for row in facts.where("plan_columns", table=table)
    )


@cache
def known_headings(table: str) -> Mapping[str, Column]:
    """The columns of a table by their heading in its `plain` form."""
    return {plain(column.heading): column for column in columns(table)}


def column_for(table: str, heading: str) -> Column | None:
    """The column a heading means, with or without a unit in brackets; None if there is none."""
    known = known_headings(table)
    found = _HEADING_UNIT.match(heading.strip())
    return known.get(plain(heading)) or (known.get(plain(found["name"])) if found else None)
