"""The workbook's own errors: one small family, each message a sentence for a technician.

A message names the value that was got, the range or form that is allowed, and where that comes from.
"""

import math
from collections.abc import Iterable, Mapping


class WorkbookError(ValueError):
    """Anything the workbook itself refuses. Panels and the shell show its text as it stands.

    `rows` is a table that goes with the text, where one sentence cannot hold it; a panel shows it below.
    """

    rows: tuple[Mapping[str, object], ...] = ()


class OutOfRange(WorkbookError):
    """A number that can be read but lies outside the range in which the calculation holds."""


class Unreadable(WorkbookError):
    """A text, a file or a run of bytes that is not in any form the workbook knows."""


class Unknown(WorkbookError):
    """A name that is not in the list; the message gives the list."""


def in_range(name: str, value: float, low: float, high: float, unit: str = "", source: str = "") -> None:
    """Raise `OutOfRange` unless low <= value <= high. A value that is not a number is refused too.

    >>> in_range("address", 126, 0, 125, source="M. Felser, PROFIBUS Manual, addressing")
    Traceback (most recent call last):
        ...
    helpers.errors.OutOfRange: address is 126; allowed is 0 to 125 (M. Felser, PROFIBUS Manual, addressing).
    """
    if not low <= value <= high:
        space = f" {unit}" if unit else ""
        where = f" ({source})" if source else ""
        got, least, most = (_figure(number) for number in (value, low, high))
        raise OutOfRange(f"{name} is {got}{space}; allowed is {least} to {most}{space}{where}.")


def not_negative(name: str, value: float, unit: str) -> None:
    """Raise `OutOfRange` unless value is a finite number, 0 or more.

    >>> not_negative("length of cable", -1, "m")
    Traceback (most recent call last):
        ...
    helpers.errors.OutOfRange: length of cable is -1 m; allowed is 0 or more.
    """
    if not 0 <= value < math.inf:
        raise OutOfRange(f"{name} is {value:g} {unit}; allowed is 0 or more.")


def positive(name: str, value: float, unit: str) -> None:
    """Raise `OutOfRange` unless value is a finite number above 0.

    >>> positive("cable impedance", 0, "Ω")
    Traceback (most recent call last):
        ...
    helpers.errors.OutOfRange: cable impedance is 0 Ω; allowed is more than 0.
    """
    if not 0 < value < math.inf:
        raise OutOfRange(f"{name} is {value:g} {unit}; allowed is more than 0.")


def one_of(name: str, value: object, known: Iterable[object]) -> None:
    """Raise `Unknown` unless value is in known; the message lists what is known.

    >>> one_of("cable type", "C", ("A", "B"))
    Traceback (most recent call last):
        ...
    helpers.errors.Unknown: cable type is 'C'; known are A, B.
    """
    names = list(known)
    if value not in names:
        raise Unknown(f"{name} is {value!r}; known are {', '.join(str(n) for n in names)}.")


def quoted(typed: str) -> str:
    """What was typed, for a message: in quotation marks, and cut if someone pasted a page.

    >>> quoted("12 parsec"), len(quoted("x" * 5000))
    ("'12 parsec'", 40)
    """
    return repr(typed if len(typed) <= 40 else typed[:37] + "…")


def _figure(number: float) -> str:
    """A number in full, as far as a line holds it."""
    try:
        return f"{number:.12g}"
    except OverflowError:
        return "a number too long to write out"
