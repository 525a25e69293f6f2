"""For every fault of the catalogue: what it changes, and a reading by which it shows. A new fault needs a row here.

What each reading says, with its sources, is tested beside the fault and the instrument; the plant is invented.
"""

from dataclasses import replace
from functools import cache
from typing import NamedTuple

import pytest

from helpers.facts import DATA
from helpers.line.faults.catalogue import FAULTS
from helpers.line.instruments.catalogue import NOWHERE, places, take
from helpers.line.instruments.reading import instrument
from helpers.line.plant.build import installation_of
from helpers.line.plant.compare import differences
from helpers.line.plant.place import find
from helpers.line.traffic.line import Line
from helpers.plan.read import read_plan

HEAD, PIECE = "plug of Controller", "between Controller and Engineering computer"
BOX = "plug of Discharge screw"


class Shown(NamedTuple):
    """Where a fault is, what it changes there, and the instrument, its place and the line by which that shows."""

    place: str
    changes: str
    instrument: str
    at: str
    line: str
    bit_rate: float = 1.5e6
    after_s: float = 8.0


def project(changes, line, name="Remote I/O", **more):
    place = f"{name} in the project"
    return Shown(place, f"{name}: {changes}, loaded", "project", place, line, **more)


def setting(changes, line, name="Dryer fan 1"):
    return Shown(name, f"{name}: {changes}", "settings", name, line)


def program(line):
    return Shown("program for Dryer fan 1", "Dryer fan 1: program, loaded", "front", "Dryer fan 1", line)


