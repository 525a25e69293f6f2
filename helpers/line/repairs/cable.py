"""What a technician does to cable, plugs, terminators, shield and earth."""

from __future__ import annotations

from dataclasses import replace

from helpers.bus.circuit.elements import Break, Section, Tap, Terminator
from helpers.line.plant.cable_changes import with_pieces
from helpers.line.plant.installation import Installation, Stretch
from helpers.line.plant.noise import with_noise
from helpers.line.plant.place import Place, devices, plugs, sections, segments
from helpers.line.repairs.repair import Repair


def _plug(installation: Installation, place: Place) -> Tap:
    return installation.stretches[place.segment].circuit.plugs[place.plug]


def _section(installation: Installation, place: Place) -> Section:
    return installation.stretches[place.segment].circuit.sections[place.section]


def _device_plugs(installation: Installation) -> tuple[Place, ...]:
    return tuple(place for place in plugs(installation) if place.device)


def _own_and_box(stretch: Stretch, plug: int) -> tuple[tuple[Terminator, ...], tuple[Terminator, ...]]:
    """The terminators in the plug, and the box beside it."""
    here = stretch.circuit.plugs[plug].terminators
    own = len(here) - (plug in stretch.own_supply)
    return here[:own], here[own:]


def _switched(installation: Installation, place: Place, *, on: bool) -> Installation:
    """The switch of a plug's own terminator; one that is there already stays."""
    stretch = installation.stretches[place.segment]
    own, box = _own_and_box(stretch, place.plug)
    now = (own or (Terminator(),)) if on else ()
    circuit = stretch.circuit.with_plug(
        place.plug, terminators=(*now, *box), cuts_outgoing=on and place.plug in stretch.cutting
    )
    return installation.with_circuit(place.segment, circuit)


def _on(installation: Installation, place: Place, value: object) -> Installation:
    return _switched(installation, place, on=True)


def _off(installation: Installation, place: Place, value: object) -> Installation:
    return _switched(installation, place, on=False)


def _with_box(installation: Installation, place: Place, box: tuple[Terminator, ...]) -> Installation:
    stretch = installation.stretches[place.segment]
    own, _ = _own_and_box(stretch, place.plug)
    changed = stretch.own_supply | {place.plug} if box else stretch.own_supply - {place.plug}
    circuit = stretch.circuit.with_plug(place.plug, terminators=(*own, *box))
    return installation.with_stretch(place.segment, circuit=circuit, own_supply=changed)


def _working_box(installation: Installation, place: Place, value: object) -> Installation:
    """A new box and one whose supply is back are the same to the cable."""
    return _with_box(installation, place, (Terminator(),))


def _take_box(installation: Installation, place: Place, value: object) -> Installation:
    return _with_box(installation, place, ())


def _boxes(installation: Installation) -> tuple[Place, ...]:
    return tuple(p for p in plugs(installation) if p.plug in installation.stretches[p.segment].own_supply)


def _without_box(installation: Installation) -> tuple[Place, ...]:
    return tuple(p for p in plugs(installation) if p.plug not in installation.stretches[p.segment].own_supply)


def _new_plug(installation: Installation, place: Place, value: object) -> Installation:
    """A new plug, wired as the drawing says; its switch stands as that of the old one. Box and stub stay."""
    stretch = installation.stretches[place.segment]
    own, box = _own_and_box(stretch, place.plug)
    circuit = stretch.circuit.with_plug(
        place.plug,
        terminators=(*(Terminator() for _ in own), *box),
        faults=(),
        swapped=False,
        sides_exchanged=False,
        cuts_outgoing=bool(own) and place.plug in stretch.cutting,
    )
    return installation.with_circuit(place.segment, circuit)


def _new_piece(installation: Installation, place: Place, value: Section) -> Installation:
    """A new piece, by the length and the type of the plan, shield connected at both ends; it takes the old way."""
    stretch = installation.stretches[place.segment]
    tight = tuple(flicker for flicker in stretch.flickers if flicker.section != place.section)
    changed = installation.with_stretch(place.segment, flickers=tight)
    return with_pieces(changed, place.segment, {place.section: value})


def _planned_piece(plan: Installation, place: Place) -> Section:
    return replace(_section(plan, place), faults=())


def _no_stub(installation: Installation, place: Place, value: object) -> Installation:
    circuit = installation.stretches[place.segment].circuit.with_plug(place.plug, stub_m=0.0)
    return installation.with_circuit(place.segment, circuit)


def _part_off(installation: Installation, place: Place, value: float) -> Installation:
    """What is left is the capacitance of the device and its plug."""
    receiver = _plug(installation, place).receiver
    if receiver is None:
        return installation
    bare = replace(receiver, capacitance_f=min(receiver.capacitance_f, value))
    circuit = installation.stretches[place.segment].circuit.with_plug(place.plug, receiver=bare)
    return installation.with_circuit(place.segment, circuit)


def _planned_capacitance(plan: Installation, place: Place) -> float:
    receiver = _plug(plan, place).receiver
    return receiver.capacitance_f if receiver else 0.0


def _rewired(installation: Installation, place: Place, value: Stretch) -> Installation:
    """Plugs with coils, and between them as much cable as the plan has; what is wrong in a piece stays in it."""
    circuit = installation.stretches[place.segment].circuit
    pieces = {}
    for n, planned in enumerate(value.circuit.sections):
        now = circuit.sections[n]
        if now.length_m < planned.length_m:
            pieces[n] = replace(now, length_m=planned.length_m)
    for n, plug in enumerate(value.circuit.plugs):
        old = circuit.plugs[n]
        receiver = old.receiver
        if receiver and plug.receiver and not old.inductor_h:
            receiver = replace(receiver, capacitance_f=plug.receiver.capacitance_f)
        circuit = circuit.with_plug(n, inductor_h=plug.inductor_h, receiver=receiver)
    return with_pieces(installation.with_circuit(place.segment, circuit), place.segment, pieces)


def _planned_stretch(plan: Installation, place: Place) -> Stretch:
    return plan.stretches[place.segment]


def _shield(installation: Installation, place: Place, value: object) -> Installation:
    section = _section(installation, place)
    left = tuple(f for f in section.faults if not (isinstance(f, Break) and f.core == "shield"))
    return with_pieces(installation, place.segment, {place.section: replace(section, faults=left)})


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
           _device_plugs, _part_off, _planned_capacitance),
    Repair("wire cabinet", "Wire the cabinet anew, with coils and loops", "mains; dc link; starts any",
           segments, _rewired, _planned_stretch),
    Repair("connect shield", "Connect the shield of a piece at both ends", f"{_PLUG}; shield voltage",
           sections, _shield),
    Repair("connect earth wire", "Connect the earth wire of the bus board", "mains; dc link; starts any",
           lambda installation: devices(installation, "drive"), _earth),
    Repair("lay apart", "Lay the piece of cable away from motor cables", "motor cables; starts any",
           sections, _apart),
)  # fmt: skip
