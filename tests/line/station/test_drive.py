"""The drive behind its slave: states, ramp, words, loss of the bus, faults, parameters.

Times are those of the drive's own parameters; the behaviour on control words is that of `helpers.drive.states`, which
is tested against the manuals. What is compared here is that the parts, put together and given time, still do it.
"""

import pytest
from driven import ACKNOWLEDGE, OFF2, OFF3, READY, RUN, STEP_S, make, running, seconds_until, send, wait, word
from hypothesis import example, given, settings
from hypothesis import strategies as st

from helpers.device.formats import all_formats, by_name
from helpers.drive import settings as drive_settings
from helpers.drive import states
from helpers.drive.command_sequence import shortest, wishes
from helpers.drive.parameters.parameter_store import demo_store
from helpers.drive.scaling import signed, unscale
from helpers.drive.settings import Settings, changed
from helpers.drive.states import STATES, Conditions
from helpers.line.station.application import Application
from helpers.line.station.drive import DriveApplication
from helpers.line.station.machine import Machine, plate
from helpers.line.station.supervision import constant


@pytest.mark.parametrize("wish", wishes())
def test_the_shortest_sequence_for_each_wish_does_it(wish):
    """Words of `helpers.drive.command_sequence`, for a drive at standstill and for a running one."""
    for drive in (make(), running()):
        sequence = shortest(wish, drive.state, drive.taken)
        for move in sequence.moves:
            send(drive, move.word, 60)
            wait(drive, 15)
        assert drive.state == (sequence.moves[-1].after if sequence.moves else drive.state)
        assert drive.machine.standstill == (drive.state != "operation")


def test_running_at_setpoint_shows_the_usual_status():
    """16#0337: Vacon CX PROFIBUS manual p.14; ABB FPBA-01 manual p.142."""
    drive = running(percent=60)
    status, actual = word(drive.inputs()), unscale(word(drive.inputs(), 1)).percent
    assert f"{status:04X}" == "0337"
    # the shaft is slower than its field by the slip of 55 % load: 0.55 · 50 rpm of 1500 rpm
    assert actual == pytest.approx(60 - 0.55 * 50 / 1500 * 100, abs=0.05)


def test_a_negative_setpoint_turns_backwards():
    drive = running(percent=-50)
    assert drive.machine.speed_rpm < -700
    assert signed(word(drive.inputs(), 1)) < 0


def test_run_as_the_first_word_does_not_start():
    drive = make()
    send(drive, RUN, 60)
    assert wait(drive, 5).machine.standstill
    assert drive.state == "switching on inhibited"


def test_zeros_are_no_stop():
    """Bit 10 = 0: the drive goes on with the last word and its setpoint (ABB FPBA-01 manual p.131)."""
    drive = running(percent=60)
    before = drive.machine.speed_rpm
    drive.take_outputs(bytes(4))
    assert wait(drive, 10).machine.speed_rpm == pytest.approx(before)
    careful = running(options=states.Options(no_control="ramp stop"))
    careful.take_outputs(bytes(4))
    assert wait(careful, 15).machine.standstill


def test_words_that_come_between_two_steps_of_time_are_all_seen():
    drive = make()
    for control in (READY, RUN, READY, RUN):
        send(drive, control, 10)
    assert drive.state == "operation"


def test_the_releases_in_the_control_word():
    """Bit 4: ramp output 0; bit 5: ramp frozen; bit 6: setpoint 0 (Kollmorgen AKD2G manual; FSPS-21 manual p.75)."""
    drive = running(percent=60)
    send(drive, RUN & ~(1 << 5), 20)
    held = drive.ramp.output_hz
    assert wait(drive, 5).ramp.output_hz == held
    send(drive, RUN & ~(1 << 6), 60)
    assert 0 < wait(drive, 1).ramp.output_hz < held
    send(drive, RUN & ~(1 << 4), 60)
    assert drive.ramp.output_hz == 0
    send(drive, RUN, 60)
    assert wait(drive, 10).ramp.output_hz == held


WORDS = st.sampled_from([READY, RUN, OFF2, OFF3, ACKNOWLEDGE, 0x0477, 0x0400, 0x0000, 0x007F])


