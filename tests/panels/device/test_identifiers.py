"""The identifier panels against published octets, both ways, and for any octets whatever."""

import pytest
from drawn import check_legible, texts
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.device.identifiers import Area, decode, explain
from helpers.errors import WorkbookError
from helpers.panels.device.identifiers import (
    LISTED,
    build_identifier_panel,
    build_view,
    identifier_panel,
    identifiers_view,
    octets_drawing,
)
from helpers.verdict import Degree

PUBLISHED = facts.rows("published/identifiers")


@pytest.mark.parametrize("row", PUBLISHED, ids=lambda row: row["octets"])
def test_published_octets_are_read_aloud(row):
    # The source of each row stands in data/published/identifiers.csv.
    view = identifiers_view(bytes.fromhex(row["octets"]))
    assert view.sentence.startswith(f"{row['octets']}: {row['bytes_out']} bytes out, {row['bytes_in']} bytes in")
    assert len(view.rows) == row.whole("places")
    assert sum(place["bytes out"] for place in view.rows) == row.whole("bytes_out")
    named = row["meaning"].startswith(("PPO", "standard telegram")) and "maker" not in row["meaning"]
    assert (f"as in {row['meaning']}." in view.sentence) is named
    assert view.degree is None


def test_the_drawing_shows_each_bit_of_each_octet():
    octets = explain(bytes.fromhex("F3 F5"))
    sheet = octets_drawing(octets)
    bits = "".join(text.words for text in texts(sheet)[8:] if text.words in ("0", "1"))
    assert bits == "1111001111110101"  # 16#F3 16#F5
    assert "3 + 1 = 4 words" in sheet.says and "5 + 1 = 6 words" in sheet.says


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
    view = identifiers_view(bytes.fromhex(here), bytes.fromhex(there))
    assert view.degree is degree
    assert says in view.sentence
    assert "configuration fault" in view.because
    back = identifiers_view(bytes.fromhex(there), bytes.fromhex(here))
    assert back.degree is degree


def test_data_too_long_for_the_bus_are_told():
    # 244 bytes each way: Lenze EPM manual p.267; 246 without service access points: M. Felser, PROFIBUS Manual
    fits, too_long = bytes([0xFF] * 7 + [0xFA]), bytes([0xFF] * 7 + [0xFB])
    assert identifiers_view(fits).degree is None  # 7 · 32 + 22 = 246 bytes
    view = identifiers_view(too_long)
    assert view.degree is Degree.CANNOT_WORK and view.because.startswith("Output is 248 bytes; allowed is 0 to 246")
    assert identifiers_view(too_long, too_long).degree is Degree.CANNOT_WORK


def test_a_long_list_is_cut_and_says_so():
    view = identifiers_view(bytes([0xF1] * (LISTED + 1)))
    assert len(view.rows) == LISTED + 1 and view.rows[-1]["octets"] == "1 more place"
    assert identifiers_view(bytes([0xF1] * 244)).rows[-1]["octets"] == "234 more places"
    assert len(identifiers_view(bytes([0xF1] * 244)).sentence) < 120


@given(st.binary(max_size=250), st.binary(max_size=8))
def test_any_octets_give_a_view_or_a_sentence(octets, other):
    try:
        view = identifiers_view(octets, other)
    except WorkbookError as error:
        assert str(error)
        return
    assert len(view.rows) <= LISTED + 1
    check_legible(view.pictures[0])


@given(
    out=st.integers(0, 64),
    into=st.integers(0, 64),
    units=st.tuples(*[st.sampled_from(["byte", "word"])] * 2),
    whole=st.booleans(),
    vendor=st.binary(max_size=14),
)
def test_what_is_put_together_reads_back(out, into, units, whole, vendor):
    view = build_view(out=out, out_unit=units[0], into=into, in_unit=units[1], whole=whole, vendor=vendor)
    octets = bytes.fromhex(view.rows[0]["octets"])
    (one,) = decode(octets).identifiers
    assert one.output == (Area(out, units[0], whole) if out else None)
    assert one.input == (Area(into, units[1], whole) if into else None)
    assert one.vendor == vendor
    assert view.because.startswith("One compact byte" if len(octets) == 1 and octets[0] & 0x30 else "A compact byte")


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
    assert build_view(**asked, out_unit=unit, in_unit=unit).rows[0]["octets"] == octets


@pytest.mark.parametrize("typed", ["", "F3 F", "GG", "243", "<b>", "F3 " * 300, "C3"])
def test_rubbish_gets_a_sentence_and_the_last_reading_stays(typed):
    panel = identifier_panel()
    panel.fields["octets"].widget.value = typed
    assert "Not usable" in panel.said.value and "<b>F" not in panel.said.value
    assert "as in PPO 2" in panel.result.value
    panel.fields["octets"].widget.value = "0xF1"
    assert panel.said.value == "" and "as in PPO 3" in panel.result.value


def test_the_other_side_is_compared_as_soon_as_it_is_filled_in():
    panel = identifier_panel()
    panel.fields["other"].widget.value = "F3 F1"
    assert "Not allowed, cannot work." in panel.result.value
    panel.fields["other"].widget.value = "f3h f5h"
    assert "In order." in panel.result.value


def test_an_identifier_is_put_together_in_the_panel():
    panel = build_identifier_panel()
    panel.fields["out"].widget.value = "3"
    assert "F2" in panel.result.value and "One compact byte is enough." in panel.result.value
    panel.fields["into"].widget.value = "65"
    assert "length in is 65; allowed is 0 to 64" in panel.said.value
    panel.fields["into"].widget.value = "0"
    panel.fields["vendor"].widget.value = "00 " * 15
    assert "number of vendor octets is 15" in panel.said.value
