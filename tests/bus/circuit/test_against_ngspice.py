"""The same segments in ngspice, a general-purpose circuit simulator, written independently in `in_spice`.

ngspice has no skin effect, so cables are taken with constant resistance here; scikit-rf compares with it.
"""

from dataclasses import replace

import in_spice
import numpy as np
import pytest

from helpers.bus.circuit.dc import Solved
from helpers.bus.circuit.elements import Plug, Receiver, Terminator, evenly_spaced, segment_at, sender
from helpers.bus.circuit.faults import CATALOGUE, capacitance_added, cores_swapped, pin_open, shorted
from helpers.bus.circuit.ladder import Ladder
from helpers.bus.circuit.line import cable
from helpers.bus.circuit.network import branches
from helpers.bus.circuit.waveform import waveform

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
    bus = segment_at([0, 1, 1.5, 40, 41, 100], kind="B", plug=Plug(Receiver(0.5, 50e-12), inductor_h=0.0))
    assert_same_response(constant(bus), 2, tmp_path, one_wire)


@pytest.mark.parametrize("name", CATALOGUE)
def test_response_with_each_fault_both_cores_and_the_shield(name, tmp_path):
    assert_same_response(constant(CATALOGUE[name](evenly_spaced(8, 100))), 1, tmp_path)


def test_response_with_several_faults_at_a_sender_on_a_stub(tmp_path):
    bus = evenly_spaced(6, 80).with_plug(2, stub_m=2.0, terminators=(Terminator(supply="open"), Terminator(dgnd=False)))
    bus = capacitance_added(pin_open(cores_swapped(bus, 2), "B", 2, ohm=47.0), 4, 200e-12)
    bus = shorted(shorted(bus, "A", "shield", 3, at_m=5.0, ohm=33.0), "A", "B", 1, at_m=16.0, ohm=500.0)
    assert_same_response(constant(bus), 2, tmp_path)


@pytest.mark.parametrize(
    ("stations", "bit_rate", "lossless"),
    [(2, 12e6, False), (8, 12e6, True), (32, 12e6, True), (2, 1.5e6, False), (2, 93.75e3, False)],
)
def test_waveform_of_64_bits_within_one_percent(stations, bit_rate, lossless, tmp_path):
    """With resistance ngspice's line costs minutes for 32 stations; there the cable is taken without it."""
    bus, per_bit = constant(evenly_spaced(stations, 100), lossless=lossless), 32
    ours = waveform(bus, TELEGRAM, bit_rate=bit_rate, driver=DRIVER, samples_per_bit=per_bit)
    count, step_s = (2 + len(TELEGRAM)) * per_bit, 1 / bit_rate / per_bit
    net = in_spice.one_wire(bus, 0, DRIVER, in_spice.edges(TELEGRAM, bit_rate, DRIVER, per_bit), lossless=lossless)
    times, volts = in_spice.tran(net, tmp_path, step_s=step_s / (16 if lossless else 2), stop_s=count * step_s)
    theirs = np.array([np.interp(np.arange(count) * step_s, times, station) for station in volts])
    difference = ours.volts[:, :count] - theirs
    assert (np.sqrt((difference**2).mean(axis=1) / (theirs**2).mean(axis=1)) < 0.01).all()


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
