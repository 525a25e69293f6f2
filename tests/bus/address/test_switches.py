"""Address switches: both ways over every address, what no switch can give, and the slips of readers."""

import itertools
from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.address import switches
from helpers.bus.address.switches import (
    NUMBERS,
    DipSwitches,
    RotarySwitches,
    described,
    misreadings,
    read_positions,
    setting_text,
)
from helpers.errors import OutOfRange, Unknown, Unreadable, WorkbookError


@st.composite
def dips(draw):
    width = draw(st.integers(1, 8))
    with_bus = draw(st.booleans()) and width > 1
    weights = [2**n for n in range(width - with_bus)] + [0] * with_bus
    numbers = draw(st.sampled_from([(), tuple(range(width)), tuple(range(width, 0, -1))]))
    return DipSwitches(tuple(draw(st.permutations(weights))), draw(st.sampled_from([0, 1])), numbers)


ROTARIES = st.builds(
    lambda kind, high_first: RotarySwitches(*kind, high_first),
    st.sampled_from([(16, 2), (10, 2), (10, 3)]),
    st.booleans(),
)


@settings(max_examples=50)
@given(st.one_of(dips(), ROTARIES))
def test_every_address_that_can_be_set_reads_back(device):
    assert [device.address(device.setting(number)) for number in range(device.most + 1)] == [*range(device.most + 1)]
    with pytest.raises(OutOfRange, match=f"allowed is 0 to {device.most}"):
        device.setting(device.most + 1)
    with pytest.raises(OutOfRange):
        device.setting(-1)


@settings(max_examples=30)
@given(dips())
def test_every_setting_gives_its_own_number_or_the_bus(device):
    seen = set()
    for positions in itertools.product((False, True), repeat=len(device.weights)):
        if device.over_the_bus(positions):
            assert device.address(positions) is None
        elif sum(row[2] for row in device.table(positions)) > 127:
            with pytest.raises(OutOfRange, match="allowed is 0 to 127"):
                device.address(positions)
        else:
            number = device.address(positions)
            assert number == sum(row[2] for row in device.table(positions)) and number not in seen
            seen.add(number)
    assert seen == set(range(device.most + 1))


@settings(max_examples=30)
@given(dips())
def test_on_for_off_is_the_mirror_image(device):
    mirror = DipSwitches(device.weights, 1 - device.on_is, device.numbers)
    for number in range(device.most + 1):
        for weight, one, other in zip(device.weights, device.setting(number), mirror.setting(number), strict=True):
            assert (one != other) == (weight != 0)


def test_binary_reading_as_the_second_method():
    # Seven switches with the highest on the left are the binary number itself.
    left_high = DipSwitches(weights=(64, 32, 16, 8, 4, 2, 1))
    for number in range(128):
        assert left_high.setting(number) == read_positions(f"{number:07b}")
    # Two hexadecimal switches are the hexadecimal number itself, three decimal ones the decimal number.
    assert all(int(RotarySwitches().setting(n), 16) == n for n in range(128))
    assert all(int(RotarySwitches(10, 3).setting(n)) == n for n in range(128))


def test_the_switch_that_hands_addressing_to_the_bus():
    device = DipSwitches(weights=(1, 2, 4, 8, 16, 32, 64, 0))
    assert device.setting(None) == (False,) * 7 + (True,)
    assert device.address("11000001") is None and device.over_the_bus("11000001")
    assert device.address("11000000") == 3
    assert misreadings(device, "11000001") == ()
    with pytest.raises(OutOfRange, match="none that hands addressing to the bus"):
        DipSwitches().setting(None)


def test_126_and_127_can_be_set_and_more_cannot():
    assert DipSwitches().address("1111111") == 127 and RotarySwitches().address("7E") == 126
    for device, setting in (
        (DipSwitches(tuple(2**n for n in range(8))), "00000001"),
        (RotarySwitches(), "80"),
        (RotarySwitches(10, 3), "128"),
    ):
        with pytest.raises(OutOfRange, match="is 128; allowed is 0 to 127"):
            device.address(setting)


