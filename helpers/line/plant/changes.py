"""Changes of an installation, and what follows from them: its cable, its bit rate, its project."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from helpers.bus.cable.laid import Piece
from helpers.bus.cable.repeater import ways
from helpers.bus.time.timing import longest_delay_bits
from helpers.drive.settings import Settings
from helpers.line.plant.installation import Installation, Project
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


def edited(installation: Installation, station: str = "", **changes: object) -> Installation:
    """Something changed in the engineering computer: at one station, or at the project itself if none is named.

    The controller goes on with what is loaded in it.
    """
    return replace(installation, edited=_changed(installation.edited, station, changes))


def both(installation: Installation, station: str = "", **changes: object) -> Installation:
    """Something changed in the engineering computer and in the controller."""
    changed = edited(installation, station, **changes)
    if installation.loaded is installation.edited:
        return replace(changed, loaded=changed.edited)
    return replace(changed, loaded=_changed(installation.loaded, station, changes))


def _changed(project: Project, station: str, changes: dict[str, object]) -> Project:
    if station:
        return project.with_station(station, **changes)
    return replace(project, **changes)  # type: ignore[arg-type]


def address_given(settings: Settings, address: int) -> Settings:
    """The settings after an address over the bus; it stays when the supply goes. What is set at the device stays too.

    >>> address_given(Settings(), 22).active.address, address_given(Settings(), 22).set.address
    (22, 126)
    """
    kept = None if address == settings.set.address else address  # what is also set there needs no second place
    return replace(settings, active=replace(settings.active, address=address), given=kept)
