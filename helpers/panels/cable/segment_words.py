"""What the drawing of a segment says in words of it and of its devices."""

from __future__ import annotations

from collections.abc import Sequence

from helpers.bus.cable.bit_rates import bit_rate_text
from helpers.bus.cable.laid import Plug, Segment
from helpers.quantity import quantity


def terminator(plug: Plug) -> str:
    """Which terminators are on at a device; empty for none."""
    return " and ".join(["terminator on"] * plug.terminator_on + ["terminator with its own supply"] * plug.has_box)


def troubles(plug: Plug, gone: Sequence[str]) -> list[str]:
    """What is wrong with a device; `gone` are the names of those cut off."""
    found = ["lost"] * (plug.name in gone) + ["no supply"] * (not plug.powered)
    return found + ["sides exchanged"] * plug.sides_exchanged


def heading(segment: Segment) -> str:
    """A segment in one line: name, cable, bit rate, bus interfaces, stubs."""
    kinds = sorted({piece.cable for piece in segment.pieces})
    stubs = [plug.stub_length_m for plug in segment.plugs if plug.stub_length_m]
    count = segment.interfaces
    parts = [
        segment.name,
        f"{quantity(segment.length_m, 'm')} of type {' and '.join(kinds)} at {bit_rate_text(segment.bit_rate)}",
        f"{count} bus interface{'s' if count != 1 else ''}",
    ]
    if stubs:
        parts.append(f"{len(stubs)} stub{'s' if len(stubs) > 1 else ''}, together {quantity(sum(stubs), 'm')}")
    return " · ".join(parts)
