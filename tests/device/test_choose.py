"""The shortest format: against the published sizes, and against a search that tries every place."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.device import choose, formats, signals
from helpers.errors import Unknown

PPO = formats.ppo_types()
EVERY = formats.all_formats()
SIGNALS = signals.profile_signals() + signals.demo_signals()
BASIC = ["STW1", "NSOLL_A", "ZSW1", "NIST_A"]


def own(count, direction="in", bits=16):
    return [signals.own_signal(f"{direction} {n}", bits=bits, direction=direction) for n in range(count)]


def best(needs, **how):
    found = choose.choose(needs, **how).best
    return found and found.format.name


def lays_out(one, needs, parameters):
    """Second method: lay every need onto neighbouring words of the format, trying every place for each."""
    if parameters and not any(word.kind == "parameter" for word in one.words_out):
        return False
    return all(
        finds_places(list(words), sorted({s for s in needs if s.direction == direction}, key=lambda s: s.name))
        for direction, words in (("out", one.words_out), ("in", one.words_in))
    )


def finds_places(words, needs):
    if not needs:
        return True
    (need, *others), width = needs, needs[0].words
    for at in range(len(words) - width + 1):
        here = words[at : at + width]
        carried = [word.name for word in here if word.kind == "fixed"] == list(need.word_names)
        if carried or all(word.kind == "free" for word in here):
            taken = [formats.FormatWord("taken", "parameter")] * width
            if finds_places(words[:at] + taken + words[at + width :], others):
                return True
            if carried:
                return False
    return False


NEEDS = st.lists(st.sampled_from(SIGNALS), max_size=5)


@pytest.mark.parametrize(
    ("extra", "parameters", "name"),
    [
        # PPO 3 holds 2 process data words, PPO 4 holds 6: Converteam MV3000e manual p.5-2. Both sides of each step.
        (0, False, "PPO 3"),
        (1, False, "PPO 4"),
        (4, False, "PPO 4"),
        (5, False, "PPO 5"),
        (8, False, "PPO 5"),
        (9, False, None),
        # with the parameter channel: PPO 1 holds 2 process data words, PPO 2 holds 6, PPO 5 holds 10
        (0, True, "PPO 1"),
        (1, True, "PPO 2"),
        (4, True, "PPO 2"),
        (5, True, "PPO 5"),
        (8, True, "PPO 5"),
        (9, True, None),
    ],
)
@pytest.mark.parametrize("direction", ["out", "in"])
def test_steps_between_the_ppo_types(extra, parameters, name, direction):
    assert best(BASIC + own(extra, direction), parameters=parameters, formats=PPO) == name


def test_a_32_bit_signal_takes_two_words():
    assert best(BASIC + own(2, bits=32), formats=PPO) == "PPO 4"
    assert best([*BASIC, *own(2, bits=32), "CURRENT"], formats=PPO) == "PPO 5"


def test_room_in_one_direction_does_not_help_the_other():
    # Mill 2/3 has its third word in, not out
    mill = formats.demo_formats()
    assert best([*BASIC, "CURRENT"], formats=mill) == "Mill 2/3"
    assert best([*BASIC, "RAMP_TIME"], formats=mill) == "Mill 3/5"


def test_fixed_words_carry_only_their_own_signal():
    assert best(["STW1", "NSOLL_B", "ZSW1", "NIST_B"], formats=formats.standard_telegrams()) == "standard telegram 2"
    # NSOLL_B beside the main setpoint of a PPO: two free words
    assert best(["STW1", "NSOLL_B"], formats=PPO) == "PPO 4"
    assert best(["IAIST_GLATT", "MELD_NAMUR"], formats=formats.standard_telegrams()) == "standard telegram 20"


def test_why_the_shorter_ones_do_not_do():
    found = choose.choose([*BASIC, "CURRENT", "ENERGY", "RAMP_TIME"], parameters=True, formats=PPO)
    assert found.best.format.name == "PPO 2"
    lacking = {row.format.name: row.missing for row in found.shorter}
    assert lacking == {
        "PPO 3": "parameter channel; 1 word out for RAMP_TIME; 3 words in for CURRENT, ENERGY",
        "PPO 1": "1 word out for RAMP_TIME; 3 words in for CURRENT, ENERGY",
        "PPO 4": "parameter channel",
    }
    for name, missing in lacking.items():
        assert f"{name} is shorter, but lacks {missing}." in found.sentences


def test_a_signal_that_is_too_wide_is_passed_over_and_the_next_one_placed():
    found = choose.choose([*BASIC, "CURRENT", "TORQUE", "ENERGY", "POWER"], formats=[formats.by_name("Mill 3/5")]).rows[
        0
    ]
    assert found.missing_in == ("ENERGY",)
    assert found.missing_words_in == 2
    assert found.spare_words_in == 0


def test_cost_of_every_other_format():
    # bytes of both directions: PPO 1 24, PPO 2 40, PPO 3 8, PPO 4 24, PPO 5 56 (Converteam MV3000e manual p.5-2)
    found = choose.choose([*BASIC, "CURRENT"], formats=PPO)
    cost = {row.format.name: row.extra_bytes for row in found.rows}
    assert cost == {"PPO 3": -16, "PPO 1": 0, "PPO 4": 0, "PPO 2": 16, "PPO 5": 32}
    assert [row.cells["fits"] for row in found.rows] == ["does not fit", "does not fit", "fits", "fits", "fits"]
    assert found.rows[2].cells == {
        "format": "PPO 4",
        "fits": "fits",
        "missing": "",
        "words out": 6,
        "words in": 6,
        "bytes out": 12,
        "bytes in": 12,
        "bytes both": 24,
        "more than the choice": 0,
        "source": formats.by_name("PPO 4").cited,
    }


def test_a_tie_is_told():
    found = choose.choose(BASIC)
    assert found.best.format.name == "PPO 3"
    assert [row.format.name for row in found.equally_short] == ["standard telegram 1"]
    assert any(text.startswith("Equally short: standard telegram 1.") for text in found.sentences)
    turned = choose.choose(BASIC, formats=reversed(EVERY))
    assert turned.best.format.name == "standard telegram 1"
    assert [row.format.name for row in turned.equally_short] == ["PPO 3"]


def test_the_direction_that_decides_is_told():
    found = choose.choose(BASIC + own(1), formats=PPO)
    assert [row.format.name for row in found.shortest_out] == ["PPO 3"]
    assert [row.format.name for row in found.shortest_in] == ["PPO 4"]
    assert "For the words out alone, PPO 3 would be enough; the other direction decides." in found.sentences
    assert not any(text.startswith("For the words in alone") for text in found.sentences)


def test_whether_words_can_be_assigned_is_told():
    fixed = choose.choose(BASIC, formats=formats.standard_telegrams())
    assert fixed.sentences[-1] == "All its words are fixed: nothing can be assigned to them."
    free = choose.choose(BASIC + own(3), formats=PPO)
    assert free.sentences[-1] == "Of its free words, 4 out and 1 in are left over."


def test_nothing_fits():
    found = choose.choose(own(9), formats=PPO)
    assert found.best is None
    assert found.equally_short == found.shorter == ()
    assert found.sentences[0] == "None of the 5 formats carries everything."
    assert len(found.sentences) == 6
    assert all(row.extra_bytes is None and row.cells["more than the choice"] == "" for row in found.rows)
    assert choose.choose(BASIC, formats=[]).sentences == ("None of the 0 formats carries everything.",)


def test_no_needs_at_all_take_the_shortest_format():
    assert best([], formats=PPO) == "PPO 3"
    assert best([], parameters=True, formats=PPO) == "PPO 1"


def test_a_need_named_twice_counts_once():
    once = choose.choose([*BASIC, "CURRENT"])
    assert choose.choose([*BASIC, "CURRENT", "current", 140, 1]) == once


def test_unknown_need():
    with pytest.raises(Unknown, match="known are STW1"):
        choose.choose(["SPEED"])


@given(NEEDS, st.booleans())
def test_the_result_fits_and_no_shorter_one_does(needs, parameters):
    found = choose.choose(needs, parameters=parameters)
    fitting = [one for one in EVERY if lays_out(one, needs, parameters)]
    assert {row.format.name for row in found.rows if row.fits} == {one.name for one in fitting}
    if fitting:
        assert found.best.format.bytes_both == min(one.bytes_both for one in fitting)
        assert all(row.missing for row in found.shorter)
    else:
        assert found.best is None
    for direction, alone in (("out", found.shortest_out), ("in", found.shortest_in)):
        one_way = [s for s in needs if s.direction == direction]
        enough = [len(one.words(direction)) for one in EVERY if lays_out(one, one_way, parameters)]
        assert {len(row.format.words(direction)) for row in alone} == ({min(enough)} if enough else set())


@given(NEEDS, st.sampled_from(SIGNALS), st.booleans(), st.booleans())
def test_one_more_need_never_shortens_the_answer(needs, more, parameters, also_parameters):
    def cost(*asked):
        found = choose.choose(asked[0], parameters=asked[1]).best
        return found.format.bytes_both if found else float("inf")

    assert cost([*needs, more], parameters or also_parameters) >= cost(needs, parameters)


@given(NEEDS, st.booleans(), st.randoms(use_true_random=False))
def test_the_order_of_the_needs_does_not_matter(needs, parameters, random):
    shuffled = random.sample(needs, len(needs))
    assert best(shuffled, parameters=parameters) == best(needs, parameters=parameters)


@given(NEEDS, st.sampled_from(EVERY))
def test_mapping_gives_each_word_once_and_each_placed_need_its_words(needs, one):
    listed = choose.mapping(one, needs)
    row = choose.choose(needs, formats=[one]).rows[0]
    for direction, missing, spare in (
        ("out", row.missing_out, row.spare_words_out),
        ("in", row.missing_in, row.spare_words_in),
    ):
        mine = [word for word in listed if word.parameter == signals.list_parameter(direction)]
        assert [word.pzd for word in mine] == list(range(1, len(one.process_words(direction)) + 1))
        for need in set(needs):
            if need.direction == direction:
                words = [word for word in mine if word.signal == need.name]
                assert len(words) == (0 if need.name in missing else need.words)
                if len(words) == 2:
                    assert [word.half for word in words] == ["high", "low"]
                    assert words[1].pzd == words[0].pzd + 1
        assert sum(word.signal == "" and word.number == 0 for word in mine) == spare


def test_mapping_of_a_ppo():
    # signals 1, 2, 5, 6: Eaton MN040010EN p.95; 8: Kollmorgen AKD2G manual; lists: Danfoss Vacon 100 manual p.25
    listed = choose.mapping(formats.by_name("PPO 4"), [*BASIC, "NIST_B", "CURRENT", "RAMP_TIME"])
    assert [(w.parameter, w.pzd, w.number, w.half, w.fixed) for w in listed] == [
        (915, 1, 1, "", True),
        (915, 2, 5, "", True),
        (915, 3, 122, "", False),
        (915, 4, 0, "", False),
        (915, 5, 0, "", False),
        (915, 6, 0, "", False),
        (916, 1, 2, "", True),
        (916, 2, 6, "", True),
        (916, 3, 8, "high", False),
        (916, 4, 8, "low", False),
        (916, 5, 140, "", False),
        (916, 6, 0, "", False),
    ]


def test_the_parameter_channel_takes_no_place_in_the_lists():
    with_channel = choose.mapping(formats.by_name("PPO 2"), [*BASIC, "CURRENT"])
    without = choose.mapping(formats.by_name("PPO 4"), [*BASIC, "CURRENT"])
    assert with_channel == without


def test_a_signal_without_a_known_number_is_mapped_without_one():
    listed = choose.mapping(formats.by_name("PPO 4"), [*BASIC, *own(1)])
    assert [(word.signal, word.number) for word in listed if word.signal == "in 0"] == [("in 0", None)]


def test_words_of_a_standard_telegram_are_fixed():
    listed = choose.mapping(formats.by_name("standard telegram 2"), ["CURRENT"])
    assert all(word.fixed for word in listed)
    assert [word.half for word in listed] == ["", "high", "low", ""] * 2
