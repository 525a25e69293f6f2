"""All the faults, in the order of the job: cable first, then devices, project and program."""

from __future__ import annotations

from helpers.errors import one_of
from helpers.line.faults import addresses, cable, drive, ends, program, project, settings, shield
from helpers.line.faults.fault import Chosen, Fault
from helpers.line.plant.installation import Installation

FAULTS: tuple[Fault, ...] = (
    *ends.FAULTS,
    *cable.FAULTS,
    *shield.FAULTS,
    *addresses.FAULTS,
    *settings.FAULTS,
    *project.FAULTS,
    *program.FAULTS,
    *drive.FAULTS,
)
GROUPS = tuple(dict.fromkeys(fault.group for fault in FAULTS))


def by_key(key: str) -> Fault:
    """The fault of this key; `Unknown` with the list if there is none.

    >>> by_key("stub").name
    'Stub too long'
    """
    one_of("fault", key, [fault.key for fault in FAULTS])
    return next(fault for fault in FAULTS if fault.key == key)


def possible(installation: Installation, *, most_grade: int = 3) -> tuple[Chosen, ...]:
    """Every fault at every place where it can be, up to a grade of difficulty; each with the first seed."""
    return tuple(
        Chosen(fault, place) for fault in FAULTS if fault.grade <= most_grade for place in fault.places(installation)
    )
