"""Earth current in the shield, and coupling of a parallel run."""

from math import inf, nan, pi

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants, integrate
from skrf.data import materials

from helpers.bus.cable.coupling import compensating_current, copper_ohm, coupling, shield_ohm
from helpers.errors import OutOfRange, Unknown
from helpers.facts import one

OHMS = st.floats(1e-3, 1e3)
VOLTS = st.floats(0, 100)


def test_the_constants_agree_with_a_general_reference() -> None:
    # CODATA as in scipy.constants; copper as in scikit-rf (pure copper, a little below the annealed standard).
    assert one("conductors", quantity="magnetic constant").number("value") == pytest.approx(constants.mu_0, rel=1e-8)
    assert one("conductors", quantity="speed of light").number("value") == constants.c
    copper = one("conductors", quantity="copper resistivity").number("value")
    assert copper == pytest.approx(materials["copper"]["resistivity(ohm*m)"], rel=0.03)
    # IEC 60028, from memory: 1/58 Ω·mm²/m.
    assert copper == pytest.approx(1e-6 / 58, rel=1e-4)


def test_copper_lies_below_the_highest_resistance_of_a_16_mm2_conductor() -> None:
    # IEC 60228, class 2, from memory: at most 1.15 Ω/km at 20 °C for 16 mm².
    ohm_per_km = copper_ohm(length_m=1000, area_mm2=16)
    assert 1.0 < ohm_per_km < 1.15


def test_resistance_grows_with_length_and_falls_with_area() -> None:
    assert copper_ohm(length_m=200, area_mm2=16) == pytest.approx(2 * copper_ohm(length_m=100, area_mm2=16))
    assert copper_ohm(length_m=100, area_mm2=8) == pytest.approx(2 * copper_ohm(length_m=100, area_mm2=16))
    assert copper_ohm(length_m=0, area_mm2=1) == 0
    assert shield_ohm(length_m=400) == pytest.approx(4 * shield_ohm(length_m=100))


def test_a_bond_of_equal_resistance_takes_half() -> None:
    current = compensating_current(open_v=1, source_ohm=0.5, shield_ohm=1, bond_ohm=1)
    # By hand: 1 Ω beside 1 Ω are 0.5 Ω, with 0.5 Ω of source 1 A in all.
    assert current.total_a == pytest.approx(1)
    assert current.shield_a == pytest.approx(0.5)
    assert current.voltage_v == pytest.approx(0.5)


def test_without_bond_the_shield_carries_it_all() -> None:
    current = compensating_current(open_v=2, source_ohm=1, shield_ohm=3)
    assert (current.shield_a, current.bond_a) == (0.5, 0)


def test_a_shield_open_at_one_end_carries_nothing() -> None:
    current = compensating_current(open_v=2, source_ohm=1, shield_ohm=inf)
    assert (current.total_a, current.voltage_v) == (0, 2)
    assert compensating_current(open_v=2, source_ohm=inf, shield_ohm=1).total_a == 0


@given(VOLTS, OHMS, OHMS, OHMS)
def test_the_divider_agrees_with_nodal_analysis(open_v: float, source: float, shield: float, bond: float) -> None:
    """Second method: Kirchhoff's equations of source, shield and bond, solved as a matrix."""
    current = compensating_current(open_v=open_v, source_ohm=source, shield_ohm=shield, bond_ohm=bond)
    equations = [[1, -1, -1], [source, shield, 0], [0, shield, -bond]]
    total, through_shield, through_bond = np.linalg.solve(equations, [0, open_v, 0])
    assert current.total_a == pytest.approx(total, rel=1e-6, abs=1e-9)
    assert current.shield_a == pytest.approx(through_shield, rel=1e-6, abs=1e-9)
    assert current.bond_a == pytest.approx(through_bond, rel=1e-6, abs=1e-9)


@given(VOLTS, OHMS, OHMS, OHMS, st.floats(0.1, 1))
def test_a_better_bond_never_loads_the_shield_more(
    open_v: float, source: float, shield: float, bond: float, part: float
) -> None:
    worse = compensating_current(open_v=open_v, source_ohm=source, shield_ohm=shield, bond_ohm=bond)
    better = compensating_current(open_v=open_v, source_ohm=source, shield_ohm=shield, bond_ohm=bond * part)
    assert better.shield_a <= worse.shield_a * (1 + 1e-12)


DISTANCES = st.floats(0.02, 2)
HEIGHTS = st.floats(0.01, 1)


