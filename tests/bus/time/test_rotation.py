"""A rotation of the token, telegram by telegram: lengths as published, octets as read back, times by a second method.

Lengths: M. Felser, PROFIBUS Manual, calculation for single masters – token 33 bit, status poll 66 bit, data
telegram 11n + 99 bit. Formats: the same, telegram formats. FCS: Kipp & Zonen Combilog manual p.120.
"""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.cable.bit_rates import bit_rates
from helpers.bus.telegram.frame import read
from helpers.bus.time.cycle import one_cycle
from helpers.bus.time.message_cycle import TSDR
from helpers.bus.time.rotation import AGAIN, ANSWER, GAP, REQUEST, TOKEN, Polled, pieces, rotation
from helpers.bus.time.timing import bus_timing
from helpers.errors import OutOfRange, Unknown

LINES = st.lists(st.tuples(st.binary(max_size=40), st.binary(max_size=40), st.booleans()), min_size=1, max_size=12).map(
    lambda rows: [Polled(10 + n, f"drive {n}", out, back, silent) for n, (out, back, silent) in enumerate(rows)]
)
RATES = st.sampled_from(bit_rates())


@given(st.integers(1, 244), st.integers(1, 244))
def test_lengths_are_those_published(outputs: int, inputs: int) -> None:
    said = rotation([Polled(10, "fan", bytes(outputs), bytes(inputs))], bit_rate=1_500_000)
    assert [one.bits for one in said] == [33, 11 * outputs + 99, 11 * inputs + 99, 66]


def test_a_message_cycle_is_267_bit_times_and_11_for_each_byte() -> None:
    # 2·99 + 32 + 37 = 267 + 11·bytes up to 1.5 Mbit/s: PROFIBUS Specification p.900 eq. 21 with the handbook's
    # lengths and typical TSDR, and TID1 from Horner PBS600 manual p.36.
    said = rotation([Polled(10, "fan", bytes(12), bytes(12))], bit_rate=1_500_000)
    assert said[2].end_bits - said[1].start_bits == 267 + 11 * 24


@given(LINES, RATES, st.sampled_from(TSDR))
def test_the_times_are_those_of_the_cycle_to_the_bit(line: list[Polled], bit_rate: float, tsdr: str) -> None:
    answering = [Polled(one.address, one.name, one.outputs, one.inputs) for one in line]
    exchanges = [one.exchange for one in answering]
    total = rotation(answering, bit_rate=bit_rate, tsdr=tsdr)[-1].end_bits
    assert total == one_cycle(exchanges, bit_rate=bit_rate, tsdr=tsdr).bits


@given(LINES, RATES, st.integers(0, 3))
def test_a_silent_station_costs_request_and_slot_time_for_each_try(line: list[Polled], rate: float, again: int) -> None:
    said = rotation(line, bit_rate=rate, again=again)
    for station in line:
        asked = [one for one in said if one.receiver == station.address and one.kind != ANSWER]
        answered = [one for one in said if one.sender == station.address]
        assert [one.kind for one in asked] == [REQUEST] + [AGAIN] * (again if station.silent else 0)
        assert len({one.octets for one in asked}) == 1  # the same telegram again
        assert bool(answered) is not station.silent
        if station.silent:
            cost = asked[-1].end_bits - asked[0].start_bits
            assert cost == (1 + again) * (asked[0].bits + bus_timing(rate).tsl_bits)


@given(LINES, RATES)
def test_telegrams_follow_each_other_and_are_read_back(line: list[Polled], rate: float) -> None:
    said = rotation(line, bit_rate=rate)
    assert said[0].start_bits == 0
    for before, after in pairwise(said):
        assert before.end_bits == after.start_bits
        assert before.silence.bits > 0
    again = list(read(b"".join(one.octets for one in said)))
    assert [piece.frame for piece in again] == [one.frame for one in said]
    assert all(not piece.problem for piece in again)


