"""The state machine against the transitions that manuals print, and over all words at once."""

import itertools
from dataclasses import fields

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.drive import states, words
from helpers.drive.obstacles import obstacles
from helpers.drive.states import STATES, Conditions, Options, settle, step
from helpers.errors import Unknown

STATE = st.sampled_from(list(STATES))
WORD = st.integers(0, 0xFFFF)
CONDITIONS = st.builds(Conditions, *[st.booleans()] * 6)
TRANSITION_FIELDS = ("disable", "no_control", "on_while_stopping")


def choices(field):
    return [row["choice"] for row in facts.where("drive_options", field=field)]


OPTIONS = st.builds(Options, **{field.name: st.sampled_from(choices(field.name)) for field in fields(Options)})
EVERY_OPTION = [
    Options(**dict(zip(TRANSITION_FIELDS, chosen, strict=True)))
    for chosen in itertools.product(*(choices(field) for field in TRANSITION_FIELDS))
]

INHIBITED, READY, SWITCHED_ON, OPERATION = list(STATES)[:4]
RUN, OFF1, OFF2, OFF3, NO_PULSES, ACKNOWLEDGE = 0x047F, 0x047E, 0x047D, 0x047B, 0x0477, 0x04FE


@pytest.mark.parametrize(
    ("state", "previous", "word", "after"),
    [
        # Rockwell 160PD1 manual p.5-4 (xxxx x110b), ABB FSPS-21 manual p.83: the inhibit is left with bit 0 = 0 only
        (INHIBITED, 0x0000, OFF1, READY),
        (INHIBITED, 0x0000, RUN, INHIBITED),
        (INHIBITED, OFF1, RUN, INHIBITED),
        (INHIBITED, 0x0000, 0x047C, INHIBITED),
        (INHIBITED, 0x0000, 0x047A, INHIBITED),
        # Lenze 931M/W manual p.29, ABB FSPS-21 manual p.83 (x111b): the edge of bit 0 switches on
        (READY, OFF1, RUN, SWITCHED_ON),
        (READY, OFF1, NO_PULSES, SWITCHED_ON),
        (READY, RUN, RUN, READY),
        (READY, OFF1, OFF1, READY),
        # Lenze 931M/W manual p.29, ABB FPBA-01 manual p.57 (1111b)
        (SWITCHED_ON, RUN, RUN, OPERATION),
        (SWITCHED_ON, NO_PULSES, NO_PULSES, SWITCHED_ON),
        (SWITCHED_ON, NO_PULSES, RUN, OPERATION),
        (SWITCHED_ON, NO_PULSES, OFF1, READY),
        # Eaton manual MN040010EN p.87, ABB FPBA-01 manual p.57: OFF1, OFF2, OFF3 in operation
        (OPERATION, RUN, OFF1, "ramp stop"),
        (OPERATION, RUN, OFF2, INHIBITED),
        (OPERATION, RUN, OFF3, "quick stop"),
        (OPERATION, RUN, 0x0478, INHIBITED),  # all three at once: coast stop is the strongest
        (OPERATION, RUN, 0x047A, "quick stop"),  # OFF1 and OFF3
        (OPERATION, RUN, 0x0476, "ramp stop"),  # OFF1 and bit 3
        # Eaton manual MN040010EN p.87: OFF1 is interruptible. Lenze 931M/W manual p.29: a quick stop is not
        ("ramp stop", OFF1, RUN, OPERATION),
        ("ramp stop", OFF1, OFF1, "ramp stop"),
        ("quick stop", OFF3, RUN, "quick stop"),
        ("quick stop", OFF3, OFF2, INHIBITED),
        # Lenze 931M/W manual p.29: only the rise of bit 7 acknowledges
        ("fault", RUN, ACKNOWLEDGE, INHIBITED),
        ("fault", ACKNOWLEDGE, ACKNOWLEDGE, "fault"),
        ("fault", RUN, OFF1, "fault"),
        # Lenze 931M/W manual p.33, ABB FPBA-01 manual p.131: nothing without bit 10
        (OPERATION, RUN, 0x0000, OPERATION),
        (INHIBITED, 0x0000, 0x007E, INHIBITED),
        (READY, OFF1, 0x007F, READY),
        ("fault", RUN, 0x00FE, "fault"),
    ],
)
def test_printed_transitions(state, previous, word, after):
    assert step(state, previous, word).after == after


