"""The margin from every sender to every receiver of a segment with one thing wrong, as a table drawn to be read."""

from __future__ import annotations

import numpy as np

from helpers.answer import Answer
from helpers.bus.cable.bit_rates import bit_rate_text
from helpers.bus.circuit.elements import Tap, evenly_spaced
from helpers.bus.circuit.faults import CATALOGUE
from helpers.bus.circuit.margin import MarginMatrix, margin_matrix, threshold_v
from helpers.curves import Matrix
from helpers.facts import one
from helpers.panels.cable.meter import HEALTHY
from helpers.panels.kit import fields
from helpers.panels.kit.panel import Panel
from helpers.wording import capital_first

# From which margin on a shade of the picture holds [V], and what it means.
_SHADES = ((1.0, "margin 1 V or more"), (0.5, "margin 0.5 V to 1 V"), (1e-12, "margin below 0.5 V"),
           (-np.inf, "no margin: bits not sure"))  # fmt: skip


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
        pictures=[margins_matrix(matrix)],
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


def margins_matrix(margins: MarginMatrix) -> Matrix:
    """Senders down, receivers across, each with its margin in volts."""
    sender, receiver, least = margins.worst
    names = [str(station + 1) for station in margins.stations]
    apart = np.where(np.eye(len(names), dtype=bool), np.nan, margins.volts)
    return Matrix(
        f"margins of {len(names)} stations; worst: {sender + 1} to {receiver + 1}, {_volts(least)} V",
        rows=names,
        columns=names,
        row_label="station that sends; margins in V",
        column_label="station that listens",
        values=apart,
        cells=[["" if np.isnan(volts) else _volts(volts) for volts in line] for line in apart],
        shades=_SHADES,
    )


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
