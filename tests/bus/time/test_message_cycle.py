"""The message cycle against the standard's form, the handbook's form and telegrams counted byte by byte."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.cable.bit_rates import bit_rates
from helpers.bus.time.message_cycle import TSDR, Breakdown, Exchange, Part, lost_message_bits, message_cycle, tsdr_part
from helpers.bus.time.timing import bus_timing
from helpers.errors import OutOfRange, Unknown

RATES = st.sampled_from(bit_rates())
DATA = st.integers(1, 244)


@given(DATA, DATA, st.sampled_from([r for r in bit_rates() if r <= 1_500_000]))
def test_standard_and_handbook_form(outputs, inputs, bit_rate):
    data = outputs + inputs
    # PROFIBUS Specification p.900 eq. 21 with the TID1 of Horner PBS600 manual p.36.
    assert message_cycle(Exchange(outputs, inputs), bit_rate=bit_rate).bits == 267 + 11 * data
    # M. Felser, PROFIBUS Manual, calculation for single masters.
    assert message_cycle(Exchange(outputs, inputs), bit_rate=bit_rate, form="handbook").bits == 300 + 11 * data


@pytest.mark.parametrize(("bit_rate", "fixed"), [(3e6, 276), (6e6, 287), (12e6, 306)])
def test_above_1_5_mbit_the_standard_s_form_grows(bit_rate, fixed):
    # TID1 of 46, 57 and 76 in place of 37: at 12 Mbit/s the handbook's 300 is no longer the cautious one.
    assert message_cycle(Exchange(1, 1), bit_rate=bit_rate).bits == fixed + 22
    assert message_cycle(Exchange(1, 1), bit_rate=bit_rate, form="handbook").bits == 322


def test_the_parts_are_those_of_the_formula():
    cycle = message_cycle(Exchange(2, 4), bit_rate=1_500_000, delay_bits=1.5)
    assert [(p.name, p.bits) for p in cycle.parts] == [
        ("request", 121),
        ("TSDR", 32),
        ("answer", 143),
        ("TID1", 37),
        ("2·TTD", 1.5),
    ]
    handbook = message_cycle(Exchange(2, 4), bit_rate=1_500_000, form="handbook")
    assert [(p.name, p.bits) for p in handbook.parts] == [
        ("TSYN", 33),
        ("request", 121),
        ("TSDR", 32),
        ("answer", 143),
        ("TID1", 37),
    ]
    assert all(p.source and p.why for p in (*cycle.parts, *handbook.parts))


def test_a_poll_timed_along_telegrams_counted_byte_by_byte():
    """Second method: the clock runs along real telegrams, 11 bit times for each byte."""
    request = bytes.fromhex("68 05 05 68 05 01 7D 12 34 C9 16")
    answer = bytes.fromhex("68 07 07 68 01 05 08 00 01 02 03 14 16")
    clock = 0
    clock += 11 * len(request)
    clock += 32  # typical TSDR
    clock += 11 * len(answer)
    clock += 3 + 2 * 4 + 2 + 33  # TQUI, TSET and TSYN at 3 Mbit/s
    assert message_cycle(Exchange(2, 4), bit_rate=3_000_000).bits == clock


def test_short_frames():
    # M. Felser, PROFIBUS Manual, telegram formats: an SC says that there are no data; LE is 4 or more, so no empty SD2.
    def both(exchange, **how):
        parts = message_cycle(exchange, bit_rate=1_500_000, **how).parts
        return parts[0].bits, parts[2].bits

    assert both(Exchange(0, 2)) == (66, 121)
    assert both(Exchange(2, 0)) == (121, 11)
    assert both(Exchange(0, 0)) == (66, 11)
    assert both(Exchange(0, 0), short_frames=False) == (99, 99)
    assert message_cycle(Exchange(0, 2), bit_rate=1_500_000).parts[0].source.endswith("(calculated)")
    # A service with SAPs needs its SD2 for them; an answer without data is still an SC.
    assert both(Exchange(0, 6, saps=True)) == (121, 187)
    assert both(Exchange(7, 0, saps=True)) == (198, 11)


def test_tsdr_cases_and_a_station_s_own():
    def tsdr(case, **own):
        return message_cycle(Exchange(1, 1, **own), bit_rate=500_000, tsdr=case).parts[1].bits

    assert [tsdr(case) for case in TSDR] == [11, 32, 100]
    assert [tsdr(case, tsdr_bits=57) for case in TSDR] == [57, 57, 57]
    assert (tsdr("typical", tsdr_bits=11), tsdr("typical", tsdr_bits=200)) == (11, 200)
    for wrong in (10, 201):
        with pytest.raises(OutOfRange, match="allowed is 11 to 200"):
            tsdr("typical", tsdr_bits=wrong)
    with pytest.raises(Unknown, match="shortest, typical, longest"):
        tsdr("slow")


def test_the_typical_tsdr_stays_between_the_two_limits():
    t = bus_timing(1_500_000)
    assert tsdr_part(replace(t, min_tsdr_bits=40), "typical").bits == 40
    assert tsdr_part(replace(t, max_tsdr_bits=20), "typical").bits == 20


@given(DATA, DATA, RATES, st.floats(0, 100))
def test_the_total_is_the_sum_and_the_cases_are_in_order(outputs, inputs, bit_rate, delay_bits):
    cycles = [message_cycle(Exchange(outputs, inputs), bit_rate=bit_rate, tsdr=c, delay_bits=delay_bits) for c in TSDR]
    assert [c.bits for c in cycles] == sorted(c.bits for c in cycles)
    for cycle in cycles:
        assert cycle.bits == sum(p.bits for p in cycle.parts) == cycle.group_bits("message")
        assert cycle.seconds * bit_rate == pytest.approx(cycle.bits)


@given(DATA, DATA, RATES)
def test_outputs_and_inputs_cost_the_same(outputs, inputs, bit_rate):
    there, back = Exchange(outputs, inputs), Exchange(inputs, outputs)
    assert message_cycle(there, bit_rate=bit_rate).bits == message_cycle(back, bit_rate=bit_rate).bits


def test_a_lost_telegram():
    # Short answer: the slot time decides. Long answer: the spoilt answer does.
    assert lost_message_bits(Exchange(12, 0), bit_rate=1_500_000) == (11 * 12 + 99) + 300
    assert lost_message_bits(Exchange(2, 244), bit_rate=1_500_000) == 121 + 150 + (11 * 244 + 99) + 37
    own = replace(bus_timing(1_500_000), tsl_bits=4000)
    assert lost_message_bits(Exchange(2, 244), bit_rate=1_500_000, timing=own) == 121 + 4000


def test_what_is_refused():
    for outputs, inputs in ((-1, 0), (0, -1), (245, 0), (0, 245)):
        with pytest.raises(OutOfRange, match="allowed is 0 to 244 byte"):
            Exchange(outputs, inputs)
    with pytest.raises(OutOfRange, match="Min_Slave_Interval"):
        Exchange(1, 1, min_slave_interval_s=6.6)
    with pytest.raises(Unknown, match="standard, handbook"):
        message_cycle(Exchange(1, 1), bit_rate=9600, form="mine")
    with pytest.raises(OutOfRange, match="signal delay"):
        message_cycle(Exchange(1, 1), bit_rate=9600, delay_bits=-1)
    with pytest.raises(Unknown, match="bit rate"):
        message_cycle(Exchange(1, 1), bit_rate=31_250)


def test_the_total_of_a_breakdown_is_the_sum_of_its_parts():
    sum_ = Breakdown("Two items", 9600, (Part("one", 96, times=2), Part("other", 9.5)))
    assert sum_.bits == 201.5 and sum_.seconds == pytest.approx(20.99e-3, rel=1e-3)