def test_two_decimal_switches_end_at_99():
    device = RotarySwitches(base=10)
    assert device.setting(99) == "99"
    with pytest.raises(OutOfRange, match="address is 100; allowed is 0 to 99"):
        device.setting(100)


def test_the_low_switch_may_be_on_the_left():
    assert RotarySwitches(high_first=False).setting(0x7E) == "E7"
    assert RotarySwitches(10, 3, high_first=False).address("621") == 126


@pytest.mark.parametrize(
    "description",
    [
        {"weights": ()},
        {"weights": tuple(2**n for n in range(9))},
        {"weights": (1, 2, 2)},
        {"weights": (1, 4)},
        {"weights": (2, 4)},
        {"weights": (0,)},
        {"weights": (1, 0, 0)},
        {"weights": (1, 2), "numbers": (1,)},
        {"weights": (1, 2), "numbers": (1, 1)},
    ],
)
def test_dip_switches_no_device_can_have(description):
    with pytest.raises(OutOfRange, match="allowed"):
        DipSwitches(**description)


def test_what_else_is_refused():
    with pytest.raises(Unknown, match="known are 1, 0"):
        DipSwitches(on_is=2)
    with pytest.raises(Unknown, match="known are 16, 10"):
        RotarySwitches(base=8)
    for base, digits in ((16, 1), (16, 3), (10, 4)):
        with pytest.raises(OutOfRange):
            RotarySwitches(base, digits)
    with pytest.raises(OutOfRange, match="has 2 switches; allowed is 7"):
        DipSwitches().address("ON OFF")
    with pytest.raises(OutOfRange, match="has 3 rotary switches; allowed is 2"):
        RotarySwitches().address("123")
    for device, setting in ((RotarySwitches(), "1G"), (RotarySwitches(10), "1A"), (RotarySwitches(), "")):
        with pytest.raises(Unreadable, match="each stands at one of 0123456789"):
            device.address(setting)


@pytest.mark.parametrize("text", ["ON OFF ON", "on,off,on", "On/Off/On", "ON|OFF|ON", "101", "1 0 1", " 101 "])
def test_ways_to_write_a_setting(text):
    assert read_positions(text) == (True, False, True)


@pytest.mark.parametrize("text", ["", " ", "ON OF", "121", "up down", "10 01"])
def test_what_is_no_setting(text):
    with pytest.raises(Unreadable, match="write for example ON OFF ON"):
        read_positions(text)


def test_one_switch_by_itself():
    assert read_positions("ON") == (True,) and read_positions("off") == (False,)


@given(st.text())
def test_any_text_gives_positions_or_the_workbook_s_own_error(text):
    with suppress(Unreadable):
        assert read_positions(text)


# The slips, worked out by hand; common practice.
def test_slips_with_dip_switches():
    device, setting = DipSwitches(), "ON ON OFF OFF ON OFF OFF"  # 1 + 2 + 16 = 19
    assert device.address(setting) == 19
    assert switches.order_reversed(device, setting) == 64 + 32 + 4
    assert switches.on_taken_for_off(device, setting) == 127 - 19
    assert switches.numbers_added(device, setting) == 1 + 2 + 5
    assert switches.one_place_shifted(device, setting) == 38
    assert [(m.address, m.slip) for m in misreadings(device, setting)] == [
        (100, "order reversed"),
        (108, "ON and OFF exchanged"),
        (8, "switch numbers added"),
        (38, "one place too high"),
    ]


