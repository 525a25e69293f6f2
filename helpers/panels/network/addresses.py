"""Panels for the addresses of a line: judge a list that is there, propose one for a line that is to come."""

from __future__ import annotations

from collections.abc import Sequence

from helpers.bus.address.address import HIGHEST, LAST_USABLE, LOWEST, classify
from helpers.bus.address.answers import AddressRuler, Mark, address_list_answer, new_line_answer
from helpers.panels.kit import fields
from helpers.panels.kit.as_html import SIGNS
from helpers.panels.kit.drawing import GREY, INK, PURPLE, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.panels.kit.plan_table import PlanTable, table_field
from helpers.plan.model import Network
from helpers.plan.rows import ADDRESSES, GROUPS, address_rows, group_rows, groups_in, holders_in
from helpers.verdict import Degree
from helpers.wording import short
from helpers.written import whole


def _hsa(typed: str) -> int | None:
    return whole(typed) if typed.strip() else None


def address_panel(*, own: bool = False) -> Panel:
    """Judge the addresses of a network, or your own list. own: begin with the user's own network."""
    hsa = fields.text("HSA, if known", "126", _hsa)

    def take_hsa(network: Network) -> None:
        hsa.widget.value = "" if network.hsa is None else str(network.hsa)

    table = PlanTable(
        ADDRESSES, (108, 62, 82), lambda network, _: address_rows(network), own=own, shown=11, on_network=take_hsa
    )
    return Panel(
        "Are these addresses in order?",
        {
            "stations": table_field(table, holders_in),
            "hsa": hsa,
            "start": fields.whole("next free from", "10", 0, LAST_USABLE),
        },
        address_list_answer,
        draw={AddressRuler: ruler_drawing},
        hint="Addresses as decimal numbers or as 16#0A. HSA is the highest station address set in the controllers.",
    )


def new_line_panel(*, own: bool = False) -> Panel:
    """Propose addresses for a new line: groups of stations, controllers, room to grow."""
    example = "a new line (invented)", (("dryer", "5"), ("intake", "3"), ("dust filter", "2"))
    table = PlanTable(GROUPS, (164, 88), lambda network, _: group_rows(network), own=own, example=example)
    return Panel(
        "Addresses for a new line",
        {
            "groups": table_field(table, groups_in),
            "controllers": fields.slider("controllers", 1, 1, 4),
        },
        new_line_answer,
        draw={AddressRuler: ruler_drawing},
        hint="A group has a name and its number of stations; of a network, its places are the groups. Repeaters have "
        "no address and are not counted.",
    )


# -- the ruler ----------------------------------------------------------------------------------------

_WIDTH, _LEFT, _RIGHT = 760, 30.0, 636.0
_GAP = 15.8  # px between two slanted names
_MOST_NAMES, _MOST_LETTERS = 40, 22
_LANES, _LANE = 5, 13.0


def place(address: int) -> float:
    """Where an address stands on the ruler, in px; a number that is no address stands outside its ends."""
    if address > HIGHEST:
        return _RIGHT + 24
    if address < LOWEST:
        return _LEFT - 16
    return _LEFT + (_RIGHT - _LEFT) * address / HIGHEST


def ruler_drawing(picture: AddressRuler) -> Drawing:
    """The ruler with its marks, and below it the next free address and the HSA, if given."""
    marks = picture.marks
    named = [mark for mark in marks if mark.words]
    slanted = len(named) <= _MOST_NAMES
    # A name of 22 letters, slanted by 45 degrees, takes 101 px in height.
    longest = max((len(short(mark.words, _MOST_LETTERS)) for mark in named), default=0)
    base = 36 + (4.6 * longest if slanted else _LANES * _LANE)
    # Below the ruler: its numbers, the next free address, the HSA, and what each stretch is for.
    lines = [(picture.free, "next free"), (picture.hsa, "highest station address (HSA)")]
    below = [(address, words) for address, words in lines if address is not None]
    # The outer arrow is the longer one, so that no arrow runs through the words of the other.
    below.sort(key=lambda line: abs(line[0] - HIGHEST / 2))
    sheet = Drawing(_WIDTH, base + 54 + 15 * len(below), picture.says)
    _scale(sheet, base, [place(address) for address, _ in below])
    if slanted:
        _names(sheet, base, named)
    else:
        _numbers(sheet, base, marks)
    for mark in marks:
        _sign(sheet, place(mark.address), base - 7, mark.degree)
    _below(sheet, base, below)
    return sheet


