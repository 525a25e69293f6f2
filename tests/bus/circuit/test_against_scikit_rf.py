"""The same ladder in scikit-rf, a general-purpose library for microwave networks, skin effect included."""

from dataclasses import replace
from functools import reduce

import numpy as np
import pytest
import skrf
from skrf.media import DefinedGammaZ0

from helpers.bus.circuit.elements import evenly_spaced, sender
from helpers.bus.circuit.ladder import Ladder
from helpers.bus.circuit.line import cable

FREQUENCY = np.geomspace(10e3, 100e6, 161)


def skin_by_hand(kind, frequency):
    """γ and Z of a cable, written from R + k(1 + j)√f + jωL and jωC."""
    omega = 2 * np.pi * frequency
    series = kind.loop_ohm_per_m + kind.skin_ohm * np.sqrt(frequency) * (1 + 1j)
    series = series + 1j * omega * kind.impedance_ohm * kind.delay_s_per_m
    shunt = 1j * omega * kind.delay_s_per_m / kind.impedance_ohm
    return np.sqrt(series * shunt), np.sqrt(series / shunt)


def in_scikit_rf(segment):
    """The whole segment as one two-port from the first to the last station."""
    band = skrf.Frequency.from_f(FREQUENCY, unit="hz")

    def media(kind):
        gamma, impedance = skin_by_hand(kind, FREQUENCY)
        return DefinedGammaZ0(band, gamma=gamma, z0=impedance, z0_port=150.0)

    plain = DefinedGammaZ0(band, gamma=np.zeros(len(FREQUENCY)), z0=150.0)

    def loads(plug):
        parts = [plain.shunt_capacitor(plug.receiver.capacitance_f)] if plug.receiver else []
        if plug.receiver:
            parts.append(plain.shunt(plain.resistor(24e3 / plug.receiver.unit_loads) ** plain.short()))
        for terminator in plug.terminators:
            parts.append(plain.shunt(plain.resistor(terminator.rt_ohm) ** plain.short()))
            parts.append(plain.shunt(plain.resistor(2 * terminator.rs_ohm) ** plain.short()))
        return parts

    chain = loads(segment.plugs[0])
    for n, section in enumerate(segment.sections):
        chain.append(plain.inductor(2 * segment.plugs[n].inductor_h))
        chain.append(media(section.cable).line(section.length_m, "m"))
        chain.append(plain.inductor(2 * segment.plugs[n + 1].inductor_h))
        chain += loads(segment.plugs[n + 1])
    return reduce(lambda left, right: left**right, chain)


def assert_close(ours, theirs):
    ratio = ours / theirs
    assert abs(20 * np.log10(abs(ratio))).max() < 0.1
    assert abs(np.angle(ratio, deg=True)).max() < 1


@pytest.mark.parametrize(("stations", "length_m"), [(2, 100), (8, 200), (32, 100)])
@pytest.mark.parametrize("kind", ["A", "B"])
def test_reflection_and_transfer_with_skin_effect(stations, length_m, kind):
    bus = evenly_spaced(stations, length_m, kind=kind)
    ladder = Ladder(bus, FREQUENCY)
    chain = in_scikit_rf(bus).a
    transfer = ladder.transfer(0, sender())
    assert_close(transfer[-1] / transfer[0], 1 / chain[:, 0, 0])
    seen = 150 * ladder.admittance(0)
    open_ended = chain[:, 0, 0] / chain[:, 1, 0]
    assert_close((1 - seen) / (1 + seen), (open_ended - 150) / (open_ended + 150))


def test_one_terminator_missing():
    bus = evenly_spaced(8, 100).with_plug(-1, terminators=())
    chain = in_scikit_rf(bus).a
    transfer = Ladder(bus, FREQUENCY).transfer(0, sender())
    assert_close(transfer[-1] / transfer[0], 1 / chain[:, 0, 0])


def test_leaving_the_skin_effect_out_would_be_noticed():
    bus = evenly_spaced(2, 100)
    plain = bus.with_section(0, cable=replace(cable("A"), skin_ohm=0.0))
    ratio = Ladder(plain, FREQUENCY).transfer(0, sender())[1] / Ladder(bus, FREQUENCY).transfer(0, sender())[1]
    assert abs(20 * np.log10(abs(ratio))).max() > 1
