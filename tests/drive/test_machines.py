"""One motor speed in all units of a machine, checked against mechanics done by hand."""

import contextlib
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.drive.machines import (
    MOTOR,
    Machine,
    machine,
    machines,
    measured,
    reference_speed,
    setpoint,
    speed_in,
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
    for fan in (m for m in machines() if m.kind == "fan"):
        assert speed_in("m³/h", fan, motor_rpm=fan.full_rpm, poles=4) == fan.full_flow_m3_h
        assert speed_in("m³/h", fan, motor_rpm=fan.full_rpm / 2, poles=4) == fan.full_flow_m3_h / 2
        with pytest.raises(OutOfRange, match="forwards"):
            speed_in("m³/h", fan, motor_rpm=-1, poles=4)


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
