"""The diagnosis reader says what the decoders below say; it knows octets, telegrams, recordings and descriptions."""

import pytest
from drawn import boxes, check_legible
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers import facts
from helpers.bus.services import diagnosis, slave_diag
from helpers.errors import OutOfRange, Unreadable, WorkbookError
from helpers.panels.device.description import description_called
from helpers.panels.kit.as_html import html_of
from helpers.panels.kit.drawing import INK
from helpers.panels.telegrams.diagnosis import bits_drawing, diagnosis_panel, diagnosis_view, examples

MILL, COMPACT = (description_called(name, []) for name in ("Mill drive M, 1.1", "Mill drive C"))
# PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.729: an identifier block and a channel block.
BLOCKS = facts.where("published/bus_services", service="diagnosis blocks")[0]["octets"]


@pytest.mark.parametrize("name", examples())
def test_each_example(name):
    view = diagnosis_view(examples()[name])
    assert view.sentence.endswith(".") and html_of(view, still=True)
    assert view.pictures[0].width <= 760
    assert bool(view.rows) != (name == "in order")
    assert not view.rows or {"look at first", "what to do"} <= set(view.rows[0])


def test_bits_one_by_one_in_the_picture():
    octets = bytes.fromhex("020500FFFFF1")
    sheet = bits_drawing(octets)
    check_legible(sheet)
    filled = [box for box in boxes(sheet) if box[4] == INK]
    assert len(filled) == sum(octet.bit_count() for octet in octets[:3])
    assert sheet.says.startswith("Bits that are 1: Station_Not_Ready, fixed 1, Prm_Req.")
    check_legible(bits_drawing(b"\xff" * 40))


def test_published_blocks_are_told_octet_by_octet():
    told = dict(diagnosis_view("08 0C 00 01 FF F1 " + BLOCKS).folded)
    lines = told["Octet by octet, blocks included"]
    assert sum(len(bytes.fromhex(row["value"])) for row in lines) == 6 + len(bytes.fromhex(BLOCKS))


def test_a_recording_with_several():
    told = examples()["a whole telegram"] + " E5 " + examples()["a whole telegram"]
    assert diagnosis_view(told, 2).because.startswith("From station 12. Diagnosis 2 of 2")
    assert html_of(diagnosis_view(told, 99)) == html_of(diagnosis_view(told, 2))


def test_the_texts_of_the_description():
    warm, phase = examples()["drive too warm, fan worn"], examples()["phase missing, as DPV1 tells it"]
    assert "choose its description" in diagnosis_view(warm).because
    assert "The description says: fan worn, drive too warm." in diagnosis_view(warm, 1, MILL).because
    # a block that DPV1 fills has texts of its own; its first octet is not a row of bits
    assert "The description says: phase missing." in diagnosis_view(phase, 1, MILL).because
    assert "belongs to another device" in diagnosis_view(warm, 1, COMPACT).because


def test_three_octets_and_what_is_missing():
    view = diagnosis_view("06 0C 00")
    assert view.sentence.startswith("Configuration refused") and "Octets 4 to 6 were not given" in view.because
    check_legible(view.pictures[0])
    assert view.pictures[0].says.endswith("can not be told.")


def test_blocks_are_told_in_the_table():
    rows = diagnosis_view(examples()["drive too warm, fan worn"], 1, MILL).rows
    assert [row["what it means"] for row in rows] == ["fan worn, drive too warm"]
    rows = diagnosis_view("08 0C 00 01 FF F1 " + BLOCKS).rows
    assert any("identifier 0 (place 1)" in row["what it means"] for row in rows)
    assert not any("blocks" in row["look at first"] for row in rows)


def test_what_is_no_diagnosis():
    with pytest.raises(Unreadable):
        diagnosis_view(" ")
    with pytest.raises(OutOfRange, match="allowed is 3 to 244"):
        diagnosis_view("02 05")
    assert "these octets" in diagnosis_view("00 00 00 00 00 00").rows[0]["look at first"]


@settings(max_examples=50, deadline=None)
@given(st.binary(max_size=60))
def test_any_octets(octets):
    try:
        view = diagnosis_view(octets.hex(" "), 1, MILL)
    except WorkbookError:
        return
    if not view.because.startswith("From"):
        assert diagnosis.read(slave_diag.decode(octets, part=True)).sentence in view.sentence
    assert html_of(view)


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
