"""The I/O test sheet: what it shows is what the controller has, and what is written reaches the drive."""

from functools import cache

import pytest
from line_nets import demo

from helpers.errors import OutOfRange, Unreadable
from helpers.line import io_sheet
from helpers.line.line import Line


@cache
def running():
    line = Line(demo())
    line.run(1)
    return line


def test_words_show_what_the_controller_has_and_in_the_display_asked_for():
    line = running()
    first = io_sheet.image(line).of("in")[0]
    found = io_sheet.words(line, f"%IW{first.first_byte}", 2)
    octets = line.handler(first.station).inputs
    assert found[0] == (f"%IW{first.first_byte}", first.station, int.from_bytes(octets[:2], "big"))
    beyond = io_sheet.words(line, f"%QW{io_sheet.image(line).end('out') + 10}", 1)[0]
    assert beyond.station == "" and beyond.value is None
    # two's complement of 16 bits: 16#8000 is the lowest number there is
    assert [io_sheet.shown(0x8000, display) for display in io_sheet.DISPLAYS] == [
        "16#8000", "32768", "-32768", "2#1000_0000_0000_0000"
    ]  # fmt: skip


def test_what_is_written_reaches_the_drive_until_it_is_released():
    line = Line(demo())
    line.run(1)
    place = io_sheet.image(line).stretch("Dryer fan 1", "out")
    octets = line.handler("Dryer fan 1").outputs
    at = place.first_byte + octets.index(bytes.fromhex("047F"))
    assert io_sheet.write(line, f"%QW{at}", 0x047E) == "Dryer fan 1"
    line.run(0.1)
    assert io_sheet.words(line, f"%QW{at}", 1)[0].value == 0x047E
    assert io_sheet.forced(line) == ("Dryer fan 1",)
    assert line.applications["Dryer fan 1"].state == "ramp stop"
    io_sheet.release(line)
    line.run(0.1)
    assert not io_sheet.forced(line)
    assert line.handler("Dryer fan 1").forced is None
    for address, value in (("%IW400", 0), ("%QW9000", 0), (f"%QB{at}", 256)):
        with pytest.raises(OutOfRange):
            io_sheet.write(line, address, value)
    with pytest.raises(Unreadable):
        io_sheet.write(line, "drive 1", 0)
