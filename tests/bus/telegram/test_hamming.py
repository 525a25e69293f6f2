"""The counting of wrong bits against other ways to count, and against the claim of the handbook."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.telegram import frame as frames
from helpers.bus.telegram.characters import BITS, character_bits, distance
from helpers.bus.telegram.frame import Frame, write
from helpers.bus.telegram.hamming import counted, delimiters, impostors, places, received
from helpers.errors import OutOfRange, WorkbookError

CLAIMED = 4  # M. Felser, PROFIBUS Manual, telegram formats
STATUS, TOKEN = write(Frame("SD1", 2, 1, 0x49)), write(Frame("token", 1, 2))
OUTPUTS = write(Frame("SD2", 5, 1, 0x7D, b"\x04"))


def test_every_pair_of_delimiters_but_one_keeps_the_claim():
    assert [pair[:2] for pair in delimiters() if pair.bits < CLAIMED] == [("SD1", "ED")]
    assert len(delimiters()) == 15
    # By hand: 16#10 and 16#16 differ in bits 1 and 2, and both have an odd number of ones.
    assert delimiters()[0].bits == (0x10 ^ 0x16).bit_count() == 2


def test_a_telegram_with_a_check_sum_keeps_the_claim_and_the_token_does_not():
    for octets in (STATUS, OUTPUTS):
        assert [count.believed for count in counted(octets)][:3] == [0, 0, 0]
        assert counted(octets)[3].believed > 0
    assert [count.believed > 0 for count in counted(TOKEN)] == [False, True, False, True]
    # An SC stands alone: every other octet is no telegram.
    assert [count.believed for count in counted(b"\xe5")] == [0, 0, 0, 0]


def test_the_status_request_is_counted_a_second_way():
    # All 2^24 telegrams of this kind, their distance added up octet by octet.
    table = np.array([[distance(one, other) for other in range(256)] for one in range(256)], np.uint8)
    da, sa, fc = STATUS[1:4]
    found = 0
    axis = np.arange(256)
    for first in axis:
        total = (first + axis[:, None] + axis[None, :]) & 0xFF
        away = table[da, first] + table[sa, axis][:, None] + table[fc, axis][None, :] + table[STATUS[4]][total]
        found += int((away == 4).sum())
        assert not ((away > 0) & (away < 4)).any()
    assert counted(STATUS)[3].believed == found


def test_the_token_is_counted_bit_by_bit():
    for wrong, count in zip((1, 2), counted(TOKEN), strict=False):
        every = list(combinations(range(BITS * len(TOKEN)), wrong))
        assert count.ways == len(every)
        assert count.believed == sum(received(TOKEN, row).frame is not None for row in every)


@settings(max_examples=40)
@given(st.integers(0, 126), st.integers(0, 126), st.sampled_from([2, 4]))
def test_impostors_differ_in_so_many_bits_and_are_believed(da, sa, wrong):
    octets = write(Frame("token", da, sa))
    for other in [*impostors(octets, wrong)][:20]:
        assert len(places(octets, other)) == wrong
        assert received(octets, places(octets, other)).frame == frames.whole(other) != frames.whole(octets)


@settings(max_examples=50)
@given(st.data())
def test_up_to_three_wrong_bits_are_noticed_and_said_where(data):
    octets = write(Frame("SD2", 5, 1, 0x7D, data.draw(st.binary(min_size=1, max_size=3))))
    wrong = data.draw(st.sets(st.integers(0, len(character_bits(octets)) - 1), min_size=1, max_size=3))
    got = received(octets, wrong)
    assert got.frame is None
    assert "octet" in got.notices or "begins no telegram" in got.notices  # where the first octet itself is another


def test_each_guard_says_what_it_noticed():
    assert received(STATUS, []).frame == Frame("SD1", 2, 1, 0x49)
    assert received(STATUS, [0]).notices == "octet 1: the start bit is missing"
    assert received(STATUS, [BITS + 3]).notices == "octet 2: the parity does not fit"
    assert received(STATUS, [BITS * 3 - 1]).notices == "octet 3: the stop bit is 0"
    # Two wrong bits of one octet: parity sees nothing, the check sum does.
    assert "octet 5: FCS is 16#4C" in received(STATUS, [BITS + 1, BITS + 2]).notices


@pytest.mark.parametrize(
    "ask",
    [
        lambda: next(impostors(bytes(13), 2)),
        lambda: next(impostors(b"", 2)),
        lambda: next(impostors(TOKEN, 5)),
        lambda: places(b"\1", b"\1\2"),
        lambda: received(TOKEN, [33]),
    ],
)
def test_what_can_not_be_counted_is_refused(ask):
    with pytest.raises(OutOfRange):
        ask()
    assert issubclass(OutOfRange, WorkbookError)