def test_points_on_which_drives_differ():
    # bit 3 = 0: the profile (from memory) takes the pulses off; Lenze 931M/W manual p.29 ramps down first
    assert step(OPERATION, RUN, NO_PULSES).after == SWITCHED_ON
    ramps = Options(disable="ramps")
    assert step(OPERATION, RUN, NO_PULSES, options=ramps).after == "disabling operation"
    assert [s.after for s in settle(OPERATION, RUN, NO_PULSES, options=ramps)] == ["disabling operation", SWITCHED_ON]
    # bit 10 = 0
    zeros = step(OPERATION, RUN, 0, options=Options(no_control="ramp stop"))
    assert zeros.after == "ramp stop"
    # ON during the ramp
    waits = Options(on_while_stopping="waits for standstill")
    assert step("ramp stop", OFF1, RUN, options=waits).after == "ramp stop"
    assert settle("ramp stop", OFF1, RUN, options=waits)[-1].after == READY


@pytest.mark.parametrize(
    ("option", "state", "bit"),
    [
        ({"bit_2_stopping": "0"}, "ramp stop", 2),
        ({"bit_2_stopping": "0"}, "quick stop", 2),
        ({"bit_1_ramp": "0"}, "ramp stop", 1),
        ({"bit_6_fault": "1"}, "fault", 6),
    ],
)
def test_options_of_the_status_word(option, state, bit):
    usual, other = states.status_word(state, OFF1), states.status_word(state, OFF1, options=Options(**option))
    assert usual ^ other == 1 << bit
    for elsewhere in set(STATES) - {"ramp stop", "quick stop", "fault"}:
        assert states.status_word(elsewhere, RUN) == states.status_word(elsewhere, RUN, options=Options(**option))


def test_defaults_of_the_options_are_those_of_the_table():
    for field in fields(Options):
        usual = [row["choice"] for row in facts.where("drive_options", field=field.name) if row["default"] == "yes"]
        assert [field.default] == usual
    assert {row["field"] for row in facts.rows("drive_options")} == {field.name for field in fields(Options)}


def test_options_named_at_the_bits_are_in_the_table():
    known = {row["option"] for row in facts.rows("drive_options")}
    for kind in ("control", "status"):
        assert {bit.option for bit in words.bits(kind)} - {""} <= known


def test_unknown_names_are_refused():
    with pytest.raises(Unknown, match="coasts, ramps"):
        Options(disable="brakes")
    for call in (
        lambda: step("asleep", 0, 0),
        lambda: states.fault("asleep"),
        lambda: states.fault(OPERATION, stop="hard"),
        lambda: states.acknowledge_at_panel("asleep"),
        lambda: states.status_word("asleep", 0),
        lambda: states.rules("any"),
    ):
        with pytest.raises(Unknown):
            call()


# --- status words -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("state", "taken", "status"),
    [
        # low bytes printed in Rockwell 160PD1 manual p.5-4: 31h ready, 37h running
        (READY, OFF1, 0x0231),
        (OPERATION, RUN, 0x0237),
        # from the bits of ABB RETA-02 manual p.57
        (INHIBITED, RUN, 0x0270),
        (INHIBITED, 0x0000, 0x0240),
        (SWITCHED_ON, NO_PULSES, 0x0233),
        # Lenze 931M/W manual p.35: bits 6, 3, 2, 1, 0 in a fault, in its reaction, and bit 5 in a quick stop
        ("fault", RUN, 0x0238),
        ("fault reaction", RUN, 0x023F),
        ("quick stop", OFF3, 0x0217),
        ("quick stop", RUN, 0x0217),
    ],
)
def test_status_words(state, taken, status):
    assert states.status_word(state, taken) == status


def test_published_status_of_a_running_drive():
    # ABB FPBA-01 manual p.142 and p.144, Vacon CX PROFIBUS manual p.14: 16#047F answered by 16#0337
    assert step(OPERATION, RUN, 0x047F, Conditions(at_setpoint=True)).status == 0x0337


