"""What a repair is: an action of the hand at one place, with what it costs in time and its hazards."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from helpers.facts import one
from helpers.line.faults.fault import Places
from helpers.line.hazard import Care, declared
from helpers.line.plant.installation import Installation
from helpers.line.plant.place import Place, check, controller

Does = Callable[[Installation, Place, Any], Installation]
Planned = Callable[[Installation, Place], Any]
Choices = Callable[[Installation, Place], tuple[Any, ...]]


def _nothing(installation: Installation, place: Place) -> None:
    return None


def _none(installation: Installation, place: Place) -> tuple[Any, ...]:
    return ()


@dataclass(frozen=True)
class Repair:
    """One action.

    name: in the technician's words. places: where it can be done. does: the installation after it, with a value where
    one is needed. planned: the value that the network plan has for a place, taken from the healthy installation.
    choices: values that a person may choose from; () where only the planned one makes sense or none is needed.
    hazards: as `hazard.declared` reads them. restarts: the device's supply goes off and comes back with it.
    """

    key: str
    name: str
    hazards: str
    places: Places
    does: Does
    planned: Planned = _nothing
    choices: Choices = _none
    restarts: bool = False

    def do(self, installation: Installation, place: Place, value: Any = None) -> Installation:
        """The installation after it. `Unknown` for a place where it can't be done.

        value: what to set; take `planned(plan, place)` for the one of the plan.
        """
        check(place, self.places(installation), self.name)
        return self.does(installation, place, value)

    @property
    def care(self) -> Care:
        """Its hazards, or why there are none."""
        return declared(self.hazards)

    @property
    def bus(self) -> str:
        """How the bus has to be for it: "alive", "dead" or "any". From `data/practice_costs.csv`."""
        return one("practice_costs", key=self.key)["bus"]

    @property
    def minutes(self) -> float:
        """How long it takes, walking and looking included [min]. From `data/practice_costs.csv`."""
        return one("practice_costs", key=self.key).number("minutes")

    def meeting(self, installation: Installation, place: Place) -> tuple[Place, ...]:
        """Where it can be done for a place: at its plug, piece of cable or device, else at the controller."""
        found = self.places(installation)
        return tuple(p for p in found if p.meets(place)) or (found if found == controller(installation) else ())
