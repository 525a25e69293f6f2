"""Faults of the cable, its cores and what hangs on it. The circuit is changed by `helpers.bus.circuit.faults`."""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random

from helpers.bus.cable.cable import length_limit
from helpers.bus.cable.segment import spacing_limit
from helpers.bus.circuit import faults as circuit_faults
from helpers.bus.circuit.elements import LONGEST_M, Break, Circuit, Receiver, known
from helpers.bus.time.timing import bit_time_s
from helpers.line.faults.fault import Fault, Make, Places, drawn, size
from helpers.line.plant.cable_changes import with_pieces
from helpers.line.plant.installation import Flicker, Installation
from helpers.line.plant.place import Place, plugs, sections, segments

_CORES = ("A", "B")
_NEW_PIECE = (("replace piece",),)


def _circuit(installation: Installation, place: Place) -> Circuit:
    return installation.stretches[place.segment].circuit


def _whole(installation: Installation) -> tuple[Place, ...]:
    """Pieces of cable in whose cores nothing is wrong, and that have a length."""
    found = []
    for place in sections(installation):
        stretch = installation.stretches[place.segment]
        section = stretch.circuit.sections[place.section]
        loose = any(flicker.section == place.section for flicker in stretch.flickers)
        if section.length_m and not section.faults and not loose:
            found.append(place)
    return tuple(found)


def _somewhere(installation: Installation, place: Place, random: Random) -> tuple[str, float]:
    """A core, and a distance from the left plug to a tenth of a metre [m]."""
    length_m = _circuit(installation, place).sections[place.section].length_m
    return random.choice(_CORES), min(round(random.uniform(0, length_m), 1), length_m)


def _open(installation: Installation, place: Place, random: Random) -> Installation:
    core, at_m = _somewhere(installation, place, random)
    changed = circuit_faults.core_open(_circuit(installation, place), core, place.section, at_m=at_m)
    return installation.with_circuit(place.segment, changed)


def _contact(installation: Installation, place: Place, random: Random) -> Installation:
    core, at_m = _somewhere(installation, place, random)
    ohm = round(drawn(random, "contact_ohm"))
    changed = circuit_faults.bad_contact(_circuit(installation, place), core, place.section, ohm=ohm, at_m=at_m)
    return installation.with_circuit(place.segment, changed)


def _short(installation: Installation, place: Place, random: Random) -> Installation:
    _, at_m = _somewhere(installation, place, random)
    changed = circuit_faults.shorted(_circuit(installation, place), *_CORES, section=place.section, at_m=at_m)
    return installation.with_circuit(place.segment, changed)


def _shield_short(installation: Installation, place: Place, random: Random) -> Installation:
    core, at_m = _somewhere(installation, place, random)
    changed = circuit_faults.shorted(_circuit(installation, place), core, "shield", place.section, at_m=at_m)
    return installation.with_circuit(place.segment, changed)


def _loose(installation: Installation, place: Place, random: Random) -> Installation:
    core, at_m = _somewhere(installation, place, random)
    every_s, open_s = drawn(random, "flicker_every_s"), drawn(random, "flicker_open_s")
    loose = Flicker(place.section, Break(core, at_m), round(every_s, 1), round(open_s, 2))
    flickers = installation.stretches[place.segment].flickers
    return installation.with_stretch(place.segment, flickers=(*flickers, loose))


def _connected(installation: Installation) -> tuple[Place, ...]:
    """Plugs with a device whose two cores lie right and make contact."""
    found = []
    for place in plugs(installation):
        plug = _circuit(installation, place).plugs[place.plug]
        if place.device and plug.receiver is not None and not plug.swapped and not plug.faults:
            found.append(place)
    return tuple(found)


def _swapped(installation: Installation, place: Place, random: Random) -> Installation:
    changed = circuit_faults.cores_swapped(_circuit(installation, place), place.plug)
    return installation.with_circuit(place.segment, changed)


