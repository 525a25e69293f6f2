"""The start in the panel is drawn legibly, with words between the boxes, whatever is wrong and put right."""

import contextlib

import pytest
from drawn import boxes, check_legible, texts
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.recording.start_up_octets import StartUpPicture, read_answer
from helpers.errors import WorkbookError
from helpers.line.traffic.start_up_answer import MOST, cases, start_up_answer
from helpers.panels.device.description import description_called
from helpers.panels.kit.as_html import html_of
from helpers.panels.telegrams.start_up import (
    DRAW,
    bytes_drawing,
    ladder,
    read_examples,
    read_start_up_panel,
    start_up_bytes_panel,
    start_up_panel,
)
from helpers.verdict import Degree


def check_between_the_boxes(sheet):
    """No words reach out of their box, or from an arrow into a box."""
    for x, y, width, height, _ in boxes(sheet):
        for text in texts(sheet):
            if y < text.y < y + height:
                inside = x <= text.left and text.right <= x + width
                assert inside or text.right <= x or text.left >= x + width, text.words


@pytest.mark.parametrize("wrong", cases())
def test_every_step_is_drawn_legibly(wrong):
    for n in range(1, MOST + 1):
        sheet = ladder(start_up_answer(wrong, True, n).pictures[0])
        check_legible(sheet)
        check_between_the_boxes(sheet)


def test_the_panel_answers_to_each_control():
    panel = start_up_panel()
    panel.fields["wrong"].widget.value = "saved, but never loaded"
    panel.fields["number"].widget.value = 9
    panel.fields["put_right"].widget.value = True
    assert not panel.said.value and "load the project into the controller" in panel.result.value


MILL = description_called("Mill drive M, 1.1", [])


def test_a_start_from_the_practice_line_fits_its_description_and_no_other():
    text = next(iter(read_examples().values()))
    answer = read_answer(text, MILL)
    assert (
        answer.degree is Degree.IN_ORDER and answer.sentence.startswith("To station 12:") and "PPO 4" in answer.because
    )
    for name in ("Mill drive C", "Mill drive 1, old"):
        assert read_answer(text, description_called(name, [])).degree is Degree.CANNOT_WORK
    assert (
        read_answer(text).degree is Degree.IN_ORDER and "Choose the station's description" in read_answer(text).because
    )


def test_drawings_short_and_long():
    for parameters, identifiers in ((b"\x88" * 7, b""), (b"\x88" * 244, b"\xf5" * 64), (b"\x88" * 14, b"\xf5")):
        check_legible(bytes_drawing(StartUpPicture(parameters, identifiers, dpv1=True)))


@settings(max_examples=50, deadline=None)
@given(st.binary(max_size=40))
def test_any_octets(octets):
    with contextlib.suppress(WorkbookError):
        assert html_of(read_answer(octets.hex(" "), MILL), draw=DRAW)


def test_the_panels_take_each_control_and_refuse_nonsense():
    panel = start_up_bytes_panel()
    for field, value in (("watchdog", "1 x 20"), ("base_s", 0.001), ("groups", "1, 8"), ("ident", "16#FFF1"),
                         ("extra", ("Fail_Safe", "Sync_Req")), ("values", "when the bus fails = ramp down"),
                         ("place_2", "option: 16 inputs"), ("lock", "released")):  # fmt: skip
        panel.fields[field].widget.value = value
        assert not panel.said.value, field
    for field, value in (("groups", "9"), ("ident", "what"), ("watchdog", "1 x 999")):
        before, panel.fields[field].widget.value = panel.fields[field].widget.value, value
        assert "Not usable" in panel.said.value
        panel.fields[field].widget.value = before
    reader = read_start_up_panel()
    reader.fields["description"].widget.value = "Mill drive M, 1.1"
    reader.fields["dpv1"].widget.value = "yes"
    assert not reader.said.value
    reader.fields["text"].widget.value = ""
    assert "no octets yet" in reader.said.value
