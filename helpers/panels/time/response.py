"""The panel of response time: from an input to the plant's answer, with the watchdog, and with a second master."""

from __future__ import annotations

from helpers.bus.time.answers import OTHERS, response_answer
from helpers.panels.kit import fields
from helpers.panels.kit.panel import Panel
from helpers.panels.time.cycle import demo_stations, read_stations


def response_panel() -> Panel:
    """From an input to the output: response time, watchdog, target rotation time, and a second master."""
    return Panel(
        "From input to output, and the watchdog",
        {
            "stations": fields.lines("stations", demo_stations(), read_stations, rows=5),
            "bit_rate": fields.bit_rate(1_500_000),
            "controller_s": fields.with_unit("program cycle", "20 ms", "time", "ms", 0, 100),
            "other": fields.choice("other master", OTHERS),
            "watchdog_s": fields.with_unit("watchdog set", "200 ms", "time", "ms", 0, 1000),
            "input_s": fields.with_unit("delay, input side", "3 ms", "time", "ms", 0, 100),
            "output_s": fields.with_unit("delay, output side", "4 ms", "time", "ms", 0, 100),
        },
        response_answer,
        hint="The first station is input and output. Its delays are in its manual. Watchdog 0 means off. The stations "
        "are those of the invented Saltmarsh Mill.",
    )
