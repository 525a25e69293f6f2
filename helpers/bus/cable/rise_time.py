"""What an oscilloscope's bandwidth does to an edge."""

from __future__ import annotations

from math import hypot, log, pi

from helpers.errors import in_range

_TAKEN = "values the workbook takes"


def own_rise_s(bandwidth_hz: float) -> float:
    """Rise time in s (10 % to 90 %) of an oscilloscope of this bandwidth in Hz: ln 9 / (2π · bandwidth).

    The well-known 0.35 / bandwidth. Validity: a first-order response; a scope with a sharper one has up to
    0.45 / bandwidth. Source: step response of a first-order low pass, any textbook of electronics.

    >>> round(own_rise_s(100e6) * 1e9, 1)
    3.5
    """
    in_range("bandwidth", bandwidth_hz, 1e3, 1e12, "Hz", _TAKEN)
    return log(9) / (2 * pi * bandwidth_hz)


def shown_rise_s(rise_s: float, bandwidth_hz: float) -> float:
    """Rise time in s that the screen shows for an edge that rises in rise_s: √(edge² + own²).

    Validity: an estimate, exact for edges and responses of Gaussian form.

    >>> round(shown_rise_s(8e-9, 100e6) * 1e9, 1)
    8.7
    """
    in_range("rise time", rise_s, 0, 1, "s", _TAKEN)
    return hypot(rise_s, own_rise_s(bandwidth_hz))
