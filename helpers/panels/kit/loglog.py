"""Curves over many powers of ten, drawn the same on every machine."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor, log10

from helpers.panels.kit.drawing import BLUE, INK, ORANGE, PAPER, Drawing
from helpers.quantity import about

_LEFT, _TOP, _BELOW = 74.0, 26.0, 44.0


@dataclass(frozen=True)
class Axis:
    """One axis: what it shows, its unit, its ends (above 0), and values to write at it instead of powers of ten."""

    name: str
    unit: str
    low: float
    high: float
    ticks: Sequence[float] = ()

    def part(self, value: float) -> float:
        """Where a value stands on the axis: 0 at its low end, 1 at its high end; outside it stands at the end."""
        span = log10(self.high / self.low)
        return min(1.0, max(0.0, log10(max(value, self.low) / self.low) / span))

    @property
    def marks(self) -> list[float]:
        """The values written at the axis, at most eight."""
        if self.ticks:
            return list(self.ticks)
        first, last = ceil(log10(self.low) - 1e-9), floor(log10(self.high) + 1e-9)
        step = 1 + (last - first) // 8
        return [10.0**power for power in range(first, last + 1, step)]


@dataclass(frozen=True)
class Curve:
    """A named line through points; the first of several is drawn in full, the next dashed."""

    name: str
    points: Sequence[tuple[float, float]]


def curves(width: float, height: float, x: Axis, y: Axis, lines: Sequence[Curve], *, at: tuple[float, float],
           words: str, says: str) -> Drawing:  # fmt: skip
    """Curves on two logarithmic axes; `at` is the point the panel speaks of, `words` stand beside it."""
    sheet = Drawing(width, height, says)
    right, floor_ = width - 28, height - _BELOW

    def place(point: tuple[float, float]) -> tuple[float, float]:
        return _LEFT + (right - _LEFT) * x.part(point[0]), floor_ - (floor_ - _TOP) * y.part(point[1])

    for value in x.marks:
        px, _ = place((value, y.low))
        sheet.line(px, _TOP, px, floor_, stroke="#d5d9de", width=1)
        sheet.text(px, floor_ + 15, about(value, x.unit), size=11)
    for value in y.marks:
        _, py = place((x.low, value))
        sheet.line(_LEFT, py, right, py, stroke="#d5d9de", width=1)
        sheet.text(_LEFT - 6, py + 4, about(value, y.unit), size=11, anchor="end")
    sheet.line(_LEFT, floor_, right, floor_, width=1)
    sheet.line(_LEFT, _TOP, _LEFT, floor_, width=1)
    sheet.text((_LEFT + right) / 2, floor_ + 33, x.name, size=12)
    sheet.text(6, 15, y.name, size=12, anchor="start")
    for n, line in enumerate(lines):
        points = [place(point) for point in line.points]
        if n == 0:
            sheet.path(points, stroke=BLUE, width=2.5)
        else:
            for (x1, y1), (x2, y2) in zip(points[::2], points[1::2], strict=False):
                sheet.line(x1, y1, x2, y2, stroke=ORANGE, width=2)
    _key(sheet, width / 2, [line.name for line in lines])
    px, py = place(at)
    sheet.dot(px, py, 5, fill=INK, stroke=PAPER)
    # Words stand where the curve is not: above it on the outer side, or below it where the sheet ends there.
    falls = lines[0].points[0][1] > lines[0].points[-1][1]
    room = 7.2 * len(words) + 12
    above = px + room < right if falls else px - room > _LEFT
    start = falls == above
    sheet.text(px + 9 if start else px - 9, py - 8 if above else py + 17, words, size=12, bold=True,
               anchor="start" if start else "end")  # fmt: skip
    return sheet


def _key(sheet: Drawing, at: float, names: Sequence[str]) -> None:
    for n, name in enumerate(names):
        sheet.line(
            at, 11, at + 24, 11, stroke=ORANGE if n else BLUE, width=2 if n else 2.5, dash="5 4" if n else "none"
        )
        sheet.text(at + 30, 15, name, size=11, anchor="start")
        at += 56 + 6.6 * len(name)
