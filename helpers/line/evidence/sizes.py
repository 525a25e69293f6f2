"""The sizes in which a fault is tried, and a plant whose parts are not quite as the plan says.

A fault draws its size: a place along the cable, a resistance, a core, another station. For the table these draws are
spread evenly: all alternatives, and of what can have any value both ends and some between. A case draws freely.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from math import prod
from random import Random
from typing import Any, TypeVar

from helpers.bus.circuit.elements import Circuit, Section
from helpers.facts import one
from helpers.line.faults.fault import Chosen
from helpers.line.plant.installation import Installation

T = TypeVar("T")

# Of values that can be anything, as parts of their ranges: both ends and the middle; of several at once the corners.
_ENDS = ((0.0, 1.0, 0.5), (0.0, 1.0, 1.0, 0.0, 0.5), (0.0, 0.0, 1.0, 1.0, 0.5))
_MOST_OF_SEVERAL, _MOST = 12, 32
_ALIKE, _OF_ALIKE = 40, 3  # from so many alternatives on they are free addresses, of which some stand for all


class _Spread(Random):
    """Draws that are spread evenly over what there is: the size of this number, of a fault that draws like this."""

    def __init__(self, number: int, several: bool = False, product: bool = False) -> None:
        super().__init__(number)
        self._number, self._several, self._product = number, several, product
        self.alternatives: list[int] = []
        self.ranges = 0

    def choice(self, seq: Sequence[T]) -> T:  # type: ignore[override]
        count = len(seq) if len(seq) < _ALIKE else _OF_ALIKE
        number = self._number // prod(self.alternatives) if self._product else self._number
        self.alternatives.append(count)
        return seq[(number % count) * (len(seq) - 1) // max(count - 1, 1)]

    def uniform(self, a: float, b: float) -> float:
        parts = _ENDS[1 + self.ranges % 2 if self._several else 0]
        part = parts[self._number % len(parts)]
        self.ranges += 1
        return a + (b - a) * part

    def randint(self, a: int, b: int) -> int:
        return self.choice(range(a, b + 1))

    def random(self) -> float:
        return self.choice((0.25, 0.75))  # the draw decides between two


def sizes(installation: Installation, chosen: Chosen) -> tuple[Installation, ...]:
    """The installation with a fault in each of the sizes that are tried; those that come out the same only once.

    >>> from helpers.line.faults.catalogue import by_key
    >>> from helpers.line.practice.case import mill
    >>> fault = by_key("run source local")
    >>> tried = sizes(mill(), Chosen(fault, fault.places(mill())[0]))
    >>> [each.device("Dryer fan 1").settings.set.run_source for each in tried]
    ['panel', 'terminals']
    """
    first = _Spread(0)
    found = [chosen.fault.make(installation, chosen.place, first)]
    product = prod(first.alternatives) <= _MOST_OF_SEVERAL
    alternatives = prod(first.alternatives) if product else max(first.alternatives)
    several = first.ranges > 1
    values = len(_ENDS[several]) if first.ranges else 1
    for number in range(1, min(max(alternatives, values), _MOST)):
        drawn = _Spread(number, several, product)
        made = chosen.fault.make(installation, chosen.place, drawn)
        if made not in found:
            found.append(made)
    return tuple(found)


def shaken(circuit: Circuit, random: Random) -> Circuit:
    """The circuit as somebody may really have built it: within `data/plant_scatter.csv` of the plan."""

    def scatter(name: str) -> float:
        row = one("plant_scatter", name=name)
        return random.uniform(row.number("low"), row.number("high"))

    def changed(part: Any, **names: str) -> Any:
        return part and replace(part, **{field: getattr(part, field) * scatter(name) for field, name in names.items()})

    plugs = tuple(
        replace(
            plug,
            receiver=changed(plug.receiver, unit_loads="unit loads", capacitance_f="input capacitance"),
            terminators=tuple(
                changed(t, rt_ohm="terminator resistors", rs_ohm="terminator resistors", supply_v="terminator supply")
                for t in plug.terminators
            ),
        )
        for plug in circuit.plugs
    )
    sections = tuple(_stretched(each, scatter("length")) for each in circuit.sections)
    return replace(circuit, plugs=plugs, sections=sections)


def _stretched(section: Section, factor: float) -> Section:
    faults = tuple(replace(fault, at_m=fault.at_m * factor) for fault in section.faults)
    return replace(section, length_m=section.length_m * factor, faults=faults)
