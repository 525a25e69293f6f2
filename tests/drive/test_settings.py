"""The settings that hand a drive to the bus: set against active, and what the drive does.

That a communication setting counts only after the supply was off and on is common practice, no source. What each
choice does is the manual of the invented drive (data/demo/device_settings.csv), read here a second time by hand.
"""

from dataclasses import asdict

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.device.formats import all_formats
from helpers.drive.settings import (
    LINKS,
    NAMES,
    Local,
    Sent,
    Settings,
    SettingValues,
    behaviour,
    changed,
    choices,
    hand_over_answer,
    handed_over,
    needs_power_cycle,
    own_name,
    power_cycle,
    waiting,
)
from helpers.errors import OutOfRange, Unknown, Unreadable

RUN, READY = 0x047F, 0x047E
FORMATS = ("Mill 2/3", "PPO 3", "PPO 4")
VALUES = {
    "run_source": st.sampled_from(("panel", "terminals", "bus")),
    "setpoint_source": st.sampled_from(("panel", "terminals", "bus")),
    "address": st.integers(1, 125),
    "data_format": st.sampled_from(FORMATS),
    "on_loss": st.sampled_from(("fault", "coast", "ramp", "keep running")),
}
CHANGES = st.lists(st.sampled_from(NAMES).flatmap(lambda name: st.tuples(st.just(name), VALUES[name])), max_size=8)
SENT = st.builds(
    Sent,
    st.sampled_from((10, 11)),
    st.sampled_from(FORMATS),
    st.sampled_from((RUN, READY, 0x0000, 0x007F, 0x0477, 0x044F)),
    st.sampled_from((-50.0, 0.0, 60.0)),
    st.sampled_from(LINKS),
)
LOCAL = st.builds(Local, st.booleans(), st.sampled_from((0.0, 30.0)), st.booleans(), st.sampled_from((0.0, -20.0)))


def mill(**others):
    return handed_over(address=10, data_format="PPO 4", **others)


def sent(**others):
    return Sent(**({"address": 10, "data_format": "PPO 4", "setpoint_percent": 60.0} | others))


def after(changes, start=None):
    known = start or Settings()
    for name, value in changes:
        known = changed(known, name, value)
    return known


# Set and active


def test_the_drive_is_delivered_as_its_manual_says():
    delivered = {name: next(row for row in choices(name) if row["delivered"] == "yes")["choice"] for name in NAMES}
    assert {name: str(value) for name, value in asdict(SettingValues()).items()} == delivered
    assert Settings().set == Settings().active == SettingValues()


@given(CHANGES)
@settings(max_examples=40)
def test_set_is_what_was_said_last_and_active_follows_at_the_next_power_up(changes):
    last = asdict(SettingValues()) | dict(changes)
    known = after(changes)
    assert asdict(known.set) == last
    for name in NAMES:
        at_once = name in ("run_source", "setpoint_source")
        assert needs_power_cycle(name) is not at_once
        assert getattr(known.active, name) == (last if at_once else asdict(SettingValues()))[name]
    assert set(waiting(known)) == {name for name in NAMES if last[name] != getattr(known.active, name)}
    cycled = power_cycle(known)
    assert cycled.active == cycled.set == known.set
    assert waiting(cycled) == ()
    assert power_cycle(cycled) == cycled


@pytest.mark.parametrize(("value", "good"), [(0, False), (1, True), (125, True), (126, False), ("16#0A", True)])
def test_an_address_at_both_edges(value, good):
    if good:
        assert 1 <= changed(Settings(), "address", value).set.address <= 125
    else:
        with pytest.raises(OutOfRange, match=rf"Station address is {value}; allowed is 1 to 125"):
            changed(Settings(), "address", value)


