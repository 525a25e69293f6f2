"""Faults of the project: what the engineering computer has, and what is loaded into the controller."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import partial
from random import Random

from helpers.bus.time.cycle import BusCycle, OtherMaster, bus_cycle
from helpers.bus.time.message_cycle import Exchange
from helpers.bus.time.watchdog import BASES_S
from helpers.device.identifiers import as_written
from helpers.line.faults.addresses import free
from helpers.line.faults.fault import Fault, drawn
from helpers.line.faults.settings import other_formats
from helpers.line.plant.changes import both
from helpers.line.plant.installation import Configured, Installation
from helpers.line.plant.place import Place, controller, polled

_UNDO_CONSISTENCY = 1 << 7


def _agreed(installation: Installation) -> tuple[Place, ...]:
    """Stations for which the engineering computer and the controller agree."""
    now = installation
    return tuple(p for p in polled(now) if now.edited.station(p.device) == now.loaded.station(p.device))


def _expected(installation: Installation, field: str) -> tuple[Place, ...]:
    """Stations of which the project expects what the device is."""
    found = []
    for place in _agreed(installation):
        device = installation.device(place.device)
        is_so = {"ident": device.ident, "data_format": device.settings.active.data_format}[field]
        if getattr(installation.edited.station(place.device), field) == is_so:
            found.append(place)
    return tuple(found)


def _older(installation: Installation, place: Place, random: Random) -> Installation:
    """The description of another release codes the same format with another consistency."""
    octets = bytearray(installation.edited.station(place.device).configuration.octets)
    octets[-1] ^= _UNDO_CONSISTENCY
    return both(installation, place.device, data_format=as_written(bytes(octets)))


def _ident(installation: Installation, place: Place, random: Random) -> Installation:
    own = installation.device(place.device).ident
    known = sorted({station.ident for station in installation.edited.stations} - {own})
    return both(installation, place.device, ident=random.choice(known or [own ^ 1]))


def _plain(installation: Installation) -> tuple[Place, ...]:
    """Stations that get as many octets of parameters as they take."""
    found = ((p, installation.edited.station(p.device).user) for p in _agreed(installation))
    return tuple(p for p, user in found if len(user) == installation.device(p.device).user_octets)


def _parameters(installation: Installation, place: Place, random: Random) -> Installation:
    user = installation.edited.station(place.device).user
    return both(installation, place.device, user=user + random.randbytes(random.randint(1, 4)))


def _not_loaded(installation: Installation, place: Place, random: Random) -> Installation:
    """What the controller has is what was in the engineering computer before the change."""
    new = installation.edited.station(place.device)
    old = replace(new, address=random.choice(free(installation)))
    if new.program is not None and random.random() < 0.5:
        old = replace(new, data_format=random.choice(other_formats(new.data_format)))
    stations = tuple(old if s.name == new.name else s for s in installation.loaded.stations)
    return replace(installation, loaded=replace(installation.loaded, stations=stations))


def _cycle(installation: Installation) -> BusCycle | None:
    """The bus cycle by calculation; None where nobody is polled."""
    polls = [_exchange(installation, station) for station in installation.edited.stations]
    if not polls:
        return None
    others = [OtherMaster(device.name) for device in installation.others]
    return bus_cycle(polls, bit_rate=installation.bit_rate, others=others, delay_bits=installation.delay_bits)


def _exchange(installation: Installation, station: Configured) -> Exchange:
    sizes, wait_s = station.configuration, installation.device(station.name).min_slave_interval_s
    return Exchange(
        outputs=sizes.bytes_out, inputs=sizes.bytes_in, name=station.name, min_slave_interval_s=wait_s
    )  # fmt: skip


def _watched(installation: Installation) -> tuple[Place, ...]:
    """Stations with a watchdog, where the shortest that there is ends within the best cycle."""
    cycle = _cycle(installation)
    if cycle is None or cycle.best.seconds <= BASES_S[0]:
        return ()
    short_s = _short_s(cycle)
    return tuple(p for p in _agreed(installation) if installation.edited.station(p.device).watchdog_s > short_s)


def _short_s(cycle: BusCycle) -> float:
    """The longest watchdog that ends within the best cycle, or the shortest that there is [s]."""
    return max(1, math.floor(cycle.best.seconds / BASES_S[0])) * BASES_S[0]


def _watchdog(installation: Installation, place: Place, random: Random) -> Installation:
    cycle = _cycle(installation)
    short_s = _short_s(cycle) if cycle else BASES_S[0]
    return both(installation, place.device, watchdog_s=round(short_s, 3))


def _quick(installation: Installation) -> tuple[Place, ...]:
    return controller(installation) if installation.edited.cycle_s == installation.loaded.cycle_s < 0.5 else ()


def _slow(installation: Installation, place: Place, random: Random) -> Installation:
    return both(installation, cycle_s=round(drawn(random, "program_cycle_s"), 1))


def _working(installation: Installation) -> tuple[Place, ...]:
    return controller(installation) if installation.running else ()


def _stop(installation: Installation, place: Place, random: Random) -> Installation:
    return replace(installation, running=False)


FAULTS = (
    Fault(key="description outdated", name="Device description outdated", group="project", grade=3,
          places=partial(_expected, field="data_format"), make=_older,
          cures=(("load description", "load controller"),),
          what="The project was made with the description of another release, which codes the format with other "
               "identifiers."),
    Fault(key="ident mismatch", name="Ident number of another device", group="project", grade=2,
          places=partial(_expected, field="ident"), make=_ident, cures=(("load description", "load controller"),),
          what="The project has the description of another device for this station, with another ident number."),
    Fault(key="wrong parameters", name="Wrong parameter octets", group="project", grade=3, places=_plain,
          make=_parameters,
          cures=(("parameters in the project", "load controller"), ("load description", "load controller")),
          what="The project sends this station more octets of parameters than it takes."),
    Fault(key="not loaded", name="Change made but never loaded", group="project", grade=2, places=_agreed,
          make=_not_loaded, cures=(("load controller",),),
          what="The project in the engineering computer is right, but the controller still works with the one before."),
    Fault(key="watchdog short", name="Watchdog too short", group="project", grade=3, places=_watched, make=_watchdog,
          cures=(("watchdog in the project", "load controller"),),
          what="The watchdog of this station ends sooner than the bus comes round."),
    Fault(key="program slow", name="Cycle of the controller's program too slow", group="project", grade=2,
          places=_quick, make=_slow, cures=(("program cycle", "load controller"),),
          what="One cycle of the controller's program takes a second or so."),
    Fault(key="controller in stop", name="Controller in stop", group="project", grade=1, places=_working, make=_stop,
          cures=(("controller to run",),),
          what="The switch of the controller stands at stop."),
)  # fmt: skip
