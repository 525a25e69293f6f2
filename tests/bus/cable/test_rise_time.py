"""What an oscilloscope adds to an edge."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal

from helpers.bus.cable.rise_time import own_rise_s, shown_rise_s
from helpers.errors import OutOfRange


def rise(t: np.ndarray, v: np.ndarray) -> float:
    """Time from 10 % to 90 % of a rising curve."""
    return float(np.interp(0.9, v, t) - np.interp(0.1, v, t))


@pytest.mark.parametrize("bandwidth_hz", [20e6, 100e6, 300e6])
def test_rise_time_and_bandwidth_of_a_low_pass(bandwidth_hz: float) -> None:
    """Second method: the step response of a first-order low pass, by scipy.signal."""
    tau = 1 / (2 * np.pi * bandwidth_hz)
    t, v = signal.step(([1], [tau, 1]), T=np.linspace(0, 8 * tau, 20_001))
    assert own_rise_s(bandwidth_hz) == pytest.approx(rise(t, v), rel=1e-4)
    # The rule that every handbook of oscilloscopes prints: 0.35 / bandwidth.
    assert own_rise_s(bandwidth_hz) == pytest.approx(0.35 / bandwidth_hz, rel=2e-3)


def test_edges_of_gaussian_form_add_as_squares() -> None:
    """Second method: two Gaussian responses, one after the other."""
    t = np.linspace(-60, 60, 24_001)
    steps = [np.cumsum(np.exp(-((t / s) ** 2) / 2)) for s in (3.0, 4.0)]
    both = np.convolve(np.gradient(steps[0] / steps[0][-1]), np.gradient(steps[1] / steps[1][-1]), mode="same")
    together = np.cumsum(both) / both.sum()
    own, edge = rise(t, steps[0] / steps[0][-1]), rise(t, steps[1] / steps[1][-1])
    bandwidth_hz = 0.349699 / (own * 1e-9)
    assert shown_rise_s(edge * 1e-9, bandwidth_hz) == pytest.approx(rise(t, together) * 1e-9, rel=2e-3)


@given(st.floats(1e-10, 1e-6), st.floats(1e6, 1e10))
def test_the_screen_never_shows_less_than_edge_or_scope(edge_s: float, bandwidth_hz: float) -> None:
    shown = shown_rise_s(edge_s, bandwidth_hz)
    assert max(edge_s, own_rise_s(bandwidth_hz)) <= shown * (1 + 1e-12)
    assert shown <= edge_s + own_rise_s(bandwidth_hz)


def test_an_ideal_step_shows_the_scope_itself() -> None:
    assert shown_rise_s(0, 1e8) == own_rise_s(1e8)


@pytest.mark.parametrize(
    "call", [lambda: own_rise_s(0), lambda: own_rise_s(float("nan")), lambda: shown_rise_s(-1, 1e8)]
)
def test_numbers_that_cannot_be_are_refused(call) -> None:
    with pytest.raises(OutOfRange, match="allowed is"):
        call()
