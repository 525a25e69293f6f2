"""What arrives where: against the circuit's own chance of arrival, and by what must hold on any cable."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from line_nets import demo, row

from helpers.bus.circuit.faults import at_plug, in_piece
from helpers.bus.circuit.margin import margins
from helpers.bus.circuit.reception import arrival_probability
from helpers.bus.telegram.characters import bits_of
from helpers.line.plant.build import installation_of
from helpers.line.traffic.medium import Medium
from helpers.line.traffic.medium import _through as through

OCTETS = bytes.fromhex("68 05 05 68 0A 01 7D 00 00 88 16")


def noisy(noise_v, bit_rate=12e6, count=4, spacing_m=20):
    installation = installation_of(row(count, bit_rate, spacing_m=spacing_m))
    return installation.with_stretch(0, noise_v=(noise_v,) * len(installation.stretches[0].devices))


@pytest.mark.parametrize("noise_v", [0.1, 0.5, 0.7])
def test_the_chance_of_a_telegram_is_near_that_of_the_circuit(noise_v):
    # A second way: helpers.bus.circuit.reception takes each trial bit by itself; here they are averaged by position.
    installation = noisy(noise_v)
    seen = margins(installation.stretches[0].circuit, bit_rate=12e6, sending=0)
    expected = arrival_probability(seen, 4, noise_v=noise_v, characters=20)
    medium = Medium(installation)
    silence = medium.chance("Controller", "Drive 4", 0)  # no false start bit before the telegram
    assert medium.chance("Controller", "Drive 4", 20) / silence == pytest.approx(expected, abs=0.02)


def test_as_many_telegrams_arrive_as_the_chance_says():
    medium, draw = Medium(noisy(0.6)), random.Random(3)
    whole = sum(medium.heard("Controller", "Drive 4", OCTETS, draw) == (OCTETS, True) for _ in range(3000))
    chance = medium.chance("Controller", "Drive 4", len(OCTETS))
    assert 0.02 < chance < 0.98
    assert whole / 3000 == pytest.approx(chance, abs=0.04)  # four times the spread of 3000 draws


def test_a_healthy_cable_changes_nothing():
    medium = Medium(demo())
    names = [d.name for d in demo().devices if d.kind != "repeater"]
    assert all(medium.clean(a, b) for a in names for b in names if a != b)


def test_through_a_repeater_the_signal_is_made_new():
    # A short in the second segment silences that segment and leaves the first as it was.
    bad = demo().with_wrong(1, in_piece("short", 1, first="A", second="B"))
    medium = Medium(bad)
    assert medium.clean("Controller", "Dryer fan 1")
    assert medium.chance("Controller", "Intake conveyor", 10) < 1e-3
    off = Medium(demo().with_device("Repeater", powered=False))
    assert not off.connected("Controller", "Intake conveyor")
    assert off.heard("Controller", "Intake conveyor", OCTETS, random.Random(1)) == (b"", False)


def test_swapped_cores_silence_one_station_alone():
    medium = Medium(demo().with_wrong(0, at_plug("cores swapped", 3)))
    assert medium.chance("Controller", "Dryer fan 1", 10) < 1e-6
    assert medium.clean("Controller", "Dryer fan 2")


def test_a_terminator_without_supply_lets_noise_look_like_a_start_bit():
    # With the supply gone at both ends nothing holds the idle line above zero.
    plugs = len(demo().stretches[0].devices)
    loud = demo().with_stretch(0, noise_v=(0.3,) * plugs)
    dead = (at_plug("terminator unpowered", plug, supply="dead") for plug in (0, plugs - 1))
    healthy, idle_zero = Medium(loud), Medium(loud.with_wrong(0, *dead))
    assert idle_zero.chance("Controller", "Dryer fan 1", 6) < healthy.chance("Controller", "Dryer fan 1", 6) - 0.5


@settings(max_examples=40, deadline=None)
@given(noise=st.floats(0, 5), seed=st.integers(0, 10_000), octets=st.binary(min_size=1, max_size=20))
def test_what_passes_the_parity_has_as_many_octets_as_were_sent(noise, seed, octets):
    medium = Medium(noisy(noise))
    heard, whole = medium.heard("Drive 2", "Controller", octets, random.Random(seed))
    assert len(heard) <= len(octets)
    if whole:
        assert len(heard) == len(octets)
        assert noise > 0 or heard == octets


@settings(max_examples=300)
@given(octet=st.integers(0, 255), wrong=st.sets(st.integers(0, 10), max_size=6))
def test_a_character_passes_only_where_start_stop_and_even_parity_hold(octet, wrong):
    # A second way: the bits as they are on the wire, turned round, and read by a receiver's rules. Even parity over the
    # eight bits and the parity bit, start 0, stop 1: from memory, see helpers.bus.telegram.characters.
    wire = [bit ^ (n in wrong) for n, bit in enumerate(bits_of(octet))]
    good = wire[0] == 0 and wire[10] == 1 and sum(wire[1:10]) % 2 == 0
    certain = tuple(1.0 if n in wrong else 0.0 for n in range(11))
    heard, whole = through(bytes([octet]), certain, random.Random(1))
    assert whole == good
    if good:
        assert heard == bytes([sum(bit << n for n, bit in enumerate(wire[1:9]))])


@settings(max_examples=30, deadline=None)
@given(octets=st.integers(1, 254))
def test_a_longer_telegram_never_has_the_better_chance(octets):
    medium = Medium(noisy(0.5))
    assert medium.chance("Drive 1", "Controller", octets + 1) <= medium.chance("Drive 1", "Controller", octets)


def test_a_missing_terminator_is_no_matter_of_chance_alone():
    healthy = noisy(0.0, count=8, spacing_m=12)
    open_end = healthy.with_plug(0, -1, terminator_on=False)
    drives = [f"Drive {n}" for n in range(1, 9)]

    def chances(installation):
        medium = Medium(installation)
        return {medium.chance(a, b, 20) for a in drives for b in drives if a != b}

    assert chances(healthy) == {1.0}
    # A bit on the wrong side is so for certain; shares come only from characters in which that bit has another value.
    assert min(chances(open_end)) < 1e-9 and max(chances(open_end)) == 1.0
