"""The front of the drive: every light of its table can be seen, the texts are those of the tables, the keys act."""

import pytest
from driven import ACKNOWLEDGE, READY, RUN, make, running, send, wait

from helpers import facts
from helpers.drive.parameters.parameter_store import demo_store
from helpers.drive.settings import Settings, changed
from helpers.errors import Unknown
from helpers.line.hazard import declared
from helpers.line.station.drive import DriveApplication
from helpers.line.station.keypad import BUS_STATES, front, keys, press
from helpers.line.station.machine import Machine, plate


def light(drive, name, bus_state="data exchange"):
    return next(one for one in front(drive, bus_state).lights if one.name == name)


def dark():
    drive = make()
    drive.power_down()
    return drive


def tripped(*, cause_stays):
    drive = running()
    drive.supervision.release_open = True
    wait(drive, 5)
    drive.supervision.release_open = cause_stays
    return drive


def warm():
    drive = make()
    drive.supervision.heatsink_c = 85
    return drive


def under_way():
    drive = running()
    send(drive, RUN, 10)
    return drive


CASES = {
    ("Power", "no supply"): dark,
    ("Power", "supply"): make,
    ("Run", "pulses off"): make,
    ("Run", "under way"): under_way,
    ("Run", "at setpoint"): running,
    ("Fault", "no fault"): make,
    ("Fault", "warning"): warm,
    ("Fault", "cause present"): lambda: tripped(cause_stays=True),
    ("Fault", "fault"): lambda: tripped(cause_stays=False),
}


@pytest.mark.parametrize("row", facts.rows("demo/device_lights"), ids=lambda row: f"{row['light']} {row['when']}")
def test_every_light_of_the_table_can_be_seen(row):
    if row["light"] == "Bus":
        assert row["when"] in BUS_STATES
        shown = light(make(), "Bus", row["when"])
    else:
        shown = light(CASES[row["light"], row["when"]](), row["light"])
    assert (shown.pattern, shown.sign, shown.meaning) == (row["pattern"], row["sign"], row["meaning"])


def test_no_light_says_two_things_with_one_pattern():
    rows = facts.rows("demo/device_lights")
    assert len({(row["light"], row["pattern"]) for row in rows}) == len(rows)
    assert {row["when"] for row in rows if row["light"] == "Bus"} == set(BUS_STATES)


def test_without_supply_everything_is_dark():
    seen = front(dark(), "data exchange")
    assert {one.pattern for one in seen.lights} == {"dark"}
    assert seen.display == () and seen.fault is None
    assert "no supply" in press(dark(), "start")


def test_the_fault_is_named_with_its_number_and_what_to_do():
    drive = tripped(cause_stays=True)
    seen = front(drive, "data exchange")
    assert seen.display[0] == "F31 release missing"
    assert seen.fault.look_first and seen.fault.remedy and seen.fault.caution


def test_the_display_tells_what_waits_for_power():
    drive = make()
    drive.settings = changed(drive.settings, "address", 33)
    assert any("Station address" in line and "power-up" in line for line in front(drive, "no bus").display)
    drive.power_up()
    assert not any("power-up" in line for line in front(drive, "no bus").display)
    assert any("address 33" in line for line in front(drive, "no bus").display)


def test_looking_changes_nothing():
    drive = running()
    before = drive.inputs()
    assert front(drive, "clear") == front(drive, "clear")
    assert drive.inputs() is before


def test_a_run_from_the_panel():
    drive = DriveApplication(Settings(), None, demo_store(), Machine(plate("Discharge screw")))
    for _ in range(20):
        press(drive, "faster")
    assert press(drive, "slower") == "The setpoint of the panel is 19.0 %."
    assert press(drive, "stop").startswith("Nothing to stop")
    assert "19.0 %" in press(drive, "start")
    assert "already" in press(drive, "start")
    assert wait(drive, 10).speed_percent == pytest.approx(19, abs=3)
    assert "ramps down" in press(drive, "stop")
    assert wait(drive, 10).machine.standstill


def test_local_and_remote():
    drive = running()
    assert "panel" in press(drive, "local")
    assert wait(drive, 15).machine.standstill
    send(drive, RUN, 50)
    assert "bus" in press(drive, "remote")
    assert "comes from the bus" in press(drive, "start")
    assert wait(drive, 5).machine.standstill


def test_acknowledging_at_the_panel():
    assert "no fault" in press(make(), "acknowledge")
    drive = tripped(cause_stays=True)
    drive.settings = changed(drive.settings, "run_source", "panel")
    assert "stays" in press(drive, "acknowledge")
    assert "F31" not in press(drive, "start") and "31" in press(drive, "start")
    drive.supervision.release_open = False
    assert "cleared" in press(drive, "acknowledge")
    for control in (READY, ACKNOWLEDGE, READY):
        send(drive, control)
    assert drive.fault is None


def test_every_key_says_what_it_does_and_its_caution():
    assert all(key.does and declared(key.hazards).cautions and press(make(), key.key) for key in keys())


def test_what_is_not_there_is_refused():
    with pytest.raises(Unknown):
        press(make(), "reset")
    with pytest.raises(Unknown):
        front(make(), "off")
