"""The picture of the demo site that stands on the project's front page."""

from __future__ import annotations

from dataclasses import replace

from helpers.facts import DATA
from helpers.panels.cable.segment_drawing import line_drawing
from helpers.panels.kit.drawing import Drawing
from helpers.plan.answers import network_picture
from helpers.plan.my_networks import demo_network


def demo_site() -> Drawing:
    """The invented Saltmarsh Mill, whole."""
    return line_drawing(replace(network_picture(demo_network(), "Saltmarsh Mill, an invented site"), width=880))


def save_demo_site() -> None:
    """Write the picture of the demo site to its place in the workbook."""
    place = DATA.parent / "workbook" / "pictures" / "saltmarsh-mill.svg"
    place.write_text(demo_site().svg + "\n", encoding="utf-8", newline="\n")
