"""The margin from every sender to every receiver of a segment with one thing wrong, as a table drawn to be read."""

from __future__ import annotations

import numpy as np

from helpers.answer import Answer
from helpers.bus.cable.bit_rates import bit_rate_text
from helpers.bus.circuit.elements import Tap, evenly_spaced
from helpers.bus.circuit.faults import CATALOGUE
from helpers.bus.circuit.margin import Matrix, margin_matrix, threshold_v
from helpers.facts import one
from helpers.panels.cable.meter import HEALTHY
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.wording import capital_first

_SHEET = 350  # pixels on either side
_LEAST_CELL_FOR_NUMBERS = 26


def margins_view(fault: str, stations: int, length_m: float, stub_m: float, bit_rate: float) -> Answer:
    """Every station sends in turn, every station listens: the worst margin of each pair."""
    healthy = evenly_spaced(stations, length_m, plug=Tap(stub_m=stub_m))
    segment = CATALOGUE[fault](healthy) if fault != HEALTHY else healthy
    matrix = margin_matrix(segment, bit_rate=bit_rate)
    sender, receiver, least = matrix.worst
    apart = ~np.eye(len(matrix.stations), dtype=bool)
    below = int(((matrix.volts <= 0) & apart).sum())
    pairs = int(apart.sum())
    rate = bit_rate_text(bit_rate)
    wrong = "" if fault == HEALTHY else f"{capital_first(fault)}. "
    if below:
        sentence = f"{wrong}At {rate}, {below} of {pairs} pairs have no margin: not every bit is sure to be read."
    else:
        sentence = f"{wrong}At {rate}, every pair has margin: {_volts(least)} V or more."
    return Answer(
        sentence,
        because=f"The worst pair: station {sender + 1} sends, station {receiver + 1} listens, margin {_volts(least)} "
        f"V. Margin is what the voltage has beyond ±{threshold_v() * 1000:.0f} mV in the middle of "
        "the worst bit.",
        pictures=[matrix_drawing(matrix)],
        sources=[
            f"receiver threshold: {one('rs485', name='threshold_v').cited}",
            f"sender: {one('rs485', name='driver_usual_v').cited}",
            "loss in the cable and capacitance of a station: memory",
            "solved as a network (calculated)",
        ],
    )


def _volts(value: float) -> str:
    """A margin with one digit; one that is nearly nothing keeps its sign.

    >>> _volts(1.07), _volts(-2.7), _volts(-0.01), _volts(0.01)
    ('1.1', '−2.7', '< 0', '0.0')
    """
    if -0.05 < value <= 0:
        return "< 0"
    return f"{value:.1f}".replace("-", "−")


def matrix_drawing(matrix: Matrix) -> Drawing:
    """Senders down, receivers across. A cell without margin is dark and crossed; few stations show volts."""
    count = len(matrix.stations)
    cell = _SHEET / count
    sender, receiver, least = matrix.worst
    says = f"margins of {count} stations; worst: {sender + 1} to {receiver + 1}, {_volts(least)} V"
    sheet = Drawing(_SHEET + 250, _SHEET + 46, says)
    numbered = 1 if cell > 18 else 5
    for row, sends in enumerate(matrix.stations):
        for column, _ in enumerate(matrix.stations):
            x, y = 42 + column * cell, 36 + row * cell
            volts = float(matrix.volts[row, column])
            fill = PAPER if row == column else (ORANGE if volts <= 0 else SAND if volts < 0.5 else SKY)
            sheet.box(x, y, cell, cell, fill=fill, stroke=GREY, line=0.5)
            if row == column:
                continue
            if cell >= _LEAST_CELL_FOR_NUMBERS:
                colour = PAPER if volts <= 0 else INK
                sheet.text(x + cell / 2, y + cell / 2 + 4, _volts(volts), size=12, fill=colour, bold=volts <= 0)
            elif volts <= 0:
                sheet.line(x + 2, y + 2, x + cell - 2, y + cell - 2, stroke=PAPER)
                sheet.line(x + 2, y + cell - 2, x + cell - 2, y + 2, stroke=PAPER)
        if (sends + 1) % numbered == 0 or sends == 0:
            sheet.text(36, 36 + row * cell + cell / 2 + 4, sends + 1, size=11, fill=GREY, anchor="end")
            sheet.text(42 + row * cell + cell / 2, 30, sends + 1, size=11, fill=GREY)
    sheet.text(42 + _SHEET / 2, 13, "station that listens", size=12)
    sheet.text(12, 36 + _SHEET / 2, "station that sends", size=12, turn=-90)
    keys = ((SKY, "margin 0.5 V or more"), (SAND, "margin below 0.5 V"), (ORANGE, "no margin: bits not sure"))
    for n, (fill, words) in enumerate(keys):
        sheet.box(_SHEET + 62, 40 + n * 26, 18, 18, fill=fill, stroke=GREY, line=1)
        sheet.text(_SHEET + 88, 54 + n * 26, words, size=12, anchor="start")
    sheet.box(_SHEET + 62, 118, 18, 18, stroke=GREY, line=1)
    sheet.text(_SHEET + 88, 132, "itself", size=12, anchor="start")
    return sheet


def margins_panel() -> Panel:
    """The margin matrix of an even line with one thing wrong."""
    return Panel(
        "Who can hear whom?",
        {
            "fault": fields.choice("what is wrong", (HEALTHY, *CATALOGUE)),
            "stations": fields.slider("stations", 8, 3, 32),
            "length_m": fields.with_unit("length of cable", "100 m", "length", "m", 0, 1200),
            "stub_m": fields.with_unit("stub at each", "0 m", "length", "m", 0, 100),
            "bit_rate": fields.bit_rate(12_000_000),
        },
        margins_view,
        hint="With 32 stations each step takes a second or two: 1024 pairs are calculated.",
    )
