"""Instruments of the practice line: what they read on a healthy network, and what a person can tell apart."""

from dataclasses import replace

import pytest
from line_nets import demo

from helpers import safe_work
from helpers.drive.settings import changed
from helpers.errors import Unknown
from helpers.line.faults.catalogue import by_key
from helpers.line.hazard import declared
from helpers.line.instruments.catalogue import NOWHERE, at_rest, every, places, take
from helpers.line.instruments.catalogue import read as look_at
from helpers.line.instruments.reading import differences, instrument, instruments
from helpers.line.plant import place as places_of
from helpers.line.traffic.line import Line


def read(line, key, words=""):
    place = places_of.find(words, places(line.installation, key)) if words else NOWHERE
    return dict(take(line, key, place).lines)


@pytest.fixture
def line():
    running = Line(demo())
    running.run(0.5)
    return running


def test_a_healthy_network_reads_as_the_handbooks_say(line):
    # 110 Ω: two terminators of 220 Ω side by side; 1.1 V idle: M. Felser, PROFIBUS Manual, bus termination.
    dead = read(line, "ohms", "plug of Dryer fan 1")
    assert dead["A to B"] in ("110 Ω", "111 Ω")
    assert dead["A to shield"] == dead["B to shield"] == "open"
    idle = read(line, "volts", "plug of Dryer fan 1")
    assert 0.9 < float(idle["B against A"].split()[0]) < 1.1
    assert idle["VP against DGND"] == "5.00 V"
    wave = read(line, "scope", "plug of Dryer fan 1")
    lowest, highest = (float(wave[name].split()[0].replace("−", "-")) for name in ("lowest", "highest"))
    assert lowest < -1 < 1 < highest
    piece = read(line, "continuity", "between Repeater and Intake conveyor")
    # Type A: 110 Ω/km of loop, so 55 Ω/km a core (cable types, EN 50170); 85 m of it.
    assert piece["A"] == piece["B"] == f"{0.055 * 85:.3g} Ω"


def test_a_missing_terminator_doubles_the_resistance(line):
    line.change(lambda i: i.with_plug(0, 0, terminator_on=False))
    assert read(line, "ohms", "plug of Cooling fan")["A to B"] in ("220 Ω", "221 Ω")
    assert read(line, "look", "plug of Controller")["terminators switched on"] == "none"


@pytest.mark.parametrize("key", ["format differs", "wrong parameters", "ident mismatch"])
def test_a_station_that_refuses_reads_the_same_whenever_one_looks(key):
    fault = by_key(key)
    line = Line(fault.put(demo(), fault.places(demo())[0], 1))
    line.run(0.5)
    seen = set()
    for late in (0.0, 0.001, 0.0013, 0.0117, 0.037):  # the steps of a start follow in milliseconds
        line.run(late)
        seen |= set(read(line, "stations").values())
    assert seen == {
        "controller exchanges data, repeats none, lost none",
        "controller tries to start it, repeats none, lost none",
        "none",
    }


def test_the_desk_sees_what_the_controller_sees(line):
    rows = read(line, "stations")
    assert rows["Cooling fan (12)"] == "controller exchanges data, repeats none, lost none"
    assert rows["stations that the project does not have"] == "none"
    line.change(lambda i: i.with_device("Cooling fan", powered=False))
    line.run(0.5)
    assert read(line, "stations")["Cooling fan (12)"] == "controller gets no answer, repeats many, lost many"
    assert read(line, "diagnosis", "Cooling fan in the project")["bits"] == "Station_Non_Existent"
    assert read(line, "controller")["light for bus faults"] == "lit"
    assert read(line, "io sheet", "Cooling fan in the project")["words in"] == "not valid: no data exchange"


def test_a_station_at_another_address_is_found(line):
    moved = changed(line.installation.device("Cooling fan").settings, "address", 45)
    line.change(lambda i: i.with_device("Cooling fan", settings=moved))
    assert "but active is 12" in str(read(line, "settings", "Cooling fan"))
    line.power_cycle("Cooling fan")
    line.run(1)
    assert read(line, "stations")["stations that the project does not have"] == "45"


def test_the_front_tells_how_the_bus_board_stands(line):
    assert read(line, "front", "Cooling fan")["motor"] == "turns"
    before = read(line, "front", "Cooling fan")
    line.change(lambda i: i.with_device("Cooling fan", board_seated=False))
    line.run(1)
    assert read(line, "front", "Cooling fan") != before
    assert read(line, "look", "plug of Cooling fan")["bus board"] == "not down in its socket"
    assert read(line, "front", "Repeater") == {"supply light": "lit"}
    line.change(lambda i: i.with_device("Repeater", powered=False))
    assert read(line, "front", "Repeater") == {"supply light": "dark"}


def test_the_project_says_if_something_else_was_loaded(line):
    place = "Cooling fan in the project"
    assert read(line, "project", place)["loaded into the controller"] == "the same"
    edited = line.installation.edited.with_station("Cooling fan", data_format="PPO 2")
    line.change(lambda i: replace(i, edited=edited))
    assert read(line, "project", place)["data format"] == "PPO 2"
    assert read(line, "project", place)["loaded into the controller"] == "something else than is saved"


def test_a_stopped_controller_shows_at_its_front_and_in_the_words(line):
    line.change(lambda i: replace(i, running=False))
    line.run(0.2)
    assert read(line, "controller")["switch"] == "stop"
    assert read(line, "io sheet", "Cooling fan in the project")["out, STW1"] == "16#0000"


def test_every_instrument_reads_everywhere_and_twice_the_same(line):
    line.run(8)  # motors have run up
    first, second = every(line), every(line)
    assert {reading.instrument for reading in first} == {each.key for each in instruments()}
    assert differences(first, second) == ()
    assert all(reading.lines and all(seen for _, seen in reading.lines) for reading in first)


def test_what_does_not_exist_is_named(line):
    with pytest.raises(Unknown, match="instrument is 'nose'"):
        instrument("nose")
    with pytest.raises(Unknown, match="can't be at"):
        take(line, "volts", NOWHERE)


def test_each_instrument_that_needs_a_dead_bus_says_how_to_make_it_dead():
    for key in ("ohms", "continuity"):
        assert safe_work.EVERY_STEP in declared(instrument(key).hazards).words


def test_what_stands_still_is_read_without_any_line_that_runs(monkeypatch):
    def started(*_, **__):
        raise AssertionError("The controller was started to read what stands still.")

    monkeypatch.setattr(Line, "__init__", started)
    still = [each.key for each in instruments() if at_rest(each.key)]
    assert {"ohms", "volts", "scope", "look", "settings", "project"} <= set(still)
    for key in still:
        for place in places(demo(), key)[:2]:
            assert look_at(demo(), key, place).lines
