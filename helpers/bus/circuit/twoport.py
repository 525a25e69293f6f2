"""Two-ports: what a voltage and a current become on their way through a piece of the bus.

V₁ = A·V₂ + B·I₂ and I₁ = C·V₂ + D·I₂ at every frequency. A, B, C, D have the shape (modes, modes, frequencies):
one mode, the voltage B − A, while everything is balanced; a second mode, both cores together against the shield,
where a fault is not. In modes, B = common + difference/2 and A = common − difference/2.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from helpers.bus.circuit.elements import Break, Receiver, Short, Terminator
from helpers.bus.circuit.line import Array, Cable, common_mode, propagation

OPEN_OHM = 1e9  # stands for an open core: nothing on the bus comes near it
SHORT_OHM = 1e-3  # stands for two cores that touch
# Core voltages from mode voltages (rows A, B; columns difference, common), and back.
CORE_OF_MODE = np.array([[-0.5, 1.0], [0.5, 1.0]])
MODE_OF_CORE = np.linalg.inv(CORE_OF_MODE)


@dataclass(frozen=True, eq=False)
class Frame:
    """The frequencies [Hz] of a calculation, all above 0, and how many modes it needs."""

    frequency_hz: Array
    modes: int

    def matrix(self, modal: Array, over_frequency: Array | complex = 1.0) -> Array:
        """A 2×2 matrix in modes, cut to the modes in use, times a law over frequency."""
        used = modal[: self.modes, : self.modes, None]
        return np.asarray(used * np.broadcast_to(over_frequency, self.frequency_hz.shape), complex)

    def unit(self) -> Array:
        """Voltages and currents as they were."""
        return self.matrix(np.eye(2))

    def nothing(self) -> Array:
        """No voltage, no current."""
        return self.matrix(np.zeros((2, 2)))


def times(left: Array, right: Array) -> Array:
    """Product of two matrices at every frequency."""
    product: Array = left[:, :1] * right[:1]  # each column with its row
    return product if len(left) == 1 else product + left[:, 1:] * right[1:]


def inverse(matrix: Array) -> Array:
    """Inverse at every frequency."""
    if len(matrix) == 1:
        return np.reciprocal(matrix)
    (a, b), (c, d) = matrix
    turned: Array = np.array([[d, -b], [-c, a]]) / (a * d - b * c)
    return turned


@dataclass(frozen=True)
class TwoPort:
    """The four matrices of a piece of the bus."""

    a: Array
    b: Array
    c: Array
    d: Array

    def then(self, after: TwoPort) -> TwoPort:
        """Another piece behind it: one two-port for both."""
        return TwoPort(
            times(self.a, after.a) + times(self.b, after.c),
            times(self.a, after.b) + times(self.b, after.d),
            times(self.c, after.a) + times(self.d, after.c),
            times(self.c, after.b) + times(self.d, after.d),
        )

    def turned(self) -> TwoPort:
        """The same piece seen from its other end; every part of a bus is reciprocal."""
        a, b, c, d = (np.swapaxes(part, 0, 1) for part in (self.a, self.b, self.c, self.d))
        return TwoPort(d, b, c, a)

    def loaded(self, admittance: Array) -> tuple[Array, Array]:
        """With an admittance at the far end: the admittance seen from the near end, and V₂ / V₁."""
        transfer = inverse(self.a + times(self.b, admittance))
        return times(self.c + times(self.d, admittance), transfer), transfer


def through(frame: Frame) -> TwoPort:
    """Nothing between the two ends."""
    return TwoPort(frame.unit(), frame.nothing(), frame.nothing(), frame.unit())


def crossed(frame: Frame) -> TwoPort:
    """A and B exchanged: the difference changes its sign, the common part does not."""
    swap = frame.matrix(np.diag([-1.0, 1.0]))
    return TwoPort(swap, frame.nothing(), frame.nothing(), swap)


def series(frame: Frame, impedance: Array) -> TwoPort:
    """An impedance in the way."""
    return TwoPort(frame.unit(), impedance, frame.nothing(), frame.unit())


def shunt(frame: Frame, admittance: Array) -> TwoPort:
    """An admittance across."""
    return TwoPort(frame.unit(), frame.nothing(), admittance, frame.unit())


@lru_cache(maxsize=4)
def _waves(frame: Frame, cable: Cable) -> list[tuple[Array, Array]]:
    """γ and Z of each mode in use."""
    return [propagation(mode, frame.frequency_hz) for mode in (cable, common_mode(cable))[: frame.modes]]


def line(frame: Frame, cable: Cable, length_m: float) -> TwoPort:
    """A length of cable: cosh γl, Z·sinh γl, sinh γl / Z, each mode with its own γ and Z."""
    if length_m == 0:
        return through(frame)
    a, b, c = frame.nothing(), frame.nothing(), frame.nothing()
    for mode, (gamma, impedance) in enumerate(_waves(frame, cable)):
        grown = np.exp(gamma * length_m)
        shrunk = 1 / grown
        a[mode, mode] = (grown + shrunk) / 2
        sinh = (grown - shrunk) / 2
        b[mode, mode], c[mode, mode] = sinh * impedance, sinh / impedance
    return TwoPort(a, b, c, a)


def inductors(frame: Frame, each_h: float) -> TwoPort:
    """One inductor in each core: twice in the loop, half for both cores together."""
    if each_h == 0:
        return through(frame)
    return series(frame, frame.matrix(np.diag([2.0, 0.5]), 2j * np.pi * frame.frequency_hz * each_h))


def broken(frame: Frame, fault: Break) -> TwoPort:
    """A contact resistance, or nothing at all, in one conductor."""
    ohm = min(fault.ohm, OPEN_OHM)
    if fault.core == "shield":
        return series(frame, frame.matrix(np.diag([0.0, ohm])))
    return series(frame, frame.matrix(_one_core(fault.core, MODE_OF_CORE.T) * ohm))


def touching(frame: Frame, fault: Short) -> TwoPort:
    """A resistance between two conductors."""
    conductance = 1 / max(fault.ohm, SHORT_OHM)
    pair = {fault.first, fault.second}
    if pair == {"A", "B"}:
        return shunt(frame, frame.matrix(np.diag([conductance, 0.0])))
    (core,) = pair - {"shield"}
    return shunt(frame, frame.matrix(_one_core(core, CORE_OF_MODE) * conductance))


def _one_core(core: str, rows: Array) -> Array:
    """Weight of one core in each pair of modes."""
    weight = rows[("A", "B").index(core)]
    return np.outer(weight, weight)


def terminating(frame: Frame, terminator: Terminator) -> Array:
    """Admittance of a terminator; DGND is taken as joined to the shield for signals, a supply as a short."""
    legs = np.diag([1 / terminator.rt_ohm, 0.0])
    if terminator.dgnd:
        legs += _one_core("A", CORE_OF_MODE) / terminator.rs_ohm
    if terminator.supply != "open":
        legs += _one_core("B", CORE_OF_MODE) / terminator.rs_ohm
    return frame.matrix(legs)


def receiving(frame: Frame, receiver: Receiver | None) -> Array:
    """Admittance of a station's input: unit loads to DGND, capacitance between the cores."""
    if receiver is None:
        return frame.nothing()
    load = frame.matrix(np.diag([receiver.core_conductance / 2, receiver.core_conductance * 2]))
    return load + frame.matrix(np.diag([receiver.capacitance_f, 0.0]), 2j * np.pi * frame.frequency_hz)


def driving(frame: Frame, source_ohm: float) -> Array:
    """Admittance of a driver's two halves, each from its core to DGND."""
    return frame.matrix(np.diag([1 / source_ohm, 4 / source_ohm]))


def balanced(faults: tuple[Short | Break, ...], terminators: tuple[Terminator, ...] = ()) -> bool:
    """True if nothing here mixes the difference of the cores with their common part."""
    for fault in faults:
        if isinstance(fault, Short):
            if "shield" in (fault.first, fault.second):
                return False
        elif fault.core != "shield" and fault.ohm > 0:
            return False
    return all(terminator.dgnd == (terminator.supply != "open") for terminator in terminators)
