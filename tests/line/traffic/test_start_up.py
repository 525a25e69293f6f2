"""The start of a station, step by step, against the standard's order and against what was put wrong."""

import itertools

import pytest
from line_nets import demo

from helpers.bus.recording import recording_text
from helpers.bus.recording.telegram_meaning import read
from helpers.errors import OutOfRange, Unknown
from helpers.line.traffic.line import Line
from helpers.line.traffic.start_up import MOST_STEPS, steps

NAME = "Cooling fan"


def test_the_order_and_the_states_of_both_sides():
    # Moxa MGate 4101 manual p.A-4.
    told = steps(Line(demo()), NAME, 6)
    assert [step.service for step in told] == [
        "Slave_Diag", "Set_Prm", "Chk_Cfg", "Slave_Diag", "Data_Exchange", "Data_Exchange",
    ]  # fmt: skip
    assert [step.station for step in told][:3] == [
        "waiting for parameters", "waiting for configuration", "data exchange",
    ]  # fmt: skip
    assert [step.controller for step in told][2:5] == ["asks again", "exchanges data", "exchanges data"]
    assert "Prm_Req" in told[0].diagnosis.flags and "Prm_Req" not in told[3].diagnosis.flags
    assert [step.number for step in told] == [1, 2, 3, 4, 5, 6]
    assert all(a.at_s < b.at_s for a, b in itertools.pairwise(told))


def test_only_the_telegrams_of_this_station_and_all_of_them():
    line = Line(demo())
    line.recording.on = True
    told = steps(line, NAME, 5)
    for step in told:
        assert [one.role for one in step.telegrams] == ["request", "answer"]
        assert step.telegrams[0].frame.receiver == line.handler(NAME).address
        assert recording_text.read(step.text).octets == b"".join(one.octets for one in step.telegrams)
    # the recording of the line goes on beside it, and holds the same
    whole = [one.octets for one in read(line.recording.octets)]
    assert all(one.octets in whole for step in told for one in step.telegrams)
    assert len(line.recording) > sum(len(step.telegrams) for step in told)


def test_a_station_without_supply_is_asked_twice_in_each_step():
    line = Line(demo().with_device(NAME, powered=False))
    for step in steps(line, NAME, 3):
        assert [one.role for one in step.telegrams] == ["request", "request"]
        assert step.answer is None and step.station == "off"
        assert step.diagnosis.flags == {"Station_Non_Existent"}


def test_limits():
    line = Line(demo())
    with pytest.raises(Unknown, match="Dryer fan 1"):
        steps(line, "Pump", 1)
    for count in (0, MOST_STEPS + 1):
        with pytest.raises(OutOfRange):
            steps(line, NAME, count)
