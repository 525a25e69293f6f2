"""Speed of the circuit. Run with `pytest tests/bench/bench_circuit.py -s`; nothing here is asserted."""

import time
from dataclasses import replace

import in_spice
import numpy as np
import pytest

from helpers.bus.circuit.elements import evenly_spaced, sender
from helpers.bus.circuit.faults import core_open
from helpers.bus.circuit.line import cable
from helpers.bus.circuit.margin import TRIAL, highest_bit_rate, margin_matrix
from helpers.bus.circuit.meter import readings
from helpers.bus.circuit.waveform import waveform
from helpers.bus.telegram.characters import character_bits

FULL = evenly_spaced(32, 100)
TELEGRAM = character_bits(TRIAL)  # 220 bits


def samples(*arguments, **named):
    """The voltages, which a waveform works out when they are asked for."""
    return waveform(*arguments, **named).volts


@pytest.mark.parametrize("bit_rate", [12e6, 1.5e6, 9.6e3])
def test_waveform_of_220_bits_at_32_stations(benchmark, bit_rate):
    """Aim: median of 40 ms, better 25 ms, at any bit rate, each edge drawn as long as it is."""
    assert benchmark(samples, FULL, TELEGRAM, bit_rate=bit_rate).shape[0] == 32


@pytest.mark.parametrize("bit_rate", [12e6, 1.5e6, 9.6e3])
def test_picture_of_a_character_at_one_plug(benchmark, bit_rate):
    """With every sample that edges and echoes ask for."""
    picture = waveform(FULL, TELEGRAM, bit_rate=bit_rate)
    benchmark(picture.trace, 31, 22 / bit_rate, 34 / bit_rate)


def test_the_same_with_one_core_open(benchmark):
    """Both cores and the shield as conductors."""
    benchmark(samples, core_open(FULL, "A", 10), TELEGRAM, bit_rate=12e6)


def test_a_slider_step_of_8_stations_and_44_bits(benchmark):
    """Aim: with drawing 150 ms."""
    benchmark(samples, evenly_spaced(8, 100), TELEGRAM[:44], bit_rate=12e6)


def test_margin_matrix_of_32_stations(benchmark):
    """Aim: 1.5 s."""
    benchmark.pedantic(margin_matrix, (FULL,), rounds=5, warmup_rounds=1)


def test_highest_bit_rate_of_a_long_segment(benchmark):
    """Four rates fail before one holds."""
    benchmark.pedantic(highest_bit_rate, (evenly_spaced(16, 1000),), rounds=3)


def test_all_meter_readings_at_a_plug(benchmark):
    benchmark(readings, FULL, 16)


@pytest.mark.skipif(in_spice.NGSPICE is None, reason="ngspice is not installed: nothing to measure against")
def test_ratio_to_ngspice(tmp_path, capsys):
    """8 stations, 64 bits, cable with constant resistance: one run of ngspice against the median of ours."""
    bus = evenly_spaced(8, 100)
    plain = replace(cable("A"), skin_ohm=0.0)
    bus = replace(bus, sections=tuple(replace(section, cable=plain) for section in bus.sections))
    bits = [int(bit) for bit in np.random.default_rng(64).integers(0, 2, 64)]
    ours = []
    for _ in range(30):
        start = time.perf_counter()
        samples(bus, bits, bit_rate=12e6)
        ours.append(time.perf_counter() - start)
    net = in_spice.one_wire(bus, 0, sender(), in_spice.edges(bits, 12e6, sender()))
    start = time.perf_counter()
    in_spice.tran(net, tmp_path, step_s=1 / 12e6 / 64, stop_s=66 / 12e6)
    theirs = time.perf_counter() - start
    with capsys.disabled():
        print(f"\nngspice {theirs:.1f} s, ours {1000 * np.median(ours):.1f} ms: ratio {theirs / np.median(ours):.0f}")
