"""Each fault changes what it says and nothing else."""

import math

import pytest

from helpers.bus.circuit import faults
from helpers.bus.circuit.elements import Break, Short, evenly_spaced
from helpers.bus.circuit.line import cable
from helpers.errors import OutOfRange

BUS = evenly_spaced(5, 100)


@pytest.mark.parametrize("name", faults.CATALOGUE)
def test_every_fault_of_the_catalogue_changes_the_segment_and_leaves_the_old_one(name):
    before = evenly_spaced(5, 100)
    changed = faults.CATALOGUE[name](before)
    assert before == BUS
    assert changed != before
    assert len(changed.plugs) == 5 and changed.length_m == 100
    assert (
        sum(a != b for a, b in zip(before.plugs + before.sections, changed.plugs + changed.sections, strict=True)) == 1
    )
    assert faults.CATALOGUE[name](evenly_spaced(3, 10))


def test_where_a_fault_sits():
    assert faults.terminator_missing(BUS).plugs[4].terminators == ()
    assert len(faults.terminator_added(BUS).plugs[4].terminators) == 2
    assert faults.terminator_unpowered(BUS, 0, supply="dead").plugs[0].terminators[0].supply == "dead"
    assert faults.core_open(BUS, "A", 2, at_m=3.0).sections[2].faults == (Break("A", 3.0, math.inf),)
    assert faults.shorted(BUS, "A", "B", 1, at_m=2.0).sections[1].faults == (Short("A", "B", 2.0, 0.0),)
    assert faults.foreign_cable(BUS, 3).sections[3].cable == cable("B")
    assert faults.capacitance_added(BUS, 2, 1e-9).plugs[2].receiver.capacitance_f == pytest.approx(1.02e-9)
    assert faults.capacitance_added(BUS.with_plug(2, receiver=None), 2, 1e-9).plugs[2].receiver.unit_loads == 0
    assert faults.cores_swapped(faults.cores_swapped(BUS, 2), 2) == BUS


def test_faults_add_up():
    twice = faults.bad_contact(faults.core_open(BUS, "A", 1), "B", 1, ohm=5.0)
    assert len(twice.sections[1].faults) == 2
    assert len(faults.pin_open(faults.pin_open(BUS, "A", 1), "B", 1).plugs[1].faults) == 2


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: faults.terminator_unpowered(BUS, 2), "plug 2 has no terminator"),
        (lambda: faults.core_open(BUS, "A", 4), "section is 4"),
        (lambda: faults.core_open(BUS, "A", -1), "section is -1"),
        (lambda: faults.core_open(BUS, "A", 0, at_m=26.0), "place of the fault in this section is 26 m"),
        (lambda: faults.core_open(evenly_spaced(1, 0), "A"), "one plug has no cable"),
        (lambda: faults.capacitance_added(BUS, 2, -1e-9), "capacitance of a station"),
        (lambda: faults.terminator_missing(BUS, 5), "plug is 5"),
        (lambda: faults.cluster(0), "number of crowded stations is 0"),
        (lambda: faults.cluster(5, spacing_m=-1.0), "length of cable is -1"),
    ],
)
def test_bad_places_are_refused_with_a_sentence(call, sentence):
    with pytest.raises(OutOfRange, match=sentence):
        call()


@pytest.mark.parametrize("name", ["terminator_added", "cores_swapped", "pin_open", "sides_exchanged"])
def test_a_plug_that_is_not_there_is_refused(name):
    with pytest.raises(OutOfRange, match="plug is 9"):
        getattr(faults, name)(BUS, **({"core": "A"} if name == "pin_open" else {}), plug=9)
