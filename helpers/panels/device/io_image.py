"""The panel of the I/O image: where the words of each station lie in the controller, as a byte ruler and as files."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from itertools import pairwise

from helpers import facts
from helpers.device.io_answers import IMAGE_BYTES, WAYS, RulerPicture, StationPicture, io_image_answer, numbered
from helpers.device.io_image import AREA, NUMBERINGS, Image, ImagePlace, rules
from helpers.facts import DATA
from helpers.panels.device.formats import broken
from helpers.panels.kit import fields
from helpers.panels.kit.as_html import Draw
from helpers.panels.kit.drawing import GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.panels.kit.plan_table import PlanTable, table_field
from helpers.plan.rows import IO_STATIONS, Texts, io_rows, io_stations_in, pasted
from helpers.wording import short

FIRST_BYTE = {row["area"]: row.whole("first_byte") for row in facts.rows("demo/io_image")}
_WIDE = 744.0  # px, of a lane
_LONGEST_GAP = 12  # bytes: a longer gap is drawn this wide, broken
_TICK = 40.0  # px that a byte number takes


# -- both areas to scale ------------------------------------------------------------------------------


def ruler(picture: RulerPicture) -> Drawing:
    """Both areas as byte rulers, each to its own scale: a box for each station, its number in it.

    A long gap is drawn short, with a broken line. Bytes that two stations claim are orange and bear a cross.
    """
    image, sheet = picture.image, Drawing(760, 106, picture.says)
    for n, (way, heading) in enumerate(WAYS.items()):
        y = 13.0 + 54 * n
        sheet.text(8, y, f"{heading} (%{AREA[way]}B, by byte)", size=12, anchor="start", bold=True)
        if not image.of(way):
            sheet.text(8, y + 22, "no bytes this way", anchor="start", fill=GREY)
            continue
        _lane(sheet, y + 5, _segments(image, way))
    return sheet


_Segment = tuple[int, int, tuple[int, ...]]  # first byte, length, numbers of the stations that claim it


def _segments(image: Image, way: str) -> list[_Segment]:
    """The bytes of one direction cut where the set of stations that claim them changes."""
    numbers = {one.name: n for n, one in enumerate(image.stations, 1)}
    changes: dict[int, list[tuple[bool, int]]] = {}
    for one in image.of(way):
        changes.setdefault(one.first_byte, []).append((True, numbers[one.station]))
        changes.setdefault(one.last_byte + 1, []).append((False, numbers[one.station]))
    claimed: set[int] = set()
    found: list[_Segment] = []
    for first, end in pairwise(sorted(changes)):
        for begins, number in changes[first]:
            (claimed.add if begins else claimed.discard)(number)
        found.append((first, end - first, tuple(sorted(claimed))))
    return found


def _lane(sheet: Drawing, y: float, segments: Sequence[_Segment]) -> None:
    shown = [length if who else min(length, _LONGEST_GAP) for _, length, who in segments]
    scale = min(20.0, _WIDE / sum(shown))
    x, free = 8.0, 0.0  # free: from here on there is room for a byte number
    for (first, length, who), units in zip(segments, shown, strict=True):
        wide = units * scale
        if who:
            fill = ORANGE if len(who) > 1 else SKY if who[0] % 2 else SAND
            sheet.box(x, y, wide, 20, fill=fill, stroke=INK, line=0.8 if scale > 1 else 0.3)
            label = "×" if len(who) > 1 else str(who[0])
            if wide >= 7.2 * len(label) + 2:
                sheet.text(x + wide / 2, y + 14, label, size=11, bold=True, fill=PAPER if len(who) > 1 else INK)
            if x >= free and x + _TICK < 752:
                sheet.line(x, y + 20, x, y + 25, width=1)
                sheet.text(x + 2, y + 32, first, size=11, anchor="start", fill=GREY)
                free = x + _TICK
        else:
            sheet.line(x, y + 10, x + wide, y + 10, stroke=GREY, dash="none" if units == length else "3 3")
        x += wide
    if (end := segments[-1][0] + segments[-1][1] - 1) and x >= free:
        sheet.text(min(x, 752), y + 32, end, size=11, anchor="end", fill=GREY)


# -- one station word by word -------------------------------------------------------------------------


def station_drawing(picture: StationPicture) -> Drawing:
    """One station value by value, each box as wide as its bytes, with the address under it."""
    number, station = picture.number, picture.station
    sheet = Drawing(760, 136, picture.says)
    for n, way in enumerate(WAYS):
        places = picture.places(way)
        y = 16.0 + 68 * n
        heading = f"{number} {short(station.name, 40)}: {WAYS[way].partition(',')[0].lower()}, {picture.numbering}"
        sheet.text(8, y - 4, heading, size=11, anchor="start", bold=True)
        if not places:
            sheet.text(8, y + 22, "no bytes this way", anchor="start", fill=GREY)
            continue
        scale = min(32.0, _WIDE / sum(p.length_bytes for p in places))
        x = 8.0
        for place in places:
            _value_box(sheet, x, y, scale * place.length_bytes, place, numbered(place, picture.numbering))
            x += scale * place.length_bytes
    return sheet


def _value_box(sheet: Drawing, x: float, y: float, wide: float, place: ImagePlace, where: str) -> None:
    """A value's box with its name and address; what is too narrow for them stays without, and is in the table."""
    fill = SAND if place.meaning.startswith("parameter channel") else SKY if place.signal else PAPER
    sheet.box(x, y, wide - 2, 36, fill=fill, stroke=INK, line=1.0)
    letters = int((wide - 4) / 7.4)
    if letters >= 4:
        lines = broken(place.signal or "free", letters)
        for n, line in enumerate(lines):
            sheet.text(x + wide / 2 - 1, y + 22 + 12 * (n - (len(lines) - 1) / 2), line, size=11)
    for shown in (where, where.removeprefix("%"), where.lstrip("%IQBWD")):
        if 7.4 * len(shown) <= wide:
            sheet.text(x + wide / 2 - 1, y + 48, shown, size=11, fill=GREY)
            break


