"""Numbers as people write them: the same text means the same number everywhere."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers import written
from helpers.errors import Unreadable
from helpers.written import UNITS, Range, number, read_quantity, read_range, whole

# Each kind of quantity with each of its units, the factor written out by hand. SI prefixes: The International
# System of Units (SI brochure), 9th edition, table 7. 1 ft = 0.3048 m and 1 in = 25.4 mm exactly:
# international yard and pound agreement, 1959.
FACTORS = [
    ("length", "m", 1), ("length", "km", 1000), ("length", "cm", 0.01), ("length", "mm", 0.001),
    ("length", "ft", 0.3048), ("length", "in", 0.0254),
    ("bit rate", "bit/s", 1), ("bit rate", "kbit/s", 1e3), ("bit rate", "Mbit/s", 1e6),
    ("bit rate", "bps", 1), ("bit rate", "kbps", 1e3), ("bit rate", "Mbps", 1e6),
    ("bit rate", "kBaud", 1e3), ("bit rate", "MBaud", 1e6), ("bit rate", "k", 1e3), ("bit rate", "M", 1e6),
    ("capacitance", "F", 1), ("capacitance", "µF", 1e-6), ("capacitance", "nF", 1e-9), ("capacitance", "pF", 1e-12),
    ("time", "s", 1), ("time", "ms", 1e-3), ("time", "µs", 1e-6), ("time", "ns", 1e-9),
    ("resistance", "Ω", 1), ("resistance", "kΩ", 1e3), ("resistance", "R", 1),
    ("voltage", "V", 1), ("voltage", "mV", 1e-3), ("voltage", "kV", 1000),
    ("current", "A", 1), ("current", "mA", 1e-3),
    ("frequency", "Hz", 1), ("frequency", "kHz", 1e3), ("frequency", "MHz", 1e6),
    ("share", "%", 0.01),
]  # fmt: skip


def test_every_unit_is_checked_here():
    for kind, units in UNITS.items():
        listed = {unit.lower().replace("µ", "u").replace("ω", "ohm") for k, unit, _ in FACTORS if k == kind}
        assert listed == set(units) - {""}


@pytest.mark.parametrize(("kind", "unit", "factor"), FACTORS)
def test_a_unit_written_or_meant_gives_the_same(kind, unit, factor):
    assert read_quantity(f"3 {unit}", kind, unit) == pytest.approx(3 * factor, rel=1e-14)
    assert (
        read_quantity("3", kind, unit)
        == read_quantity(f"3{unit.upper()}", kind, unit)
        == read_quantity(f"3 {unit}", kind, unit)
    )


@given(
    st.sampled_from(FACTORS),
    st.floats(-1e9, 1e9).filter(lambda value: value == 0 or abs(value) > 1e-9),
    st.sampled_from([".", ","]),
    st.sampled_from(["", " ", "  ", "\N{NO-BREAK SPACE}", "\N{NARROW NO-BREAK SPACE}", "\t"]),
)
def test_any_number_written_with_its_unit_is_read_back(unit_of_kind, value, mark, space):
    kind, unit, factor = unit_of_kind
    typed = f" {repr(value).replace('.', mark)}{space}{unit} "
    assert read_quantity(typed, kind, unit) == pytest.approx(value * factor, rel=1e-14)


@pytest.mark.parametrize(
    ("typed", "kind", "value"),
    [
        ("3 \N{MICRO SIGN}s", "time", 3e-6),
        ("3 \N{GREEK SMALL LETTER MU}s", "time", 3e-6),
        ("3 us", "time", 3e-6),
        ("3 \N{GREEK CAPITAL LETTER OMEGA}", "resistance", 3),
        ("3 \N{OHM SIGN}", "resistance", 3),
        ("3 k\N{OHM SIGN}", "resistance", 3000),
        ("3 Ohm", "resistance", 3),
        (",5 m", "length", 0.5),
        ("5. m", "length", 5),
        ("+5 m", "length", 5),
        ("1.5e3 m", "length", 1500),
        (12, "length", 12),
        (1.5, "length", 1.5),
        ("0.0004 pF", "capacitance", 4e-16),
    ],
)
def test_signs_and_spellings(typed, kind, value):
    base = next(unit for unit, factor in UNITS[kind].items() if factor == 1)
    assert read_quantity(typed, kind, base) == value


@pytest.mark.parametrize("unit", ["µs", "μs", "US"])
def test_a_unit_that_is_only_meant_may_bear_a_sign_too(unit):
    assert read_quantity("3", "time", unit) == 3e-6


def test_no_last_bit_is_left_behind():
    assert read_quantity("300 ft", "length", "m") == 91.44  # 300 · 0.3048 is 91.44000000000001 in binary
    assert read_quantity("45,45", "bit rate", "kbit/s") == 45450


@pytest.mark.parametrize(
    "typed",
    ["", " ", "m", "nan", "inf", "-inf", "about 12", "1.234,5", "1,234.5", "1.234.567", "1,234,567", "1 234", "1'234",
     "1 2 3", "--1", "1e", "1e400", "-1e400", "9" * 400, "1/2", "½", "0x10", "True", "None"],
)  # fmt: skip
def test_what_could_mean_nothing_or_two_numbers_is_refused(typed):
    for read in (lambda text: read_quantity(text, "length", "m"), number):
        with pytest.raises(Unreadable):
            read(typed)


def test_a_number_that_only_its_unit_makes_too_large_is_refused_too():
    assert read_quantity("1e308 m", "length", "m") == 1e308
    with pytest.raises(Unreadable, match="too large"):
        read_quantity("1e308 km", "length", "m")


@pytest.mark.parametrize(("typed", "unit"), [("12 apples", "apples"), ("12 V", "v"), ("1 2 3", "2 3")])
def test_a_wrong_unit_is_named_and_the_right_ones_listed(typed, unit):
    with pytest.raises(Unreadable, match=rf"'{unit}' is not a unit of length; known are m, km, cm, mm, ft, in\."):
        read_quantity(typed, "length", "m")


def test_a_message_gives_an_example_of_its_kind():
    with pytest.raises(Unreadable, match="write for example 120 m or 300 ft"):
        read_quantity("long", "length", "m")
    with pytest.raises(Unreadable, match="write for example 12 µs"):
        read_quantity("long", "time", "µs")


@given(st.floats(allow_nan=False, allow_infinity=False), st.sampled_from([".", ","]))
def test_any_plain_number_is_read_back(value, mark):
    assert number(repr(value).replace(".", mark)) == value


def test_a_plain_number_has_no_unit():
    with pytest.raises(Unreadable, match="'12 m' is not a number"):
        number("12 m")


SPELLINGS = {
    "decimal": "{:d}".format,
    "decimal in groups": "{:_d}".format,
    "16#": "16#{:X}".format,
    "16# in groups": "16#{:_X}".format,
    "0x": "0x{:x}".format,
    "h": "{:X}h".format,
    "H": "0{:x}H".format,
    "2#": "2#{:b}".format,
    "2# in groups": "2#{:_b}".format,
    "2# with spaces": lambda value: f"2#{value:_b}".replace("_", " "),
    "0b": "0b{:b}".format,
    "$": "${:X}".format,
    "&H": "&H{:04X}".format,
}


@given(st.integers(0, 2**64), st.sampled_from(list(SPELLINGS)))
def test_a_whole_number_in_any_spelling_is_read_back(value, spelling):
    assert whole(f" {SPELLINGS[spelling](value)} ") == value


@given(st.integers(-(10**30), 10**30))
def test_a_whole_number_with_its_sign_is_read_back(value):
    assert whole(value) == whole(f"{value:+d}") == value


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("7Eh", 126),  # the same octet in the four spellings of the docstring
        ("16#7e", 126),
        ("10", 10),
        ("10h", 16),
        ("0x10", 16),
        ("0b10", 2),
        ("0B10h", 0xB10),
        ("2#10", 2),
        ("16#-1", -1),  # read as it stands: the range of what is asked refuses it with a better sentence
        ("-1h", -1),
        ("007", 7),
        # The type before the literal: IEC 61131-3, typed literals; its one letter, $ and &H: common practice
        ("WORD#16#047F", 0x047F),
        ("W#16#047F", 0x047F),
        ("w#16#ffff", 0xFFFF),
        ("B#16#08", 8),
        ("BYTE#2#0111_1110", 126),
        ("DW#16#0001_0000", 65536),
        ("$047F", 0x047F),
        ("&H047F", 0x047F),
        ("&h47f", 0x047F),
    ],
)
def test_the_mark_decides_the_base(typed, value):
    assert whole(typed) == value


@pytest.mark.parametrize(("typed", "bits"), [("B#16#100", 8), ("W#16#1_0000", 16), ("DWORD#16#1_0000_0000", 32)])
def test_a_number_that_its_type_can_not_hold_is_refused(typed, bits):
    with pytest.raises(Unreadable, match=f"which has {bits} bits; the number needs more"):
        whole(typed)


@pytest.mark.parametrize(
    "typed",
    ["", "$", "&H", "&10", "W#", "W#12", "X#16#1", "W#16#", "$G",
     "16#", "0x", "2#", "0b", "h", "-", "+", "2#2", "16#G", "16#7E.0", "7E", "1e3", "12.0", "1,5", "nan", "inf",
     "1 2 3", "1 000", "1.000", "1,000", "1'000", "1__0", "_1", "1_", "16#_1", "-16#7E", "16#--1", "0x1h", "²", "١",
     "1e400", "None", "9" * 5000],
)  # fmt: skip
def test_what_is_no_whole_number_is_refused(typed):
    with pytest.raises(Unreadable, match=r"is not a whole number; write for example 126, 16#7E or 2#0111_1110\."):
        whole(typed)


@given(st.text(max_size=30) | st.from_regex(r"[-+ _0-9a-fA-Fxh#.,µΩ]{1,15}", fullmatch=True))
def test_any_text_gives_a_finite_number_or_a_sentence(typed):
    reads = [
        whole,
        number,
        *(lambda text, kind=kind: read_quantity(text, kind, next(iter(UNITS[kind]))) for kind in UNITS),
    ]
    for read in reads:
        try:
            assert math.isfinite(read(typed))
        except Unreadable as error:
            assert str(error).endswith(".") and len(str(error)) < 250


@pytest.mark.parametrize("read", [whole, number, lambda text: read_quantity(text, "length", "m")])
def test_a_pasted_page_is_not_repeated_in_the_message(read):
    for page in ("x" * 10_000, "1 " + "x" * 10_000):
        with pytest.raises(Unreadable) as caught:
            read(page)
        assert "…" in str(caught.value) and len(str(caught.value)) < 250


def test_the_examples_in_the_messages_can_themselves_be_read():
    for kind, units in UNITS.items():
        unit = next(name for name in units if name)
        for example in written._example(kind, unit).split(" or "):
            assert math.isfinite(read_quantity(example, kind, unit))


def metres(text: str) -> float:
    return read_quantity(text, "length", "m")


@pytest.mark.parametrize(
    ("text", "least", "likely", "most"),
    [
        ("about 20 m", 15, 20, 25), ("About 20", 15, 20, 25), ("~20m", 15, 20, 25), ("≈ 20 m", 15, 20, 25),
        ("ca. 0,2 km", 150, 200, 250),
        ("10 to 30 m", 10, 20, 30), ("10–30", 10, 20, 30), ("10 - 30 m", 10, 20, 30), ("10-30 m", 10, 20, 30),
        ("900 m to 1.2 km", 900, 1050, 1200), ("1 to 2 km", 1000, 1500, 2000), ("100 to 200 ft", 30.48, 45.72, 60.96),
        ("5 TO 5 m", 5, 5, 5),
    ],
)  # fmt: skip
def test_what_is_open_is_a_range(text, least, likely, most):
    span = read_range(text, metres, about_share=0.25)
    assert (span.least, span.likely, span.most) == pytest.approx((least, likely, most))


@pytest.mark.parametrize("text", ["?", "", "  ?  "])
def test_nothing_said_is_a_range_without_an_end(text):
    assert read_range(text, metres, about_share=0.25) == Range(0.0, None, None)


@pytest.mark.parametrize("text", ["20", "20 m", "1,5 km", "-5 m", "tomorrow", "1e-3 m", "to", "about", "a-b", "10 to"])
def test_one_number_or_none_is_no_range(text):
    assert read_range(text, metres, about_share=0.25) is None


@pytest.mark.parametrize("text", ["30 to 10 m", "about long", "10 to 30 V", "? to 30 m"])
def test_a_range_that_cannot_be_is_refused(text):
    with pytest.raises(Unreadable):
        read_range(text, metres, about_share=0.25)
