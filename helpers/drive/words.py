"""Control and status words: what each bit means, and how a word is put together.

A word has 16 bits, bit 0 on the right. The meanings are rows of `data/control_word.csv`,
`data/status_word.csv` and `data/word2_bits.csv`; nothing is decided here that a table can say.
A word may be given as a number or as text: 1151, `16#047F`, `0x047F`, `047Fh`, `2#0000_0100_0111_1111`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from helpers import facts
from helpers.errors import Unreadable, WorkbookError, in_range, one_of
from helpers.written import whole

KINDS = ("control", "status", "control 2", "status 2")

_DECIDE = (9, 4, 5)  # status bits that at 0 hold the drive, whatever the state

STATE_MASK = 0x0047  # bits 6, 2, 1 and 0 of the status word show the state


@dataclass(frozen=True)
class Bit:
    """One bit of a word: both meanings, and how they are known.

    `option` names the point on which drives differ (empty: none known). `makers` says how many makers
    print the meaning: "2+", "1" or empty. `holds` is the value, 0 or 1, at which the bit keeps the drive from
    running; None if it does so at neither.
    """

    number: int
    name: str
    one: str
    zero: str
    holds: int | None
    maker_specific: bool
    option: str
    makers: str
    source: str
    standing: str

    def meaning(self, value: int) -> str:
        """What the bit says at this value, 0 or 1."""
        return self.one if value else self.zero


@dataclass(frozen=True)
class WordBit:
    """One row of a decoded word: the bit, its value, what that value means, and if it keeps the drive from running."""

    bit: int
    value: int
    name: str
    meaning: str
    holds: bool
    maker_specific: bool
    option: str
    makers: str
    source: str
    standing: str


@dataclass(frozen=True)
class CommonWord:
    """A word that is met often, with its name and meaning."""

    value: int
    name: str
    meaning: str
    source: str
    standing: str

    @property
    def text(self) -> str:
        """The word in IEC 61131-3 spelling."""
        return spelled(self.value)


@dataclass(frozen=True)
class StateReading:
    """What a status word says about the state.

    `states` are the keys of the states that show these bits (S1 to S5; empty if none does), `name` the
    first of them in words, `sentence` all of it for a person.
    """

    states: tuple[str, ...]
    name: str
    fault: bool
    warning: bool
    sentence: str


def word(value: int | str, *, bits: int = 16) -> int:
    """A word as a number, 0 to 65535, from a number or from text in any spelling; with `bits` also a double word.

    Digits that begin with 0 and bear no mark (`0337`) could be decimal or hexadecimal and are refused.

    >>> word("16#047F"), word("047Fh"), word(1151)
    (1151, 1151, 1151)
    """
    if type(value) is int and 0 <= value < 1 << bits:
        return value
    typed = str(value).strip()
    if re.fullmatch(r"0[0-9]{2,}", typed):
        raise Unreadable(f"{typed!r} could be decimal or hexadecimal; write 16#{typed} or {typed.lstrip('0') or '0'}.")
    if re.fullmatch(r"[0-9a-fA-F]{1,8}", typed) and not typed.isdigit():
        raise Unreadable(f"{typed!r} looks hexadecimal; write 16#{typed.upper()}.")
    number = whole(typed)
    in_range("word", number, 0, (1 << bits) - 1, source=f"{bits} bits")
    return number


def spelled(value: int | str) -> str:
    """A word in IEC 61131-3 spelling.

    >>> spelled(1151)
    '16#047F'
    """
    return f"16#{word(value):04X}"


def pattern(value: int | str) -> str:
    """A word bit by bit, bit 15 on the left, in IEC 61131-3 spelling.

    >>> pattern("16#047F")
    '2#0000_0100_0111_1111'
    """
    digits = f"{word(value):016b}"
    return "2#" + "_".join(digits[i : i + 4] for i in range(0, 16, 4))


@cache
def bits(kind: str = "control") -> tuple[Bit, ...]:
    """The 16 bits of a kind of word, bit 0 first. Kinds: `KINDS`; control 2 and status 2 hold the sign of life.

    >>> bits("status")[6].name
    'switching on inhibited'
    """
    one_of("kind of word", kind, KINDS)
    rows = facts.rows(f"{kind}_word") if kind in ("control", "status") else facts.where("word2_bits", word=kind)
    return tuple(
        Bit(
            row.whole("bit"),
            row["name"],
            row["one"],
            row["zero"],
            int(row["holds"]) if row.get("holds") else None,
            row["maker_specific"] == "yes",
            row["option"],
            row["makers"],
            row.source,
            row.standing,
        )
        for row in rows
    )


def decode(value: int | str, kind: str = "control") -> tuple[WordBit, ...]:
    """A word as 16 rows, bit 0 first.

    Parameters: value, the word as number or text; kind, one of `KINDS`.

    >>> [row.name for row in decode("16#0477") if row.bit < 4 and not row.value]
    ['enable operation']
    """
    number = word(value)
    return tuple(
        WordBit(
            bit.number,
            number >> bit.number & 1,
            bit.name,
            bit.meaning(number >> bit.number & 1),
            bit.holds == number >> bit.number & 1,
            bit.maker_specific,
            bit.option,
            bit.makers,
            bit.source,
            bit.standing,
        )
        for bit in bits(kind)
    )


def bit_number(name: int | str, kind: str = "control") -> int:
    """The number of a bit given by its number or by its name in the table.

    >>> bit_number("control by PLC"), bit_number("7"), bit_number(3)
    (10, 7, 3)
    """
    typed = str(name).strip()
    if re.fullmatch(r"-?\d+", typed):
        in_range("bit", int(typed), 0, 15, source="a word has 16 bits")
        return int(typed)
    known = {bit.name.lower(): bit.number for bit in bits(kind)}
    one_of(f"bit of the {kind} word", typed.lower(), known)
    return known[typed.lower()]


def encode(
    kind: str = "control",
    *,
    on: Iterable[int | str] = (),
    off: Iterable[int | str] = (),
    start: int | str = 0,
) -> int:
    """A word from bits, or from a starting word with changes.

    Parameters: kind, one of `KINDS`; on and off, bits to set and to clear, by number or by name; start, the
    word to begin with (0: no bit set). A bit in both lists is refused.

    >>> spelled(encode(on=[0, 1, 2, 3, 4, 5, 6, "control by PLC"]))
    '16#047F'
    >>> spelled(encode(start="16#047F", off=["on"]))
    '16#047E'
    """
    set_bits = {bit_number(name, kind) for name in on}
    cleared = {bit_number(name, kind) for name in off}
    if both := sorted(set_bits & cleared):
        raise WorkbookError(f"bit {both[0]} is to be 1 and 0 at once; name it in one list only.")
    number = word(start)
    for bit in set_bits:
        number |= 1 << bit
    for bit in cleared:
        number &= ~(1 << bit)
    return number


def compare(before: int | str, after: int | str, kind: str = "control") -> tuple[str, ...]:
    """What changes from one word to the next: a sentence per changed bit, bit 0 first; empty if nothing does.

    >>> compare("16#047E", "16#047F")
    ('Bit 0 (on) rises to 1: ON: the rise from 0 to 1 takes the drive to switched on.',)
    """
    old, new = word(before), word(after)
    return tuple(
        f"Bit {bit.number} ({bit.name}) rises to 1: {bit.one}."
        if new >> bit.number & 1
        else f"Bit {bit.number} ({bit.name}) falls to 0: {bit.zero}."
        for bit in bits(kind)
        if (old ^ new) >> bit.number & 1
    )


@cache
def common(kind: str = "control") -> tuple[CommonWord, ...]:
    """The words of a kind that are met most often.

    >>> [spelled(w.value) for w in common() if w.name == "run"]
    ['16#047F']
    """
    one_of("kind of word", kind, KINDS)
    return tuple(
        CommonWord(row.whole("value"), row["name"], row["meaning"], row.source, row.standing)
        for row in facts.where("common_words", word=kind)
    )


def usual(value: int | str, kind: str = "control") -> CommonWord | None:
    """The common word of this value, or None if it is not one of them.

    >>> usual("16#0337", "status").name
    'running at setpoint'
    """
    number = word(value)
    return next((known for known in common(kind) if known.value == number), None)


def state(status: int | str) -> StateReading:
    """The state that a status word shows, by mask 16#0047; fault and warning are read beside it.

    The bits at 0 that decide (9, 4, 5) are named before the state: it is they that must change.

    Two states can look alike: while switching off, some drives show the bits of operation and some those of
    switched on. Both are then named. Source: `data/drive_states.csv`.

    >>> state("16#0231").name
    'ready for switching on'
    """
    return _state(word(status))


def deciding(status: int | str) -> tuple[str, ...]:
    """The bits of a status word that hold the drive at 0 whatever its state, in sentences; empty if none does.

    >>> deciding("16#0250")
    ('Status bit 5 is 0: OFF3 (quick stop) active.',)
    """
    number, known = word(status), bits("status")
    return tuple(f"Status bit {bit} is 0: {known[bit].zero}." for bit in _DECIDE if not number >> bit & 1)


@cache
def _state(number: int) -> StateReading:
    masked = number & STATE_MASK
    found = {row["state"]: row["name"] for row in facts.rows("drive_states") if row.whole("status_bits") == masked}
    fault, warning = bool(number & 0x0008), bool(number & 0x0080)
    names = list(found.values())
    if names:
        name = names[0]
        parts = [f"The state is {name}."]
        parts += [f"A drive that is {other} may show the same bits." for other in names[1:]]
    elif fault and not masked:
        name, parts = "fault", ["The state is fault: the pulses are off."]
    else:
        name = "none of the profile"
        parts = [f"Bits 6, 2, 1 and 0 ({spelled(masked)} after the mask 16#0047) show no state of the profile."]
    if not fault:
        if name == "switching on inhibited" and not deciding(number):
            parts.append("No stop is active: bit 0 of the control word must go to 0 first.")
        parts = [*deciding(number), *parts]
    if fault:
        parts.append("A fault is present: find its cause, then acknowledge.")
    if warning:
        parts.append("A warning is present.")
    return StateReading(tuple(found), name, fault, warning, " ".join(parts))