def _pin(installation: Installation, place: Place, random: Random) -> Installation:
    changed = circuit_faults.pin_open(_circuit(installation, place), random.choice(_CORES), place.plug)
    return installation.with_circuit(place.segment, changed)


def _straight(installation: Installation) -> tuple[Place, ...]:
    """Plugs without a stub and without a terminator: those that a stub may lead to."""
    found = (p for p in plugs(installation) if p.device)
    at = ((p, _circuit(installation, p).plugs[p.plug]) for p in found)
    return tuple(place for place, plug in at if not plug.stub_m and not plug.terminators)


def _stub(installation: Installation, place: Place, random: Random) -> Installation:
    circuit = _circuit(installation, place)
    bit_m = bit_time_s(installation.bit_rate) / circuit.plugs[place.plug].stub_cable.delay_s_per_m
    length_m = round(min(drawn(random, "stub_quarters") * bit_m / 4, size("stub_most_m")), 1)
    return installation.with_circuit(place.segment, circuit.with_plug(place.plug, stub_m=length_m))


def _in_cabinet(circuit: Circuit) -> tuple[int, ...]:
    pieces = enumerate(circuit.sections)
    return tuple(n for n, section in pieces if size("crowd_m") < section.length_m <= size("cabinet_m"))


def _cabinets(installation: Installation) -> tuple[Place, ...]:
    """Segments with devices in a cabinet, at bit rates at which every source asks for a spacing."""
    if not spacing_limit(installation.bit_rate).last:
        return ()
    return tuple(p for p in segments(installation) if len(_in_cabinet(_circuit(installation, p))) > 1)


def _crowded(installation: Installation, place: Place, random: Random) -> Installation:
    circuit = _circuit(installation, place)
    short_m = round(drawn(random, "crowd_m"), 2)
    near = _in_cabinet(circuit)
    pieces = {n: replace(circuit.sections[n], length_m=short_m, faults=()) for n in near}
    for plug in sorted({n + side for n in near for side in (0, 1)}):
        old = circuit.plugs[plug].receiver
        poor = old and replace(old, capacitance_f=max(old.capacitance_f, known("rs485", "station_poor_f")))
        circuit = circuit.with_plug(plug, inductor_h=0.0, receiver=poor)
    return with_pieces(installation.with_circuit(place.segment, circuit), place.segment, pieces)


def _part(installation: Installation, place: Place, random: Random) -> Installation:
    circuit = _circuit(installation, place)
    ohm = circuit.plugs[place.plug].stub_cable.impedance_ohm / 2
    charged = drawn(random, "capacitance_bits") * bit_time_s(installation.bit_rate) / ohm
    farad = float(f"{min(charged, size('capacitance_most_f')):.2g}")
    return installation.with_circuit(place.segment, circuit_faults.capacitance_added(circuit, place.plug, farad))


def _clear(installation: Installation) -> tuple[Place, ...]:
    """Plugs with a device and no more capacitance than stations have."""
    found = []
    for place in plugs(installation):
        receiver = _circuit(installation, place).plugs[place.plug].receiver
        if place.device and receiver and receiver.capacitance_f <= 2 * known("rs485", "station_poor_f"):
            found.append(place)
    return tuple(found)


def _room_m(installation: Installation, place: Place) -> float:
    """How long one piece may become before the calculation ends [m]."""
    circuit = _circuit(installation, place)
    return LONGEST_M - circuit.length_m + circuit.sections[place.section].length_m


def _wanted_m(installation: Installation, factor: float) -> float:
    limit = length_limit("A", installation.bit_rate).last
    return limit * factor


def _extendable(installation: Installation) -> tuple[Place, ...]:
    """Each segment's longest piece, while the segment is not too long already."""
    found = []
    for segment in segments(installation):
        circuit = _circuit(installation, segment)
        if circuit.sections and circuit.length_m <= _wanted_m(installation, 1.0):
            longest = max(range(len(circuit.sections)), key=lambda n: circuit.sections[n].length_m)
            found += [p for p in sections(installation) if (p.segment, p.section) == (segment.segment, longest)]
    return tuple(found)


