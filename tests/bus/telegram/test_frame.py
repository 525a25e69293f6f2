"""Telegrams as octets: published ones, both directions, every single wrong octet, rubbish, and any octets at all."""

import sys

import mangled
import pytest
from golden import both_ways
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.bus.telegram import frame as frames
from helpers.bus.telegram.frame import ABSENT, Frame, frame, read, write
from helpers.bus.time.timing import telegram_bits, telegram_octets, wire_bits
from helpers.errors import OutOfRange, Unknown, Unreadable

STATUS = bytes.fromhex("10 02 01 49 4C 16")  # published/bus_telegrams
TOKEN = bytes.fromhex("DC 01 01")
DIAGNOSIS = bytes.fromhex("68 05 05 68 85 81 6D 3C 3E ED 16")

octet = st.integers(0, 0xFF)
sd1 = st.builds(lambda da, sa, fc: Frame("SD1", da, sa, fc), octet, octet, octet)
sd2 = st.builds(
    lambda da, sa, fc, data: Frame("SD2", da, sa, fc, data), octet, octet, octet, st.binary(min_size=1, max_size=246)
)
sd3 = st.builds(
    lambda da, sa, fc, data: Frame("SD3", da, sa, fc, data), octet, octet, octet, st.binary(min_size=8, max_size=8)
)
token = st.builds(lambda da, sa: Frame("token", da, sa), st.integers(0, 126), st.integers(0, 126))
telegrams = st.one_of(sd1, sd2, sd3, token, st.just(Frame("SC")))


def only(octets):
    (found,) = read(octets)
    return found.frame


def whole(pieces):
    return b"".join(piece.octets for piece in pieces)


@pytest.mark.parametrize("row", facts.rows("published/bus_telegrams"), ids=lambda row: row["meaning"])
def test_published_telegrams_both_ways(row):
    addresses = (row.whole(name) if row.has(name) else ABSENT for name in ("da", "sa", "fc"))
    value = Frame(row["kind"], *addresses, bytes.fromhex(row["data"]))
    both_ways(row["octets"], value, decode=only, encode=write)
    assert wire_bits(len(value.octets)) == row.whole("bits")


@given(telegrams)
def test_every_telegram_is_read_as_it_was_written(one):
    both_ways(write(one), one, decode=only, encode=write)
    assert telegram_octets(one.kind, len(one.data) if one.kind == "SD2" else 0) == len(one.octets)


@given(st.lists(telegrams, max_size=12))
def test_telegrams_one_behind_the_other(several):
    recording = b"".join(map(write, several))
    assert [piece.frame for piece in read(recording)] == several
    assert [piece.at for piece in read(bytearray(recording))] == [
        sum(len(one.octets) for one in several[:n]) for n in range(len(several))
    ]


def test_lengths_at_both_sides_of_the_limit():
    # M. Felser, PROFIBUS Manual, telegram formats: LE 4 to 249, 246 bytes of data without access points
    for size in (1, 246):
        made = write(Frame("SD2", 5, 1, 0x7D, bytes(size)))
        assert (made[1], made[2], len(made)) == (size + 3, size + 3, size + 9)
        assert (
            wire_bits(len(made)) == 11 * size + 99 == telegram_bits("SD2", size)
        )  # the same, single masters: 11n + 99
        assert only(made).data == bytes(size)
    for size in (0, 247):
        with pytest.raises(OutOfRange, match=f"data of SD2 is {size} byte; allowed is 1 to 246"):
            write(Frame("SD2", 5, 1, 0x7D, bytes(size)))
    assert len(frame(to=5, sender=1, fc=8, data=bytes(244), dsap=62, ssap=60).octets) == 255  # 244 with both
    with pytest.raises(OutOfRange, match="247"):
        frame(to=5, sender=1, fc=8, data=bytes(245), dsap=62, ssap=60)
    # A telegram with LE 3 would be whole but for that.
    (found,) = read(bytes.fromhex("68 03 03 68 02 01 49 4C 16"))
    assert (found.frame, found.damaged) == (None, True)
    assert "LE is 3; allowed is 4 to 249" in found.problem


def test_access_points():
    asked = only(DIAGNOSIS)
    assert (asked.receiver, asked.sender, asked.dsap, asked.ssap, asked.user_data) == (5, 1, 60, 62, b"")
    plain = frame(to=5, sender=1, fc=0x7D, data=b"\x3c")
    assert (plain.dsap, plain.ssap, plain.user_data) == (ABSENT, ABSENT, b"\x3c")
    half = frame(to=5, sender=1, fc=0x7D, data=b"\x01", ssap=62)
    assert (half.dsap, half.ssap, half.user_data) == (ABSENT, 62, b"\x01")
    cut = Frame("SD2", 0x85, 0x81, 0x7D, b"\x3c")  # two announced, one there
    assert (cut.dsap, cut.ssap, cut.user_data) == (60, ABSENT, b"")
    short = Frame("SC")
    assert (short.receiver, short.sender, short.dsap, short.ssap, short.user_data) == (*[ABSENT] * 4, b"")


