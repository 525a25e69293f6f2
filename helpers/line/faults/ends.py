"""Faults at the ends of the cable and at the terminators in the plugs."""

from __future__ import annotations

from functools import partial
from random import Random

from helpers.bus.circuit import faults as circuit_faults
from helpers.bus.circuit.elements import Tap, Terminator
from helpers.line.faults.fault import Fault
from helpers.line.plant.installation import Installation, Stretch
from helpers.line.plant.place import Place, ends, is_end, plugs


def _at(installation: Installation, place: Place) -> tuple[Stretch, Tap]:
    stretch = installation.stretches[place.segment]
    return stretch, stretch.circuit.plugs[place.plug]


def _terminated(installation: Installation) -> tuple[Place, ...]:
    """End plugs with a terminator that works."""
    return tuple(p for p in ends(installation) if any(t.supply == "on" for t in _at(installation, p)[1].terminators))


def _by_plug(installation: Installation) -> tuple[Place, ...]:
    """End plugs whose own terminator alone is on."""
    return tuple(p for p in _terminated(installation) if _alone(installation, p, box=False))


def _by_box(installation: Installation) -> tuple[Place, ...]:
    """End plugs that leave it to a terminator box."""
    return tuple(p for p in _terminated(installation) if p.device and _alone(installation, p, box=True))


def _alone(installation: Installation, place: Place, *, box: bool) -> bool:
    stretch, plug = _at(installation, place)
    return len(plug.terminators) == 1 and (place.plug in stretch.own_supply) == box


def _cutting_end(installation: Installation) -> tuple[Place, ...]:
    """End plugs that cut off their outgoing cable, wired as they should be."""
    found = (p for p in _by_plug(installation) if _at(installation, p)[1].cuts_outgoing)
    return tuple(p for p in found if not _at(installation, p)[1].sides_exchanged)


def _middle(installation: Installation, *, cutting: bool) -> tuple[Place, ...]:
    found = []
    for place in plugs(installation):
        stretch, plug = _at(installation, place)
        kind = (place.plug in stretch.cutting) == cutting
        if place.device and kind and not is_end(installation, place) and not plug.terminators:
            found.append(place)
    return tuple(found)


def _missing(installation: Installation, place: Place, random: Random) -> Installation:
    stretch = installation.stretches[place.segment]
    circuit = circuit_faults.terminator_missing(stretch.circuit, place.plug).with_plug(place.plug, cuts_outgoing=False)
    return installation.with_stretch(place.segment, circuit=circuit, own_supply=stretch.own_supply - {place.plug})


def _box_added(installation: Installation, place: Place, random: Random) -> Installation:
    stretch = installation.stretches[place.segment]
    circuit = circuit_faults.terminator_added(stretch.circuit, place.plug)
    return installation.with_stretch(place.segment, circuit=circuit, own_supply=stretch.own_supply | {place.plug})


def _switched_on(installation: Installation, place: Place, random: Random) -> Installation:
    stretch, plug = _at(installation, place)
    if place.plug in stretch.cutting and not is_end(installation, place):
        return installation.with_circuit(place.segment, circuit_faults.middle_switched_on(stretch.circuit, place.plug))
    circuit = stretch.circuit.with_plug(
        place.plug, terminators=(Terminator(), *plug.terminators), cuts_outgoing=place.plug in stretch.cutting
    )
    return installation.with_circuit(place.segment, circuit)


def _unpowered(installation: Installation, place: Place, random: Random) -> Installation:
    stretch = installation.stretches[place.segment]
    supply = "dead" if place.plug in stretch.own_supply else "open"
    return installation.with_circuit(
        place.segment, circuit_faults.terminator_unpowered(stretch.circuit, place.plug, supply=supply)
    )


def _exchanged(installation: Installation, place: Place, random: Random) -> Installation:
    circuit = installation.stretches[place.segment].circuit
    return installation.with_circuit(place.segment, circuit_faults.sides_exchanged(circuit, place.plug))


FAULTS = (
    Fault(
        "terminator missing",
        "Terminator missing at an end",
        "ends",
        1,
        "The terminator of the plug at this end of the cable is not switched on.",
        _by_plug,
        _missing,
        (("terminator on",),),
    ),
    Fault(
        "box missing",
        "Terminator box missing at an end",
        "ends",
        1,
        "The terminator box that belongs to this end of the cable is not there.",
        _by_box,
        _missing,
        (("fit box",),),
    ),
    Fault(
        "terminator doubled",
        "Terminator doubled at an end",
        "ends",
        2,
        "Somebody has added a terminator box to an end whose plug has its own terminator on.",
        _by_plug,
        _box_added,
        (("take box off",),),
    ),
    Fault(
        "plug and box",
        "Tap's own terminator on beside the box",
        "ends",
        2,
        "The plug's own terminator is on, although a terminator box sits beside it.",
        _by_box,
        _switched_on,
        (("terminator off",),),
    ),
    Fault(
        "terminator in the middle",
        "Terminator on in the middle",
        "ends",
        2,
        "A plug in the middle has its terminator on, and its kind leaves the cable connected.",
        partial(_middle, cutting=False),
        _switched_on,
        (("terminator off",),),
    ),
    Fault(
        "cut off in the middle",
        "Terminator on in the middle, the rest cut off",
        "ends",
        1,
        "A plug in the middle has its terminator on, and its kind cuts off the outgoing cable.",
        partial(_middle, cutting=True),
        _switched_on,
        (("terminator off",),),
    ),
    Fault(
        "terminator unpowered",
        "Terminator without supply",
        "ends",
        2,
        "The terminator of the plug is on, but the wire of its supply hangs free.",
        _by_plug,
        _unpowered,
        (("replace plug",),),
    ),
    Fault(
        "box unpowered",
        "Terminator box without supply",
        "ends",
        2,
        "The terminator box at this end has no supply.",
        _by_box,
        _unpowered,
        (("supply box",),),
    ),
    Fault(
        "sides exchanged",
        "Cables in and out exchanged in an end plug",
        "ends",
        2,
        "The cable lies on the outgoing side of an end plug, which its own terminator cuts off.",
        _cutting_end,
        _exchanged,
        (("replace plug",),),
    ),
)
