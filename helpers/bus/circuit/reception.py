"""What becomes of the margins: the eye of a receiver, and how likely a telegram arrives in noise."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from helpers.bus.circuit.line import Array
from helpers.bus.circuit.margin import Margins, sampled, threshold_v
from helpers.bus.circuit.waveform import Waveform
from helpers.bus.telegram.characters import BITS as CHARACTER_BITS
from helpers.errors import OutOfRange, in_range


@dataclass(frozen=True)
class Eye:
    """Every bit of a waveform laid over the others, as one receiver times them.

    phase: place in the bit, 0 to 1. ones, zeros: bits × phases [V].
    """

    phase: Array
    ones: Array
    zeros: Array

    @property
    def height_v(self) -> float:
        """From the highest 0 to the lowest 1 in the middle of the bit [V]; below zero the eye is shut."""
        middle = len(self.phase) // 2
        return float(self.ones[:, middle].min() - self.zeros[:, middle].max())

    @property
    def width_bits(self) -> float:
        """Share of the bit in which every 1 and every 0 is clear of ±200 mV, counted outwards from its middle."""
        clear = (self.ones.min(axis=0) > threshold_v()) & (self.zeros.max(axis=0) < -threshold_v())
        middle = len(self.phase) // 2
        if not clear[middle]:
            return 0.0
        right = np.argmin(np.append(clear[middle:], False))
        left = np.argmin(np.append(clear[: middle + 1][::-1], False))
        return float((right + left - 2) / (len(self.phase) - 1))


def eye(picture: Waveform, station: int, *, points: int = 65) -> Eye:
    """The eye at one plug with a station; the waveform's bits must be whole characters with both 0 and 1.

    >>> from helpers.bus.circuit.elements import evenly_spaced
    >>> from helpers.bus.telegram.characters import character_bits
    >>> from helpers.bus.circuit.waveform import waveform
    >>> round(eye(waveform(evenly_spaced(2, 100), character_bits(b"Mill")), 1).height_v, 1)
    3.8
    """
    found = sampled(picture)
    if station not in found.stations:
        raise OutOfRange(f"plug {station} has no station; stations are at {', '.join(map(str, found.stations))}.")
    in_range("points of the eye", points, 3, 1000)
    row = found.stations.index(station)
    phase = np.linspace(0, 1, points)
    bit_s = found.edge_s[row][:, None] + np.arange(CHARACTER_BITS) / picture.bit_rate
    time_s = bit_s.ravel()[:, None] + phase / picture.bit_rate
    traces = picture.at([station], time_s.reshape(1, -1)).reshape(time_s.shape)
    bits = np.array(picture.bits)
    return Eye(phase, traces[bits == 1], traces[bits == 0])


def arrival_probability(margins: Margins, station: int, *, noise_v: float, characters: int) -> float:
    """How likely a telegram of so many characters arrives whole at a station, 0 to 1.

    P = Π Φ(margin / noise) over all bits, the trial characters taken as a fair sample: Φ is the share of a normal
    distribution below its argument. A bit counts as read where voltage and noise together clear the ±200 mV, which is
    cautious: inside, a receiver may still guess right.
    Parameters: noise_v, effective value of the noise between the cores [V], 0 for none; characters, 1 to 255.
    Validity: noise that is normal, and independent from bit to bit; real drive noise comes in bursts.

    >>> from helpers.bus.circuit.elements import evenly_spaced
    >>> from helpers.bus.circuit.margin import margins
    >>> quiet = margins(evenly_spaced(2, 100))
    >>> round(arrival_probability(quiet, 1, noise_v=0.4, characters=20), 2)
    0.96
    """
    if station not in margins.stations:
        raise OutOfRange(f"plug {station} has no station; stations are at {', '.join(map(str, margins.stations))}.")
    in_range("noise", noise_v, 0, 1000, "V")
    in_range("number of characters", characters, 1, 255, source="LE is at most 249: M. Felser, telegram formats")
    volts = margins.volts[margins.stations.index(station)]
    if noise_v < 1e-9:  # nothing that a bus could notice
        return float((volts > 0).all())
    lost = [0.5 * math.erfc(volt / noise_v / math.sqrt(2)) for volt in volts.ravel()]
    if max(lost) >= 1:
        return 0.0
    return math.exp(characters / len(volts) * sum(math.log1p(-share) for share in lost))
