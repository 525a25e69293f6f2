"""Other pieces of cable, or another bit rate, and what follows: how long a signal is under way, and the noise."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from helpers.bus.cable.laid import Piece
from helpers.bus.cable.ways import ways
from helpers.bus.time.timing import longest_delay_bits
from helpers.line.plant.installation import Installation
from helpers.line.plant.noise import with_noise


def with_pieces(installation: Installation, segment: int, pieces: Mapping[int, Piece]) -> Installation:
    """The installation with other pieces of cable in one segment, by their numbers.

    >>> from helpers.line.plant.build import installation_of
    >>> from helpers.plan.read import read_plan
    >>> from helpers.facts import DATA
    >>> mill = installation_of(read_plan(DATA / "demo/saltmarsh-mill").networks[0])
    >>> round(with_pieces(mill, 1, {0: Piece(185.0)}).delay_bits - mill.delay_bits, 6)
    1.5
    """
    laid = installation.stretches[segment].laid
    changed_pieces = tuple(pieces.get(n, piece) for n, piece in enumerate(laid.pieces))
    changed = installation.with_laid(segment, replace(laid, pieces=changed_pieces))
    return with_noise(replace(changed, delay_bits=delay_bits(changed)))


def with_bit_rate(installation: Installation, bit_rate: float) -> Installation:
    """The installation at another bit rate in bit/s: the same cable delays a signal by other bit times."""
    changed = replace(installation, bit_rate=float(bit_rate))
    return replace(changed, delay_bits=delay_bits(changed))


def delay_bits(installation: Installation) -> float:
    """2·TTD between the two segments that lie farthest apart [bit times]."""
    joined = {
        device.name: [installation.stretches[segment].name for segment, _ in installation.places(device.name)]
        for device in installation.devices
        if device.kind == "repeater"
    }
    lengths_m = {stretch.name: stretch.laid.length_m for stretch in installation.stretches}
    return longest_delay_bits(ways(lengths_m, joined), installation.bit_rate)
