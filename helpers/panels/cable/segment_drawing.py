"""A line as a drawing: its segments below each other, every device with its plug, the pieces of cable, the ends.

One drawing serves two devices or a full segment: few devices have their names below them, many have
slanted names, and of more than a full segment the middle is left out, which the drawing says. Distances are
not to scale, but a longer piece of cable is never drawn shorter.
"""

from __future__ import annotations

import textwrap
from collections.abc import Mapping, Sequence
from itertools import groupby, pairwise

from helpers.bus.cable.laid import Plug, Segment
from helpers.bus.cable.line_picture import LinePicture, heading, troubles
from helpers.bus.cable.termination import cut_parts, lost
from helpers.panels.cable import line_signs as signs
from helpers.panels.cable.line_signs import LETTER
from helpers.panels.kit.as_html import SIGNS
from helpers.panels.kit.drawing import BLUE, GREY, INK, PAPER, PURPLE, SAND, Drawing
from helpers.quantity import quantity
from helpers.verdict import Degree
from helpers.wording import short

MOST_SHOWN = 32
_SHOWN_WITH_GAP = 29  # devices beside the gap that stands for the rest
_GAP = 2.0  # as many pitches to either side of it
_SIDE = 66.0  # px left and right of a row; the lines that join rows run in its outer 16 px
_ROOM = 62.0  # px between two devices that a name below them needs
_MOST_ROOM = 110.0
_LONGEST = 24  # letters of a slanted name
_STUB = 27.0  # px
_LINE = 13.0  # px from line to line


def line_drawing(picture: LinePicture) -> Drawing:
    """A segment, or several that repeaters of the same name join."""
    listed, width = list(picture.segments), picture.width
    rows = [_Row(segment, picture, _leads_to(segment, listed)) for segment in listed]
    named = signs.legend([device for segment in listed for device in segment.plugs], width) if picture.legend else []
    head = 26.0 if picture.title else 4.0
    foot = 28.0 * len(named) + 4
    sheet = Drawing(width, head + sum(row.height for row in rows) + foot, picture.says)
    if picture.title:
        sheet.text(10, 18, picture.title, size=15, anchor="start", bold=True)
    top = head
    tops = []
    for row in rows:
        tops.append(top)
        top += row.height
    _joints(sheet, rows, tops)
    for row, start in zip(rows, tops, strict=True):
        row.draw(sheet, start)
    for n, line in enumerate(named):
        for word, x in line:
            signs.legend_sign(sheet, word, x, top + 15 + 28 * n)
    return sheet


def _leads_to(segment: Segment, listed: Sequence[Segment]) -> dict[str, str]:
    """For each repeater of a segment, the other segments it is in."""
    leads = {}
    for device in segment.plugs:
        others = [s.name for s in listed if s is not segment and any(_same(device, d) for d in s.plugs)]
        if others:
            leads[device.name] = "to " + ", ".join(others)
    return leads


def _same(one: Plug, other: Plug) -> bool:
    return one.is_repeater and other.is_repeater and one.name == other.name


# -- one row ------------------------------------------------------------------------------------------


