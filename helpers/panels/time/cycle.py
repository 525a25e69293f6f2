"""Panels for the time that data cost: what a longer format adds, and the bus cycle by three ways to calculate it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from helpers.answer import Answer
from helpers.bus.time.answers import cycle_answer, step_answer
from helpers.bus.time.message_cycle import Exchange
from helpers.device import formats as data_formats
from helpers.panels.kit import fields
from helpers.panels.kit.fields import Field
from helpers.panels.kit.panel import Panel
from helpers.panels.kit.plan_table import PlanTable, table_field
from helpers.plan.model import Network
from helpers.plan.rows import EXCHANGES, exchange_rows, exchanges_in
from helpers.quantity import quantity

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


def stations_table(own: bool, on_network: Callable[[Network], object] | None = None, *, shown: int = 9) -> Field:
    """The stations that a controller polls, with their data formats."""
    table = PlanTable(
        EXCHANGES, (138, 116), lambda network, _: exchange_rows(network), own=own, shown=shown, on_network=on_network
    )
    return table_field(table, exchanges_in)


def cycle_panel(*, own: bool = False) -> Panel:
    """The bus cycle of the stations of a network, or of your own list: three ways to calculate it, every bit rate."""
    bit_rate = fields.bit_rate(1_500_000)
    length_m = fields.with_unit("cable, end to end", "100 m", "length", "m", 0, 20_000)
    interval_s = fields.with_unit("min slave interval", "0 ms", "time", "ms", 0, 6.5535)
    computer = fields.tick("engineering computer on the bus", False)

    def take(network: Network) -> None:
        """What else the network says: its bit rate, its longest way, its slowest station, a second master."""
        if network.has_known_rate:
            bit_rate.widget.value = network.bit_rate
        length_m.widget.value = quantity(max(way.length_m for way in network.ways), "m")
        slowest_s = max((station.min_slave_interval_s or 0 for station in network.slaves), default=0)
        interval_s.widget.value = quantity(slowest_s * 1000, "ms")
        computer.widget.value = len(network.masters) > 1

    def answer(stations: Sequence[Exchange], computer: bool, **setting: Any) -> Answer:
        return cycle_answer(stations, masters=2 if computer else 1, **setting)

    return Panel(
        "How long is a bus cycle?",
        {
            "stations": stations_table(own, take),
            "bit_rate": bit_rate,
            "length_m": length_m,
            "interval_s": interval_s,
            "computer": computer,
            "lost": fields.slider("lost telegrams", 1, 0, 5),
        },
        answer,
        hint="A format is a name such as PPO 4, identifiers, or bytes out/in such as 12/16. The interval is the "
        "longest Min_Slave_Interval of the device descriptions: a cycle is never shorter, the controller waits. At 0 "
        "no station asks for that.",
    )
