"""The panel of response time: from an input to the plant's answer, with the watchdog, and with a second master."""

from __future__ import annotations

from helpers.bus.time.answers import OTHERS, response_answer
from helpers.panels.kit import fields
from helpers.panels.kit.panel import Panel
from helpers.panels.time.cycle import stations_table
from helpers.plan.model import Network


def response_panel(*, own: bool = False) -> Panel:
    """From an input to the output: response time, watchdog, target rotation time, and a second master."""
    bit_rate = fields.bit_rate(1_500_000)

    def take(network: Network) -> None:
        if network.has_known_rate:
            bit_rate.widget.value = network.bit_rate

    return Panel(
        "From input to output, and the watchdog",
        {
            "stations": stations_table(own, take, shown=6),
            "bit_rate": bit_rate,
            "controller_s": fields.with_unit("program cycle", "20 ms", "time", "ms", 0, 100),
            "other": fields.choice("other master", OTHERS),
            "watchdog_s": fields.with_unit("watchdog set", "200 ms", "time", "ms", 0, 1000),
            "input_s": fields.with_unit("delay, input side", "3 ms", "time", "ms", 0, 100),
            "output_s": fields.with_unit("delay, output side", "4 ms", "time", "ms", 0, 100),
        },
        response_answer,
        hint="The first station is input and output. Its delays are in its manual. Watchdog 0 means off.",
    )
