"""Faults of the controller's program: what it writes to one drive, and how it reads it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from random import Random

from helpers.drive.parameters import parameter_channel
from helpers.drive.parameters.parameter_channel import Channel
from helpers.facts import one, rows
from helpers.line.faults.fault import Fault, Make, Places
from helpers.line.plant.changes import both
from helpers.line.plant.installation import Installation, Program
from helpers.line.plant.place import Place, driven
from helpers.line.plant.program import has_channel


def _program(installation: Installation, place: Place) -> Program:
    return installation.edited.station(place.device).program or Program(run=False)


def _where(**right: object) -> Places:
    """The drives whose program has these values."""

    def found(installation: Installation) -> tuple[Place, ...]:
        programs = ((place, _program(installation, place)) for place in driven(installation))
        return tuple(p for p, program in programs if all(getattr(program, k) == v for k, v in right.items()))

    return found


def _changed(**values: object) -> Make:
    """The program of one drive with other values."""

    def make(installation: Installation, place: Place, random: Random) -> Installation:
        return _with_program(installation, place, **values)

    return make


def _with_program(installation: Installation, place: Place, **values: object) -> Installation:
    program = replace(_program(installation, place), **values)  # type: ignore[arg-type]
    return both(installation, place.device, program=program)


@cache
def full_scales() -> tuple[int, ...]:
    """Numbers that authors of programs take for full speed, beside the right one.

    >>> full_scales()
    (100, 10000, 32767)
    """
    return tuple(row.whole("low") for row in rows("practice_faults") if row["name"].startswith("full scale"))


def _scaling(installation: Installation, place: Place, random: Random) -> Installation:
    return _with_program(installation, place, full_scale=random.choice(full_scales()))


def _with_channel(installation: Installation) -> tuple[Place, ...]:
    """The drives whose format has the profile's parameter channel, and whose program leaves no task in it."""
    return tuple(
        p for p in _where(cleared=True)(installation) if has_channel(installation.edited.station(p.device).data_format)
    )


@cache
def standing_task() -> Channel:
    """The task that stays: the ramp up time is written, again and again, with the value that it is delivered with."""
    row = one("demo/device_parameters", name="ramp up time")
    return parameter_channel.change(row.whole("number"), row.whole("values"))


def _task(installation: Installation, place: Place, random: Random) -> Installation:
    return _with_program(installation, place, task=standing_task(), cleared=False)


FAULTS = (
    Fault(key="bit 10 missing", name="Control word without bit 10", group="program", grade=2,
          places=_where(bit_10=True), make=_changed(bit_10=False), cures=(("program bit 10", "load controller"),),
          what="The program writes control words to this drive with bit 10, control by PLC, at 0."),
    Fault(key="start sequence", name="Wrong start sequence", group="program", grade=2, places=_where(waits=True),
          make=_changed(waits=False), cures=(("program start", "load controller"),),
          what="The program writes 16#047F to this drive from the first cycle on and never 16#047E before it."),
    Fault(key="bytes swapped", name="Bytes of the words swapped", group="program", grade=2,
          places=_where(swapped=False), make=_changed(swapped=True),
          cures=(("program byte order", "load controller"),),
          what="The program writes and reads the words of this drive with their two bytes exchanged."),
    Fault(key="scaling wrong", name="Setpoint scaled wrongly", group="program", grade=2,
          places=_where(full_scale=Program().full_scale), make=_scaling,
          cures=(("program scaling", "load controller"),),
          what="The program takes another number for full speed of this drive than the drive does."),
    Fault(key="task stands", name="Parameter task never taken back", group="program", grade=3, places=_with_channel,
          make=_task, cures=(("program task", "load controller"),),
          what="The program leaves a parameter task in the channel of this drive after the answer has come."),
)  # fmt: skip
