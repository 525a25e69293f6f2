"""Numbers as people write them: digits, prefix of the SI (The International System of Units, table 7), unit."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.quantity import about, fixed, percent, quantity, time_text

PREFIXES = {"p": 1e-12, "n": 1e-9, "µ": 1e-6, "m": 1e-3, "": 1, "k": 1e3, "M": 1e6, "G": 1e9}


@pytest.mark.parametrize(
    ("value", "text"),
    [(0.0, "0 m"), (1e-4, "0 m"), (-1e-4, "0 m"), (12000.5, "12000.5 m"), (1e6, "1000000 m"), (-2.5, "−2.5 m"),
     (math.inf, "inf m")],
)  # fmt: skip
def test_a_number_is_written_without_exponent(value: float, text: str) -> None:
    assert quantity(value, "m") == text


@pytest.mark.parametrize(
    ("value", "text"),
    [(0, "0 V"), (1, "1 V"), (0.1, "0.1 V"), (0.099, "99 mV"), (999, "1 kV"), (994, "990 V"), (1e-12, "1 pV"),
     (1e-15, "0.001 pV"), (-0.5, "−0.5 V"), (4.7e7, "47 MV"), (math.inf, "inf V")],
)  # fmt: skip
def test_a_size_has_two_digits_and_a_prefix(value: float, text: str) -> None:
    assert about(value, "V") == text


@given(st.floats(1e-12, 1e9))
def test_a_rounded_number_is_near_the_number(value: float) -> None:
    figure, unit = about(value, "V").split()
    assert float(figure) * PREFIXES[unit.removesuffix("V")] == pytest.approx(value, rel=0.051)


@pytest.mark.parametrize(
    ("seconds", "text"),
    [(0, "0 s"), (83.3e-9, "83.3 ns"), (0.0009994, "999.4 µs"), (0.00099999, "1 ms"), (0.001, "1 ms"),
     (0.9994, "999.4 ms"), (1, "1 s"), (86_400, "86400 s")],
)  # fmt: skip
def test_a_time_is_1_to_1000_of_its_unit(seconds: float, text: str) -> None:
    assert time_text(seconds) == text


@given(st.floats(1e-8, 1e3))
def test_a_time_is_written_to_four_digits(seconds: float) -> None:
    figure, unit = time_text(seconds).split()
    assert float(figure) * PREFIXES[unit.removesuffix("s")] == pytest.approx(seconds, rel=5.1e-4)


def test_a_difference_has_its_sign() -> None:
    assert [time_text(s, signed=True) for s in (0.0015, -0.0015, 0)] == ["+1.5 ms", "−1.5 ms", "±0 s"]
    assert [percent(share, signed=True) for share in (0.251, -0.251, 0.001)] == ["+25 %", "−25 %", "±0 %"]


def test_a_display_keeps_its_decimals_and_no_sign_before_zero() -> None:
    assert [fixed(volts, "V") for volts in (1.1, -0.004, -0.006, 12)] == ["1.10 V", "0.00 V", "−0.01 V", "12.00 V"]
