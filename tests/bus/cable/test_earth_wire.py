"""Resistance and inductance of a wire to earth."""

from math import hypot, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants, integrate

from helpers.bus.cable.coupling import copper_ohm
from helpers.bus.cable.earth_wire import Flat, Round, impedance_ohm
from helpers.errors import OutOfRange

LENGTHS = st.floats(0.1, 50)
AREAS = st.floats(1, 95)


def neumann(length_m: float, apart_m: float) -> float:
    """Mutual inductance in H of two parallel filaments, by Neumann's double integral, its inner part done by hand."""

    def seen_from(x: float) -> float:
        return float(np.arcsinh((length_m - x) / apart_m) + np.arcsinh(x / apart_m))

    whole, _ = integrate.quad(seen_from, 0, length_m, limit=200)
    return constants.mu_0 / (4 * pi) * whole


@given(LENGTHS, AREAS)
def test_a_round_wire_agrees_with_neumanns_integral(length_m: float, area_mm2: float) -> None:
    """Second method: current on the surface is a filament at the distance of the radius from the middle."""
    wire = Round(length_m, area_mm2)
    # The formula leaves out radius / length.
    assert wire.henry == pytest.approx(neumann(length_m, wire.radius_m), rel=1.5 * wire.radius_m / length_m + 1e-6)


@given(LENGTHS, st.floats(0.005, 0.05), st.floats(0.02, 0.5))
def test_a_flat_braid_agrees_with_the_mean_distance_of_its_own_points(
    length_m: float, width_m: float, flat: float
) -> None:
    """Second method: Neumann's integral at the geometric mean distance, taken over a fine grid of the section."""
    braid = Flat(max(length_m, 6 * width_m), width_m, flat * width_m)
    n = 400
    dx = np.arange(1, n) * width_m / n
    # Mean of ln over all pairs of points of the long side; the thickness is taken in as Grover does, by the sum.
    weights = 2 * (n - np.arange(1, n)) / n**2
    own = (np.log(width_m / n) - 1.5) / n
    mean_distance = float(np.exp((weights * np.log(dx)).sum() + own)) * (1 + flat)
    assert braid.henry == pytest.approx(neumann(braid.length_m, mean_distance), rel=0.06)


def test_a_metre_of_wire_has_about_a_microhenry() -> None:
    # The usual rule of thumb: 1 µH a metre, 0.7 to 1.3 for all usual wires. Common practice, no source.
    for area in (1.5, 4, 16, 95):
        assert 0.7e-6 < Round(1, area).henry < 1.3e-6 * 1.1


def test_width_counts_and_area_hardly() -> None:
    assert Flat(0.3, 0.05, 0.002).henry < Flat(0.3, 0.025, 0.002).henry < Round(0.3, 50).henry
    assert Round(0.3, 4).henry / Round(0.3, 16).henry < 1.3


@given(LENGTHS, AREAS)
def test_half_the_length_is_less_than_half_the_inductance(length_m: float, area_mm2: float) -> None:
    assert Round(length_m / 2, area_mm2).henry < Round(length_m, area_mm2).henry / 2


@given(LENGTHS, AREAS, st.floats(0, 1e8))
def test_the_impedance_lies_between_its_limits(length_m: float, area_mm2: float, frequency_hz: float) -> None:
    wire = Round(length_m, area_mm2)
    resistance, reactance = copper_ohm(length_m=length_m, area_mm2=area_mm2), 2 * pi * frequency_hz * wire.henry
    found = impedance_ohm(wire, frequency_hz)
    assert found == pytest.approx(abs(complex(resistance, reactance)))
    assert max(resistance, reactance) <= found * (1 + 1e-12) <= hypot(resistance, reactance) * (1 + 1e-9)
    assert impedance_ohm(wire, 0) == pytest.approx(resistance)


def test_at_direct_current_only_the_area_counts() -> None:
    # 25 mm × 2 mm are 50 mm²; copper by IEC 60028, from memory: 1/58 Ω·mm²/m.
    assert impedance_ohm(Flat(0.3, 0.025, 0.002), 0) == pytest.approx(0.3 / 58 / 50, rel=1e-4)
    assert impedance_ohm(Round(0.3, 50), 0) == pytest.approx(0.3 / 58 / 50, rel=1e-4)


def test_a_wire_too_short_for_its_thickness_is_refused() -> None:
    radius = Round(1, 100).radius_m
    assert Round(5 * radius * 1.001, 100).henry > 0
    with pytest.raises(OutOfRange, match="five times the radius"):
        Round(5 * radius * 0.999, 100)
    assert Flat(0.126, 0.025, 0.002).henry > 0
    with pytest.raises(OutOfRange, match=r"0\.124 m.*0\.125 m and more, five times the width"):
        Flat(0.124, 0.025, 0.002)


@pytest.mark.parametrize(
    "make",
    [
        lambda: Round(0, 16), lambda: Round(1, 0), lambda: Round(float("nan"), 16), lambda: Flat(1, 0.02, 0.03),
        lambda: Flat(1, 0, 0.001), lambda: Flat(1, 0.02, 0), lambda: Flat(2000, 0.02, 0.002),
        lambda: impedance_ohm(Round(1, 16), -1),
    ],
)  # fmt: skip
def test_numbers_that_cannot_be_are_refused(make) -> None:
    with pytest.raises(OutOfRange, match="allowed is"):
        make()
