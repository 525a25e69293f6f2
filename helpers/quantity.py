"""Writes numbers with their units, for panels, pages and the shell alike; `helpers.written` reads them.

Four ways, by what the reader does with the number: `quantity` for a figure that is set, given or compared with a
limit, `fixed` for a meter's display, `about` for a size with its prefix, `time_text` for times.
"""

from __future__ import annotations

from math import floor, isfinite, log10

_PREFIXES = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}
# Time has no kiloseconds. Where a number is below 1, a tenth is plainer than the next unit (0.33 A), but for these.
_LARGEST, _LEAST = {"s": 0}, {"s": 1.0, "F": 1.0, "H": 1.0}
_MINUS = str.maketrans("-", "−")


def quantity(value: float, unit: str, *, decimals: int = 3, signed: bool = False) -> str:
    """A number to three decimals, without zeros behind, and its unit; `signed` for a difference: more, less, the same.

    >>> quantity(0.1 + 0.2, "m"), quantity(1200.0, "m"), quantity(32, ""), quantity(355.839, "m", decimals=1)
    ('0.3 m', '1200 m', '32', '355.8 m')
    """
    return _with_unit(f"{round(value, decimals) + 0.0:.12g}", unit, signed=signed)


def fixed(value: float, unit: str, *, decimals: int = 2) -> str:
    """A number with all its decimals, as a display shows it; nothing below zero that would be shown as zero.

    >>> fixed(1.104, "V"), fixed(-0.001, "V"), fixed(-1.1, "V")
    ('1.10 V', '0.00 V', '−1.10 V')
    """
    return _with_unit(f"{round(value, decimals) + 0.0:.{decimals}f}", unit)


def about(value: float, unit: str, *, digits: int = 2, signed: bool = False) -> str:
    """A number to so many digits, with the prefix of its size.

    >>> about(0.000334, "Ω"), about(17.3, "Ω"), about(0, "A"), about(325, "V"), about(0.999, "A"), about(5e-7, "s")
    ('0.33 mΩ', '17 Ω', '0 A', '320 V', '1 A', '500 ns')
    """
    if not value or not isfinite(value):
        return quantity(value, unit, signed=signed)
    rounded = float(f"{value:.{digits}g}")
    size = log10(abs(rounded))
    lift = -log10(_LEAST.get(unit, 0.1)) if size < 0 else 0.0
    power = 3 * floor((size + lift + 1e-9) / 3)
    power = min(max(power, min(_PREFIXES)), _LARGEST.get(unit, max(_PREFIXES)))
    scaled = float(f"{rounded / 10.0**power:.{digits}g}")
    return _with_unit(f"{scaled:.12g}", f"{_PREFIXES[power]}{unit}", signed=signed)


def time_text(seconds: float, *, signed: bool = False) -> str:
    """A time to four digits.

    >>> time_text(0.000354), time_text(0.0123456), time_text(2.5), time_text(-0.001, signed=True)
    ('354 µs', '12.35 ms', '2.5 s', '−1 ms')
    """
    return about(seconds, "s", digits=4, signed=signed)


def percent(share: float, *, decimals: int = 0, signed: bool = False) -> str:
    """A share in percent, without zeros behind.

    >>> percent(0.1249), percent(0.1249, decimals=1), percent(-0.001), percent(0, signed=True)
    ('12 %', '12.5 %', '0 %', '±0 %')
    """
    return quantity(100 * share, "%", decimals=decimals, signed=signed)


def _with_unit(digits: str, unit: str, *, signed: bool = False) -> str:
    sign = "" if not signed or digits.startswith("-") else "±" if digits == "0" else "+"
    return f"{sign}{digits.translate(_MINUS)} {unit}".strip()
