"""The network on the bench as a picture: cable, plugs, stations with address and state, drives with their speed.

Few devices are drawn with their names. Many are drawn as small boxes with the address, and their state as a sign that
the legend names. Terminators are drawn as they should be, so the picture gives no fault away.
"""

from __future__ import annotations

import html
import textwrap
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

from helpers.line.faults.fault import Chosen
from helpers.line.plant.installation import Installation
from helpers.line.plant.place import Place
from helpers.panels.bench import bench_state
from helpers.panels.bench.bench_state import Seen
from helpers.panels.cable import line_signs
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, PAPER, PURPLE, SKY, Drawing

WIDTH = 690
ALL = "all"
# A sign for each state. Its word stands beside it, or in the legend.
SIGNS = dict(zip(bench_state.STATES, ("●", "◐", "◔", "◑", "✖", "○"), strict=True))
_COLOURS = dict(zip(bench_state.STATES, (BLUE, ORANGE, ORANGE, ORANGE, PURPLE, GREY), strict=True))
TURNS, STANDS = "↻", "–"

_PER_ROW, _MOST_ROWS, _ROW, _LETTERS = 6, 3, 138.0, 16  # with names
_CELL, _LABEL, _SMALL_ROW = 26.0, 62.0, 43.0  # compact
_LINE = 13.0


# Where each plug is drawn, by its segment and number: x and y, and how far off the next one is [px].
_Spots = dict[tuple[int, int], tuple[float, float, float]]


class _Cell(NamedTuple):
    """One plug in the picture: its segment and plug, the device there, whether the plug's own terminator belongs on,
    and whether a terminator with its own supply belongs beside it.
    """

    segment: int
    plug: int
    device: str
    switched: bool
    boxed: bool


def bench_drawing(
    seen: Mapping[str, Seen],
    plan: Installation,
    *,
    segment: str = ALL,
    faults: Sequence[Chosen] = (),
    width: float = WIDTH,
) -> Drawing:
    """All segments, or one of them in large.

    seen: the devices by name, as `bench_state.look` finds them. plan: the installation as it should be; the terminators
    are drawn from it. faults: those whose place is to be marked; none by itself.
    """
    rows = list(_rows(plan, segment, _PER_ROW))
    if small := segment == ALL and len(rows) > _MOST_ROWS:
        rows = list(_rows(plan, segment, int((width - _LABEL - 10) / _CELL)))
    high = _SMALL_ROW if small else _ROW
    legend = _legend(seen, small=small)
    foot = 17.0 * (len(legend) + len(faults)) + 6
    sheet = Drawing(width, high * len(rows) + foot, _told(seen, plan, segment, faults))
    spots: _Spots = {}
    for n, cells in enumerate(rows):
        (_small_row if small else _large_row)(sheet, seen, plan, cells, n * high, spots)
    for number, chosen in enumerate(faults, 1):
        for place in _places(plan, chosen.place):
            _mark(sheet, spots, place, number, small=small)
    low = high * len(rows) + 13
    for n, words in enumerate([*legend, *(_fault_words(n, chosen) for n, chosen in enumerate(faults, 1))]):
        sheet.text(8, low + 17 * n, words, size=11, anchor="start", bold=n >= len(legend))
    return sheet


def live(sheet: Drawing) -> str:
    """The drawing as part of a page that changes many times a second: an image that is loaded anew would flicker."""
    title = f"<title>{html.escape(sheet.says, quote=False)}</title>"
    said = html.escape(sheet.says, quote=True)
    return f'<div role="img" aria-label="{said}" style="line-height:0">{sheet.svg.replace(title, "", 1)}</div>'


def _rows(plan: Installation, segment: str, per_row: int) -> Iterator[list[_Cell]]:
    for number, stretch in enumerate(plan.stretches):
        if segment in (ALL, stretch.name):
            cells = [
                _Cell(
                    number,
                    plug,
                    device,
                    len(here.terminators) > stretch.laid.plugs[plug].own_supply,
                    stretch.laid.plugs[plug].own_supply,
                )
                for plug, (device, here) in enumerate(zip(stretch.devices, stretch.circuit.plugs, strict=True))
            ]
            for at in range(0, len(cells), per_row):
                yield cells[at : at + per_row]


def _told(seen: Mapping[str, Seen], plan: Installation, segment: str, faults: Sequence[Chosen]) -> str:
    """The picture in words, for whoever can't see it."""
    segments = []
    for stretch in plan.stretches:
        if segment not in (ALL, stretch.name):
            continue
        said = [
            ", ".join(filter(None, (name, *(seen[name][2:] if name in seen else ()))))
            for name in stretch.devices
            if name
        ]
        segments.append(f"segment {stretch.name}: {'; '.join(said)}")
    marked = [_fault_words(n, chosen) for n, chosen in enumerate(faults, 1)]
    return ". ".join([*segments, *marked])


def _fault_words(number: int, chosen: Chosen) -> str:
    return f"⚑{number} {chosen.fault.name}: {chosen.place.words}"


def _legend(seen: Mapping[str, Seen], *, small: bool) -> list[str]:
    states = Counter(one.state for one in seen.values() if one.is_station)
    known = [f"{SIGNS[state]} {state}: {states[state]}" for state in SIGNS if states[state]]
    said = " · ".join(known)
    bar = "Bar above a plug: its terminator belongs on; bar in a frame: a terminator with its own supply."
    if not small:
        return [said, bar]
    below = f"Below a drive: {TURNS} turns, {STANDS} stands. R: repeater. {bar} Names: choose one segment."
    return [said, below]


