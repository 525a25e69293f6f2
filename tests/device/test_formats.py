"""Data formats against published sizes, word orders and identifiers."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.device import formats, identifiers, signals
from helpers.errors import OutOfRange, Unknown, Unreadable

EVERY = formats.all_formats()


@pytest.mark.parametrize(
    ("name", "parameter_words", "process_words", "octets", "configuration"),
    [
        # words and bytes: Converteam MV3000e manual p.5-2, ABB FPBA-01 manual p.81; identifiers: ABB FPBA-01 p.185
        ("PPO 1", 4, 2, 12, "F3 F1"),
        ("PPO 2", 4, 6, 20, "F3 F5"),
        ("PPO 3", 0, 2, 4, "F1"),
        ("PPO 4", 0, 6, 12, "F5"),
        ("PPO 5", 4, 10, 28, "F3 F9"),
    ],
)
def test_ppo_types_as_published(name, parameter_words, process_words, octets, configuration):
    found = formats.by_name(name)
    assert found.bytes_out == found.bytes_in == octets
    assert found.parameter_channel == bool(parameter_words)
    for direction in ("out", "in"):
        kinds = [word.kind for word in found.words(direction)]
        expected = ["parameter"] * parameter_words + ["fixed"] * 2 + ["free"] * (process_words - 2)
        assert kinds == expected
        assert len(found.process_words(direction)) == process_words
        assert found.free_words(direction) == process_words - 2
    assert found.identifiers == bytes.fromhex(configuration)


def test_word_order_of_ppo_2():
    # Converteam MV3000e manual p.5-2, ABB FPBA-01 manual p.81
    names = [word.name for word in formats.by_name("PPO 2").words_out]
    assert names == ["PKE", "IND", "PWE1", "PWE2", "STW1", "NSOLL_A", "PZD3", "PZD4", "PZD5", "PZD6"]


@pytest.mark.parametrize(
    ("number", "out", "into", "configuration"),
    [
        # Eaton MN040010EN p.95 (words); ABB FPBA-01 manual p.81 (size, identifiers)
        (1, "STW1 NSOLL_A", "ZSW1 NIST_A", "C3 C1 C1 FD 00 01"),
        # ABB FPBA-01 manual p.81 (size, identifiers); ABB FENA-01/-11/-21 manual p.327 (words)
        (2, "STW1 NSOLL_B NSOLL_B STW2", "ZSW1 NIST_B NIST_B ZSW2", "C3 C3 C3 FD 00 02"),
    ],
)
def test_standard_telegrams_as_published(number, out, into, configuration):
    found = formats.by_name(f"standard telegram {number}")
    assert [word.signal for word in found.words_out] == out.split()
    assert [word.signal for word in found.words_in] == into.split()
    assert found.identifiers == bytes.fromhex(configuration)


@pytest.mark.parametrize("number", [1, 2, 3, 4, 5, 6, 7, 9, 20])
def test_words_of_a_standard_telegram_add_up_to_its_size(number):
    # two tables: data/standard_telegrams.csv word by word, data/telegram_sizes.csv as a whole
    found = formats.by_name(f"standard telegram {number}")
    size = facts.one("telegram_sizes", telegram=number)
    assert len(found.words_out) == size.whole("words_out")
    assert len(found.words_in) == size.whole("words_in")
    for direction in ("out", "in"):
        listed = facts.where("standard_telegrams", telegram=number, direction=direction)
        assert [row.whole("word") for row in listed] == list(range(1, len(listed) + 1))
    assert found.free_words("out") == found.free_words("in") == 0
    assert int.from_bytes(found.identifiers[-2:]) == number  # as ABB FPBA-01 manual p.81 does for 1 and 2


def test_standing_of_a_telegram_is_the_weaker_of_size_and_words():
    assert formats.by_name("standard telegram 1").standing == "device manual"
    assert formats.by_name("standard telegram 2").standing == "device manual"
    assert formats.by_name("standard telegram 5").standing == "calculated"  # its size is printed, its order worked out
    assert formats.by_name("standard telegram 6").standing == "memory"


@pytest.mark.parametrize("one", EVERY, ids=lambda one: one.name)
def test_identifiers_and_words_tell_the_same_size(one):
    found = identifiers.decode(one.identifiers)
    assert (found.bytes_out, found.bytes_in) == (one.bytes_out, one.bytes_in)
    assert found.complaints == ()


@pytest.mark.parametrize("one", EVERY, ids=lambda one: one.name)
@pytest.mark.parametrize("direction", ["out", "in"])
def test_fixed_words_hold_whole_signals_of_their_direction(one, direction):
    fixed = [word for word in one.words(direction) if word.kind == "fixed"]
    names = list(dict.fromkeys(word.signal for word in fixed))
    assert [word.name for word in fixed] == [name for s in names for name in signals.find(s).word_names]
    assert {signals.find(name).direction for name in names} == {direction}
    assert fixed[0].signal == {"out": "STW1", "in": "ZSW1"}[direction]


def test_ppo_total_bytes_agree_with_the_table():
    for row in facts.where("ppo_types", use="profile"):
        assert formats.by_name(f"PPO {row['type']}").bytes_in == row.whole("total_bytes")


def test_demo_formats_are_invented_and_one_has_request_and_answer_fields():
    own = formats.demo_formats()
    assert all("invented" in one.source for one in own)
    assert len({(one.bytes_out, one.bytes_in) for one in own}) == len(own)
    asking = [one for one in own if one.parameter_channel]
    assert [one.name for one in asking] == ["Mill 7/8 request"]
    for direction, start in (("out", "REQ_"), ("in", "ANS_")):
        fields = [word.name for word in asking[0].words(direction) if word.kind == "parameter"]
        assert len(fields) == 5
        assert all(name.startswith(start) for name in fields)


def test_the_size_in_the_name_of_a_demo_format_is_its_size():
    for one in formats.demo_formats():
        out, into = one.name.split()[1].split("/")
        assert (len(one.words_out), len(one.words_in)) == (int(out), int(into))


def test_ppo_6_and_above_are_shown_as_the_makers_own():
    # ABB FPBA-01 manual p.185 against Agilent 301-P manual p.163
    claims = {(claim.name, claim.identifiers.hex(" ").upper()) for claim in formats.vendor_claims()}
    assert {("PPO 6", "F9"), ("PPO 6", "00 F0"), ("PPO 7", "F3 FB"), ("PPO 7", "00 B0"), ("PPO 8", "FB")} == claims
    for claim in formats.vendor_claims():
        assert identifiers.decode(claim.identifiers).bytes_in == claim.total_bytes
    with pytest.raises(Unknown, match=r"ends at PPO 5.*F9, ABB FPBA-01 manual p\.185; 00 F0, Agilent"):
        formats.by_name("PPO6")


@pytest.mark.parametrize(
    ("typed", "name"),
    [
        ("ppo 5", "PPO 5"),
        ("PPO5", "PPO 5"),
        ("ST20", "standard telegram 20"),
        ("telegram 2", "standard telegram 2"),
        ("Standard  Telegram 2", "standard telegram 2"),
        ("MILL 7/8 REQUEST", "Mill 7/8 request"),
    ],
)
def test_names_as_people_type_them(typed, name):
    assert formats.by_name(typed).name == name


@pytest.mark.parametrize("typed", ["", "PPO", "PPO 9", "PPO 11", "telegram 8", "standard telegram 10", "2"])
def test_names_that_do_not_exist(typed):
    with pytest.raises(Unknown, match="known are PPO 1"):
        formats.by_name(typed)


@pytest.mark.parametrize("one", EVERY, ids=lambda one: one.name)
def test_every_format_is_found_by_its_name_and_its_identifiers(one):
    assert formats.by_name(one.name) is one
    assert formats.by_identifiers(one.identifiers) == (one,)


@given(st.binary(max_size=8))
def test_other_identifiers_find_nothing(octets):
    assert all(one.identifiers == octets for one in formats.by_identifiers(octets))
    assert formats.by_identifiers(octets + b"\x00") == ()


@pytest.mark.parametrize(
    "table",
    [
        "identifier_bits",
        "cyclic_lengths",
        "signals",
        "signal_ranges",
        "signal_lists",
        "ppo_types",
        "telegram_sizes",
        "standard_telegrams",
        "demo/device_signals",
        "demo/device_formats",
        "published/identifiers",
    ],
)
def test_tables_are_whole_and_say_where_they_come_from(table):
    for row in facts.rows(table):
        assert None not in list(row), f"{row.place} has more cells than columns"
        assert all(value is not None for value in row.values()), f"{row.place} has fewer cells than columns"
        assert row.standing in facts.STANDINGS
        assert row.source or row.standing == "memory"


@pytest.mark.parametrize("typed", ["11 21", "15 15", "10", "1121"])
def test_identifiers_that_could_be_numbers_of_bytes_have_to_say_that_they_are_hexadecimal(typed):
    with pytest.raises(Unreadable, match="could be identifiers or numbers of bytes; write identifiers as 16#1"):
        formats.configuration(typed)
    # 16#15 twice: 6 bytes of input each, M. Felser, PROFIBUS Manual, compact identifiers
    assert formats.configuration("16#15 16#15").bytes_in == formats.configuration("15h 15h").bytes_in == 12
    assert formats.configuration("F3 F1").bytes_in == 12


def test_an_odd_number_of_bytes_names_its_direction_and_doubtful_digits_show_both_ways_to_write_them():
    with pytest.raises(OutOfRange, match=r"^output is 3 bytes"):
        formats.in_words("3/2 bytes")
    with pytest.raises(OutOfRange, match=r"^input is 5 bytes"):
        formats.in_words("2/5 bytes")
    with pytest.raises(Unreadable, match="as 16#15 16#16 16#17 16#18, or bytes"):
        formats.configuration("15 16 17 18 19")
