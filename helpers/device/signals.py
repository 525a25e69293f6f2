"""Signals: what can stand in the process data words of a data format.

A signal has a name and a width, mostly a number too, and one direction as the controller sees it: `out`
from the controller to the drive (setpoints, control words), `in` from the drive to the controller
(actual values, status words). A signal of 32 bits takes two words.

`data/signals.csv` holds the profile's signals, `data/demo/device_signals.csv` those of the invented
Saltmarsh Mill drive. Numbers that our sources don't give are left empty, not guessed.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from helpers import facts
from helpers.errors import OutOfRange, Unknown, in_range, one_of

BITS_PER_WORD = 16
DIRECTIONS = {"out": "controller to drive", "in": "drive to controller"}


@dataclass(frozen=True)
class Signal:
    """One signal.

    `number` is None where our sources give none. `bits` is the width to plan with. `widths` lists every
    width a source gives: if there are several, the widest is taken, because room that is reserved
    harms less than room that is missing. `makers` is "2+" or "1": how many makers print it; empty if
    it is from memory.
    """

    number: int | None
    name: str
    bits: int
    direction: str
    meaning: str = ""
    makers: str = ""
    source: str = ""
    standing: str = ""
    widths: tuple[int, ...] = ()

    @property
    def words(self) -> int:
        """Words that the signal takes."""
        return -(-self.bits // BITS_PER_WORD)

    @property
    def word_names(self) -> tuple[str, ...]:
        """A name for each of its words, the high word first.

        >>> find("NSOLL_B").word_names
        ('NSOLL_B high', 'NSOLL_B low')
        """
        return (self.name,) if self.words == 1 else (f"{self.name} high", f"{self.name} low")


@cache
def profile_signals() -> tuple[Signal, ...]:
    """The profile's signals, in the order of `data/signals.csv`."""
    return _read("signals")


@cache
def demo_signals() -> tuple[Signal, ...]:
    """The signals of the invented Saltmarsh Mill drive; their numbers lie in the makers' own range."""
    return _read("demo/device_signals")


def find(key: str | int, known: Iterable[Signal] | None = None) -> Signal:
    """The signal with this name (upper or lower case) or number.

    Parameters: key, a name or a number; known, the signals to look in (the profile's and the demo
    drive's if not given). Errors: `Unknown`, with the list of names.
    Source: numbers and widths as cited in the tables.

    >>> find("zsw1").number, find(7).name, find(7).words
    (2, 'NSOLL_B', 2)
    """
    listed = tuple(known) if known is not None else profile_signals() + demo_signals()
    text = str(key).strip()
    for signal in listed:
        if text.upper() == signal.name.upper() or (signal.number is not None and text == str(signal.number)):
            return signal
    raise Unknown(f"signal is {key!r}; known are {', '.join(signal.name for signal in listed)}.")


def own_signal(name: str, *, bits: int, direction: str, number: int | None = None) -> Signal:
    """A signal of a drive that is not in our tables, as its manual describes it.

    Parameters: name; bits, its width, 16 or 32; direction, `out` or `in`; number, if the manual gives one.
    Errors: `OutOfRange` for a width that does not fill one or two words, or a number no signal can have;
    `Unknown` for a direction.

    >>> own_signal("drum speed", bits=32, direction="in").words
    2
    """
    one_of("direction of a signal", direction, DIRECTIONS)
    if bits not in (BITS_PER_WORD, 2 * BITS_PER_WORD):
        raise OutOfRange(f"width of {name} is {bits} bit; allowed are 16 and 32 bit, that is one word or two.")
    if number is not None:
        _kind(number)
    return Signal(number, name, bits, direction)


def number_kind(number: int) -> str:
    """Whose number it is: `not assigned`, `profile` or `device` (`data/signal_ranges.csv`).

    >>> number_kind(0), number_kind(99), number_kind(100)
    ('not assigned', 'profile', 'device')
    """
    return _kind(number)["kind"]


def _kind(number: int) -> facts.Fact:
    ranges = facts.rows("signal_ranges")
    last = max(row.whole("last") for row in ranges)
    in_range("signal number", number, ranges[0].whole("first"), last, source=ranges[0].cited)
    found = [row for row in ranges if row.whole("first") <= number <= row.whole("last")]
    if not found:
        raise OutOfRange(f"signal number is {number}; allowed are whole numbers ({ranges[0].cited}).")
    return found[0]


def list_parameter(direction: str) -> int:
    """Number of the profile parameter that lists the signals of one direction (`data/signal_lists.csv`).

    >>> list_parameter("out"), list_parameter("in")
    (915, 916)
    """
    one_of("direction of a signal", direction, DIRECTIONS)
    return facts.one("signal_lists", direction=direction).whole("pnu")


def _read(table: str) -> tuple[Signal, ...]:
    """One signal for each name; rows that disagree on the width become one signal with both widths."""
    rows: dict[str, list[facts.Fact]] = {}
    for row in facts.rows(table):
        rows.setdefault(row["name"], []).append(row)
    signals = []
    for name, same in rows.items():
        widest = max(same, key=lambda row: row.whole("bits"))
        signals.append(
            Signal(
                widest.whole("number") if widest.has("number") else None,
                name,
                widest.whole("bits"),
                widest["direction"],
                widest["meaning"],
                widest["makers"],
                widest.source,
                widest.standing,
                tuple(sorted({row.whole("bits") for row in same})),
            )
        )
    return tuple(signals)


def read_signals(typed: str) -> tuple[Signal, ...]:
    """Signals as people list them: names or numbers with commas between; `2 words in`; `drum speed 32 bit in`.

    Errors: `Unknown` for a name, `OutOfRange` for a width or a count.

    >>> [signal.name for signal in read_signals("current, 2 words in, drum speed 32 bit in")]
    ['CURRENT', 'word 1 in', 'word 2 in', 'drum speed']
    """
    found: list[Signal] = []
    for part in (part.strip() for part in re.split(r"[,;\n]", typed)):
        several = re.fullmatch(r"(\d{1,3})\s*words?\s+(out|in)", part, re.IGNORECASE)
        own = re.fullmatch(r"(.*\S)\s+(\d{1,3})\s*(?:bits?)?\s+(out|in)", part, re.IGNORECASE)
        if several:
            in_range("number of words", int(several[1]), 1, 20)
            way = several[2].lower()
            found += [own_signal(f"word {n} {way}", bits=16, direction=way) for n in range(1, int(several[1]) + 1)]
        elif own:
            found.append(own_signal(own[1], bits=int(own[2]), direction=own[3].lower()))
        elif part:
            found.append(_named(part))
    return tuple(found)


def _named(name: str) -> Signal:
    try:
        return find(name)
    except Unknown:
        # The list of all names would fill the panel.
        raise Unknown(
            f"{name[:40]!r} is no signal of our tables; one of your own needs its width and direction, as in drum "
            "speed 32 bit in, or 2 words out."
        ) from None