class _Row:
    """One segment: where everything stands, and the drawing of it. Heights count from the row's top."""

    def __init__(self, segment: Segment, picture: LinePicture, leads: Mapping[str, str]) -> None:
        self.segment, self.picture, width = segment, picture, picture.width
        self.gone = lost(segment)
        self.shown = _shown(segment, picture)
        steps = [_GAP if -1 in pair else 1.0 for pair in pairwise(self.shown)]
        self.pitch = (width - 2 * _SIDE) / sum(steps)
        self.below = self.pitch >= _ROOM
        self.words = [self._words(device, leads) for device in segment.plugs]
        self.left = _SIDE if self.below else self._room_left()
        self.pitch = (width - _SIDE - self.left) / sum(steps)
        self.x = self._places_along(width, steps)
        self.wide = min(30.0, self.pitch - 4)
        self.labels = self._labels()
        upright = [len(text) for a, b, text in self.labels if LETTER * len(text) > self._span(a, b)]
        self.cable = 18.0 + 16 * bool(picture.places) + max(34.0, 20 + LETTER * max(upright, default=0))
        self.stub = _STUB if any(device.stub_length_m for device in segment.plugs) else 0.0
        self.names = self.cable + signs.PLUG[1] / 2 + signs.HIGH + self.stub + 14
        self.height = self.names + self._names_high() + 10

    def _words(self, device: Plug, leads: Mapping[str, str]) -> list[tuple[str, bool]]:
        """Name and remarks of a device, in lines; troubles are bold."""
        remarks = [leads[device.name]] if device.name in leads else []
        remarks += [self.picture.notes[device.name]] if device.name in self.picture.notes else []
        wrong = troubles(device, self.gone)
        if not self.below:
            return [(" · ".join([short(device.name, _LONGEST), *remarks, *wrong]), bool(wrong))]
        letters = int(min(self.pitch, _MOST_ROOM) / LETTER)
        if max(map(len, device.name.split()), default=0) == letters + 1:
            letters += 1  # better a little narrow than a word broken for its last letter
        name = textwrap.wrap(device.name, letters, max_lines=3, placeholder=" …") or [""]
        plain = [(short(line, letters), False) for line in name] + [(short(r, letters + 2), False) for r in remarks]
        return plain + [(trouble, True) for trouble in wrong]

    def _room_left(self) -> float:
        """A slanted name stands to the left of its device."""
        long = [0.57 * LETTER * len(self.words[d][0][0]) - n * self.pitch for n, d in enumerate(self.shown) if d >= 0]
        return max(_SIDE, *(w + 8 for w in long))

    def _places_along(self, width: float, steps: Sequence[float]) -> dict[int, float]:
        """Where each device stands; those left out stand where the gap is. What is to spare goes to the long pieces."""
        least = min(self.pitch, _MOST_ROOM)
        spare = width - _SIDE - self.left - least * sum(steps)
        whole = self.segment.length_m
        x = {self.shown[0]: self.left}
        for (one, other), step in zip(pairwise(self.shown), steps, strict=True):
            of_whole = self.segment.pieces[one].length_m / whole if whole and -1 not in (one, other) else 0.0
            x[other] = x[one] + least * step + spare * (of_whole if whole else step / sum(steps))
        return {n: x.get(n, x.get(-1, 0.0)) for n in (*range(len(self.segment.plugs)), -1)}

    def _labels(self) -> list[tuple[int, int, str]]:
        """Lengths of the pieces: first device, last device, words. Equal pieces in a row are said once."""
        mixed = len({section.cable for section in self.segment.pieces}) > 1
        found, start = [], 0
        for (length, kind), run in groupby(self.segment.pieces, key=lambda piece: (piece.length_text, piece.cable)):
            count = len(list(run))
            words = (f"{count} × " if count > 1 else "") + length + (f" {kind}" if mixed else "")
            found.append((start, start + count, words))
            start += count
        return found

    def _span(self, first: int, last: int) -> float:
        return self.x[last] - self.x[first] - 8

    def _names_high(self) -> float:
        if self.below:
            return _LINE * max(len(self.words[n]) for n in self.shown if n >= 0)
        return 0.92 * LETTER * max(len(self.words[n][0][0]) for n in self.shown if n >= 0)

    # -- drawing ----------------------------------------------------------------------------------

    def draw(self, sheet: Drawing, top: float) -> None:
        """Everything of this row, below `top`."""
        if self.picture.places:
            self._draw_places(sheet, top)
        words = short(heading(self.segment), int((sheet.width - 20) / 7.4))
        sheet.text(20, top + 13, words, size=12, anchor="start", bold=True)
        self._draw_cable(sheet, top + self.cable)
        self._draw_lengths(sheet, top + self.cable)
        for n in self.shown:
            if n < 0:
                left_out = len(self.segment.plugs) - len(self.shown) + 1
                sheet.text(self.x[n], top + self.cable + 24, f"{left_out} more", size=11)
            else:
                self._draw_device(sheet, n, top)

    def _draw_places(self, sheet: Drawing, top: float) -> None:
        for place, run in groupby(
            (n for n in self.shown if n >= 0), key=lambda n: self.picture.places.get(self.segment.plugs[n].name, "")
        ):
            if place:
                among = list(run)
                first, last = among[0], among[-1]
                left = self.x[first] - self._half_gap(first, -1)
                right = self.x[last] + self._half_gap(last, +1)
                sheet.box(left, top + 20, right - left, self.height - 32, fill=SAND, stroke=GREY, round_=6, line=1)
                sheet.text(left + 6, top + 33, short(place, int((right - left - 8) / LETTER)), size=11, anchor="start")

    def _half_gap(self, device: int, step: int) -> float:
        beyond = device + step
        if not 0 <= beyond < len(self.segment.plugs):
            return _SIDE - 10
        return min(_SIDE - 10, abs(self.x[beyond] - self.x[device]) / 2 - 2)

    def _draw_cable(self, sheet: Drawing, y: float) -> None:
        for one, other in pairwise(self.shown):
            if one < 0 or other < 0:
                sheet.line(self.x[one], y, self.x[other], y, stroke=BLUE, width=4, dash="2 5")
            else:
                signs.cable(sheet, self.x[one], self.x[other], y, kind=self.segment.pieces[one].cable)
        ends = ((0, -1), (len(self.segment.plugs) - 1, +1))
        for n, way in ends:
            device = self.segment.plugs[n]
            if device.own_supply:
                signs.cable(sheet, self.x[n], self.x[n] + way * 26, y)
                signs.own_supply(sheet, self.x[n] + way * 34, y)
                for line, word in enumerate(("supply", "own")):
                    sheet.text(self.x[n] + way * 34, y - 16 - 12 * line, word, size=11)
        for n in self._cuts():
            self._drawshort(sheet, n, y)

    def _cuts(self) -> list[int]:
        """The pieces of cable that are cut off, by number."""
        ends, count = [], 0
        for part in cut_parts(self.segment)[:-1]:
            count += len(part)
            ends.append(count - 1)
        return ends

    def _drawshort(self, sheet: Drawing, n: int, y: float) -> None:
        """A gap beside the plug that cuts, with its word."""
        left = self.segment.plugs[n]
        by_left = left.terminator_on and left.plug_type == "cutting" and left.sides_exchanged == (n == 0)
        x = self.x[n] + 19 if by_left else self.x[n + 1] - 19
        room, middle = self.x[n + 1] - self.x[n] - self.wide, (self.x[n] + self.x[n + 1]) / 2
        sheet.box(x - 5, y - 5, 10, 10, stroke="none")
        for side in (-5, 5):
            sheet.line(x + side - 2, y + 7, x + side + 2, y - 7, stroke=PURPLE, width=2)
        # Between two devices that stand close the word takes two lines; closer still, the lost ones' names say it.
        if room >= 8 * LETTER:
            sheet.text(x, y + 20, "cut off", size=11, fill=PURPLE, bold=True, anchor="start" if by_left else "end")
        elif room >= 4 * LETTER:
            for line, word in enumerate(("cut", "off")):
                sheet.text(middle, y + 20 + _LINE * line, word, size=11, fill=PURPLE, bold=True)

    def _draw_lengths(self, sheet: Drawing, y: float) -> None:
        for first, last, words in self.labels:
            if self.x[first] == self.x[last]:
                continue
            middle = (self.x[first] + self.x[last]) / 2
            if LETTER * len(words) > self._span(first, last):
                sheet.text(middle + 4, y - 12, words, size=11, anchor="start", turn=-90)
                continue
            sheet.text(middle, y - 12 - 8 * (last - first > 1), words, size=11)
            if last - first > 1:
                a, b = self.x[first] + 7, self.x[last] - 7
                sheet.path([(a, y - 11), (a, y - 15), (b, y - 15), (b, y - 11)], stroke=GREY, width=1)

    def _draw_device(self, sheet: Drawing, n: int, top: float) -> None:
        device, x = self.segment.plugs[n], self.x[n]
        y = top + self.cable
        if device.stub_length_m:
            sheet.dot(x, y, 3.5, fill=BLUE, stroke=BLUE)
            sheet.line(x, y, x, y + self.stub, stroke=BLUE, width=2.5)
            words = quantity(device.stub_length_m, "m")
            if self.pitch > LETTER * len(words) + 14:
                sheet.text(x + 6, y + self.stub - 10, words, size=11, anchor="start")
            y += self.stub
        alive = device.powered and device.name not in self.gone
        box = y + signs.PLUG[1] / 2
        signs.device(sheet, x, box, device.kind, wide=self.wide, alive=alive)
        if device.kind != "terminator":
            signs.plug(
                sheet, x, y, on=device.terminator_on, live=device.powered, wide=min(signs.PLUG[0], max(self.wide, 19.0))
            )
        if device.own_supply and n not in (0, len(self.segment.plugs) - 1):
            aside = x + 20 * device.terminator_on
            sheet.path([(aside, y - 12), (aside, y - 7 + 7 * device.terminator_on)], stroke=BLUE, width=2.5)
            signs.own_supply(sheet, aside, y - 22)
            way, anchor = (1, "start") if x < sheet.width / 2 else (-1, "end")
            sheet.text(aside + 12 * way, y - 18, "own supply", size=11, anchor=anchor)
        self._draw_mark(sheet, device, x - self.wide / 2, box + signs.HIGH)
        self._draw_words(sheet, n, top)

    def _draw_mark(self, sheet: Drawing, device: Plug, x: float, y: float) -> None:
        degree = self.picture.marks.get(device.name, Degree.IN_ORDER)
        if degree:
            sign, colour = SIGNS[degree]
            sheet.dot(x, y - 3, 7, fill=PAPER, stroke=colour)
            sheet.text(x, y + 1, sign, size=11, fill=colour)

    def _draw_words(self, sheet: Drawing, n: int, top: float) -> None:
        if not self.below:
            words, bold = self.words[n][0]
            sheet.text(self.x[n] + 4, top + self.names - 4, words, size=11, anchor="end", turn=-60, bold=bold)
            return
        for row, (words, bold) in enumerate(self.words[n]):
            sheet.text(self.x[n], top + self.names + _LINE * row, words, size=11, bold=bold)


