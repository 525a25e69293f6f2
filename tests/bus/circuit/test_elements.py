"""What a segment may be built of, and what is refused."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.cable.laid import even_line
from helpers.bus.cable.termination import cut_parts, terminated
from helpers.bus.circuit.dc import Solved
from helpers.bus.circuit.elements import (
    Break,
    Circuit,
    Receiver,
    Section,
    Sender,
    Short,
    Tap,
    Terminator,
    circuit_of,
    evenly_spaced,
    segment_at,
    sender,
)
from helpers.bus.circuit.line import Cable, cable
from helpers.bus.circuit.margin import highest_bit_rate
from helpers.bus.circuit.network import branches
from helpers.errors import OutOfRange, Unknown


@pytest.mark.parametrize(
    ("call", "names"),
    [
        (lambda: Receiver(capacitance_f=-1e-12), "capacitance of a station is -1e-12 F"),
        (lambda: Receiver(capacitance_f=math.nan), "capacitance of a station is nan"),
        (lambda: Receiver(capacitance_f=1.0), "capacitance of a station is 1 F"),
        (lambda: Receiver(unit_loads=-1), "unit loads of a receiver is -1"),
        (lambda: Section(-5.0), "length of cable is -5 m"),
        (lambda: Section(20_000.0), "length of cable is 20000 m; allowed is 0 to 3000 m"),
        (lambda: Section(5.0, faults=(Short("A", "B", at_m=6.0),)), "place of the fault in this section is 6 m"),
        (lambda: Short("A", "A"), "joins two conductors"),
        (lambda: Short("A", "B", ohm=-1), "resistance of the short is -1"),
        (lambda: Break("A", ohm=-1), "contact resistance is -1"),
        (lambda: Break("A", ohm=math.nan), "contact resistance is nan"),
        (lambda: Terminator(rt_ohm=0), "terminating resistance is 0"),
        (lambda: Terminator(rs_ohm=-390), "resistance to the supply is -390"),
        (lambda: Sender(0.0, 50.0, 1e-9), "voltage of the sender is 0"),
        (lambda: Sender(4.0, 0.0, 1e-9), "source resistance of the sender is 0"),
        (lambda: Sender(4.0, 50.0, -1e-9), "rise time of the sender is -1e-09"),
        (lambda: Tap(inductor_h=-1.0), "inductor of a plug is -1"),
        (lambda: Tap(inductor_h=1.0), "inductor of a plug is 1 H"),
        (lambda: Tap(stub_m=-3.0), "length of a stub is -3"),
        (lambda: Cable("x", 0.0, 5e-9, 0.1, 0.0, 50.0, 0.01), "cable impedance is 0"),
        (lambda: Circuit((Tap(),) * 3, (Section(1.0),)), "3 plugs has 1 sections"),
        (lambda: Circuit((), ()), "number of plugs on the segment is 0"),
        (lambda: evenly_spaced(0, 10), "number of stations is 0"),
        (lambda: evenly_spaced(200, 100), "number of stations is 200"),
        (lambda: evenly_spaced(127, 100), "number of stations is 127"),
        (lambda: evenly_spaced(8, -100), "length of the segment is -100"),
        (lambda: evenly_spaced(8, math.inf), "length of the segment is inf"),
        (lambda: evenly_spaced(32, 4000), "length of the segment is 4000 m"),
        (lambda: Tap(stub_m=3001.0), "length of a stub is 3001 m"),
        (lambda: segment_at([]), "no station"),
        (lambda: segment_at([0, 50, 40]), "length of cable is -10 m"),
        (lambda: evenly_spaced(3, 10).with_plug(3, stub_m=1.0), "plug is 3; allowed is 0 to 2"),
        (lambda: evenly_spaced(3, 10).with_plug(-4, stub_m=1.0), "plug is -4"),
        (lambda: evenly_spaced(3, 10).with_section(2, length_m=1.0), "section is 2; allowed is 0 to 1"),
    ],
)
def test_what_is_refused_and_with_what_sentence(call, names):
    with pytest.raises(OutOfRange, match=names) as refusal:
        call()
    assert str(refusal.value).endswith(".")


@pytest.mark.parametrize(
    ("call", "known"),
    [
        (lambda: cable("C"), "A, B"),
        (lambda: Short("A", "C"), "A, B, shield"),
        (lambda: Break("DGND"), "A, B, shield"),
        (lambda: Terminator(supply="off"), "on, open, dead"),
    ],
)
def test_unknown_names_are_refused_with_the_list(call, known):
    with pytest.raises(Unknown, match=known):
        call()


def test_both_ends_of_what_is_allowed():
    assert len(evenly_spaced(126, 100).plugs) == 126
    assert evenly_spaced(1, 0).length_m == 0
    assert len(evenly_spaced(1, 0).plugs[0].terminators) == 2
    assert Section(0.0).length_m == 0
    assert Section(5.0, faults=(Short("A", "B", at_m=5.0),)).faults


@given(st.lists(st.floats(0, 50), max_size=6), st.floats(50, 60))
def test_the_pieces_of_a_section_add_up_to_it(places, length_m):
    section = Section(length_m, faults=tuple(Break("A", at_m=place) for place in places))
    pieces = list(section.parts())
    assert sum(piece for piece in pieces if isinstance(piece, float)) == pytest.approx(length_m)
    faults = [piece for piece in pieces if not isinstance(piece, float)]
    assert [fault.at_m for fault in faults] == sorted(places)


def test_the_usual_and_the_weakest_sender_into_the_test_load():
    for volts, driver in ((2.1, sender()), (1.5, sender(1.5))):  # 1.5 V: Texas Instruments SLLA628
        assert driver.open_circuit_v * 54 / (54 + driver.source_ohm) == pytest.approx(volts)


@pytest.mark.parametrize(
    ("plug", "exchanged", "side"),
    [
        (0, False, "left"),
        (1, False, "right"),
        (2, False, "right"),
        (0, True, "right"),
        (1, True, "left"),
        (2, True, "left"),
    ],
)
def test_which_side_a_cutting_plug_cuts_off(plug, exchanged, side):
    bus = evenly_spaced(3, 10).with_plug(
        plug, terminators=(Terminator(),), cuts_outgoing=True, sides_exchanged=exchanged
    )
    assert bus.cut_side(plug) == side
    assert bus.with_plug(plug, terminators=()).cut_side(plug) is None
    assert bus.with_plug(plug, cuts_outgoing=False).cut_side(plug) is None
    assert bus.with_plug(plug, stub_m=1.0).cut_side(plug) is None


def test_stations_and_positions():
    bus = segment_at([0, 10, 25.5]).with_plug(1, receiver=None)
    assert bus.stations == (0, 2)
    assert bus.positions_m == (0, 10, 25.5)
    assert bus.length_m == 25.5


# -- the circuit of a segment as it is laid, against what the rules say of its switches

LINE = even_line(stations=6, length_m=60, bit_rate=1_500_000)


@given(
    st.lists(st.tuples(st.booleans(), st.booleans(), st.sampled_from(["cutting", "through"])), min_size=6, max_size=6)
)
def test_the_rules_and_the_circuit_cut_the_line_into_the_same_pieces(switches):
    plugs = tuple(
        replace(device, terminator_on=on, sides_exchanged=exchanged, plug_type=plug)
        for device, (on, exchanged, plug) in zip(LINE.plugs, switches, strict=True)
    )
    planned = replace(LINE, plugs=plugs)
    solved = Solved(branches(circuit_of(planned), devices="unplugged"))
    together = [piece for piece in cut_parts(planned) for _ in piece]
    for a in range(6):
        for b in range(6):
            assert solved.connected((a, "A"), (b, "A")) == (together[a] is together[b])


def test_devices_become_plugs_with_what_they_carry():
    fast = terminated(even_line(stations=4, length_m=90, bit_rate=12_000_000, stub_length_m=1.5))
    bus = circuit_of(fast)
    assert [len(plug.terminators) for plug in bus.plugs] == [1, 0, 0, 1]
    assert [plug.stub_m for plug in bus.plugs] == [0, 1.5, 1.5, 0]
    assert highest_bit_rate(bus) is not None


def test_a_device_without_supply_leaves_its_terminator_dead_and_its_own_supply_stays_on():
    off = replace(LINE.plugs[5], powered=False, terminator_on=True, unit_load=0.5, stub_capacitance_f=40e-12)
    box = replace(LINE.plugs[0], kind="terminator", terminator_on=False)
    bus = circuit_of(replace(LINE, plugs=(box, *LINE.plugs[1:5], off)))
    assert bus.plugs[5].terminators[0].supply == "dead"
    assert (bus.plugs[5].receiver.unit_loads, bus.plugs[5].receiver.capacitance_f) == (0.5, 40e-12)
    assert bus.plugs[0].receiver is None and bus.plugs[0].terminators[0].supply == "on"
