"""The questions on words and states, answered a second time from their text alone."""

import itertools
import re

import pytest

from helpers.study.banks.registry import draw_question, kinds

SEEDS = range(1, 80)
# The state of a status word by bits 6, 3, 2, 1, 0: Metronix DIS-2 manual p.42; Lenze 931M/W manual p.35.
STATES = {
    0x40: "switching on inhibited",
    0x01: "ready for switching on",
    0x03: "switched on",
    0x07: "operation",
    0x08: "fault",
}
# Words of parameter channel in front of the process data: Converteam MV3000e manual p.5-2; ABB FPBA-01 manual p.81.
CHANNEL = {"PPO 1": 4, "PPO 2": 4, "PPO 3": 0, "PPO 4": 0}


def drawn(kind):
    return [draw_question("words", kind, seed) for seed in SEEDS]


def hexadecimal(text):
    return [int(digits, 16) for digits in re.findall(r"16#([0-9A-F]{4})", text)]


def test_a_word_is_the_sum_of_the_powers_of_two():
    for question in drawn("build"):
        listed = re.findall(r"\d+", question.text.splitlines()[0].split("others at 0:")[1])
        assert question.answer == sum(2 ** int(bit) for bit in listed)
        assert 10 in map(int, listed)


def test_a_state_is_read_from_five_bits():
    asked = set()
    for question in drawn("read-state"):
        (word,) = hexadecimal(question.text)
        assert question.answer == STATES[word & 0x4F]
        asked.add(question.answer)
    assert asked == set(STATES.values())


def test_the_mask_leaves_the_state():
    for question in drawn("mask"):
        word, mask = hexadecimal(question.text)
        assert (mask, question.answer) == (0x47, word & 0x47)


def test_bytes_come_the_other_way_round():
    for question in drawn("byte-order"):
        high, low = re.findall(r"\b([0-9A-F]{2})\b", question.text.splitlines()[0])
        assert question.answer == int(low + high, 16)


def test_the_first_word_follows_from_state_and_word_before():
    # Bit 0 must fall before it can rise, bit 7 likewise: Lenze 931M/W manual p.29; Rockwell 160PD1 manual p.5-4.
    rule = {
        ("switching on inhibited", 0x0000): 0x047E,
        ("switching on inhibited", 0x047F): 0x047E,
        ("ready for switching on", 0x047E): 0x047F,
        ("ready for switching on", 0x047F): 0x047E,
        ("switched on", 0x0477): 0x047F,
        ("fault", 0x047F): 0x04FE,
        ("fault", 0x047E): 0x04FE,
        ("fault", 0x04FE): 0x047E,
    }
    asked = {}
    for question in drawn("first-word"):
        state = re.search(r"in the state ([a-z ]+?)[,;]", question.text)[1]
        before, *offered = hexadecimal(question.text)
        asked[state, before] = question.answer
        # No other word that is offered does the same: none lifts the inhibit or takes bit 7 or bit 0 away as well.
        assert question.answer in offered and len(offered) >= 3
        if question.answer == 0x047E:
            bit = 7 if state == "fault" else 0
            others = [word for word in offered if word >> 10 & 1 and word != question.answer]
            assert all(word >> bit & 1 for word in others)
    assert asked == rule


def rests(state, before, word):
    """Where a word leads on the way up, by the bits of the control word: Lenze 931M/W manual p.29, p.33."""
    if not word & 1 << 10:
        return state
    if word & 6 != 6:
        return "switching on inhibited"
    if state == "switching on inhibited":
        return "ready for switching on" if not word & 1 else state
    if not word & 1:
        return "ready for switching on"
    if state == "ready for switching on" and before & 1:
        return state
    return "operation" if word & 8 else "switched on"


def test_where_a_word_leads():
    ends = set()
    for question in drawn("next-state"):
        state = re.search(r"in the state ([a-z ]+?)\.", question.text)[1]
        before, word = hexadecimal(question.text)
        assert question.answer == rests(state, before, word), question.text
        ends.add(question.answer)
    assert len(ends) == 4


def test_the_strongest_stop_wins():
    # OFF2, OFF3, OFF1: Eaton manual MN040010EN p.87; bit 10 at 0: ABB FPBA-01 manual p.131; bit 3 at 0: from memory
    # of the profile.
    seen = set()
    for question in drawn("which-stop"):
        _, word = hexadecimal(question.text)
        does = next(
            said
            for zero, said in (
                (10, "follows"),
                (1, "is inhibited"),
                (2, "brakes"),
                (0, "ramps down"),
                (3, "stays switched on"),
            )
            if not word >> zero & 1
        )
        assert does in question.answer
        assert ("stays switched on" in question.answer) is (does == "stays switched on")
        seen.add(does)
    assert len(seen) == 5


def test_the_missing_bit_is_the_one_that_the_run_word_has():
    # 16#047F: Vacon CX PROFIBUS manual p.13-14; ABB FPBA-01 manual p.142.
    for question in drawn("missing-bit"):
        (word,) = hexadecimal(question.text)
        assert 0x047F & ~word == 1 << int(question.answer)
        assert f"it {int(question.answer)} is 0" in question.steps[-1]


def test_only_a_rise_that_is_taken_over_acknowledges():
    for question in drawn("acknowledged-when"):
        before = hexadecimal(question.text)[0]
        for row in question.rows:
            word = int(row["control word"][3:], 16)
            if word & 1 << 10:
                if word & ~before & 1 << 7:
                    break
                before = word
        assert question.answer == row["number"]


def test_addresses_count_bytes_behind_the_parameter_channel():
    for question in drawn("where"):
        start = int(re.search(r"at byte (\d+)", question.text)[1])
        words = CHANNEL[re.search(r"PPO \d", question.text)[0]] + ("main" in question.text)
        letter = "Q" if "control word" in question.text or "setpoint" in question.text else "I"
        assert question.answer == f"%{letter}W{start + 2 * words}"


def test_too_many_failures_in_a_row():
    for question in drawn("alive"):
        tolerated = int(re.search(r"925 is (\d+)", question.text)[1])
        counts = [int(n) for n in question.text.splitlines()[1].split(", ")]
        failures, faults = 0, []
        for n, (before, now) in enumerate(itertools.pairwise(counts), 2):
            failures = 0 if now == (before % 15) + 1 else failures + 1
            faults += [n] * (failures > tolerated)
        assert question.answer == faults[0]


@pytest.mark.parametrize(
    ("kind", "sentence"),
    [
        ("build", "The two bytes are exchanged"),
        ("build", "Bit 10 is missing"),
        ("build", "The bits are counted from 0"),
        ("first-word", "16#047F sent first does nothing"),
        ("first-word", "only its rise acknowledges"),
        ("acknowledged-when", "holding it acknowledges nothing"),
        ("read-state", "Bit 6 at 1 is no sign of readiness"),
        ("which-stop", "Bits 1 and 2 are turned round"),
        ("next-state", "Only the rise of bit 0 counts"),
        ("where", "In and out are exchanged"),
        ("alive", "After 15 comes 1"),
    ],
)
def test_the_mistakes_people_make_are_among_the_slips(kind, sentence):
    assert any(sentence in slip.sentence for question in drawn(kind) for slip in question.slips)


def test_there_is_a_question_on_each_subject_of_the_lesson():
    assert len(kinds("words")) >= 9
