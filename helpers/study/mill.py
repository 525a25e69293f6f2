"""What several banks ask about: the drives of Saltmarsh Mill, an invented site, and their ident numbers."""

from __future__ import annotations

from helpers.study.question import Draw

DRIVES = ("intake conveyor", "bucket elevator", "dryer fan 1", "dryer fan 2", "cooling fan", "discharge screw")
STATIONS = (*DRIVES, "dust filter")
# The other direction of process data; both as the controller sees them.
OTHER_WAY = {"out": "in", "in": "out"}


def drawn_ident(draw: Draw) -> int:
    """An ident number whose two octets differ: from 16#FF01 on, where no maker's number is meant."""
    return 0xFF00 + draw.whole(1, 0xFE)
