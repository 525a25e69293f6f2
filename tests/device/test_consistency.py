"""What is kept whole and what tears, against counting out and published identifiers."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.device.consistency import ACCESSES, ConsistentPiece, mixtures, pieces, tearing_answer
from helpers.device.formats import all_formats, by_name
from helpers.errors import OutOfRange, Unknown
from helpers.verdict import Degree

areas = st.integers(1, 12).flatmap(
    lambda n: st.tuples(st.binary(min_size=n, max_size=n), st.binary(min_size=n, max_size=n))
)


@pytest.mark.parametrize("one", all_formats(), ids=lambda one: one.name)
def test_the_pieces_lie_end_to_end_over_the_whole_format(one):
    for way, length in (("out", one.bytes_out), ("in", one.bytes_in)):
        found = pieces(one, way)
        assert sum(piece.length_bytes for piece in found) == length
        assert all(a.last_byte + 1 == b.first_byte for a, b in pairwise(found))


def test_the_parameter_channel_of_a_ppo_is_whole_over_its_eight_bytes():
    # F3 = 4 words in and out, whole: ABB FPBA-01 manual p.185; M. Felser, PROFIBUS Manual, compact format
    channel, process = pieces(by_name("PPO 2"), "out")
    assert (channel.length_bytes, channel.unit_bytes, process.length_bytes) == (8, 8, 12)
    assert channel.keeps_whole(0, 8) and channel.keeps_whole(4, 4)
    assert not channel.keeps_whole(6, 4)  # crosses into the next identifier


def test_an_identifier_without_bit_7_keeps_each_unit_only():
    # Bit 7 = 0: whole in each byte or word only. M. Felser, PROFIBUS Manual, compact format
    words, octets = ConsistentPiece(4, 8, 2, "4 words, each word for itself"), ConsistentPiece(0, 4, 1, "4 bytes")
    assert [words.keeps_whole(at, 2) for at in (4, 5, 6, 10, 11)] == [True, False, True, True, False]
    assert not words.keeps_whole(4, 4) and not words.keeps_whole(2, 2)
    assert octets.keeps_whole(3, 1) and not octets.keeps_whole(2, 2) and not octets.keeps_whole(4, 1)


def test_a_counter_that_steps_over_a_word_is_torn_by_65536():
    # 16#0000_FFFF + 1 = 16#0001_0000: read in words, 0 or 16#0001_FFFF can come out
    old, new = (0xFFFF).to_bytes(4, "big"), (0x10000).to_bytes(4, "big")
    torn = [one.octets.hex() for one in mixtures(old, new, access_bytes=2) if one.torn]
    other = [one.octets.hex() for one in mixtures(old, new, access_bytes=2, backwards=True) if one.torn]
    assert (torn, other) == (["00000000"], ["0001ffff"])
    assert not any(one.torn for one in mixtures(old, new, access_bytes=4))


@given(areas, st.sampled_from([*ACCESSES.values()]), st.booleans())
def test_every_access_is_old_or_new_and_the_change_comes_once(pair, size, backwards):
    old, new = pair
    found = mixtures(old, new, access_bytes=size, backwards=backwards)
    starts = range(0, len(old), size)
    assert len(found) == len(starts) + 1
    assert (found[0].octets, found[-1].octets) == (new, old)
    order = list(reversed(starts)) if backwards else list(starts)
    for one in found:
        assert one.old_accesses + one.new_accesses == len(starts)
        for n, start in enumerate(order):
            source = old if n < one.old_accesses else new
            assert one.octets[start : start + size] == source[start : start + size]
        assert one.torn == (one.octets not in (old, new)) == (one.outcome == "torn")
        assert bytes.fromhex(one.text) == one.octets
        assert one.octets == {"old": old, "new": new}.get(one.outcome, one.octets)


def test_a_part_that_does_not_change_cannot_tear():
    found = mixtures(bytes.fromhex("0001 00FF"), bytes.fromhex("0002 00FF"), access_bytes=2)
    assert [one.outcome for one in found] == ["new", "old", "old"]


def test_areas_that_do_not_match_are_refused():
    with pytest.raises(OutOfRange, match="2 and 3 bytes"):
        mixtures(b"ab", b"abc", access_bytes=2)
    with pytest.raises(OutOfRange, match="0 and 0 bytes"):
        mixtures(b"", b"", access_bytes=2)
    for size in (0, 5):
        with pytest.raises(OutOfRange, match="allowed is 1 to 4 bytes"):
            mixtures(b"ab", b"cd", access_bytes=size)
    with pytest.raises(Unknown, match="out, in"):
        pieces(by_name("PPO 1"), "up")


def test_a_counter_read_in_words_is_torn_in_either_direction():
    answer = tearing_answer("UDINT", "65535", "65536")
    assert answer.degree is Degree.CAUTION and answer.sentence.endswith("never was there: 0.")
    assert [row["which is"] for row in answer.rows] == ["● new", "▲ torn", "● old"]
    assert tearing_answer("UDINT", "65535", "65536", backwards=True).sentence.endswith("131071.")
    assert tearing_answer("UDINT", "65535", "65536", "double word by double word").degree is Degree.IN_ORDER
    assert "readings can come out" in tearing_answer("UDINT", "65535", "65536", "byte by byte").sentence


def test_a_parameter_channel_read_in_words_mixes_an_old_answer_with_a_new_one():
    answer = tearing_answer("8 octets", "10 66 00 00 00 00 00 05", "13 9A 00 00 00 00 00 65")
    assert "13 9A" not in answer.rows[1]["octets read"] and answer.rows[1]["octets read"].endswith("00 65")
    assert answer.rows[1]["which is"] == "▲ torn"  # the number of the old parameter with the value of the new one
    by_bytes = tearing_answer("8 octets", "10 66 00 00 00 00 00 05", "13 9A 00 00 00 00 00 65", "byte by byte")
    assert not by_bytes.rows and len(by_bytes.folded[0][1]) == 9


def test_octets_that_are_no_parameter_channel_are_refused():
    with pytest.raises(OutOfRange, match="number of octets is 2; allowed is 8"):
        tearing_answer("8 octets", "00 01", "00 02")


def test_the_moment_of_the_change_is_named_from_the_first_access_to_the_last():
    told = [row["the change comes"] for row in tearing_answer("UDINT", "65535", "65536").rows]
    assert told == ["before reading", "after access 1", "after reading"]
