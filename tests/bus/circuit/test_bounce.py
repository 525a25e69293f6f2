"""Bounces by hand: published values, the limits of a line, and the same edges out of the whole circuit."""

from math import inf

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.circuit.bounce import Bouncing, bouncing, loaded_ohm, parallel, reflection, terminator_ohm
from helpers.bus.circuit.elements import Circuit, Receiver, Section, Sender, Tap, Terminator, sender
from helpers.bus.circuit.ladder import Ladder
from helpers.bus.circuit.line import Cable, cable
from helpers.bus.circuit.waveform import waveform
from helpers.errors import OutOfRange

IDEAL = Cable("ideal", 150.0, 4.5e-9, 0.0, 0.0, 50.0, 0.0)
NOTHING = Tap(Receiver(0.0, 0.0), inductor_h=0.0)


def test_the_terminator_and_its_reflection():
    """220 Ω and 2 × 390 Ω (M. Felser, PROFIBUS Manual, bus termination) on 150 Ω: 171.6 Ω, 0.067, by calculation."""
    assert terminator_ohm() == pytest.approx(171.6)
    assert reflection(171.6, 150) == pytest.approx(0.067, abs=0.0005)
    assert terminator_ohm(Terminator(supply="dead")) == terminator_ohm()
    assert terminator_ohm(Terminator(supply="open")) == 220


def test_the_limits_of_a_line():
    """Matched, open, shorted; any textbook on lines."""
    assert [reflection(ohm, 150) for ohm in (150, inf, 0)] == [0, 1, -1]


@given(st.floats(1e-3, 1e6), st.floats(1e-3, 1e6))
def test_exchanging_end_and_line_turns_the_sign(end, line):
    assert reflection(end, line) == pytest.approx(-reflection(line, end))
    assert -1 <= reflection(end, line) <= 1


def test_side_by_side():
    assert parallel(200, 200) == pytest.approx(100)
    assert parallel(200, 0) == 0
    assert parallel(200, inf) == 200
    assert parallel() == inf


@pytest.mark.parametrize(("near_ohm", "far_ohm"), [(50.0, 1e9), (150.0, 1e9), (50.0, 400.0), (50.0, 60.0), (50.0, 1.0)])
def test_the_steps_are_those_of_the_whole_circuit(near_ohm, far_ohm):
    """A second method: the circuit's Fourier sum on a line without losses, sender at the left end."""
    end = Tap(Receiver(0.0, 0.0), (Terminator(rt_ohm=far_ohm, rs_ohm=1e12),), 0.0)
    bus = Circuit((NOTHING, end), (Section(200.0, IDEAL),))
    picture = waveform(bus, (0,) * 40 + (1,) * 200, bit_rate=6e6, driver=Sender(2.0, near_ohm, 8e-9))
    first = 2 * 2.0 * 150 / (150 + near_ohm)  # the edge goes from +2 V to −2 V; the line divides with the source
    hand = bouncing(200, far_ohm, near_ohm=near_ohm, kind=IDEAL)
    assert hand.delay_s == pytest.approx(900e-9)
    for arrival in hand.arrivals(6):
        plug = 1 if arrival.at == "far" else 0
        at_rest = picture.volts[plug, 0]
        found = np.interp(arrival.time_s + 450e-9, picture.time_s, picture.volts[plug])
        assert at_rest - found == pytest.approx(first * arrival.level, abs=0.01)


def test_the_usual_sender_beside_its_terminator():
    source, one = sender().source_ohm, terminator_ohm()
    assert bouncing(10, inf).near == pytest.approx(reflection(source * one / (source + one), 150))


@given(st.floats(-0.99, 0.99), st.floats(-1, 1))
def test_the_level_comes_to_rest_where_it_should_and_when(near, far):
    line = Bouncing(1e-6, near, far)
    settled = line.settled_s(0.1)
    for arrival in line.arrivals(61)[::2]:
        assert arrival.at == "far"
        off = abs(arrival.level - line.final)
        if arrival.time_s >= settled * (1 - 1e-9):
            assert off <= 0.1 * line.final + 1e-9
        elif line.final > 1e-6:
            assert off > 0.1 * line.final - 1e-9


def test_a_matched_end_is_at_rest_with_the_first_wave():
    assert Bouncing(1e-6, -0.6, 0.0).settled_s() == 1e-6
    assert Bouncing(1e-6, 0.0, 1.0).settled_s() == 1e-6


@pytest.mark.parametrize(("spacing_m", "farad", "henry"), [(0.5, 50e-12, 0.0), (1.0, 20e-12, 110e-9), (0.2, 20e-12, 0)])
def test_a_loaded_line_ended_in_its_own_impedance_shows_that_impedance(spacing_m, farad, henry):
    """A second method: sixty stations in the circuit, at a frequency whose wave is far longer than their distance."""
    ohm = loaded_ohm(spacing_m, capacitance_f=farad, inductor_h=henry, kind=IDEAL)
    plug = Tap(Receiver(0.0, farad), inductor_h=henry)
    end = Tap(Receiver(0.0, 0.0), (Terminator(rt_ohm=ohm, rs_ohm=1e12),), henry)
    bus = Circuit((*[plug] * 60, end), (Section(spacing_m, IDEAL),) * 60)
    seen = 1 / Ladder(bus, np.array([300e3])).admittance(0)[0]
    assert abs(seen) == pytest.approx(ohm, rel=0.02)


def test_the_limits_of_a_loaded_line():
    assert loaded_ohm(1, capacitance_f=0) == pytest.approx(cable().impedance_ohm)
    assert loaded_ohm(0, capacitance_f=20e-12, inductor_h=110e-9) == pytest.approx(148, abs=0.5)
    assert loaded_ohm(1000, capacitance_f=50e-12) == pytest.approx(150, rel=0.001)


def test_what_cannot_be_is_refused():
    for wrong in (
        lambda: reflection(-1, 150),
        lambda: reflection(float("nan"), 150),
        lambda: reflection(100, 0),
        lambda: parallel(10, -1),
        lambda: Bouncing(-1e-9, 0, 0),
        lambda: Bouncing(1e-9, 0, 1.1),
        lambda: Bouncing(1e-9, -1.2, 0),
        lambda: Bouncing(1e-9, 1, 1).final,
        lambda: Bouncing(1e-9, 1, 1).settled_s(),
        lambda: Bouncing(1e-9, 0, 1).settled_s(0),
        lambda: loaded_ohm(0, capacitance_f=0),
        lambda: loaded_ohm(-1, capacitance_f=1e-12),
        lambda: loaded_ohm(inf, capacitance_f=1e-12),
    ):
        with pytest.raises(OutOfRange, match=r"allowed|rest"):
            wrong()