@pytest.mark.parametrize(
    ("wrong", "error", "says"),
    [
        (Frame("SD5", 1, 2, 3), Unknown, "known are SD1, SD2, SD3, token, SC"),
        (Frame("SD1", 256, 2, 3), OutOfRange, "DA is 256"),
        (Frame("SD1", 1, -2, 3), OutOfRange, "SA is -2"),
        (Frame("SD1", 1, 2), OutOfRange, "FC is -1"),
        (Frame("SD1", 1, 2, 3, b"x"), OutOfRange, "data of SD1 is 1 byte; allowed is 0 to 0"),
        (Frame("SD2", 1, 2, 300, b"x"), OutOfRange, "FC is 300"),
        (Frame("SD3", 1, 2, 3, bytes(7)), OutOfRange, "data of SD3 is 7 byte; allowed is 8 to 8"),
        (Frame("SD3", 1, 2, 256, bytes(8)), OutOfRange, "FC is 256"),
        (Frame("token", 127, 2), OutOfRange, "allowed is 0 to 126"),
        (Frame("token", 1, 200), OutOfRange, "SA is 200"),
        (Frame("token", -1, 2), OutOfRange, "DA is -1"),
        (Frame("token", 1, 2, 3), Unreadable, "no function code"),
        (Frame("token", 1, 2, data=b"x"), OutOfRange, "data of token"),
        (Frame("SC", 1), Unreadable, "SC is one octet"),
    ],
)
def test_what_can_not_be_written(wrong, error, says):
    with pytest.raises(error, match=says):
        write(wrong)


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"to": 128, "sender": 1, "fc": 0}, "receiver's address is 128"),
        ({"to": 1, "sender": -1, "fc": 0}, "sender's address is -1"),
        ({"to": 1, "sender": 1, "fc": 256}, "FC is 256"),
        ({"to": 1, "sender": 1, "fc": 0, "dsap": 256}, "DSAP is 256"),
        ({"to": 1, "sender": 1, "fc": 0, "ssap": -2}, "SSAP is -2"),
    ],
)
def test_what_no_telegram_can_say(wrong, says):
    with pytest.raises(OutOfRange, match=says):
        frame(**wrong)


@pytest.mark.parametrize(
    "good", [STATUS, DIAGNOSIS, write(Frame("SD3", 5, 1, 0x7D, bytes(range(8))))], ids=["SD1", "SD2", "SD3"]
)
def test_each_single_wrong_octet_is_found_and_named(good):
    # Every octet, every other value: 255 wrong telegrams for each octet, none is taken for whole.
    for at in range(1, len(good)):
        for value in range(256):
            if value == good[at]:
                continue
            wrong = good[:at] + bytes((value,)) + good[at + 1 :]
            pieces = list(read(STATUS + wrong + STATUS))
            assert pieces[0].frame == pieces[-1].frame == only(STATUS)
            assert [piece.octets for piece in pieces if piece.frame not in (None, only(STATUS))] == []
            middle = pieces[1]
            assert (middle.octets, middle.damaged, len(pieces)) == (wrong, True, 3)
            if at in (len(good) - 2, *range(4 if good[0] == 0x68 else 1, len(good) - 2)):
                assert "FCS is 16#" in middle.problem  # one of the octets it counts, or FCS itself
            else:
                assert middle.problem.startswith(f"octet {at + 1}: ")


def test_a_wrong_first_octet_hides_the_telegram():
    pieces = list(read(b"\x11" + STATUS[1:] + STATUS))
    assert [piece.frame for piece in pieces] == [None, only(STATUS)]
    assert pieces[0].problem == "16#11 begins no telegram"


@pytest.mark.parametrize(
    ("recording", "kinds", "says"),
    [
        ("00 FF 10 02 01 49 4C 16", [None, "SD1"], "16#00 begins no telegram"),
        ("10 02 01 49", [None], "SD1 is cut off: it needs 6 octets, 4 are there"),
        ("10", [None], "SD1 is cut off: it needs 6 octets, 1 are there"),
        ("DC 01", [None], "token is cut off: it needs 3 octets, 2 are there"),
        ("68", [None], "SD2 is cut off behind its first octet"),
        ("68 05", [None], "SD2 is cut off: it needs 11 octets, 2 are there"),
        ("68 00 00 68 E5 16 FF", [None], "SD2 begins here, but"),
        ("68 05 05 68 85 81", [None], "SD2 is cut off: it needs 11 octets, 6 are there"),
        ("68 05 07 68 85 81", [None], "LE 16#05 and LEr 16#07 differ"),
        ("68 05 05 68 85 81 10 02 01 49 4C 16", [None, "SD1"], "SD2 begins here, but octet 11: ED"),
        ("DC 7F 01", [None], "octet 2: DA of the token is 127; allowed is 0 to 126"),
        ("DC 01 81", [None], "octet 3: SA of the token is 129"),
        ("10 02 01 49 00 00 DC 01 01", [None, "token"], "octet 6: ED is 16#00; expected is 16#16; octet 5: FCS"),
        # SC and token have no check sum: behind rubbish something has to follow them.
        ("00 E5", [None, "SC"], "16#00"),
        ("00 E5 00", [None], "16#00"),
        ("00 E5 DC 01 01", [None, "SC", "token"], "16#00"),
        ("00 DC 01 01 00", [None], "16#00"),
        ("00 DC 01 01 10 02 01 49 4C 16", [None, "token", "SD1"], "16#00"),
        # A damaged telegram still shows where the next one begins.
        ("10 02 01 49 4D 16 E5 00", [None, "SC", None], "FCS is 16#4D"),
        ("10 02 01 49 4D 16 10 02 01 49 4E 16 00", [None, None, None], "FCS is 16#4D"),
    ],
)
def test_rubbish_and_where_the_next_telegram_is_found(recording, kinds, says):
    pieces = list(read(bytes.fromhex(recording)))
    assert [piece.frame and piece.frame.kind for piece in pieces] == kinds
    assert whole(pieces) == bytes.fromhex(recording)
    told = [piece.problem for piece in pieces if piece.frame is None]
    assert says in told[0]