@settings(max_examples=50, deadline=None)
@given(st.lists(st.one_of(WORDS, st.integers(0, 0xFFFF)), max_size=20))
def test_at_standstill_it_is_the_state_machine(sent):
    """The same words, sent to `helpers.drive.states` alone. With setpoint 0 the motor never leaves standstill."""
    drive = make()
    state, taken = "switching on inhibited", 0
    for control in sent:
        conditions = Conditions(standstill=True)
        last = states.settle(state, taken, control, conditions, wait=False)[-1]
        state, taken = last.after, last.taken
        send(drive, control)
        assert (drive.state, drive.taken) == (state, taken)
        shown = states.status_word(state, taken, Conditions(standstill=True, at_setpoint=state == "operation"))
        assert word(drive.inputs()) == shown


@settings(max_examples=40, deadline=None)
@example(form="PPO 3", sent=[(b"\x04\x06", ""), (b"\x04\x0f", "lost")])
@given(
    form=st.sampled_from([one.name for one in all_formats()]),
    sent=st.lists(st.tuples(st.binary(max_size=40), st.sampled_from(["", "lost", "power"])), max_size=12),
)
def test_no_octets_bring_it_out_of_step(form, sent):
    drive: Application = (it := make(form))
    sizes = by_name(form)
    for octets, event in sent:
        drive.take_outputs((octets + bytes(sizes.bytes_out))[: sizes.bytes_out])
        drive.advance(0.1)
        if event == "lost":
            drive.bus_lost()
        if event == "power":
            drive.power_up()
        assert len(drive.inputs()) == sizes.bytes_in
        assert drive.inputs() is drive.inputs()
        assert it.state in STATES
        assert abs(it.ramp.output_hz) <= 50
        assert bool(drive.blocks()) == (STATES[it.state][0] == "fault")
        assert it.machine.current_percent == 0 or STATES[it.state][1]


def test_ramp_times_are_those_of_the_parameters():
    """From 0 to 100 %: parameter 110, 8.0 s; back: parameter 111, 12.0 s. Quick stop: the drive's own time."""
    drive = make(machine="Discharge screw")
    send(drive, READY)
    send(drive, RUN, 100)
    assert seconds_until(drive, lambda d: d.ramp.output_hz == 50) == pytest.approx(8.0, abs=1.5 * STEP_S)
    send(drive, READY, 100)
    assert seconds_until(drive, lambda d: d.ramp.output_hz == 0) == pytest.approx(12.0, abs=1.5 * STEP_S)
    send(drive, RUN, 100)
    wait(drive, 10)
    send(drive, OFF3, 100)
    quick = seconds_until(drive, lambda d: d.ramp.output_hz == 0)
    assert quick == pytest.approx(constant("quick_stop_s"), abs=1.5 * STEP_S) and quick < 8


def test_a_change_of_direction_goes_through_zero_down_and_up():
    drive = running(percent=50, machine="Discharge screw")
    send(drive, RUN, -50)
    assert seconds_until(drive, lambda d: d.ramp.output_hz == 0) == pytest.approx(6.0, abs=1.5 * STEP_S)
    assert seconds_until(drive, lambda d: d.ramp.output_hz == -25) == pytest.approx(4.0, abs=1.5 * STEP_S)


def test_setpoints_beyond_the_highest_frequency_are_held_there():
    """Parameter 113 is 50.00 Hz; 16#7FFF would be 200 %. The drive then never reports the setpoint as reached."""
    drive = running(percent=199.99)
    assert drive.ramp.output_hz == 50
    assert not word(drive.inputs()) & 1 << 8


def test_a_heavy_fan_is_caught_while_it_turns():
    drive = running(percent=100, machine="Dryer fan")
    send(drive, OFF2)
    wait(drive, 3)
    turning = drive.machine.speed_rpm
    assert turning > 300 and drive.machine.current_percent == 0
    send(drive, READY)
    send(drive, RUN, 100)
    assert drive.ramp.output_hz == pytest.approx(turning / 30, abs=0.1)  # 4 poles: 30 rpm for each Hz


