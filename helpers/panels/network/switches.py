"""A panel for address switches: from the address to how they must stand, from how they stand to the address."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import ipywidgets as widgets

from helpers import facts
from helpers.answer import Answer
from helpers.bus.address import address as bus_address
from helpers.bus.address.address import HIGHEST, LAST_USABLE, classify, spell
from helpers.bus.address.switches import DipSwitches, RotarySwitches, misreadings
from helpers.errors import WorkbookError, one_of
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, INK, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.safe_work import cautions

Switches = DipSwitches | RotarySwitches

# The kinds of switches met most often: name, number of switches, base (2 for DIP), one switch for "over the bus".
KINDS = {
    "7 DIP switches": (7, 2, False),
    "8 DIP switches, 1 for the bus": (8, 2, True),
    "2 rotary switches, 0 to F": (2, 16, False),
    "2 rotary switches, 0 to 9": (2, 10, False),
    "3 rotary switches, 0 to 9": (3, 10, False),
}
ORDERS = ("as usual", "turned round")
COUNTS = ("ON", "OFF")
NUMBERS = ("1 2 3 … from the left", "1 2 3 … from the right", "0 1 2 … from the left")
OVER_THE_BUS = "over the bus"


def described(kind: str, *, order: str = ORDERS[0], counts: str = "ON", numbers: str = NUMBERS[0]) -> Switches:
    """The switches of a device, as its manual describes them.

    Parameters: kind, one of `KINDS`; order, one of `ORDERS`: as usual DIP switches count 1, 2, 4 … from the
    left and the left rotary switch counts most; counts, the position in which a DIP switch counts, one of
    `COUNTS`; numbers, what is printed beside DIP switches, one of `NUMBERS`. Raises `Unknown` for anything else.

    >>> described("2 rotary switches, 0 to F", order="turned round").setting(26)
    'A1'
    """
    for name, value, known in (("kind of switches", kind, KINDS), ("order of the switches", order, ORDERS),
                               ("position that counts", counts, COUNTS), ("numbering", numbers, NUMBERS)):  # fmt: skip
        one_of(name, value, known)
    count, base, bus_switch = KINDS[kind]
    if base != 2:
        return RotarySwitches(base, count, high_first=order == ORDERS[0])
    weights = [2**place for place in range(count - bus_switch)] + [0] * bus_switch
    printed = list(range(1, count + 1))
    if numbers == NUMBERS[2]:
        printed = list(range(count))
    elif numbers == NUMBERS[1]:
        printed.reverse()
    return DipSwitches(
        tuple(weights if order == ORDERS[0] else reversed(weights)), on_is=int(counts == "ON"), numbers=tuple(printed)
    )


def setting_text(switches: Switches, address: int | None) -> str:
    """How the switches must stand, as text from left to right; None asks for "set over the bus".

    >>> setting_text(described("7 DIP switches"), 5)
    'ON OFF ON OFF OFF OFF OFF'
    """
    if isinstance(switches, RotarySwitches):
        return switches.setting(_number(address))
    return " ".join("ON" if on else "OFF" for on in switches.setting(address))


def _number(address: int | None) -> int:
    if address is None:
        raise WorkbookError("rotary switches have no position that hands addressing to the bus; give an address.")
    return address


# -- the view -----------------------------------------------------------------------------------------


def switch_view(switches: Switches, setting: str) -> Answer:
    """The address that a setting gives, the switches as they stand, and what it is misread as."""
    address = switches.address(setting)
    if address is None:
        delivery = classify(LAST_USABLE + 1)
        return Answer(
            "The switch that hands addressing to the bus is ON: the other switches do not count.",
            because=f"{delivery.reason} {delivery.to_do}",
            caution=cautions("open drive", "address counts later"),
            pictures=[switch_drawing(switches, setting)],
            sources=[delivery.source],
        )
    meant, spelling = classify(address), spell(address)
    return Answer(
        f"Address {address} = {spelling.hexadecimal} = {spelling.binary}: {meant.meaning}.",
        degree=meant.degree,
        because=" ".join(filter(None, (meant.reason, meant.to_do))),
        caution=cautions("open drive", "address counts later"),
        pictures=[switch_drawing(switches, setting)],
        rows=[
            {"also read as": wrong.address, "by": wrong.slip, "what is right": wrong.correction}
            for wrong in misreadings(switches, setting)
            if wrong.address <= HIGHEST
        ],
        sources=[meant.source, facts.one("address_practice", rule="free for new devices").cited],
    )


def switch_drawing(switches: Switches, setting: str) -> Drawing:
    """The switches as they stand, what each one counts, and the sum."""
    if isinstance(switches, RotarySwitches):
        return _dials(switches, setting)
    return _slides(switches, setting)


_PITCH, _SLOT = 74, (30, 56)


def _slides(switches: DipSwitches, setting: str) -> Drawing:
    lines = switches.table(setting)
    over_the_bus = switches.over_the_bus(setting)
    says = "; ".join(f"switch {number} {position}" for number, position, _ in lines)
    sheet = Drawing(72 + _PITCH * len(lines), 172, f"{says}; {_sum([a for _, _, a in lines], over_the_bus)}")
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
    sheet.text(
        72 + _PITCH / 2, 164, _sum([adds for _, _, adds in lines], over_the_bus), size=15, anchor="start", bold=True
    )
    return sheet


_DIAL, _RADIUS = 190, 50.0


def _dials(switches: RotarySwitches, setting: str) -> Drawing:
    signs = setting.strip().upper()
    worth = [switches.base**power for power in range(switches.digits)]
    if switches.high_first:
        worth.reverse()
    adds = [int(sign, switches.base) * each for sign, each in zip(signs, worth, strict=True)]
    where = ("left", "right") if switches.digits == 2 else ("left", "middle", "right")
    says = "; ".join(f"{place} switch at {sign}" for place, sign in zip(where, signs, strict=True))
    sheet = Drawing(_DIAL * switches.digits, 214, f"{says}; {_sum(adds)}")
    for n, (place, sign, each) in enumerate(zip(where, signs, worth, strict=True)):
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
    sheet.text(12, 208, _sum(adds), size=15, anchor="start", bold=True)
    return sheet


def _arrow(sheet: Drawing, start: tuple[float, float], tip: tuple[float, float], angle: float) -> None:
    across, along = (math.cos(angle), math.sin(angle)), (math.sin(angle), -math.cos(angle))
    sheet.line(*start, *tip, width=5)
    neck = tip[0] - 14 * along[0], tip[1] - 14 * along[1]
    wing = [(neck[0] + side * across[0], neck[1] + side * across[1]) for side in (-9, 9)]
    sheet.path([tip, *wing], fill=INK)
    sheet.dot(*start, 6, fill=PAPER)


def _sum(adds: Sequence[int], over_the_bus: bool = False) -> str:
    if over_the_bus:
        return "address set over the bus"
    counting = [str(part) for part in adds if part]
    return f"{' + '.join(counting)} = {sum(adds)}" if len(counting) > 1 else f"together {sum(adds)}"


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
        for one in dials:
            one.observe(self._clicked, "value")


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
        return switch_view(switches, setting)

    return Panel(
        "How must the switches stand?",
        {**description, "address": address, "setting": box},
        answer,
        hint="Describe the switches as the device's manual does. Order as usual: DIP switches count 1, 2, 4 … from the "
        "left, the left dial counts most. Then type the address, or click the switches as you see them.",
    )