def test_a_telegram_behind_an_empty_promise():
    # 68 F9 F9 68 promises 255 octets; the telegrams inside are found all the same.
    pieces = list(read(bytes.fromhex("68 F9 F9 68") + 50 * STATUS))
    assert [piece.frame for piece in pieces] == [None, *[only(STATUS)] * 50]


@given(
    st.lists(telegrams.filter(lambda one: one.kind in ("SD1", "SD2", "SD3")), min_size=1, max_size=6), st.integers(0, 5)
)
def test_it_finds_its_place_again_behind_rubbish(several, place):
    # octets that begin no telegram, so that the rubbish itself can't be taken for one
    rubbish = bytes.fromhex("00 FF 16 55")
    place %= len(several) + 1
    recording = b"".join(map(write, several[:place])) + rubbish + b"".join(map(write, several[place:]))
    pieces = list(read(recording))
    assert [piece.frame for piece in pieces] == [*several[:place], None, *several[place:]]
    assert pieces[place].octets == rubbish


def test_any_octets_are_given_back_piece_by_piece():
    good = [
        STATUS,
        DIAGNOSIS,
        TOKEN,
        b"\xe5",
        write(Frame("SD3", 5, 1, 0x7D, bytes(8))),
        write(Frame("SD2", 1, 5, 8, bytes(40))),
    ]
    for recording in mangled.octets(good):
        at = 0
        for piece in read(recording):
            assert piece.at == at
            assert piece.octets == recording[at : at + len(piece.octets)] != b""
            assert (piece.frame is None) == bool(piece.problem)
            assert not piece.problem.endswith("but ")
            if piece.frame:
                assert write(piece.frame) == piece.octets
            at += len(piece.octets)
        assert at == len(recording)


HARD = [
    "68",
    "E5",
    "DC",
    "10",
    "A2",
    "16",
    "68 F9 F9 68",
    "68 F9 F9 68 16 16",
    "DC 01",
    "E5 00",
    "68 68 68 68 16",
    "10 10 10 10 30 16",
]


@pytest.mark.parametrize("pattern", HARD)
def test_the_work_grows_with_the_length_and_no_faster(pattern):
    # Calls are counted, not time: the same on every machine. A call looks at 261 octets at the most.
    def calls(size):
        count = 0

        def counted(*_):
            nonlocal count
            count += 1

        recording = (bytes.fromhex(pattern) * size)[:size]
        pieces = read(recording)
        before = sys.getprofile()
        sys.setprofile(counted)
        try:
            for _ in pieces:
                pass
        finally:
            sys.setprofile(before)
        return count

    once, twice = calls(3000), calls(6000)
    assert twice < 2.2 * once + 500
    assert twice / 6000 < 60


def test_delimiters_are_the_published_ones():
    # M. Felser, PROFIBUS Manual, telegram formats
    assert (frames.SD1, frames.SD2, frames.SD3, frames.SD4, frames.ED, frames.SC) == (
        0x10,
        0x68,
        0xA2,
        0xDC,
        0x16,
        0xE5,
    )
    assert (frames.LE_LEAST, frames.LE_MOST) == (4, 249)


def test_check_sum():
    # Kipp & Zonen Combilog manual p.120, Gantner IDL101 manual p.73: the sum modulo 256
    assert frames.fcs(b"") == 0
    assert frames.fcs(bytes((255, 255))) == 254
    assert frames.fcs(bytes.fromhex("02 01 49")) == 0x4C


def test_what_is_refused_names_where_the_limit_is_from():
    for bad in (Frame("SD1", 256, 1, 0x49), Frame("token", 128, 1), Frame("SD1", 2, -1, 0x49)):
        with pytest.raises(OutOfRange, match=r"M\. Felser, PROFIBUS Manual"):
            write(bad)
