"""What is laid as a picture, in data and in words: segments with their plugs, and what is said of each plug."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from helpers.bus.cable.bit_rates import bit_rate_text
from helpers.bus.cable.laid import Plug, Segment
from helpers.bus.cable.termination import lost
from helpers.quantity import quantity
from helpers.verdict import Degree
from helpers.wording import counted


@dataclass(frozen=True)
class LinePicture:
    """A segment, or several that repeaters of the same name join.

    notes: words below a plug, such as a meter reading; marks: verdicts; places: the cabinets. All of them by the
    plug's name. width in px; legend: the signs are named below.
    """

    segments: tuple[Segment, ...]
    title: str = ""
    notes: Mapping[str, str] = field(default_factory=dict)
    marks: Mapping[str, Degree] = field(default_factory=dict)
    places: Mapping[str, str] = field(default_factory=dict)
    width: int = 760
    legend: bool = True

    @property
    def says(self) -> str:
        """Every segment with its plugs, what is said of each, and the lengths between them."""
        segments = "; ".join(self._segment(segment) for segment in self.segments)
        return f"{self.title}: {segments}" if self.title else segments

    def _segment(self, segment: Segment) -> str:
        unheard = lost(segment)
        parts = []
        for n, plug in enumerate(segment.plugs):
            remarks = self._remarks(plug, unheard)
            parts.append(plug.name + (f" ({', '.join(remarks)})" if remarks else ""))
            if n < len(segment.pieces):
                parts.append(segment.pieces[n].length_text)
        return f"{heading(segment)}: {' – '.join(parts)}"

    def _remarks(self, plug: Plug, unheard: Sequence[str]) -> list[str]:
        remarks = [plug.kind] if plug.kind not in plug.name.casefold() else []
        remarks += [terminator(plug)] if terminator(plug) else []
        remarks += [f"on a stub of {quantity(plug.stub_length_m, 'm')}"] * bool(plug.stub_length_m)
        remarks += troubles(plug, unheard)
        remarks += [self.notes[plug.name]] if plug.name in self.notes else []
        return remarks + ([self.marks[plug.name].words] if self.marks.get(plug.name) else [])


def terminator(plug: Plug) -> str:
    """Which terminators are on at a device; empty for none."""
    return " and ".join(["terminator on"] * plug.terminator_on + ["terminator with its own supply"] * plug.has_box)


def troubles(plug: Plug, gone: Sequence[str]) -> list[str]:
    """What is wrong with a device; `gone` are the names of those cut off."""
    wrong = ["lost"] * (plug.name in gone) + ["no supply"] * (not plug.powered)
    return wrong + ["sides exchanged"] * plug.sides_exchanged


def heading(segment: Segment) -> str:
    """A segment in one line: name, cable, bit rate, bus interfaces, stubs."""
    kinds = sorted({piece.cable for piece in segment.pieces})
    stubs = [plug.stub_length_m for plug in segment.plugs if plug.stub_length_m]
    parts = [
        segment.name,
        f"{quantity(segment.length_m, 'm')} of type {' and '.join(kinds)} at {bit_rate_text(segment.bit_rate)}",
        counted(segment.interfaces, "bus interface"),
    ]
    if stubs:
        parts.append(f"{counted(len(stubs), 'stub')}, together {quantity(sum(stubs), 'm')}")
    return " · ".join(parts)