def test_slips_follow_the_description_of_the_device():
    device = DipSwitches(weights=(0, 4, 2, 1), on_is=0, numbers=(4, 3, 2, 1))
    setting = "OFF OFF ON ON"  # the 4 counts, as OFF counts
    assert device.address(setting) == 4
    assert switches.order_reversed(device, setting) == 1
    assert switches.on_taken_for_off(device, setting) == 3
    assert switches.numbers_added(device, setting) == 3
    corrections = {m.slip: m.correction for m in misreadings(device, setting)}
    assert corrections["order reversed"].startswith("Switch 1 counts 1")
    assert corrections["ON and OFF exchanged"].endswith("when it is OFF.")


def test_slips_with_rotary_switches():
    assert [(m.address, m.slip) for m in misreadings(RotarySwitches(), "1F")] == [
        (25, "hexadecimal read as decimal"),
        (0xF1, "digits exchanged"),
    ]
    assert [(m.address, m.slip) for m in misreadings(RotarySwitches(10, 3), "025")] == [
        (0x25, "decimal read as hexadecimal"),
        (520, "digits exchanged"),
    ]


@given(st.one_of(dips(), ROTARIES), st.data())
def test_no_slip_is_right_by_chance_or_told_twice(device, data):
    number = data.draw(st.integers(0, device.most))
    setting = device.setting(number)
    text = setting if isinstance(setting, str) else " ".join("ON" if on else "OFF" for on in setting)
    wrong = [m.address for m in misreadings(device, text)]
    assert number not in wrong and len(wrong) == len(set(wrong))


def test_the_correction_names_the_side_that_counts_most():
    assert "left" in misreadings(RotarySwitches(), "12")[1].correction
    assert "right" in misreadings(RotarySwitches(high_first=False), "12")[1].correction


@pytest.mark.parametrize(
    ("device", "address", "setting"),
    [
        (described("7 DIP switches"), 5, "ON OFF ON OFF OFF OFF OFF"),
        (described("7 DIP switches", counts="OFF"), 5, "OFF ON OFF ON ON ON ON"),
        (described("7 DIP switches", order="turned round"), 5, "OFF OFF OFF OFF ON OFF ON"),
        (described("8 DIP switches, 1 for the bus"), None, "OFF OFF OFF OFF OFF OFF OFF ON"),
        (described("2 rotary switches, 0 to F"), 126, "7E"),
        (described("2 rotary switches, 0 to F", order="turned round"), 126, "E7"),
        (described("3 rotary switches, 0 to 9"), 26, "026"),
    ],
)
def test_settings_worked_by_hand(device, address, setting: str) -> None:
    assert setting_text(device, address) == setting


def test_printed_numbers_stand_where_the_manual_says() -> None:
    assert described("7 DIP switches", numbers=NUMBERS[1]).numbers == (7, 6, 5, 4, 3, 2, 1)
    assert described("7 DIP switches", numbers=NUMBERS[2]).numbers == (0, 1, 2, 3, 4, 5, 6)
    for numbers in NUMBERS:
        assert described("7 DIP switches", numbers=numbers).weights == (1, 2, 4, 8, 16, 32, 64)


@pytest.mark.parametrize("wrong", [{"order": "x"}, {"counts": "x"}, {"numbers": "x"}])
def test_a_device_nobody_builds_is_refused(wrong: dict[str, str]) -> None:
    with pytest.raises(WorkbookError, match="known are"):
        described("7 DIP switches", **wrong)
    with pytest.raises(WorkbookError, match="known are"):
        described("levers")


def test_the_correction_says_which_position_counts_on_this_device():
    for on_is, position in ((1, "ON"), (0, "OFF")):
        told = {
            slip.slip: slip.correction
            for slip in switches.misreadings(DipSwitches(on_is=on_is), "ON ON OFF ON OFF OFF OFF")
        }
        assert told["ON and OFF exchanged"] == f"On this device a switch counts when it is {position}."


def test_an_address_that_switches_can_set_and_the_bus_has_not_is_refused_with_its_source():
    with pytest.raises(OutOfRange, match=r"255.*0 to 127.*PROFIBUS"):
        RotarySwitches().address("FF")
