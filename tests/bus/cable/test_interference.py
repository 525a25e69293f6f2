"""Typical disturbers, and what they bring into a bus cable."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import constants

from helpers.bus.cable.coupling import coupling
from helpers.bus.cable.interference import Disturber, coupled, disturbers
from helpers.errors import OutOfRange

EDGE = Disturber("edge", 1, 200, 0.2e-6, "", "")


def test_the_mains_rises_as_a_sine_of_50_hz_does() -> None:
    # A sine of peak Û is steepest at its zero: 2·π·f·Û. Peak of 230 V: 325 V.
    mains = disturbers()["mains, 50 Hz"]
    assert mains.voltage_v == pytest.approx(230 * 2**0.5, rel=2e-3)
    assert mains.voltage_v / mains.edge_s == pytest.approx(2 * constants.pi * 50 * 325, rel=1e-3)


def test_an_edge_that_has_passed_adds_nothing() -> None:
    # There and back at the speed of light within 0.2 µs: 30 m.
    assert EDGE.reach_m == pytest.approx(constants.c * 0.1e-6)
    at = {length: coupled(EDGE, parallel_m=length, distance_m=0.1, height_m=0.05) for length in (10, 20, 29.9, 30, 300)}
    assert at[20].voltage_v == pytest.approx(2 * at[10].voltage_v)
    assert at[29.9].voltage_v < at[30].voltage_v == at[300].voltage_v


def test_it_is_the_coupling_of_its_slopes() -> None:
    direct = coupling(parallel_m=12, distance_m=0.2, height_m=0.1, radius_m=0.004, current_slope_a_s=5e6,
                      voltage_slope_v_s=1e9)  # fmt: skip
    found = coupled(EDGE, parallel_m=12, distance_m=0.2, height_m=0.1)
    assert (found.voltage_v, found.current_a) == pytest.approx((direct.voltage_v, direct.current_a))


@given(st.floats(1, 100), st.floats(0.02, 1), st.floats(0.02, 0.5), st.floats(1.05, 4))
def test_farther_and_slower_is_less(length_m: float, distance_m: float, height_m: float, factor: float) -> None:
    def volts(disturber: Disturber, distance: float) -> float:
        return coupled(disturber, parallel_m=length_m, distance_m=distance, height_m=height_m).voltage_v

    assert volts(EDGE, factor * distance_m) < volts(EDGE, distance_m)
    assert volts(replace(EDGE, current_a=1 / factor), distance_m) < volts(EDGE, distance_m)
    # A slower edge couples less as long as the run is within reach of both.
    if length_m < EDGE.reach_m:
        assert volts(replace(EDGE, edge_s=factor * EDGE.edge_s), distance_m) < volts(EDGE, distance_m)


def test_a_drive_disturbs_more_than_the_mains_and_a_shield_helps() -> None:
    volts = {
        name: coupled(d, parallel_m=20, distance_m=0.1, height_m=0.05).voltage_v for name, d in disturbers().items()
    }
    assert volts["motor, no shield"] > 10 * volts["motor, shielded"] > 100 * volts["mains, 50 Hz"]


def test_cables_in_one_another_are_refused() -> None:
    with pytest.raises(OutOfRange, match=r"distance is 0\.007 m; allowed is 0\.008"):
        coupled(EDGE, parallel_m=12, distance_m=0.007, height_m=0.1)


def test_one_core_of_three_moves_the_mean_by_a_third() -> None:
    # 400 V mains, rectified: 400·√2 = 566 V; seen from outside, three equal cores are one wire at their mean voltage.
    assert disturbers()["motor, no shield"].voltage_v == pytest.approx(400 * 2**0.5 / 3, rel=0.02)
    assert "the mean of the three" in disturbers()["motor, no shield"].about