def _shown(segment: Segment, picture: LinePicture) -> list[int]:
    """The devices to draw, by number; -1 stands for those left out of a line too long to draw."""
    count = len(segment.plugs)
    if count <= MOST_SHOWN:
        return list(range(count))
    # The gap goes where nothing is to be seen: into the longest run of plain devices.
    plain = [
        not (0 < n < count - 1) or d.terminator_on or d.own_supply or d.is_repeater or bool(picture.marks.get(d.name))
        for n, d in enumerate(segment.plugs)
    ]
    runs, n = [], 0
    for special, run in groupby(plain):
        long = len(list(run))
        if not special:
            runs.append((long, n))
        n += long
    long, start = max(runs, default=(count - 2, 1))
    out = min(long, count - _SHOWN_WITH_GAP)
    first = start + (long - out) // 2
    return [*range(first), -1, *range(first + out, count)]


# -- what joins the rows ------------------------------------------------------------------------------


def _joints(sheet: Drawing, rows: Sequence[_Row], tops: Sequence[float]) -> None:
    """A line between the two places of each repeater that stands at the end of both its segments.

    One in the middle of a segment is joined by words alone: a line to it would cross others.
    """
    lane = 0
    for above, below in ((a, b) for b in range(len(rows)) for a in range(b)):
        for n in (0, len(rows[above].segment.plugs) - 1):
            for m in (0, len(rows[below].segment.plugs) - 1):
                if _same(rows[above].segment.plugs[n], rows[below].segment.plugs[m]):
                    _joint(sheet, rows, tops, (above, n), (below, m), lane % 4)
                    lane += 1


def _joint(
    sheet: Drawing, rows: Sequence[_Row], tops: Sequence[float], start: tuple[int, int], end: tuple[int, int], lane: int
) -> None:
    side = signs.PLUG[1] / 2 + signs.HIGH / 2
    points: list[tuple[float, float]] = []
    for row, device in (start, end):
        x, y = rows[row].x[device], tops[row] + rows[row].cable + side
        at_left = device == 0
        edge = 4.0 + 4 * lane if at_left else sheet.width - 4 - 4 * lane
        way = [(x, y), (edge, y)]
        points += way if not points else way[::-1]
    if points[1][0] != points[2][0]:
        y = tops[start[0]] + rows[start[0]].height - 4 - 3 * lane
        points[2:2] = [(points[1][0], y), (points[2][0], y)]
    sheet.path(points, stroke=INK, width=1.5)
