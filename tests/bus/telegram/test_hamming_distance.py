"""How many wrong bits a telegram can bear before it is taken for another one, counted out over all cases.

M. Felser, PROFIBUS Manual, telegram formats, claims a Hamming distance of 4 for the delimiters and for the telegram.
Counted out here:

- a telegram with a check sum against any other of its kind and length: 4, as claimed;
- the delimiters: 4 for every pair but SD1 and ED, which differ in 2 bits only;
- the token: 2, because it has no check sum. Two wrong bits (an address bit and its parity) make another good token.
"""

from itertools import combinations

import numpy as np

from helpers import facts
from helpers.bus.telegram import frame as frames
from helpers.bus.telegram.characters import BITS, bits_of, character_bits, distance
from helpers.bus.telegram.characters import read as read_characters
from helpers.bus.telegram.frame import Frame, write

CLAIMED = 4
DELIMITERS = {row["name"]: row.whole("octet") for row in facts.rows("telegram_bytes")}
# In how many of their bits two octets differ on the wire, for all 65 536 pairs.
DISTANCE = np.array([[distance(one, other) for other in range(256)] for one in range(256)])


def accepted(bits):
    """What a receiver makes of these bits: one telegram, or nothing."""
    characters = read_characters(bits)
    if len(characters) * BITS != len(bits) or any(one.problem for one in characters):
        return None
    pieces = list(frames.read(bytes(one.octet for one in characters)))
    return pieces[0].frame if len(pieces) == 1 else None


def flipped(bits, places):
    wrong = list(bits)
    for place in places:
        wrong[place] ^= 1
    return wrong


def test_parity_makes_two_octets_differ_in_two_bits_at_least():
    assert DISTANCE[~np.eye(256, dtype=bool)].min() == 2
    assert not (DISTANCE % 2).any()


def test_the_delimiters():
    pairs = {(a, b): bin(DELIMITERS[a] ^ DELIMITERS[b]).count("1") for a, b in combinations(DELIMITERS, 2)}
    assert {pair: bits for pair, bits in pairs.items() if bits < CLAIMED} == {("SD1", "ED"): 2}
    # The parity bit adds nothing where two octets differ in an even number of bits.
    assert distance(DELIMITERS["SD1"], DELIMITERS["ED"]) == 2
    assert min(distance(DELIMITERS[a], DELIMITERS[b]) for a, b in pairs if (a, b) != ("SD1", "ED")) == CLAIMED


def patterns(bits, wrong):
    """All ways to have so many wrong bits among so many, one in each row."""
    places = np.array(list(combinations(range(bits), wrong)))
    rows = np.zeros((len(places), bits), np.uint8)
    np.put_along_axis(rows, places, 1, axis=1)
    return rows


def taken(telegram, wrong):
    """With which rows of `wrong` a receiver still takes an SD1 for whole: a second way, beside the project's reader."""
    bits = (wrong ^ np.array(character_bits(telegram), np.uint8)).reshape(len(wrong), -1, BITS)
    framed = (bits[:, :, 0] == 0).all(1) & (bits[:, :, -1] == 1).all(1) & (bits[:, :, 1:10].sum(2) % 2 == 0).all(1)
    octets = np.packbits(bits[:, :, 1:9], axis=2, bitorder="little")[:, :, 0].astype(int)
    ends = (octets[:, 0] == frames.SD1) & (octets[:, 5] == frames.ED)
    return framed & ends & (octets[:, 1:4].sum(1) % 256 == octets[:, 4])


def test_no_three_wrong_bits_make_another_telegram_with_a_check_sum():
    # Every pattern of one, two and three wrong bits among the 66 of an SD1: 66 + 2145 + 45 760.
    everything = [patterns(66, wrong) for wrong in (1, 2, 3)]
    assert [len(rows) for rows in everything] == [66, 2145, 45760]
    draw = np.random.default_rng(4)
    for da, sa, fc in [(2, 1, 0x49), (0, 0, 0), (127, 126, 0xFF), *draw.integers(0, 256, (12, 3)).tolist()]:
        telegram = write(Frame("SD1", da, sa, fc))
        assert taken(telegram, np.zeros((1, 66), np.uint8)).all()
        assert not any(taken(telegram, rows).any() for rows in everything)


