"""The same segments in ngspice, a general-purpose circuit simulator, written independently in `in_spice`.

ngspice has no skin effect, so cables are taken with constant resistance here; scikit-rf compares with it.
"""

from dataclasses import replace

import in_spice
import numpy as np
import pytest
from receiver import receiver_by_hand

from helpers.bus.circuit.dc import Solved
from helpers.bus.circuit.elements import Receiver, Tap, Terminator, evenly_spaced, segment_at, sender
from helpers.bus.circuit.faults import (
    CATALOGUE,
    capacitance_added,
    cores_swapped,
    pin_open,
    shorted,
    terminator_missing,
)
from helpers.bus.circuit.ladder import Ladder
from helpers.bus.circuit.line import cable
from helpers.bus.circuit.margin import sampled
from helpers.bus.circuit.network import branches
from helpers.bus.circuit.waveform import waveform
from helpers.bus.telegram.characters import character_bits

pytestmark = in_spice.outside

DRIVER = sender()
TELEGRAM = [int(bit) for bit in np.random.default_rng(64).integers(0, 2, 64)]


def constant(segment, *, lossless=False):
    """The segment with cable of constant resistance, or of none."""

    def changed(kind):
        return replace(kind, skin_ohm=0.0, loop_ohm_per_m=0.0 if lossless else kind.loop_ohm_per_m)

    return replace(
        segment,
        sections=tuple(replace(section, cable=changed(section.cable)) for section in segment.sections),
        plugs=tuple(replace(plug, stub_cable=changed(plug.stub_cable)) for plug in segment.plugs),
    )


def assert_same_response(segment, sending, folder, netlist=in_spice.two_wires):
    """Within 0.1 dB and 1° at every station, 10 kHz to 100 MHz, wherever more than a microvolt per volt arrives."""
    frequency, theirs = in_spice.ac(netlist(segment, sending, DRIVER), folder)
    ours = Ladder(segment, frequency).transfer(sending, DRIVER)
    heard = abs(theirs) > 1e-6
    assert heard[sending].all()
    assert (abs(ours[~heard]) < 2e-6).all()
    ratio = ours[heard] / theirs[heard]
    assert abs(20 * np.log10(abs(ratio))).max() < 0.1
    assert abs(np.angle(ratio, deg=True)).max() < 1


def one_wire(segment, sending, driver):
    return in_spice.one_wire(segment, sending, driver, "dc 0 ac 1")