def _scale(sheet: Drawing, base: float, arrows: Sequence[float]) -> None:
    sheet.box(place(1), base, place(LAST_USABLE) - place(1), 9, fill=SKY, stroke=INK, line=1)
    sheet.box(place(LOWEST) - 4, base, 8, 9, fill=SAND, stroke=INK, line=1)
    for address in range(LOWEST, HIGHEST, 10):
        sheet.line(place(address), base + 9, place(address), base + 15, width=1)
        # An arrow at the number would strike it out, and names the address itself.
        if all(abs(place(address) - x) > 8 for x in arrows):
            sheet.text(place(address), base + 27, address, size=11)
    for address in range(LAST_USABLE + 1, HIGHEST + 1):
        sheet.line(place(address), base - 2, place(address), base + 11, stroke=PURPLE, width=3)


def _below(sheet: Drawing, base: float, below: Sequence[tuple[int, str]]) -> None:
    # Near the right end the words stand at the left of their arrow.
    for n, (address, words) in enumerate(below):
        x, y, last = place(address), base + 43 + 15 * n, address > HIGHEST / 2
        sheet.path([(x - 4, base + 19), (x, base + 11), (x + 4, base + 19)], fill=INK, width=1)
        sheet.line(x, base + 19, x, y - 3, width=1, dash="2 2")
        at, anchor = (x - 6, "end") if last else (x + 6, "start")
        sheet.text(at, y, f"{words}: {address}", size=11, anchor=anchor, bold=True)
    y, delivery = base + 46 + 15 * len(below), LAST_USABLE + 1
    sheet.text(_LEFT - 8, y, f"{LOWEST}: engineering computer", size=11, fill=GREY, anchor="start")
    sheet.text((_LEFT + _RIGHT) / 2, y, f"1 to {LAST_USABLE}: for stations", size=11, fill=GREY)
    ends = f"{delivery}: {classify(delivery).meaning} · {HIGHEST}: {classify(HIGHEST).meaning}"
    sheet.text(_WIDTH - 8, y, ends, size=11, fill=PURPLE, anchor="end")


def _names(sheet: Drawing, base: float, marks: Sequence[Mark]) -> None:
    wanted = [place(mark.address) for mark in marks]
    for mark, x in zip(marks, spread(wanted, _GAP, _LEFT - 10, _RIGHT + 26), strict=True):
        sheet.path([(place(mark.address), base - 10), (x, base - 24)], stroke=GREY, width=1)
        bold = mark.degree is not Degree.IN_ORDER
        sheet.text(x + 2, base - 27, short(mark.words, _MOST_LETTERS), size=11, anchor="start", turn=-45, bold=bold)


def _numbers(sheet: Drawing, base: float, marks: Sequence[Mark]) -> None:
    for n, mark in enumerate(marks):
        y = base - 14 - _LANE * (n % _LANES)
        sheet.line(place(mark.address), base - 10, place(mark.address), y + 1, stroke=GREY, width=0.5)
        bold = mark.degree is not Degree.IN_ORDER
        sheet.text(place(mark.address), y, short(str(mark.address), 5), size=11, bold=bold)


def _sign(sheet: Drawing, x: float, y: float, degree: Degree) -> None:
    _, colour = SIGNS[degree]
    if degree is Degree.IN_ORDER:
        sheet.dot(x, y, 2.4, fill=colour, stroke=colour)
    elif degree is Degree.CAUTION:
        sheet.path([(x - 5, y + 4), (x, y - 6), (x + 5, y + 4)], stroke=colour, fill=colour)
    else:
        sheet.box(x - 4, y - 4, 8, 8, fill=colour, stroke=colour)


def spread(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Places at least `gap` apart, in the order of `wanted` (rising) and as near to it as can be, from low to high.

    Least squares: with the gaps taken out it is a rising regression, solved by pooling neighbours.

    >>> spread([10.0, 11.0, 40.0], 5, 0, 100)
    [8.0, 13.0, 40.0]
    """
    pools: list[tuple[float, int]] = []  # mean place without gaps, how many
    for n, x in enumerate(wanted):
        mean, count = x - n * gap, 1
        while pools and pools[-1][0] > mean:
            before, many = pools.pop()
            mean, count = (before * many + mean * count) / (many + count), many + count
        pools.append((mean, count))
    most = high - (len(wanted) - 1) * gap
    flat = [min(max(mean, low), max(most, low)) for mean, count in pools for _ in range(count)]
    return [x + n * gap for n, x in enumerate(flat)]
