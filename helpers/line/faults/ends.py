"""Faults at the ends of the cable and at the terminators in the plugs."""

from __future__ import annotations

from functools import partial
from random import Random

from helpers.bus.cable.laid import Plug
from helpers.bus.circuit.elements import Terminator
from helpers.bus.circuit.faults import at_plug
from helpers.line.faults.fault import Fault
from helpers.line.plant.installation import Installation
from helpers.line.plant.place import Place, ends, is_end, plugs


def _plug(installation: Installation, place: Place) -> Plug:
    return installation.stretches[place.segment].laid.plugs[place.plug]


def _terminators(installation: Installation, place: Place) -> tuple[Terminator, ...]:
    return installation.stretches[place.segment].circuit.plugs[place.plug].terminators


def _terminated(installation: Installation) -> tuple[Place, ...]:
    """End plugs with a terminator that works."""
    return tuple(p for p in ends(installation) if any(t.supply == "on" for t in _terminators(installation, p)))


def _by_plug(installation: Installation) -> tuple[Place, ...]:
    """End plugs whose own terminator alone is on."""
    return tuple(p for p in _terminated(installation) if _alone(installation, p, box=False))


def _by_box(installation: Installation) -> tuple[Place, ...]:
    """End plugs that leave it to a terminator box."""
    return tuple(p for p in _terminated(installation) if p.device and _alone(installation, p, box=True))


def _alone(installation: Installation, place: Place, *, box: bool) -> bool:
    return len(_terminators(installation, place)) == 1 and _plug(installation, place).own_supply == box


def _cutting_end(installation: Installation) -> tuple[Place, ...]:
    """End plugs that cut off their outgoing cable, wired as they should be."""
    at = ((p, _plug(installation, p)) for p in _by_plug(installation))
    return tuple(p for p, plug in at if plug.terminator_on and plug.cuts and not plug.sides_exchanged)


def _middle(installation: Installation, *, cutting: bool) -> tuple[Place, ...]:
    found = []
    for place in plugs(installation):
        kind = _plug(installation, place).cuts == cutting
        if place.device and kind and not is_end(installation, place) and not _terminators(installation, place):
            found.append(place)
    return tuple(found)


def _missing(installation: Installation, place: Place, random: Random) -> Installation:
    plug = _plug(installation, place)
    if plug.kind == "terminator" and not plug.own_supply:
        return installation.with_wrong(place.segment, at_plug("terminator missing", place.plug))
    return installation.with_plug(place.segment, place.plug, own_supply=False, terminator_on=False)


def _box_added(installation: Installation, place: Place, random: Random) -> Installation:
    return installation.with_plug(place.segment, place.plug, own_supply=True)


def _switched_on(installation: Installation, place: Place, random: Random) -> Installation:
    return installation.with_plug(place.segment, place.plug, terminator_on=True)


def _unpowered(installation: Installation, place: Place, random: Random) -> Installation:
    kind = "box unpowered" if _plug(installation, place).own_supply else "terminator unpowered"
    return installation.with_wrong(place.segment, at_plug(kind, place.plug))


def _exchanged(installation: Installation, place: Place, random: Random) -> Installation:
    return installation.with_plug(place.segment, place.plug, sides_exchanged=True)


FAULTS = (
    Fault(key="terminator missing", name="Terminator missing at an end", group="ends", grade=1, places=_by_plug,
          make=_missing, cures=(("terminator on",),),
          what="The terminator of the plug at this end of the cable is not switched on."),
    Fault(key="box missing", name="Terminator box missing at an end", group="ends", grade=1, places=_by_box,
          make=_missing, cures=(("fit box",),),
          what="The terminator box that belongs to this end of the cable is not there."),
    Fault(key="terminator doubled", name="Terminator doubled at an end", group="ends", grade=2, places=_by_plug,
          make=_box_added, cures=(("take box off",),),
          what="Somebody has added a terminator box to an end whose plug has its own terminator on."),
    Fault(key="plug and box", name="Plug's own terminator on beside the box", group="ends", grade=2, places=_by_box,
          make=_switched_on, cures=(("terminator off",),),
          what="The plug's own terminator is on, although a terminator box sits beside it."),
    Fault(key="terminator in the middle", name="Terminator on in the middle", group="ends", grade=2,
          places=partial(_middle, cutting=False), make=_switched_on, cures=(("terminator off",),),
          what="A plug in the middle has its terminator on, and its kind leaves the cable connected."),
    Fault(key="cut off in the middle", name="Terminator on in the middle, the rest cut off", group="ends", grade=1,
          places=partial(_middle, cutting=True), make=_switched_on, cures=(("terminator off",),),
          what="A plug in the middle has its terminator on, and its kind cuts off the outgoing cable."),
    Fault(key="terminator unpowered", name="Terminator without supply", group="ends", grade=2, places=_by_plug,
          make=_unpowered, cures=(("replace plug",),),
          what="The terminator of the plug is on, but the wire of its supply hangs free."),
    Fault(key="box unpowered", name="Terminator box without supply", group="ends", grade=2, places=_by_box,
          make=_unpowered, cures=(("supply box",),),
          what="The terminator box at this end has no supply."),
    Fault(key="sides exchanged", name="Cables in and out exchanged in an end plug", group="ends", grade=2,
          places=_cutting_end, make=_exchanged, cures=(("replace plug",),),
          what="The cable lies on the outgoing side of an end plug, which its own terminator cuts off."),
)  # fmt: skip