DRAW: Draw = {RulerPicture: ruler, StationPicture: station_drawing}


@cache
def example_rows() -> list[Texts]:
    """A few stations of the invented Saltmarsh Mill, one of them with a single byte."""
    return pasted((DATA / "demo" / "io_stations.csv").read_text(encoding="utf-8"), IO_STATIONS)


def io_image_panel(*, own: bool = False) -> Panel:
    """Where the words of each station lie: paste a list, choose start bytes and rule."""
    limits = {row["what"]: (row.whole("least"), row.whole("most")) for row in facts.rows("io_limits")}
    example = "a part of the Mill (invented)", example_rows()
    table = PlanTable(
        IO_STATIONS, (220, 220, 90, 120, 120), lambda network, _: io_rows(network), own=own, shown=5, example=example
    )
    return Panel(
        "Where the words lie in the controller",
        {
            "stations": table_field(table, io_stations_in, wide=True),
            "rule": fields.choice("rule", rules()),
            "first_in": fields.whole("inputs from byte", str(FIRST_BYTE["in"]), *limits["byte number"]),
            "first_out": fields.whole("outputs from byte", str(FIRST_BYTE["out"]), *limits["byte number"]),
            "grid_bytes": fields.whole("grid step, bytes", "32", *limits["grid step in bytes"]),
            "image_bytes": fields.whole("image, bytes", str(IMAGE_BYTES), *limits["image size in bytes"]),
            "numbering": fields.choice("numbers count", [("bytes", NUMBERINGS[0]), ("own size", NUMBERINGS[1])]),
            "detail": fields.whole("show station no.", "2", 1, 126),
        },
        io_image_answer,
        draw=DRAW,
        hint="The format may be identifiers (16#11 16#21). A first byte is filled in only where it is fixed by hand. "
        "Direction as the controller sees it.",
    )
