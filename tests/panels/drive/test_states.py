"""The state panels draw every way, and their fields follow each other."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.drive.state_answers import StatePicture, state_answer
from helpers.drive.states import CALM, STATES, Conditions, Options, transitions
from helpers.panels.drive.state_diagram import _BOXES, _ROUTES, state_diagram
from helpers.panels.drive.states import DRAW, state_panel, stop_panel, wish_panel
from helpers.panels.kit.as_html import html_of

COASTS, RAMPS = Options(disable="coasts"), Options(no_control="ramp stop")
words = st.integers(0, 0xFFFF)
states = st.sampled_from(list(STATES))


def test_every_arrow_of_every_drive_has_its_way_from_box_to_box():
    for options in (Options(), COASTS, Options(on_while_stopping="waits for standstill"), RAMPS):
        for rule in transitions(options):
            route = _ROUTES[rule.before, rule.after]
            for (x, y), name in ((route[0], rule.before), (route[-1], rule.after)):
                left, top = _BOXES[name]
                assert x in (left, left + 116) or y in (top, top + 42), (rule.before, rule.after)
                assert left <= x <= left + 116 and top <= y <= top + 42, (rule.before, rule.after)


def test_the_drawing_marks_by_words_and_shape():
    taken = (("ready for switching on", "switched on"), ("switched on", "operation"))
    drawn = state_diagram(StatePicture("operation", taken))
    texts = re.findall(r"<text[^>]*>([^<]*)</text>", drawn.svg)
    assert texts.count("● now") == 1 and texts.count("was") == 2
    assert {"1", "2", "A", "B", "C", "D"} <= set(texts)
    assert drawn.width <= 760


def test_the_slider_of_a_wish_ends_where_the_sequence_ends():
    panel = wish_panel()
    slider, state = panel.fields["step"].widget, panel.fields["state"].widget
    slider.value = 3
    assert "16#0237" in panel.result.value and "◀ here" in panel.result.value
    state.value = "fault reaction"
    assert (slider.value, slider.max) == (0, 6)
    panel.fields["previous"].widget.value = "rubbish"
    assert "Not usable" in panel.said.value
    panel.fields["previous"].widget.value = "16#047F"
    panel.fields["wish"].widget.value = "stop by ramp"
    assert slider.max == 0
    assert "No control word fulfils" in panel.result.value


def test_what_a_stopped_controller_sends_is_chosen():
    panel = stop_panel()
    panel.fields["sent"].widget.value = 0x047E
    assert "brakes (ramp stop)" in panel.result.value


def test_bits_and_text_of_the_control_word_follow_each_other():
    panel = state_panel()
    line = panel.fields["control"].widget
    box, _ = panel.fields["control"].around.children
    _, high, low = box.children
    places = {int(place.description): place for row in (high, low) for place in row.children}
    places[0].value = False
    assert line.value == "16#047E"
    assert "→ ready for switching on" in panel.result.value
    line.value = "0"
    assert not any(place.value for place in places.values())
    line.value = "no word"
    assert "Not usable" in panel.said.value
    places[10].value = True
    assert (line.value, panel.said.value) == ("16#0400", "")


def test_words_one_after_another():
    panel = state_panel()
    _, go_on = panel.fields["control"].around.children
    line = panel.fields["control"].widget
    for word in ("16#047E", "16#047F", "16#047E"):
        line.value = word
        go_on.click()
    assert panel.fields["state"].widget.value == "ramp stop"
    standstill = panel.fields["conditions"].widget.children[0]
    standstill.value = True
    assert "→ ready for switching on" in panel.result.value
    line.value = "?"
    go_on.click()
    assert panel.fields["state"].widget.value == "ramp stop"
    assert "failed here" not in panel.said.value


def test_options_and_conditions_reach_the_drive():
    panel = state_panel()
    assert panel.fields["conditions"].value == CALM and panel.fields["options"].value == Options()
    lists = {box.description: box for box in panel.fields["options"].widget.parts}
    lists["bit 10 = 0"].value = "ramp stop"
    panel.fields["state"].widget.value = "operation"
    panel.fields["control"].widget.value = "16#0000"
    assert "→ ramp stop" in panel.result.value


def test_the_status_word_comes_first_and_leads_the_other_fields():
    panel = state_panel()
    assert next(iter(panel.fields)) == "status"
    line, known = panel.fields["status"].widget, panel.fields
    # bits of 16#0250: 4, 6, 9. Bit 5 at 0: quick stop active (ABB RETA-02 manual, table)
    line.value = "16#0250"
    assert known["state"].value == "switching on inhibited" and known["previous"].value == 0x047B
    assert "Before this word: Status bit 5 is 0: OFF3 (quick stop) active." in panel.result.value
    line.value = "16#0237"
    assert (known["state"].value, known["previous"].value, panel.said.value) == ("operation", 0x047F, "")
    known["state"].widget.value = "ramp stop"  # shows the same bits on some drives
    assert (line.value, known["previous"].value, panel.said.value) == ("16#0237", 0x047F, "")
    line.value = "16#0031"  # bit 9 at 0: led from its own panel (FENA-21 manual p.311)
    assert known["conditions"].value == Conditions(local=True) and "Status bit 9 is 0" in panel.result.value
    line.value = ""
    assert panel.said.value == ""
    for shows_nothing in ("16#0005", "16#3702", "rubbish"):
        line.value = shows_nothing
        assert "Not usable" in panel.said.value


@pytest.mark.parametrize(
    ("status", "previous", "says"),
    [
        ("16#0250", "16#047F", "Status bit 5 is 0: OFF3 is active; bit 2 of the word before, 16#047F, is 1."),
        ("16#0270", "16#047B", "Status bit 5 is 1: OFF3 is not active"),
        ("16#0270", "16#047E", "After 16#047E the drive would be ready for switching on, not switching on inhibited"),
        ("16#0231", "16#0477 ", ""),
        ("16#0233", "16#047F", "would be operation, not switched on"),
        ("16#0237", "16#007F", "has bit 10 at 0"),
        ("16#0238", "16#047F", ""),
        ("16#0238", "rubbish", "rubbish"),
    ],
)
def test_a_word_before_that_can_not_have_led_there_is_refused(status, previous, says):
    panel = state_panel()
    panel.fields["status"].widget.value = status
    panel.fields["previous"].widget.value = previous
    assert says in panel.said.value.replace("&#x27;", "'") and bool(says) == bool(panel.said.value)


@given(states, words, words)
@settings(max_examples=40, deadline=None)
def test_going_on_never_leads_to_a_pair_that_is_refused(state, first, second):
    panel = state_panel()
    panel.fields["state"].widget.value = state
    _, go_on = panel.fields["control"].around.children
    for word in (first, second):
        panel.fields["control"].widget.value = f"16#{word:04X}"
        go_on.click()
        assert not panel.said.value


def test_a_wish_from_a_pair_that_can_not_be_is_refused():
    panel = wish_panel()
    panel.fields["state"].widget.value = "operation"
    assert panel.fields["previous"].value == 0x047F and not panel.said.value
    panel.fields["previous"].widget.value = "16#047E"
    assert "After 16#047E the drive would be ramp stop, not operation" in panel.said.value


@settings(max_examples=50)
@given(states, words, words, st.sampled_from([Options(), COASTS, RAMPS]))
def test_every_answer_can_be_drawn(state, before, word, options):
    assert html_of(state_answer(state, before, word, CALM, options), draw=DRAW)
