"""Networks for the tests of the practice line."""

from functools import cache

from helpers.bus.cable.laid import Piece, Segment
from helpers.facts import DATA
from helpers.line.plant.build import installation_of
from helpers.line.plant.installation import Installation
from helpers.plan.model import Network, Station
from helpers.plan.read import read_plan


@cache
def demo() -> Installation:
    """The demo site, all in order."""
    return installation_of(read_plan(DATA / "demo/saltmarsh-mill").networks[0])


def row(count: int, bit_rate: float, *, spacing_m: float = 3.0, per_segment: int = 30, computer: int | None = None,
        data_format: str = "PPO 4", watchdog_s: float = 0.2) -> Network:  # fmt: skip
    """A controller and so many drives in a row, with a repeater behind every `per_segment` of them."""
    segments: list[Segment] = []
    here = [Station("Controller", "controller", position=1, address=1, terminator_on=True)]
    if computer is not None:
        here.append(Station("Computer", "engineering computer", position=2, address=computer, plug_type="through"))
    for n in range(count):
        name = str(len(segments) + 1)
        if n and n % per_segment == 0:
            repeater = f"Repeater {name}"
            here.append(Station(repeater, "repeater", plug_type="through", terminator_on=True))
            segments.append(_joined(name, here, spacing_m, bit_rate))
            name = str(len(segments) + 1)
            here = [Station(repeater, "repeater", position=1, plug_type="through", terminator_on=True)]
        last = n == count - 1
        here.append(
            Station(f"Drive {n + 1}", "drive", address=n + 2, terminator_on=last, format_drive=data_format,
                    format_controller=data_format, watchdog_s=watchdog_s)
        )  # fmt: skip
    segments.append(_joined(str(len(segments) + 1), here, spacing_m, bit_rate))
    return Network("Row", bit_rate, "A", tuple(segments))


def _joined(name: str, stations: list[Station], spacing_m: float, bit_rate: float) -> Segment:
    return Segment(name, tuple(stations), (Piece(spacing_m),) * (len(stations) - 1), bit_rate)
