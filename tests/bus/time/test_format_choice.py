"""The shortest format: published sizes on both sides of each step, and what the others cost in time."""

import pytest

from helpers import facts
from helpers.bus.time.format_choice import choice_answer
from helpers.device import signals

BASIC = ["STW1", "NSOLL_A", "ZSW1", "NIST_A"]


def own(count, direction="in"):
    return [signals.own_signal(f"word {n}", bits=16, direction=direction) for n in range(count)]


@pytest.mark.parametrize(
    ("extra", "parameters", "name"),
    [
        # process data words 2, 6 and 10: Converteam MV3000e manual p.5-2. Both sides of each step.
        (0, False, "PPO 3"),
        (1, False, "PPO 4"),
        (4, False, "PPO 4"),
        (5, False, "PPO 5"),
        (0, True, "PPO 1"),
        (1, True, "PPO 2"),
        (8, True, "PPO 5"),
    ],
)
def test_the_sentence_names_the_shortest(extra, parameters, name):
    answer = choice_answer([*BASIC, *own(extra)], parameters, "PPO 1 to 5")
    assert answer.sentence.startswith(f"{name} is the shortest that carries everything")
    chosen = [row["format"] for row in answer.rows if row["carries all"] == "▶ shortest"]
    assert chosen == [name]


def test_the_table_says_what_is_missing_and_what_the_others_cost():
    rows = {row["format"]: row for row in choice_answer([*BASIC, "CURRENT"], offered="PPO 1 to 5").rows}
    assert [rows[name]["missing"] for name in ("PPO 3", "PPO 4")] == ["1 word in", ""]
    # 11 bit times for each byte (M. Felser, PROFIBUS Manual, calculation for single masters), at 1.5 Mbit/s
    assert rows["PPO 3"]["against the choice"] == f"−{16 * 11 / 1.5:.4g} µs"
    assert rows["PPO 2"]["against the choice"] == f"+{16 * 11 / 1.5:.4g} µs"
    assert rows["PPO 1"]["against the choice"] == "±0 s"
    assert rows["PPO 4"]["against the choice"] == ""


def test_a_format_with_other_lengths_each_way_is_preferred_where_it_is_shorter():
    answer = choice_answer([*BASIC, "CURRENT"], offered="PPO 1 to 5 and its own")
    assert (
        answer.sentence
        == "Mill 2/3 is the shortest that carries everything: 4 bytes out and 6 bytes in, in each cycle."
    )
    assert "PPO 3 is shorter, but lacks 1 word in for CURRENT." in answer.because
    assert "The largest, PPO 5, would add 46 bytes" in answer.because


def test_equally_short_formats_are_named():
    answer = choice_answer(BASIC, offered="every known format")
    assert "Equally short: standard telegram 1." in answer.because


def test_the_rule_is_called_what_it_is():
    answer = choice_answer(BASIC)
    assert "(common practice)" in answer.because
    assert facts.one("format_rules", rule="shortest").standing == "common practice"
