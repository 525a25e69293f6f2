"""Every fault of the invented drive: from its cause over trip, diagnosis and acknowledgement to its end."""

import pytest
from driven import ACKNOWLEDGE, READY, RUN, make, running, seconds_until, send, wait, word

from helpers.bus.services import diag_blocks
from helpers.line.station.supervision import constant, faults


def puts(part, name, value):
    return lambda drive: setattr(getattr(drive, part), name, value)


CAUSES = {  # what brings a fault about, and what takes its cause away
    "undervoltage": (puts("supervision", "mains_v", 300), puts("supervision", "mains_v", 400)),
    "stalled": (puts("machine", "blocked", True), puts("machine", "blocked", False)),
    "heatsink": (puts("supervision", "air", 0.1), puts("supervision", "air", 1.0)),
    "motor heat": (puts("supervision", "motor_percent", 120), puts("supervision", "motor_percent", 50)),
    "phase missing": (puts("supervision", "phase_missing", True), puts("supervision", "phase_missing", False)),
    "release missing": (puts("supervision", "release_open", True), puts("supervision", "release_open", False)),
    "telegrams stopped": (lambda drive: drive.bus_lost(), lambda drive: send(drive, READY)),
}
STAY = ("undervoltage", "release missing", "telegrams stopped")  # seen without pulses, and not gone by waiting


def test_every_fault_of_the_table_can_happen():
    assert set(CAUSES) == {known.key for known in faults()}


@pytest.mark.parametrize("key", CAUSES)
def test_a_fault_from_its_cause_to_its_end(key):
    cause, remedy = CAUSES[key]
    drive = running()
    cause(drive)
    wait(drive, 130 if key == "heatsink" else 20)
    assert drive.fault and drive.fault.key == key
    assert drive.state == "fault" and drive.machine.standstill
    assert word(drive.inputs()) & 0x0008
    (block,) = drive.blocks()
    assert diag_blocks.message(block).data[-1] == drive.fault.number

    def acknowledge():
        if key != "telegrams stopped":
            send(drive, READY)
            send(drive, ACKNOWLEDGE)
        else:
            drive.acknowledge()

    acknowledge()
    if key in STAY:
        assert drive.state == "fault" and drive.cause_present
    remedy(drive)
    wait(drive, 200)
    acknowledge()
    assert drive.fault is None and drive.blocks() == () and drive.state != "fault"
    for control in (READY, RUN):
        send(drive, control, 60)
    assert wait(drive, 20).speed_percent == pytest.approx(60, abs=3)


@pytest.mark.parametrize("key", ["phase missing", "stalled"])
def test_what_shows_only_while_running_comes_back(key):
    drive = running()
    CAUSES[key][0](drive)
    for _ in range(2):
        wait(drive, 20)
        assert drive.state == "fault" and not drive.cause_present
        for control in (READY, ACKNOWLEDGE, READY, RUN):
            send(drive, control, 60)
        assert drive.state == "operation"


def test_a_fault_that_comes_back_by_itself():
    drive = running(percent=30)
    drive.supervision.returns_s = 30.0
    seconds_until(drive, lambda d: d.state == "fault")
    for control in (READY, ACKNOWLEDGE, READY, RUN):
        send(drive, control, 30)
    assert seconds_until(drive, lambda d: d.fault) == pytest.approx(30, abs=0.2)


def test_a_cause_that_is_still_there_at_power_up():
    drive = make()
    drive.supervision.mains_v = 300
    drive.power_up()
    assert drive.state == "fault" and drive.fault.key == "undervoltage"
    assert not drive.acknowledge()
    drive.supervision.mains_v = 400
    assert drive.acknowledge() and not drive.acknowledge()


def test_only_the_first_fault_is_kept():
    drive = running()
    drive.supervision.release_open = True
    wait(drive, 1)
    drive.bus_lost()
    assert drive.fault.key == "release missing"


def test_heat_warns_before_it_trips():
    drive = running(percent=100, machine="Dryer fan")
    drive.supervision.air = 0.3
    warned = seconds_until(drive, lambda d: word(d.inputs()) & 1 << 7)
    assert warned > 0 and not drive.fault
    assert seconds_until(drive, lambda d: d.fault) > 1


def test_an_elevator_led_backwards_stalls_at_its_backstop():
    """Nobody sets this fault: the sign of the setpoint does it."""
    drive = running(percent=-50, machine="Bucket elevator")
    assert drive.fault.key == "stalled" and "backstop" in drive.fault.look_first


@pytest.mark.parametrize(
    ("key", "stops_s"),
    [("release missing", 0.6 * constant("quick_stop_s")), ("motor heat", 0.6 * 12.0), ("undervoltage", 0.0)],
)
def test_a_fault_stops_the_drive_in_its_own_way(key, stops_s):
    """By quick stop, by the ramp of parameter 111 (12.0 s from 100 %), or by taking the pulses off."""
    drive = running(percent=60)
    CAUSES[key][0](drive)
    seconds_until(drive, lambda d: d.fault)
    assert seconds_until(drive, lambda d: d.ramp.output_hz == 0) == pytest.approx(stops_s, abs=0.03)
