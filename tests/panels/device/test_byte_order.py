"""The panels of byte order and tearing, with published octets."""

import pytest
from drawn import boxes, check_legible, elements, texts
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.device.byte_order import iec_type, iec_types, orders
from helpers.device.consistency import ACCESSES
from helpers.errors import OutOfRange, Unreadable
from helpers.panels.device.byte_order import byte_order_panel, byte_order_view, tearing_panel, tearing_view
from helpers.verdict import Degree

WIDE = [one.name for one in iec_types() if one.bits > 8]
values = st.sampled_from(WIDE).flatmap(
    lambda kind: st.tuples(st.just(kind), *[st.integers(iec_type(kind).low, iec_type(kind).high)] * 2)
)


def test_the_control_word_of_a_published_frame_exchanged():
    # Octets 04 7F for 16#047F: Vacon CX PROFIBUS manual p.13; ABB FPBA-01 manual p.142
    view = byte_order_view("WORD", "16#047F", "low byte first")
    assert view.sentence == "16#047F travels as 04 7F. This controller reads 16#7F04 instead."
    assert "secured against starting" in str(view.caution)
    same = byte_order_view("WORD", "16#047F", "high byte first")
    assert same.sentence.endswith("This controller reads 16#047F, the same.") and not same.caution


def test_a_negative_setpoint_is_shown_signed_and_unsigned():
    # -100 % in N2 is 16#C000: Eaton manual MN040062EN p.61
    row = byte_order_view("INT", "-16384", "high byte first").rows[0]
    assert (row["as INT"], row["as UINT"], row["as WORD"]) == ("-16384", "49152", "16#C000")


@settings(max_examples=30)
@given(values, st.sampled_from(orders()))
def test_every_octet_has_a_line_to_its_place(drawn, order):
    kind, value, _ = drawn
    sheet = byte_order_view(kind, iec_type(kind).shown(value), order).pictures[0]
    check_legible(sheet)
    count = iec_type(kind).length_bytes
    assert (len(boxes(sheet)), len(elements(sheet, "line"))) == (2 * count, count)
    dashed = sum(line.get("stroke-dasharray") != "none" for line in elements(sheet, "line"))
    assert dashed == (0 if order == "high byte first" or (count, order) == (2, "words exchanged") else count)


def test_a_counter_read_in_words_is_torn_in_either_direction():
    view = tearing_view("UDINT", "65535", "65536")
    assert view.degree is Degree.CAUTION and view.sentence.endswith("never was there: 0.")
    assert [row["which is"] for row in view.rows] == ["● new", "▲ torn", "● old"]
    assert tearing_view("UDINT", "65535", "65536", backwards=True).sentence.endswith("131071.")
    assert tearing_view("UDINT", "65535", "65536", "double word by double word").degree is Degree.IN_ORDER
    assert "readings can come out" in tearing_view("UDINT", "65535", "65536", "byte by byte").sentence


def test_a_parameter_channel_read_in_words_mixes_an_old_answer_with_a_new_one():
    view = tearing_view("8 octets", "10 66 00 00 00 00 00 05", "13 9A 00 00 00 00 00 65")
    assert "13 9A" not in view.rows[1]["octets read"] and view.rows[1]["octets read"].endswith("00 65")
    assert view.rows[1]["which is"] == "▲ torn"  # the number of the old parameter with the value of the new one
    by_bytes = tearing_view("8 octets", "10 66 00 00 00 00 00 05", "13 9A 00 00 00 00 00 65", "byte by byte")
    assert not by_bytes.rows and len(by_bytes.folded[0][1]) == 9


@settings(max_examples=30)
@given(values, st.sampled_from(list(ACCESSES)), st.booleans())
def test_the_drawing_shades_the_new_accesses(drawn, access, backwards):
    kind, old, new = drawn
    shown = iec_type(kind).shown
    view = tearing_view(kind, shown(old), shown(new), access, backwards)
    sheet = view.pictures[0]
    check_legible(sheet)
    assert len(boxes(sheet)) == len(view.rows) * iec_type(kind).length_bytes > 0
    assert sum(text.words == "▲ torn" for text in texts(sheet)) == sum(r["which is"] == "▲ torn" for r in view.rows)


def test_what_does_not_fit_is_refused():
    with pytest.raises(OutOfRange, match="number of octets is 2; allowed is 8"):
        tearing_view("8 octets", "00 01", "00 02")
    with pytest.raises(Unreadable, match="65536 apples"):
        byte_order_view("WORD", "65536 apples", "low byte first")


def test_the_panels_answer_and_name_what_they_cannot_use():
    panel = byte_order_panel()
    panel.fields["value"].widget.value = "70000"
    assert "value of type WORD is 70000" in panel.said.value
    panel.fields["kind"].widget.value = "UDINT"
    assert not panel.said.value and "70000 travels as 00 01 11 70" in panel.result.value
    torn = tearing_panel()
    torn.fields["access"].widget.value = "double word by double word"
    assert "only the old or the new value" in torn.result.value
    torn.fields["kind"].widget.value = "8 octets"
    assert "Not usable" in torn.said.value