def test_what_does_not_exist_is_refused_with_the_list():
    with pytest.raises(Unknown, match=r"known are run_source, setpoint_source"):
        changed(Settings(), "baud", 1)
    with pytest.raises(Unknown, match=r"Run command from is 'keypad'; known are panel, terminals, bus"):
        changed(Settings(), "run_source", "keypad")
    with pytest.raises(Unknown):
        changed(Settings(), "data_format", "PPO 9")
    with pytest.raises(Unreadable):
        changed(Settings(), "address", "ten")
    with pytest.raises(Unknown, match="telegrams is 'late'"):
        behaviour(Settings(), sent(telegrams="late"))


def test_every_data_format_of_the_workbook_can_be_set():
    for each in all_formats():
        assert changed(Settings(), "data_format", each.name).set.data_format == each.name


def test_each_setting_has_a_name_of_its_own():
    assert len({own_name(name) for name in NAMES}) == len(NAMES)


# What the drive does


@pytest.mark.parametrize(
    ("drive", "controller", "local", "motor", "percent", "said"),
    [
        (mill(), sent(), Local(), "turns", 60, "the control word starts it"),
        (mill(), sent(setpoint_percent=-60), Local(), "turns", -60, "60 % backwards"),
        (mill(), sent(control_word=READY), Local(), "stands", 0, "bit 0 must rise"),
        (mill(), sent(control_word=0x007F), Local(), "stands", 0, "Bit 10 is 0"),
        (mill(), sent(control_word=0x046F), Local(), "stands", 0, "bit 4 is 0"),
        (mill(), sent(setpoint_percent=0), Local(), "stands", 0, "The setpoint word is 0"),
        (mill(), sent(address=11), Local(), "stands", 0, "asks address 11, and the drive answers at 10"),
        (mill(), sent(data_format="PPO 2"), Local(), "stands", 0, "refuses the configuration"),
        (mill(), sent(telegrams="never came"), Local(), "stands", 0, "No telegram reaches the drive"),
        (after([("run_source", "panel")], mill()), sent(), Local(), "stands", 0, "The control word is ignored"),
        (after([("run_source", "panel")], mill()), sent(), Local(True), "turns", 60, "The control word is ignored"),
        (after([("run_source", "terminals")], mill()), sent(), Local(True), "stands", 0, "comes from the terminals"),
        (after([("setpoint_source", "panel")], mill()), sent(), Local(False, 30), "turns", 30, "setpoint word is ign"),
        (after([("setpoint_source", "terminals")], mill()), sent(), Local(True, 30), "stands", 0, "it is 0 there"),
        (Settings(), sent(), Local(), "stands", 0, "run command comes from the drive's own panel"),
        (Settings(), sent(), Local(True, 30), "turns", 30, "the drive answers at 126"),
        (mill(), sent(telegrams="stopped"), Local(), "coasts", 60, "until somebody acknowledges it"),
        (mill(on_loss="coast"), sent(telegrams="stopped"), Local(), "coasts", 60, "a new ON starts it"),
        (mill(on_loss="ramp"), sent(telegrams="stopped"), Local(), "ramps down", 60, "ramps down to standstill"),
        (mill(on_loss="keep running"), sent(telegrams="stopped"), Local(), "turns", 60, "the bus cannot stop it"),
        (mill(), sent(telegrams="stopped", control_word=READY), Local(), "stands", 0, "in a fault"),
    ],
)
def test_what_the_drive_does_and_the_sentence_why(drive, controller, local, motor, percent, said):
    does = behaviour(drive, controller, local)
    assert (does.motor, does.speed_percent) == (motor, percent)
    assert said in does.sentence
    assert does.why


@pytest.mark.parametrize(
    ("name", "value", "controller", "late"),
    [("address", 11, {"address": 11}, "The new address is set"),
     ("data_format", "PPO 2", {"data_format": "PPO 2"}, "The new format is set")],
)  # fmt: skip
def test_a_change_counts_after_power_up_and_until_then_the_drive_says_so(name, value, controller, late):
    new = changed(mill(), name, value)
    before = behaviour(new, sent(**controller))
    assert (before.motor, before.exchange) == ("stands", False)
    assert late in before.sentence and "only after the supply was off and on" in before.sentence
    assert behaviour(power_cycle(new), sent(**controller)).motor == "turns"


