"""One motor speed in all units of a machine, checked against mechanics done by hand."""

import contextlib
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers import facts
from helpers.drive.machines import (
    MOTOR,
    FanPoint,
    Machine,
    fan,
    frequency,
    line_speed,
    machine,
    machines,
    measured,
    motor_speed,
    reference_speed,
    setpoint,
    speed_in,
    synchronous_speed,
    travel,
    value_or_word,
)
from helpers.errors import OutOfRange, Unknown, Unreadable, WorkbookError


def test_a_drum_moves_its_circumference_once_per_turn():
    # 60 turns a minute of a drum whose circumference is 1 m: 1 m/s, whatever stands between motor and drum.
    for ratio in (1, 10, 25):
        drum = Machine("drum", "drum", ratio, 1 / math.pi)
        assert speed_in("m/s", drum, motor_rpm=60 * ratio, poles=4) == pytest.approx(1.0)
        screw = Machine("screw", "screw", ratio, 1.0)
        assert speed_in("m/s", screw, motor_rpm=60 * ratio, poles=4) == pytest.approx(1.0)


def test_a_fan_gives_its_full_flow_at_its_full_speed_and_half_at_half():
    # Flow rises with speed: the similarity laws of fans.
    for blower in (m for m in machines() if m.kind == "fan"):
        assert speed_in("m³/h", blower, motor_rpm=blower.full_rpm, poles=4) == blower.full_flow_m3_h
        assert speed_in("m³/h", blower, motor_rpm=blower.full_rpm / 2, poles=4) == blower.full_flow_m3_h / 2
        with pytest.raises(OutOfRange, match="forwards"):
            speed_in("m³/h", blower, motor_rpm=-1, poles=4)


@pytest.mark.parametrize(("poles", "rpm"), [(2, 3000), (4, 1500), (6, 1000), (8, 750)])
def test_the_field_of_50_hz(poles, rpm):
    # 120 · f / poles: Mitsubishi 700 series manual p.250.
    assert reference_speed("50 Hz", poles=poles) == rpm == reference_speed(f"{rpm} rpm", poles=poles)
    assert speed_in("Hz", MOTOR, motor_rpm=rpm, poles=poles) == 50


@given(st.floats(-5000, 5000), st.sampled_from([m for m in machines() if m.kind != "fan"]))
@settings(max_examples=30)
def test_every_unit_rises_in_step_with_the_motor(rpm, at):
    for unit in at.units:
        one = speed_in(unit, at, motor_rpm=1.0, poles=4)
        assert speed_in(unit, at, motor_rpm=rpm, poles=4) == pytest.approx(rpm * one)


def test_what_people_type():
    assert measured("−25 %") == (-25.0, "%") and measured("48 m/min") == (0.8, "m/s")
    assert measured("9000 m3/h") == (9000.0, "m³/h") and measured("-16384 counts") == (-16384.0, "counts")
    assert value_or_word("2666h") == value_or_word("0x2666") == value_or_word("16#2666") == 0x2666
    assert machine(" dryer FAN ").name == "Dryer fan" and machine("motor alone") is MOTOR


@pytest.mark.parametrize("typed", ["", "60", "16384", "m/s", "1.2.3 rpm", "1,5,5 %", "fast", "3 furlongs", "x" * 99])
def test_what_could_mean_two_things_is_refused(typed):
    with pytest.raises(Unreadable):
        value_or_word(typed)


@given(st.text(max_size=12))
@settings(max_examples=50)
def test_any_text_gives_an_answer_or_the_projects_own_error(typed):
    for read in (measured, value_or_word, lambda t: reference_speed(t, poles=4), machine):
        with contextlib.suppress(WorkbookError):
            read(typed)


def test_a_unit_that_the_machine_has_not_is_named():
    with pytest.raises(Unknown, match="rpm, Hz, m/s"):
        speed_in("m³/h", machine("Intake conveyor"), motor_rpm=1000, poles=4)
    with pytest.raises(Unknown, match="Bucket elevator"):
        machine("crane")
    with pytest.raises(Unknown, match="100 %"):
        reference_speed("3 m/s", poles=4)
    with pytest.raises(OutOfRange, match="1 to 100000 rpm"):
        reference_speed("0 Hz", poles=4)


def test_a_setpoint_in_any_unit_gives_the_same_word():
    conveyor = machine("Intake conveyor")
    found = setpoint((900.0, "rpm"), conveyor, full_rpm=1500, poles=4)
    assert found.scaled.word == 0x2666  # 60 % of 16#4000, rounded
    for unit, value in setpoint((60.0, "%"), conveyor, full_rpm=1500, poles=4).references.items():
        assert setpoint((value * 0.6, unit), conveyor, full_rpm=1500, poles=4).scaled.word == 0x2666
    assert setpoint((9830.0, "counts"), conveyor, full_rpm=1500, poles=4).scaled.word == 0x2666
    back = setpoint(0x2666, conveyor, full_rpm=1500, poles=4)
    assert back.unit == "m/s" and back.values["rpm"] == pytest.approx(900, abs=0.1)