@pytest.mark.parametrize("stations", [2, 8, 32])
def test_response_of_a_healthy_segment(stations, tmp_path):
    assert_same_response(constant(evenly_spaced(stations, 100)), stations // 2, tmp_path, one_wire)


@pytest.mark.parametrize("sending", [0, 3])
def test_response_with_stubs_with_and_without_a_station(sending, tmp_path):
    bus = constant(evenly_spaced(8, 150)).with_plug(3, stub_m=3.0).with_plug(6, stub_m=6.6, receiver=None)
    assert_same_response(constant(bus), sending, tmp_path, one_wire)


def test_response_of_uneven_distances_another_cable_and_plugs_without_inductors(tmp_path):
    bus = segment_at([0, 1, 1.5, 40, 41, 100], kind="B", plug=Tap(Receiver(0.5, 50e-12), inductor_h=0.0))
    assert_same_response(constant(bus), 2, tmp_path, one_wire)


@pytest.mark.parametrize("name", CATALOGUE)
def test_response_with_each_fault_both_cores_and_the_shield(name, tmp_path):
    assert_same_response(constant(CATALOGUE[name](evenly_spaced(8, 100))), 1, tmp_path)


def test_response_with_several_faults_at_a_sender_on_a_stub(tmp_path):
    bus = evenly_spaced(6, 80).with_plug(2, stub_m=2.0, terminators=(Terminator(supply="open"), Terminator(dgnd=False)))
    bus = capacitance_added(pin_open(cores_swapped(bus, 2), "B", 2, ohm=47.0), 4, 200e-12)
    bus = shorted(shorted(bus, "A", "shield", 3, at_m=5.0, ohm=33.0), "A", "B", 1, at_m=16.0, ohm=500.0)
    assert_same_response(constant(bus), 2, tmp_path)


SIX = segment_at([0, 12, 13, 55, 90, 140]).with_plug(3, stub_m=4.0)
CHARACTER = TELEGRAM[:11]


@pytest.mark.parametrize(
    ("bus", "sending", "bits", "bit_rate", "lossless"),
    [
        (evenly_spaced(2, 100), 0, TELEGRAM[:22], 12e6, False),
        (evenly_spaced(8, 100), 0, TELEGRAM, 12e6, True),
        (evenly_spaced(32, 100), 0, TELEGRAM[:22], 12e6, True),
        (evenly_spaced(2, 100), 0, (0, 1, 0), 1.5e6, False),
        (SIX, 1, CHARACTER, 1.5e6, True),
        (terminator_missing(SIX), 1, CHARACTER, 1.5e6, True),
        (terminator_missing(evenly_spaced(12, 180)), 5, CHARACTER, 1.5e6, True),
        (terminator_missing(evenly_spaced(12, 180)), 0, (0, 1, 1), 500e3, True),
        (terminator_missing(evenly_spaced(3, 180)), 0, (0, 1), 93.75e3, True),
    ],
)
def test_waveform_within_one_percent(bus, sending, bits, bit_rate, lossless, tmp_path):
    """On the whole, at the peaks, and without losses at every moment; edges of 8 ns whatever the bit rate.

    With resistance ngspice's line costs minutes for many stations or many microseconds, and after some thousand steps
    its level drifts by a tenth of a volt; there the cable is taken without it. Without, its steps are an eightieth of
    an edge: with longer ones it is ngspice that is off.
    """
    bus, bit_s = constant(bus, lossless=lossless), 1 / bit_rate
    ours = waveform(bus, bits, bit_rate=bit_rate, sending=sending, driver=DRIVER)
    net = in_spice.one_wire(bus, sending, DRIVER, in_spice.edges(bits, bit_rate, DRIVER), lossless=lossless)
    step_s = 0.1e-9 if lossless else 1e-9
    times, volts = in_spice.tran(net, tmp_path, step_s=step_s, stop_s=(2 + len(bits)) * bit_s)
    for plug, theirs in enumerate(volts):
        time_s, seen = ours.trace(plug, -bit_s, (len(bits) - 0.01) * bit_s)
        expected = np.interp(time_s + 2 * bit_s, times, theirs)
        swing = np.ptp(expected)
        assert np.sqrt(((seen - expected) ** 2).mean() / (expected**2).mean()) < 0.01
        if lossless:
            assert abs(seen - expected).max() < 0.01 * swing
        assert seen.max() == pytest.approx(expected.max(), abs=0.01 * swing)
        assert seen.min() == pytest.approx(expected.min(), abs=0.01 * swing)


@pytest.mark.parametrize(
    ("bus", "sending", "bit_rate"),
    [
        (terminator_missing(SIX), 1, 1.5e6),
        (terminator_missing(evenly_spaced(12, 180)), 5, 1.5e6),
        (evenly_spaced(6, 140).with_plug(3, stub_m=4.0), 1, 3e6),
    ],
)
def test_margins_are_those_of_a_receiver_at_the_voltages_of_ngspice(bus, sending, bit_rate, tmp_path):
    bus, bits = constant(bus, lossless=True), character_bits(b"\x68\xaa")
    net = in_spice.one_wire(bus, sending, DRIVER, in_spice.edges(bits, bit_rate, DRIVER), lossless=True)
    times, volts = in_spice.tran(net, tmp_path, step_s=0.2e-9, stop_s=(5 + len(bits)) / bit_rate)
    found = sampled(waveform(bus, bits, bit_rate=bit_rate, sending=sending, driver=DRIVER))
    compared = 0
    for row, theirs in enumerate(volts):
        expected, clear = receiver_by_hand(times - 2 / bit_rate, theirs, bits, 1 / bit_rate)
        # Where the echoes cross 0 V again and again, a receiver may take one fall or another.
        assert found.volts[row][clear] == pytest.approx(expected[clear], abs=0.01 * np.ptp(theirs))
        compared += clear.sum()
    assert compared >= len(volts)


@pytest.mark.parametrize("dgnd", ["common", "isolated", "earthed"])
@pytest.mark.parametrize("name", CATALOGUE)
def test_meter_readings_with_each_fault_within_a_thousandth(name, dgnd, tmp_path):
    bus = CATALOGUE[name](evenly_spaced(5, 100))
    pins = [(n, plus, minus) for n in (0, 2, 4) for plus, minus in (("B", "A"), ("A", "DGND"), ("VP", "DGND"))]
    theirs = in_spice.op(
        in_spice.five_wires(bus, devices="powered", dgnd=dgnd), tmp_path, [(f"{p}{n}", f"{m}{n}") for n, p, m in pins]
    )
    idle = Solved(branches(bus, dgnd=dgnd))
    assert [idle.volts((n, p), (n, m)) for n, p, m in pins] == pytest.approx(theirs, rel=1e-3, abs=1e-3)
    for devices in ("unplugged", "dead"):
        net = in_spice.five_wires(bus, devices=devices, dgnd=dgnd)
        theirs = in_spice.op(net, tmp_path, [("A0", "B0")], current=("A0", "B0"))
        dead = Solved(branches(bus, devices=devices, dgnd=dgnd))
        assert dead.ohms((0, "A"), (0, "B")) == pytest.approx(theirs[0], rel=1e-3)


def test_a_matched_cable_alone_is_what_the_two_programs_agree_on(tmp_path):
    """The comparison itself can fail: another impedance is seen at once."""
    bus = constant(evenly_spaced(2, 100))
    frequency, theirs = in_spice.ac(one_wire(bus, 0, DRIVER), tmp_path)
    other = bus.with_section(0, cable=replace(cable("A"), skin_ohm=0.0, impedance_ohm=160.0))
    ratio = Ladder(other, frequency).transfer(0, DRIVER) / theirs
    assert abs(20 * np.log10(abs(ratio))).max() > 0.1
