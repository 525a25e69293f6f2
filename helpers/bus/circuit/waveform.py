"""Voltages over time: bits into a sender, B − A at every plug.

The sender's voltage is turned into frequencies (fast Fourier transform), each goes through the ladder on its own,
and the sum is turned back. The pattern is taken as if it came round again; enough idle time behind it lets every
echo die before it does. The terminators' own supply adds a direct voltage.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from helpers.bus.cable import known_rate
from helpers.bus.characters import character_bits
from helpers.bus.circuit.dc import Solved
from helpers.bus.circuit.elements import Segment, Sender, sender
from helpers.bus.circuit.ladder import Ladder
from helpers.bus.circuit.line import Array
from helpers.bus.circuit.network import branches
from helpers.errors import OutOfRange, in_range

DIRECT_HZ = 1e-6  # stands for direct current, where a lossy line has no finite impedance
LEAD_BITS = 2  # idle before the first bit, so that its edge has a left side
EDGE_SAMPLES = 3  # an edge shorter than this many samples is drawn this long
ECHOES = 3  # round trips of the longest way that are waited for behind the last bit
MOST_SAMPLES = 3e7


@dataclass(frozen=True)
class Waveform:
    """B − A over time at every plug while one plug sends.

    time_s: [s], 0 where the edge of the first bit starts at the sender. volts: plugs × times [V].
    """

    segment: Segment
    sending: int
    bits: tuple[int, ...]
    bit_rate: float
    samples_per_bit: int
    time_s: Array
    volts: Array

    @property
    def first_sample(self) -> int:
        """The sample at which the first bit starts."""
        return LEAD_BITS * self.samples_per_bit


def waveform(
    segment: Segment,
    bits: Sequence[int] = character_bits(b"\x10"),
    *,
    bit_rate: float = 12e6,
    sending: int = 0,
    driver: Sender | None = None,
    samples_per_bit: int = 32,
) -> Waveform:
    """B − A at every plug while the plug `sending` sends these bits, idle (1) before and after.

    Parameters: bits, 0 or 1; bit_rate [bit/s], one of the list; driver, the usual sender if not given;
    samples_per_bit, 8 to 256. An edge is drawn no shorter than three samples.
    Errors: `OutOfRange` and `Unknown` for what is not allowed.
    Validity: linear parts; the sender drives all the time, also while idle; DGND of each station joined to the
    shield for signals; the skin effect's law taken down to direct current.

    >>> from helpers.bus.circuit.elements import evenly_spaced
    >>> picture = waveform(evenly_spaced(2, 100), (0, 1, 0))
    >>> picture.volts.shape[0], round(float(picture.volts[1].min()))
    (2, -2)
    """
    return next(
        waveforms(segment, bits, bit_rate=bit_rate, senders=(sending,), driver=driver, samples_per_bit=samples_per_bit)
    )


def waveforms(
    segment: Segment,
    bits: Sequence[int],
    *,
    bit_rate: float,
    senders: Sequence[int],
    driver: Sender | None = None,
    samples_per_bit: int = 32,
) -> Iterator[Waveform]:
    """The same bits from one sender after another; the segment is swept once. Arguments as in `waveform`."""
    source = driver or sender()
    known_rate(bit_rate)
    bit_s = 1 / bit_rate
    in_range("samples per bit", samples_per_bit, 8, 256)
    if not len(bits) or set(bits) - {0, 1}:
        raise OutOfRange(f"the bits are {list(bits)[:8]!r}; allowed are 0 and 1, at least one of them.")
    for number in senders:
        segment.check_plug(number, "sending plug")
        if segment.plugs[number].receiver is None:
            raise OutOfRange(f"plug {number} has no station that could send; stations are at {segment.stations}.")
    tail_bits = 4 + ECHOES * 2 * longest_delay_s(segment) / bit_s
    count = fast_length(round((LEAD_BITS + len(bits) + tail_bits) * samples_per_bit))
    in_range("samples at all plugs together", count * len(segment.plugs), 1, MOST_SAMPLES, source="what fits in memory")
    step_s = bit_s / samples_per_bit
    sent = np.fft.rfft(_drive(bits, samples_per_bit, count, source.rise_s / step_s))
    frequency = np.fft.rfftfreq(count, step_s)
    frequency[0] = DIRECT_HZ
    ladder = Ladder(segment, frequency)
    time_s = (np.arange(count) - LEAD_BITS * samples_per_bit) * step_s
    idle = _idle_modes(segment, ladder.frame.modes)
    held = np.array([0.0, source.common_v])[: ladder.frame.modes]
    for number in senders:
        response = ladder.response(number, source, ladder.frame.modes)
        volts = np.fft.irfft(response[:, 0] * (sent * source.open_circuit_v), count)
        # The sender at rest moves the idle bus by its response to the difference from what it would hold.
        volts += (idle[0] + response[:, :, 0].real @ (held - idle[:, number]))[:, None]
        yield Waveform(segment, number, tuple(map(int, bits)), bit_rate, samples_per_bit, time_s, volts)


def longest_delay_s(segment: Segment) -> float:
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


def _drive(bits: Sequence[int], samples_per_bit: int, count: int, edge_samples: float) -> Array:
    """The sender's voltage, -1 to +1: each change a half turn of a cosine, begun where the bit begins."""
    edge = max(edge_samples, EDGE_SAMPLES)
    level = np.ones(count + 1)
    level[LEAD_BITS * samples_per_bit :][: len(bits) * samples_per_bit] = np.repeat(
        np.array(bits) * 2.0 - 1, samples_per_bit
    )
    share = np.clip((np.arange(int(edge) + 2)) / edge, 0, 1)
    shape = np.diff((1 - np.cos(np.pi * share)) / 2, prepend=0.0)
    change = np.convolve(np.diff(level, prepend=1.0), shape)[:count]
    return 1 + np.cumsum(change)


def _idle_modes(segment: Segment, modes: int) -> Array:
    """Difference, and where it matters common part, of the idle bus at each station. Shape: modes × plugs."""
    # A supply that feeds no terminator moves nothing; without it the matrix is a quarter smaller.
    idle_supplies = {(n, "VP") for n, plug in enumerate(segment.plugs) if not plug.terminators}
    idle = Solved([branch for branch in branches(segment, dgnd="earthed") if branch.second not in idle_supplies])
    plugs = range(len(segment.plugs))
    a, b = (np.array([idle.volts((n, f"device {core}"), (n, "shield")) for n in plugs]) for core in "AB")
    return np.array([b - a, (a + b) / 2])[:modes]