def test_a_fan_that_turns_backwards_has_no_flow():
    fan = machine("Dryer fan")
    assert "m³/h" not in setpoint(0xE000, fan, full_rpm=1500, poles=4).values
    assert "m³/h" not in setpoint((-10.0, "%"), fan, full_rpm=1500, poles=4).values
    assert setpoint(0x2000, fan, full_rpm=1480, poles=4).values["m³/h"] == 12000
    with pytest.raises(OutOfRange, match="flow is -5 m³/h"):
        setpoint((-5.0, "m³/h"), fan, full_rpm=1500, poles=4)
    with pytest.raises(Unknown, match="rpm, Hz, m³/h, %, counts"):
        setpoint((1.0, "m/s"), fan, full_rpm=1500, poles=4)


def test_a_drum_of_one_metre_circumference():
    drum = travel("drum", size_m=1 / math.pi, gear_ratio=1)
    assert line_speed(60, drum) == pytest.approx(1.0)
    screw = travel("screw", size_m=1.0, gear_ratio=10)
    assert line_speed(600, screw) == pytest.approx(1.0)


@given(st.floats(-3000, 3000), st.floats(0.01, 2), st.floats(1, 200), st.sampled_from(["drum", "screw"]))
def test_there_and_back(rpm, size, ratio, kind):
    machine = travel(kind, size_m=size, gear_ratio=ratio)
    speed = line_speed(rpm, machine)
    assert motor_speed(speed, machine) == pytest.approx(rpm, abs=1e-9)
    assert math.copysign(1, speed) == math.copysign(1, rpm)


def test_a_drum_by_its_angular_speed():
    # second way: v = omega · r
    machine = travel("drum", size_m=0.4, gear_ratio=25)
    omega = 2 * math.pi * 1450 / 60 / 25
    assert line_speed(1450, machine) == pytest.approx(omega * 0.2)


@pytest.mark.parametrize(("poles", "rpm"), [(2, 3000), (4, 1500), (6, 1000), (8, 750)])
def test_synchronous_speeds_at_50_hz(poles, rpm):
    # n = 120 f / poles, Mitsubishi 700 series manual p.250
    assert synchronous_speed(50, poles=poles) == rpm
    assert frequency(rpm, poles=poles) == 50


def test_fan_laws():
    assert fan(0) == FanPoint(0, 0, 0)
    assert fan(1) == FanPoint(1, 1, 1)
    assert fan(0.8).power == pytest.approx(0.512)
    point = fan(0.7)
    assert point.power == pytest.approx(point.flow * point.pressure)  # power is flow times pressure


def test_machines_of_the_demo_site_are_plausible():
    for row in facts.rows("demo/machines"):
        if row["kind"] == "fan":
            assert row.number("full_flow_m3_h") > 0
        else:
            machine = travel(row["kind"], size_m=row.number("size_m"), gear_ratio=row.number("gear_ratio"))
            assert 0.1 < line_speed(1450, machine) < 3


def test_refused():
    with pytest.raises(Unknown, match="drum, screw"):
        travel("chain", size_m=1, gear_ratio=1)
    with pytest.raises(OutOfRange, match="diameter is 0"):
        travel("drum", size_m=0, gear_ratio=1)
    with pytest.raises(OutOfRange, match="pitch is 0"):
        travel("screw", size_m=0, gear_ratio=1)
    with pytest.raises(OutOfRange, match="gear ratio"):
        travel("drum", size_m=1, gear_ratio=0)
    with pytest.raises(Unknown, match="poles"):
        synchronous_speed(50, poles=3)
    with pytest.raises(Unknown):
        frequency(1500, poles=0)
    with pytest.raises(OutOfRange):
        fan(-0.1)


def test_a_word_for_a_fan_that_turns_backwards_is_read_in_rpm_and_one_forwards_in_its_flow():
    fan = machine("Dryer fan")
    assert setpoint(0xE000, fan, full_rpm=1500, poles=4).unit == "rpm"
    assert setpoint(0xE000, fan, full_rpm=1500, poles=4).scaled.value == -750  # -50 % of 16#4000
    assert setpoint(0x2000, fan, full_rpm=1500, poles=4).unit == "m³/h"
    assert setpoint(0xE000, machine("Intake conveyor"), full_rpm=1500, poles=4).unit == "m/s"
