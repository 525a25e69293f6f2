"""The bus cycle against a clock that runs along the telegrams, and against the handbook's sum."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.cable.bit_rates import bit_rates
from helpers.bus.time.cycle import OtherMaster, bus_cycle, handbook_cycle, one_cycle
from helpers.bus.time.message_cycle import Exchange
from helpers.bus.time.timing import bus_timing
from helpers.errors import OutOfRange, Unknown

RATES = st.sampled_from(bit_rates())
EXCHANGES = st.lists(
    st.builds(Exchange, st.integers(0, 244), st.integers(0, 244), tsdr_bits=st.sampled_from([None, 20, 60])),
    min_size=1,
    max_size=8,
)
FOUR_BYTES = [Exchange(2, 2)] * 20


def along_the_wire(exchanges, bit_rate, *, gap_polls, delay_bits=0.0):
    """Second method: the bus as a row of events, each with the time at which the line falls silent."""
    t = bus_timing(bit_rate)
    idle = t.tqui_bits + 2 * t.tset_bits + 2 + 33
    clock = 3 * 11 + idle  # the token, sent to itself
    for exchange in exchanges:
        request = 6 if exchange.outputs == 0 else 9 + exchange.outputs
        answer = 1 if exchange.inputs == 0 else 9 + exchange.inputs
        arrived = clock + request * 11 + delay_bits / 2
        answered = arrived + (exchange.tsdr_bits or 32) + answer * 11
        clock = answered + delay_bits / 2 + idle
    return clock + gap_polls * (6 * 11 + t.tsl_bits)


@given(EXCHANGES, RATES, st.integers(0, 3), st.sampled_from([0.0, 1.5, 12.0]))
def test_to_the_bit_along_the_wire(exchanges, bit_rate, gap_polls, delay_bits):
    cycle = one_cycle(exchanges, bit_rate=bit_rate, gap_polls=gap_polls, delay_bits=delay_bits)
    assert cycle.bits == along_the_wire(exchanges, bit_rate, gap_polls=gap_polls, delay_bits=delay_bits)


def test_token_and_gap_of_the_handbook():
    # M. Felser, PROFIBUS Manual, calculation for single masters: TID2 150 and TSL 300 give 216 + 399 = 615 tBit.
    cycle = handbook_cycle(FOUR_BYTES, bit_rate=1_500_000)
    assert (cycle.group_bits("token"), cycle.group_bits("gap")) == (216, 399)
    assert cycle.bits == 615 + 20 * 300 + 11 * 80
    # The standard's form counts each silence once: 33 + 37, and 66 + 300.
    exact = one_cycle(FOUR_BYTES, bit_rate=1_500_000)
    assert (exact.group_bits("token"), exact.group_bits("gap")) == (70, 366)
    assert exact.bits == 436 + 20 * 267 + 11 * 80


@given(EXCHANGES, RATES)
def test_best_typical_worst(exchanges, bit_rate):
    plain = [replace(exchange, tsdr_bits=None) for exchange in exchanges]
    cycle = bus_cycle(plain, bit_rate=bit_rate)
    assert cycle.best.bits < cycle.typical.bits < cycle.worst.bits
    t = bus_timing(bit_rate)
    # From best to typical: 21 bit more of TSDR for each station, and the gap poll.
    assert cycle.typical.bits - cycle.best.bits == 21 * len(plain) + 66 + t.tsl_bits
    assert cycle.best.group_bits("gap") == 0 and cycle.best.group_bits("lost") == 0
    for case in (cycle.best, cycle.typical, cycle.worst):
        assert case.bits == sum(part.bits for part in case.parts)


@given(EXCHANGES, RATES, st.randoms(use_true_random=False))
def test_the_order_of_the_stations_does_not_matter(exchanges, bit_rate, random):
    turned = random.sample(exchanges, len(exchanges))
    one, other = bus_cycle(exchanges, bit_rate=bit_rate), bus_cycle(turned, bit_rate=bit_rate)
    assert (one.best.bits, one.typical.bits, one.worst.bits) == (other.best.bits, other.typical.bits, other.worst.bits)


@given(EXCHANGES, RATES, st.integers(0, 5))
def test_each_lost_telegram_costs_the_same(exchanges, bit_rate, lost):
    fewer, more = (bus_cycle(exchanges, bit_rate=bit_rate, lost=n).worst.bits for n in (lost, lost + 1))
    alone = bus_cycle(exchanges, bit_rate=bit_rate, lost=1).worst.group_bits("lost")
    assert more - fewer == alone > bus_timing(bit_rate).tsl_bits


def test_a_higher_bit_rate_is_faster():
    # Not in step with the rate: at 12 Mbit/s the silences are longer in bit times.
    seconds = [bus_cycle(FOUR_BYTES, bit_rate=rate).typical.seconds for rate in bit_rates()]
    assert all(slow > fast for slow, fast in pairwise(seconds))
    assert seconds[-4] / seconds[-1] < 8


def test_equal_stations_are_one_item():
    parts = one_cycle([*FOUR_BYTES, Exchange(2, 2, name="dryer fan")], bit_rate=500_000).parts
    assert [(p.name, p.times) for p in parts if p.group == "message"] == [
        ("message cycle 2 out / 2 in", 20),
        ("message cycle dryer fan", 1),
    ]


def test_the_dearer_gap_poll_is_in_the_worst_case():
    # At 187.5 kbit/s an answer takes longer than waiting for none: 66 + 60 + 66 + 37 against 66 + 100.
    slow = bus_cycle(FOUR_BYTES, bit_rate=187_500).worst
    assert [(p.name, p.bits) for p in slow.parts if p.group == "gap"] == [("gap poll, answered", 229)]
    # At 12 Mbit/s it is the other way round: 66 + 800 + 66 + 76 against 66 + 1000.
    fast = bus_cycle(FOUR_BYTES, bit_rate=12_000_000).worst
    assert [(p.name, p.bits) for p in fast.parts if p.group == "gap"] == [("gap poll", 1066)]


def test_an_answered_gap_poll_crosses_the_cable_twice():
    near, far = (
        one_cycle([Exchange(1, 1)], bit_rate=187_500, gap_answered=True, delay_bits=d).group_bits("gap") for d in (0, 4)
    )
    assert (near, far) == (66 + 32 + 66 + 37, 66 + 32 + 66 + 37 + 4)


def test_acyclic_messages_come_on_top_of_the_worst_case():
    diagnosis = Exchange(0, 6, saps=True)
    drives = [Exchange(12, 12)] * 6
    without, with_it = (bus_cycle(drives, bit_rate=500_000, acyclic=a) for a in ((), (diagnosis,)))
    assert with_it.worst.bits - without.worst.bits == 121 + 100 + 187 + 37
    assert (with_it.best, with_it.typical) == (without.best, without.typical)
    # Where the acyclic message is the dearest one, it is also the one that is lost.
    without, with_it = (bus_cycle(FOUR_BYTES, bit_rate=500_000, acyclic=a) for a in ((), (diagnosis,)))
    assert with_it.worst.group_bits("lost") == 445 > without.worst.group_bits("lost")


def test_an_engineering_computer_costs_token_and_gap_poll():
    alone = bus_cycle(FOUR_BYTES, bit_rate=1_500_000)
    visited = bus_cycle(FOUR_BYTES, bit_rate=1_500_000, others=[OtherMaster()])
    assert visited.best.bits - alone.best.bits == 33 + 37
    assert visited.typical.bits - alone.typical.bits == 33 + 37 + 66 + 300
    reading = OtherMaster("laptop", (Exchange(0, 32, saps=True),))
    busy = bus_cycle(FOUR_BYTES, bit_rate=1_500_000, others=[reading])
    assert busy.typical.bits - visited.typical.bits == 121 + 32 + (11 * 32 + 121) + 37
    assert {p.name for p in busy.typical.parts if p.group == "other masters"} == {
        "token (laptop)",
        "TID1 (laptop)",
        "message cycle 0 out / 32 in (laptop)",
        "gap poll (laptop)",
    }


@given(EXCHANGES, EXCHANGES, RATES)
def test_two_controllers_see_the_same_rotation(mine, theirs, bit_rate):
    one = one_cycle(mine, bit_rate=bit_rate, others=[OtherMaster("b", tuple(theirs))], delay_bits=3, lost=1)
    other = one_cycle(theirs, bit_rate=bit_rate, others=[OtherMaster("a", tuple(mine))], delay_bits=3, lost=1)
    assert one.bits == pytest.approx(other.bits, rel=1e-12)


def test_the_token_crosses_the_cable_only_to_another_master():
    near, far = (one_cycle([Exchange(1, 1)], bit_rate=500_000, delay_bits=d).bits for d in (0, 10))
    assert far - near == 10  # 2·TTD of the one message
    others = [OtherMaster()]
    near, far = (one_cycle([Exchange(1, 1)], bit_rate=500_000, delay_bits=d, others=others).bits for d in (0, 10))
    assert far - near == 10 + 2 * 5  # and TTD for each of two tokens


def test_min_slave_interval_stretches_a_short_cycle_only():
    # 20 units = 2 ms, esd CAN-DP manual p.20.
    def cycle(count):
        return bus_cycle([Exchange(2, 2, min_slave_interval_s=0.002)] * count, bit_rate=1_500_000)

    stretched = cycle(1)
    assert stretched.best.seconds == stretched.typical.seconds == pytest.approx(0.002)
    assert stretched.best.group_bits("wait") == pytest.approx(3000 - 70 - 121 - 11 - 121 - 37)
    assert cycle(20).typical.group_bits("wait") == 0
    assert cycle(20).typical.bits == bus_cycle(FOUR_BYTES, bit_rate=1_500_000).typical.bits


def test_the_wait_ends_exactly_at_the_interval():
    plain = one_cycle([Exchange(2, 2)], bit_rate=1_500_000, gap_polls=0)
    assert plain.bits == 381
    just = one_cycle([Exchange(2, 2, min_slave_interval_s=381 / 1_500_000)], bit_rate=1_500_000, gap_polls=0)
    assert just.bits == pytest.approx(381)
    longer = one_cycle([Exchange(2, 2, min_slave_interval_s=382 / 1_500_000)], bit_rate=1_500_000, gap_polls=0)
    assert longer.bits == pytest.approx(382)


def test_own_bus_parameters_are_used():
    own = replace(bus_timing(1_500_000), tsl_bits=1000)
    usual = one_cycle(FOUR_BYTES, bit_rate=1_500_000).bits
    assert one_cycle(FOUR_BYTES, bit_rate=1_500_000, timing=own).bits - usual == 700
    assert handbook_cycle(FOUR_BYTES, bit_rate=1_500_000, timing=own).bits == 615 + 700 + 6880


def test_the_three_cases_by_hand():
    cycle = bus_cycle([Exchange(12, 12)], bit_rate=9600)
    assert cycle.best.bits == 70 + 231 + 11 + 231 + 37
    assert cycle.typical.bits == 70 + 231 + 32 + 231 + 37 + 166
    assert cycle.worst.bits == 70 + 559 + 229 + 559  # a whole message with its TSDR of 60 lost


def test_what_is_refused():
    one_cycle([Exchange(1, 1)] * 125, bit_rate=9600)
    for count in (0, 126):
        for calculate in (bus_cycle, handbook_cycle):
            with pytest.raises(OutOfRange, match="number of stations"):
                calculate([Exchange(1, 1)] * count, bit_rate=9600)
    for wrong in ({"gap_polls": -1}, {"lost": -1}, {"delay_bits": -1}):
        with pytest.raises(OutOfRange):
            one_cycle([Exchange(1, 1)], bit_rate=9600, **wrong)
    with pytest.raises(Unknown):
        bus_cycle([Exchange(1, 1)], bit_rate=1_000_000)
    with pytest.raises(Unknown):
        one_cycle([Exchange(1, 1)], bit_rate=9600, tsdr="soon")
