"""Direct current: nodal analysis of a segment, and the figures of a healthy bus.

Every node's currents sum to zero (Kirchhoff), which gives one linear equation a node. Nodes that no branch joins
have no voltage between them and no resistance that a meter could read.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

import numpy as np

from helpers.bus.circuit.elements import Circuit, Receiver, Section, Tap, Terminator, most_stations
from helpers.bus.circuit.line import Array, cable
from helpers.bus.circuit.network import Branch, Node, branches
from helpers.errors import in_range
from helpers.facts import one

ON = Terminator()


class Solved:
    """The potentials of a network, and the resistance between any two of its nodes."""

    def __init__(self, network: Sequence[Branch]) -> None:
        joined = _groups((branch.first, branch.second) for branch in network if branch.joins)
        ends = [(joined.get(b.first, b.first), joined.get(b.second, b.second)) for b in network]
        # In the order of the branches: a set's order changes from process to process, and the last bits with it.
        points = {point: n for n, point in enumerate(dict.fromkeys(end for both in ends for end in both))}
        part = _groups(ends)
        self._number = {
            node: points[end]
            for b, e in zip(network, ends, strict=True)
            for node, end in zip((b.first, b.second), e, strict=True)
        }
        self._part = {node: part[joined.get(node, node)] for node in self._number}
        real = [branch for branch in network if self._number[branch.first] != self._number[branch.second]]
        first = np.array([self._number[b.first] for b in real], int)
        second = np.array([self._number[b.second] for b in real], int)
        conductance = np.array([1 / b.ohm for b in real])
        driven = conductance * np.array([b.emf_v for b in real])
        matrix, current = np.zeros((len(points),) * 2), np.zeros(len(points))
        for row, column, sign in ((first, first, 1), (second, second, 1), (first, second, -1), (second, first, -1)):
            np.add.at(matrix, (row, column), sign * conductance)
        np.add.at(current, first, -driven)
        np.add.at(current, second, driven)
        # One node of each connected part is held at 0 V; its balance holds without an equation of its own.
        for held in {points[point] for point in part.values()}:
            matrix[held, held] += 1.0
        self._matrix, self._potential = matrix, np.linalg.solve(matrix, current)

    def connected(self, first: Node, second: Node) -> bool:
        """True if any path joins the two nodes."""
        return self._part.get(first, first) == self._part.get(second, second)

    def volts(self, plus: Node, minus: Node) -> float:
        """Voltage of `plus` against `minus` [V]; 0 between parts that nothing joins, as a meter would show."""
        if not self.connected(plus, minus) or plus == minus:
            return 0.0
        return float(self._potential[self._number[plus]] - self._potential[self._number[minus]])

    def ohms(self, first: Node, second: Node) -> float:
        """Resistance between two nodes, every supply off but in place [Ω]; infinite where nothing joins them."""
        if not self.connected(first, second):
            return math.inf
        if first == second or self._number[first] == self._number[second]:
            return 0.0
        current: Array = np.zeros(len(self._matrix))
        current[self._number[first]], current[self._number[second]] = 1.0, -1.0
        potential = np.linalg.solve(self._matrix, current)
        return float(potential[self._number[first]] - potential[self._number[second]])


def _groups(pairs: Iterable[tuple[Node, Node]]) -> dict[Node, Node]:
    """For each node a node that stands for all those it is joined with."""
    above: dict[Node, Node] = {}

    def top(node: Node) -> Node:
        above.setdefault(node, node)
        while above[node] != node:
            above[node] = above[above[node]]
            node = above[node]
        return node

    for first, second in pairs:
        above[top(first)] = top(second)
    return {node: top(node) for node in above}


def two_ends(
    near: Sequence[Terminator] = (ON,),
    far: Sequence[Terminator] = (ON,),
    *,
    receivers: int = 0,
    middle: Sequence[Terminator] = (),
    length_m: float = 0.0,
    kind: str = "A",
) -> Circuit:
    """A cable with terminators at its ends and in its middle, and receivers spread over it.

    >>> two_ends(receivers=3, length_m=80).positions_m
    (0.0, 20.0, 40.0, 60.0, 80.0)
    """
    in_range("number of receivers", receivers, 0, most_stations(), source="addresses 0 to 125 are all there are")
    inside = [Tap() for _ in range(receivers)]
    if middle:
        inside.insert(receivers // 2, Tap(None, tuple(middle)))
    plugs = (Tap(None, tuple(near)), *inside, Tap(None, tuple(far)))
    section = Section(length_m / (len(plugs) - 1), cable(kind))
    return Circuit(plugs, (section,) * (len(plugs) - 1))


def idle_voltage(
    receivers: int = 0,
    *,
    terminators: Sequence[Terminator] = (ON, ON),
    length_m: float = 0.0,
    unit_loads: float = 1.0,
    dgnd: str = "common",
) -> float:
    """B against A at the near end while nobody sends [V].

    receivers: how many stations listen, each of `unit_loads` of 12 kΩ from each core to DGND.
    terminators: near end, far end, and any more in the middle.
    length_m: cable of type A between the ends [m].
    dgnd: model of DGND, see `network.branches`; it matters only where a terminator is unpowered.

    Source: the network of M. Felser, PROFIBUS Manual, bus termination; about 1 V is its word for it.

    >>> round(idle_voltage(), 2), round(idle_voltage(receivers=32), 2)
    (1.1, 0.99)
    """
    ends = [tuple(terminators[n : n + 1]) for n in (0, 1)]
    bus = two_ends(*ends, receivers=receivers, middle=terminators[2:], length_m=length_m)
    load = Receiver(unit_loads)
    plugs = tuple(replace(plug, receiver=load) if plug.receiver else plug for plug in bus.plugs)
    return Solved(branches(replace(bus, plugs=plugs), dgnd=dgnd)).volts((0, "B"), (0, "A"))


def idle_window(*, supply_tolerance: float = 0.0) -> tuple[float, float]:
    """Least and most idle voltage with no receiver, every resistor off by its tolerance the same bad way [V].

    The resistors' ±2 % come from `data/terminator.csv`; supply_tolerance is the share by which VP may be off.

    >>> [round(volts, 2) for volts in idle_window()]
    [1.07, 1.13]
    """
    share = one("terminator", name="resistor_tolerance").number("value")

    def off(sign: int) -> float:
        rt, rs, vp = 1 + sign * share, 1 - sign * share, 1 + sign * supply_tolerance
        worst = replace(ON, rt_ohm=ON.rt_ohm * rt, rs_ohm=ON.rs_ohm * rs, supply_v=ON.supply_v * vp)
        return idle_voltage(terminators=(worst, worst))

    return off(-1), off(+1)


def dead_resistance(
    near: int = 1, far: int = 1, *, middle: int = 0, length_m: float = 0.0, kind: str = "A", devices: str = "unplugged"
) -> float:
    """A to B at the near end, the whole bus without supply [Ω]; infinite with no terminator.

    Parameters: how many terminators are on near the meter, at the far end and in the middle; cable between the ends
    [m] and its type; devices, "unplugged" (VP free) or "dead" (VP lies on DGND through the dead supplies).

    >>> round(dead_resistance(), 1), round(dead_resistance(near=0, length_m=100), 1)
    (110.0, 231.0)
    """
    for name, count in (("near", near), ("middle", middle), ("far", far)):
        in_range(f"number of terminators {name}", count, 0, 8)
    bus = two_ends((ON,) * near, (ON,) * far, middle=(ON,) * middle, length_m=length_m, kind=kind)
    return Solved(branches(bus, devices=devices)).ohms((0, "A"), (0, "B"))


def loop_resistance(length_m: float, *, kind: str = "A") -> float:
    """Both cores of a cable in series, far end bridged [Ω]: 0.11 Ω per metre of type A.

    >>> round(loop_resistance(200), 1)
    22.0
    """
    return Section(length_m, cable(kind)).length_m * cable(kind).loop_ohm_per_m
