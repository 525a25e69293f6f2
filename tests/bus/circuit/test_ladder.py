"""The ladder: known limits of a line, reciprocity, and the same answer as nodal analysis at direct current."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.circuit.dc import Solved
from helpers.bus.circuit.elements import (
    Circuit,
    Receiver,
    Section,
    Sender,
    Short,
    Tap,
    Terminator,
    evenly_spaced,
    segment_at,
    sender,
)
from helpers.bus.circuit.faults import CATALOGUE, cores_swapped, pin_open, shorted
from helpers.bus.circuit.ladder import Ladder, is_balanced
from helpers.bus.circuit.line import Cable
from helpers.bus.circuit.network import branches
from helpers.bus.circuit.waveform import waveform
from helpers.errors import OutOfRange

FREQUENCY = np.geomspace(10e3, 100e6, 50)
IDEAL = Cable("ideal", 150.0, 5e-9, 0.0, 0.0, 50.0, 0.0)
NOTHING = Tap(Receiver(0.0, 0.0), inductor_h=0.0)


def ended(load_ohm, length_m=100.0):
    """An ideal line with a sender at the left and one resistance at the right."""
    load = Terminator(rt_ohm=load_ohm, rs_ohm=1e12)
    return Circuit((NOTHING, replace(NOTHING, terminators=(load,))), (Section(length_m, IDEAL),))


MATCHED = Sender(2.0, 150.0, 8e-9)  # half its voltage goes out on the line: from +1 V to -1 V


def change(load_ohm):
    """What one long 0 changes at both ends of 100 m, in waves of -2 V; 5 ns/m make 500 ns each way."""
    picture = waveform(ended(load_ohm), [0] * 40, bit_rate=12e6, driver=MATCHED)
    changed = picture.volts - picture.volts[:, :1]
    during = picture.time_s < 40 / 12e6
    return picture.time_s[during], changed[:, during]


@pytest.mark.parametrize("length_m", [0.0, 1.0, 100.0])
def test_a_matched_line_looks_like_its_impedance_at_every_frequency(length_m):
    assert Ladder(ended(150.0, length_m), FREQUENCY).admittance(0) == pytest.approx(1 / 150 + 0j)


@pytest.mark.parametrize(
    ("load_ohm", "far", "back"),
    [(150.0, -2.0, -2.0), (1e9, -4.0, -4.0), (1e-3, 0.0, 0.0), (50.0, -1.0, -1.0), (450.0, -3.0, -3.0)],
)
def test_what_comes_back_from_the_far_end(load_ohm, far, back):
    """Matched: nothing. Open: the wave doubles. Short: it comes back inverted. 50 Ω, 450 Ω: half of it, ∓."""
    time_s, volts = change(load_ohm)
    assert volts[0, (time_s > 30e-9) & (time_s < 970e-9)] == pytest.approx(-2.0, abs=0.02)
    assert volts[0, time_s > 1040e-9] == pytest.approx(back, abs=0.02)
    assert volts[1, time_s < 470e-9] == pytest.approx(0.0, abs=0.02)
    assert volts[1, time_s > 540e-9] == pytest.approx(far, abs=0.02)


def test_the_round_trip_takes_twice_the_delay():
    time_s, volts = change(1e9)
    sent, returned = (time_s[np.argmax(volts[0] < level)] for level in (-1.0, -3.0))
    assert returned - sent == pytest.approx(2 * 100 * 5e-9, abs=3e-9)


def test_a_quarter_wave_turns_a_short_into_an_open():
    """Textbook limit: 150 Ω² / Z, at 500 kHz for 100 m at 5 ns/m."""
    open_again = Ladder(ended(1.0), np.array([500e3])).admittance(0)
    assert open_again == pytest.approx(1 / 150**2 + 0j, rel=1e-6, abs=1e-9)


def test_the_published_terminator_reflects_seven_percent():
    """(171.6 - 150) / (171.6 + 150) = 0.067; 171.6 Ω after M. Felser, PROFIBUS Manual, bus termination."""
    bus = Circuit((NOTHING, replace(NOTHING, terminators=(Terminator(),))), (Section(100.0, IDEAL),))
    seen = 150 * Ladder(bus, FREQUENCY).admittance(0)
    assert abs((1 - seen) / (1 + seen)) == pytest.approx(0.067, abs=0.0005)


def test_a_good_station_with_its_inductors_is_a_piece_of_line():
    """√(4·110 nH / 20 pF) = 148 Ω: at 10 MHz it reflects less than a tenth of what its bare capacitance would."""
    end = replace(NOTHING, terminators=(Terminator(rt_ohm=150.0, rs_ohm=1e12),))
    reflected = []
    for inductor_h in (0.0, 110e-9):
        station = Tap(Receiver(0.0, 20e-12), inductor_h=inductor_h)
        bus = Circuit((NOTHING, station, end), (Section(0.0, IDEAL),) * 2)
        seen = 150 * Ladder(bus, np.array([10e6])).admittance(0)
        reflected.append(abs((1 - seen) / (1 + seen))[0])
    assert reflected[0] == pytest.approx(np.pi * 10e6 * 20e-12 * 150, rel=0.02)  # ωCZ/2, textbook
    assert reflected[1] < reflected[0] / 10


@pytest.mark.parametrize("name", CATALOGUE)
@pytest.mark.parametrize("sending", [0, 2])
def test_at_direct_current_the_ladder_is_the_network_of_the_meter(name, sending):
    """One circuit, two ways to solve it; DGND on the shield in both."""
    bus, driver = CATALOGUE[name](evenly_spaced(5, 100)), sender()
    slow = Ladder(bus, np.array([1e-6])).transfer(sending, driver)[:, 0]
    one, none = (Solved(branches(bus, dgnd="earthed", driver=(sending, driver, level))) for level in (1.0, 0.0))
    for n in range(5):
        pins = (n, "device B"), (n, "device A")
        swing = (one.volts(*pins) - none.volts(*pins)) / driver.open_circuit_v
        assert slow[n].real == pytest.approx(swing, rel=1e-3, abs=1e-4)
        assert abs(slow[n].imag) < 1e-3


@settings(max_examples=20)
@given(
    st.lists(st.floats(0, 80), min_size=2, max_size=6).map(sorted),
    st.lists(st.floats(0, 6), min_size=6, max_size=6),
    st.booleans(),
    st.data(),
)
def test_what_one_station_hears_from_another_it_would_hear_from_it(places, stubs, unbalanced, data):
    """Reciprocity, whatever lies between."""
    bus = segment_at(places)
    for n in range(len(places)):
        bus = bus.with_plug(n, stub_m=stubs[n])
    if unbalanced:
        bus = shorted(pin_open(bus, "A", 1, ohm=100.0), "B", "shield", 0, ohm=50.0)
        assert not is_balanced(bus)
    near, far = (data.draw(st.integers(0, len(places) - 1)) for _ in range(2))
    ladder, feeble = Ladder(bus, FREQUENCY), Sender(1.0, 1e12, 0.0)  # loads nothing, wherever it sits
    there, back = ladder.transfer(near, feeble)[far], ladder.transfer(far, feeble)[near]
    assert abs(there - back).max() < 1e-6 * abs(there).max()


@pytest.mark.parametrize("sending", [0, 4])
def test_two_modes_give_what_one_gives_where_nothing_is_unbalanced(sending):
    bus = evenly_spaced(8, 100).with_plug(3, stub_m=2.0)
    nearly = pin_open(bus, "A", 2, ohm=1e-9)
    assert not is_balanced(nearly)
    ours, theirs = (Ladder(each, FREQUENCY).transfer(sending, sender()) for each in (bus, nearly))
    assert ours == pytest.approx(theirs, rel=1e-9)


def test_a_swapped_station_sends_and_hears_upside_down():
    bus = evenly_spaced(4, 50)
    healthy, swapped = (Ladder(each, FREQUENCY) for each in (bus, cores_swapped(bus, 2)))
    heard = swapped.transfer(0, sender())
    assert heard[2] == pytest.approx(-healthy.transfer(0, sender())[2])
    assert heard[3] == pytest.approx(healthy.transfer(0, sender())[3])
    assert swapped.transfer(2, sender())[0] == pytest.approx(-healthy.transfer(2, sender())[0])
    assert swapped.transfer(2, sender())[2] == pytest.approx(healthy.transfer(2, sender())[2])


def test_trunk_and_pins_differ_on_a_stub_only():
    ladder = Ladder(evenly_spaced(3, 50).with_plug(1, stub_m=5.0), FREQUENCY)
    pins, trunk = ladder.transfer(0, sender()), ladder.transfer(0, sender(), trunk=True)
    assert pins[[0, 2]] == pytest.approx(trunk[[0, 2]])
    assert abs(pins[1] - trunk[1]).max() > 0.1


@pytest.mark.parametrize("plug", [-1, 3])
def test_a_plug_that_is_not_there_is_refused(plug):
    with pytest.raises(OutOfRange, match="counted from 0"):
        Ladder(evenly_spaced(3, 50), FREQUENCY).transfer(plug, sender())
    with pytest.raises(OutOfRange, match="counted from 0"):
        Ladder(evenly_spaced(3, 50), FREQUENCY).admittance(plug)


@pytest.mark.parametrize("dgnd", [True, False])
@pytest.mark.parametrize("supply", ["on", "open", "dead"])
@pytest.mark.parametrize("fault", [Short("A", "B", ohm=47.0), Short("A", "shield", ohm=47.0), Short("A", "B")])
def test_terminators_and_shorts_at_a_plug_are_those_of_the_meter(supply, dgnd, fault):
    plug = {"terminators": (Terminator(supply=supply, dgnd=dgnd),), "faults": (fault,), "stub_m": 3.0}
    bus, driver = evenly_spaced(4, 60).with_plug(2, **plug), sender()
    slow = Ladder(bus, np.array([1e-6])).transfer(0, driver)[:, 0]
    one, none = (Solved(branches(bus, dgnd="earthed", driver=(0, driver, level))) for level in (1.0, 0.0))
    for n in range(4):
        pins = (n, "device B"), (n, "device A")
        swing = (one.volts(*pins) - none.volts(*pins)) / driver.open_circuit_v
        assert slow[n].real == pytest.approx(swing, rel=1e-3, abs=1e-4)
