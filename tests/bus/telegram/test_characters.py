"""Characters of eleven bits: both directions, and every wrong bit."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.telegram import characters
from helpers.bus.telegram.characters import BITS, Character, bits_of, character_bits, distance, read
from helpers.bus.time.timing import rule_bits
from helpers.errors import OutOfRange


def test_a_character_has_the_published_length():
    # M. Felser, PROFIBUS Manual, calculation for single masters: 11 bits
    assert rule_bits("character") == BITS == len(characters.NAMES)
    assert characters.NAMES[0] == "start" and characters.NAMES[-2:] == ("parity", "stop")


def test_bits_of_known_octets():
    # 16#E5 = 2#1110_0101: the least bit first, five ones, so parity 1 (order and parity from memory)
    assert bits_of(0xE5) == (0, 1, 0, 1, 0, 0, 1, 1, 1, 1, 1)
    assert bits_of(0x00) == (0,) * 10 + (1,)
    assert bits_of(0xFF) == (0, *[1] * 8, 0, 1)
    for wrong in (-1, 256):
        with pytest.raises(OutOfRange):
            bits_of(wrong)


def test_every_octet_is_framed_and_has_even_parity():
    for octet in range(256):
        start, *eight, parity, stop = bits_of(octet)
        assert (start, stop) == (0, 1)
        assert (sum(eight) + parity) % 2 == 0
        assert int("".join(map(str, reversed(eight))), 2) == octet


@given(st.binary(max_size=40), st.integers(0, 30))
def test_octets_are_read_as_they_were_sent(data, rest):
    bits = (1,) * rest + character_bits(data) + (1,) * rest
    assert read(bits) == tuple(Character(rest + BITS * n, octet) for n, octet in enumerate(data))


def test_every_pair_of_characters_with_a_pause_of_any_length():
    for pause in range(13):
        found = read((*bits_of(0x68), *[1] * pause, *bits_of(0x16)))
        assert [(one.octet, one.problem) for one in found] == [(0x68, ""), (0x16, "")]


def test_one_wrong_bit_is_noticed_in_every_character():
    for octet in range(256):
        for place in range(1, BITS):
            bits = list(bits_of(octet))
            bits[place] ^= 1
            first = read(bits + [1] * BITS)[0]
            assert first.problem == ("the stop bit is 0" if place == BITS - 1 else "the parity does not fit")


def test_a_character_that_is_cut_off():
    for there in range(1, BITS):
        (found,) = read(bits_of(0x16)[:there])
        assert found.problem == f"cut off: {there} of 11 bits are there"
    assert read(()) == read((1,) * 40) == ()


def test_bits_are_0_and_1():
    for wrong in (2, -1, 0.5):
        with pytest.raises(OutOfRange, match="allowed are 0 and 1"):
            read((1, 0, wrong))


def test_distance_of_octets():
    assert distance(0x55, 0x55) == 0
    assert distance(0x00, 0x01) == 2  # the bit itself and the parity
    assert distance(0x00, 0xFF) == 8
    assert all(distance(one, other) == distance(other, one) for one in range(0, 256, 7) for other in range(256))


def test_a_character_that_is_cut_off_keeps_the_bits_that_came():
    # the least bit comes first: after the start bit 1, 0, 1, so 5 so far
    (cut,) = read((1, 0, 1, 0, 1))
    assert (cut.at, cut.octet) == (1, 5) and "4 of 11 bits" in cut.problem
