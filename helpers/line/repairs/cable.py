"""What a technician does to cable, plugs, terminators, shield and earth."""

from __future__ import annotations

from dataclasses import replace

from helpers.bus.cable.laid import Piece, Segment
from helpers.bus.circuit.faults import at_plug
from helpers.line.plant.changes import with_pieces
from helpers.line.plant.installation import Installation
from helpers.line.plant.noise import with_noise
from helpers.line.plant.place import Place, devices, plugs, sections, segments
from helpers.line.repairs.repair import Repair

_OF_PLUG = ("pin open", "cores swapped", "terminator unpowered")  # what goes with the plug when it is replaced


def _device_plugs(installation: Installation) -> tuple[Place, ...]:
    return tuple(place for place in plugs(installation) if place.device)


def _without(installation: Installation, place: Place, *kinds: str) -> Installation:
    """What is wrong at a plug put right, as far as it is of these kinds."""
    wrong = installation.stretches[place.segment].wrong_at(place.plug)
    return installation.without_wrong(place.segment, (fault for fault in wrong if fault.kind in kinds))


def _on(installation: Installation, place: Place, value: object) -> Installation:
    there = _without(installation, place, "terminator missing")
    return there.with_plug(place.segment, place.plug, terminator_on=not _is_box(there, place))


def _off(installation: Installation, place: Place, value: object) -> Installation:
    if _is_box(installation, place):
        return installation.with_wrong(place.segment, at_plug("terminator missing", place.plug))
    return installation.with_plug(place.segment, place.plug, terminator_on=False)


def _is_box(installation: Installation, place: Place) -> bool:
    """True for a terminator at a place of its own, which has no switch: it is there, or it is not."""
    plug = installation.stretches[place.segment].laid.plugs[place.plug]
    return plug.kind == "terminator" and not plug.own_supply


def _working_box(installation: Installation, place: Place, value: object) -> Installation:
    """A new box and one whose supply is back are the same to the cable."""
    fed = _without(installation, place, "box unpowered")
    return fed.with_plug(place.segment, place.plug, own_supply=True)


def _take_box(installation: Installation, place: Place, value: object) -> Installation:
    gone = _without(installation, place, "box unpowered")
    return gone.with_plug(place.segment, place.plug, own_supply=False)


def _boxes(installation: Installation) -> tuple[Place, ...]:
    return tuple(p for p in plugs(installation) if installation.stretches[p.segment].laid.plugs[p.plug].own_supply)


def _without_box(installation: Installation) -> tuple[Place, ...]:
    with_box = _boxes(installation)
    return tuple(place for place in plugs(installation) if place not in with_box)


def _new_plug(installation: Installation, place: Place, value: object) -> Installation:
    """A new plug, wired as the drawing says; its switch stands as that of the old one. Box and stub stay."""
    wired = _without(installation, place, *_OF_PLUG)
    return wired.with_plug(place.segment, place.plug, sides_exchanged=False)


def _new_piece(installation: Installation, place: Place, value: Piece) -> Installation:
    """A new piece, by the length and the type of the plan, shield connected at both ends; it takes the old way."""
    stretch = installation.stretches[place.segment]
    tight = tuple(flicker for flicker in stretch.flickers if flicker.section != place.section)
    whole = installation.without_wrong(place.segment, stretch.wrong_in(place.section))
    return with_pieces(whole.with_stretch(place.segment, flickers=tight), place.segment, {place.section: value})


def _planned_piece(plan: Installation, place: Place) -> Piece:
    return plan.stretches[place.segment].laid.pieces[place.section]


def _no_stub(installation: Installation, place: Place, value: object) -> Installation:
    return installation.with_plug(place.segment, place.plug, stub_length_m=0.0)


def _part_off(installation: Installation, place: Place, value: object) -> Installation:
    """What is left is the capacitance of the device and its plug."""
    return _without(installation, place, "capacitance")


def _rewired(installation: Installation, place: Place, value: Segment) -> Installation:
    """Plugs with coils, and between them as much cable as the plan has; what is wrong in a piece stays in it."""
    stretch = installation.stretches[place.segment]
    pairs = enumerate(zip(stretch.laid.pieces, value.pieces, strict=True))
    pieces = {n: replace(p, length_m=planned.length_m) for n, (p, planned) in pairs if p.length_m < planned.length_m}
    bare = (fault for fault in stretch.wrong if fault.kind == "no inductors")
    return with_pieces(installation.without_wrong(place.segment, bare), place.segment, pieces)


def _planned_segment(plan: Installation, place: Place) -> Segment:
    return plan.stretches[place.segment].laid


def _shield(installation: Installation, place: Place, value: object) -> Installation:
    wrong = installation.stretches[place.segment].wrong_in(place.section)
    shields = (fault for fault in wrong if ("core", "shield") in fault.figures)
    return with_noise(installation.without_wrong(place.segment, shields))


def _earth(installation: Installation, place: Place, value: object) -> Installation:
    return with_noise(installation.with_device(place.device, board_earthed=True))


def _apart(installation: Installation, place: Place, value: object) -> Installation:
    beside = installation.stretches[place.segment].beside - {place.section}
    return with_noise(installation.with_stretch(place.segment, beside=beside))


# A change at the cable can bring back any station, so it can start any motor.
_CABINET = "open cabinet; starts any"
_PLUG = f"{_CABINET}; stations lost"

REPAIRS = (
    Repair("terminator on", "Switch the plug's terminator on", _PLUG, _device_plugs, _on),
    Repair("terminator off", "Switch the plug's terminator off", _PLUG, _device_plugs, _off),
    Repair("fit box", "Fit a terminator box beside the plug", f"{_PLUG}; box supply", _without_box, _working_box),
    Repair("take box off", "Take the terminator box off", f"{_PLUG}; box supply", _boxes, _take_box),
    Repair("supply box", "Bring the supply of the terminator box back", f"{_CABINET}; box supply; foreign lock",
           _boxes, _working_box),
    Repair("replace plug", "Replace the plug and wire it as the drawing says", _PLUG, _device_plugs, _new_plug),
    Repair("replace piece", "Replace the piece of cable", _PLUG, sections, _new_piece, _planned_piece),
    Repair("remove stub", "Bring the cable to the device and leave the stub out", _PLUG, _device_plugs, _no_stub),
    Repair("take part off", "Take off what does not belong to the plug", _PLUG,
           _device_plugs, _part_off),
    Repair("wire cabinet", "Wire the cabinet anew, with coils and loops", "mains; dc link; starts any",
           segments, _rewired, _planned_segment),
    Repair("connect shield", "Connect the shield of a piece at both ends", f"{_PLUG}; shield voltage",
           sections, _shield),
    Repair("connect earth wire", "Connect the earth wire of the bus board", "mains; dc link; starts any",
           lambda installation: devices(installation, "drive"), _earth),
    Repair("lay apart", "Lay the piece of cable away from motor cables", "motor cables; starts any",
           sections, _apart),
)  # fmt: skip