def test_the_reaction_to_lost_telegrams_is_the_active_one():
    new = changed(mill(), "on_loss", "keep running")
    assert behaviour(new, sent(telegrams="stopped")).motor == "coasts"
    assert behaviour(power_cycle(new), sent(telegrams="stopped")).motor == "turns"


@given(CHANGES, st.booleans(), SENT, LOCAL)
@settings(max_examples=80)
def test_what_holds_whatever_is_set_and_sent(changes, cycled, controller, local):
    known = after(changes, mill())
    known = power_cycle(known) if cycled else known
    does = behaviour(known, controller, local)
    active = known.active
    assert does.motor in ("stands", "turns", "coasts", "ramps down")
    assert (does.motor == "stands") == (does.speed_percent == 0)
    assert does.sentence.endswith(".") and all(why.endswith(".") for why in does.why)
    assert does.caution or does.motor == "stands"
    fits = (active.address, active.data_format) == (controller.address, controller.data_format)
    assert does.exchange == (fits and controller.telegrams == "arrive")
    # Without process data a drive led by the bus alone never starts.
    if not fits and active.run_source == "bus":
        assert does.motor == "stands"
    # A drive that is led locally does not care what stands in the words.
    if "bus" not in (active.run_source, active.setpoint_source):
        other = Sent(controller.address, controller.data_format, 0x0000, 99.0, controller.telegrams)
        assert behaviour(known, other, local).speed_percent == does.speed_percent
    # And one that is led by the bus does not care what is commanded locally.
    if (active.run_source, active.setpoint_source) == ("bus", "bus"):
        assert behaviour(known, controller, Local()).sentence == does.sentence


def test_a_caution_stands_before_the_word_that_starts():
    does = behaviour(mill(), sent(control_word=READY))
    assert does.motor == "stands" and "may start the motor" in does.caution


def test_a_motor_that_stood_is_not_said_to_turn():
    does = behaviour(mill(on_loss="keep running"), sent(telegrams="stopped", control_word=READY))
    assert does.motor == "stands" and "the motor turns" not in does.sentence


def test_set_and_active_stand_side_by_side():
    left = Settings()
    for name, value in (("run_source", "bus"), ("address", 12), ("data_format", "PPO 4")):
        left = changed(left, name, value)
    view = hand_over_answer(left, Sent(12, "PPO 4", setpoint_percent=60.0), Local())
    rows = {row["setting"]: row for row in view.rows}
    assert list(rows) == [own_name(name) for name in NAMES]
    assert (rows["Station address"]["set"], rows["Station address"]["active"]) == ("12", "126")
    assert "not active yet" in rows["Station address"][""] and not rows["Run command from"][""]
    assert "station address, data format" in view.because and "Off and on" in str(view.caution)
    done = hand_over_answer(power_cycle(left), Sent(12, "PPO 4", setpoint_percent=60.0), Local(panel_percent=30))
    assert done.because == "All that is set is active." and "turns at 30 %" in done.sentence
    assert "Off and on" not in str(done.caution) and done.caution


def test_what_is_said_of_a_reaction_fits_a_motor_that_stands():
    # The manual of the invented drive: the last command and the last setpoint stay in force.
    does = behaviour(mill(on_loss="keep running"), sent(telegrams="stopped", control_word=READY))
    assert "“keep running”: the last command and the last setpoint stay in force." in does.sentence


def test_the_caution_names_the_hand_that_may_start_the_motor():
    wrong_address = behaviour(mill(), sent(address=11))
    assert wrong_address.motor == "stands" and "Put the cause right" in wrong_address.caution
    by_panel = behaviour(after([("run_source", "panel")], mill()), sent())
    assert by_panel.motor == "stands" and "Turn the source of the run command to bus now" in by_panel.caution
    by_panel_ready = behaviour(after([("run_source", "panel")], mill()), sent(control_word=READY))
    assert not by_panel_ready.caution, "the next control word starts nothing that listens to the panel"
