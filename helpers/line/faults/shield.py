"""Faults of shield, earth and separation. The noise between the cores follows from them in `line/plant/noise.py`."""

from __future__ import annotations

from random import Random

from helpers.bus.circuit.faults import in_piece
from helpers.line.faults.fault import Fault, size
from helpers.line.plant.installation import Installation
from helpers.line.plant.noise import shield_open, with_noise
from helpers.line.plant.place import Place, devices, sections


def _shielded(installation: Installation) -> tuple[Place, ...]:
    found = sections(installation)
    return tuple(p for p in found if not shield_open(installation.stretches[p.segment].circuit.sections[p.section]))


def _shield(installation: Installation, place: Place, random: Random) -> Installation:
    return with_noise(installation.with_wrong(place.segment, in_piece("core open", place.section, core="shield")))


def _earthed(installation: Installation) -> tuple[Place, ...]:
    """Drives whose bus board has its earth wire; only a drive's board has a current to send through it."""
    return tuple(p for p in devices(installation, "drive") if installation.device(p.device).board_earthed)


def _earth(installation: Installation, place: Place, random: Random) -> Installation:
    return with_noise(installation.with_device(place.device, board_earthed=False))


def _runs(installation: Installation) -> tuple[Place, ...]:
    """Pieces that run through trays, and are not in a bundle yet; the longest one where all are short."""
    laid = [stretch.laid for stretch in installation.stretches]
    lengths = {p: laid[p.segment].pieces[p.section].length_m for p in sections(installation)}
    least_m = min(size("long_run_m"), max(lengths.values(), default=0.0))
    return tuple(
        p for p, length_m in lengths.items()
        if length_m >= least_m and p.section not in installation.stretches[p.segment].beside
    )  # fmt: skip


def _beside(installation: Installation, place: Place, random: Random) -> Installation:
    beside = installation.stretches[place.segment].beside | {place.section}
    return with_noise(installation.with_stretch(place.segment, beside=beside))


FAULTS = (
    Fault(key="shield open", name="Shield not carried through", group="shield", grade=2, places=_shielded,
          make=_shield, cures=(("connect shield",), ("replace piece",)),
          what="The shield of this piece of cable is not connected at one of its plugs."),
    Fault(key="earth wire missing", name="Earth wire of the bus board missing", group="shield", grade=2,
          places=_earthed, make=_earth, cures=(("connect earth wire",),),
          what="The wire from the bus board of this drive to earth is not connected."),
    Fault(key="beside motor cable", name="Run beside a motor cable without shield", group="shield", grade=3,
          places=_runs, make=_beside, cures=(("lay apart",),),
          what="This piece of cable lies in one bundle with a motor cable that has no shield."),
)  # fmt: skip
