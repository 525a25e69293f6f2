"""The switch panel says the same from both sides, for every device it describes, and never loses step."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.address.answers import SwitchesPicture, switches_answer
from helpers.bus.address.switches import (
    COUNTS,
    KINDS,
    NUMBERS,
    ORDERS,
    DipSwitches,
    described,
    setting_text,
)
from helpers.errors import WorkbookError
from helpers.panels.network.switches import OVER_THE_BUS, switch_panel, switches_drawing

DEVICES = st.builds(
    described,
    st.sampled_from(list(KINDS)),
    order=st.sampled_from(ORDERS),
    counts=st.sampled_from(COUNTS),
    numbers=st.sampled_from(NUMBERS),
)


def words_in(drawing) -> list[str]:
    return re.findall(r"<text[^>]*>([^<]*)</text>", drawing.svg)


@given(DEVICES, st.integers(0, 127))
def test_what_is_set_is_read_and_drawn(switches, address: int) -> None:
    if address > switches.most:
        with pytest.raises(WorkbookError, match=f"address is {address}; allowed is 0 to {switches.most}"):
            setting_text(switches, address)
        return
    setting = setting_text(switches, address)
    shown = switches_answer(switches, setting)
    assert shown.sentence.startswith(f"Address {address} = 16#{address:02X} = ")
    assert shown.caution
    drawn = words_in(switches_drawing(shown.pictures[0]))
    assert re.search(rf"(= |together ){address}$", drawn[-1])
    # A second way: what the drawing says is added makes the address.
    if isinstance(switches, DipSwitches):
        assert sum(int(words[2:]) for words in drawn if re.fullmatch(r"\+ \d+", words)) == address
    else:
        assert sum(int(words.rsplit("= ", 1)[1]) for words in drawn if "×" in words) == address
    assert all(row["also read as"] != address for row in shown.rows)


@given(DEVICES)
def test_every_drawing_fits(switches) -> None:
    drawing = switches_drawing(SwitchesPicture(switches, setting_text(switches, 1)))
    assert drawing.width <= 760
    assert drawing.height <= 240
    assert all(0 <= float(x) <= drawing.width for x in re.findall(r' x="([-\d.]+)"', drawing.svg))


# -- the panel: three places that must agree ----------------------------------------------------------


def stands(panel) -> str:
    """The switches to click, as they are shown."""
    hand = panel.fields["setting"].around.children[1]
    parts = [part.children[-1] if hasattr(part, "children") else part for part in hand.children]
    signs = [part.value if isinstance(part.value, str) else part.description for part in parts]
    return "".join(signs) if len(signs[0]) == 1 else " ".join(signs)


def click(panel, place: int, value=None) -> None:
    hand = panel.fields["setting"].around.children[1].children[place]
    one = hand.children[-1] if hasattr(hand, "children") else hand
    one.value = (not one.value) if value is None else value


def set_field(panel, **values) -> None:
    for name, value in values.items():
        panel.fields[name].widget.value = value


def agrees(panel, address: int) -> None:
    assert panel.said.value == ""
    assert panel.fields["address"].widget.value == str(address)
    assert panel.fields["setting"].widget.value == stands(panel)
    assert f"Address {address} = " in panel.result.value


def test_it_opens_in_step() -> None:
    agrees(switch_panel(), 10)


def test_typed_address_sets_the_switches() -> None:
    panel = switch_panel()
    set_field(panel, address="77")
    agrees(panel, 77)
    assert stands(panel) == "ON OFF ON ON OFF OFF ON"  # 1 + 4 + 8 + 64


def test_clicked_switches_give_the_address() -> None:
    panel = switch_panel()
    click(panel, 0)
    agrees(panel, 11)
    click(panel, 1)
    agrees(panel, 9)
    set_field(panel, kind="2 rotary switches, 0 to F")
    agrees(panel, 9)
    click(panel, 0, "7")
    agrees(panel, 121)


def test_typed_setting_gives_the_address() -> None:
    panel = switch_panel()
    set_field(panel, setting="1000001")
    assert panel.fields["address"].widget.value == "65"
    assert stands(panel) == "ON OFF OFF OFF OFF OFF ON"


@pytest.mark.parametrize("kind", list(KINDS))
def test_another_device_keeps_the_address(kind: str) -> None:
    panel = switch_panel()
    set_field(panel, address="42", kind=kind, order="turned round", counts="OFF", numbers=NUMBERS[1])
    agrees(panel, 42)


def test_an_address_these_switches_do_not_have_is_said_and_the_way_back_is_open() -> None:
    panel = switch_panel()
    set_field(panel, address="100", kind="2 rotary switches, 0 to 9")
    assert "address is 100; allowed is 0 to 99" in panel.said.value
    click(panel, 1, "7")
    agrees(panel, 7)


def test_a_setting_that_is_no_address_is_said_and_the_way_back_is_open() -> None:
    panel = switch_panel()
    set_field(panel, kind="3 rotary switches, 0 to 9")
    click(panel, 0, "9")
    assert "is 910; allowed is 0 to 127" in panel.said.value
    click(panel, 0, "1")
    agrees(panel, 110)


@pytest.mark.parametrize("typed", ["128", "-1", "ten", "3.5"])
def test_nonsense_as_address(typed: str) -> None:
    panel = switch_panel()
    set_field(panel, address=typed)
    assert "Not usable" in panel.said.value
    assert "failed" not in panel.said.value
    click(panel, 0)
    assert panel.said.value == ""


@pytest.mark.parametrize("typed", ["", "ON", "1010", "ON OFF maybe", "7E"])
def test_nonsense_as_setting(typed: str) -> None:
    panel = switch_panel()
    set_field(panel, setting=typed)
    assert "Not usable" in panel.said.value
    assert "failed" not in panel.said.value
    set_field(panel, address="3")
    agrees(panel, 3)


def test_the_bus_switch_both_ways() -> None:
    panel = switch_panel()
    set_field(panel, kind="8 DIP switches, 1 for the bus")
    click(panel, 7)
    assert panel.fields["address"].widget.value == OVER_THE_BUS
    assert "do not count" in panel.result.value
    click(panel, 7)
    agrees(panel, 10)
    set_field(panel, address="")
    assert "do not count" in panel.result.value
    set_field(panel, kind="2 rotary switches, 0 to F")
    assert "give an address" in panel.said.value


STEPS = st.one_of(
    st.tuples(st.just("kind"), st.sampled_from(list(KINDS))),
    st.tuples(st.just("order"), st.sampled_from(ORDERS)),
    st.tuples(st.just("counts"), st.sampled_from(COUNTS)),
    st.tuples(st.just("address"), st.sampled_from(["0", "9", "99", "125", "126", "16#0A", "over the bus", "x", "200"])),
    st.tuples(st.just("setting"), st.sampled_from(["1111111", "00000000", "7E", "12", "F0", "026", "999", "", "?"])),
)


@settings(max_examples=25)
@given(st.lists(STEPS, max_size=6))
def test_whatever_is_touched_the_panel_is_in_step_or_says_so(steps) -> None:
    panel = switch_panel()
    for name, value in steps:
        set_field(panel, **{name: value})
    assert "failed" not in panel.said.value
    if not panel.said.value:
        device = described(**{name: panel.fields[name].value for name in ("kind", "order", "counts", "numbers")})
        assert device.address(panel.fields["setting"].value) == panel.fields["address"].value
        assert device.address(stands(panel)) == panel.fields["address"].value
