"""Bits into voltages: timing, levels, bad input."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.circuit import edge
from helpers.bus.circuit.dc import Solved
from helpers.bus.circuit.edge import fast_length, longest_delay_s
from helpers.bus.circuit.elements import Sender, Tap, evenly_spaced, segment_at, sender
from helpers.bus.circuit.faults import CATALOGUE, core_open, pin_open, shorted, terminator_missing
from helpers.bus.circuit.margin import TRIAL, sampled
from helpers.bus.circuit.meter import volts
from helpers.bus.circuit.network import branches
from helpers.bus.circuit.waveform import waveform, waveforms
from helpers.bus.telegram.characters import character_bits
from helpers.errors import OutOfRange, Unknown


@given(st.binary(min_size=1, max_size=40))
def test_characters_have_eleven_bits_and_even_parity(data):
    """11 bits on the wire per byte: M. Felser, PROFIBUS Manual, calculation for single masters."""
    bits = np.array(character_bits(data)).reshape(-1, 11)
    assert len(bits) == len(data)
    assert (bits[:, 0] == 0).all() and (bits[:, 10] == 1).all()
    assert (bits[:, 1:10].sum(axis=1) % 2 == 0).all()
    assert bytes(int(np.dot(row[1:9], 2 ** np.arange(8))) for row in bits) == data


def test_before_the_telegram_the_line_is_idle_and_the_first_edge_starts_at_zero():
    picture = waveform(evenly_spaced(2, 0), (0, 1, 0, 0), bit_rate=1.5e6)
    before = picture.time_s < 0
    assert picture.volts[0, before] == pytest.approx(picture.volts[0, 0], abs=0.05)
    crossing = picture.time_s[np.argmax(picture.volts[0] < 0)]
    assert 0 < crossing < 0.1 / 1.5e6
    assert picture.time_s[picture.first_sample] == 0


def test_the_far_station_hears_the_edge_the_delay_later():
    """4.5 ns/m over 100 m, and what the plugs add (√LC each)."""
    picture = waveform(evenly_spaced(2, 100), (0, 1), bit_rate=12e6)
    near, far = (picture.time_s[np.argmax(station < 0)] for station in picture.volts)
    assert far - near == pytest.approx(100 * 4.5e-9, rel=0.03)
    assert longest_delay_s(evenly_spaced(2, 100)) == pytest.approx(far - near, rel=0.03)


def test_levels_are_the_voltage_divider_of_source_and_terminators():
    """4.04 V behind 50 Ω into two terminators of 171.6 Ω and two receivers of 24 kΩ; bias from the supplies [C]."""
    driver = sender()
    load = 1 / (2 / 220 + 2 / 780 + 2 / 24_000)
    picture = waveform(evenly_spaced(2, 0), [0] * 20 + [1] * 20, bit_rate=93.75e3, driver=driver)
    shift = 2 * 5 / 780 / (1 / load + 1 / driver.source_ohm)
    swing = driver.open_circuit_v * load / (load + driver.source_ohm)
    middle = picture.first_sample + 15 * 32
    assert picture.volts[:, middle] == pytest.approx(shift - swing, abs=0.005)
    assert picture.volts[:, middle + 20 * 32] == pytest.approx(shift + swing, abs=0.005)
    assert 4 < 2 * swing < 7  # span of B - A: common practice, no source


def test_without_a_sender_worth_the_name_the_bus_stays_idle():
    bus = evenly_spaced(4, 100)
    picture = waveform(bus, (0, 1, 0), driver=Sender(1e-6, 1e9, 8e-9))
    assert picture.volts == pytest.approx(volts(bus, dgnd="earthed"), abs=0.01)


CASES = [
    (segment_at([0, 12, 13, 55, 90, 140]).with_plug(3, stub_m=4.0), 1, 1.5e6),
    (evenly_spaced(12, 180), 5, 1.5e6),
    (evenly_spaced(12, 180), 0, 500e3),
    (evenly_spaced(4, 1000), 1, 93.75e3),
    (evenly_spaced(4, 100), 0, 9.6e3),
]


@pytest.mark.parametrize(("bus", "sending", "bit_rate"), CASES)
@pytest.mark.parametrize("open_end", [True, False])
def test_a_finer_calculation_gives_the_same_picture_and_the_same_margins(bus, sending, bit_rate, open_end, monkeypatch):
    """Steps a quarter as long, windows three times as long: the peaks, each margin and each start edge stay."""
    bus = terminator_missing(bus) if open_end else bus
    bits = character_bits(TRIAL)
    usual = waveform(bus, bits, bit_rate=bit_rate, sending=sending)
    seen, margin = [usual.trace(n, -1 / bit_rate, 222 / bit_rate) for n in bus.stations], sampled(usual)
    monkeypatch.setattr(edge, "SAMPLES", 4 * edge.SAMPLES)
    monkeypatch.setattr(edge, "CUT", 4 * edge.CUT)
    monkeypatch.setattr(edge, "GONE", 3 * edge.GONE)
    finer = waveform(bus, bits, bit_rate=bit_rate, sending=sending)
    assert finer.edge.step_s < usual.edge.step_s / 3 and len(finer.edge.time_s) > 3 * len(usual.edge.time_s)
    for plug, (time_s, was) in enumerate(seen):
        again_s, again = finer.trace(plug, time_s[0], time_s[-1])
        swing = np.ptp(again)
        assert was.max() == pytest.approx(again.max(), abs=0.005 * swing)
        assert was.min() == pytest.approx(again.min(), abs=0.005 * swing)
        assert abs(was - np.interp(time_s, again_s, again)).max() < 0.005 * swing
    assert sampled(finer).volts == pytest.approx(margin.volts, abs=0.02)
    assert sampled(finer).edge_s == pytest.approx(margin.edge_s, abs=0.002 / bit_rate)


def test_between_the_samples_of_a_slow_bit_an_edge_is_still_an_edge():
    """8 ns from first to last movement (data/rs485.csv), at 9.6 kbit/s, whose samples are 3 µs apart."""
    picture = waveform(evenly_spaced(2, 0), (0, 1), bit_rate=9.6e3)
    time_s, seen = picture.trace(0, -1e-6, 1e-6)
    moved = (seen[0] - seen) / np.ptp(seen)
    assert time_s[np.argmax(moved > 0.05)] == pytest.approx(8e-9 * np.arccos(0.9) / np.pi, abs=1.5e-9)
    assert time_s[np.argmax(moved > 0.95)] < 15e-9  # the terminated line's capacitance and inductors make it rounder
    times = np.linspace(0, 30e-9, 61)
    assert picture.at([0], times[None])[0] == pytest.approx(np.interp(times, time_s, seen), abs=0.05)


def test_several_senders_are_each_what_they_are_alone():
    bus, bits = evenly_spaced(5, 60), (0, 1, 1, 0)
    for sending, picture in zip((0, 3), waveforms(bus, bits, bit_rate=6e6, senders=(0, 3)), strict=True):
        assert picture.volts == pytest.approx(waveform(bus, bits, bit_rate=6e6, sending=sending).volts)


@pytest.mark.parametrize("name", CATALOGUE)
def test_no_fault_gives_anything_but_voltages(name):
    for bit_rate in (12e6, 9.6e3):
        picture = waveform(CATALOGUE[name](evenly_spaced(3, 30)), character_bits(b"\x00\xff"), bit_rate=bit_rate)
        assert np.isfinite(picture.volts).all()
        assert abs(picture.volts).max() < 20


def test_with_a_core_open_at_the_sender_the_others_hear_too_little():
    """Both cores of the sender's pins open: nothing leaves it, the bus stays idle."""
    bus = pin_open(pin_open(evenly_spaced(4, 100), "A", 0), "B", 0)
    picture = waveform(bus, character_bits(b"\x55"), bit_rate=500e3)
    assert picture.volts[1:].min() > 1.0
    assert picture.volts[0].min() < -1.0
    lame = waveform(core_open(evenly_spaced(4, 100), "A", 0), character_bits(b"\x55"), bit_rate=93.75e3)
    read = lame.volts[:, lame.first_sample + 16 : lame.first_sample + 11 * 32 : 32]  # the middles of its bits
    assert np.ptp(read[3]) < 0.5 * np.ptp(read[0])


