"""What a technician does at the engineering computer and at the controller.

A change of the project stays in the engineering computer until it is loaded.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from helpers.bus.cable.bit_rates import bit_rates
from helpers.line.faults.program import full_scales
from helpers.line.plant.changes import edited, with_bit_rate
from helpers.line.plant.installation import Installation, Program
from helpers.line.plant.place import Place, controller, driven, polled
from helpers.line.repairs.device import ADDRESSES, FORMATS
from helpers.line.repairs.repair import Choices, Repair

_WATCHDOGS_S = (0.0, 0.01, 0.05, 0.1, 0.2, 0.5, 1.0)
_AT_DESK = "none, because it stays in the engineering computer until it is loaded"
_CYCLES_S = (0.01, 0.02, 0.05, 0.1)


def _field(key: str, name: str, field: str, values: tuple[Any, ...] = ()) -> Repair:
    """A repair that changes one field of a station in the engineering computer."""

    def does(installation: Installation, place: Place, value: Any) -> Installation:
        return edited(installation, place.device, **{field: value})

    def planned(plan: Installation, place: Place) -> Any:
        return getattr(plan.edited.station(place.device), field)

    return Repair(key, name, _AT_DESK, polled, does, planned, _these(values))


def _program(key: str, name: str, *names: str, values: tuple[Any, ...] = ()) -> Repair:
    """A repair that changes the program for one drive in the engineering computer; the value is that of one field."""

    def own(installation: Installation, place: Place) -> Program:
        return installation.edited.station(place.device).program or Program(run=False)

    def does(installation: Installation, place: Place, value: tuple[Any, ...]) -> Installation:
        changed = replace(own(installation, place), **dict(zip(names, value, strict=True)))
        return edited(installation, place.device, program=changed)

    def planned(plan: Installation, place: Place) -> tuple[Any, ...]:
        return tuple(getattr(own(plan, place), field) for field in names)

    return Repair(key, name, _AT_DESK, driven, does, planned, _these(tuple((value,) for value in values)))


def _these(values: tuple[Any, ...]) -> Choices:
    return lambda installation, place: values


def _description(installation: Installation, place: Place, value: tuple[int, str, bytes]) -> Installation:
    """The description that belongs to the device: its ident number, its identifiers, its parameters."""
    ident, data_format, user = value
    return edited(installation, place.device, ident=ident, data_format=data_format, user=user)


def _planned_description(plan: Installation, place: Place) -> tuple[int, str, bytes]:
    station = plan.edited.station(place.device)
    return station.ident, station.data_format, station.user


def _cycle(installation: Installation, place: Place, value: float) -> Installation:
    return edited(installation, cycle_s=value)


def _loaded(installation: Installation, place: Place, value: object) -> Installation:
    return replace(installation, loaded=installation.edited)


def _running(installation: Installation, place: Place, value: object) -> Installation:
    return replace(installation, running=True)


def _rate(installation: Installation, place: Place, value: float) -> Installation:
    return with_bit_rate(installation, value)


def _of_plan(read: Callable[[Installation], Any]) -> Callable[[Installation, Place], Any]:
    return lambda plan, place: read(plan)


REPAIRS = (
    _field("address in the project", "Change the station's address in the project", "address", ADDRESSES),
    _field("format in the project", "Change the station's format in the project", "data_format", FORMATS),
    _field("watchdog in the project", "Change the station's watchdog in the project", "watchdog_s", _WATCHDOGS_S),
    _field("parameters in the project", "Put the station's parameters right in the project", "user"),
    Repair("load description", "Take the right description into the project", _AT_DESK,
           polled, _description, _planned_description),
    Repair("program cycle", "Bring the program's cycle down to the plan's", _AT_DESK, controller, _cycle,
           _of_plan(lambda plan: plan.edited.cycle_s), _these(_CYCLES_S)),
    _program("program bit 10", "Set bit 10 in the control words of the program", "bit_10"),
    _program("program start", "Program the start: 16#047E, then 16#047F", "waits"),
    _program("program byte order", "Put the order of the bytes right in the program", "swapped"),
    _program("program scaling", "Change the number for full speed in the program", "full_scale",
             values=(Program().full_scale, *full_scales())),
    _program("program task", "Take an answered task back in the program", "task", "cleared"),
    Repair("load controller", "Load the project into the controller", "starts any; bus stops", controller, _loaded),
    Repair("controller to run", "Turn the controller's switch to run", "starts any; foreign lock",
           controller, _running),
    Repair("set bit rate", "Change the bit rate of the bus", "starts any; bus stops",
           controller, _rate, _of_plan(lambda plan: plan.bit_rate), _these(bit_rates())),
)  # fmt: skip
