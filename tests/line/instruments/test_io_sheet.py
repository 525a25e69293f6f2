"""The I/O test sheet: what it shows is what the controller has, and what is written reaches the drive."""

from dataclasses import replace
from functools import cache

import pytest
from line_nets import demo

from helpers.device.formats import by_name
from helpers.errors import OutOfRange, Unknown, Unreadable
from helpers.facts import DATA
from helpers.line.instruments import io_sheet
from helpers.line.plant.build import installation_of
from helpers.line.traffic.line import Line
from helpers.plan.read import read_plan


@cache
def running():
    line = Line(demo())
    line.run(1)
    return line


def test_words_stand_by_name_with_what_the_controller_has():
    line = running()
    station = "Dryer fan 1"
    found = io_sheet.words(line, station)
    handler, laid = line.handler(station), io_sheet.image(line)
    form = by_name(handler.configured.data_format)
    assert [word.name.split(",")[0] for word in found] == [word.name for word in (*form.words_out, *form.words_in)]
    octets = b"".join(word.value.to_bytes(word.length, "big") for word in found)
    assert octets == handler.outputs + handler.inputs
    at = laid.stretch(station, "in").first_byte
    assert found[len(form.words_out)].address == f"%IW{at}"


def test_a_byte_behind_the_last_whole_word_is_not_lost():
    network = read_plan(DATA / "demo/saltmarsh-mill").networks[0]
    odd = {"format_drive": "3/1", "format_controller": "3/1", "description": ""}
    segments = tuple(
        replace(s, plugs=tuple(replace(one, **odd) if one.name == "Remote I/O" else one for one in s.plugs))
        for s in network.segments
    )
    line = Line(installation_of(replace(network, segments=segments)))
    line.run(1)
    found = io_sheet.words(line, "Remote I/O")
    laid = io_sheet.image(line)
    out, into = (laid.stretch("Remote I/O", way).first_byte for way in ("out", "in"))
    assert [word.address for word in found] == [f"%QW{out}", f"%QB{out + 2}", f"%IB{into}"]
    byte = found[1]._replace(value=0xA5)
    assert [io_sheet.shown(byte, reading) for reading in byte.readings] == ["16#A5", "165", "2#1010_0101"]


@pytest.mark.parametrize(
    ("value", "reading", "said"),
    [
        # two's complement of 16 bits: 16#8000 is the lowest number there is
        (0x8000, "hexadecimal", "16#8000"),
        (0x8000, "number", "32768, signed -32768"),
        (0x7FFF, "number", "32767"),
        (0x8000, "bits", "2#1000_0000_0000_0000"),
        # 16#4000 is 100 %: the profile's normalised form N2, data/normalisation.csv
        (0x4000, "percent", "100.0 %"),
        (0xC000, "percent", "-100.0 %"),
        (None, "percent", "not valid"),
    ],
)
def test_each_word_is_read_as_it_is_asked_for(value, reading, said):
    assert io_sheet.shown(io_sheet.Word("%IW900", "fan", "word 1", 2, value), reading) == said


def test_a_station_of_no_project_and_a_reading_of_no_kind_are_refused():
    with pytest.raises(Unknown, match="Nobody"):
        io_sheet.words(running(), "Nobody")
    with pytest.raises(Unknown, match="octal"):
        io_sheet.shown(io_sheet.words(running(), "Dryer fan 1")[0], "octal")


def test_what_is_written_reaches_the_drive_until_it_is_released():
    line = Line(demo())
    line.run(1)
    place = io_sheet.image(line).stretch("Dryer fan 1", "out")
    octets = line.handler("Dryer fan 1").outputs
    at = place.first_byte + octets.index(bytes.fromhex("047F"))
    assert io_sheet.write(line, f"%QW{at}", 0x047E) == "Dryer fan 1"
    line.run(0.1)
    assert next(word for word in io_sheet.words(line, "Dryer fan 1") if word.address == f"%QW{at}").value == 0x047E
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
