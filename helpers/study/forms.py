"""The forms an answer can take: number with unit, choice, hexadecimal, bit pattern, list of addresses.

A form reads what a learner typed, writes a value as a learner would type it, and tells whether two
values are the same answer. What it cannot read it refuses with a sentence: that is not a wrong answer.
"""

# ruff: noqa: D102 – the methods are explained once, at Form.

from __future__ import annotations

import math
import re
from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import Generic, TypeVar

from helpers import written
from helpers.errors import Unreadable, quoted

V = TypeVar("V")


class Form(ABC, Generic[V]):
    """How an answer is written. `V` is the type of its value."""

    @property
    @abstractmethod
    def expected(self) -> str:
        """What to type, with an example: ends the sentence "Expected is …"."""

    @abstractmethod
    def read(self, typed: str) -> V:
        """The value of what was typed; `Unreadable` if it is not in this form."""

    @abstractmethod
    def written(self, value: V) -> str:
        """The value as text that `read` reads."""

    def same(self, right: V, got: V) -> bool:
        """True if `got` counts as `right`."""
        return right == got


@dataclass(frozen=True)
class Number(Form[float]):
    """A number, with its unit if it has one.

    unit: the unit asked for, as shown (`m`, `µs`, `Mbit/s`, `stations`); a bare number is taken in it.
    kind: a key of `helpers.written.UNITS` where other units of the same kind may be typed.
    absolute (in `unit`), relative: how far off still counts; the wider of the two holds.
    also: other spellings of a unit that has no kind (`tbit` for `bit times`).

    >>> Number("m", "length", relative=0.01).read("300 ft")
    91.44
    """

    unit: str = ""
    kind: str = ""
    absolute: float = 0.0
    relative: float = 0.0
    also: tuple[str, ...] = ()

    @property
    def expected(self) -> str:
        return f"a number {self._of()}, for example 12 {self.unit}" if self.unit else "a number, for example 12"

    def _of(self) -> str:
        """In metres, but of stations."""
        return f"{'of' if not self.kind and len(self.unit) > 3 else 'in'} {self.unit}"

    def read(self, typed: str) -> float:
        number = self._read_kind(typed) if self.kind else self._read_plain(typed)
        if not math.isfinite(number):
            raise Unreadable(f"{quoted(typed)} is too large for a number.")
        return number

    def written(self, value: float) -> str:
        if (allowed := self._allowed(value)) > 0:
            # One digit finer than the tolerance, so that the rounded text still counts as the value.
            value = round(value, max(0, math.ceil(-math.log10(allowed))) + 1)
        return f"{value:.12g} {self.unit}".strip()

    def same(self, right: float, got: float) -> bool:
        return abs(got - right) <= max(self._allowed(right), 1e-9 * abs(right))

    def _allowed(self, right: float) -> float:
        return max(self.absolute, self.relative * abs(right))

    def _read_kind(self, typed: str) -> float:
        try:
            in_base_unit = written.read_quantity(typed, self.kind, self.unit)
        except Unreadable as error:
            raise Unreadable(self._other_kind(typed) or str(error)) from None
        return round(in_base_unit / written.read_quantity("1", self.kind, self.unit), 12)

    def _other_kind(self, typed: str) -> str:
        unit = re.sub(r"^[\d\s.,+-]+", "", typed).strip().lower().replace("µ", "u").replace("ω", "ohm")
        kinds = [kind for kind, units in written.UNITS.items() if unit and unit in units]
        return f"{unit} is a unit of {kinds[0]}; asked is a {self.kind} in {self.unit}." if kinds else ""

    def _read_plain(self, typed: str) -> float:
        match = re.fullmatch(r"([\d.,+-]+(?:e[+-]?\d+)?)\s*(\D.*)?", typed.strip(), re.IGNORECASE)
        if not match:
            raise Unreadable(f"{quoted(typed)} is not a number.")
        unit = (match[2] or "").strip().lower()
        units = {name.lower() for name in (self.unit, self.unit.removesuffix("s"), *self.also)}
        if unit and unit not in units:
            asked = f"asked is a number {self._of()}" if self.unit else "asked is a number without a unit"
            raise Unreadable(f"{quoted(match[2])} is not the unit here; {asked}.")
        return written.number(match[1])


