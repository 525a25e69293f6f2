"""Margins: against a receiver written out step by step, and the rules of the standard, which come out by themselves."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from receiver import receiver_by_hand

from helpers.bus.circuit.elements import Circuit, Receiver, Section, Sender, Tap, Terminator, evenly_spaced
from helpers.bus.circuit.faults import CATALOGUE, cluster, terminator_missing
from helpers.bus.circuit.line import Cable
from helpers.bus.circuit.margin import (
    TRIAL,
    highest_bit_rate,
    margin_matrix,
    margins,
    sampled,
    threshold_v,
)
from helpers.bus.circuit.waveform import waveform
from helpers.bus.telegram.characters import character_bits
from helpers.errors import OutOfRange
from helpers.facts import most, where


@pytest.mark.parametrize(("stations", "bit_rate"), [(2, 12e6), (8, 12e6), (8, 1.5e6), (3, 9.6e3)])
def test_margins_are_those_of_a_receiver_followed_step_by_step(stations, bit_rate):
    picture = waveform(evenly_spaced(stations, 100), character_bits(TRIAL), bit_rate=bit_rate, sending=1)
    found = sampled(picture)
    assert found.started.all()
    for row in range(stations):
        by_hand, clear = receiver_by_hand(
            *picture.trace(row, -1 / bit_rate, 228 / bit_rate), picture.bits, 1 / bit_rate
        )
        assert clear.all() and found.volts[row] == pytest.approx(by_hand, abs=0.005)


def test_on_an_ideal_matched_line_the_margin_is_known():
    """±1 V less the ±200 mV of RS-485 (Texas Instruments SLLS849E)."""
    assert threshold_v() == 0.2
    ideal = Cable("ideal", 150.0, 5e-9, 0.0, 0.0, 50.0, 0.0)
    end = Terminator(rt_ohm=150.0, rs_ohm=1e12)
    plug = Tap(Receiver(0.0, 0.0), inductor_h=0.0)
    bus = Circuit((plug, plug.__class__(Receiver(0.0, 0.0), (end,), 0.0)), (Section(100.0, ideal),))
    found = margins(bus, bit_rate=12e6, driver=Sender(2.0, 150.0, 8e-9))
    assert found.volts == pytest.approx(0.8, abs=0.005)
    assert found.edge_s[1] - found.edge_s[0] == pytest.approx(500e-9, abs=1e-10)


def test_bits_that_are_not_characters_are_refused():
    for bits in ((0, 1, 0), (1,) * 11):
        with pytest.raises(OutOfRange, match="whole characters"):
            sampled(waveform(evenly_spaced(2, 10), bits))


def test_a_station_that_hears_nothing_sees_no_start():
    bus = evenly_spaced(3, 50).with_plug(1, terminators=(Terminator(),), cuts_outgoing=True)
    found = margins(bus, bit_rate=1.5e6)
    assert found.started[:2].all() and not found.started[2].any()
    assert found.least[2] == pytest.approx(-1.1 - 0.2, abs=0.02)  # idle level where 0 bits should be
    assert np.isfinite(found.volts).all()


def test_the_matrix_is_made_of_single_senders_and_its_worst_pair_is_no_station_with_itself():
    bus = evenly_spaced(4, 90)
    matrix = margin_matrix(bus, bit_rate=6e6)
    for row, sending in enumerate(matrix.stations):
        alone = margins(bus, bit_rate=6e6, sending=sending).least
        assert list(matrix.volts[row]) == pytest.approx(list(alone.values()))
    far, near, volts = matrix.worst
    assert far != near
    apart = [matrix.volts[a, b] for a in range(4) for b in range(4) if a != b]
    assert volts == pytest.approx(min(apart))


def test_the_matrix_of_a_symmetric_segment_is_symmetric():
    matrix = margin_matrix(evenly_spaced(5, 100), bit_rate=12e6)
    assert matrix.volts == pytest.approx(matrix.volts[::-1, ::-1], abs=1e-6)


_SYMMETRIC = margin_matrix(evenly_spaced(5, 100), bit_rate=12e6)


@given(st.integers(0, 2**32 - 1))
def test_the_worst_pair_does_not_hang_on_the_last_digits_of_a_sum(seed):
    # Seen in practice: two processors named the two mirrored pairs of the same line.
    noise = np.random.default_rng(seed).uniform(-1e-13, 1e-13, _SYMMETRIC.volts.shape)
    assert replace(_SYMMETRIC, volts=_SYMMETRIC.volts + noise).worst[:2] == _SYMMETRIC.worst[:2]


def test_one_station_alone_has_a_matrix_of_itself():
    assert margin_matrix(evenly_spaced(1, 0)).worst[:2] == (0, 0)


def test_plugs_without_a_station_are_not_in_the_matrix():
    bus = evenly_spaced(4, 30).with_plug(2, receiver=None)
    assert margin_matrix(bus, bit_rate=1.5e6).stations == (0, 1, 3)


# The rules of the standard, which nothing in the calculation knows.


@pytest.mark.parametrize("kbit_s", [9.6, 19.2, 45.45, 93.75, 187.5, 500, 1500, 3000, 6000, 12000])
def test_a_terminated_segment_at_full_length_keeps_a_margin(kbit_s):
    """Lengths of type A: data/segment_length.csv, PROFIBUS Specification 1997 p.32 and device manuals."""
    longest = most(where("segment_length", cable="A", kbit_s=kbit_s), "length_m").last
    for stations in (2, 32) if kbit_s in (12000, 93.75) else (10,):
        assert margin_matrix(evenly_spaced(stations, longest), bit_rate=kbit_s * 1000).worst[2] > 0.2


@pytest.mark.parametrize("stations", [4, 8, 20])
@pytest.mark.parametrize(("bit_rate", "falls"), [(12e6, True), (1.5e6, True), (93.75e3, False)])
def test_one_terminator_pulled_at_100_m(stations, bit_rate, falls):
    """Both ends terminated: M. Felser, PROFIBUS Manual, bus termination. At a low rate the fault goes quiet."""
    worst = margin_matrix(terminator_missing(evenly_spaced(stations, 100)), bit_rate=bit_rate).worst[2]
    assert (worst < 0) == falls


@pytest.mark.parametrize(("bit_rate", "falls"), [(12e6, True), (1.5e6, False)])
def test_ten_stubs_of_three_metres(bit_rate, falls):
    """No stubs above 1.5 Mbit/s: Beckhoff BC3150 documentation.

    At 1.5 Mbit/s the rule (6.6 m in all) is stricter than the physics of this segment.
    """
    bus = evenly_spaced(12, 100)
    for plug in range(1, 11):
        bus = bus.with_plug(plug, stub_m=3.0)
    assert (margin_matrix(bus, bit_rate=bit_rate).worst[2] < 0) == falls


def test_twenty_poor_stations_less_than_a_metre_apart():
    """1 m at least above 1.5 Mbit/s, and 15 to 25 pF a station: common practice and memory, no source."""
    poor, good = (Tap(Receiver(capacitance_f=farad)) for farad in (50e-12, 20e-12))
    assert margin_matrix(cluster(20, spacing_m=0.5, plug=poor)).worst[2] < 0
    assert margin_matrix(cluster(20, spacing_m=0.5, plug=good)).worst[2] > 0.3
    assert margin_matrix(cluster(20, spacing_m=1.0, plug=poor)).worst[2] > 0
    assert margin_matrix(cluster(20, spacing_m=0.5, plug=poor), bit_rate=500e3).worst[2] > 0.5


def test_inductors_in_the_plugs_are_needed_at_12_mbit_s():
    """110 nH required above 1.5 Mbit/s: Saia PCD0 manual p.171."""
    with_them, without = (cluster(20, spacing_m=0.3, plug=Tap(inductor_h=henry)) for henry in (110e-9, 0.0))
    assert margin_matrix(with_them).worst[2] > 0.3
    assert margin_matrix(without).worst[2] < 0
    assert margin_matrix(without, bit_rate=500e3).worst[2] > 0.5


@pytest.mark.parametrize("name", [name for name in CATALOGUE if "swapped" in name or "short from" in name])
def test_swapped_cores_and_shorts_stop_the_bus_at_every_rate(name):
    for bit_rate in (12e6, 93.75e3):
        assert margin_matrix(CATALOGUE[name](evenly_spaced(5, 100)), bit_rate=bit_rate).worst[2] < 0


def test_highest_bit_rate_with_margin_left():
    assert highest_bit_rate(evenly_spaced(4, 100))[0] == 12_000_000
    rate, matrix = highest_bit_rate(evenly_spaced(4, 1000))
    assert rate == 500_000
    assert matrix.worst[2] > 0 > margin_matrix(evenly_spaced(4, 1000), bit_rate=1.5e6).worst[2]
    assert highest_bit_rate(CATALOGUE["A and B swapped at a station"](evenly_spaced(3, 20))) is None
