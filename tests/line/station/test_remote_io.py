"""The remote I/O: outputs follow, inputs are set, the counting octet counts."""

import pytest

from helpers.errors import OutOfRange
from helpers.line.station.application import Application
from helpers.line.station.remote_io import RemoteIO


def test_inputs_are_answered_and_outputs_follow():
    station: Application = (io := RemoteIO(inputs=2, outputs=2))
    io.put(1, 0x80)
    io.put(0, 0x01)
    io.put(0, 0x00)
    assert station.inputs() == b"\x00\x80"
    station.take_outputs(b"\x01\x00")
    assert io.outputs == b"\x01\x00"
    assert station.blocks() == ()


def test_outputs_go_off_without_the_bus_and_without_supply():
    io = RemoteIO(inputs=1, outputs=2)
    for lose in (io.bus_lost, io.power_up):
        io.take_outputs(b"\xff\xff")
        lose()
        assert io.outputs == b"\x00\x00"


def test_the_counting_octet():
    io = RemoteIO(inputs=2, outputs=0, counting=1, every_s=0.1)
    for _ in range(95):
        io.advance(0.01)
    assert io.inputs() == bytes((0, 9))
    io.advance(25.6)  # a whole round of 256
    assert io.inputs() == bytes((0, 9))
    io.put(0, 8)
    io.power_up()
    assert io.inputs() == bytes((8, 0))


def test_the_same_object_while_nothing_changes():
    io = RemoteIO(inputs=2, outputs=2)
    before = io.inputs()
    io.put(0, 0)
    io.advance(1.0)
    assert io.inputs() is before


@pytest.mark.parametrize(
    "wrong",
    [
        lambda io: io.put(2, 0),
        lambda io: io.put(0, 256),
        lambda io: RemoteIO(inputs=2, outputs=0, counting=2),
    ],
)
def test_what_is_not_there_is_refused(wrong):
    with pytest.raises(OutOfRange):
        wrong(RemoteIO(inputs=2, outputs=1))