@given(LINES)
def test_only_the_controller_speaks_unasked(line: list[Polled]) -> None:
    said = rotation(line, bit_rate=500_000, controller=3)
    for before, after in pairwise(said):
        assert after.sender == 3 or (before.kind == REQUEST and before.receiver == after.sender)
    assert [one.kind for one in said if one.kind in (TOKEN, GAP)] == [TOKEN, GAP]


def test_octets_worked_by_hand() -> None:
    # Token of 1 to itself; FCS: (2 + 1 + 0x49) mod 256 = 0x4C; (0x0A + 1 + 0x7D + 0x04 + 0x7F) mod 256 = 0x0B.
    said = rotation([Polled(10, "fan", b"\x04\x7f", b"\x02\x37")], bit_rate=1_500_000)
    assert [one.octets.hex(" ") for one in said] == [
        "dc 01 01",
        "68 05 05 68 0a 01 7d 04 7f 0b 16",
        "68 05 05 68 01 0a 08 02 37 4c 16",
        "10 02 01 49 4c 16",
    ]


def test_a_station_without_data_has_short_telegrams() -> None:
    said = rotation([Polled(10, "button", b"", b"")], bit_rate=1_500_000)
    assert [one.octets.hex(" ") for one in said[1:3]] == ["10 0a 01 7d 88 16", "e5"]
    assert (said[2].sender, said[2].receiver) == (10, 1)


@given(LINES)
def test_the_pieces_are_the_telegram(line: list[Polled]) -> None:
    for one in rotation(line, bit_rate=12_000_000):
        cut = pieces(one)
        assert b"".join(piece.octets for piece in cut) == one.octets
        assert all(piece.says for piece in cut)
        if one.frame.data:
            says = {piece.name: piece.says for piece in cut}
            assert says["LE"] == f"length {len(one.frame.data) + 3}"
            assert says["data"].split()[0] == str(len(one.frame.data))


def test_the_gap_is_the_first_free_address_above_the_controller() -> None:
    near = [Polled(2, "a"), Polled(3, "b")]
    assert rotation(near, bit_rate=1_500_000)[-1].receiver == 4
    assert rotation(near, bit_rate=1_500_000, gap=77)[-1].receiver == 77
    # Elpro 105U-G/905U-G manual p.85: the HSA goes up to 126, and so does the search.
    full = [Polled(n, f"drive {n}") for n in range(126) if n != 1]
    assert rotation(full, bit_rate=1_500_000)[-1].receiver == 126


@pytest.mark.parametrize(
    ("change", "said"),
    [({"gap": 10}, "the gap address is 10, which is in use"), ({"controller": 10}, "given twice"),
     ({"again": -1}, "number of repeats is -1"), ({"again": 256}, "number of repeats is 256")],
)  # fmt: skip
def test_what_cannot_be_is_refused(change: dict[str, int], said: str) -> None:
    with pytest.raises(OutOfRange, match=said):
        rotation([Polled(10, "fan")], bit_rate=1_500_000, **change)  # type: ignore[arg-type]


def test_an_empty_line_and_too_much_data_are_refused() -> None:
    with pytest.raises(OutOfRange, match="number of stations is 0"):
        rotation([], bit_rate=1_500_000)
    with pytest.raises(OutOfRange, match="outputs is 245 byte; allowed is 0 to 244"):
        Polled(10, "fan", bytes(245))
    with pytest.raises(OutOfRange, match="address of fan is 126"):
        Polled(126, "fan")
    with pytest.raises(Unknown, match="bit rate"):
        rotation([Polled(10, "fan")], bit_rate=1_000_000)


def test_the_function_code_is_said_to_be_that_of_a_request_or_of_an_answer():
    said = rotation([Polled(10, "fan", bytes(2), bytes(2))], bit_rate=1_500_000)
    told = {each.kind: {piece.name: piece.says for piece in pieces(each)}.get("FC") for each in said}
    assert (told[REQUEST], told[ANSWER], told[TOKEN]) == ("request", "answer", None)
