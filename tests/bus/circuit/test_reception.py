"""The eye, and how likely a telegram arrives."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.circuit.elements import evenly_spaced
from helpers.bus.circuit.faults import terminator_missing
from helpers.bus.circuit.margin import TRIAL, Margins, margins, sampled
from helpers.bus.circuit.reception import arrival_probability, eye
from helpers.bus.circuit.waveform import waveform
from helpers.bus.telegram.characters import character_bits
from helpers.errors import OutOfRange


def flat(volts, characters=20):
    """Every bit at one station with the same margin."""
    return Margins(0, (3,), np.full((1, characters, 11), volts), np.zeros((1, characters)), np.ones((1, characters)))


def test_the_eye_in_its_middle_holds_the_margins():
    picture = waveform(evenly_spaced(8, 100), character_bits(TRIAL), bit_rate=12e6)
    opened = eye(picture, 5)
    volts, bits = sampled(picture).volts[5].ravel(), np.array(picture.bits)
    middle = len(opened.phase) // 2
    assert opened.phase[middle] == 0.5
    assert opened.ones[:, middle] == pytest.approx(volts[bits == 1] + 0.2)
    assert opened.zeros[:, middle] == pytest.approx(-volts[bits == 0] - 0.2)
    assert len(opened.ones) + len(opened.zeros) == 220


def test_the_eye_is_wide_open_on_a_short_bus_and_shut_without_a_terminator():
    open_, shut = (
        eye(waveform(bus, character_bits(TRIAL), bit_rate=12e6), 6)
        for bus in (evenly_spaced(8, 20), terminator_missing(evenly_spaced(8, 100)))
    )
    assert open_.height_v > 3 and 0.7 < open_.width_bits <= 1
    assert shut.height_v < 0 and shut.width_bits == 0


def test_the_width_is_counted_from_the_middle_outwards():
    picture = waveform(evenly_spaced(2, 10), character_bits(TRIAL), bit_rate=500e3)
    opened = eye(picture, 1, points=101)
    seen = np.zeros((1, 101)) + np.where((opened.phase > 0.195) & (opened.phase < 0.905), 1.0, 0.0)
    by_hand = replace(opened, ones=seen, zeros=-seen)
    assert by_hand.width_bits == pytest.approx(0.7)
    whole = replace(opened, ones=np.ones((1, 101)), zeros=-np.ones((1, 101)))
    assert whole.width_bits == 1


@pytest.mark.parametrize("sigmas", [0.0, 1.0, 2.0, 3.0])
def test_probability_is_that_of_the_normal_distribution(sigmas):
    """Share below 0, 1, 2, 3 sigma: 0.5, 0.841345, 0.977250, 0.998650, any table of the normal distribution."""
    share = {0.0: 0.5, 1.0: 0.841345, 2.0: 0.977250, 3.0: 0.998650}[sigmas]
    arrives = arrival_probability(flat(sigmas * 0.1), 3, noise_v=0.1, characters=2)
    assert arrives == pytest.approx(share**22, rel=2e-5)


@given(st.floats(-3, 3), st.floats(0, 5), st.integers(1, 255))
def test_probability_is_a_probability_and_falls_with_length(volts, noise_v, characters):
    arrives = arrival_probability(flat(volts), 3, noise_v=noise_v, characters=characters)
    assert 0 <= arrives <= 1
    assert arrival_probability(flat(volts), 3, noise_v=noise_v, characters=255) <= arrives + 1e-12


@given(st.floats(0.05, 2), st.floats(0.01, 1), st.floats(1.01, 3))
def test_more_noise_loses_more_telegrams(volts, noise_v, factor):
    quiet, loud = (
        arrival_probability(flat(volts), 3, noise_v=noise, characters=20) for noise in (noise_v, factor * noise_v)
    )
    assert loud <= quiet


def test_without_noise_all_or_nothing():
    assert arrival_probability(flat(0.001), 3, noise_v=0, characters=20) == 1
    assert arrival_probability(flat(0.0), 3, noise_v=0, characters=20) == 0
    assert arrival_probability(flat(-50.0), 3, noise_v=0.01, characters=20) == 0


def test_a_probability_counted_with_dice():
    """A second method: noise drawn ten thousand times."""
    found, rng = margins(evenly_spaced(8, 100)), np.random.default_rng(7)
    row = found.volts[7]
    lucky = (row + rng.normal(0, 0.35, (10_000, *row.shape)) > 0).all(axis=(1, 2)).mean()
    arrives = arrival_probability(found, 7, noise_v=0.35, characters=20)
    assert arrives == pytest.approx(lucky, abs=4 * math.sqrt(lucky * (1 - lucky) / 10_000))


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"station": 2}, "plug 2 has no station"),
        ({"noise_v": -1}, "noise is -1 V"),
        ({"noise_v": math.nan}, "noise is nan"),
        ({"characters": 0}, "number of characters is 0"),
        ({"characters": 256}, "number of characters is 256"),
    ],
)
def test_bad_numbers_are_refused_with_a_sentence(changes, sentence):
    with pytest.raises(OutOfRange, match=sentence):
        arrival_probability(flat(1.0), **{"station": 3, "noise_v": 0.1, "characters": 10, **changes})


def test_an_eye_needs_a_station_and_points():
    picture = waveform(evenly_spaced(3, 10).with_plug(1, receiver=None), character_bits(b"A"))
    with pytest.raises(OutOfRange, match="plug 1 has no station; stations are at 0, 2"):
        eye(picture, 1)
    with pytest.raises(OutOfRange, match="points of the eye"):
        eye(picture, 0, points=1)
