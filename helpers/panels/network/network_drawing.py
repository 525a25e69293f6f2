"""A network of a plan as a drawing, and the picture of the demo site that stands on the project's front page."""

from __future__ import annotations

from collections.abc import Mapping

from helpers.facts import DATA
from helpers.panels.cable.segment_drawing import WIDTH, segment_drawing
from helpers.panels.kit.drawing import Drawing
from helpers.plan.model import Network, titled
from helpers.plan.my_networks import demo_network
from helpers.verdict import Degree


def network_drawing(
    network: Network, *, title: str = "", marks: Mapping[str, Degree] | None = None, width: int = WIDTH
) -> Drawing:
    """All segments of a network with what joins them, and the cabinets they stand in.

    title: the network's name if none is given; marks: verdicts by station. Raises `Unknown` for a bit rate
    that is none of DP.
    """
    segments = [titled(segment) for segment in network.segments]
    places = {station.name: station.place for station in network.stations if station.place}
    return segment_drawing(segments, title=title or network.name, marks=marks, places=places, width=width)


def demo_site() -> Drawing:
    """The invented Saltmarsh Mill, whole."""
    network = demo_network()
    return network_drawing(network, title="Saltmarsh Mill, an invented site", width=880)


def save_demo_site() -> None:
    """Write the picture of the demo site to its place in the workbook."""
    place = DATA.parent / "workbook" / "pictures" / "saltmarsh-mill.svg"
    place.write_text(demo_site().svg + "\n", encoding="utf-8", newline="\n")