def test_no_changed_octet_alone_keeps_the_check_sum_right():
    # Three wrong bits change one octet at the most, as a changed octet takes two. All telegrams with two free octets,
    # each octet changed to each other value.
    first, second = (axis.ravel() for axis in np.meshgrid(np.arange(256), np.arange(256)))
    total = (first + second + 0x49) % 256
    for value in range(256):
        assert not ((value + second + 0x49) % 256 == total)[first != value].any()
        assert not ((first + value + 0x49) % 256 == total)[second != value].any()
        assert not ((first + second + 0x49) % 256 == value)[total != value].any()


def test_four_wrong_bits_can_make_another_telegram():
    # Two octets, one data bit and its parity in each: all single bits against each other, for all pairs of octets.
    octets = np.arange(256)
    found = 0
    for one, other in ((1 << a, 1 << b) for a in range(8) for b in range(8)):
        changes = (octets ^ one) - octets, (octets ^ other) - octets
        found += int(((changes[0][:, None] + changes[1][None, :]) % 256 == 0).sum())
        assert (DISTANCE[octets, octets ^ one] == 2).all()
    # Bit n up in one octet and down in the other: half of all pairs for each bit; bit 7 is the same up and down.
    assert found == 7 * 65536 // 2 + 65536
    one, other = Frame("SD1", 2, 1, 0x49), Frame("SD1", 3, 0, 0x49)
    bits = [character_bits(write(telegram)) for telegram in (one, other)]
    assert sum(a != b for a, b in zip(*bits, strict=True)) == CLAIMED
    assert accepted(bits[1]) == other


def test_four_wrong_bits_of_one_telegram_counted_out():
    # All 720 720 patterns. What is taken has two wrong bits in each of two octets, and is another telegram.
    telegram = write(Frame("SD1", 2, 1, 0x49))
    rows = patterns(66, 4)
    found = rows[taken(telegram, rows)]
    assert len(rows) == 720_720
    assert len(found) > 0
    for row in found:
        changed = character_bits(telegram) ^ row
        other = accepted(changed.tolist())
        assert other and write(other) != telegram
        assert set(row.reshape(-1, BITS).sum(1)) == {0, 2}


def test_the_reader_itself_takes_no_telegram_with_up_to_two_wrong_bits():
    for telegram in (Frame("SD1", 2, 1, 0x49), Frame("SD2", 5, 1, 0x7D, b"\x04")):
        bits = character_bits(write(telegram))
        assert accepted(bits) == telegram
        for places in (*combinations(range(len(bits)), 1), *combinations(range(len(bits)), 2)):
            assert accepted(flipped(bits, places)) is None


def test_a_token_bears_no_more_than_one_wrong_bit():
    bits = character_bits(write(Frame("token", 1, 2)))
    assert not any(accepted(flipped(bits, (place,))) for place in range(len(bits)))
    others = {accepted(flipped(bits, places)) for places in combinations(range(len(bits)), 2)} - {None}
    # one address with two wrong bits, or with one and its parity
    near = [{octet for octet in range(127) if distance(octet, address) == 2} for address in (1, 2)]
    assert others == {Frame("token", da, 2) for da in near[0]} | {Frame("token", 1, sa) for sa in near[1]}
    assert len(others) > 2 * 7
    assert distance(1, 0) == 2 < CLAIMED


def test_the_short_acknowledgement_stands_alone():
    # SC is one character: two wrong bits make another octet, but none that a receiver takes for a telegram.
    for wrong in (1, 2, 3):
        for places in combinations(range(BITS), wrong):
            assert accepted(flipped(bits_of(0xE5), places)) is None


def test_order_is_not_what_the_check_sum_guards():
    # Two octets exchanged give the same sum: on the wire that takes four wrong bits or more.
    swapped = Frame("SD1", 1, 2, 0x49)
    assert write(swapped)[4] == write(Frame("SD1", 2, 1, 0x49))[4]
    assert 2 * distance(1, 2) >= CLAIMED
