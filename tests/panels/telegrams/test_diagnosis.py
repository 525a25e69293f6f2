"""The diagnosis panel draws any octets legibly and shows nonsense as such."""

import pytest
from drawn import boxes, check_legible
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.recording.diagnosis_answer import DiagnosisPicture, diagnosis_answer, examples
from helpers.bus.services import diagnosis, slave_diag
from helpers.errors import WorkbookError
from helpers.panels.device.description import description_called
from helpers.panels.kit.as_html import html_of
from helpers.panels.kit.drawing import INK
from helpers.panels.telegrams.diagnosis import bits_drawing, diagnosis_panel

MILL = description_called("Mill drive M, 1.1", [])
DRAW = {DiagnosisPicture: bits_drawing}


@pytest.mark.parametrize("name", examples())
def test_each_example(name):
    answer = diagnosis_answer(examples()[name])
    assert answer.sentence.endswith(".") and html_of(answer, still=True, draw=DRAW)
    assert bits_drawing(answer.pictures[0]).width <= 760
    assert bool(answer.rows) != (name == "in order")
    assert not answer.rows or {"look at first", "what to do"} <= set(answer.rows[0])


def test_bits_one_by_one_in_the_picture():
    octets = bytes.fromhex("020500FFFFF1")
    sheet = bits_drawing(DiagnosisPicture(octets))
    check_legible(sheet)
    filled = [box for box in boxes(sheet) if box[4] == INK]
    assert len(filled) == sum(octet.bit_count() for octet in octets[:3])
    assert sheet.says.startswith("Bits that are 1: Station_Not_Ready, fixed 1, Prm_Req.")
    check_legible(bits_drawing(DiagnosisPicture(b"\xff" * 40)))


def test_three_octets_and_what_is_missing():
    answer = diagnosis_answer("06 0C 00")
    assert answer.sentence.startswith("Configuration refused") and "Octets 4 to 6 were not given" in answer.because
    check_legible(bits_drawing(answer.pictures[0]))
    assert answer.pictures[0].says.endswith("can not be told.")


@settings(max_examples=50, deadline=None)
@given(st.binary(max_size=60))
def test_any_octets(octets):
    try:
        answer = diagnosis_answer(octets.hex(" "), description=MILL)
    except WorkbookError:
        return
    if not answer.because.startswith("From"):
        assert diagnosis.read(slave_diag.decode(octets, part=True)).sentence in answer.sentence
    assert html_of(answer, draw=DRAW)


def test_the_panel_turns_to_an_example_and_shows_nonsense_as_such():
    panel = diagnosis_panel()
    choose, text = panel.fields["text"].around.children
    choose.value = "parameters refused"
    assert text.value == examples()["parameters refused"] and "Parameters refused" in panel.result.value
    text.value = "nonsense"
    assert choose.value.startswith("your own") and "Not usable" in panel.said.value
    panel.fields["description"].widget.value = "your upload"
    assert "Not usable" in panel.said.value
    text.value, panel.fields["description"].widget.value = examples()["in order"], "Mill drive C"
    assert not panel.said.value