def _too_long(installation: Installation, place: Place, random: Random) -> Installation:
    wanted_m = _wanted_m(installation, drawn(random, "length_factor"))
    length_m = math.floor(min(wanted_m, _room_m(installation, place)))
    section = replace(_circuit(installation, place).sections[place.section], length_m=float(length_m))
    return with_pieces(installation, place.segment, {place.section: section})


def _of_type_a(installation: Installation) -> tuple[Place, ...]:
    found = sections(installation)
    return tuple(p for p in found if _circuit(installation, p).sections[p.section].cable.name == "A")


def _wrong_cable(installation: Installation, place: Place, random: Random) -> Installation:
    changed = circuit_faults.foreign_cable(_circuit(installation, place), place.section)
    return installation.with_circuit(place.segment, changed)


def _loads(circuit: Circuit) -> float:
    return sum(plug.receiver.unit_loads for plug in circuit.plugs if plug.receiver)


def _light(installation: Installation) -> tuple[Place, ...]:
    """Stations in segments that carry less than 33 unit loads."""
    found = []
    for place in plugs(installation):
        circuit = _circuit(installation, place)
        known_station = place.device and installation.device(place.device).is_station
        if known_station and circuit.plugs[place.plug].receiver and _loads(circuit) < size("loads"):
            found.append(place)
    return tuple(found)


def _overloaded(installation: Installation, place: Place, random: Random) -> Installation:
    circuit = _circuit(installation, place)
    receiver = circuit.plugs[place.plug].receiver or Receiver(0.0)
    more = round(drawn(random, "loads")) - _loads(circuit)
    heavier = replace(receiver, unit_loads=receiver.unit_loads + more)
    return installation.with_circuit(place.segment, circuit.with_plug(place.plug, receiver=heavier))


def _fault(key: str, name: str, grade: int, what: str, places: Places, make: Make, *cures: str) -> Fault:
    return Fault(key, name, "cable", grade, what, places, make, tuple((cure,) for cure in cures))


FAULTS = (
    _fault("core open", "Core open", 1, "One core of this piece of cable is broken.", _whole, _open, "replace piece"),
    _fault("cores swapped", "A and B swapped at a plug", 1, "A and B are exchanged at the screws of this plug.",
           _connected, _swapped, "replace plug"),
    _fault("pin open", "Pin without contact", 2, "One core makes no contact between plug and device.",
           _connected, _pin, "replace plug"),
    _fault("short", "Short between A and B", 1, "The two cores of this piece of cable touch.",
           _whole, _short, "replace piece"),
    _fault("short to shield", "Short between a core and the shield", 2,
           "One core of this piece of cable touches the shield.",
           _whole, _shield_short, "replace piece"),
    _fault("bad contact", "Contact with resistance", 3, "One core has a contact of some hundred ohms in it.",
           _whole, _contact, "replace piece"),
    _fault("loose core", "Break that comes and goes", 3, "One core is loose: now and then it opens for a moment.",
           _whole, _loose, "replace piece"),
    _fault("stub", "Stub too long", 2, "This device hangs on a long stub instead of sitting in the line.",
           _straight, _stub, "remove stub"),
    _fault("crowded", "Devices too close", 3,
           "The devices of this cabinet sit side by side, on plugs without coils and with hardly any cable between.",
           _cabinets, _crowded, "wire cabinet"),
    _fault("capacitance", "Too much capacitance at a plug", 3,
           "A part that does not belong there sits between the cores at this plug.", _clear, _part, "take part off"),
    _fault("too long", "Cable too long", 2, "This piece makes the segment far longer than the bit rate allows.",
           _extendable, _too_long, "replace piece"),
    _fault("wrong cable", "Wrong type of cable", 2, "This piece is of cable type B in a line of type A.",
           _of_type_a, _wrong_cable, "replace piece"),
    _fault("overloaded", "33rd unit load and more", 3,
           "The input of this device draws as much as many others, so the segment carries more than 32 unit loads.",
           _light, _overloaded, "exchange device"),
)  # fmt: skip