@given(STATE, WORD, CONDITIONS)
def test_status_bits_of_the_conditions(state, taken, conditions):
    status = states.status_word(state, taken, conditions)
    assert bool(status & 0x0080) == conditions.warning
    assert bool(status & 0x0100) == conditions.at_setpoint
    assert bool(status & 0x0200) != conditions.local
    assert bool(status & 0x0400) == conditions.comparison_reached
    assert status & 0xF800 == 0
    assert bool(status & 0x0008) == (STATES[state][0] == "fault")


@given(STATE, WORD)
def test_the_state_can_be_read_back_from_the_status_word(state, taken):
    number = STATES[state][0]
    if number != "fault":
        assert number in words.state(states.status_word(state, taken)).states


# --- all states, all words --------------------------------------------------------------------------------------

ALL = np.arange(0x10000)
HEARD = ALL & 0x0400 != 0
NAMES = list(STATES)
DRIVEN = np.array([pulses for _, pulses in STATES.values()])
PREVIOUS = (0x0400, 0x0401, 0x0480, 0x0481)  # of the word before, only the bits count whose rise counts
MOVES = (Conditions(), Conditions(standstill=True))


def at(name):
    return NAMES.index(name)


def every_case(conditions=MOVES, options=EVERY_OPTION):
    """Each state, the bits of the word before that count, each option: the next states for all 65 536 words."""
    for state, previous, known, chosen in itertools.product(STATES, PREVIOUS, conditions, options):
        yield state, previous, known, chosen, states.next_states(state, previous, ALL, known, chosen)


def test_all_states_all_words():
    cases = 0
    for state, previous, known, options, after in every_case():
        cases += 1
        # OFF2 takes the pulses away from every state
        assert not DRIVEN[after[HEARD & (ALL & 0x0002 == 0)]].any(), (state, previous, options)
        # operation is entered from switched on, or by cancelling an OFF1 ramp (S4 that ramps down is still in S4)
        into_operation = after == at(OPERATION)
        if state not in (SWITCHED_ON, "ramp stop", OPERATION, "disabling operation"):
            assert not into_operation.any(), (state, previous, options)
        elif state == "ramp stop":
            may = options.on_while_stopping == "cancels the ramp" and not known.standstill and not previous & 1
            assert (into_operation == (may & (ALL & 0x040F == 0x040F))).all()
        # a fault is left by a rising acknowledge edge only
        if state == "fault":
            assert ((after != at("fault")) == (HEARD & (ALL & 0x0080 != 0) & (not previous & 0x0080))).all()
        # without bit 10 the word changes nothing: all such words lead where the drive goes by itself
        unheard = after[~HEARD]
        assert (unheard == unheard[0]).all()
        if options.no_control == "ignored" and not known.standstill:
            assert unheard[0] == at(state)
        if options.no_control == "ramp stop" and state == OPERATION:
            assert unheard[0] == at("ramp stop")
        # nothing is switched on without the rise of bit 0
        if state == READY and previous & 1:
            assert not (after == at(SWITCHED_ON)).any()
        # the inhibit is left with bit 0 at 0 and bits 1 and 2 at 1, and only so
        if state == INHIBITED:
            assert ((after == at(READY)) == (HEARD & (ALL & 0x0007 == 0x0006))).all()
        # bits 4, 5, 6, 8, 9 and 11 to 15 do not move the state
        assert (after == after[ALL & 0x048F]).all()
    assert cases == 9 * 4 * 2 * 8


def test_a_drive_led_from_its_panel_hears_no_word():
    for state, _, _, _, after in every_case([Conditions(local=True)], EVERY_OPTION[:1]):
        assert (after == at(state)).all()


def test_a_fault_whose_cause_is_present_stays():
    for state, _, _, _, after in every_case([Conditions(cause_present=True)], EVERY_OPTION[:1]):
        assert state != "fault" or (after == at("fault")).all()


@given(STATE, WORD, WORD, CONDITIONS, OPTIONS)
def test_of_the_word_before_only_bits_0_and_7_count(state, previous, word, conditions, options):
    whole = step(state, previous, word, conditions, options)
    assert whole.after == step(state, previous & 0x0081, word, conditions, options).after


