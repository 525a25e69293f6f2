"""Who hears whom: from the circuit of each segment and its noise to the octets that arrive at a station.

A telegram goes out at the sender's plug. A repeater hears it there, makes it new and sends it on in its other segment.
For each pair of plugs the margins of the waveform (`helpers.bus.circuit.margin`) and the noise give the chance of each
bit to be read wrong; a character whose bits do not fit its parity is thrown away by the receiver, and with it the
telegram. While nobody sends, noise below -200 mV looks like a start bit: a receiver holds the 1 of the last stop bit
until then (from memory: receivers differ).
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Mapping, Sequence
from functools import lru_cache
from itertools import zip_longest
from random import Random

from helpers.bus.circuit.dc import Solved
from helpers.bus.circuit.elements import Circuit
from helpers.bus.circuit.line import Array
from helpers.bus.circuit.margin import TRIAL, sampled, threshold_v
from helpers.bus.circuit.network import branches
from helpers.bus.circuit.waveform import waveforms
from helpers.bus.telegram.characters import BITS as CHARACTER_BITS
from helpers.bus.telegram.characters import character_bits, read
from helpers.bus.time.timing import rule_bits
from helpers.line.plant.installation import Flicker, Installation, Stretch

# A chance of error below this is never seen in a year of simulated time.
_NEVER = 1e-15
_SURE = 1.0 - 1e-12
_HOPELESS = 1e-12

# The chance of each of a character's eleven bits to be read wrong, all characters taken as one.
Bits = tuple[float, ...]
Way = tuple[tuple[int, int, int], ...]  # segment, sending plug, receiving plug of each cable on the way


class Medium:
    """The cable of an installation at its bit rate; it keeps what it has calculated until something changes.

    draws: how often chance has had a part in what was heard.
    """

    def __init__(self, installation: Installation, now_open: frozenset[Flicker] = frozenset()) -> None:
        self._installation = installation
        off = installation.off
        self._live = [stretch.live(off, now_open) for stretch in installation.stretches]
        self._hops = _hops(installation)
        self._hubs = [_hubs(installation, stretch) for stretch in installation.stretches]
        self._clean: dict[tuple[str, str], bool] = {}
        self._hopeless: dict[tuple[str, str, int], bool] = {}
        self.draws = 0
        self._hop_bits: dict[tuple[int, int, int], tuple[Bits, float]] = {}

    def clean(self, sender: str, receiver: str) -> bool:
        """True if every telegram of the sender arrives whole at the receiver."""
        key = (sender, receiver)
        known = self._clean.get(key)
        if known is None:
            known = self._clean[key] = self.chance(sender, receiver, octets=255) > _SURE
        return known

    def hopeless(self, sender: str, receiver: str, octets: int) -> bool:
        """True if no telegram of so many octets ever arrives whole."""
        key = (sender, receiver, octets)
        known = self._hopeless.get(key)
        if known is None:
            known = self._hopeless[key] = self.chance(sender, receiver, octets) < _HOPELESS
        return known

    def connected(self, sender: str, receiver: str) -> bool:
        """True if a way of segments and repeaters with supply leads from one to the other."""
        return self._hops.get((sender, receiver)) is not None

    def chance(self, sender: str, receiver: str, octets: int) -> float:
        """How likely a telegram of so many octets arrives without a wrong bit, 0 to 1."""
        hops = self._hops.get((sender, receiver))
        if hops is None:
            return 0.0
        whole = 1.0
        for hop in hops:
            wrong, false_start = self._bits(*hop)
            whole *= (1.0 - false_start) * math.prod(1.0 - share for share in wrong) ** octets
        return whole

    def heard(self, sender: str, receiver: str, octets: bytes, random: Random) -> tuple[bytes, bool]:
        """The octets as the receiver has them, and whether every character is whole: start, stop and parity.

        Octets that are changed although every character is whole have deceived the parity; the check sum is left.
        """
        if self.clean(sender, receiver):
            return octets, True
        hops = self._hops.get((sender, receiver))
        if hops is None:
            return b"", False
        self.draws += 1
        for hop in hops:
            wrong, false_start = self._bits(*hop)
            octets, whole = _through(octets, wrong, random)
            if not whole or random.random() < false_start:
                return octets, False
        return octets, True

    def _bits(self, segment: int, sender: int, receiver: int) -> tuple[Bits, float]:
        """The chance of each of the eleven bits to be read wrong, and of a false start in the silence before."""
        found = self._hop_bits.get((segment, sender, receiver))
        if found is None:
            circuit, noise = self._live[segment], self._installation.stretches[segment].noise_v[receiver]
            bit_rate, hubs = self._installation.bit_rate, self._hubs[segment]
            wrong = _wrong_bits(circuit, bit_rate, hubs, sender, receiver, noise)
            found = self._hop_bits[segment, sender, receiver] = wrong, _false_start(circuit, receiver, noise)
        return found


def _through(octets: bytes, wrong: Bits, random: Random) -> tuple[bytes, bool]:
    """The octets after one cable, and whether no character has broken its parity or lost its start or stop bit.

    A receiver gives a telegram up at its first broken character; what follows is not read.
    """
    first = _first_wrong(wrong)
    arrived = bytearray()
    for octet in octets:
        drawn = random.random()
        if drawn >= first[-1]:
            arrived.append(octet)
            continue
        at = bisect_right(first, drawn)
        flips = [at, *(n for n in range(at + 1, CHARACTER_BITS) if random.random() < wrong[n])]
        if at:  # without its start bit a character is not seen at all
            arrived.append(octet ^ sum(1 << n - 1 for n in flips if n <= 8))
        if not at or flips[-1] == CHARACTER_BITS - 1 or len(flips) % 2:
            return bytes(arrived), False
    return bytes(arrived), True


def collided(answers: Sequence[bytes], random: Random) -> bytes:
    """What is left on the cable of several answers to one request, as octets.

    Each device has a clock and a time to answer of its own, so no two answers lie bit upon bit, not even equal ones.
    Where two drive against each other a 0 is taken to win (from memory: in truth it depends on the place).
    """
    rows: list[tuple[int, ...]] = []
    for answer in answers:
        late = random.randrange(1, CHARACTER_BITS) if rows else 0
        rows.append((1,) * late + character_bits(answer))
    both = [min(bits) for bits in zip_longest(*rows, fillvalue=1)]
    return bytes(character.octet for character in read(both))


@lru_cache(4096)
def _first_wrong(wrong: Bits) -> Bits:
    """How likely the first wrong bit of a character is this one or one before it; at last, that there is any."""
    found, right = [], 1.0
    for share in wrong:
        right *= 1.0 - share
        found.append(1.0 - right)
    return tuple(found)


@lru_cache(256)
def _margins(circuit: Circuit, bit_rate: float, hubs: tuple[int, ...]) -> Mapping[tuple[int, int], Array]:
    """The margins of each sending and receiving plug, of which one at least is a hub. The segment is swept once."""

    def listening(sender: int) -> tuple[int, ...]:
        return circuit.stations if sender in hubs else hubs

    bits = character_bits(TRIAL)
    pictures = waveforms(circuit, bits, bit_rate=bit_rate, senders=circuit.stations, seen_at=listening)
    seen = map(sampled, pictures)
    return {(one.sending, plug): volts for one in seen for plug, volts in zip(one.stations, one.volts, strict=True)}


@lru_cache(65536)
def _wrong_bits(
    circuit: Circuit, bit_rate: float, hubs: tuple[int, ...], sender: int, receiver: int, noise_v: float
) -> Bits:
    if not {sender, receiver} & set(hubs):
        hubs = circuit.stations
    margins = _margins(circuit, bit_rate, hubs)[sender, receiver]
    shares = [
        sum(_below_zero(float(margin), noise_v) for margin in margins[:, bit]) / len(margins)
        for bit in range(CHARACTER_BITS)
    ]
    return tuple(share if share > _NEVER else 0.0 for share in shares)


@lru_cache(4096)
def _idle(circuit: Circuit) -> Mapping[int, float]:
    """B against A at each plug with a station while nobody sends [V]."""
    solved = Solved(branches(circuit))
    return {
        plug: (-1 if circuit.plugs[plug].swapped else 1) * solved.volts((plug, "B"), (plug, "A"))
        for plug in circuit.stations
    }


@lru_cache(65536)
def _false_start(circuit: Circuit, receiver: int, noise_v: float) -> float:
    """How likely noise looks like a start bit in the TSYN of silence that every request needs before it."""
    share = _below_zero(_idle(circuit)[receiver] + threshold_v(), noise_v)
    return 1.0 - (1.0 - share) ** rule_bits("TSYN") if share > _NEVER else 0.0


def _below_zero(volts: float, noise_v: float) -> float:
    """The share of time in which a voltage with normal noise on it is below zero."""
    if noise_v < 1e-9:
        return 1.0 if volts <= 0 else 0.0
    return 0.5 * math.erfc(volts / noise_v / math.sqrt(2))


def _hubs(installation: Installation, stretch: Stretch) -> tuple[int, ...]:
    """The plugs between which and all others telegrams pass: masters and repeaters. Slaves never talk to each other."""
    hub = {device.name for device in installation.devices if not device.is_station}
    return tuple(plug for plug in stretch.circuit.stations if stretch.devices[plug] in hub)


def _hops(installation: Installation) -> dict[tuple[str, str], Way]:
    """For each pair of devices the cables on the way: segment, sending plug, receiving plug."""
    repeaters = {d.name for d in installation.devices if d.kind == "repeater" and d.on_bus}
    found: dict[tuple[str, str], Way] = {}
    for device in installation.devices:
        if not device.on_bus or device.kind == "repeater":
            continue
        waiting: list[tuple[tuple[int, int], Way]] = [(place, ()) for place in installation.places(device.name)]
        seen: set[int] = set()
        while waiting:
            (segment, sending), way = waiting.pop(0)
            seen.add(segment)
            stretch = installation.stretches[segment]
            for plug, name in enumerate(stretch.devices):
                if plug == sending or not name or stretch.circuit.plugs[plug].receiver is None:
                    continue
                here = (*way, (segment, sending, plug))
                if name in repeaters:
                    waiting += [(p, here) for p in installation.places(name) if p[0] not in seen]
                else:
                    found.setdefault((device.name, name), here)
    return found
