"""Setpoints and actual values: from % , rpm or Hz to the word on the bus, and back.

    counts = value / reference × counts at 100 %

The formats are rows of `data/normalisation.csv`: N2 (16 bits, 16#4000 = 100 %), N4 (32 bits) and the device
scaled ±10000. Negative numbers are in two's complement. The reference is the speed or frequency that the drive
calls 100 %: which of its settings that is, depends on the maker.

Where program and drive are not set alike, nothing on the bus notices, for each word is a valid one:

    word sent   = wanted / the program's 100 % × the program's counts for 100 %
    speed run   = word as the drive reads it / the drive's counts for 100 % × the drive's 100 %
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

import numpy as np

from helpers import facts
from helpers.drive.words import word
from helpers.errors import OutOfRange, in_range, one_of

ROUNDINGS = ("nearest", "cut")


@dataclass(frozen=True)
class NumberFormat:
    """How a format writes numbers: bits, counts at 100 %, lowest and highest counts."""

    name: str
    bits: int
    full: int
    low: int
    high: int
    meaning: str
    source: str
    standing: str

    @property
    def step_percent(self) -> float:
        """The smallest step in %.

        >>> round(form("N2").step_percent, 4)
        0.0061
        """
        return 100 / self.full


@dataclass(frozen=True)
class Scaled:
    """A value and the word that carries it.

    asked: the value wanted, in `unit`; value: the one that the word carries; error: the difference. counts: the
    signed number; word: the same in two's complement, as it stands on the bus. saturated: the value lies
    beyond what the format can carry. step: what one count is worth, in `unit`. steps: the calculation, line
    by line.
    """

    format: str
    unit: str
    asked: float
    value: float
    error: float
    percent: float
    counts: int
    word: int
    saturated: bool
    step: float
    steps: tuple[str, ...]


@cache
def form(name: str) -> NumberFormat:
    """The format of this name: N2, N4 or 10000."""
    one_of("format", name, formats())
    row = facts.one("normalisation", format=name)
    bits, full, low, high = (row.whole(column) for column in ("bits", "full", "low", "high"))
    return NumberFormat(name, bits, full, low, high, row["meaning"], row.source, row.standing)


def formats() -> tuple[str, ...]:
    """The names of the formats."""
    return tuple(row["format"] for row in facts.rows("normalisation"))


def signed(value: int | str, *, bits: int = 16) -> int:
    """The number that a word means in two's complement.

    >>> signed("16#C000"), signed("16#FFFF"), signed("16#7FFF")
    (-16384, -1, 32767)
    """
    number = word(value, bits=bits)
    return number - (1 << bits) if number >> (bits - 1) else number


def unsigned(value: int, *, bits: int = 16) -> int:
    """The word that carries a signed number in two's complement.

    >>> f"{unsigned(-16384):04X}"
    'C000'
    """
    in_range("number", value, -(1 << (bits - 1)), (1 << (bits - 1)) - 1, source=f"{bits} bits in two's complement")
    return value & ((1 << bits) - 1)


def split(double: int | str) -> tuple[int, int]:
    """A double word as two words, the high one first, as it stands in the telegram.

    >>> [f"{half:04X}" for half in split("16#40000001")]
    ['4000', '0001']
    """
    number = word(double, bits=32)
    return number >> 16, number & 0xFFFF


def join(high: int | str, low: int | str) -> int:
    """Two words as one double word.

    >>> f"{join('16#4000', 1):08X}"
    '40000001'
    """
    return word(high) << 16 | word(low)


def scale(
    value: float,
    *,
    reference: float = 100.0,
    unit: str = "%",
    format: str = "N2",
    rounding: str = "nearest",
) -> Scaled:
    """The word for a value.

    Parameters: value and reference, both in `unit` (%, rpm, Hz, m/s …), reference being what the drive calls
    100 %; format, one of `formats()`; rounding, `nearest` (halves to the even count, IEC 60559) or `cut` (the
    part behind the point is dropped, as many controllers do). A value beyond the format is held at its limit
    and marked as saturated.

    >>> f"{scale(60).word:04X}", f"{scale(-1500, reference=3000, unit='rpm').word:04X}"
    ('2666', 'E000')
    """
    known = form(format)
    _positive_reference(reference, unit)
    one_of("rounding", rounding, ROUNDINGS)
    if not math.isfinite(value):
        raise OutOfRange(f"value is {value}; a setpoint is a finite number in {unit}.")
    share = value / reference
    exact = share * known.full
    held = _held(exact, known)
    counts = round(held) if rounding == "nearest" else math.trunc(held)
    steps = (
        f"{value:g} {unit} / {reference:g} {unit} = {share * 100:.6g} %",
        f"{share * 100:.6g} % / 100 % × {known.full} = {exact:.{8 if known.bits == 16 else 10}g}",
        f"in whole counts {counts}"
        if held == exact
        else f"{known.name} carries {known.low} to {known.high}: held at {counts}",
        _written(counts, known),
    )
    return _scaled(known, unit, reference, value, counts, held != exact, steps)


def word_of(percent: float, format: str = "N2") -> int:
    """The word for a value in %, and nothing else: `scale` without its explanation, for many values in a short time.

    >>> f"{word_of(60):04X}", word_of(300) == scale(300).word
    ('2666', True)
    """
    known = form(format)
    return round(_held(percent / 100 * known.full, known)) & ((1 << known.bits) - 1)


def unscale(value: int | str, *, reference: float = 100.0, unit: str = "%", format: str = "N2") -> Scaled:
    """The value that a word carries.

    Parameters: value, the word as number or text (32 bits for N4); reference in `unit`; format, one of
    `formats()`.

    >>> unscale("16#2B40").percent, unscale("16#E000", reference=3000, unit="rpm").value
    (67.5781, -1500.0)
    """
    known = form(format)
    _positive_reference(reference, unit)
    number = word(value, bits=known.bits)
    counts = signed(number, bits=known.bits)
    steps = (
        _written(counts, known),
        f"{counts} / {known.full} × 100 % = {counts / known.full * 100:.6g} %",
        f"{counts} / {known.full} × {reference:g} {unit} = {counts / known.full * reference:.6g} {unit}",
    )
    beyond = not known.low <= counts <= known.high
    return _scaled(known, unit, reference, counts / known.full * reference, counts, beyond, steps)


def misread(percent: float, *, sent_as: str, read_as: str) -> float:
    """What a drive makes of a setpoint that was scaled for another format of the same length, in %.

    >>> misread(100, sent_as="10000", read_as="N2")
    61.0352
    """
    sent, read = form(sent_as), form(read_as)
    if sent.bits != read.bits:
        raise OutOfRange(f"{sent_as} has {sent.bits} bits and {read_as} has {read.bits}; both must be of one length.")
    return unscale(scale(percent, format=sent_as).word, format=read_as).percent


def kept_digits(step: float) -> int:
    """How many decimal places a value keeps that moves in such steps; negative: not even whole units.

    A place is kept if a step is no larger than one unit of it, so that two values that differ there get
    two words.

    >>> kept_digits(3000 / 16384), kept_digits(50 / 16384)
    (0, 2)
    """
    in_range("step", step, 1e-300, 1e300)
    return math.floor(-math.log10(step) + 1e-12)


def lost_digit(step: float, unit: str) -> str:
    """Which digit is lost, in a sentence.

    >>> lost_digit(3000 / 16384, "rpm")
    'One count is 0.1831 rpm: steps of 1 rpm come through, steps of 0.1 rpm do not all.'
    """
    kept = kept_digits(step)
    return (
        f"One count is {_decimal(step)} {unit}: steps of {_decimal(10.0**-kept)} {unit} come through, "
        f"steps of {_decimal(10.0 ** -(kept + 1))} {unit} do not all."
    )


def _decimal(number: float) -> str:
    """Four figures and no power of ten, as a display shows it."""
    return np.format_float_positional(number, precision=4, fractional=False, trim="-")


def _held(exact: float, known: NumberFormat) -> float:
    """What the format can carry of it."""
    return min(max(exact, known.low), known.high)


def _positive_reference(reference: float, unit: str) -> None:
    if not (math.isfinite(reference) and reference > 0):
        raise OutOfRange(f"reference is {reference:g} {unit}; what the drive calls 100 % is more than 0 {unit}.")


def _written(counts: int, known: NumberFormat) -> str:
    number = unsigned(counts, bits=known.bits)
    spelling = f"16#{number:0{known.bits // 4}X}"
    if counts < 0:
        return f"{counts} is in two's complement {counts} + 2^{known.bits} = {number} = {spelling}"
    return f"{counts} = {spelling}"


def _scaled(
    known: NumberFormat, unit: str, reference: float, asked: float, counts: int, saturated: bool, steps: tuple[str, ...]
) -> Scaled:
    carried = counts / known.full * reference
    return Scaled(
        known.name,
        unit,
        float(asked),
        carried,
        carried - asked,
        round(counts / known.full * 100, 4 if known.bits == 16 else 8),
        counts,
        unsigned(counts, bits=known.bits),
        saturated,
        reference / known.full,
        steps,
    )


# -- two sides that are not set alike ------------------------------------------------------------------

# What programs take for 100 %, in counts: the profile's, that of single devices, and the highest number of 16 bits.
PROFILE, THOUSANDS, HIGHEST = form("N2").full, form("10000").full, form("N2").high
COUNTS_TAKEN = (PROFILE, THOUSANDS, HIGHEST)
READ_AS = ("N2", "10000")


@dataclass(frozen=True)
class Understood:
    """wanted_rpm: what the program meant; sent and read: the word at either end; percent and rpm: what the drive runs.

    held: the program's word, or the number the drive read, was beyond what the format carries.
    """

    wanted_rpm: float
    sent: int
    read: int
    percent: float
    rpm: float
    held: bool

    @property
    def alike(self) -> bool:
        """True if the drive runs what was wanted, to within 0.1 % and half a turn per minute (rounding takes less)."""
        return abs(self.rpm - self.wanted_rpm) <= abs(self.wanted_rpm) * 1e-3 + 0.5


def swapped(word: int) -> int:
    """A word with its two bytes exchanged.

    >>> f"{swapped(0x2666):04X}"
    '6626'
    """
    in_range("word", word, 0, 0xFFFF, source="16 bits")
    return (word & 0xFF) << 8 | word >> 8


def understood(
    wanted_rpm: float,
    *,
    program_rpm: float,
    program_full: int = PROFILE,
    drive_rpm: float,
    drive_format: str = "N2",
    bytes_exchanged: bool = False,
) -> Understood:
    """What the drive makes of a setpoint.

    Parameters: wanted_rpm, the speed meant, in rpm; program_rpm and program_full, what the program takes for 100 %, in
    rpm and in counts; drive_rpm and drive_format, what the drive takes for 100 % and how it reads the word;
    bytes_exchanged, high and low byte change places on the way.

    >>> round(understood(900, program_rpm=1500, program_full=10000, drive_rpm=1500).rpm, 1)
    549.3
    """
    one_of("format in the drive", drive_format, READ_AS)
    in_range("speed wanted", wanted_rpm, -100_000, 100_000, "rpm")
    in_range("100 % in the program", program_rpm, 1, 100_000, "rpm")
    in_range("counts at 100 % in the program", program_full, 1, HIGHEST)
    in_range("100 % in the drive", drive_rpm, 1, 100_000, "rpm")
    exact = wanted_rpm / program_rpm * program_full
    counts = round(min(max(exact, -HIGHEST - 1), HIGHEST))
    sent = unsigned(counts)
    read = swapped(sent) if bytes_exchanged else sent
    known = form(drive_format)
    taken = min(max(signed(read), known.low), known.high)
    run = unscale(unsigned(taken), reference=drive_rpm, unit="rpm", format=drive_format)
    return Understood(
        float(wanted_rpm), sent, read, run.percent, run.value, counts != round(exact) or taken != signed(read)
    )
