"""Panels for a segment: does its cable keep the rules, how fast may it be, and where must a repeater go?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from helpers import written
from helpers.answer import Answer
from helpers.bus.cable.laid import cable_types
from helpers.bus.cable.line_picture import LinePicture
from helpers.bus.cable.repeater import Proposal
from helpers.bus.cable.segment_answer import even_answer, segment_answer
from helpers.errors import in_range
from helpers.panels.cable.division_drawing import division_drawing
from helpers.panels.cable.segment_drawing import line_drawing
from helpers.panels.kit import fields
from helpers.panels.kit.as_html import Draw
from helpers.panels.kit.panel import Panel
from helpers.panels.kit.plan_table import PlanTable, table_field
from helpers.plan.model import Network
from helpers.plan.rows import SEGMENT, Texts, segment_in, segment_rows
from helpers.quantity import quantity
from helpers.wording import counted

# Longer than any line of copper with all its repeaters; see data/repeaters.csv.
LONGEST_M = 20_000.0
MOST_DEVICES = 200
DRAW: Draw = {LinePicture: line_drawing, Proposal: division_drawing}
_MOST_PF = 10_000.0  # far more than the input of any device


# -- an even line, or one cabinet ---------------------------------------------------------------------


def _spacing(typed: str) -> float | None:
    return written.read_quantity(typed, "length", "m") if typed.strip().lower() not in ("", "even") else None


def _input(typed: str) -> float:
    farad = written.read_quantity(typed, "capacitance", "pF")
    in_range("input of a device", farad * 1e12, 0, _MOST_PF, "pF")
    return farad


def segment_panel() -> Panel:
    """A segment from a few figures."""
    return Panel(
        "Does this segment keep the rules?",
        {
            "stations": fields.whole("bus interfaces", "12", 2, MOST_DEVICES),
            "length_m": fields.with_unit("length of cable", "180 m", "length", "m", 0, LONGEST_M),
            "bit_rate": fields.bit_rate(1_500_000),
            "cable": fields.choice("type of cable", cable_types()),
            "spacing_m": fields.text("one cabinet, every", "even", _spacing),
            "stub_length_m": fields.with_unit("stub at each", "0 m", "length", "m", 0, LONGEST_M),
            "stub_capacitance_f": fields.text("input of a device", "0 pF", _input),
        },
        even_answer,
        draw=DRAW,
        hint="Count everything on the cable: controller, drives, repeaters, an engineering computer. Lengths in m or "
        "ft: 180 m, 600 ft. “one cabinet, every”: even, or a distance such as 0.5 m for stations side by side "
        "at the far end.",
    )


# -- device by device ------------------------------------------------------------------------------


def listed_segment_panel(*, own: bool = False) -> Panel:
    """A segment device by device: one of a network, or as you walk along the cable."""
    bit_rate, cable = fields.bit_rate(1_500_000), fields.choice("type of cable", cable_types())

    def take(network: Network) -> None:
        if network.has_known_rate:
            bit_rate.widget.value = network.bit_rate
        cable.widget.value = network.cable_type

    def answer(stations: Sequence[Texts], bit_rate: int, cable: str) -> Answer:
        segment = segment_in(stations, bit_rate=bit_rate, cable=cable)
        answer = segment_answer(segment)
        count = sum(piece.open is not None for piece in segment.pieces)
        if not count:
            return answer
        whole = quantity(segment.length_m, "m")
        taken = f"{counted(count, 'length')} not measured: the most likely is taken, {whole} in all."
        every = "The page of the whole network answers for every length."
        return replace(answer, because=f"{taken} {every} {answer.because}")

    table = PlanTable(
        SEGMENT,
        (240, 190, 100, 90, 110, 130),
        segment_rows,
        own=own,
        shown=6,
        parts=lambda network: [segment.name for segment in network.segments],
        on_network=take,
    )
    return Panel(
        "A segment, device by device",
        {"stations": table_field(table, tuple, wide=True), "bit_rate": bit_rate, "cable": cable},
        answer,
        draw=DRAW,
        hint="One row for each device along the cable. Its length is that of the cable from the row above, so the "
        "first row has none. A length may say its unit, as 280 ft, or be open: ?, about 20 m, 10 to 30 m.",
    )
