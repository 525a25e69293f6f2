"""What a receiver makes of a waveform: margins at its sampling points, eye, worst pair, highest bit rate.

A receiver starts at its own start edge, where B − A falls through 0 V, and samples the middle of each of the eleven
bits from there. The margin of a bit is what its voltage has beyond ±200 mV on the right side; below zero the bit is
not sure to be read. Principle of any asynchronous receiver; the ±200 mV are RS-485's, `data/rs485.csv`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, log2

import numpy as np

from helpers.answer import Answer
from helpers.bus.cable.bit_rates import bit_rate_text, bit_rates
from helpers.bus.circuit.elements import Circuit, Sender, Tap, evenly_spaced
from helpers.bus.circuit.faults import CATALOGUE, HEALTHY
from helpers.bus.circuit.line import Array
from helpers.bus.circuit.waveform import SAMPLES_PER_BIT, Waveform, waveform, waveforms
from helpers.bus.telegram.characters import BITS as CHARACTER_BITS
from helpers.bus.telegram.characters import character_bits
from helpers.curves import Matrix
from helpers.errors import OutOfRange
from helpers.facts import one
from helpers.quantity import fixed
from helpers.wording import capital_first

# From which margin on a shade of the picture holds [V], and what it means.
_SHADES = ((1.0, "margin 1 V or more"), (0.5, "margin 0.5 V to 1 V"), (1e-12, "margin below 0.5 V"),
           (-np.inf, "no margin: bits not sure"))  # fmt: skip


# Lone bits, long runs and everything between, so that each echo meets each neighbour: 20 characters, 220 bits.
TRIAL = bytes.fromhex("68 00 FF 55 AA 01 FE 0F F0 33 CC 80 7F 10 EF 92 6D 24 DB 16")
EQUAL_V = 1e-9  # far above what rounding does to a sum, far below what any meter shows


@dataclass(frozen=True)
class Margins:
    """Margin of every bit at every station while one plug sends.

    stations: plug numbers, one a row. volts: stations × characters × 11 bits [V]. edge_s: when each station saw each
    start edge [s]; started: whether it saw one at all (without, it is taken where it should have been).
    """

    sending: int
    stations: tuple[int, ...]
    volts: Array
    edge_s: Array
    started: Array

    @property
    def least(self) -> dict[int, float]:
        """Worst margin at each station [V], by plug number."""
        worst = self.volts.min(axis=(1, 2))
        return {station: float(volts) for station, volts in zip(self.stations, worst, strict=True)}


def threshold_v() -> float:
    """What a receiver must see, either sign [V].

    >>> threshold_v()
    0.2
    """
    return one("rs485", name="threshold_v").number("value")


def sampled(picture: Waveform) -> Margins:
    """The margins in a waveform whose bits are whole characters.

    Errors: `OutOfRange` if they are not.
    """
    if len(picture.bits) % CHARACTER_BITS or any(picture.bits[::CHARACTER_BITS]):
        raise OutOfRange(f"{len(picture.bits)} bits are not whole characters of 11 bits, each begun by a start bit 0.")
    stations = tuple(plug for plug in picture.plugs if plug in picture.segment.stations)
    rows = [picture.plugs.index(plug) for plug in stations]
    edge_s, started = _start_edges(picture, rows)
    middle_s = edge_s[:, :, None] + (np.arange(CHARACTER_BITS) + 0.5) / picture.bit_rate
    seen = picture.at(rows, middle_s.reshape(len(rows), -1)).reshape(middle_s.shape)
    bits = np.array(picture.bits).reshape(-1, CHARACTER_BITS)
    margin = np.where(bits == 1, seen, -seen) - threshold_v()
    return Margins(picture.sending, stations, margin, edge_s, started)


def _start_edges(picture: Waveform, numbers: Sequence[int]) -> tuple[Array, Array]:
    """When the station of each of these rows sees the start edge of each character [s], and whether it sees one.

    The first may come any time after it was sent; each later one is looked for from half a bit before its time,
    where the stop bit was sampled, to half a bit after. A receiver looks again half a bit later: a fall that is over
    by then was none.
    """
    per_bit, zero, step_s = SAMPLES_PER_BIT, picture.first_sample, 1 / (picture.bit_rate * SAMPLES_PER_BIT)
    volts = picture.volts[list(numbers)]
    half = per_bit // 2
    falling = (volts[:, : -half - 1] > 0) & (volts[:, 1:-half] <= 0) & (volts[:, half + 1 :] <= 0)
    delay = falling[:, zero:].argmax(axis=1)  # 0 where nothing falls at all
    expected = zero + delay[:, None] + np.arange(0, len(picture.bits), CHARACTER_BITS) * per_bit
    nearby = expected[:, :, None] + np.arange(-half, half)
    falls_there = np.take_along_axis(falling[:, None, :], np.minimum(nearby, falling.shape[1] - 1), axis=2)
    started: Array = np.asarray(falls_there.any(axis=2))
    before = np.where(started, expected - half + falls_there.argmax(axis=2), np.minimum(expected, volts.shape[1] - 2))
    early = (before - zero) * step_s
    late = early + np.where(started, step_s, 0.0)
    rows = np.arange(len(numbers))[:, None]
    above, below = volts[rows, before], volts[rows, before + 1]
    for _ in range(max(0, ceil(log2(step_s / picture.edge.step_s)))):
        middle = (early + late) / 2
        seen = picture.at(numbers, middle)
        early, above = np.where(seen > 0, middle, early), np.where(seen > 0, seen, above)
        late, below = np.where(seen > 0, late, middle), np.where(seen > 0, below, seen)
    return early + (late - early) * np.where(started, above / np.where(started, above - below, 1.0), 0.0), started


def margins(
    segment: Circuit,
    *,
    bit_rate: float = 12e6,
    sending: int = 0,
    driver: Sender | None = None,
    data: bytes = TRIAL,
) -> Margins:
    """Margins at all stations while one sends these characters; arguments as in `waveform.waveform`.

    >>> from helpers.bus.circuit.elements import evenly_spaced
    >>> round(margins(evenly_spaced(2, 100), bit_rate=1.5e6).least[1], 1)
    1.5
    """
    return sampled(waveform(segment, character_bits(data), bit_rate=bit_rate, sending=sending, driver=driver))


@dataclass(frozen=True)
class MarginMatrix:
    """Worst margin from each sender (row) to each receiver (column) [V]; stations by plug number."""

    stations: tuple[int, ...]
    volts: Array

    @property
    def worst(self) -> tuple[int, int, float]:
        """Sender, receiver and margin [V] of the worst pair; a station need not hear itself, if there is another.

        Of pairs that are equally bad (on a line that looks the same from both ends they come in twos) the first
        counts. Equal is what differs by less than `EQUAL_V`: the last digits of a sum depend on the processor.
        """
        apart = self.volts + (np.diag(np.full(len(self.volts), np.inf)) if len(self.volts) > 1 else 0.0)
        row, column = np.unravel_index((apart <= apart.min() + EQUAL_V).argmax(), apart.shape)
        return self.stations[row], self.stations[column], float(apart[row, column])


def margin_matrix(
    segment: Circuit,
    *,
    bit_rate: float = 12e6,
    driver: Sender | None = None,
    data: bytes = TRIAL,
) -> MarginMatrix:
    """Every station sends in turn, every station listens; arguments as in `waveform.waveform`.

    >>> from helpers.bus.circuit.elements import evenly_spaced
    >>> margin_matrix(evenly_spaced(3, 100), bit_rate=500e3).worst[2] > 1
    True
    """
    pictures = waveforms(segment, character_bits(data), bit_rate=bit_rate, senders=segment.stations, driver=driver)
    return MarginMatrix(segment.stations, np.array([list(sampled(picture).least.values()) for picture in pictures]))


def highest_bit_rate(segment: Circuit, *, driver: Sender | None = None) -> tuple[int, MarginMatrix] | None:
    """The highest bit rate [bit/s] at which every pair has margin left, with its matrix; None if there is none.

    >>> from helpers.bus.circuit.elements import evenly_spaced
    >>> highest_bit_rate(evenly_spaced(2, 1000))[0]
    500000
    """
    for bit_rate in reversed(bit_rates()):
        matrix = margin_matrix(segment, bit_rate=bit_rate, driver=driver)
        if matrix.worst[2] > 0:
            return bit_rate, matrix
    return None


# -- what is said of it ----------------------------------------------------------------------------


def margins_answer(fault: str, stations: int, length_m: float, stub_m: float, bit_rate: float) -> Answer:
    """Every station sends in turn, every station listens: the worst margin of each pair."""
    healthy = evenly_spaced(stations, length_m, plug=Tap(stub_m=stub_m))
    circuit = CATALOGUE[fault](healthy) if fault != HEALTHY else healthy
    matrix = margin_matrix(circuit, bit_rate=bit_rate)
    sender, receiver, least = matrix.worst
    apart = ~np.eye(len(matrix.stations), dtype=bool)
    below = int(((matrix.volts <= 0) & apart).sum())
    pairs = int(apart.sum())
    rate = bit_rate_text(bit_rate)
    wrong = "" if fault == HEALTHY else f"{capital_first(fault)}. "
    if below:
        sentence = f"{wrong}At {rate}, {below} of {pairs} pairs have no margin: not every bit is sure to be read."
    else:
        sentence = f"{wrong}At {rate}, every pair has margin: {_volts(least)} V or more."
    return Answer(
        sentence,
        because=f"The worst pair: station {sender + 1} sends, station {receiver + 1} listens, margin {_volts(least)} "
        f"V. Margin is what the voltage has beyond ±{threshold_v() * 1000:.0f} mV in the middle of "
        "the worst bit.",
        pictures=[margins_matrix(matrix)],
        sources=[
            f"receiver threshold: {one('rs485', name='threshold_v').cited}",
            f"sender: {one('rs485', name='driver_usual_v').cited}",
            "loss in the cable and capacitance of a station: memory",
            "solved as a network (calculated)",
        ],
    )


def _volts(value: float) -> str:
    """A margin with one digit; one that is nearly nothing keeps its sign.

    >>> _volts(1.07), _volts(-2.7), _volts(-0.01), _volts(0.01)
    ('1.1', '−2.7', '< 0', '0.0')
    """
    if -0.05 < value <= 0:
        return "< 0"
    return fixed(value, "", decimals=1)


def margins_matrix(margins: MarginMatrix) -> Matrix:
    """Senders down, receivers across, each with its margin in volts."""
    sender, receiver, least = margins.worst
    names = [str(station + 1) for station in margins.stations]
    apart = np.where(np.eye(len(names), dtype=bool), np.nan, margins.volts)
    return Matrix(
        f"margins of {len(names)} stations; worst: {sender + 1} to {receiver + 1}, {_volts(least)} V",
        rows=names,
        columns=names,
        row_label="station that sends; margins in V",
        column_label="station that listens",
        values=apart,
        cells=[["" if np.isnan(volts) else _volts(volts) for volts in line] for line in apart],
        shades=_SHADES,
    )
