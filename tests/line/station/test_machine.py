"""Motor and load against textbook values and closed solutions of the same equations."""

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers import facts
from helpers.drive.machines import fan, synchronous_speed
from helpers.line.station.machine import Machine, Plate, plate, plates

STEP_S = 0.01
NO_LIMIT = 10.0
BARE = Plate("bare", 4, 50, 1450, 2.5, 0.4, 1.0, 0.0, 0.0, 0.0, False, "")


def run(machine, frequency_hz, seconds, limit=NO_LIMIT, step_s=STEP_S):
    for _ in range(round(seconds / step_s)):
        machine.advance(step_s, frequency_hz, limit)
    return machine


@pytest.mark.parametrize(
    ("poles", "frequency_hz", "rpm"),
    # Textbook: n = 60 · f / p, p pairs of poles
    [(4, 50, 1500), (2, 50, 3000), (6, 50, 1000), (4, 60, 1800), (4, 25, 750), (4, -50, -1500)],
)
def test_without_load_the_motor_turns_with_its_field(poles, frequency_hz, rpm):
    rated = synchronous_speed(50, poles=poles) * 0.96
    machine = run(Machine(replace(BARE, poles=poles, rated_rpm=rated)), frequency_hz, 10)
    assert machine.speed_rpm == pytest.approx(rpm, abs=0.1)
    assert machine.torque == pytest.approx(0, abs=1e-3)
    assert machine.current_percent == pytest.approx(40, abs=0.1)


def test_rated_load_gives_the_nameplate():
    """Chapman, Electric Machinery Fundamentals, first example on induction motors (from memory): four poles, 60 Hz,
    5 % slip at full load: 1800 rpm and 1710 rpm. At rated torque the current is the rated one.
    """
    motor = Plate("example", 4, 60, 1710, 2.5, 0.4, 1.0, 1.0, 0.0, 0.0, False, "")
    machine = run(Machine(motor), 60, 10)
    assert motor.slip_rpm == 90
    assert machine.speed_rpm == pytest.approx(1710, abs=0.1)
    assert machine.torque == pytest.approx(1, abs=0.002)
    assert machine.current_percent == pytest.approx(100, abs=0.2)


def test_slip_is_proportional_to_torque():
    slips = [1500 - run(Machine(replace(BARE, constant=load)), 50, 10).speed_rpm for load in (0.25, 0.5, 1.0, 2.0)]
    assert slips == pytest.approx([12.5, 25, 50, 100], abs=0.1)


def test_beyond_the_breakdown_torque_the_motor_stalls():
    held, pulled = (Machine(replace(BARE, constant=load)) for load in (2.4, 2.6))
    assert run(held, 50, 30).speed_rpm > 1300
    assert run(pulled, 50, 30).speed_rpm == 0
    assert pulled.torque == 2.5


def test_a_fan_follows_the_similarity_laws():
    """Torque goes with the square of the speed as pressure does (`machines.fan`); friction is left out here."""
    motor = replace(plate("Dryer fan"), constant=0.0)
    full, half = run(Machine(motor), 50, 60), run(Machine(motor), 25, 60)
    share = half.speed_rpm / full.speed_rpm
    assert half.torque / full.torque == pytest.approx(fan(share).pressure, rel=0.01)


def test_the_speed_lags_with_one_time_constant():
    """dn/dt = n_r / t · (n0 − n) / slip: after t · slip / n_r the first 63.2 % are done (textbook, first order)."""
    constant_s = BARE.start_s * BARE.slip_rpm / BARE.rated_rpm
    machine = run(Machine(BARE), 1, 20 * constant_s, step_s=constant_s / 10)
    before = machine.speed_rpm
    run(machine, 2, constant_s, step_s=constant_s / 10)
    assert (machine.speed_rpm - before) / (60 - before) == pytest.approx(1 - math.exp(-1), abs=0.01)


def test_run_up_at_the_torque_limit_takes_what_the_inertia_asks():
    """T = t_start · n / n_rated / (T − T_load): the motor lags behind a frequency given at once."""
    machine = Machine(replace(BARE, start_s=4.0, constant=0.5))
    seconds = 0
    while machine.speed_rpm < 1450 * 0.9:
        run(machine, 50, 0.1, limit=1.5)
        seconds += 0.1
    assert seconds == pytest.approx(4.0 * 0.9 / (1.5 - 0.5), abs=0.11)


def coast_s(machine):
    steps = 0
    while machine.speed_rpm > 0:
        machine.advance(STEP_S, None, NO_LIMIT)
        steps += 1
    return steps * STEP_S


def test_coasting_against_constant_friction():
    """Straight down: t = t_start · n / n_rated / T_friction."""
    machine = run(Machine(replace(BARE, constant=0.4)), 50, 5)
    expected = machine.speed_rpm / 1450 / 0.4
    assert coast_s(machine) == pytest.approx(expected, abs=2 * STEP_S)


