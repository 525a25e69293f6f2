"""A panel for the cables beside a bus cable: which lies too near, by which source, and which crosses badly."""

from __future__ import annotations

from collections.abc import Mapping

from helpers.bus.cable.separation import Run, TrayPicture, asked, kind, separation_answer, separation_limit
from helpers.facts import Limit
from helpers.panels.kit.as_html import SIGNS
from helpers.panels.kit.drawing import GREY, INK, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.panels.kit.plan_table import PlanTable, table_field
from helpers.plan.rows import NEIGHBOURS, neighbour_rows, neighbours_in
from helpers.quantity import quantity
from helpers.verdict import Degree
from helpers.wording import short


def separation_panel(*, own: bool = False) -> Panel:
    """Judge the cables beside a bus cable: those of a network, or your own list."""
    table = PlanTable(
        NEIGHBOURS,
        (210, 120, 90, 80, 90, 90, 100, 110, 130),
        lambda network, _: neighbour_rows(network),
        own=own,
        shown=6,
        usual="the Mill extended",
    )
    return Panel(
        "Do these cables keep their distance?",
        {"runs": table_field(table, neighbours_in, wide=True)},
        separation_answer,
        draw={TrayPicture: tray_drawing},
        hint="A length may say its unit: 10 cm. A shield counts when it is earthed at both ends, a divider when it is "
        "metal and earthed.",
    )


# -- the tray -----------------------------------------------------------------------------------------

_WIDTH, _LANE, _HEAD = 760, 32, 26
_ZERO, _END, _FAR_M = 214.0, 600.0, 0.5  # px of the bus cable's skin and of the scale's end; m at its end
_CABLE = 6.0  # radius in px
_LILAC = "#ecd9e7"


def place(distance_m: float) -> float:
    """Where a distance from the bus cable stands, in px; what is farther than the scale stands at its end."""
    return _ZERO + (_END - _ZERO) * min(distance_m, _FAR_M) / _FAR_M


def tray_drawing(picture: TrayPicture) -> Drawing:
    """One lane for each cable, with the distances that each source asks for."""
    runs, letters = picture.runs, picture.letters
    sheet = Drawing(_WIDTH, _HEAD + _LANE * len(runs) + 22, picture.says)
    _legend(sheet)
    for n, (run, degree) in enumerate(runs):
        _lane(sheet, _HEAD + _LANE * n, run, degree, letters)
    base = _HEAD + _LANE * len(runs) + 3
    sheet.line(_ZERO, base, _END, base, width=1)
    for tenth in range(6):
        x = place(tenth / 10)
        sheet.line(x, base, x, base + 4, width=1)
        sheet.text(x, base + 15, quantity(tenth / 10, "m"), size=11)
    return sheet


def _legend(sheet: Drawing) -> None:
    sheet.text(_ZERO - 12, 15, "bus cable", size=11, anchor="end", bold=True)
    sheet.dot(_ZERO - 4, 11, 4, fill=INK)
    x = _ZERO + 12
    for fill, words in ((_LILAC, "all sources ask for more"), (SAND, "some ask for more"), (SKY, "enough for all")):
        sheet.box(x, 5, 14, 12, fill=fill, stroke=GREY, line=0.8)
        sheet.text(x + 19, 15, words, size=11, anchor="start")
        x += 34 + 6.3 * len(words)


def _lane(sheet: Drawing, top: float, run: Run, degree: Degree, letters: Mapping[str, str]) -> None:
    middle = top + 9
    _sign(sheet, 9, middle, degree)
    sheet.text(20, middle + 4, short(run.name, 22), size=12, anchor="start", bold=True)
    sheet.text(20, middle + 17, short(kind(run), 30), size=11, anchor="start", fill=GREY)
    if run.parallel_m:
        _zones(sheet, top, separation_limit(run), asked(run, letters))
        _cables(sheet, middle, run)
    else:
        sheet.text(_ZERO + 6, middle + 4, "only crosses", size=11, anchor="start", fill=GREY)
    if run.crossing != "none":
        _crossing(sheet, middle, run.crossing)


def _zones(sheet: Drawing, top: float, limit: Limit, distances: list[tuple[float, str]]) -> None:
    last, cautious = max(limit.last, 0.0), limit.cautious
    for low, high, fill in ((0.0, last, _LILAC), (last, cautious, SAND), (cautious, _FAR_M, SKY)):
        if high > low:
            sheet.box(place(low), top + 2, place(high) - place(low), 14, fill=fill, stroke="none")
    for distance_m, who in distances:
        x = place(distance_m)
        sheet.line(x, top + 2, x, top + 18, width=1, stroke=GREY)
        sheet.text(x, top + 28, who, size=11)


def _cables(sheet: Drawing, middle: float, run: Run) -> None:
    sheet.dot(_ZERO - 5, middle, 5, fill=INK)
    edge = place(run.distance_m)
    x = edge + _CABLE
    if run.divider != "none":
        at, thick = (_ZERO + edge) / 2, 5.0 if run.divider == "steel" else 3.0
        sheet.line(at, middle - 9, at, middle + 9, width=thick, stroke=INK)
        sheet.text(at + 6, middle + 4, run.divider, size=11, anchor="start") if edge - at > 62 else None
    if run.shielded:
        sheet.dot(x, middle, _CABLE + 2.5, fill=PAPER)
    sheet.dot(x, middle, _CABLE if not run.shielded else _CABLE - 1, fill=GREY)
    far = run.distance_m > _FAR_M
    words = quantity(run.distance_m, "m") + (" →" if far else "")
    sheet.text(x + 14, middle + 4, words, size=11, anchor="start", bold=True)


def _crossing(sheet: Drawing, middle: float, crossing: str) -> None:
    x, lean = 664.0, 0.0 if crossing == "right angle" else 8.0
    sheet.line(x - 9, middle, x + 9, middle, width=3)
    sheet.line(x - lean, middle + 9, x + lean, middle - 9, width=2, stroke=GREY)
    sheet.text(x + 16, middle + 4, crossing, size=11, anchor="start")


def _sign(sheet: Drawing, x: float, y: float, degree: Degree) -> None:
    _, colour = SIGNS[degree]
    if degree is Degree.IN_ORDER:
        sheet.dot(x, y, 4, fill=colour, stroke=colour)
    elif degree is Degree.CAUTION:
        sheet.path([(x - 6, y + 5), (x, y - 6), (x + 6, y + 5)], stroke=colour, fill=colour)
    else:
        sheet.box(x - 5, y - 5, 10, 10, fill=colour, stroke=colour)