@pytest.mark.parametrize(("stations", "length_m"), [(1, 0), (2, 0), (126, 0), (126, 1000), (2, 3000)])
@pytest.mark.parametrize("kind", ["A", "B"])
def test_the_extremes_of_what_is_allowed(stations, length_m, kind):
    picture = waveform(evenly_spaced(stations, length_m, kind=kind), (0, 1), bit_rate=12e6)
    assert np.isfinite(picture.volts).all()


def test_the_longest_cable_with_a_fault_in_it():
    bus = shorted(evenly_spaced(2, 3000, kind="B"), "A", "shield", 0, at_m=1500.0)
    assert np.isfinite(waveform(bus, (0, 1), bit_rate=12e6).volts).all()


def test_a_picture_too_big_for_the_memory_is_refused():
    with pytest.raises(OutOfRange, match="samples at all plugs together"):
        waveform(evenly_spaced(126, 100), (0, 1) * 5000)


@pytest.mark.parametrize(
    ("changes", "error", "sentence"),
    [
        ({"bit_rate": 10e6}, Unknown, "known are 9600, 19200"),
        ({"bit_rate": 0}, Unknown, "known are"),
        ({"bit_rate": math.nan}, Unknown, "known are"),
        ({"bits": ()}, OutOfRange, "at least one"),
        ({"bits": (0, 2)}, OutOfRange, "allowed are 0 and 1"),
        ({"sending": 7}, OutOfRange, "sending plug is 7"),
        ({"sending": 1}, OutOfRange, "no station that could send"),
    ],
)
def test_bad_input_is_refused_with_a_sentence(changes, error, sentence):
    bus = evenly_spaced(3, 50).with_plug(1, receiver=None)
    with pytest.raises(error, match=sentence):
        waveform(bus, **{"bits": (0, 1), "bit_rate": 12e6, **changes})


