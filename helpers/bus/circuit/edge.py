"""One edge of the sender, and what every plug sees of it from then on: fine at first, coarser as it comes to rest.

An edge of some nanoseconds needs nanoseconds to be drawn, its echoes need microseconds to die, and the cable's last
creeping takes milliseconds. So the edge is taken apart: a blunter edge, which a coarser grid can hold, and the
difference between the two, which has only high frequencies and is soon lost in the cable; the blunter edge again, and
so on. Each part goes through the ladder at its own frequencies, on a grid of its own. The sum holds for any bit rate.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from helpers.bus.circuit.elements import Circuit, Sender
from helpers.bus.circuit.ladder import Ladder
from helpers.bus.circuit.line import Array, propagation

DIRECT_HZ = 1e-6  # stands for direct current, where a lossy line has no finite impedance
SAMPLES = 12  # of a whole edge on the finest grid
CUT = 3.5  # the edge's spectrum ends at this many times 1 / rise: one of its zeros, a fiftieth is left beyond
LEAST_RISE_S = 2e-9  # a steeper edge is drawn this long; it keeps the sampling finite
COARSER = 4  # each grid against the one before
BLUNT = 3.0  # standard deviation of a blunter edge, in steps of the grid that has to hold it
LEAD = 56  # steps before the edge, where a blunter one has begun already; a multiple of COARSER
REST_S = 4e-3  # what the slowest grid reaches; of a step over 1200 m less than a hundredth still creeps after that
ECHO = 0.36  # least that a round trip loses at the sender: 50 Ω on a line send back 0.6 of a wave or less [Np]
GONE = 7.0  # an echo so far down is gone: less than a thousandth [Np]
LEAST_COUNT = 512


@dataclass(frozen=True, eq=False)
class Edge:
    """What becomes of one volt more at the sender: volts[plug, time], 0 before time 0 and at rest after the last.

    top_hz: the highest frequency in it.
    """

    time_s: Array
    volts: Array
    top_hz: float

    @property
    def step_s(self) -> float:
        """The finest step [s]."""
        return float(self.time_s[1] - self.time_s[0])

    @cached_property
    def _slope(self) -> Array:
        return np.append(np.diff(self.volts, axis=1) / np.diff(self.time_s), np.zeros((len(self.volts), 1)), axis=1)

    def at(self, plug: int | slice | Array, time_s: Array) -> Array:
        """Volts at one plug, at all, or at a plug for each time, by straight lines."""
        place = np.clip(np.searchsorted(self.time_s, time_s, side="right") - 1, 0, None)
        since = np.maximum(time_s - self.time_s[place], 0.0)
        found: Array = self.volts[plug, place] + self._slope[plug, place] * since
        return found


@dataclass(frozen=True)
class Grid:
    """One of the parts of the edge: its step [s], number of samples, and the blunt edges between which it lies [s].

    sharp_s: standard deviation of the edge before, 0 for the sender's own; blunt_s: of the edge that is left for the
    next grid, infinite if none is.
    """

    step_s: float
    count: int
    sharp_s: float
    blunt_s: float

    def frequencies(self, rise_s: float) -> Array:
        """All at which this part has anything [Hz], from 0 up."""
        top_hz = CUT / rise_s if self.sharp_s == 0 else 0.7 / self.sharp_s
        all_of_them = np.fft.rfftfreq(self.count, self.step_s)
        return all_of_them[: np.searchsorted(all_of_them, top_hz, side="right")]

    def spectrum(self, frequency_hz: Array, rise_s: float) -> Array:
        """Of this part of an edge from 0 to 1, half a turn of a cosine, that comes round again with the window.

        The slowest part cannot come round: half a window later it goes back to 0.
        """
        f = np.where(frequency_hz == 0, DIRECT_HZ, frequency_hz)
        turn = 2 * f * rise_s
        half = np.isclose(turn, 1)
        slope = np.where(half, np.pi / 4, np.cos(np.pi * turn / 2) / np.where(half, 1, 1 - turn**2))
        part = slope * np.exp(-1j * np.pi * f * rise_s) * np.exp(-((2 * np.pi * f * self.sharp_s) ** 2) / 2)
        if np.isinf(self.blunt_s):
            part = part * (1 - np.exp(-1j * np.pi * f * self.step_s * self.count))
        else:
            part = part * -np.expm1(((2 * np.pi * f) ** 2) * (self.sharp_s**2 - self.blunt_s**2) / 2)
        return part / (2j * np.pi * f * self.step_s)


def edges(
    segment: Circuit, sender: Sender, senders: Sequence[int], seen_at: Callable[[int], Sequence[int]]
) -> Iterator[tuple[Edge, Array]]:
    """The edge of each of these plugs in turn, and how others follow the sender at direct current (all modes).

    seen_at: for a sending plug those at which its edge is wanted, a row for each. The segment is swept once.
    """
    rise_s = max(sender.rise_s, LEAST_RISE_S)
    grids = list(_grids(segment, rise_s))
    frequency = [grid.frequencies(rise_s) for grid in grids]
    spectrum = [grid.spectrum(f, rise_s) for grid, f in zip(grids, frequency, strict=True)]
    cuts = np.cumsum([len(f) for f in frequency])[:-1]
    ladder = Ladder(segment, np.maximum(np.concatenate([*frequency, [0.0]]), DIRECT_HZ))
    for plug in senders:
        response = ladder.response(plug, sender, ladder.frame.modes)[list(seen_at(plug))]
        parts = [
            np.roll(np.fft.irfft(seen * sent, grid.count), LEAD, axis=1)
            for grid, seen, sent in zip(grids, np.split(response[:, 0, :-1], cuts, axis=1), spectrum, strict=True)
        ]
        yield _joined(grids, parts, CUT / rise_s), response[:, :, -1].real


def _grids(segment: Circuit, rise_s: float) -> Iterator[Grid]:
    """From the finest, long enough each for what happens on it, to the one that sees everything come to rest."""
    step_s, sharp_s, before_s = rise_s / SAMPLES, 0.0, 0.0
    while True:
        blunt_s = BLUNT * COARSER * step_s
        if step_s * LEAST_COUNT * COARSER >= 2 * REST_S:
            yield Grid(step_s, _count(max(2 * REST_S, 2 * before_s) / step_s), sharp_s, np.inf)
            return
        # The lowest frequencies of a part live longest; at a tenth of 1 / blunt_s a sixth of the part is left.
        window_s = max(GONE / _fading_per_s(segment, 0.1 / blunt_s), before_s + 2 * LEAD * step_s)
        grid = Grid(step_s, _count(window_s / step_s), sharp_s, blunt_s)
        yield grid
        before_s = grid.count * step_s
        step_s, sharp_s = step_s * COARSER, blunt_s


def _count(least: float) -> int:
    """A number of samples that the Fourier transform likes and that the next grid can follow."""
    return COARSER * fast_length(round(max(least, LEAST_COUNT) / COARSER))


def _fading_per_s(segment: Circuit, frequency_hz: float) -> float:
    """How fast a wave dies [Np/s]: in the cable that loses least, and at the sender once a round trip."""
    cables = {section.cable for section in segment.sections if section.length_m}
    cables |= {plug.stub_cable for plug in segment.plugs if plug.stub_m}
    losses = [float(propagation(cable, np.array([frequency_hz]))[0][0].real) / cable.delay_s_per_m for cable in cables]
    return min(losses, default=0.0) + ECHO / (2 * longest_delay_s(segment) + 1e-7)


def _joined(grids: Sequence[Grid], parts: Sequence[Array], top_hz: float) -> Edge:
    """The sum of all parts: each grid holds its own and all slower ones, and is used until its window ends."""
    slowest = parts[-1][:, : grids[-1].count // 2]
    whole = [slowest - slowest[:, :1]]  # before the edge nothing has moved
    for part in reversed(parts[:-1]):
        whole.insert(0, part + _finer(whole[0], part.shape[1]))
    times, volts, reached = [], [], -1e-15
    for grid, seen in zip(grids, whole, strict=True):
        time_s = (np.arange(seen.shape[1]) - LEAD) * grid.step_s
        new = time_s > reached
        new[-LEAD // COARSER :] = False  # the last few lie before the edge of the next round
        times.append(time_s[new])
        volts.append(seen[:, new])
        reached = times[-1][-1] if new.any() else reached
    return Edge(np.concatenate(times), np.concatenate(volts, axis=1), top_hz)


def _finer(coarse: Array, count: int) -> Array:
    """The first `count` samples of a grid `COARSER` times finer, by cubics through four neighbours."""
    begin = LEAD - LEAD // COARSER
    places = count // COARSER
    fine = np.empty((len(coarse), places, COARSER))
    around = [coarse[:, begin + n : begin + n + places] for n in (-1, 0, 1, 2)]
    for phase in range(COARSER):
        x = phase / COARSER
        weight = -x * (x - 1) * (x - 2) / 6, (x * x - 1) * (x - 2) / 2, -x * (x + 1) * (x - 2) / 2, x * (x * x - 1) / 6
        fine[:, :, phase] = sum(w * seen for w, seen in zip(weight, around, strict=True))
    return fine.reshape(len(coarse), count)


def longest_delay_s(segment: Circuit) -> float:
    """Time from one end to the other, with the longest two stubs and what the plugs add [s]."""
    cables = sum(section.length_m * section.cable.delay_s_per_m for section in segment.sections)
    stubs = sorted(plug.stub_m * plug.stub_cable.delay_s_per_m for plug in segment.plugs)[-2:]
    plugs = sum(
        float(np.sqrt(4 * plug.inductor_h * plug.receiver.capacitance_f)) for plug in segment.plugs if plug.receiver
    )
    return cables + sum(stubs) + plugs


def fast_length(least: int) -> int:
    """The next length with no factor but 2, 3 and 5, which the Fourier transform likes.

    >>> fast_length(7040)
    7200
    """
    length = least
    while True:
        rest = length
        for factor in (2, 3, 5):
            while rest % factor == 0:
                rest //= factor
        if rest == 1:
            return length
        length += 1
