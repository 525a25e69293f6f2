"""Scaling against printed words, and against other ways of calculating the same."""

import math
import struct

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers import facts
from helpers.drive import scaling
from helpers.drive.scaling import (
    COUNTS_TAKEN,
    HIGHEST,
    PROFILE,
    READ_AS,
    THOUSANDS,
    scale,
    swapped,
    understood,
    unscale,
)
from helpers.errors import OutOfRange, Unknown

FORMATS = st.sampled_from(scaling.formats())
VALUE = st.floats(-1e6, 1e6, allow_nan=False)
REFERENCE = st.floats(1e-3, 1e5)


@pytest.mark.parametrize("row", facts.rows("published/drive_scaling"), ids=lambda row: row["word"])
def test_printed_words(row):
    read = unscale(row["word"], format=row["format"])
    assert round(read.percent, row.whole("decimals")) == row.number("percent")
    assert scale(read.value, format=row["format"]).word == row.whole("word")


def test_calculated_words():
    # 60 % of 16384 is 9830.4; rpm = N2 / 16#4000 × reference (Mitsubishi 700 series manual p.250)
    assert scale(60).word == 0x2666
    assert scale(1500, reference=3000, unit="rpm").word == 0x2000
    assert scale(25, reference=50, unit="Hz").word == 0x2000
    assert scale(-75).word == 0xD000
    assert scale(-50).word == 0xE000
    assert unscale("16#D000").percent == -75


def test_resolution():
    # Eaton manual MN040062EN p.61: 0.0061 %; N4: 100 % / 2^30
    assert round(scaling.form("N2").step_percent, 4) == 0.0061
    assert scaling.form("N4").step_percent == pytest.approx(9.3e-8, rel=2e-3)
    assert scale(0, reference=3000, unit="rpm").step == pytest.approx(0.1831, abs=1e-4)


@pytest.mark.parametrize(
    ("format", "value", "word", "saturated"),
    [
        ("N2", 32767 / 163.84, 0x7FFF, False),
        ("N2", 32768 / 163.84, 0x7FFF, True),
        ("N2", 1e300, 0x7FFF, True),
        ("N2", -200, 0x8000, False),
        ("N2", -200.01, 0x8000, True),
        ("10000", 100, 10000, False),
        ("10000", 100.01, 10000, True),
        ("10000", -100, 0xD8F0, False),
        ("10000", -100.01, 0xD8F0, True),
        ("N4", 200, 0x7FFFFFFF, True),
        ("N4", -200, 0x80000000, False),
    ],
)
def test_both_sides_of_saturation(format, value, word, saturated):
    found = scale(value, format=format)
    assert found.word == word
    assert found.saturated is saturated
    assert any("held at" in step for step in found.steps) is saturated


def test_a_word_beyond_the_scale_of_the_device_is_marked():
    assert not unscale(10000, format="10000").saturated
    assert unscale(10001, format="10000").saturated
    assert unscale(0xD8EF, format="10000").saturated
    assert not unscale(0x8000, format="N2").saturated


def test_rounding_is_stated():
    half = 0.5 / 16384 * 100
    assert [scale(n * half).counts for n in (1, 2, 3, -1, -3)] == [0, 1, 2, 0, -2]
    assert [scale(n * half, rounding="cut").counts for n in (1, 2, 3, -1, -3)] == [0, 1, 1, 0, -1]
    assert scale(60, rounding="cut").counts == 9830
    assert scale(-60, rounding="cut").counts == -9830


def test_two_readings_of_one_word():
    # Vacon CX PROFIBUS manual p.13: 5000 is 50.00 % on the device scaled ±10000; in N2 it would be 30.52 %
    assert unscale("16#1388", format="10000").percent == 50
    assert unscale("16#1388").percent == 30.5176
    assert scaling.misread(50, sent_as="10000", read_as="N2") == 30.5176
    assert scaling.misread(100, sent_as="N2", read_as="10000") == 163.84
    with pytest.raises(OutOfRange, match="one length"):
        scaling.misread(100, sent_as="N4", read_as="N2")


