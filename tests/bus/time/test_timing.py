"""Telegram lengths and bus parameters against the published figures."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.cable.bit_rates import bit_rates
from helpers.bus.time import timing
from helpers.bus.time.timing import (
    bit_time_s,
    bus_timing,
    check_slot_time,
    signal_delay_bits,
    telegram_bits,
    telegram_octets,
    wire_bits,
)
from helpers.errors import OutOfRange, Unknown
from helpers.verdict import Degree

# M. Felser, PROFIBUS Manual, timing: TQUI, TSET, TRDY, min TSDR, max TSDR, TSL. Typed again from the page.
PUBLISHED = {
    9_600: (0, 1, 11, 11, 60, 100),
    19_200: (0, 1, 11, 11, 60, 100),
    93_750: (0, 1, 11, 11, 60, 100),
    187_500: (0, 1, 11, 11, 60, 100),
    500_000: (0, 1, 11, 11, 100, 200),
    1_500_000: (0, 1, 11, 11, 150, 300),
    3_000_000: (3, 4, 11, 11, 250, 400),
    6_000_000: (6, 8, 11, 11, 450, 600),
    12_000_000: (9, 16, 11, 11, 800, 1000),
}


def test_another_bit_rate_has_no_bit_time():
    for wrong in (31_250, 0, -9600, 1_500_001, float("nan"), 12):
        with pytest.raises(Unknown, match="known are 9600"):
            bit_time_s(wrong)


def test_bit_time():
    # M. Felser, PROFIBUS Manual, calculation for single masters: 83 ns and 0.67 µs.
    assert round(bit_time_s(12_000_000) * 1e9) == 83
    assert round(bit_time_s(1_500_000) * 1e6, 2) == 0.67


@pytest.mark.parametrize("bit_rate", PUBLISHED)
def test_bus_parameters(bit_rate):
    t = bus_timing(bit_rate)
    got = (t.tqui_bits, t.tset_bits, t.trdy_bits, t.min_tsdr_bits, t.max_tsdr_bits, t.tsl_bits)
    assert got == PUBLISHED[bit_rate]
    assert "Felser" in timing.timing_source("tsl", bit_rate)


def test_45_kbit_is_a_case_of_its_own():
    t = bus_timing(45_450)
    assert (t.max_tsdr_bits, t.tsl_bits, t.tid1_bits) == (400, 640, 37)  # max TSDR and TSL from memory
    assert timing.timing_source("max_tsdr", 45_450).endswith("(memory)")
    assert [(row["kbit_s"], row["bits"]) for row in timing.slow_answers()] == [("45.45", "250"), ("93.75", "1000")]


def test_idle_times():
    # Horner PBS600 manual p.36; 37 and 150 are the figures of M. Felser, calculation for single masters.
    assert [bus_timing(rate).tid1_bits for rate in bit_rates()] == [37] * 7 + [46, 57, 76]
    assert bus_timing(1_500_000).tid2_bits == 150
    # Elpro 105U-G manual writes the same as 35 + 2·TSET + TQUI.
    for rate in bit_rates():
        t = bus_timing(rate)
        assert t.tid1_bits == 35 + 2 * t.tset_bits + t.tqui_bits
        assert t.tid2_bits == max(t.tid1_bits, t.max_tsdr_bits)


def test_a_long_min_tsdr_lengthens_tid1():
    t = bus_timing(1_500_000)
    assert replace(t, min_tsdr_bits=37).tid1_bits == 37
    assert replace(t, min_tsdr_bits=38).tid1_bits == 38
    assert replace(t, max_tsdr_bits=36).tid2_bits == 37


def test_parameters_that_no_octet_holds():
    # PROFIBUS Specification p.775 fig. 25: TQUI and TSET Unsigned8; TSL and TSDR Unsigned16.
    t = bus_timing(1_500_000)
    replace(t, tqui_bits=255, tset_bits=255, tsl_bits=65535, min_tsdr_bits=65535, max_tsdr_bits=65535)
    for change in ({"tqui_bits": 256}, {"tset_bits": -1}, {"tsl_bits": 65536}, {"min_tsdr_bits": -1}):
        with pytest.raises(OutOfRange, match=r"p\.775"):
            replace(t, **change)


def test_parameters_of_another_bit_rate_are_refused():
    assert timing.timing_for(500_000, None) == bus_timing(500_000)
    own = replace(bus_timing(500_000), tsl_bits=250)
    assert timing.timing_for(500_000, own) is own
    with pytest.raises(OutOfRange, match="those of 500 kbit/s"):
        timing.timing_for(1_500_000, own)


def test_telegram_bits():
    # M. Felser, PROFIBUS Manual, calculation for single masters: SD1 66, token 33, SD2 11n + 99 and 11n + 121 bit.
    assert (telegram_bits("SD1"), telegram_bits("token")) == (66, 33)
    for n in (1, 2, 12, 244):
        assert telegram_bits("SD2", n) == 11 * n + 99
        assert telegram_bits("SD2 with SAPs", n) == 11 * n + 121
    # Frame rules of the same manual, telegram formats.
    assert (telegram_bits("SC"), telegram_bits("SD3")) == (11, 154)


@pytest.mark.parametrize(
    ("telegram", "data", "octets"),
    [
        # Real telegrams, byte by byte, after the frame rules of M. Felser, PROFIBUS Manual, telegram formats.
        ("SD1", 0, "10 02 01 49 4C 16"),
        ("token", 0, "DC 01 01"),
        ("SC", 0, "E5"),
        ("SD2", 2, "68 05 05 68 05 01 7D 12 34 C9 16"),
        ("SD2 with SAPs", 0, "68 05 05 68 85 81 6D 3C 3E ED 16"),
        ("SD3", 0, "A2 05 01 7D 01 02 03 04 05 06 07 08 A7 16"),
    ],
)
def test_the_length_is_that_of_a_real_telegram(telegram, data, octets):
    assert telegram_octets(telegram, data) == len(bytes.fromhex(octets))


def test_how_much_data_a_telegram_carries():
    # M. Felser, PROFIBUS Manual, telegram formats: LE 4 to 249, that is 246 bytes without SAPs and 244 with.
    assert telegram_octets("SD2", 246) - 6 == 249 and telegram_octets("SD2", 1) - 6 + 0 == 4
    assert telegram_octets("SD2 with SAPs", 244) == 255
    for telegram, data in (("SD2", 247), ("SD2", 0), ("SD2 with SAPs", 245), ("SD1", 1), ("SC", 1), ("SD2", -1)):
        with pytest.raises(OutOfRange, match=f"data of {telegram}"):
            telegram_octets(telegram, data)
    with pytest.raises(Unknown, match="known are SD1, SD2"):
        telegram_octets("SD4")


def test_synchronous_medium():
    # PROFIBUS Specification p.900: 9 octets are 72 bit, 62 octets 496 bit.
    assert (wire_bits(9, "synchronous"), wire_bits(62, "synchronous")) == (72, 496)
    assert wire_bits(0) == 0
    with pytest.raises(OutOfRange):
        wire_bits(-1)
    with pytest.raises(Unknown, match="RS-485, synchronous"):
        wire_bits(1, "fibre")


def test_signal_delay():
    assert signal_delay_bits(length_m=100, bit_rate=12_000_000) == 12  # 5 ns/m from memory, there and back
    assert signal_delay_bits(length_m=0, bit_rate=9600) == 0
    assert signal_delay_bits(length_m=0, bit_rate=9600, repeaters=2, repeater_delay_bits=1.5) == 6
    for wrong in ({"length_m": -1}, {"length_m": 1, "repeaters": -1}, {"length_m": 1, "repeater_delay_bits": -1}):
        with pytest.raises(OutOfRange):
            signal_delay_bits(bit_rate=9600, **wrong)


@given(st.floats(0, 2000), st.integers(0, 9), st.sampled_from(bit_rates()))
def test_signal_delay_adds_up(length_m, repeaters, bit_rate):
    both = signal_delay_bits(length_m=length_m, bit_rate=bit_rate, repeaters=repeaters)
    cable = signal_delay_bits(length_m=length_m, bit_rate=bit_rate)
    boxes = signal_delay_bits(length_m=0, bit_rate=bit_rate, repeaters=repeaters)
    assert both == pytest.approx(cable + boxes, abs=1e-6)


def test_min_slave_interval():
    assert timing.min_slave_interval_s(20) == 0.002  # esd CAN-DP manual p.20
    assert timing.min_slave_interval_s(0) == 0
    for units in (-1, 65536):
        with pytest.raises(OutOfRange, match="Unsigned16"):
            timing.min_slave_interval_s(units)


@pytest.mark.parametrize("bit_rate", bit_rates())
def test_slot_time_is_longer_than_the_slowest_answer(bit_rate):
    # Elpro 105U-G manual p.91: TSL is at least max TSDR + 15. The published TSL satisfy it.
    t = bus_timing(bit_rate)
    assert check_slot_time(t).degree == Degree.IN_ORDER
    least = t.max_tsdr_bits + 15
    # One manual asks for the 15; an answer that no longer fits in at all asks for no document.
    assert check_slot_time(replace(t, tsl_bits=least - 1)).degree == Degree.CAUTION
    assert check_slot_time(replace(t, tsl_bits=t.max_tsdr_bits)).degree == Degree.CANNOT_WORK


def test_a_long_cable_asks_for_a_longer_slot_time():
    t = bus_timing(12_000_000)
    # 800 + 11 + TSM of 2 + 2·16 + 9 leaves 146 of the 1000 for the way there and back.
    assert check_slot_time(t, 146).degree == Degree.IN_ORDER
    finding = check_slot_time(t, 146.5)
    assert finding.degree == Degree.CAUTION
    assert finding.to_do == "Set TSL to 1001 bit or more." and "calculated" in finding.source
    with pytest.raises(OutOfRange):
        check_slot_time(t, -1)
