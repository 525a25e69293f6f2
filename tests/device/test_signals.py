"""Signals against the numbers and widths that manuals print."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.device import signals
from helpers.device.signals import read_signals
from helpers.errors import OutOfRange, Unknown, WorkbookError


@pytest.mark.parametrize(
    ("number", "name", "bits", "direction"),
    [
        # Eaton MN040010EN p.95
        (1, "STW1", 16, "out"),
        (2, "ZSW1", 16, "in"),
        (5, "NSOLL_A", 16, "out"),
        (6, "NIST_A", 16, "in"),
        # numbers: Kollmorgen AKD2G manual; widths: LinMot PROFIdrive manual p.33
        (3, "STW2", 16, "out"),
        (7, "NSOLL_B", 32, "out"),
        (8, "NIST_B", 32, "in"),
        (11, "G1_XIST1", 32, "in"),
        (26, "KPC", 32, "out"),
    ],
)
def test_published_numbers_and_widths(number, name, bits, direction):
    found = signals.find(number)
    assert (found.name, found.bits, found.direction) == (name, bits, direction)
    assert signals.find(name.lower()) is found
    assert found.words == len(found.word_names) == bits // 16


def test_sources_that_disagree_on_a_width():
    # Kollmorgen AKD2G manual prints 16 bit, LinMot PROFIdrive manual p.33 has 32
    assert signals.find("XERR").widths == (16, 32)
    assert signals.find("XERR").words == 2
    assert signals.find("STW1").widths == (16,)


def test_number_ranges():
    # Eaton MN040010EN p.95: 0 not assigned, 1-99 standard, 100-65535 device-specific
    kinds = {n: signals.number_kind(n) for n in (0, 1, 99, 100, 65535)}
    assert kinds == {0: "not assigned", 1: "profile", 99: "profile", 100: "device", 65535: "device"}
    for number in (-1, 65536, 99.5, float("nan")):
        with pytest.raises(OutOfRange, match="signal number"):
            signals.number_kind(number)


def test_demo_signals_lie_in_the_makers_own_range_and_say_they_are_invented():
    for one in signals.demo_signals():
        assert signals.number_kind(one.number) == "device"
        assert one.source.startswith("invented")
    for one in signals.profile_signals():
        assert one.number is None or signals.number_kind(one.number) == "profile"


def test_numbers_and_names_are_given_once():
    every = signals.profile_signals() + signals.demo_signals()
    numbers = [one.number for one in every if one.number is not None]
    assert len(numbers) == len(set(numbers))
    assert len({one.name for one in every}) == len(every)


def test_control_words_and_setpoints_go_out_status_words_and_actual_values_come_in():
    for one in signals.profile_signals():
        if one.name.endswith(("STW", "STW1", "STW2")) or "SOLL" in one.name:
            assert one.direction == "out"
        if one.name.endswith(("ZSW", "ZSW1", "ZSW2")) or "IST" in one.name:
            assert one.direction == "in"


def test_lists_of_signals():
    # Danfoss Vacon 100 PROFIBUS manual p.25, ABB RETA-02 manual p.93
    assert signals.list_parameter("out") == 915
    assert signals.list_parameter("in") == 916
    with pytest.raises(Unknown, match="out, in"):
        signals.list_parameter("up")


@given(st.text(max_size=8) | st.integers())
def test_any_key_gives_a_signal_or_our_own_error(key):
    try:
        assert signals.find(key).name
    except WorkbookError as error:
        assert "known are STW1" in str(error)


def test_find_looks_only_in_the_list_given():
    with pytest.raises(Unknown, match="CURRENT"):
        signals.find("STW1", signals.demo_signals())


def test_signals_of_ones_own():
    assert signals.own_signal("level", bits=16, direction="in").words == 1
    assert signals.own_signal("level", bits=32, direction="in", number=300).word_names == ("level high", "level low")
    for bits in (0, 8, 17, 48):
        with pytest.raises(OutOfRange, match="16 and 32 bit"):
            signals.own_signal("level", bits=bits, direction="in")
    with pytest.raises(OutOfRange, match="65536"):
        signals.own_signal("level", bits=16, direction="in", number=65536)
    with pytest.raises(Unknown):
        signals.own_signal("level", bits=16, direction="both")


@pytest.mark.parametrize(
    ("typed", "names"),
    [
        ("", []),
        (" , ;\n", []),
        ("current", ["CURRENT"]),
        ("5; zsw1", ["NSOLL_A", "ZSW1"]),
        ("1 word in", ["word 1 in"]),
        ("2 WORDS OUT", ["word 1 out", "word 2 out"]),
        ("drum speed 32 in, level 16 bit out", ["drum speed", "level"]),
    ],
)
def test_signals_are_read_as_people_list_them(typed, names):
    assert [signal.name for signal in read_signals(typed)] == names


def test_an_own_signal_has_its_width_and_direction():
    (drum,) = read_signals("drum speed 32 bits in")
    assert (drum.bits, drum.direction, drum.number) == (32, "in", None)


@pytest.mark.parametrize(
    ("typed", "kind", "says"),
    [
        ("speedo", Unknown, "as in drum speed 32 bit in"),
        ("drum speed 8 bit in", OutOfRange, "16 and 32 bit"),
        ("0 words in", OutOfRange, "allowed is 1 to 20"),
        ("21 words in", OutOfRange, "allowed is 1 to 20"),
        ("x" * 500, Unknown, "is no signal"),
    ],
)
def test_what_is_no_signal_gets_a_sentence(typed, kind, says):
    with pytest.raises(kind, match=says) as caught:
        read_signals(typed)
    assert len(str(caught.value)) < 200


@given(st.text(max_size=40) | st.from_regex(r"[a-zA-Z0-9_ ,]{0,20}(words?|bit)? ?(in|out)?", fullmatch=True))
def test_any_text_gives_signals_or_a_sentence(typed):
    try:
        found = read_signals(typed)
    except WorkbookError as error:
        assert str(error).endswith(".")
    else:
        assert all(signal.direction in ("out", "in") for signal in found)