def test_steps_lead_to_the_word():
    steps = scale(-1500, reference=3000, unit="rpm").steps
    assert steps[0] == "-1500 rpm / 3000 rpm = -50 %"
    assert "-8192" in steps[2]
    assert steps[-1].endswith("= 57344 = 16#E000")
    assert unscale("16#2000", reference=50, unit="Hz").steps[-1].endswith("= 25 Hz")


def test_lost_digits():
    assert scaling.kept_digits(0.1) == 1
    assert scaling.kept_digits(0.1000001) == 0
    assert scaling.kept_digits(1.5) == -1
    assert "steps of 0.1 rpm do not all" in scaling.lost_digit(3000 / 16384, "rpm")
    # 1500 and 1500.1 rpm of 3000 share a word; 1500 and 1501 do not
    words = [scale(rpm, reference=3000, unit="rpm").word for rpm in (1500, 1500.05, 1501)]
    assert words[0] == words[1] != words[2]


@given(st.floats(1e-6, 1e3))
def test_values_that_differ_in_a_kept_digit_get_their_own_words(reference):
    step = reference / 16384
    unit = 10.0 ** -scaling.kept_digits(step)
    assert step <= unit * (1 + 1e-9) and step > unit / 10 * (1 - 1e-9)
    counts = [scale(n * unit, reference=reference, unit="rpm").counts for n in range(4)]
    if unit * 3 < reference and step <= unit:
        assert len(set(counts)) == 4


@given(st.integers(-(2**15), 2**15 - 1))
def test_twos_complement_as_the_struct_module_has_it(number):
    octets = struct.pack(">h", number)
    assert scaling.unsigned(number) == int.from_bytes(octets, "big")
    assert scaling.signed(scaling.unsigned(number)) == number


@given(st.integers(-(2**31), 2**31 - 1))
def test_double_words_as_the_struct_module_has_them(number):
    octets = struct.pack(">i", number)
    double = scaling.unsigned(number, bits=32)
    assert scaling.split(double) == struct.unpack(">HH", octets)
    assert scaling.join(*scaling.split(double)) == double
    assert scaling.signed(double, bits=32) == number


@given(VALUE, REFERENCE, FORMATS)
def test_round_trip_within_half_a_step(value, reference, format):
    sent = scale(value, reference=reference, unit="rpm", format=format)
    back = unscale(sent.word, reference=reference, unit="rpm", format=format)
    assert back.counts == sent.counts
    assert back.value == sent.value
    assert math.isclose(sent.value, value + sent.error, rel_tol=1e-9, abs_tol=1e-9)
    if not sent.saturated:
        assert abs(sent.error) <= sent.step * (0.5 + 1e-6) + abs(value) * 1e-12


@given(st.integers(0, 0xFFFF), REFERENCE)
def test_every_word_survives_its_round_trip(number, reference):
    assert scale(unscale(number, reference=reference).value, reference=reference).word == number


@given(VALUE, REFERENCE, FORMATS)
def test_scaling_is_odd_inside_the_limits(value, reference, format):
    plus, minus = (scale(sign * value, reference=reference, format=format) for sign in (1, -1))
    if not plus.saturated and not minus.saturated:
        assert plus.counts == -minus.counts


@given(VALUE, VALUE, REFERENCE, FORMATS, st.sampled_from(scaling.ROUNDINGS))
def test_a_larger_setpoint_never_gives_a_smaller_count(one, other, reference, format, rounding):
    low, high = (scale(v, reference=reference, format=format, rounding=rounding).counts for v in sorted((one, other)))
    assert low <= high


def test_refused():
    for bad in (math.nan, math.inf):
        with pytest.raises(OutOfRange, match="finite"):
            scale(bad)
    for bad in (0, -50, math.nan, math.inf):
        with pytest.raises(OutOfRange, match="more than 0 rpm"):
            scale(1, reference=bad, unit="rpm")
        with pytest.raises(OutOfRange):
            unscale(1, reference=bad)
    with pytest.raises(Unknown, match="N2, N4, 10000"):
        scale(1, format="N3")
    with pytest.raises(Unknown, match="nearest, cut"):
        scale(1, rounding="up")
    with pytest.raises(OutOfRange, match="-32768 to 32767"):
        scaling.unsigned(32768)
    with pytest.raises(OutOfRange):
        unscale(0x10000)
    with pytest.raises(OutOfRange):
        scaling.kept_digits(0)
    assert scale(1e308, reference=1e-300).saturated