# -- with names -------------------------------------------------------------------------------------------------------


def _large_row(sheet: Drawing, seen: Mapping[str, Seen], plan: Installation, cells: list[_Cell], top: float,
               spots: _Spots) -> None:  # fmt: skip
    stretch = plan.stretches[cells[0].segment]
    pitch = sheet.width / _PER_ROW
    y = top + 44
    if not cells[0].plug:
        length = f"{sum(section.length_m for section in stretch.circuit.sections):.4g} m"
        heading = textwrap.shorten(f"segment {stretch.name}, {length}", 90, placeholder=" …")
        sheet.text(8, top + 12, heading, size=12, anchor="start", bold=True)
    x = [pitch * (n + 0.5) for n in range(len(cells))]
    goes_on = cells[-1].plug < len(stretch.devices) - 1
    left, right = 2.0 if cells[0].plug else x[0], sheet.width - 2 if goes_on else x[-1]
    line_signs.cable(sheet, left, right, y)
    for cell, at in zip(cells, x, strict=True):
        spots[cell.segment, cell.plug] = (at, y, pitch)
        if cell.boxed:
            way = 1 if cell.plug else -1
            line_signs.cable(sheet, at, at + way * 26, y)
            line_signs.own_supply(sheet, at + way * 34, y)
        line_signs.plug(sheet, at, y, on=cell.switched)
        device = seen.get(cell.device)
        if device is None:
            continue
        line_signs.device(sheet, at, y + 8, device.kind, alive=device.state != bench_state.OFF)
        sheet.text(at + 20, y + 24, device.address, size=12, anchor="start", bold=True)
        names = _wrapped(cell.device, _LETTERS, most=2) or [""]
        low = y + 43
        for words in names:
            sheet.text(at, low, words[: _LETTERS + 2], size=11)
            low += _LINE
        if state := device.state:
            for words in _wrapped(f"{SIGNS[state]} {state}", _LETTERS + 1):
                sheet.text(at, low, words, size=11, bold=state != bench_state.EXCHANGES, fill=_COLOURS[state])
                low += _LINE
        if motion := device.motion:
            sheet.text(at, low, f"{TURNS if motion.startswith('turns') else STANDS} {motion}", size=11)


@lru_cache(maxsize=1024)
def _wrapped(words: str, letters: int, most: int | None = None) -> list[str]:
    """Words in lines; the same few are asked for with every update."""
    return textwrap.wrap(words, letters, max_lines=most, placeholder=" …")


# -- compact ----------------------------------------------------------------------------------------------------------


def _small_row(sheet: Drawing, seen: Mapping[str, Seen], plan: Installation, cells: list[_Cell], top: float,
               spots: _Spots) -> None:  # fmt: skip
    stretch = plan.stretches[cells[0].segment]
    if not cells[0].plug:
        sheet.text(6, top + 22, textwrap.shorten(stretch.name, 9, placeholder="…"), size=11, anchor="start", bold=True)
    y = top + 9
    x = [_LABEL + _CELL * (n + 0.5) for n in range(len(cells))]
    goes_on = cells[-1].plug < len(stretch.devices) - 1
    sheet.line(x[0] - _CELL / 2 * bool(cells[0].plug), y, x[-1] + _CELL / 2 * goes_on, y, stroke=BLUE, width=3)
    for cell, at in zip(cells, x, strict=True):
        spots[cell.segment, cell.plug] = (at, y, _CELL)
        if cell.switched:
            sheet.box(at - 3, y - 8, 6, 12, fill=INK, line=1)
        if cell.boxed:
            sheet.box(at + 5, y - 8, 8, 12, fill=PAPER, line=1)
            sheet.box(at + 7.5, y - 5, 3, 6, fill=INK, line=1)
        device = seen.get(cell.device)
        if device is None:
            continue
        sheet.box(at - 11.5, y + 4, 23, 15, fill=SKY if device.state == bench_state.EXCHANGES else PAPER, line=1)
        sheet.text(at, y + 15.5, device.address or device.kind[0].upper(), size=11)
        turns = (TURNS if device.motion.startswith("turns") else STANDS) if device.motion else ""
        if state := device.state:
            sheet.text(at, y + 31, SIGNS[state] + turns, size=11, fill=_COLOURS[state], bold=True)


# -- where the fault is -----------------------------------------------------------------------------------------------


def _places(plan: Installation, place: Place) -> list[Place]:
    """The spots of a place: its plug or piece of cable, all plugs of a device, the first plug of a segment."""
    if place.plug >= 0 or place.section >= 0:
        return [place]
    if place.device:
        return [Place(place.words, place.device, *spot) for spot in plan.places(place.device)]
    return [Place(place.words, "", place.segment, 0)]


def _mark(sheet: Drawing, spots: _Spots, place: Place, number: int, *, small: bool) -> None:
    """A flag with the fault's number, beside the plug or on the piece of cable."""
    spot = spots.get((place.segment, place.plug if place.plug >= 0 else place.section))
    if spot is None:
        return  # in a segment that is not drawn now
    x, y, pitch = spot
    x += pitch / 2 if place.section >= 0 else -(9 if small else 26)
    high, up = (11, 1) if small else (15, 0)  # small: it leaves the addresses free
    sheet.box(x - 11, y - 8 - up, 22, high, fill=PURPLE, stroke=PURPLE, round_=3)
    sheet.text(x, y + 4 - 3 * up, f"⚑{number}", size=11, fill=PAPER, bold=True)
