"""The state panels say what the table of transitions says, and the caution stands where a motor could start."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.drive.command_sequence import shortest, wishes
from helpers.drive.states import CALM, STATES, Conditions, Options, settle, step, transitions
from helpers.panels.drive.command_sequence import stop_panel, stop_view, wish_panel, wish_view
from helpers.panels.drive.state_diagram import _BOXES, _ROUTES, open_ways, state_diagram
from helpers.panels.drive.states import state_panel, state_view
from helpers.panels.kit.as_html import html_of

COASTS, RAMPS = Options(disable="coasts"), Options(no_control="ramp stop")
words = st.integers(0, 0xFFFF)
states = st.sampled_from(list(STATES))


def test_the_run_word_alone_does_not_start():
    # Rockwell 160PD1 manual p.5-4 and ABB FSPS-21 manual p.83: bit 0 must be 0 before it may rise.
    view = state_view("switching on inhibited", 0, 0x047F)
    assert "stays: switching on inhibited" in view.sentence
    assert "send 16#047E, then 16#047F" in view.because
    assert not view.caution


def test_the_right_words_start_and_carry_the_caution():
    # 16#0231 and 16#0237 end on the octets 16#31 and 16#37 of Rockwell 160PD1 manual p.5-4.
    ready = state_view("switching on inhibited", 0, 0x047E)
    assert "16#0231" in ready.sentence and not ready.caution
    run = state_view("ready for switching on", 0x047E, 0x047F)
    assert run.sentence.startswith("Ready for switching on → switched on → operation. The drive shows 16#0237")
    assert "nobody is at the machine" in str(run.caution)
    assert "emergency stop at hand" in str(run.caution)
    assert not run.rows


def test_a_bit_that_sets_a_standing_motor_going_carries_the_caution_too():
    # In operation with bit 6 at 0 the setpoint counts as 0 (device manuals, bit 6): its rise lets the motor turn.
    held = state_view("operation", 0x047F, 0x043F)
    going = state_view("operation", 0x043F, 0x047F)
    assert not held.caution
    assert "can start to turn" in str(going.caution) and "emergency stop at hand" in str(going.caution)
    # with bit 10 at 0 the word is not taken over
    assert "can start to turn" not in str(state_view("operation", 0x043F, 0x007F).caution)


def test_zeros_do_not_stop_every_drive():
    # ABB FPBA-01 manual p.131: with bit 10 at 0 the drive keeps running.
    view = state_view("operation", 0x047F, 0)
    assert "stays: operation" in view.sentence
    assert "emergency stop" in str(view.caution) and "Remedy" in str(view.caution)
    assert "loss of communication does not help" in str(view.caution)  # the telegrams go on
    assert not view.rows
    assert "→ ramp stop" in state_view("operation", 0x047F, 0, options=RAMPS).sentence


def test_a_setpoint_of_zero_is_named():
    view = state_view("operation", 0x047F, 0x047F, setpoint_zero=True)
    assert "held at standstill by its setpoint of 0" in view.sentence
    assert "The setpoint is 0" in view.rows[0]["this too keeps the motor from its setpoint"]
    # With bit 10 at 0 the setpoint beside the word is not taken over: Lenze 931M/W manual p.33.
    zeros = state_view("operation", 0x047F, 0x0000, setpoint_zero=True)
    assert "the motor can turn" in zeros.sentence and not zeros.rows


@settings(max_examples=50)
@given(states, words, words, st.booleans(), st.sampled_from([Options(), COASTS, RAMPS]))
def test_the_view_says_what_the_states_say(state, before, word, local, options):
    conditions = Conditions(local=local)
    view = state_view(state, before, word, conditions, options)
    steps = settle(state, before, word, conditions, options, wait=False)
    assert f"16#{steps[-1].status:04X}" in view.sentence
    assert f"Now: {steps[-1].after}." in view.pictures[0].says
    if steps[-1].after == "operation" != state:
        assert "Sent to a live drive, this word" in str(view.caution)
    assert html_of(view)


def test_every_arrow_of_every_drive_has_its_way_from_box_to_box():
    for options in (Options(), COASTS, Options(on_while_stopping="waits for standstill"), RAMPS):
        for rule in transitions(options):
            route = _ROUTES[rule.before, rule.after]
            for (x, y), name in ((route[0], rule.before), (route[-1], rule.after)):
                left, top = _BOXES[name]
                assert x in (left, left + 116) or y in (top, top + 42), (rule.before, rule.after)
                assert left <= x <= left + 116 and top <= y <= top + 42, (rule.before, rule.after)


@pytest.mark.parametrize("state", STATES)
def test_an_open_way_does_what_it_asks_for(state):
    for way in open_ways(state):
        asked = way.asks.split("; or ")[0]
        word, before = 0x0400 | 0x7F, 0x0400 | 0x7F
        for numbers, what in re.findall(r"bits? ([\d, ]+?) (= 0|= 1|rises)", asked):
            for bit in numbers.split(", "):
                word = word & ~(1 << int(bit)) if what == "= 0" else word | 1 << int(bit)
                before = before & ~(1 << int(bit)) if what == "rises" else before
        conditions = Conditions(standstill="the motor stands" in asked)
        if asked == "the motor stands":  # the word that asked for the stop still stands
            word = before = 0x0477 if state == "disabling operation" else 0x047E
        assert step(state, before, word, conditions).after == way.after, asked


def test_the_drawing_marks_by_words_and_shape():
    drawn = state_diagram("operation", [("ready for switching on", "switched on"), ("switched on", "operation")])
    texts = re.findall(r"<text[^>]*>([^<]*)</text>", drawn.svg)
    assert texts.count("● now") == 1 and texts.count("was") == 2
    assert {"1", "2", "A", "B", "C", "D"} <= set(texts)
    assert drawn.width <= 760


@pytest.mark.parametrize("wish", wishes())
def test_a_wish_is_played_to_its_end(wish):
    for state in STATES:
        moves = shortest(wish, state, 0x047F).moves
        steps = [one for move in moves for one in move.steps]
        for n in range(len(steps) + 1):
            view = wish_view(wish, state, 0x047F, n)
            assert f"Now: {steps[n - 1].after if n else state}." in view.pictures[0].says
            assert len(view.rows) == len(steps)
            assert [row["shown"] for row in view.rows].count("✓") == max(0, n - 1)
        if any(one.after == "operation" for one in steps):
            assert "Sent to a live drive" in str(view.caution)


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


def test_what_a_stopped_controller_sends():
    assert "runs on" in stop_view(0).sentence and "Remedy" in str(stop_view(0).caution)
    assert "brakes (ramp stop)" in stop_view(0, RAMPS).sentence
    assert "ready for switching on" in stop_view(0x047E).sentence
    assert "coasts" in stop_view(0x0400).sentence
    kept = stop_view(0x047F)
    assert "runs on" in kept.sentence and "emergency stop" in str(kept.caution)
    told = [list(row.values())[1:] for row in kept.rows]
    assert told == [
        ["▲ runs on", "● brakes: ramp stop"],
        ["● brakes: ramp stop", "● brakes: ramp stop"],
        ["● coasts", "● coasts"],
        ["▲ runs on", "▲ runs on"],
    ]
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
