"""Reads numbers as people write them: `12 Mbit/s`, `1,5 km`, `300 ft`, `16#047F`, `W#16#047F`, `0x7e`.

One reader serves plan tables, answer fields, panels and the shell, so the same text means the same
number everywhere.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from math import isfinite

from helpers.errors import Unreadable, quoted

# The factor that turns a unit into the base unit of its kind (m, bit/s, F, s, Ohm, V, A, Hz).
UNITS = {
    "length": {"m": 1.0, "km": 1e3, "cm": 1e-2, "mm": 1e-3, "ft": 0.3048, "in": 0.0254},
    "bit rate": {
        "bit/s": 1.0,
        "kbit/s": 1e3,
        "mbit/s": 1e6,
        "bps": 1.0,
        "kbps": 1e3,
        "mbps": 1e6,
        "kbaud": 1e3,
        "mbaud": 1e6,
        "k": 1e3,
        "m": 1e6,
    },
    "capacitance": {"f": 1.0, "uf": 1e-6, "nf": 1e-9, "pf": 1e-12},
    "time": {"s": 1.0, "ms": 1e-3, "us": 1e-6, "ns": 1e-9},
    "resistance": {"ohm": 1.0, "kohm": 1e3, "r": 1.0},
    "voltage": {"v": 1.0, "mv": 1e-3, "kv": 1e3},
    "current": {"a": 1.0, "ma": 1e-3},
    "frequency": {"hz": 1.0, "khz": 1e3, "mhz": 1e6},
    "share": {"%": 1e-2, "": 1.0},
}

# µ has two code points, and so has Ω; a keyboard may give either. In lower case both kinds of Ω become ω.
_SIGNS = str.maketrans({"\N{MICRO SIGN}": "u", "\N{GREEK SMALL LETTER MU}": "u", "ω": "ohm"})

_NUMBER = re.compile(r"^([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:e[+-]?\d+)?)\s*(\S.*)?$", re.IGNORECASE)


# `about 20 m`, and `10 to 30 m` or `10 – 30 m`.
_ABOUT = re.compile(r"^(?:about|approximately|circa|approx\.|ca\.|~|≈)\s*(\S.*)$", re.IGNORECASE)
_ENDS = re.compile(r"^(\S.*?)(?:\s+to\s+|\s*[–—]\s*|\s+-\s+|(?<=\d)-(?=\d))(\S.*)$", re.IGNORECASE)

# The type that IEC 61131-3 lets stand before a literal, and the one letter that many programs write for it.
_TYPE = re.compile(r"(byte|word|dword|b|w|dw)#(?=(?:16|2)#)", re.IGNORECASE)
_TYPE_BITS = {"b": 8, "byte": 8, "w": 16, "word": 16, "dw": 32, "dword": 32}
# What stands before and behind the digits, and the base that it tells.
_BASES = (
    ("", "h", 16), ("16#", "", 16), ("0x", "", 16), ("$", "", 16), ("&h", "", 16), ("2#", "", 2), ("0b", "", 2),
)  # fmt: skip


def read_quantity(text: object, kind: str, unit: str) -> float:
    """A number with its unit, in the base unit of its kind; a bare number is taken in `unit`.

    Parameters: text as typed; kind, a key of `UNITS`; unit, the one meant when none is written.
    A decimal comma is read as a decimal point. A text with both, or with two of either, could mean
    two numbers and is refused.

    >>> read_quantity("300 ft", "length", "m")
    91.44
    >>> read_quantity("1,5 Mbit/s", "bit rate", "kbit/s")
    1500000.0
    >>> read_quantity("500", "bit rate", "kbit/s")
    500000.0
    """
    factors = UNITS[kind]
    typed = str(text).strip()
    match = _NUMBER.match(typed)
    if not match:
        raise Unreadable(f"{quoted(typed)} is not a {kind}; write for example {_example(kind, unit)}.")
    unit_named = (match.group(2) or unit).strip().lower().translate(_SIGNS)
    if unit_named not in factors:
        units = ", ".join(name for name in factors if name)
        raise Unreadable(f"{quoted(typed)}: {quoted(unit_named)} is not a unit of {kind}; known are {units}.")
    # 15 digits take away what the factor's last bit leaves behind: 300 · 0.3048 = 91.44000000000001.
    return float(f"{_finite(match.group(1), typed, factors[unit_named]):.15g}")


def number(text: object) -> float:
    """A number without a unit, with decimal point or decimal comma.

    >>> number("0,5")
    0.5
    """
    match = _NUMBER.match(str(text).strip())
    if not match or match.group(2):
        raise Unreadable(f"{quoted(str(text).strip())} is not a number; write for example 12 or 1,5.")
    return _finite(match.group(1), str(text).strip())


def whole(text: object) -> int:
    """A whole number: decimal, hexadecimal (`16#7E`, `0x7E`, `7Eh`, `$7E`, `&H7E`) or binary (`2#0111_1110`, `0b…`).

    Before the base may stand the type, as in `W#16#047F` or `BYTE#16#08`; a number that its type can't hold is refused.

    Digits of a marked number may stand in groups, apart by a space or `_`. A decimal number stands in one
    piece: `1 000` could be two numbers.

    >>> whole("16#7E"), whole("2#0111_1110"), whole("126"), whole("7Eh")
    (126, 126, 126, 126)
    """
    typed = str(text).strip()
    type_named = _TYPE.match(typed)
    digits = typed[type_named.end() :].lower() if type_named else typed.lower()
    body, base = digits, 10
    # The final h goes first: 0B1h is hexadecimal, although it begins as a binary number does.
    for prefix, suffix, marked in _BASES:
        if digits.startswith(prefix) and digits.endswith(suffix):
            body, base = re.sub(r"\s", "", digits.removeprefix(prefix).removesuffix(suffix)), marked
            break
    try:
        if not re.fullmatch(r"[+-]?[0-9a-f]+(_[0-9a-f]+)*", body):
            raise ValueError
        read = int(body, base)
    except ValueError:
        raise Unreadable(
            f"{quoted(typed)} is not a whole number; write for example 126, 16#7E or 2#0111_1110."
        ) from None
    if type_named and read >= 1 << (bits := _TYPE_BITS[type_named[1].lower()]):
        raise Unreadable(f"{quoted(typed)} says {type_named[1].upper()}, which has {bits} bits; the number needs more.")
    try:
        float(read)  # whatever is calculated from it needs that
    except OverflowError:
        raise Unreadable(f"{quoted(typed)} is too large for a number.") from None
    return read


@dataclass(frozen=True)
class Range:
    """What a text leaves open: anything from least to most, None where it does not say; `about` marks `about 20 m`."""

    least: float = 0.0
    likely: float | None = None
    most: float | None = None
    about: bool = False


def read_range(text: str, read: Callable[[str], float], *, about_share: float) -> Range | None:
    """The range that a text means; None if it is no range, but one number perhaps.

    Parameters: text, such as `?`, `about 20 m`, `10 to 30 m`; read, for each number in it; about_share, by how much of
    it a number that is *about* may be off. Where the first of two numbers has no unit it has that of the second.
    Raises `Unreadable` if the greater number stands first.

    >>> read_range("10 to 30", float, about_share=0.25), read_range("20", float, about_share=0.25)
    (Range(least=10.0, likely=20.0, most=30.0, about=False), None)
    """
    typed = " ".join(text.split())
    if typed in ("", "?"):
        return Range()
    if about := _ABOUT.match(typed):
        likely = read(about[1])
        return Range(_tidy(likely * (1 - about_share)), likely, _tidy(likely * (1 + about_share)), about=True)
    if not (ends := _ENDS.match(typed)):
        return None
    unit = re.search(r"[^\W\d_]+$", ends[2])
    has_unit = re.search(r"[^\W\d_]+$", ends[1])
    least, most = read(ends[1] if has_unit or not unit else f"{ends[1]} {unit[0]}"), read(ends[2])
    if least > most:
        raise Unreadable("the smaller number first, for example 10 to 30 m")
    return Range(least, _tidy((least + most) / 2), most)


def _tidy(number: float) -> float:
    """The number without what its last bit leaves behind: 20 · 1.1 = 22.000000000000004."""
    return float(f"{number:.12g}")


def _finite(digits: str, typed: str, factor: float = 1.0) -> float:
    number = float(digits.replace(",", ".")) * factor
    if not isfinite(number):
        raise Unreadable(f"{quoted(typed)} is too large for a number.")
    return number


def _example(kind: str, unit: str) -> str:
    return {"length": "120 m or 300 ft", "bit rate": "1.5 Mbit/s or 500 kbit/s"}.get(kind, f"12 {unit}")
