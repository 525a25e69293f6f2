"""Byte order against published octets, Python's own struct and array, and properties of exchanging."""

import struct

import pytest
from golden import both_ways, octets
from hypothesis import given
from hypothesis import strategies as st

from helpers.device.byte_order import (
    arrange,
    byte_order_answer,
    iec_type,
    iec_types,
    orders,
    read_as,
    readings,
    to_bus,
    value_typed,
)
from helpers.errors import OutOfRange, Unknown, Unreadable, WorkbookError

TYPES = [one.name for one in iec_types()]
# How Python's struct writes the types: a second method, from outside.
STRUCT = {"BYTE": "B", "USINT": "B", "SINT": "b", "WORD": "H", "UINT": "H", "INT": "h", "DWORD": "I", "UDINT": "I",
          "DINT": "i"}  # fmt: skip
values = st.sampled_from(iec_types()).flatmap(lambda t: st.tuples(st.just(t.name), st.integers(t.low, t.high)))


@pytest.mark.parametrize(
    ("printed", "kind", "value"),
    [
        ("04 7F", "WORD", 0x047F),  # control word: Vacon CX PROFIBUS manual p.13; ABB FPBA-01 manual p.142
        ("13 88", "INT", 5000),  # setpoint of the same frame: Vacon CX PROFIBUS manual p.13
        ("03 37", "WORD", 0x0337),  # status word: ABB FPBA-01 manual p.144
        ("34 15", "INT", 0x3415),  # setpoint: ABB FPBA-01 manual p.142
        ("C0 00", "INT", -16384),  # -100 % in N2: Eaton manual MN040062EN p.61
        ("80 00", "INT", -32768),  # -200 % in N2: TR-Electronic manual p.195
        ("40 00 00 00", "DINT", 0x40000000),  # 100 % in N4: TR-Electronic manual p.195
    ],
)
def test_published_octets_are_the_values_with_the_high_byte_first(printed, kind, value):
    both_ways(printed, value, decode=lambda read: read_as(read, kind), encode=lambda number: to_bus(number, kind))


@given(values)
def test_the_bus_is_big_endian_and_the_other_order_little_endian(pair):
    kind, value = pair
    assert to_bus(value, kind) == struct.pack(f">{STRUCT[kind]}", value)
    assert read_as(struct.pack(f"<{STRUCT[kind]}", value), kind, "low byte first") == value


@given(st.sampled_from([1, 2, 4]).flatmap(lambda n: st.binary(min_size=n, max_size=n)), st.sampled_from(orders()))
def test_exchanging_twice_gives_the_first_octets_back(read, order):
    once = arrange(read, order)
    assert arrange(once, order) == read
    assert sorted(once) == sorted(read)
    assert order != "high byte first" or once == read


@given(st.binary(min_size=4, max_size=4))
def test_both_exchanges_together_reverse_a_double_word(read):
    assert arrange(arrange(read, "bytes exchanged"), "words exchanged") == read[::-1] == arrange(read, "low byte first")
    assert arrange(read, "words exchanged") == read[2:] + read[:2]


@pytest.mark.parametrize("name", TYPES)
def test_a_type_holds_its_ends_and_nothing_beyond(name):
    one = iec_type(name)
    assert to_bus(one.low, name) and to_bus(one.high, name)
    for beyond in (one.low - 1, one.high + 1):
        with pytest.raises(OutOfRange, match=f"{name} is .*allowed is .*IEC 61131-3"):
            to_bus(beyond, name)


def test_the_ends_of_signed_and_unsigned_words():
    # two's complement of 16 and 32 bits
    ends = {name: (iec_type(name).low, iec_type(name).high) for name in ("INT", "UINT", "DINT", "UDINT", "SINT")}
    assert ends == {"INT": (-32768, 32767), "UINT": (0, 65535), "DINT": (-(2**31), 2**31 - 1), "UDINT": (0, 2**32 - 1),
                    "SINT": (-128, 127)}  # fmt: skip


@given(values)
def test_what_is_shown_is_read_back(pair):
    kind, value = pair
    assert value_typed(iec_type(kind).shown(value), kind) == value


def test_the_bits_of_a_negative_number_may_be_typed():
    assert value_typed("16#FFFF", "INT") == -1
    assert value_typed("2#1000_0000_0000_0000", "INT") == -32768
    with pytest.raises(OutOfRange, match="value of type INT is 65535"):
        value_typed("65535", "INT")
    with pytest.raises(OutOfRange, match="value of type INT is 65536"):
        value_typed("16#1_0000", "INT")


@given(st.text(max_size=200), st.sampled_from(TYPES))
def test_any_text_is_a_value_or_a_sentence(text, kind):
    try:
        assert iec_type(kind).low <= value_typed(text, kind) <= iec_type(kind).high
    except WorkbookError as error:
        assert str(error).endswith(".")


def test_all_readings_of_a_word_and_a_double_word():
    word = {(one.order, one.type): one.shown for one in readings(octets("FF F6"))}
    assert word["high byte first", "INT"] == "-10"
    assert word["high byte first", "UINT"] == "65526"  # 65536 - 10: the sign is lost
    assert word["low byte first", "WORD"] == "16#F6FF"
    assert len(word) == 2 * 3
    assert len(readings(octets("11 22 33 44"))) == 4 * 3
    assert len(readings(octets("00 00"))) == 3  # all orders come to the same


@pytest.mark.parametrize("wrong", ["", "11 22 33", "11 22 33 44 55 66 77 88"])
def test_other_lengths_are_refused(wrong):
    with pytest.raises(OutOfRange, match=r"allowed are 1, 2, 4"):
        arrange(octets(wrong), "high byte first")


def test_what_does_not_exist_is_refused_with_the_list():
    with pytest.raises(Unknown, match="high byte first, low byte first"):
        arrange(b"ab", "middle")
    with pytest.raises(Unknown, match="WORD"):
        iec_type("word")
    with pytest.raises(OutOfRange, match="allowed is 2 for INT"):
        read_as(b"a", "INT")
    with pytest.raises(Unreadable, match="101 characters"):
        value_typed("1" * 101, "INT")


def test_the_control_word_of_a_published_frame_exchanged():
    # Octets 04 7F for 16#047F: Vacon CX PROFIBUS manual p.13; ABB FPBA-01 manual p.142
    answer = byte_order_answer("WORD", "16#047F", "low byte first")
    assert answer.sentence == "16#047F travels as 04 7F. This controller reads 16#7F04 instead."
    assert "secured against starting" in str(answer.caution)
    same = byte_order_answer("WORD", "16#047F", "high byte first")
    assert same.sentence.endswith("This controller reads 16#047F, the same.") and not same.caution


def test_a_negative_setpoint_is_shown_signed_and_unsigned():
    # -100 % in N2 is 16#C000: Eaton manual MN040062EN p.61
    row = byte_order_answer("INT", "-16384", "high byte first").rows[0]
    assert (row["as INT"], row["as UINT"], row["as WORD"]) == ("-16384", "49152", "16#C000")


def test_a_value_with_a_foreign_unit_is_refused():
    with pytest.raises(Unreadable, match="65536 apples"):
        byte_order_answer("WORD", "65536 apples", "low byte first")