@given(STATE, WORD, WORD, CONDITIONS, OPTIONS)
def test_one_word_and_all_words_agree(state, previous, word, conditions, options):
    alone = step(state, previous, word, conditions, options)
    position = states.next_states(state, previous, np.array([word]), conditions, options)[0]
    assert alone.after == list(STATES)[position]
    assert alone.why.endswith(".") and alone.standing in facts.STANDINGS
    assert alone.status == states.status_word(alone.after, alone.taken, conditions, options)
    assert alone.taken == (word if word & 0x0400 else previous)


@given(STATE, WORD, WORD, CONDITIONS, OPTIONS, st.booleans())
def test_a_word_settles(state, previous, word, conditions, options, wait):
    steps = settle(state, previous, word, conditions, options, wait=wait)
    assert 1 <= len(steps) <= 5
    assert all(s.changed for s in steps[1:])
    if wait:
        assert steps[-1].after == OPERATION or not STATES[steps[-1].after][1]


def test_every_row_of_the_table_can_act():
    """A row that no state, word, condition and option ever reaches would be a row that says nothing."""
    used = set()
    some_words = [w | high for w in range(16) for high in (0x0000, 0x0400, 0x0470, 0x0480, 0x0450, 0x0430, 0x0460)]
    known = [Conditions(*bits) for bits in itertools.product((False, True), repeat=3)]
    for state, previous, word, conditions, options in itertools.product(
        STATES, (0x0470, 0x04F1), some_words, known, EVERY_OPTION
    ):
        used.add((state, step(state, previous, word, conditions, options).why))
    for row in facts.rows("state_transitions"):
        there = list(STATES) if row["from"] == "any" else [row["from"]]
        assert any((state, row["why"]) in used for state in there), row.place


# --- why it does not start --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("state", "previous", "word", "says"),
    [
        (INHIBITED, 0x0000, RUN, "Bit 0 must go to 0 first: send 16#047E, then 16#047F"),
        (INHIBITED, 0x0000, 0x047C, "OFF2 is active"),
        (INHIBITED, 0x0000, 0x047A, "OFF3 is active"),
        (READY, RUN, RUN, "only its rise from 0 to 1 switches on"),
        (READY, OFF1, OFF1, "waits for ON"),
        (SWITCHED_ON, NO_PULSES, NO_PULSES, "Bit 3 is 0"),
        (READY, OFF1, 0x007F, "Bit 10 is 0"),
        (OPERATION, RUN, 0x046F, "bit 4 is 0"),
        (OPERATION, RUN, 0x045F, "bit 5 is 0"),
        (OPERATION, RUN, 0x043F, "bit 6 is 0"),
        ("fault", ACKNOWLEDGE, ACKNOWLEDGE, "Bit 7 was already 1"),
        ("fault", RUN, RUN, "then acknowledge"),
    ],
)
def test_why_it_does_not_run(state, previous, word, says):
    assert says in step(state, previous, word).why
    assert says in obstacles(state, previous, word)[0]


def test_why_with_conditions():
    assert "led from its own panel" in step(READY, OFF1, RUN, Conditions(local=True)).why
    assert "cause of the fault is still there" in step("fault", RUN, ACKNOWLEDGE, Conditions(cause_present=True)).why


def test_obstacles_come_in_the_order_in_which_they_are_removed():
    found = obstacles(INHIBITED, 0, 0x0000, setpoint=0)
    assert "Bit 10 is 0" in found[0]
    assert [text.split(" is 0")[0] for text in found[1:]] == [f"Bit {n}" for n in (1, 2, 3, 4, 5, 6)] + ["The setpoint"]
    assert obstacles(OPERATION, RUN, RUN) == ()
    assert obstacles(OPERATION, RUN, RUN, setpoint=0x2000) == ()
    assert obstacles(READY, OFF1, RUN) == ()
    assert len(obstacles(OPERATION, RUN, 0x043F)) == 1
    # In operation the reason is what holds the setpoint, not that the drive is there: bits 4 to 6, control_word.csv.
    held = obstacles(READY, OFF1, 0x042F)
    assert "bit 4 is 0" in held[0] and "Bit 6 is 0" in held[1] and len(held) == 2


