"""The panels of byte order and tearing draw every octet, and name what they cannot use."""

from drawn import boxes, check_legible, elements, texts
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.device.byte_order import byte_order_answer, iec_type, iec_types, orders
from helpers.device.consistency import ACCESSES, tearing_answer
from helpers.panels.device.byte_order import byte_order_panel, order_drawing, tearing_drawing, tearing_panel

WIDE = [one.name for one in iec_types() if one.bits > 8]
values = st.sampled_from(WIDE).flatmap(
    lambda kind: st.tuples(st.just(kind), *[st.integers(iec_type(kind).low, iec_type(kind).high)] * 2)
)


@settings(max_examples=30)
@given(values, st.sampled_from(orders()))
def test_every_octet_has_a_line_to_its_place(drawn, order):
    kind, value, _ = drawn
    sheet = order_drawing(byte_order_answer(kind, iec_type(kind).shown(value), order).pictures[0])
    check_legible(sheet)
    count = iec_type(kind).length_bytes
    assert (len(boxes(sheet)), len(elements(sheet, "line"))) == (2 * count, count)
    dashed = sum(line.get("stroke-dasharray") != "none" for line in elements(sheet, "line"))
    assert dashed == (0 if order == "high byte first" or (count, order) == (2, "words exchanged") else count)


@settings(max_examples=30)
@given(values, st.sampled_from(list(ACCESSES)), st.booleans())
def test_the_drawing_shades_the_new_accesses(drawn, access, backwards):
    kind, old, new = drawn
    shown = iec_type(kind).shown
    answer = tearing_answer(kind, shown(old), shown(new), access, backwards)
    sheet = tearing_drawing(answer.pictures[0])
    check_legible(sheet)
    assert len(boxes(sheet)) == len(answer.rows) * iec_type(kind).length_bytes > 0
    assert sum(text.words == "▲ torn" for text in texts(sheet)) == sum(r["which is"] == "▲ torn" for r in answer.rows)


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