def per_metre(distance_m: float, height_m: float, radius_m: float = 0.004) -> tuple[float, float]:
    found = coupling(parallel_m=1, distance_m=distance_m, height_m=height_m, radius_m=radius_m)
    return found.mutual_h, found.mutual_f


@given(DISTANCES, HEIGHTS)
def test_mutual_inductance_agrees_with_the_flux_through_the_loop(distance_m: float, height_m: float) -> None:
    """Second method: field of the wire and of its image, integrated from the plane up to the other wire."""

    def field_across(z: float) -> float:
        above, below = z - height_m, z + height_m
        wire = above / (distance_m**2 + above**2)
        image = below / (distance_m**2 + below**2)
        return constants.mu_0 / (2 * pi) * (image - wire)

    flux, _ = integrate.quad(field_across, 0, height_m)
    assert per_metre(distance_m, height_m)[0] == pytest.approx(flux, rel=1e-6)


@given(DISTANCES, HEIGHTS)
def test_mutual_capacitance_agrees_with_the_potential_coefficients(distance_m: float, height_m: float) -> None:
    """Second method: charges of two wires and their images, the potential matrix inverted."""
    radius_m = 0.004
    own = np.log(2 * height_m / radius_m)
    between = np.log(np.hypot(distance_m, 2 * height_m) / distance_m)
    capacitance = np.linalg.inv(np.array([[own, between], [between, own]]) / (2 * pi * constants.epsilon_0))
    assert per_metre(distance_m, height_m, radius_m)[1] == pytest.approx(-capacitance[0, 1], rel=1e-6)


def test_far_away_the_coupling_falls_with_the_square_of_the_distance() -> None:
    near, far = per_metre(10, 0.05), per_metre(20, 0.05)
    assert near[0] / far[0] == pytest.approx(4, rel=1e-3)
    assert near[1] / far[1] == pytest.approx(4, rel=1e-3)


@given(DISTANCES, HEIGHTS, st.floats(1, 3))
def test_more_distance_couples_less(distance_m: float, height_m: float, factor: float) -> None:
    near, far = per_metre(distance_m, height_m), per_metre(distance_m * factor, height_m)
    assert far[0] <= near[0]
    assert far[1] <= near[1]


@given(DISTANCES, HEIGHTS, st.floats(0, 100))
def test_coupling_is_in_proportion_to_length_and_slope(distance_m: float, height_m: float, parallel_m: float) -> None:
    found = coupling(
        parallel_m=parallel_m,
        distance_m=distance_m,
        height_m=height_m,
        radius_m=0.004,
        current_slope_a_s=2e7,
        voltage_slope_v_s=5e9,
    )
    mutual_h, mutual_f = per_metre(distance_m, height_m)
    assert found.mutual_h == pytest.approx(mutual_h * parallel_m)
    assert found.voltage_v == pytest.approx(mutual_h * parallel_m * 2e7)
    assert found.current_a == pytest.approx(mutual_f * parallel_m * 5e9)


@given(st.floats(1e-6, 1), st.floats(1, 1e3), st.floats(1, 1e3))
def test_every_pair_of_wires_that_do_not_overlap_gives_a_positive_finite_figure(
    radius_m: float, apart: float, high: float
) -> None:
    mutual_h, mutual_f = per_metre(2 * radius_m * apart, min(radius_m * high, 1e3), radius_m)
    assert 0 < mutual_h < inf
    assert 0 < mutual_f < inf


@pytest.mark.parametrize(
    "call",
    [
        lambda: copper_ohm(length_m=-1, area_mm2=16),
        lambda: copper_ohm(length_m=1, area_mm2=0),
        lambda: shield_ohm(length_m=nan),
        lambda: compensating_current(open_v=-1, source_ohm=1, shield_ohm=1),
        lambda: compensating_current(open_v=1, source_ohm=1, shield_ohm=0),
        lambda: compensating_current(open_v=1, source_ohm=1, shield_ohm=1, bond_ohm=0),
        lambda: compensating_current(open_v=1, source_ohm=-1, shield_ohm=1),
        lambda: per_metre(0.0079, 0.1),
        lambda: per_metre(0.1, 0.0039),
        lambda: coupling(parallel_m=nan, distance_m=0.1, height_m=0.1, radius_m=0.004),
    ],
)
def test_numbers_that_cannot_be_are_refused(call) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(OutOfRange, match="allowed is"):
        call()


def test_an_unknown_cable_has_no_shield() -> None:
    with pytest.raises(Unknown, match="known are"):
        shield_ohm(length_m=1, cable="C")