FIRST, LAST = "segment 1, plug 1 (Controller)", "segment 2, plug 4 (Discharge screw)"
CABLE = "cable between Controller and Engineering computer"
SHOWN = {
    "terminator missing": Shown(HEAD, FIRST, "ohms", HEAD, "A to B"),
    "box missing": Shown(BOX, LAST, "ohms", BOX, "A to B"),
    "terminator doubled": Shown(HEAD, FIRST, "ohms", HEAD, "A to B"),
    "plug and box": Shown(BOX, LAST, "ohms", BOX, "A to B"),
    "terminator in the middle": Shown(
        "plug of Engineering computer", "segment 1, plug 2 (Engineering computer)", "ohms", HEAD, "A to B"
    ),
    "cut off in the middle": Shown(
        "plug of Remote I/O", "segment 1, plug 3 (Remote I/O)", "stations", "", "Dryer fan 1 (10)"
    ),
    "terminator unpowered": Shown(HEAD, FIRST, "volts", HEAD, "B against A"),
    "box unpowered": Shown(BOX, LAST, "volts", BOX, "B against A"),
    "sides exchanged": Shown(HEAD, FIRST, "look", HEAD, "bus cable"),
    "core open": Shown(PIECE, CABLE, "ohms", HEAD, "A to B"),
    "cores swapped": Shown(HEAD, FIRST, "look", HEAD, "cores"),
    "pin open": Shown(
        "plug of Cooling fan", "segment 1, plug 6 (Cooling fan)", "stations", "", "Cooling fan (12)"
    ),
    "short": Shown(PIECE, CABLE, "ohms", HEAD, "A to B"),
    "short to shield": Shown(PIECE, CABLE, "ohms", HEAD, "A to shield"),
    "bad contact": Shown(PIECE, CABLE, "continuity", PIECE, "A"),
    "loose core": Shown(PIECE, CABLE, "tug", HEAD, "A"),
    "stub": Shown(
        "plug of Engineering computer", "segment 1, plug 2 (Engineering computer)", "look",
        "plug of Engineering computer", "stub",
    ),
    "crowded": Shown("segment 1", CABLE, "scope", HEAD, "highest", bit_rate=12e6),
    "capacitance": Shown(HEAD, FIRST, "scope", HEAD, "highest"),
    "too long": Shown(
        "between Remote I/O and Dryer fan 1", "cable between Remote I/O and Dryer fan 1", "continuity",
        "between Remote I/O and Dryer fan 1", "A",
    ),
    "wrong cable": Shown(PIECE, CABLE, "look", HEAD, "print on the cable"),
    "overloaded": Shown("plug of Remote I/O", "segment 1, plug 3 (Remote I/O)", "volts", HEAD, "B against A"),
    "shield open": Shown(PIECE, CABLE, "look", HEAD, "shield"),
    "earth wire missing": Shown(
        "Dryer fan 1", "Dryer fan 1: earth wire of the bus board", "look", "plug of Dryer fan 1",
        "earth wire of the board",
    ),
    "beside motor cable": Shown(
        "between Repeater and Intake conveyor", "way of the cable between Repeater and Intake conveyor", "look",
        "plug of Repeater in segment 2", "beside a motor cable",
    ),
    "duplicate address": setting("address that is set", "address", name="Remote I/O"),
    "wrong address": setting("address that is set", "address", name="Remote I/O"),
    "address not active": setting("address that is active", "Station address"),
    "address as delivered": setting("address that is set", "address", name="Remote I/O"),
    "duplicate in the project": project("address", "address"),
    "duplicate over the bus": setting("address that is active", "Station address", name="Dust filter valve"),
    "bit rate unsupported": Shown(
        "Remote I/O", "Remote I/O: bit rates that it can do", "stations", "", "Remote I/O (3)"
    ),
    "run source local": setting("run source that is active", "Run command from"),
    "setpoint source local": setting("setpoint source that is active", "Setpoint from"),
    "format differs": setting("data format that is active", "Data format"),
    "description outdated": project("format", "data format"),
    "ident mismatch": project("ident number", "ident number"),
    "wrong parameters": project("parameter octets", "parameter bytes"),
    "not loaded": project("address", "loaded into the controller"),
    "watchdog short": project("watchdog", "watchdog", bit_rate=93_750.0),
    "program slow": Shown(
        "Controller", "controller: time of its program, loaded", "controller", "", "program cycle"
    ),
    "controller in stop": Shown("Controller", "controller: switch of its program", "controller", "", "switch"),
    "bit 10 missing": program("Run"),
    "start sequence": program("Run"),
    "bytes swapped": program("Run"),
    "scaling wrong": program("motor"),
    "task stands": Shown(
        "program for Intake conveyor", "Intake conveyor: program, loaded", "io sheet",
        "Intake conveyor in the project", "out, PKE",
    ),
    "board loose": Shown(
        "Dryer fan 1", "Dryer fan 1: seat of the bus board", "look", "plug of Dryer fan 1", "bus board"
    ),
    "supply off": Shown("Remote I/O", "Remote I/O: supply", "front", "Remote I/O", "supply light"),
    "supply drops": Shown(
        "Remote I/O", "Remote I/O: supply that drops", "stations", "", "Remote I/O (3)", after_s=60.0
    ),
    "fault returns": Shown("Dryer fan 1", "Dryer fan 1: fault that comes back", "front", "Dryer fan 1", "Run"),
}  # fmt: skip


@cache
def mill(bit_rate):
    return installation_of(replace(read_plan(DATA / "demo/saltmarsh-mill").networks[0], bit_rate=bit_rate))


@cache
def running(bit_rate, after_s):
    line = Line(mill(bit_rate))
    line.run(after_s)
    return line


def seen(line, shown):
    """What stands in the line of the reading by which the fault shows."""
    where = find(shown.at, places(line.installation, shown.instrument)) if shown.at else NOWHERE
    return dict(take(line, shown.instrument, where).lines)[shown.line]


@pytest.mark.parametrize("fault", FAULTS, ids=[fault.key for fault in FAULTS])
def test_every_fault_changes_something_and_shows_in_a_reading(fault):
    shown = SHOWN.get(fault.key)
    assert shown, f"Nothing says by which reading the fault {fault.key!r} shows: give it a row in SHOWN of this file."
    plan = mill(shown.bit_rate)
    broken = fault.put(plan, find(shown.place, fault.places(plan)))
    assert shown.changes in differences(broken, plan)
    if not instrument(shown.instrument).moves:
        assert seen(Line(broken), shown) != seen(Line(plan), shown)
        return
    line = Line(broken)
    line.run(shown.after_s)
    assert seen(line, shown) != seen(running(shown.bit_rate, shown.after_s), shown)


def test_no_row_is_left_of_a_fault_that_is_gone():
    assert set(SHOWN) <= {fault.key for fault in FAULTS}
