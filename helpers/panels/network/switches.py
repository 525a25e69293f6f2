"""A panel for address switches: from the address to how they must stand, from how they stand to the address."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import ipywidgets as widgets

from helpers.answer import Answer
from helpers.bus.address import address as bus_address
from helpers.bus.address.answers import SwitchesPicture, switches_answer
from helpers.bus.address.switches import (
    COUNTS,
    KINDS,
    NUMBERS,
    ORDERS,
    DipSwitches,
    RotarySwitches,
    Switches,
    described,
    setting_text,
)
from helpers.errors import WorkbookError
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, INK, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel

OVER_THE_BUS = "over the bus"

_PITCH, _SLOT = 74, (30, 56)


def switches_drawing(picture: SwitchesPicture) -> Drawing:
    """The switches as they stand, what each one counts, and the sum."""
    if isinstance(picture.switches, RotarySwitches):
        return _dials(picture, picture.switches)
    return _slides(picture, picture.switches)


def _slides(picture: SwitchesPicture, switches: DipSwitches) -> Drawing:
    lines = switches.table(picture.setting)
    over_the_bus = switches.over_the_bus(picture.setting)
    sheet = Drawing(72 + _PITCH * len(lines), 172, picture.says)
    wide, high = _SLOT
    top = 30
    for words, y in (("ON", top + 19), ("OFF", top + 46)):
        sheet.text(60, y, words, size=12, anchor="end", bold=True)
    sheet.text(60, top + high + 18, "counts", size=11, anchor="end", fill=GREY)
    sheet.text(60, top + high + 36, "adds", size=11, anchor="end", fill=GREY)
    for n, ((number, position, adds), weight) in enumerate(zip(lines, switches.weights, strict=True)):
        x = 72 + _PITCH * n + _PITCH / 2
        counting = adds > 0 and not over_the_bus
        sheet.text(x, 20, number, size=13, bold=True)
        sheet.box(x - wide / 2, top, wide, high, fill=SAND, stroke=INK)
        knob = top + 3 if position == "ON" else top + high / 2 + 1
        sheet.box(x - wide / 2 + 3, knob, wide - 6, high / 2 - 4, fill=INK, stroke=INK, round_=3)
        sheet.text(x, top + high + 18, weight or "bus", size=12, fill=GREY)
        added = "–" if not weight else f"+ {adds}" if counting else "0"
        sheet.text(x, top + high + 36, added, size=14, bold=counting, fill=BLUE if counting else GREY)
    sheet.text(72 + _PITCH / 2, 164, picture.sum, size=15, anchor="start", bold=True)
    return sheet


_DIAL, _RADIUS = 190, 50.0


def _dials(picture: SwitchesPicture, switches: RotarySwitches) -> Drawing:
    signs = picture.setting.strip().upper()
    sheet = Drawing(_DIAL * switches.digits, 214, picture.says)
    for n, (place, sign, each) in enumerate(zip(switches.places, signs, switches.worth, strict=True)):
        x, y = _DIAL * n + _DIAL / 2, 92.0
        sheet.text(x, 14, place, size=12, fill=GREY)
        sheet.dot(x, y, _RADIUS, fill=SAND)
        for step in range(switches.base):
            angle = 2 * math.pi * step / switches.base
            at = x + (_RADIUS + 13) * math.sin(angle), y - (_RADIUS + 13) * math.cos(angle)
            here = f"{step:X}" == sign
            if here:
                sheet.dot(*at, 9, fill=SKY, stroke=BLUE)
                tip = x + (_RADIUS - 5) * math.sin(angle), y - (_RADIUS - 5) * math.cos(angle)
                _arrow(sheet, (x, y), tip, angle)
            sheet.text(at[0], at[1] + 4, f"{step:X}", size=12, bold=here)
        worked = f"{sign} = {int(sign, 16)}" if sign > "9" else sign
        sheet.text(x, 184, f"{worked} × {each} = {int(sign, 16) * each}", size=13, bold=True)
    sheet.text(12, 208, picture.sum, size=15, anchor="start", bold=True)
    return sheet


def _arrow(sheet: Drawing, start: tuple[float, float], tip: tuple[float, float], angle: float) -> None:
    across, along = (math.cos(angle), math.sin(angle)), (math.sin(angle), -math.cos(angle))
    sheet.line(*start, *tip, width=5)
    neck = tip[0] - 14 * along[0], tip[1] - 14 * along[1]
    wing = [(neck[0] + side * across[0], neck[1] + side * across[1]) for side in (-9, 9)]
    sheet.path([tip, *wing], fill=INK)
    sheet.dot(*start, 6, fill=PAPER)


# -- the panel ----------------------------------------------------------------------------------------


def read_address(typed: str) -> int | None:
    """An address as text; the words `over the bus`, or nothing, for one that no switch gives."""
    return None if typed.strip().lower() in ("", OVER_THE_BUS) else bus_address.read(typed)


class _Linked:
    """Keeps address field, setting field and the switches to click in step, whichever of them was touched.

    What cannot be done (an address that these switches do not have) it leaves alone: the panel says so.
    """

    def __init__(self, description: dict[str, fields.Field], address: fields.Field, setting: fields.Field) -> None:
        self.description, self.address, self.setting = description, address.widget, setting.widget
        self.hand = widgets.HBox(layout=widgets.Layout(flex_flow="row wrap"))
        self.signs: Callable[[], str] = str
        self.busy = False
        for field in description.values():
            field.widget.observe(self._guarded(self._other_device), "value")
        self.address.observe(self._guarded(self._to_setting), "value")
        self.setting.observe(self._guarded(self._to_address), "value")
        self._other_device()

    @property
    def switches(self) -> Switches:
        return described(**{name: str(field.value) for name, field in self.description.items()})

    def _guarded(self, work: Callable[[], None]) -> Callable[[Any], None]:
        def changed(_: Any) -> None:
            if self.busy:
                return
            self.busy = True
            try:
                work()
            except WorkbookError:
                pass
            finally:
                self.busy = False

        return changed

    def _other_device(self) -> None:
        self._build(setting_text(self.switches, 0))
        self._to_setting()

    def _to_setting(self) -> None:
        address = read_address(self.address.value)
        if not self._gives(address):
            self.setting.value = setting_text(self.switches, address)
        self._build(self.setting.value)

    def _gives(self, address: int | None) -> bool:
        try:
            return self.switches.address(self.setting.value) == address
        except WorkbookError:
            return False

    def _to_address(self) -> None:
        address = self.switches.address(self.setting.value)
        self.address.value = OVER_THE_BUS if address is None else str(address)
        self._build(self.setting.value)

    def _clicked(self, _: Any) -> None:
        if not self.busy:
            self.setting.value = self.signs()

    def _build(self, setting: str) -> None:
        """The switches to click, standing as the setting says."""
        switches = self.switches
        if isinstance(switches, RotarySwitches):
            dials = [_dial(sign, switches.base) for sign in setting.strip().upper()]
            self.signs = lambda: "".join(dial.value for dial in dials)
            self.hand.children = dials
        else:
            lines = switches.table(setting)
            slides = [_slide(number, position) for number, position, _ in lines]
            self.signs = lambda: " ".join("ON" if slide.value else "OFF" for slide in slides)
            self.hand.children = [
                widgets.VBox([widgets.HTML(f"<div style='text-align:center;width:34px'>{number}</div>"), slide])
                for (number, _, _), slide in zip(lines, slides, strict=True)
            ]
            dials = slides
        for switch in dials:
            switch.observe(self._clicked, "value")


def _slide(number: int, position: str) -> widgets.ToggleButton:
    return widgets.ToggleButton(
        value=position == "ON", description=position, tooltip=f"switch {number}: {position}",
        layout=widgets.Layout(width="34px", padding="0", margin="1px"),
    )  # fmt: skip


def _dial(sign: str, base: int) -> widgets.Dropdown:
    return widgets.Dropdown(options=list("0123456789ABCDEF"[:base]), value=sign, layout=widgets.Layout(width="64px"))


def switch_panel() -> Panel:
    """Address switches both ways: type the address, or click the switches."""
    description = {
        "kind": fields.choice("switches", KINDS),
        "order": fields.choice("order", ORDERS),
        "counts": fields.choice("DIP counts when", COUNTS),
        "numbers": fields.choice("DIP numbered", NUMBERS),
    }
    address = fields.text("address", "10", read_address)
    setting = fields.text("they stand at", "")
    linked = _Linked(description, address, setting)
    box = fields.Field(setting.widget, around=widgets.VBox([setting.widget, linked.hand]))

    def answer(address: int | None, setting: str, **described_by: str) -> Answer:
        switches = described(**described_by)
        setting_text(switches, address)  # says so if these switches cannot give the address
        return switches_answer(switches, setting)

    return Panel(
        "How must the switches stand?",
        {**description, "address": address, "setting": box},
        answer,
        draw={SwitchesPicture: switches_drawing},
        hint="Describe the switches as the device's manual does. Order as usual: DIP switches count 1, 2, 4 … from the "
        "left, the left dial counts most. Then type the address, or click the switches as you see them.",
    )