@pytest.mark.parametrize("on_loss", [row["choice"] for row in drive_settings.choices("on_loss")])
def test_loss_of_the_bus_as_set(on_loss):
    """What `settings.behaviour` says of the motor is what it does."""
    drive = running(percent=60, on_loss=on_loss)
    sent = drive_settings.Sent(10, "PPO 3", RUN, 60, "stopped")
    told = drive_settings.behaviour(drive.settings, sent).motor
    full = drive.machine.speed_rpm
    drive.bus_lost()
    wait(drive, 0.5)
    pulses = STATES[drive.state][1]
    assert {"turns": pulses, "ramps down": pulses, "coasts": not pulses}[told]
    wait(drive, 14)
    assert (drive.machine.speed_rpm == pytest.approx(full)) if told == "turns" else drive.machine.standstill
    assert (drive.fault is not None) == bool(drive.blocks()) == (on_loss == "fault")
    send(drive, RUN, 60)  # telegrams again, with the word of before
    wait(drive, 15)
    assert (drive.state == "operation") == (told == "turns")
    if on_loss == "fault":
        send(drive, ACKNOWLEDGE)
    send(drive, READY)
    send(drive, RUN, 60)
    assert drive.state == "operation"


@pytest.mark.parametrize("on_loss", ["coast", "ramp"])
@pytest.mark.parametrize("before", [READY, 0x0477])
def test_a_drive_that_stood_needs_a_new_on_as_well(on_loss, before):
    drive = make(on_loss=on_loss)
    send(drive, READY)
    send(drive, before)
    drive.bus_lost()
    send(drive, RUN, 60)
    assert drive.state != "operation"
    for control in (READY, RUN):
        send(drive, control, 60)
    assert drive.state == "operation"


def test_a_drive_led_at_its_panel_does_not_mind():
    drive = DriveApplication(Settings(), None, demo_store(), Machine(plate("Intake conveyor")))
    drive.at_panel(50)
    assert drive.start()
    wait(drive, 10)
    drive.bus_lost()
    assert wait(drive, 5).speed_percent == pytest.approx(50, abs=3)
    assert drive.fault is None


def test_led_by_the_panel_it_ignores_the_control_word():
    drive = make()
    drive.settings = changed(drive.settings, "run_source", "panel")
    for control in (READY, RUN):
        send(drive, control, 60)
    assert wait(drive, 3).machine.standstill
    assert not word(drive.inputs()) & 1 << 9  # status bit 9: control not requested
    assert drive.start()  # the setpoint still comes from the bus
    assert wait(drive, 10).speed_percent == pytest.approx(60, abs=3)


def test_setpoint_from_the_panel_while_the_bus_says_run():
    drive = make()
    drive.settings = changed(drive.settings, "setpoint_source", "panel")
    for control in (READY, RUN):
        send(drive, control, 60)
    assert drive.state == "operation" and wait(drive, 3).machine.standstill
    drive.at_panel(30)
    assert wait(drive, 10).speed_percent == pytest.approx(30, abs=3)


def test_the_run_switch_at_the_terminals():
    drive = make()
    drive.settings = changed(changed(drive.settings, "run_source", "terminals"), "setpoint_source", "terminals")
    drive.terminals(run=True, percent=40)
    assert wait(drive, 10).speed_percent == pytest.approx(40, abs=3)
    drive.terminals(run=False, percent=40)
    assert wait(drive, 15).machine.standstill


@pytest.mark.parametrize("there", ["panel", "terminals"])
def test_turning_the_source_starts_nothing(there):
    """The controller says run all the time; a turn of the switch to the bus or away from it only stops."""
    drive = running()
    drive.settings = changed(drive.settings, "run_source", there)
    assert wait(drive, 15).machine.standstill
    send(drive, RUN, 70)
    drive.settings = changed(drive.settings, "run_source", "bus")
    assert wait(drive, 5).machine.standstill
    for control in (READY, RUN):
        send(drive, control, 60)
    assert drive.state == "operation"


def test_the_stop_key_works_whoever_leads_and_on_comes_anew():
    drive = running()
    drive.stop()
    assert wait(drive, 15).machine.standstill
    send(drive, RUN, 61)
    assert wait(drive, 1).machine.standstill
    assert not drive.start()  # led by the bus


def test_power_off_and_on_needs_a_new_start():
    drive = running()
    drive.power_down()
    assert wait(drive, 5).machine.standstill
    drive.bus_lost()
    assert drive.fault is None and not drive.start()
    drive.power_up()
    send(drive, RUN, 60)
    assert wait(drive, 1).machine.standstill
    for control in (READY, RUN):
        send(drive, control, 60)
    assert wait(drive, 10).speed_percent == pytest.approx(60, abs=3)
