"""The answers on states say what the table of transitions says; the caution stands where a motor could start."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.drive.command_sequence import shortest, wishes
from helpers.drive.state_answers import open_ways, state_answer, stop_answer, wish_answer
from helpers.drive.states import STATES, Conditions, Options, settle, step

COASTS, RAMPS = Options(disable="coasts"), Options(no_control="ramp stop")
words = st.integers(0, 0xFFFF)
states = st.sampled_from(list(STATES))


def test_the_run_word_alone_does_not_start():
    # Rockwell 160PD1 manual p.5-4 and ABB FSPS-21 manual p.83: bit 0 must be 0 before it may rise.
    answer = state_answer("switching on inhibited", 0, 0x047F)
    assert "stays: switching on inhibited" in answer.sentence
    assert "send 16#047E, then 16#047F" in answer.because
    assert not answer.caution


def test_the_right_words_start_and_carry_the_caution():
    # 16#0231 and 16#0237 end on the octets 16#31 and 16#37 of Rockwell 160PD1 manual p.5-4.
    ready = state_answer("switching on inhibited", 0, 0x047E)
    assert "16#0231" in ready.sentence and not ready.caution
    run = state_answer("ready for switching on", 0x047E, 0x047F)
    assert run.sentence.startswith("Ready for switching on → switched on → operation. The drive shows 16#0237")
    assert "nobody is at the machine" in str(run.caution)
    assert "emergency stop at hand" in str(run.caution)
    assert not run.rows


def test_a_bit_that_sets_a_standing_motor_going_carries_the_caution_too():
    # In operation with bit 6 at 0 the setpoint counts as 0 (device manuals, bit 6): its rise lets the motor turn.
    held = state_answer("operation", 0x047F, 0x043F)
    going = state_answer("operation", 0x043F, 0x047F)
    assert not held.caution
    assert "can start to turn" in str(going.caution) and "emergency stop at hand" in str(going.caution)
    # with bit 10 at 0 the word is not taken over
    assert "can start to turn" not in str(state_answer("operation", 0x043F, 0x007F).caution)


def test_zeros_do_not_stop_every_drive():
    # ABB FPBA-01 manual p.131: with bit 10 at 0 the drive keeps running.
    answer = state_answer("operation", 0x047F, 0)
    assert "stays: operation" in answer.sentence
    assert "emergency stop" in str(answer.caution) and "Remedy" in str(answer.caution)
    assert "loss of communication does not help" in str(answer.caution)  # the telegrams go on
    assert not answer.rows
    assert "→ ramp stop" in state_answer("operation", 0x047F, 0, options=RAMPS).sentence


def test_a_setpoint_of_zero_is_named():
    answer = state_answer("operation", 0x047F, 0x047F, setpoint_zero=True)
    assert "held at standstill by its setpoint of 0" in answer.sentence
    assert "The setpoint is 0" in answer.rows[0]["this too keeps the motor from its setpoint"]
    # With bit 10 at 0 the setpoint beside the word is not taken over: Lenze 931M/W manual p.33.
    zeros = state_answer("operation", 0x047F, 0x0000, setpoint_zero=True)
    assert "the motor can turn" in zeros.sentence and not zeros.rows


@settings(max_examples=50)
@given(states, words, words, st.booleans(), st.sampled_from([Options(), COASTS, RAMPS]))
def test_the_answer_says_what_the_states_say(state, before, word, local, options):
    conditions = Conditions(local=local)
    answer = state_answer(state, before, word, conditions, options)
    steps = settle(state, before, word, conditions, options, wait=False)
    assert f"16#{steps[-1].status:04X}" in answer.sentence
    assert f"Now: {steps[-1].after}." in answer.pictures[0].says
    if steps[-1].after == "operation" != state:
        assert "Sent to a live drive, this word" in str(answer.caution)


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


@pytest.mark.parametrize("wish", wishes())
def test_a_wish_is_played_to_its_end(wish):
    for state in STATES:
        moves = shortest(wish, state, 0x047F).moves
        steps = [one for move in moves for one in move.steps]
        for n in range(len(steps) + 1):
            answer = wish_answer(wish, state, 0x047F, n)
            assert f"Now: {steps[n - 1].after if n else state}." in answer.pictures[0].says
            assert len(answer.rows) == len(steps)
            assert [row["shown"] for row in answer.rows].count("✓") == max(0, n - 1)
        if any(one.after == "operation" for one in steps):
            assert "Sent to a live drive" in str(answer.caution)


def test_what_a_stopped_controller_sends():
    assert "runs on" in stop_answer(0).sentence and "Remedy" in str(stop_answer(0).caution)
    assert "brakes (ramp stop)" in stop_answer(0, RAMPS).sentence
    assert "ready for switching on" in stop_answer(0x047E).sentence
    assert "coasts" in stop_answer(0x0400).sentence
    kept = stop_answer(0x047F)
    assert "runs on" in kept.sentence and "emergency stop" in str(kept.caution)
    told = [list(row.values())[1:] for row in kept.rows]
    assert told == [
        ["▲ runs on", "● brakes: ramp stop"],
        ["● brakes: ramp stop", "● brakes: ramp stop"],
        ["● coasts", "● coasts"],
        ["▲ runs on", "▲ runs on"],
    ]


@pytest.mark.parametrize("wish", wishes())
def test_a_wish_that_is_not_played_gives_each_step_its_reason_and_no_place(wish):
    answer = wish_answer(wish, "switching on inhibited", 0)
    assert answer.because == "" and not answer.folded
    assert all(row["why"] and "shown" not in row for row in answer.rows)
    played = wish_answer(wish, "switching on inhibited", 0, 0)
    assert [row["why"] for row in answer.rows] == [row["why"] for _, rows in played.folded for row in rows]
    assert all("why" not in row for row in played.rows)


def test_a_wish_that_is_fulfilled_has_nothing_to_play():
    for wish in wishes():
        for state in STATES:
            if not shortest(wish, state, 0x047F).moves:
                assert wish_answer(wish, state, 0x047F, 0).because == ""
