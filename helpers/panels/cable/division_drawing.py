"""A divided line as a strip, to scale: where each repeater goes, and what each segment holds."""

from __future__ import annotations

from itertools import accumulate

from helpers.bus.cable.repeater import Proposal
from helpers.panels.cable.line_signs import LETTER
from helpers.panels.kit.drawing import BLUE, INK, PAPER, SKY, Drawing
from helpers.quantity import quantity

_ONE_LINE = 3  # more repeaters than this have their words in two lines
_WIDTH, _LEFT, _RIGHT, _TOP, _HIGH = 760, 12.0, 742.0, 10.0, 34.0


def division_drawing(proposal: Proposal) -> Drawing:
    """The segments of a proposal end to end, with its repeaters; more than nine of them are not legible."""
    whole = sum(segment.length_m for segment in proposal.segments) or 1.0
    ends = list(accumulate((segment.length_m for segment in proposal.segments), initial=0.0))
    lines = 2 if len(proposal.places) > _ONE_LINE else 1
    sheet = Drawing(_WIDTH, _TOP + _HIGH + 12 + 12 * lines, proposal.says)

    def x(metres: float) -> float:
        return _LEFT + (_RIGHT - _LEFT) * metres / whole

    for n, (segment, start) in enumerate(zip(proposal.segments, ends, strict=False)):
        left, right = x(start), x(start + segment.length_m)
        sheet.box(left, _TOP, right - left, _HIGH, fill=PAPER if n % 2 else SKY, stroke=INK, line=1)
        long = quantity(segment.length_m, "m", decimals=1)
        words = [(long, f"{segment.interfaces} bus interfaces"), (long, f"{segment.interfaces} on it"), (long, "")]
        for upper, lower in words:
            if LETTER * max(len(upper), len(lower)) + 16 <= right - left:
                sheet.text((left + right) / 2, _TOP + 14 + 6 * (not lower), upper, size=11)
                sheet.text((left + right) / 2, _TOP + 28, lower, size=11)
                break
        here = start
        for piece in (*segment.pieces, None):
            sheet.line(x(here), _TOP + _HIGH, x(here), _TOP + _HIGH + 4, stroke=BLUE, width=1)
            here += piece.length_m if piece else 0.0
    for n, place in enumerate(proposal.places, 1):
        middle = x(place.position_m)
        sheet.path([(middle - 6, _TOP - 8), (middle + 6, _TOP - 8), (middle, _TOP + 2)], fill=INK)
        sheet.line(middle, _TOP, middle, _TOP + _HIGH + 10, width=2.5)
        words_below = f"{n}: {quantity(place.position_m, 'm', decimals=1)}"
        half = LETTER * len(words_below) / 2
        at = min(max(middle, half + 2), _WIDTH - half - 2)
        sheet.text(at, _TOP + _HIGH + 20 + 12 * (lines > 1 and n % 2 == 0), words_below, size=11, bold=True)
    return sheet
