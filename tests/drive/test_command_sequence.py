"""From a wish to words, compared with trying all words."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.drive.command_sequence import shortest, wishes
from helpers.drive.states import STATES, Conditions, Options, settle
from helpers.errors import Unknown

INHIBITED, READY, SWITCHED_ON, OPERATION = list(STATES)[:4]


def sent(*args, **kwargs):
    return [move.word for move in shortest(*args, **kwargs).moves]


@pytest.mark.parametrize(
    ("wish", "state", "previous", "expected"),
    [
        ("run", INHIBITED, 0x0000, [0x047E, 0x047F]),
        ("run", READY, 0x047E, [0x047F]),
        ("run", READY, 0x047F, [0x047E, 0x047F]),
        ("run", SWITCHED_ON, 0x0477, [0x047F]),
        ("run", "fault", 0x047F, [0x04FE, 0x047F]),
        ("run", "fault", 0x04FE, [0x047E, 0x04FE, 0x047F]),
        ("run", "ramp stop", 0x047E, [0x047F]),
        ("stop by ramp", OPERATION, 0x047F, [0x047E]),
        ("quick stop", OPERATION, 0x047F, [0x047B]),
        ("coast", OPERATION, 0x047F, [0x047D]),
        ("coast", "fault reaction", 0x047F, [0x047D]),
        ("switch on without pulses", OPERATION, 0x047F, [0x0477]),
        ("acknowledge", "fault", 0x047F, [0x04FE]),
        ("acknowledge", "fault", 0x04FE, [0x047E, 0x04FE]),
    ],
)
def test_sequences(wish, state, previous, expected):
    found = shortest(wish, state, previous)
    assert [move.word for move in found.moves] == expected
    assert found.reachable
    assert f"16#{expected[0]:04X}" in found.sentence


def test_stops_go_the_way_that_was_wished():
    for wish, way in (("stop by ramp", "ramp stop"), ("quick stop", "quick stop")):
        (only,) = shortest(wish, OPERATION, 0x047F).moves
        assert only.steps[0].after == way
        assert not STATES[only.after][1]
    (only,) = shortest("coast", OPERATION, 0x047F).moves
    assert not STATES[only.steps[0].after][1]


@pytest.mark.parametrize("disable", ["ramps", "coasts"])
def test_to_coast_is_off2_on_every_drive(disable):
    """Bit 3 at 0 takes the pulses off as well on some, but leaves the power on: bit 3 alone would start it again."""
    assert sent("coast", OPERATION, 0x047F, options=Options(disable=disable)) == [0x047D]


def test_nothing_to_send():
    assert "is in the state operation" in shortest("run", OPERATION, 0x047F).sentence
    assert "running already" in shortest("quick stop", "quick stop", 0x047B).sentence
    assert shortest("acknowledge", READY).moves == ()


@pytest.mark.parametrize(
    ("wish", "state", "conditions", "says"),
    [
        ("run", READY, Conditions(local=True), "its own panel"),
        ("run", "fault", Conditions(cause_present=True), "Find its cause"),
        ("stop by ramp", "quick stop", Conditions(), "cannot be cancelled"),
        ("stop by ramp", "fault reaction", Conditions(), "because of it"),
    ],
)
def test_no_word_helps(wish, state, conditions, says):
    found = shortest(wish, state, 0x047F, conditions)
    assert not found.reachable and found.moves == ()
    assert says in found.sentence


def test_a_drive_that_does_not_cancel_its_ramp_is_waited_for():
    waits = Options(on_while_stopping="waits for standstill")
    assert sent("run", "ramp stop", 0x047E, options=waits) == [0x047E, 0x047F]


def test_unknown_names():
    with pytest.raises(Unknown, match="stop by ramp"):
        shortest("fly", READY)
    with pytest.raises(Unknown):
        shortest("run", "asleep")


# The bits that move the state: 0, 1, 2, 3, 7, 10; the others are left as in 16#047F.
EVERY_WORD = [
    0x0070 | sum(bit for bit, chosen in zip((1, 2, 4, 8, 0x80, 0x400), bits, strict=True) if chosen)
    for bits in itertools.product((0, 1), repeat=6)
]


def reaches(goal, state, taken, length, options):
    """True if any sequence of this many words, of all that differ, leads to the goal."""
    if goal(state):
        return True
    if length == 0:
        return False
    after = {(s.after, s.taken) for word in EVERY_WORD for s in settle(state, taken, word, options=options)[-1:]}
    return any(reaches(goal, state, taken, length - 1, options) for state, taken in after)


@given(
    st.sampled_from(["run", "acknowledge", "switch on without pulses"]),
    st.sampled_from(list(STATES)),
    st.sampled_from([0x047E, 0x047F, 0x04FE, 0x04FF, 0x0477]),
    st.builds(Options, disable=st.sampled_from(["ramps", "coasts"])),
)
def test_no_shorter_sequence_exists(wish, state, previous, options):
    goal = {
        "run": lambda s: s == OPERATION,
        "acknowledge": lambda s: STATES[s][0] != "fault",
        "switch on without pulses": lambda s: s == SWITCHED_ON,
    }[wish]
    found = shortest(wish, state, previous, options=options)
    assert found.reachable
    if found.moves:
        assert goal(found.moves[-1].after)
        assert not reaches(goal, state, previous, min(len(found.moves) - 1, 1), options)


@given(st.sampled_from(list(STATES)), st.integers(0, 0xFFFF), st.booleans(), st.booleans())
def test_every_wish_ends_in_a_sentence(state, previous, local, cause_present):
    for wish in wishes():
        found = shortest(wish, state, previous, Conditions(local=local, cause_present=cause_present))
        assert found.sentence.endswith(".")
        for before, after in itertools.pairwise(found.moves):
            assert after.steps[0].before == before.after