@given(st.integers(1, 100_000))
def test_a_fast_length_is_no_shorter_and_not_much_longer(least):
    length = fast_length(least)
    assert least <= length <= max(1.2 * least, least + 2)
    for factor in (2, 3, 5):
        while length % factor == 0:
            length //= factor
    assert length == 1


def test_a_plug_without_a_station_shows_its_place_on_the_line():
    bus = evenly_spaced(3, 50).with_plug(1, receiver=None, inductor_h=0.0)
    assert np.ptp(waveform(bus, (0, 1)).volts[1]) > 3
    assert Tap().receiver is not None


@pytest.mark.parametrize("name", CATALOGUE)
def test_while_the_sender_idles_all_levels_are_those_of_the_meter(name):
    """Supplies of the terminators and the sender together, against nodal analysis of the whole network."""
    bus, driver = CATALOGUE[name](evenly_spaced(5, 100)), sender()
    for sending in (0, 2, 4):
        picture = waveform(bus, (0, 1), bit_rate=93.75e3, sending=sending, driver=driver)
        meter = Solved(branches(bus, dgnd="earthed", driver=(sending, driver, 1.0)))
        for n in range(5):
            expected = meter.volts((n, "device B"), (n, "device A"))
            assert picture.volts[n, 0] == pytest.approx(expected, abs=0.03), (sending, n)


def test_what_is_asked_at_some_plugs_only_is_what_all_of_them_show():
    bus, bits = evenly_spaced(5, 120), character_bits(b"\x10\x55")
    (whole,) = waveforms(bus, bits, bit_rate=1.5e6, senders=(1,))
    (some,) = waveforms(bus, bits, bit_rate=1.5e6, senders=(1,), seen_at=lambda sending: (4, sending))
    assert some.plugs == (4, 1) and some.volts == pytest.approx(whole.volts[[4, 1]])
    mine, all_of_them = sampled(some), sampled(whole)
    assert mine.stations == (4, 1) and mine.volts[0] == pytest.approx(all_of_them.volts[4])
