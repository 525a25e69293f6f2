"""Watchdog and target rotation time against the standard's formula and their own limits."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.cable.bit_rates import bit_rates
from helpers.bus.time.cycle import bus_cycle
from helpers.bus.time.message_cycle import Exchange, Part
from helpers.bus.time.watchdog import (
    WatchdogFactors,
    check_watchdog,
    holding_time_bits,
    propose_target_rotation,
    propose_watchdog,
    watchdog_factors,
    watchdog_time_s,
)
from helpers.errors import OutOfRange, Unknown
from helpers.verdict import Degree

FACTOR = st.integers(1, 255)
BASE = st.sampled_from([0.01, 0.001])
SIX_DRIVES = bus_cycle([Exchange(12, 12)] * 6, bit_rate=1_500_000)


def test_the_standard_s_range():
    # PROFIBUS Specification p.734 eq. 8: 10 ms to 650 s, that is 255·255·10 ms = 650.25 s.
    assert watchdog_time_s(1, 1) == 0.01
    assert watchdog_time_s(255, 255) == 650.25
    # Base 1 ms: Optris DP manual p.18.
    assert watchdog_time_s(255, 255, base_s=0.001) == 65.025
    assert watchdog_factors(650.25) == WatchdogFactors(255, 255, 0.01)
    with pytest.raises(OutOfRange, match=r"allowed is 1e-09 to 650\.25 s"):
        watchdog_factors(650.26)


@given(FACTOR, FACTOR, BASE)
def test_factors_both_ways(factor_1, factor_2, base_s):
    time_s = watchdog_time_s(factor_1, factor_2, base_s=base_s)
    found = watchdog_factors(time_s, base_s=base_s)
    assert found.time_s == time_s
    assert found.factor_1 <= found.factor_2


@given(st.integers(1, 65025), BASE)
def test_the_shortest_that_is_long_enough(steps, base_s):
    """Second method: all products of two factors, sorted."""
    found = watchdog_factors(steps * base_s, base_s=base_s)
    shortest = next(product for product in PRODUCTS if product >= steps)
    assert found.factor_1 * found.factor_2 == shortest


PRODUCTS = sorted({one * two for one in range(1, 256) for two in range(1, 256)})


def test_rounding_goes_up_but_not_for_nothing():
    assert watchdog_factors(0.0001).time_s == 0.01
    assert watchdog_factors(0.0100001).time_s == 0.02
    assert watchdog_factors(0.07).time_s == 0.07  # 0.07 / 0.01 is not quite 7 in binary
    assert watchdog_factors(2.56).time_s == 2.56 and watchdog_factors(2.57).time_s == 2.58


def test_what_is_refused():
    for factors in ((0, 1), (1, 0), (256, 1), (1, 256)):
        with pytest.raises(OutOfRange, match="allowed is 1 to 255"):
            watchdog_time_s(*factors)
    for call in (lambda: watchdog_time_s(1, 1, base_s=0.1), lambda: watchdog_factors(1, base_s=1)):
        with pytest.raises(Unknown, match=r"known are 0\.01, 0\.001"):
            call()
    for time_s in (0, -1, float("nan")):
        with pytest.raises(OutOfRange):
            watchdog_factors(time_s)


@given(st.integers(1, 60), st.sampled_from(bit_rates()), BASE)
def test_a_proposal_has_its_reserve_and_is_in_order(count, bit_rate, base_s):
    cycle = bus_cycle([Exchange(12, 12)] * count, bit_rate=bit_rate)
    proposal = propose_watchdog(cycle, base_s=base_s)
    assert proposal.reserve >= 5  # common practice
    assert proposal.wait_s == cycle.worst.seconds
    assert check_watchdog(proposal.factors.time_s, cycle, base_s=base_s).degree == Degree.IN_ORDER


def test_text_of_a_proposal():
    text = str(propose_watchdog(SIX_DRIVES))
    assert text == "20 ms = 10 ms · 1 · 2, 6.0 times the longest wait of 3.319 ms"


def test_the_target_rotation_may_be_the_longer_wait():
    assert "worst cycle" in propose_watchdog(SIX_DRIVES).why
    proposal = propose_watchdog(SIX_DRIVES, target_rotation_s=0.1)
    assert proposal.factors.time_s == pytest.approx(0.5) and "target rotation time" in proposal.why
    assert propose_watchdog(SIX_DRIVES, target_rotation_s=0.1, rotations=1).factors.time_s == 0.1
    for wrong in ({"rotations": 0.9}, {"target_rotation_s": -1}, {"target_rotation_s": 200}):
        with pytest.raises(OutOfRange):
            propose_watchdog(SIX_DRIVES, **wrong)


@pytest.mark.parametrize(
    ("time_s", "degree", "words"),
    [
        (0, Degree.CAUTION, "runs on"),
        (0.0099, Degree.CANNOT_WORK, "from 10 ms to 650.2 s"),
        (0.01, Degree.CAUTION, "without a cause"),
        (0.0165, Degree.CAUTION, "without a cause"),
        (0.0167, Degree.IN_ORDER, ""),
        (650.25, Degree.IN_ORDER, ""),
        (650.26, Degree.CANNOT_WORK, "from 10 ms"),
        (-0.01, Degree.CANNOT_WORK, "from 10 ms"),
    ],
)
def test_both_sides_of_each_threshold(time_s, degree, words):
    # Five worst cycles of 3.319 ms are 16.6 ms; the range is the standard's, the reserve common practice.
    finding = check_watchdog(time_s, SIX_DRIVES)
    assert finding.degree == degree and words in finding.to_do
    assert "p.734" in finding.source and "common practice" in finding.source


def test_exactly_five_worst_cycles_are_in_order():
    five = 5 * SIX_DRIVES.worst.seconds
    at, below = (check_watchdog(time_s, SIX_DRIVES, base_s=0.001) for time_s in (five, five * 0.9999))
    assert (at.degree, below.degree) == (Degree.IN_ORDER, Degree.CAUTION)


def test_a_watchdog_within_the_worst_cycle_stops_a_healthy_drive():
    worst_s = SIX_DRIVES.worst.seconds
    within, beyond = (check_watchdog(t, SIX_DRIVES, base_s=0.001) for t in (worst_s, worst_s * 1.001))
    assert "healthy bus" in within.to_do and "healthy bus" not in beyond.to_do
    assert within.degree == beyond.degree == Degree.CAUTION
    assert check_watchdog(0, SIX_DRIVES, place="dryer fan 1").place == "dryer fan 1"


def test_target_rotation_time_covers_the_worst_cycle():
    proposal = propose_target_rotation(SIX_DRIVES)
    worst, message, reserve = (part.bits for part in proposal.parts)
    assert worst == SIX_DRIVES.worst.bits
    assert message == 121 + 150 + (11 * 244 + 121) + 37
    assert reserve == pytest.approx(0.1 * (worst + message), abs=1) and proposal.bits == int(proposal.bits)
    short = propose_target_rotation(SIX_DRIVES, message=Exchange(0, 6, saps=True))
    assert proposal.parts[1].bits - short.parts[1].bits == 11 * 238


def test_target_rotation_time_fits_an_unsigned32():
    # PROFIBUS Specification p.775 fig. 25.
    endless = replace(SIX_DRIVES, worst=replace(SIX_DRIVES.worst, parts=(Part("endless", 2**32 * 0.92),)))
    with pytest.raises(OutOfRange, match=r"p\.775"):
        propose_target_rotation(endless)


def test_low_priority_messages_only_while_the_rotation_is_shorter():
    # PROFIBUS Specification p.119: TTH = TTR − TRR, low priority only while TRR < TTR.
    assert holding_time_bits(target_bits=100, real_bits=99) == 1
    assert holding_time_bits(target_bits=100, real_bits=100) == 0
    assert holding_time_bits(target_bits=100, real_bits=101) == 0
    for wrong in ({"target_bits": -1, "real_bits": 1}, {"target_bits": 1, "real_bits": -1}):
        with pytest.raises(OutOfRange):
            holding_time_bits(**wrong)


def test_what_was_found_and_what_a_reserve_is_made_of_are_said_in_words():
    assert (check_watchdog(0, SIX_DRIVES).found, check_watchdog(0.02, SIX_DRIVES).found) == ("off", "20 ms")
    reserve = propose_target_rotation(SIX_DRIVES).parts[-1]
    worst, extra = (part.bits for part in propose_target_rotation(SIX_DRIVES).parts[:2])
    assert reserve.why == "10 % of both" and reserve.bits == pytest.approx((worst + extra) / 10, abs=1)


def test_a_watchdog_time_of_odd_factors_is_whole_microseconds():
    # 1 ms base: 7 · 11 · 1 ms, without what binary fractions add
    assert watchdog_time_s(7, 11, base_s=0.001) == 0.077
    assert watchdog_time_s(3, 1) == 0.03
