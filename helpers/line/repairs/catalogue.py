"""All the repairs: at the cable, at the devices, at the engineering computer and the controller."""

from __future__ import annotations

from helpers.errors import one_of
from helpers.line.repairs import cable, device, project
from helpers.line.repairs.repair import Repair

REPAIRS: tuple[Repair, ...] = (*cable.REPAIRS, *device.REPAIRS, *project.REPAIRS)


def by_key(key: str) -> Repair:
    """The repair of this key; `Unknown` with the list if there is none.

    >>> by_key("seat board").minutes
    15.0
    """
    one_of("repair", key, [repair.key for repair in REPAIRS])
    return next(repair for repair in REPAIRS if repair.key == key)
