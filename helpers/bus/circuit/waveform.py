"""Voltages over time: bits into a sender, B − A at every plug.

A cable is linear: what a telegram makes at a plug is the sum of what each of its edges makes there, begun when that
edge begins. So one edge is calculated (`edge`), and laid over itself wherever the bits change. That costs the same at
any bit rate, and an edge of 8 ns stays one in a bit of 100 µs. The terminators' own supply adds a direct voltage.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from helpers.bus.cable.bit_rates import known_bit_rate
from helpers.bus.circuit.dc import Solved
from helpers.bus.circuit.edge import Edge, edges, fast_length, longest_delay_s
from helpers.bus.circuit.elements import Circuit, Sender, sender
from helpers.bus.circuit.line import Array
from helpers.bus.circuit.network import branches
from helpers.bus.telegram.characters import character_bits
from helpers.errors import OutOfRange, in_range

LEAD_BITS = 2  # idle before the first bit, so that its edge has a left side
TAIL_BITS = 4  # idle behind the last bit, beyond the way to the far end and back
SAMPLES_PER_BIT = 32
BENT = 5e-4  # what an edge may differ from a straight line between two samples, in parts of the sender's step
MOST_SAMPLES = 3e7


@dataclass(frozen=True, eq=False)
class Waveform:
    """B − A over time at every plug while one plug sends.

    plugs: those at which it is known, one a row; all of them unless only some were asked for.
    time_s: [s], 0 where the edge of the first bit starts at the sender, `SAMPLES_PER_BIT` a bit. volts: plugs × times
    [V], each of them as exact as the edge; what lies between two of them is more than a straight line: see `at` and
    `trace`. ones_v: what each plug holds while the sender holds 1 [V]; swing_v: the sender's own step from 0 to 1 [V].
    """

    segment: Circuit
    sending: int
    plugs: tuple[int, ...]
    bits: tuple[int, ...]
    bit_rate: float
    edge: Edge
    ones_v: Array
    swing_v: float

    @property
    def first_sample(self) -> int:
        """The sample at which the first bit starts."""
        return LEAD_BITS * SAMPLES_PER_BIT

    @cached_property
    def time_s(self) -> Array:
        """Where the samples of `volts` are [s]."""
        return np.asarray(np.arange(self._count) / (self.bit_rate * SAMPLES_PER_BIT) - self._lead_s)

    @cached_property
    def volts(self) -> Array:
        """At all plugs, sample by sample [V]: the edge, begun anew wherever a bit changes."""
        changes = np.zeros(self._count)
        changes[self.first_sample :: SAMPLES_PER_BIT] = self._changes(
            np.arange(self._count // SAMPLES_PER_BIT - LEAD_BITS)
        )
        length = fast_length(2 * self._count)
        laid = np.fft.irfft(np.fft.rfft(self._moved, length) * np.fft.rfft(changes, length), length)
        found: Array = self.ones_v[:, None] + self.swing_v * laid[:, : self._count]
        return found

    def at(self, numbers: Sequence[int], time_s: Array) -> Array:
        """Volts in these rows at times of their own (columns, [s]).

        Straight from sample to sample, and what an edge does in between wherever that is more.
        """
        place = np.clip(time_s * self.bit_rate * SAMPLES_PER_BIT + self.first_sample, 0, self._count - 1.001)
        left = place.astype(int)
        share = place - left
        rows = np.array(numbers)[:, None]
        found = self.volts[rows, left] * (1 - share) + self.volts[rows, left + 1] * share
        bit, sample = np.divmod(left - self.first_sample, SAMPLES_PER_BIT)
        back = np.array(self._bent, int)
        change = self._changes(bit[..., None] - back)
        row, column, ago = np.nonzero(change)
        lag, part, plug = back[ago] * SAMPLES_PER_BIT + sample[row, column], share[row, column], rows[row, 0]
        straight = self._moved[plug, lag] * (1 - part) + self._moved[plug, lag + 1] * part
        here = self.edge.at(plug, (lag + part) / (self.bit_rate * SAMPLES_PER_BIT))
        bent = change[row, column, ago] * (here - straight)
        summed = np.bincount(row * found.shape[1] + column, bent, found.size).reshape(found.shape)
        return np.asarray(found + self.swing_v * summed)

    def trace(self, plug: int, begin_s: float, end_s: float) -> tuple[Array, Array]:
        """Times [s] and volts at one plug, with a sample wherever the edges and their echoes ask for one."""
        numbers = np.arange(int(np.floor(begin_s * self.bit_rate)), int(np.ceil(end_s * self.bit_rate)))
        phases = np.union1d(self.edge.time_s, np.arange(SAMPLES_PER_BIT) / (self.bit_rate * SAMPLES_PER_BIT))
        phases = phases[(phases >= 0) & (phases < 1 / self.bit_rate)]
        time_s = numbers[:, None] / self.bit_rate + phases
        volts = np.interp(time_s, self.time_s, self.volts[plug])
        for back in self._bent:
            since_s = back / self.bit_rate + phases
            bent = self.edge.at(plug, since_s) - np.interp(since_s, self.time_s + self._lead_s, self._moved[plug])
            volts += self.swing_v * self._changes(numbers - back)[:, None] * bent
        inside = (time_s >= begin_s) & (time_s <= end_s)
        return time_s[inside], volts[inside]

    @property
    def _lead_s(self) -> float:
        return LEAD_BITS / self.bit_rate

    @cached_property
    def _count(self) -> int:
        return _length_bits(self.segment, self.bits, self.bit_rate) * SAMPLES_PER_BIT

    @cached_property
    def _moved(self) -> Array:
        """The edge at all plugs, at the samples of `volts`."""
        return self.edge.at(slice(None), np.arange(self._count) / (self.bit_rate * SAMPLES_PER_BIT))

    @cached_property
    def _bent(self) -> list[int]:
        """How many bits ago an edge was that is more than straight lines between the samples, at any plug."""
        place = self.edge.time_s * self.bit_rate * SAMPLES_PER_BIT
        place = place[place < self._count - SAMPLES_PER_BIT]
        left = place.astype(int)
        share = place - left
        straight = self._moved[:, left] * (1 - share) + self._moved[:, left + 1] * share
        off = abs(self.edge.volts[:, : len(place)] - straight).max(axis=0) > BENT
        return sorted(set((left[off] // SAMPLES_PER_BIT).tolist()))

    def _changes(self, numbers: Array) -> Array:
        """What each bit is more than the one before it: 1, 0 or −1; idle is 1."""
        return np.asarray(self._change[np.clip(numbers, -1, len(self.bits) + 1) + 1])

    @cached_property
    def _change(self) -> Array:
        return np.diff([1.0, 1.0, *self.bits, 1.0, 1.0])


def waveform(
    segment: Circuit,
    bits: Sequence[int] = character_bits(b"\x10"),
    *,
    bit_rate: float = 12e6,
    sending: int = 0,
    driver: Sender | None = None,
) -> Waveform:
    """B − A at every plug while the plug `sending` sends these bits, idle (1) before and after.

    Parameters: bits, 0 or 1; bit_rate [bit/s], one of the list; driver, the usual sender if not given.
    Errors: `OutOfRange` and `Unknown` for what is not allowed.
    Validity: linear parts; the sender drives all the time, also while idle; DGND of each station joined to the
    shield for signals; the skin effect's law taken down to direct current.

    >>> from helpers.bus.circuit.elements import evenly_spaced
    >>> picture = waveform(evenly_spaced(2, 100), (0, 1, 0))
    >>> picture.volts.shape[0], round(float(picture.volts[1].min()))
    (2, -2)
    """
    return next(waveforms(segment, bits, bit_rate=bit_rate, senders=(sending,), driver=driver))


def waveforms(
    segment: Circuit,
    bits: Sequence[int],
    *,
    bit_rate: float,
    senders: Sequence[int],
    driver: Sender | None = None,
    seen_at: Callable[[int], Sequence[int]] | None = None,
) -> Iterator[Waveform]:
    """The same bits from one sender after another; the segment is swept once. Arguments as in `waveform`.

    seen_at: for a sending plug those at which the waveform is wanted; all of them without it.
    """
    source = driver or sender()
    known_bit_rate(bit_rate)
    if not len(bits) or set(bits) - {0, 1}:
        raise OutOfRange(f"the bits are {list(bits)[:8]!r}; allowed are 0 and 1, at least one of them.")
    for number in senders:
        segment.check_plug(number, "sending plug")
        if segment.plugs[number].receiver is None:
            raise OutOfRange(f"plug {number} has no station that could send; stations are at {segment.stations}.")
    samples = _length_bits(segment, bits, bit_rate) * SAMPLES_PER_BIT * len(segment.plugs)
    in_range("samples at all plugs together", samples, 1, MOST_SAMPLES, source="what fits in memory")
    idle = _idle_modes(segment)
    every = tuple(range(len(segment.plugs)))
    wanted = seen_at or (lambda sending: every)
    for number, (edge, follows) in zip(senders, edges(segment, source, senders, wanted), strict=True):
        plugs = tuple(wanted(number))
        modes = follows.shape[1]
        # The sender at rest moves the idle bus by its response to the difference from what it would hold.
        held = np.array([source.open_circuit_v, source.common_v])[:modes]
        ones_v = idle[0][list(plugs)] + follows @ (held - idle[:modes, number])
        yield Waveform(segment, number, plugs, tuple(map(int, bits)), bit_rate, edge, ones_v, 2 * source.open_circuit_v)


def _length_bits(segment: Circuit, bits: Sequence[int], bit_rate: float) -> int:
    return LEAD_BITS + len(bits) + TAIL_BITS + int(np.ceil(2 * longest_delay_s(segment) * bit_rate))


def _idle_modes(segment: Circuit) -> Array:
    """Difference and common part of the idle bus at each station [V]. Shape: modes × plugs."""
    # A supply that feeds no terminator moves nothing; without it the matrix is a quarter smaller.
    idle_supplies = {(n, "VP") for n, plug in enumerate(segment.plugs) if not plug.terminators}
    idle = Solved([branch for branch in branches(segment, dgnd="earthed") if branch.second not in idle_supplies])
    plugs = range(len(segment.plugs))
    a, b = (np.array([idle.volts((n, f"device {core}"), (n, "shield")) for n in plugs]) for core in "AB")
    return np.array([b - a, (a + b) / 2])
