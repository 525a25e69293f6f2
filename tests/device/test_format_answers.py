"""Answers on data formats and identifiers: published layouts and octets, both ways, and any octets whatever."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.device import formats, signals
from helpers.device.format_answers import (
    LISTED,
    build_answer,
    identifiers_answer,
    layout_answer,
    list_rows,
)
from helpers.device.identifiers import DataArea, decode
from helpers.device.signals import read_signals
from helpers.verdict import Degree

PUBLISHED = facts.rows("published/identifiers")


EVERY = formats.all_formats()
BASIC = ["STW1", "NSOLL_A", "ZSW1", "NIST_A"]
SIGNALS = signals.profile_signals() + signals.demo_signals()
some_needs = st.lists(st.sampled_from(SIGNALS), max_size=8, unique=True)


# -- a family side by side ----------------------------------------------------------------------------


# -- one format word by word --------------------------------------------------------------------------


def test_the_two_lists_stand_side_by_side():
    rows = list_rows(formats.by_name("PPO 4"), read_signals("RAMP_TIME, CURRENT, ENERGY"))
    # numbers 1, 2, 5, 6: Eaton MN040010EN p.95; those from 100 on are the invented drive's
    assert [row["number in 915"] for row in rows] == ["1 (fixed)", "5 (fixed)", "122", "0", "0", "0"]
    assert [row["in (list 916)"] for row in rows] == ["ZSW1", "NIST_A", "CURRENT", "ENERGY high", "ENERGY low", "free"]


def test_lists_of_unequal_length_are_filled_up():
    rows = list_rows(formats.by_name("Mill 3/5"), ())
    assert [row["out (list 915)"] for row in rows] == ["STW1", "NSOLL_A", "free", "–", "–"]


def test_a_number_our_sources_do_not_give_is_not_made_up():
    rows = list_rows(formats.by_name("PPO 4"), read_signals("MELD_NAMUR"))
    assert rows[2]["number in 916"] == "see the manual"


def test_what_finds_no_room_is_named_and_a_list_carries_its_caution():
    answer = layout_answer("PPO 4", read_signals("ENERGY, RUN_TIME, CURRENT"))
    assert "No room for CURRENT." in answer.sentence
    assert "secured against starting" in str(answer.caution)
    assert not layout_answer("PPO 3").caution  # nothing to assign
    assert layout_answer("standard telegram 9").because.startswith("All words are fixed.")


# -- signals as people list them ----------------------------------------------------------------------


# -- the shortest format ------------------------------------------------------------------------------


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda row: row["octets"])
def test_published_octets_are_read_aloud(row):
    # The source of each row stands in data/published/identifiers.csv.
    answer = identifiers_answer(bytes.fromhex(row["octets"]))
    assert answer.sentence.startswith(f"{row['octets']}: {row['bytes_out']} bytes out, {row['bytes_in']} bytes in")
    assert len(answer.rows) == row.whole("places")
    assert sum(place["bytes out"] for place in answer.rows) == row.whole("bytes_out")
    named = row["meaning"].startswith(("PPO", "standard telegram")) and "maker" not in row["meaning"]
    assert (f"as in {row['meaning']}." in answer.sentence) is named
    assert answer.degree is None


@pytest.mark.parametrize(
    ("here", "there", "degree", "says"),
    [
        ("F3 F5", "F3 F5", Degree.IN_ORDER, "Drive and controller agree."),
        ("F3 F5", "F3 F1", Degree.CANNOT_WORK, "octet 2 is F5 here and F1 there"),
        ("F5", "F3 F5", Degree.CANNOT_WORK, "octet 1 is F5 here and F3 there"),
        ("F3", "F3 F5", Degree.CANNOT_WORK, "one list is longer"),
        # the same lengths in other octets: 2 words both ways, whole, once compact and once special
        ("F1", "C0 C1 C1", Degree.CANNOT_WORK, "The other side has C0 C1 C1, 4 bytes out and 4 in: they differ"),
    ],
)
def test_drive_and_controller_agree_octet_by_octet_or_not_at_all(here, there, degree, says):
    answer = identifiers_answer(bytes.fromhex(here), bytes.fromhex(there))
    assert answer.degree is degree
    assert says in answer.sentence
    assert "configuration fault" in answer.because
    back = identifiers_answer(bytes.fromhex(there), bytes.fromhex(here))
    assert back.degree is degree


def test_data_too_long_for_the_bus_are_told():
    # 244 bytes each way: Lenze EPM manual p.267; 246 without service access points: M. Felser, PROFIBUS Manual
    fits, too_long = bytes([0xFF] * 7 + [0xFA]), bytes([0xFF] * 7 + [0xFB])
    assert identifiers_answer(fits).degree is None  # 7 · 32 + 22 = 246 bytes
    answer = identifiers_answer(too_long)
    assert answer.degree is Degree.CANNOT_WORK and answer.because.startswith("Output is 248 bytes; allowed is 0 to 246")
    assert identifiers_answer(too_long, too_long).degree is Degree.CANNOT_WORK


def test_a_long_list_is_cut_and_says_so():
    answer = identifiers_answer(bytes([0xF1] * (LISTED + 1)))
    assert len(answer.rows) == LISTED + 1 and answer.rows[-1]["octets"] == "1 more place"
    assert identifiers_answer(bytes([0xF1] * 244)).rows[-1]["octets"] == "234 more places"
    assert len(identifiers_answer(bytes([0xF1] * 244)).sentence) < 120


@given(
    out=st.integers(0, 64),
    into=st.integers(0, 64),
    units=st.tuples(*[st.sampled_from(["byte", "word"])] * 2),
    whole=st.booleans(),
    vendor=st.binary(max_size=14),
)
def test_what_is_put_together_reads_back(out, into, units, whole, vendor):
    answer = build_answer(out=out, out_unit=units[0], into=into, in_unit=units[1], whole=whole, vendor=vendor)
    octets = bytes.fromhex(answer.rows[0]["octets"])
    (one,) = decode(octets).identifiers
    assert one.output == (DataArea(out, units[0], whole) if out else None)
    assert one.input == (DataArea(into, units[1], whole) if into else None)
    assert one.vendor == vendor
    assert answer.because.startswith("One compact byte" if len(octets) == 1 and octets[0] & 0x30 else "A compact byte")


@pytest.mark.parametrize(
    ("asked", "octets"),
    [
        # M. Felser, PROFIBUS Manual, compact format
        ({"out": 0, "into": 2, "unit": "byte", "whole": False}, "11"),
        ({"out": 3, "into": 0, "unit": "byte", "whole": False}, "22"),
        ({"out": 4, "into": 4, "unit": "word", "whole": True}, "F3"),
        ({"out": 2, "into": 2, "unit": "word", "whole": False}, "71"),
    ],
)
def test_the_published_octets_are_put_together(asked, octets):
    unit = asked.pop("unit")
    assert build_answer(**asked, out_unit=unit, in_unit=unit).rows[0]["octets"] == octets


def test_where_everything_finds_room_the_sentence_ends_with_the_identifiers():
    # PPO 3: two words each way, consistent over the whole: F1 (published, see data/published/identifiers.csv)
    assert layout_answer("PPO 3").sentence == "PPO 3: 4 bytes out, 4 bytes in. Identifiers F1."
