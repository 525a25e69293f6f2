"""The bit rates of PROFIBUS DP, and how people write them. The figures are in `data/bit_rates.csv`."""

from __future__ import annotations

from functools import cache

from helpers.errors import one_of
from helpers.facts import rows
from helpers.quantity import quantity


@cache
def _texts() -> dict[float, str]:
    """What people write for each bit rate in bit/s, slowest first."""
    # 45.45 · 1000 leaves something behind the point.
    return dict(sorted((round(row.number("kbit_s") * 1000), row["text"]) for row in rows("bit_rates")))


@cache
def bit_rates() -> tuple[int, ...]:
    """The bit rates of DP in bit/s, slowest first.

    >>> bit_rates()[0], bit_rates()[2], bit_rates()[-1]
    (9600, 45450, 12000000)
    """
    return tuple(round(bit_rate) for bit_rate in _texts())


def known_bit_rate(bit_rate: float) -> float:
    """The bit rate in bit/s itself; raises `Unknown` with the list unless it is one of DP.

    >>> known_bit_rate(31_250)
    Traceback (most recent call last):
        ...
    helpers.errors.Unknown: bit rate in bit/s is 31250; known are 9600, 19200, 45450,
    93750, 187500, 500000, 1500000, 3000000, 6000000, 12000000.
    """
    one_of("bit rate in bit/s", bit_rate, bit_rates())
    return float(bit_rate)


def bit_rate_text(bit_rate: float) -> str:
    """A bit rate in bit/s as people write it. Raises `Unknown` unless it is one of DP.

    >>> bit_rate_text(1_500_000), bit_rate_text(45_450)
    ('1.5 Mbit/s', '45.45 kbit/s')
    """
    return _texts()[known_bit_rate(bit_rate)]


def any_bit_rate_text(bit_rate: float) -> str:
    """A bit rate in bit/s as people write it, also one that is not of DP.

    >>> any_bit_rate_text(1_500_000), any_bit_rate_text(1_000_000)
    ('1.5 Mbit/s', '1000 kbit/s')
    """
    return _texts().get(bit_rate) or quantity(bit_rate / 1000, "kbit/s")
