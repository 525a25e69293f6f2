"""Answers as people type them. What counts as the same number comes from `helpers.written` and its units."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.errors import Unreadable, WorkbookError
from helpers.study.forms import Addresses, Bits, Choice, Form, Hexadecimal, Number

LENGTH = Number("m", "length", relative=0.01)
STATIONS = Number("stations")
BIT_TIMES = Number("bit times", also=("tbit",))
FORMS = (
    LENGTH,
    STATIONS,
    BIT_TIMES,
    Number("µs", "time", absolute=0.5),
    Number(),
    Choice(("at both ends", "at one end")),
    Hexadecimal(4),
    Bits(("S1", "S2", "S3")),
    Addresses(),
)


@pytest.mark.parametrize(
    ("form", "typed", "value"),
    [
        (LENGTH, "120", 120.0),
        (LENGTH, "120m", 120.0),
        (LENGTH, " 0,12 km ", 120.0),
        (LENGTH, "100 ft", 30.48),  # 1 ft = 0.3048 m exactly (international yard and pound agreement, 1959)
        (Number("µs", "time"), "0.25 ms", 250.0),
        (Number("ms", "time"), "250 µs", 0.25),
        (Number("kbit/s", "bit rate"), "1.5 Mbit/s", 1500.0),
        (Number("Ω", "resistance"), "0.11 kΩ", 110.0),
        (Number("nF", "capacitance"), "200 pF", 0.2),
        (STATIONS, "32", 32.0),
        (STATIONS, "32 stations", 32.0),
        (STATIONS, "1 station", 1.0),
        (BIT_TIMES, "300 tbit", 300.0),
        (BIT_TIMES, "300 Bit times", 300.0),
        (Number(), "-5", -5.0),
    ],
)
def test_numbers_are_read_in_the_unit_asked_for(form, typed, value):
    assert form.read(typed) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("form", "typed", "says"),
    [
        (LENGTH, "120 ms", "ms is a unit of time; asked is a length in m"),
        (Number("ms", "time"), "3 Mbit/s", "mbit/s is a unit of bit rate; asked is a time in ms"),
        (Number("Ω", "resistance"), "3 µs", "us is a unit of time"),
        (LENGTH, "120 apples", "'apples' is not a unit of length"),
        (LENGTH, "about 100", "is not a length"),
        (STATIONS, "32 m", "asked is a number of stations"),
        (Number(), "32 m", "asked is a number without a unit"),
        (STATIONS, "thirty", "is not a number"),
        (STATIONS, "1.2.3", "is not a number"),
        (STATIONS, "1e999", "too large"),
        (LENGTH, "1e999 km", "too large"),
    ],
)
def test_a_number_that_cannot_be_read_gets_a_sentence(form, typed, says):
    with pytest.raises(Unreadable, match=says.replace(".", r"\.")):
        form.read(typed)


@pytest.mark.parametrize(
    ("form", "right", "counts", "does_not"),
    [
        (Number("m", "length", relative=0.01), 200.0, (198.0, 202.0), (197.999, 202.001)),
        (Number("m", "length", absolute=0.5), 200.0, (199.5, 200.5), (199.49, 200.51)),
        # Of the two tolerances the wider one holds.
        (Number("m", "length", absolute=0.5, relative=0.01), 10.0, (9.5, 10.5), (9.49, 10.51)),
        (Number("stations"), 32.0, (32.0,), (31.999, 32.001, 33.0)),
        (Number(), 0.0, (0.0,), (1e-9,)),
        (Number(relative=0.1), -50.0, (-45.0, -55.0), (-44.9, -55.1, 50.0)),
    ],
)
def test_the_tolerance_ends_where_it_says(form, right, counts, does_not):
    assert [form.same(right, got) for got in counts] == [True] * len(counts)
    assert [form.same(right, got) for got in does_not] == [False] * len(does_not)


@given(
    value=st.floats(-1e6, 1e6).filter(lambda x: x == 0 or abs(x) > 1e-6),
    relative=st.sampled_from([1e-4, 0.01, 0.05]),
    form=st.sampled_from([("m", "length"), ("µs", "time"), ("bytes", "")]),
)
def test_a_number_written_out_counts_as_itself(value, relative, form):
    number = Number(*form, relative=relative)
    assert number.same(value, number.read(number.written(value)))


@given(st.integers(-(10**9), 10**9))
def test_a_whole_number_is_written_in_full(value):
    assert Number().written(float(value)) == str(value)


def test_a_choice_does_not_mind_capitals_and_spaces():
    form = Choice(("at both ends", "at one end"))
    assert form.read("  AT both   ends ") == "at both ends"
    with pytest.raises(Unreadable, match="is not one of the options"):
        form.read("at the middle")


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("16#047F", 0x047F),
        ("0x47f", 0x047F),
        ("047F", 0x047F),
        ("47Fh", 0x047F),
        ("04 7F", 0x047F),
        ("WORD#16#047F", 0x047F),
        ("2#0000_0100_0111_1111", 0x047F),
        ("0B11", 0x0B11),
        ("1151", 0x1151),
    ],
)
def test_hexadecimal_digits_need_no_mark(typed, value):
    assert Hexadecimal(4).read(typed) == value


@pytest.mark.parametrize(
    ("typed", "says"),
    [("10000", "does not fit"), ("-1", "does not fit"), ("16#", "is not a"), ("04G7", "is not a")],
)
def test_a_hexadecimal_number_that_cannot_be_read_gets_a_sentence(typed, says):
    assert Hexadecimal(4).read("FFFF") == 0xFFFF
    with pytest.raises(Unreadable, match=says):
        Hexadecimal(4).read(typed)


@given(st.integers(0, 0xFFFF))
def test_a_word_written_out_is_read_back(value):
    assert Hexadecimal(4).read(Hexadecimal(4).written(value)) == value


def test_a_bit_pattern_has_exactly_its_places():
    form = Bits(("S1", "S2", "S3", "S4"))
    assert form.read("0110") == form.read("2#01_10") == form.read("0 1 1 0") == "0110"
    for typed, says in (("011", "3 places; 4"), ("01100", "5 places; 4"), ("0120", "not a row"), ("on", "not a row")):
        with pytest.raises(Unreadable, match=says):
            form.read(typed)


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("3", {3}),
        ("3, 5;7 9", {3, 5, 7, 9}),
        ("9 and 3", {3, 9}),
        ("3-5", {3, 4, 5}),
        ("3 to 5, 12", {3, 4, 5, 12}),
        ("3 – 5.", {3, 4, 5}),
        ("5, 5", {5}),
        ("none", set()),
        (" None ", set()),
        ("255", {255}),
    ],
)
def test_an_address_list_is_read_in_any_order_and_with_runs(typed, value):
    assert Addresses().read(typed) == value


@pytest.mark.parametrize("typed", ["256", "1-10000000", "5-3", "3,,x", "seven", ",", "3-", "-3"])
def test_an_address_list_that_cannot_be_read_is_refused(typed):
    with pytest.raises(Unreadable):
        Addresses().read(typed)


@given(st.frozensets(st.integers(0, 255)))
def test_an_address_list_written_out_is_read_back(value):
    assert Addresses().read(Addresses().written(value)) == value


@given(st.sampled_from(FORMS), st.text(max_size=60) | st.from_regex(r"[-0-9#xhA-F.,eE to]{1,12}", fullmatch=True))
def test_any_text_is_read_or_refused_with_a_sentence(form: Form, typed: str):
    try:
        value = form.read(typed)
    except WorkbookError as error:
        assert str(error)
    else:
        assert form.same(value, form.read(form.written(value)))
        assert not isinstance(value, float) or math.isfinite(value)


@pytest.mark.parametrize("form", FORMS, ids=lambda form: type(form).__name__ + getattr(form, "unit", ""))
def test_the_example_of_what_is_expected_can_itself_be_read(form):
    if not isinstance(form, Choice):
        example = form.expected.rsplit("for example ", 1)[1].removesuffix(", or the word none")
        form.read(example)
