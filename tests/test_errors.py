"""Each refusal names what was got and what is allowed, and stops exactly at the limit."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.errors import OutOfRange, Unknown, Unreadable, WorkbookError, in_range, not_negative, one_of, positive

FINITE = st.floats(allow_nan=False, allow_infinity=False)


@given(FINITE, FINITE, FINITE)
def test_a_range_holds_its_ends_and_nothing_beyond(low, value, high):
    if low <= value <= high:
        in_range("length", value, low, high)
    else:
        with pytest.raises(OutOfRange):
            in_range("length", value, low, high)


@pytest.mark.parametrize("end", [0.0, 0.3, 126.0, 1e9])
def test_both_sides_of_each_end(end):
    in_range("length", end, end, end)
    for beyond in (math.nextafter(end, math.inf), math.nextafter(end, -math.inf)):
        with pytest.raises(OutOfRange):
            in_range("length", beyond, end, end)


def test_open_ranges_stop_at_zero_and_want_a_finite_number():
    not_negative("length", 0.0, "m")
    for good in (math.nextafter(0, 1), 1e300):
        not_negative("length", good, "m")
        positive("length", good, "m")
    with pytest.raises(OutOfRange, match="length is 0 m; allowed is more than 0"):
        positive("length", 0.0, "m")
    for bad in (math.nextafter(0, -1), math.inf, -math.inf, math.nan):
        for check in (not_negative, positive):
            with pytest.raises(OutOfRange):
                check("length", bad, "m")


@pytest.mark.parametrize(
    ("how", "message"),
    [
        ((126, 0, 125), "address is 126; allowed is 0 to 125."),
        ((126, 0, 125, "", "a table"), "address is 126; allowed is 0 to 125 (a table)."),
        ((1.5, 2, 3, "m"), "address is 1.5 m; allowed is 2 to 3 m."),
        ((1.5, 2, 3, "m", "a table"), "address is 1.5 m; allowed is 2 to 3 m (a table)."),
        # a figure is written out in full, as it was typed
        ((4_294_967_296, 0, 4_294_967_295), "address is 4294967296; allowed is 0 to 4294967295."),
        ((0.1 + 0.2, 1, 2), "address is 0.3; allowed is 1 to 2."),
        ((float("nan"), 0, 1), "address is nan; allowed is 0 to 1."),
        ((float("inf"), 0, 1), "address is inf; allowed is 0 to 1."),
        ((-1, 0, float("inf")), "address is -1; allowed is 0 to inf."),
        ((10**400, 0, 1), "address is a number too long to write out; allowed is 0 to 1."),
    ],
)
def test_the_message_names_the_value_the_range_and_the_source(how, message):
    with pytest.raises(OutOfRange) as caught:
        in_range("address", *how)
    assert str(caught.value) == message


@pytest.mark.parametrize("known", [("A", "B"), ["A", "B"], {"A": 1, "B": 2}, iter("AB")])
def test_a_name_that_is_not_known_gets_the_list(known):
    with pytest.raises(Unknown, match=r"^cable type is 'C'; known are A, B\.$"):
        one_of("cable type", "C", known)


def test_a_name_that_is_known_passes():
    one_of("cable type", "B", ("A", "B"))
    one_of("bit rate", 500.0, (500, 1500))
    with pytest.raises(Unknown):
        one_of("cable type", "b", ("A", "B"))


@pytest.mark.parametrize("kind", [OutOfRange, Unreadable, Unknown])
def test_one_family_catches_all(kind):
    assert issubclass(kind, WorkbookError) and issubclass(kind, ValueError)
    assert str(kind("A sentence.")) == "A sentence."
