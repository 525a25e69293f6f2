"""The bit rates of DP: the published list, and what is refused."""

from __future__ import annotations

import pytest

from helpers.bus.cable.bit_rates import any_bit_rate_text, bit_rate_text, bit_rates, known_bit_rate
from helpers.bus.time.timing import bit_time_s
from helpers.errors import Unknown


def test_the_bit_rates_are_the_ten_of_dp():
    # ABB RPBA-01 manual p.113; 31.25 kbit/s belongs to another physics.
    assert bit_rates() == (9600, 19200, 45450, 93750, 187500, 500000, 1.5e6, 3e6, 6e6, 12e6)


def test_the_bit_rates_in_words():
    assert [bit_rate_text(bit_rate) for bit_rate in bit_rates()] == [
        "9.6 kbit/s", "19.2 kbit/s", "45.45 kbit/s", "93.75 kbit/s", "187.5 kbit/s",
        "500 kbit/s", "1.5 Mbit/s", "3 Mbit/s", "6 Mbit/s", "12 Mbit/s",
    ]  # fmt: skip


@pytest.mark.parametrize("wrong", [31_250, 0, -9600, 1_500_001, float("nan"), 12])
def test_another_bit_rate_is_refused_with_the_list(wrong: float):
    for function in (known_bit_rate, bit_rate_text, bit_time_s):
        with pytest.raises(Unknown, match="known are 9600"):
            function(wrong)


def test_a_bit_rate_that_is_not_of_dp_can_still_be_told():
    assert [any_bit_rate_text(bit_rate) for bit_rate in (31_250, 1e6, 45_450)] == [
        "31.25 kbit/s", "1000 kbit/s", "45.45 kbit/s",
    ]  # fmt: skip
