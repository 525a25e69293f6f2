"""Gearbox, drum, screw and fan: limits, symmetry and a second way of calculating."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.drive import mechanics
from helpers.errors import OutOfRange, Unknown


def test_a_drum_of_one_metre_circumference():
    drum = mechanics.travel("drum", size_m=1 / math.pi, gear_ratio=1)
    assert mechanics.line_speed(60, drum) == pytest.approx(1.0)
    screw = mechanics.travel("screw", size_m=1.0, gear_ratio=10)
    assert mechanics.line_speed(600, screw) == pytest.approx(1.0)


@given(st.floats(-3000, 3000), st.floats(0.01, 2), st.floats(1, 200), st.sampled_from(mechanics.KINDS))
def test_there_and_back(rpm, size, ratio, kind):
    machine = mechanics.travel(kind, size_m=size, gear_ratio=ratio)
    speed = mechanics.line_speed(rpm, machine)
    assert mechanics.motor_speed(speed, machine) == pytest.approx(rpm, abs=1e-9)
    assert math.copysign(1, speed) == math.copysign(1, rpm)


def test_a_drum_by_its_angular_speed():
    # second way: v = omega · r
    machine = mechanics.travel("drum", size_m=0.4, gear_ratio=25)
    omega = 2 * math.pi * 1450 / 60 / 25
    assert mechanics.line_speed(1450, machine) == pytest.approx(omega * 0.2)


@pytest.mark.parametrize(("poles", "rpm"), [(2, 3000), (4, 1500), (6, 1000), (8, 750)])
def test_synchronous_speeds_at_50_hz(poles, rpm):
    # n = 120 f / poles, Mitsubishi 700 series manual p.250
    assert mechanics.synchronous_speed(50, poles=poles) == rpm
    assert mechanics.frequency(rpm, poles=poles) == 50


def test_fan_laws():
    assert mechanics.fan(0) == mechanics.FanPoint(0, 0, 0)
    assert mechanics.fan(1) == mechanics.FanPoint(1, 1, 1)
    assert mechanics.fan(0.8).power == pytest.approx(0.512)
    point = mechanics.fan(0.7)
    assert point.power == pytest.approx(point.flow * point.pressure)  # power is flow times pressure


def test_machines_of_the_demo_site_are_plausible():
    for row in facts.rows("demo/machines"):
        if row["kind"] == "fan":
            assert row.number("full_flow_m3_h") > 0
        else:
            machine = mechanics.travel(row["kind"], size_m=row.number("size_m"), gear_ratio=row.number("gear_ratio"))
            assert 0.1 < mechanics.line_speed(1450, machine) < 3


def test_refused():
    with pytest.raises(Unknown, match="drum, screw"):
        mechanics.travel("chain", size_m=1, gear_ratio=1)
    with pytest.raises(OutOfRange, match="diameter is 0"):
        mechanics.travel("drum", size_m=0, gear_ratio=1)
    with pytest.raises(OutOfRange, match="pitch is 0"):
        mechanics.travel("screw", size_m=0, gear_ratio=1)
    with pytest.raises(OutOfRange, match="gear ratio"):
        mechanics.travel("drum", size_m=1, gear_ratio=0)
    with pytest.raises(Unknown, match="poles"):
        mechanics.synchronous_speed(50, poles=3)
    with pytest.raises(Unknown):
        mechanics.frequency(1500, poles=0)
    with pytest.raises(OutOfRange):
        mechanics.fan(-0.1)
