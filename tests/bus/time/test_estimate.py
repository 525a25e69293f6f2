"""The estimate against its published example, and the comparison of the three forms."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.cable.bit_rates import bit_rates
from helpers.bus.time.cycle import OtherMaster, bus_cycle, handbook_cycle
from helpers.bus.time.estimate import compare, estimate, estimate_for, every_bit_rate, step_cost
from helpers.bus.time.message_cycle import Exchange
from helpers.errors import OutOfRange, Unknown

EXCHANGES = st.lists(st.builds(Exchange, st.integers(0, 244), st.integers(0, 244)), min_size=1, max_size=8)


def test_the_published_example():
    # M. Felser, PROFIBUS Manual, estimation formula: 20 slaves, 80 bytes, 1.5 Mbit/s give 4917 µs with tBit
    # rounded to 0.667 µs.
    result = estimate(stations=20, data_bytes=80, bit_rate=1_500_000)
    bits = sum(part.bits for part in result.breakdown.parts if part.name != "75 µs")
    assert bits == 7260
    assert int(bits * 0.667 + 75) == 4917
    # The exact tBit gives 4915.0 µs.
    assert result.seconds * 1e6 == pytest.approx(4915.0, abs=1e-6)
    assert (result.low_s, result.high_s) == pytest.approx((4915e-6 * 0.9, 4915e-6 * 1.1))
    assert [part.name for part in result.breakdown.parts] == ["fixed", "station", "data", "75 µs"]


def test_the_headline_throughput():
    # Epson fieldbus manual Rev. 6 p.34: 512 bit in + 512 bit out over 32 stations at 12 Mbit/s, about 1 ms.
    assert estimate(stations=32, data_bytes=128, bit_rate=12_000_000).seconds == pytest.approx(1.024e-3, abs=1e-6)
    assert estimate(stations=32, data_bytes=128, bit_rate=1_500_000).seconds == pytest.approx(7.7e-3, abs=1e-4)


def test_the_estimate_holds_above_500_kbit_only():
    for rate in bit_rates():
        result = estimate(stations=1, data_bytes=4, bit_rate=rate)
        assert result.valid == (rate > 500_000) == (result.note == "")
        assert ("above 500 kbit/s only" in str(result)) == (rate <= 500_000)


def test_what_is_refused():
    for stations, data in ((0, 0), (126, 0), (1, -1), (1, 489)):
        with pytest.raises(OutOfRange):
            estimate(stations=stations, data_bytes=data, bit_rate=1_500_000)
    estimate(stations=1, data_bytes=488, bit_rate=1_500_000)
    with pytest.raises(Unknown):
        estimate(stations=1, data_bytes=2, bit_rate=2_000_000)


@given(EXCHANGES, st.sampled_from(bit_rates()), st.booleans())
def test_each_column_adds_up_to_its_own_total(exchanges, bit_rate, visited):
    cycle = bus_cycle(exchanges, bit_rate=bit_rate, others=[OtherMaster()] if visited else [], delay_bits=2)
    rows = compare(cycle)
    assert sum(row.standard_bits for row in rows) == pytest.approx(cycle.typical.bits)
    assert sum(row.handbook_bits for row in rows) == handbook_cycle(exchanges, bit_rate=bit_rate).bits
    guess = estimate_for(exchanges, bit_rate=bit_rate)
    assert sum(row.estimate_bits for row in rows) == pytest.approx(guess.breakdown.bits)
    assert all(row.reason for row in rows)


def test_the_differences_at_1_5_mbit():
    # 300 against 267 for each station, 615 and 380 against 436 for token and gap poll (calculated).
    rows = {row.name: row for row in compare(bus_cycle([Exchange(2, 2)] * 20, bit_rate=1_500_000))}
    messages = rows["messages without data"]
    assert messages.handbook_bits - messages.standard_bits == 20 * 33
    first = rows["token and gap poll"]
    assert (first.standard_bits, first.handbook_bits, first.estimate_bits) == (436, 615, 380)
    assert rows["fixed time"].estimate_bits == pytest.approx(75e-6 * 1_500_000)


def test_the_estimate_and_the_calculation_agree_within_its_tolerance():
    # ±10 % is what the formula claims; here for drives with 12 bytes each way at 1.5 Mbit/s.
    for count in (10, 20, 30):
        exact = bus_cycle([Exchange(12, 12)] * count, bit_rate=1_500_000).typical.seconds
        guess = estimate_for([Exchange(12, 12)] * count, bit_rate=1_500_000)
        assert guess.low_s < exact < guess.high_s


def test_every_bit_rate():
    cycles = every_bit_rate([Exchange(12, 12)] * 3)
    assert [c.timing.bit_rate for c in cycles] == list(bit_rates())
    assert cycles[5].typical == bus_cycle([Exchange(12, 12)] * 3, bit_rate=500_000).typical


@settings(max_examples=25)
@given(st.integers(1, 20), st.integers(1, 200), st.integers(1, 44))
def test_a_byte_costs_11_bit_times_at_every_bit_rate(count, size, more):
    steps = step_cost([Exchange(size, size)] * count, [Exchange(size + more, size)] * count)
    for step, rate in zip(steps, bit_rates(), strict=True):
        assert step.bit_rate == rate
        assert step.extra_s * rate == pytest.approx(11 * more * count)
        assert step.share == pytest.approx(step.after_s / step.before_s - 1)


def test_a_step_back_saves_time():
    back = step_cost([Exchange(12, 12)] * 6, [Exchange(4, 4)] * 6)[6]
    times_ms = [back.before_s * 1000, back.after_s * 1000]
    assert back.bit_rate == 1_500_000 and times_ms == pytest.approx([2.415, 1.711], abs=5e-4)
    assert back.extra_s < 0 and back.share == pytest.approx(-0.292, abs=5e-4)
