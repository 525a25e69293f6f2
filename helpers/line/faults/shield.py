"""Faults of shield, earth and separation. The noise between the cores follows from them in `line/plant/noise.py`."""

from __future__ import annotations

from random import Random

from helpers.bus.circuit import faults as circuit_faults
from helpers.line.faults.fault import Fault, size
from helpers.line.plant.installation import Installation
from helpers.line.plant.noise import shield_open, with_noise
from helpers.line.plant.place import Place, devices, sections


def _shielded(installation: Installation) -> tuple[Place, ...]:
    found = sections(installation)
    return tuple(p for p in found if not shield_open(installation.stretches[p.segment].circuit.sections[p.section]))


def _shield(installation: Installation, place: Place, random: Random) -> Installation:
    circuit = installation.stretches[place.segment].circuit
    changed = circuit_faults.core_open(circuit, "shield", place.section)
    return with_noise(installation.with_circuit(place.segment, changed))


def _earthed(installation: Installation) -> tuple[Place, ...]:
    """Drives whose bus board has its earth wire; only a drive's board has a current to send through it."""
    return tuple(p for p in devices(installation, "drive") if installation.device(p.device).board_earthed)


def _earth(installation: Installation, place: Place, random: Random) -> Installation:
    return with_noise(installation.with_device(place.device, board_earthed=False))


def _runs(installation: Installation) -> tuple[Place, ...]:
    """Pieces that run through trays, and are not in a bundle yet; the longest one where all are short."""
    circuits = [stretch.circuit for stretch in installation.stretches]
    lengths = {p: circuits[p.segment].sections[p.section].length_m for p in sections(installation)}
    least_m = min(size("long_run_m"), max(lengths.values(), default=0.0))
    return tuple(
        p for p, length_m in lengths.items()
        if length_m >= least_m and p.section not in installation.stretches[p.segment].beside
    )  # fmt: skip


def _beside(installation: Installation, place: Place, random: Random) -> Installation:
    beside = installation.stretches[place.segment].beside | {place.section}
    return with_noise(installation.with_stretch(place.segment, beside=beside))


FAULTS = (
    Fault(
        "shield open",
        "Shield not carried through",
        "shield",
        2,
        "The shield of this piece of cable is not connected at one of its plugs.",
        _shielded,
        _shield,
        (("connect shield",), ("replace piece",)),
    ),
    Fault(
        "earth wire missing",
        "Earth wire of the bus board missing",
        "shield",
        2,
        "The wire from the bus board of this drive to earth is not connected.",
        _earthed,
        _earth,
        (("connect earth wire",),),
    ),
    Fault(
        "beside motor cable",
        "Run beside a motor cable without shield",
        "shield",
        3,
        "This piece of cable lies in one bundle with a motor cable that has no shield.",
        _runs,
        _beside,
        (("lay apart",),),
    ),
)
