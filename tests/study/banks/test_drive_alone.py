"""The questions on the drive on its own, answered a second time from their text and table alone."""

import re
from itertools import pairwise

from helpers.facts import rows
from helpers.study.banks.registry import draw_question, kinds

SEEDS = range(1, 80)
LOCAL = {"wrong motor data entered", "two motor phases exchanged", "brake of the motor does not open",
         "a motor phase open", "ramp too short for the load", "machine blocked"}  # fmt: skip


def drawn(kind):
    return [draw_question("drive-alone", kind, seed) for seed in SEEDS]


def numbers(text):
    return [float(n) for n in re.findall(r"\d+(?:\.\d+)?", text)]


def test_there_are_enough_kinds_and_slips():
    assert len(kinds("drive-alone")) >= 8
    slips = [slip.sentence for kind in kinds("drive-alone") for slip in draw_question("drive-alone", kind).slips]
    assert len({re.sub(r"[\d“”]+", "", sentence) for sentence in slips}) >= 20


def test_both_waiting_and_measuring_allow_to_touch():
    seen = set()
    for question in drawn("when-to-touch"):
        plate = numbers(question.text)[0]
        table = [(numbers(row["after"])[0], numbers(row["DC link"])[0]) for row in question.rows]
        right = min(minute for minute, volts in table if minute >= plate and volts <= 60)
        assert question.answer == right
        # What the table leaves out lies between two rows that agree on the voltage being high or low.
        assert max(minute for minute, volts in table if volts > 60) < right
        seen.add(right > plate)
    assert seen == {True, False}


def test_the_verdict_on_wait_and_voltage():
    seen = set()
    for question in drawn("waited"):
        plate, minutes, volts = numbers(question.text)[:3]
        right = "in order" if minutes >= plate and volts <= 60 else "not allowed"
        assert question.answer == right
        seen.add(right)
    assert len(seen) == 2


def test_the_next_step_is_the_one_after_the_last():
    names = [row["step"] for row in rows("commissioning_steps")]
    for question in drawn("next-step"):
        last = int(question.rows[-1]["done"].split()[0])
        # Only one of the four can be the very next number of the list, or lead on from there.
        after = [names.index(option) + 1 - last for option in question.form.options]
        assert question.answer == question.form.options[after.index(min(after))] and min(after) == 1


def test_the_step_too_early_stands_before_the_one_it_needs():
    order = ["isolate", "lock", "wait", "measure the DC link", "seat the option board",
             "connect the board's earth wire", "close the cover", "switch on"]  # fmt: skip
    for question in drawn("too-early"):
        turns = [row["step"] for row in question.rows]
        early = next(a for a, b in pairwise(turns) if order.index(a) > order.index(b))
        assert question.answer == early


def test_a_run_from_the_panel_shows_drive_motor_and_machine():
    for question in drawn("local-run"):
        for row, bit in zip(question.rows, question.answer, strict=True):
            assert bit == ("1" if row["what is wrong"] in LOCAL else "0")


def test_the_address_at_work_is_the_last_one_before_the_supply_was_off():
    seen = set()
    for question in drawn("active-address"):
        active, known = 126.0, 126.0
        for row in question.rows:
            if "supply" in row["what was done"]:
                active = known
            else:
                (known,) = numbers(row["what was done"])
        assert question.answer == active
        seen.add(active == 126)
    assert seen == {True, False}


def test_what_was_changed_since_the_last_power_up_is_waiting():
    names = ["Run command from", "Setpoint from", "Station address", "Data format", "If telegrams stop"]
    for question in drawn("not-active-yet"):
        late = set()
        for row in question.rows:
            name = row["what was done"].split(":")[0]
            late = set() if name.startswith("supply") else late | {name}
        right = "".join("1" if name in late and n > 1 else "0" for n, name in enumerate(names))
        assert question.answer == right


def test_the_speed_follows_the_sources():
    seen = set()
    for question in drawn("speed"):
        bus, panel = (float(p) for p in re.findall(r"(\d+) %", question.text)[:2])
        run, setpoint = (row["active"] for row in question.rows)
        runs = run == "bus" or "start was pressed" in question.text
        assert question.answer == (0 if not runs else bus if setpoint == "bus" else panel)
        seen.add((run, setpoint, runs))
    assert len(seen) == 6


def test_the_reason_is_the_one_thing_that_does_not_fit():
    seen = set()
    for question in drawn("why-it-stands"):
        address, wanted = re.search(r"asks address (\d+) with ([^,]+),", question.text).groups()
        active = [row["active"] for row in question.rows]
        found = [active[0] == "panel", active[1] == "panel", active[2] != address, active[3] != wanted,
                 "16#007F" in question.text]  # fmt: skip
        assert found.count(True) == 1
        assert question.answer == question.form.options[found.index(True)]
        seen.add(question.answer)
    assert len(seen) == 5


def test_the_active_reaction_decides_when_the_telegrams_stop():
    words = {
        "fault": "stays in a fault",
        "coast": "coasts, and a new ON",
        "ramp": "ramps down",
        "keep running": "keeps turning",
    }
    seen = set()
    for question in drawn("telegrams-stop"):
        now, later = re.search(r"was “([^”]+)”, and was changed to “([^”]+)”", question.text).groups()
        active = now if "not off and on" in question.text else later
        assert words[active] in question.answer
        seen.add((active, active == now))
    assert len(seen) >= 7