@dataclass(frozen=True)
class Choice(Form[str]):
    """One of the options, word for word; capitals and spaces do not matter.

    >>> Choice(("at both ends", "at one end")).read("At both  ends")
    'at both ends'
    """

    options: tuple[str, ...]

    @property
    def expected(self) -> str:
        return "one of: " + " / ".join(self.options)

    def read(self, typed: str) -> str:
        for option in self.options:
            if _plain(option) == _plain(typed):
                return option
        raise Unreadable(f"{quoted(typed)} is not one of the options.")

    def written(self, value: str) -> str:
        return value


@dataclass(frozen=True)
class Hexadecimal(Form[int]):
    """A word of `digits` hexadecimal digits; bare digits are taken as hexadecimal.

    >>> Hexadecimal(4).read("047f"), Hexadecimal(4).written(0x47F)
    (1151, '16#047F')
    """

    digits: int

    @property
    def expected(self) -> str:
        return f"a hexadecimal number of {self.digits} digits, for example 16#{'1B2C3D4E'[: self.digits]}"

    def read(self, typed: str) -> int:
        text = re.sub(r"^(byte|word|dword)#|[\s_]", "", typed.strip().lower())
        # `0b11` stays hexadecimal here: in a field for hexadecimal digits a binary number is marked 2#.
        marked = re.match(r"16#|0x|2#", text) or text.endswith("h")
        try:
            value = written.whole(text if marked else f"16#{text}")
        except Unreadable:
            raise Unreadable(f"{quoted(typed)} is not a hexadecimal number.") from None
        if not 0 <= value < 16**self.digits:
            raise Unreadable(
                f"{quoted(typed)} does not fit; {self.digits} digits hold 16#0 to {'16#' + 'F' * self.digits}."
            )
        return value

    def written(self, value: int) -> str:
        return f"16#{value:0{self.digits}X}"


@dataclass(frozen=True)
class Bits(Form[str]):
    """A pattern of ones and zeros, as text; `labels` names the places from left to right.

    >>> Bits(("bit 3", "bit 2", "bit 1", "bit 0")).read("2#01_10")
    '0110'
    """

    labels: tuple[str, ...]

    @property
    def expected(self) -> str:
        n = len(self.labels)
        return (
            f"{n} ones and zeros, from {self.labels[0]} at the left to {self.labels[-1]}, for example {('10' * n)[:n]}"
        )

    def read(self, typed: str) -> str:
        pattern = re.sub(r"^2#|[\s_]", "", typed.strip())
        if not re.fullmatch(r"[01]+", pattern):
            raise Unreadable(f"{quoted(typed)} is not a row of ones and zeros.")
        if len(pattern) != len(self.labels):
            raise Unreadable(f"{quoted(typed)} has {len(pattern)} places; {len(self.labels)} are asked.")
        return pattern

    def written(self, value: str) -> str:
        return value


@dataclass(frozen=True)
class Addresses(Form[frozenset[int]]):
    """A list of addresses in any order, runs allowed; `none` is the empty list.

    >>> sorted(Addresses().read("12, 3-5"))
    [3, 4, 5, 12]
    """

    @property
    def expected(self) -> str:
        return "addresses with commas between them, for example 2, 17, 40 to 43, or the word none"

    def read(self, typed: str) -> frozenset[int]:
        text = typed.strip().lower().removesuffix(".")
        if text in ("none", "no", "-", "–"):
            return frozenset()
        addresses: set[int] = set()
        for part in re.split(r"[,;]|\band\b", re.sub(r"\s*(?:-|–|\bto\b|\.\.+)\s*", "-", text)):
            for piece in part.split():
                run = re.fullmatch(r"(\d{1,3})(?:-(\d{1,3}))?", piece)
                low, high = (int(run[1]), int(run[2] or run[1])) if run else (1, 0)
                if not low <= high <= 255:
                    raise Unreadable(
                        f"{quoted(piece)} is not an address or a run of addresses; an address is one byte."
                    )
                addresses.update(range(low, high + 1))
        if not addresses:
            raise Unreadable(f"{quoted(typed)} holds no address.")
        return frozenset(addresses)

    def written(self, value: frozenset[int]) -> str:
        return ", ".join(str(address) for address in sorted(value)) or "none"


def _plain(text: str) -> str:
    return " ".join(text.split()).casefold()
