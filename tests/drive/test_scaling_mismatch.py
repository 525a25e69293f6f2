"""Program and drive not set alike: the ratio of the two settings, and what exchanged bytes do."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.drive.scaling_mismatch import COUNTS_TAKEN, HIGHEST, PROFILE, READ_AS, THOUSANDS, swapped, understood
from helpers.errors import OutOfRange, Unknown


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