def test_in_operation_the_word_in_force_holds_the_motor_not_one_that_is_not_taken_over():
    # Bit 10 at 0: a running motor runs on, ABB FPBA-01 manual p.131; nothing is taken over, Lenze 931M/W manual p.33.
    assert obstacles(OPERATION, RUN, 0x0000, setpoint=0) == ()
    (held,) = obstacles(OPERATION, 0x043F, 0x0000, setpoint=0)
    assert "bit 6 is 0" in held
    assert obstacles(OPERATION, RUN, 0x040F, Conditions(local=True)) == ()  # the bus does not lead it


def test_a_motor_that_is_being_stopped_needs_no_reason_why_it_does_not_turn():
    for stopping in (0x047E, 0x047B):  # OFF1, OFF3: Eaton manual MN040010EN p.87
        assert obstacles(OPERATION, RUN, stopping) == ()
    # bit 3: Lenze 931M/W manual p.29 ramps down first
    assert obstacles(OPERATION, RUN, NO_PULSES, options=Options(disable="ramps")) == ()
    stopped = obstacles(OPERATION, RUN, 0x047B, Conditions(standstill=True))
    assert "after a quick stop" in stopped[0] and not any("Bit 2 is 0" in reason for reason in stopped)


def test_sixteen_047f_first_does_not_start_and_the_sequence_does():
    # the rule behind "16#047F alone does not start": Rockwell 160PD1 manual p.5-4, ABB FSPS-21 manual p.83
    assert settle(INHIBITED, 0, RUN)[-1].after == INHIBITED
    ready = settle(INHIBITED, 0, OFF1)[-1]
    assert ready.after == READY
    assert settle(ready.after, ready.taken, RUN)[-1].after == OPERATION


def test_the_controller_stops_and_the_drive_runs_on():
    # ABB FPBA-01 manual p.131: an all-zero telegram has bit 10 = 0 and does not stop a running motor
    trap = settle(OPERATION, RUN, 0x0000)[-1]
    assert trap.after == OPERATION
    assert trap.taken == RUN
    assert "emergency stop" in trap.caution and "16#047E" in trap.caution
    assert "keeps running" in trap.why
    # another drive stops on the same word, and needs a new ON afterwards
    stopped = settle(OPERATION, RUN, 0x0000, options=Options(no_control="ramp stop"))[-1]
    assert stopped.after == READY
    assert settle(READY, stopped.taken, RUN)[-1].after == READY
    assert settle(READY, settle(READY, stopped.taken, OFF1)[-1].taken, RUN)[-1].after == OPERATION


def test_a_caution_stands_where_the_motor_starts_or_coasts():
    for rule in states.transitions():
        if rule.after == OPERATION:
            assert rule.caution
        if STATES[rule.before][1] and rule.rises == 0 and not rule.value & 2 and rule.mask & 2:
            assert "coasts" in rule.caution


# --- fault, panel, power ----------------------------------------------------------------------------------------


def test_fault_and_its_ways_out():
    assert states.fault(OPERATION) == "fault"
    assert states.fault(OPERATION, stop="quick") == "fault reaction"
    assert states.fault(READY, stop="quick") == "fault"
    assert states.fault("fault reaction", stop="ramp") == "fault reaction"
    assert settle("fault reaction", RUN, RUN)[-1].after == "fault"
    assert settle("fault reaction", RUN, RUN, wait=False)[-1].after == "fault reaction"
    assert states.acknowledge_at_panel("fault") == INHIBITED
    assert states.acknowledge_at_panel("fault", Conditions(cause_present=True)) == "fault"
    assert states.acknowledge_at_panel(OPERATION) == OPERATION
    assert states.power_up() == INHIBITED
    assert states.power_up(Conditions(cause_present=True)) == "fault"


def test_transitions_follow_the_options():
    coasting = {(rule.before, rule.after) for rule in states.transitions()}
    ramping = {(rule.before, rule.after) for rule in states.transitions(Options(disable="ramps"))}
    assert (OPERATION, "disabling operation") in ramping - coasting
    assert (OPERATION, SWITCHED_ON) in coasting - ramping
    for rule in states.transitions():
        assert rule.source and rule.before in STATES and rule.after in STATES