@given(st.integers(-1500, 1500), st.sampled_from([750, 1500, 3000]))
@settings(max_examples=40)
def test_alike_on_both_sides_runs_what_was_wanted(rpm, full):
    for counts, format in ((PROFILE, "N2"), (THOUSANDS, "10000")):
        if format == "N2" or abs(rpm) <= full:
            got = understood(rpm, program_rpm=full, program_full=counts, drive_rpm=full, drive_format=format)
            # Half a count is the most that rounding takes; +200 % lies one count above the highest word.
            assert abs(got.rpm - rpm) <= full / counts * (1 if got.held else 0.5) + 1e-9 and got.alike


@given(st.integers(-900, 900))
@settings(max_examples=30)
def test_other_counts_change_every_speed_by_the_same_ratio(rpm):
    for counts in COUNTS_TAKEN:
        got = understood(rpm, program_rpm=1500, program_full=counts, drive_rpm=1500)
        assert got.rpm == pytest.approx(rpm * counts / 16384, abs=0.1)
    # A reference of 60 Hz taken for one of 50 Hz: 6/5 of every speed.
    assert understood(rpm, program_rpm=1500, drive_rpm=1800).rpm == pytest.approx(rpm * 1.2, abs=0.1)


def test_the_setpoint_of_a_published_frame_read_the_other_way():
    # 16#1388 is 50.00 % on a device scaled ±10000 (Vacon CX PROFIBUS manual p.13); N2 makes 5000/16384 of it.
    got = understood(750, program_rpm=1500, program_full=THOUSANDS, drive_rpm=1500)
    assert got.sent == 0x1388 and got.percent == pytest.approx(30.5176) and not got.alike
    assert understood(750, program_rpm=1500, program_full=THOUSANDS, drive_rpm=1500, drive_format="10000").alike


@given(st.integers(0, 0xFFFF))
@settings(max_examples=40)
def test_bytes_exchanged_twice_are_as_before(word):
    assert swapped(swapped(word)) == word
    assert swapped(word).to_bytes(2, "big") == word.to_bytes(2, "little")


def test_exchanged_bytes_arrive_exchanged():
    got = understood(900, program_rpm=1500, drive_rpm=1500, bytes_exchanged=True)
    assert (got.sent, got.read) == (0x2666, 0x6626)  # 60 % in N2, high byte first
    assert got.percent == pytest.approx(0x6626 / 16384 * 100, abs=1e-3)


def test_what_does_not_fit_is_held_at_either_end():
    assert understood(3001, program_rpm=1500, drive_rpm=1500).sent == 0x7FFF
    assert understood(-4000, program_rpm=1500, drive_rpm=1500).sent == 0x8000
    over = understood(1000, program_rpm=1500, drive_rpm=1500, drive_format="10000")
    assert over.held and over.percent == 100  # 10923 counts, and the drive takes 10000
    assert not understood(900, program_rpm=1500, drive_rpm=1500, drive_format="10000").held


@pytest.mark.parametrize(
    ("wrong", "error"),
    [
        ({"program_rpm": 0}, OutOfRange),
        ({"drive_rpm": -1}, OutOfRange),
        ({"program_full": HIGHEST + 1}, OutOfRange),
        ({"drive_format": "N4"}, Unknown),
    ],
)
def test_what_is_no_setting_is_refused(wrong, error):
    assert READ_AS == ("N2", "10000")
    with pytest.raises(error):
        understood(100, **({"program_rpm": 1500, "drive_rpm": 1500} | wrong))


def test_every_step_of_reading_a_word_ends_on_its_own_result():
    # 16#2000 is half of 16#4000, so 50 % and half the reference (PROFIdrive: 16#4000 is 100 %)
    steps = unscale("16#2000", reference=1480, unit="rpm").steps
    assert steps[1] == "8192 / 16384 × 100 % = 50 %"
    assert steps[2] == "8192 / 16384 × 1480 rpm = 740 rpm"
