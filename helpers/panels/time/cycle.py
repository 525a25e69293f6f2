"""Panels for the time that data cost: what a longer format adds, and the bus cycle by three ways to calculate it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from typing import Any

from helpers.answer import Answer
from helpers.bus.time.answers import cycle_answer, step_answer
from helpers.bus.time.message_cycle import Exchange
from helpers.device import formats as data_formats
from helpers.errors import Unreadable, in_range
from helpers.panels.kit import fields
from helpers.panels.kit.panel import Panel
from helpers.plan.my_networks import demo_network

# -- the panels ---------------------------------------------------------------------------------------


def step_panel() -> Panel:
    """What one format costs against another, at each bit rate."""
    names = [each.name for each in data_formats.all_formats()]
    return Panel(
        "What does a longer format cost?",
        {
            "before": fields.choice("format", names, "PPO 3"),
            "after": fields.choice("instead", names, "PPO 5"),
            "drives": fields.slider("drives", 8, 1, 124),
            "bit_rate": fields.bit_rate(1_500_000),
        },
        step_answer,
        hint="The bars show the message of one drive, item by item. The table shows the cycle of one controller with "
        "nothing but these drives.",
    )


# -- the bus cycle three ways -------------------------------------------------------------------------


def read_stations(typed: str) -> tuple[Exchange, ...]:
    """Stations as people list them, one kind a line: `4 × PPO 4`, `2 x 12/16` (bytes out/in), `F3 F1`.

    Errors: `Unreadable` for a line that is neither, or if there is none; `OutOfRange` for a count.

    >>> [(station.name, station.data_bytes) for station in read_stations("2 × PPO 3, 12 / 16")]
    [('PPO 3', 8), ('PPO 3', 8), ('12 / 16', 28)]
    """
    found: list[Exchange] = []
    for line in (part.strip() for part in re.split(r"[,;\n]", typed)):
        if not line:
            continue
        count, what = re.fullmatch(r"(?:(\d+)\s*[×x*]\s*)?(.*)", line).groups("1")  # type: ignore[union-attr]
        in_range(f"number of stations “{what[:30]}”", int(count[:9]), 1, 125, source="addresses 1 to 125")
        found += [_station(what)] * int(count)
    if not found:
        raise Unreadable("there is no station; write for example 4 × PPO 4, or 2 × 12/16 for bytes out/in.")
    return tuple(found)


def _station(what: str) -> Exchange:
    found = data_formats.configuration(what)
    return Exchange(found.bytes_out, found.bytes_in, name=what)


def demo_stations() -> str:
    """The stations of the invented Saltmarsh Mill, as `read_stations` reads them."""
    network = demo_network()
    counted = Counter(station.format_controller for station in network.slaves)
    return "\n".join(f"{count} × {name}" for name, count in counted.items())


def cycle_panel() -> Panel:
    """The bus cycle of your own stations: three ways to calculate it, and every bit rate."""

    def answer(stations: Sequence[Exchange], computer: bool, **setting: Any) -> Answer:
        return cycle_answer(stations, masters=2 if computer else 1, **setting)

    return Panel(
        "How long is a bus cycle?",
        {
            "stations": fields.lines("stations", demo_stations(), read_stations, rows=6),
            "bit_rate": fields.bit_rate(1_500_000),
            "length_m": fields.with_unit("cable, end to end", "100 m", "length", "m", 0, 20_000),
            "interval_s": fields.with_unit("min slave interval", "0 ms", "time", "ms", 0, 6.5535),
            "computer": fields.tick("engineering computer on the bus", False),
            "lost": fields.slider("lost telegrams", 1, 0, 5),
        },
        answer,
        hint="One kind of station a line: 4 × PPO 4, or bytes out/in as in 2 × 12/16. The interval is the longest "
        "Min_Slave_Interval of the device descriptions: a cycle is never shorter, the controller waits. At 0 no "
        "station asks for that. The start is the invented Saltmarsh Mill.",
    )
