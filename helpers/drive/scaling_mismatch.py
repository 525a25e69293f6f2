"""A setpoint between a program and a drive that are not set alike: what the drive makes of it.

    word sent   = wanted / the program's 100 % × the program's counts for 100 %
    speed run   = word as the drive reads it / the drive's counts for 100 % × the drive's 100 %

Nothing on the bus notices: each word is a valid one.
"""

from __future__ import annotations

from dataclasses import dataclass

from helpers.drive.scaling import form, signed, unscale, unsigned
from helpers.errors import in_range, one_of

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
