"""The panel of the I/O image: where the words of each station lie in the controller, as a byte ruler and as files."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cache
from itertools import pairwise

import ipywidgets as widgets

from helpers import facts
from helpers.answer import Answer, Row, TakeAway
from helpers.device.identifiers import Configuration, as_written
from helpers.device.io_checks import check, overlaps
from helpers.device.io_export import declarations, to_csv
from helpers.device.io_image import AREA, NUMBERINGS, Image, Place, Station, address, lay_out, rules
from helpers.device.io_list import read_stations
from helpers.facts import DATA
from helpers.panels.device.formats import broken
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.safe_work import cautions
from helpers.verdict import Degree, Finding, worst
from helpers.wording import capital_first, short

WAYS = {"out": "Outputs, to the stations", "in": "Inputs, from the stations"}
FIRST_BYTE = {row["area"]: row.whole("first_byte") for row in facts.rows("demo/io_image")}
IMAGE_BYTES = max(row.whole("image_bytes") for row in facts.rows("demo/io_image"))
_WIDE = 744.0  # px, of a lane
_LONGEST_GAP = 12  # bytes: a longer gap is drawn this wide, broken
_OPEN_ROWS = 4
_TICK = 40.0  # px that a byte number takes


@cache
def demo_list() -> str:
    """A few stations of the invented Saltmarsh Mill, as `read_stations` reads them."""
    lines = (DATA / "demo" / "io_list.txt").read_text(encoding="utf-8").splitlines()
    return "\n".join(line for line in lines if not line.startswith("#"))


def io_image_view(
    stations: Sequence[Station],
    rule: str = "packed",
    first_in: int = 0,
    first_out: int = 0,
    grid_bytes: int = 32,
    image_bytes: int = IMAGE_BYTES,
    numbering: str = NUMBERINGS[0],
    detail: int = 1,
) -> Answer:
    """The image of a list of stations: verdict, both areas to scale, one station word by word, table and files."""
    image = lay_out(stations, rule=rule, first_in=first_in, first_out=first_out, grid_bytes=grid_bytes)
    findings = check(image, image_bytes=image_bytes, numbering=numbering)
    chosen = min(detail, len(stations))
    table = [_row(image, n, one) for n, one in enumerate(stations, 1)]
    few = len(table) <= _OPEN_ROWS
    # The file holds all values; a page of thousands of rows would only make the panel slow.
    which = "all stations" if few else f"station {chosen}"
    listed = [one for one in image.places if few or one.station == stations[chosen - 1].name]
    bad = [one for one in findings if one.degree is not Degree.IN_ORDER]
    return Answer(
        _sentence(image, bad),
        degree=worst(findings),
        because=_because(rule, bad),
        caution=cautions("first output"),
        pictures=[ruler(image), detail_drawing(image, chosen, numbering)],
        rows=table if few else (),
        folded=[
            (f"The {len(table)} stations", [] if few else table),
            (f"Every value of {which} with its address", [_value(one) for one in listed]),
            ("Every check", [_finding(one) for one in findings]),
        ],
        sources=_sources(stations),
        files=[
            TakeAway("io-image.csv", to_csv(image.places).encode("utf-8-sig", "backslashreplace")),
            TakeAway("io-variables.st", declarations(image, numbering=numbering).encode(), "text/plain"),
        ],
    )


def _sentence(image: Image, bad: Sequence[Finding]) -> str:
    if bad:
        more = f" And {len(bad) - 1} more, see the checks." if len(bad) > 1 else ""
        return f"{capital_first(bad[0].rule)}: {short(bad[0].place, 60)}: {short(bad[0].found, 80)}.{more}"
    parts = [
        f"{image.used_bytes(way)} bytes of {name} up to %{AREA[way]}B{image.end(way) - 1}"
        for way, name in (("out", "outputs"), ("in", "inputs"))
        if image.of(way)
    ]
    count = f"{len(image.stations)} station{'s' if len(image.stations) > 1 else ''}"
    return f"{count}: {', '.join(parts) or 'no data at all'}. No byte belongs to two."


def _because(rule: str, bad: Sequence[Finding]) -> str:
    if bad:
        return f"Allowed: {bad[0].allowed} ({bad[0].source}). {bad[0].to_do}"
    return f"Rule {rule}: {facts.one('io_layout_rules', rule=rule)['says']}."


def _row(image: Image, number: int, one: Station) -> Row:
    row: dict[str, object] = {"no.": number, "station": short(one.name, 30), "format": _format_name(one)}
    for way, heading in (("out", "outputs"), ("in", "inputs")):
        found = image.stretch(one.name, way)
        row[f"{heading} at"] = found.address if found else "–"
        row[f"bytes {way}"] = found.length_bytes if found else 0
    return row


def _format_name(one: Station) -> str:
    if isinstance(one.format, Configuration):
        return short(as_written(one.format.octets), 20)
    return one.format.name


def _value(one: Place) -> Row:
    return {
        "station": short(one.station, 30),
        "byte numbers": one.address,
        "word numbers": one.word_address or "none",
        "signal": one.signal or "free",
        "meaning": one.meaning,
        "shown as": one.type,
        "kept whole": "yes" if one.kept_whole else "no",
    }


def _finding(one: Finding) -> Row:
    return {"rule": one.rule, "where": short(one.place, 60), "found": one.found, "verdict": one.degree,
            "source": one.source}  # fmt: skip


def _sources(stations: Iterable[Station]) -> list[str]:
    formats = {one.format.name: one.format for one in stations if not isinstance(one.format, Configuration)}
    return [
        *(f"{name}: {one.cited}" for name, one in formats.items()),
        *(f"{row['numbering']}: {row['says']}; {row.cited}" for row in facts.rows("io_numbering")),
    ]


# -- both areas to scale ------------------------------------------------------------------------------


def ruler(image: Image) -> Drawing:
    """Both areas as byte rulers, each to its own scale: a box for each station, its number in it.

    A long gap is drawn short, with a broken line. Bytes that two stations claim are orange and bear a cross.
    """
    sheet = Drawing(760, 106, " ".join(_told(image, way) for way in WAYS))
    for n, (way, heading) in enumerate(WAYS.items()):
        y = 13.0 + 54 * n
        sheet.text(8, y, f"{heading} (%{AREA[way]}B, by byte)", size=12, anchor="start", bold=True)
        if not image.of(way):
            sheet.text(8, y + 22, "no bytes this way", anchor="start", fill=GREY)
            continue
        _lane(sheet, y + 5, _segments(image, way))
    return sheet


def _told(image: Image, way: str) -> str:
    listed = "; ".join(f"{one.station} {one.address}" for one in image.of(way)) or "none"
    common = "; ".join(f"{a.station} and {b.station} share byte {first}" for a, b, first, _ in overlaps(image, way))
    return f"{WAYS[way]}: {listed}.{f' Overlap: {common}.' if common else ''}"


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


def detail_drawing(image: Image, number: int, numbering: str = NUMBERINGS[0]) -> Drawing:
    """One station value by value, each box as wide as its bytes, with the address under it."""
    station = image.stations[number - 1]
    lanes = {way: [p for p in image.places if (p.station, p.direction) == (station.name, way)] for way in WAYS}
    told = [f"{p.signal or 'free'} at {_numbered(p, numbering)}" for places in lanes.values() for p in places]
    sheet = Drawing(760, 136, f"Station {number}, {station.name}: {'; '.join(told) or 'no data'}.")
    for n, (way, places) in enumerate(lanes.items()):
        y = 16.0 + 68 * n
        heading = f"{number} {short(station.name, 40)}: {WAYS[way].partition(',')[0].lower()}, {numbering}"
        sheet.text(8, y - 4, heading, size=11, anchor="start", bold=True)
        if not places:
            sheet.text(8, y + 22, "no bytes this way", anchor="start", fill=GREY)
            continue
        scale = min(32.0, _WIDE / sum(p.length_bytes for p in places))
        x = 8.0
        for place in places:
            _value_box(sheet, x, y, scale * place.length_bytes, place, _numbered(place, numbering))
            x += scale * place.length_bytes
    return sheet


def _value_box(sheet: Drawing, x: float, y: float, wide: float, place: Place, where: str) -> None:
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


def _numbered(place: Place, numbering: str) -> str:
    return address(place.direction, place.first_byte, place.length_bytes, numbering=numbering) or "none"


def _list_field() -> fields.Field:
    """The list of stations over the whole width of the inputs: a line of it should not break."""
    box = widgets.Textarea(value=demo_list(), continuous_update=False, rows=6, layout=widgets.Layout(width="290px"))
    head = widgets.HTML("stations: name, format, bus address", layout=widgets.Layout(height="24px"))
    return fields.Field(box, read_stations, around=widgets.VBox([head, box]))


def io_image_panel() -> Panel:
    """Where the words of each station lie: paste a list, choose start bytes and rule."""
    limits = {row["what"]: (row.whole("least"), row.whole("most")) for row in facts.rows("io_limits")}
    return Panel(
        "Where the words lie in the controller",
        {
            "stations": _list_field(),
            "rule": fields.choice("rule", rules()),
            "first_in": fields.whole("inputs from byte", str(FIRST_BYTE["in"]), *limits["byte number"]),
            "first_out": fields.whole("outputs from byte", str(FIRST_BYTE["out"]), *limits["byte number"]),
            "grid_bytes": fields.whole("grid step, bytes", "32", *limits["grid step in bytes"]),
            "image_bytes": fields.whole("image, bytes", str(IMAGE_BYTES), *limits["image size in bytes"]),
            "numbering": fields.choice("numbers count", [("bytes", NUMBERINGS[0]), ("own size", NUMBERINGS[1])]),
            "detail": fields.whole("show station no.", "2", 1, 126),
        },
        io_image_view,
        hint="The format may be identifiers (16#11 16#21). A start by hand: %IB460 or %QB660 behind the line. "
        "Direction as the controller sees it.",
    )
