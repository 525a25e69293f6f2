"""The segment at signal frequencies: a ladder of cable and plugs, solved by one sweep from either end.

Seen from a plug, everything to its left is one admittance, and everything to its right another. One sweep from each
end gives them all, for any sender; a voltage then travels from plug to plug by a factor that the sweep has left
behind. DGND of every station is taken as joined to the shield for signals (it is, through its capacitance).
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import cast

import numpy as np

from helpers.bus.circuit.elements import Break, Circuit, Section, Sender, Short, Tap
from helpers.bus.circuit.line import Array
from helpers.bus.circuit.twoport import (
    OPEN_OHM,
    Frame,
    TwoPort,
    balanced,
    broken,
    crossed,
    driving,
    inductors,
    inverse,
    line,
    receiving,
    series,
    shunt,
    terminating,
    through,
    times,
    touching,
)


class Ladder:
    """A segment at some frequencies, ready for any sender.

    >>> from helpers.bus.circuit.elements import evenly_spaced, sender
    >>> ladder = Ladder(evenly_spaced(2, 100), np.array([1e6]))
    >>> abs(ladder.transfer(0, sender()))[:, 0].round(2)     # volts at each station per volt of the sender
    array([0.63, 0.55])
    """

    def __init__(self, segment: Circuit, frequency_hz: Array) -> None:
        self.segment = segment
        self.frame = frame = Frame(frequency_hz, 1 if is_balanced(segment) else 2)
        self._taps = list(map(cache(lambda plug: _Tap(frame, plug)), segment.plugs))
        gap = cache(lambda *parts: _gap(frame, *parts))
        gaps = [gap(*_between(segment, section)) for section in range(len(segment.sections))]
        branch = [tap.admittance for tap in self._taps]
        self._right, self._rightward = self._sweep(gaps, branch)
        left, leftward = self._sweep([gap.turned() for gap in reversed(gaps)], branch[::-1])
        self._left, self._leftward = left[::-1], leftward[::-1]

    def _sweep(self, gaps: list[TwoPort], branch: list[Array]) -> tuple[list[Array], list[Array]]:
        """From the far end inwards: the admittance beyond each plug, and the voltage from each plug to the next."""
        beyond, onward = [self.frame.nothing()], []
        for gap, here in zip(reversed(gaps), reversed(branch), strict=False):
            admittance, transfer = gap.loaded(beyond[-1] + here)
            beyond.append(admittance)
            onward.append(transfer)
        return beyond[::-1], onward[::-1]

    def admittance(self, plug: int) -> Array:
        """Difference mode, everything that hangs on the trunk at this plug [S], one value a frequency."""
        self.segment.check_plug(plug)
        return cast(Array, (self._left[plug] + self._right[plug] + self._taps[plug].admittance)[0, 0])

    def transfer(self, plug: int, sender: Sender, *, trunk: bool = False) -> Array:
        """Voltage B − A at every station's pins (or on the trunk beside it) per volt of the sender at `plug`.

        Shape: plugs × frequencies.
        """
        return self.response(plug, sender, 1, trunk=trunk)[:, 0]

    def response(self, plug: int, sender: Sender, drives: int, *, trunk: bool = False) -> Array:
        """The same for the first `drives` modes in which the sender may drive. Shape: plugs × drives × frequencies."""
        self.segment.check_plug(plug, "sending plug")
        source = driving(self.frame, sender.source_ohm)
        tap = self._taps[plug]
        bus, to_trunk = tap.two_port.turned().loaded(self._left[plug] + self._right[plug])
        pins = times(inverse(source + tap.input + bus), source)[:, :drives]
        voltage: list[Array] = [pins] * len(self._taps)
        voltage[plug] = times(to_trunk, pins)
        for n in range(plug, len(self._taps) - 1):
            voltage[n + 1] = times(self._rightward[n], voltage[n])
        for n in range(plug, 0, -1):
            voltage[n - 1] = times(self._leftward[n - 1], voltage[n])
        found = np.empty((len(voltage), drives, len(self.frame.frequency_hz)), complex)
        for n, (here, seen) in enumerate(zip(self._taps, voltage, strict=True)):
            found[n] = seen[0] if trunk or here.plain else times(here.to_pins, seen)[0]
        if not trunk:
            found[plug] = pins[0]
        return found


def is_balanced(segment: Circuit) -> bool:
    """True if the difference B − A can be solved alone; False where a fault treats the two cores differently."""
    return all(balanced(plug.faults, plug.terminators) for plug in segment.plugs) and all(
        balanced(section.faults) for section in segment.sections
    )


def _between(segment: Circuit, section: int) -> tuple[Section, float, float, bool, bool]:
    """What decides the two-port between two plugs: cable, both plugs' inductors, which end is cut off."""
    near, far = segment.plugs[section], segment.plugs[section + 1]
    return (
        segment.sections[section],
        0.0 if near.stub_m else near.inductor_h,
        0.0 if far.stub_m else far.inductor_h,
        segment.cut_side(section) == "right",
        segment.cut_side(section + 1) == "left",
    )


def _gap(frame: Frame, section: Section, near_h: float, far_h: float, near_cut: bool, far_cut: bool) -> TwoPort:
    """From the tap of one plug to the tap of the next."""
    whole = inductors(frame, near_h)
    if near_cut:
        whole = whole.then(_cut(frame))
    for part in section.parts():
        if isinstance(part, Short):
            whole = whole.then(touching(frame, part))
        elif isinstance(part, Break):
            whole = whole.then(broken(frame, part))
        else:
            whole = whole.then(line(frame, section.cable, part))
    if far_cut:
        whole = whole.then(_cut(frame))
    return whole.then(inductors(frame, far_h))


def _cut(frame: Frame) -> TwoPort:
    """Both cores open, the shield whole."""
    return series(frame, frame.matrix(OPEN_OHM * np.diag([2.0, 0.5])))


class _Tap:
    """What hangs on the trunk at a plug: its two-port, the station's input behind it, and both together."""

    def __init__(self, frame: Frame, plug: Tap) -> None:
        self.two_port = _tap(frame, plug)
        self.input = receiving(frame, plug.receiver)
        self.admittance, self.to_pins = self.two_port.loaded(self.input)
        self.plain = plug == replace(plug, stub_m=0.0, swapped=False, faults=())  # pins and trunk are one


def _tap(frame: Frame, plug: Tap) -> TwoPort:
    """From the trunk to the pins of the station: stub, exchanged cores, terminators and shorts, bad contacts."""
    whole = through(frame)
    if plug.stub_m:
        whole = line(frame, plug.stub_cable, plug.stub_m).then(inductors(frame, plug.inductor_h))
    if plug.swapped:
        whole = whole.then(crossed(frame))
    for terminator in plug.terminators:
        whole = whole.then(shunt(frame, terminating(frame, terminator)))
    for fault in plug.faults:
        if isinstance(fault, Short):
            whole = whole.then(touching(frame, fault))
    for fault in plug.faults:
        if isinstance(fault, Break):
            whole = whole.then(broken(frame, fault))
    return whole