def test_coasting_of_a_fan():
    """dn/dt = −(c + q n²) / t has the solution t / √(c q) · atan(n √(q / c))."""
    motor = plate("Dryer fan")
    machine = run(Machine(motor), 50, 40)
    c, q = motor.constant, motor.quadratic
    share = machine.speed_rpm / motor.rated_rpm
    expected = motor.start_s / math.sqrt(c * q) * math.atan(share * math.sqrt(q / c))
    assert coast_s(machine) == pytest.approx(expected, rel=0.01)


def test_the_elevator_hangs_back():
    """Its torque does not go away at standstill; the backstop holds what would run back."""
    elevator = plate("Bucket elevator")
    free = replace(elevator, backstop=False)
    expected = -(elevator.hang_back - elevator.constant) * elevator.rated_rpm / elevator.start_s  # after 1 s
    assert run(Machine(free), None, 1).speed_rpm == pytest.approx(expected)
    assert run(Machine(elevator), None, 1).speed_rpm == 0
    assert run(Machine(elevator), -20, 5, limit=1.5).speed_rpm == 0
    conveyor = replace(elevator, hang_back=0.0, constant=elevator.constant + elevator.hang_back)
    assert coast_s(run(Machine(elevator), 50, 5)) == pytest.approx(coast_s(run(Machine(conveyor), 50, 5)), abs=0.02)


def test_friction_holds_a_shaft_until_the_torque_is_greater():
    """Torque at standstill is n0 / slip: 0.5 Hz give 15 / 50 = 0.3 of the rated torque."""
    assert run(Machine(replace(BARE, constant=0.31)), 0.5, 5).speed_rpm == 0
    assert run(Machine(replace(BARE, constant=0.29)), 0.5, 5).speed_rpm > 0


def test_blocked_and_uncoupled():
    machine = run(Machine(plate("Discharge screw")), 50, 5)
    loaded = machine.speed_rpm
    machine.uncoupled = True
    assert run(machine, 50, 5).speed_rpm > loaded
    machine.blocked = True
    run(machine, 50, 1, limit=1.5)
    assert machine.speed_rpm == 0
    assert machine.torque == 1.5
    assert machine.current_percent > 130


def test_nothing_is_worked_out_while_nothing_changes():
    machine = run(Machine(plate("Intake conveyor")), None, 0.1)
    assert not machine.advance(STEP_S, None, NO_LIMIT)
    run(machine, 50, 10)
    assert not machine.advance(STEP_S, 50, NO_LIMIT)
    assert machine.advance(STEP_S, 49, NO_LIMIT)


@pytest.mark.parametrize("row", facts.rows("demo/motors"), ids=lambda row: row["machine"])
def test_every_motor_of_the_scenario_turns_its_load(row):
    motor = plate(row["machine"])
    field = synchronous_speed(motor.rated_hz, poles=motor.poles)
    assert 0 < motor.slip_rpm < 0.1 * field
    machine = run(Machine(motor), motor.rated_hz, 30, limit=1.5)
    assert motor.rated_rpm < machine.speed_rpm < field
    assert motor.no_load_current * 100 < machine.current_percent < 100


def test_every_machine_of_the_scenario_has_a_motor():
    assert {row["machine"] for row in facts.rows("demo/machines")} <= {motor.machine for _, motor in plates()}
    drives = [row for row in facts.rows("demo/motors") if row["station_words"]]
    assert len({row["station_words"] for row in drives}) == len(drives)


@settings(max_examples=50, deadline=None)
@given(
    station=st.sampled_from([motor.machine for _, motor in plates()]),
    fed=st.lists(st.one_of(st.none(), st.floats(-100, 100)), min_size=1, max_size=30),
    limit=st.floats(0, 3),
    step_s=st.sampled_from([0.001, 0.01, 0.1]),
)
def test_speed_torque_and_current_stay_within_physics(station, fed, limit, step_s):
    machine = Machine(plate(station))
    most = synchronous_speed(100, poles=machine.plate.poles)
    for frequency_hz in fed:
        machine.advance(step_s, frequency_hz, limit)
        assert abs(machine.speed_rpm) <= most
        assert abs(machine.torque) <= min(limit, machine.plate.breakdown)
        assert 0 <= machine.current_percent < 300
        assert machine.speed_rpm >= 0 or not machine.plate.backstop
        if frequency_hz is None:
            assert machine.torque == machine.current_percent == 0


@given(frequency_hz=st.floats(1, 60), step_s=st.sampled_from([0.002, 0.01, 0.05]))
@settings(max_examples=20, deadline=None)
def test_forwards_and_backwards_are_alike_without_a_backstop(frequency_hz, step_s):
    there, back = (run(Machine(plate("Discharge screw")), sign * frequency_hz, 1, step_s=step_s) for sign in (1, -1))
    assert there.speed_rpm == pytest.approx(-back.speed_rpm)
    assert there.current_percent == pytest.approx(back.current_percent)
