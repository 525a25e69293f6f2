"""Faults of the cable, its cores and what hangs on it. What they are is described in `helpers.bus.circuit.faults`."""

from __future__ import annotations

import math
from dataclasses import replace
from random import Random

from helpers.bus.cable.cable import length_limit
from helpers.bus.cable.laid import Segment
from helpers.bus.cable.segment import spacing_limit
from helpers.bus.circuit.elements import LONGEST_M, Break, Circuit, known
from helpers.bus.circuit.faults import at_plug, in_piece
from helpers.bus.time.timing import bit_time_s
from helpers.line.faults.fault import Fault, drawn, size
from helpers.line.plant.changes import with_pieces
from helpers.line.plant.installation import Flicker, Installation
from helpers.line.plant.place import Place, plugs, sections, segments

_CORES = ("A", "B")
_NEW_PIECE = (("replace piece",),)


def _circuit(installation: Installation, place: Place) -> Circuit:
    return installation.stretches[place.segment].circuit


def _laid(installation: Installation, place: Place) -> Segment:
    return installation.stretches[place.segment].laid


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
    length_m = _laid(installation, place).pieces[place.section].length_m
    return random.choice(_CORES), min(round(random.uniform(0, length_m), 1), length_m)


def _open(installation: Installation, place: Place, random: Random) -> Installation:
    core, at_m = _somewhere(installation, place, random)
    return installation.with_wrong(place.segment, in_piece("core open", place.section, core=core, at_m=at_m))


def _contact(installation: Installation, place: Place, random: Random) -> Installation:
    core, at_m = _somewhere(installation, place, random)
    ohm = round(drawn(random, "contact_ohm"))
    contact = in_piece("bad contact", place.section, core=core, ohm=ohm, at_m=at_m)
    return installation.with_wrong(place.segment, contact)


def _short(installation: Installation, place: Place, random: Random) -> Installation:
    _, at_m = _somewhere(installation, place, random)
    return installation.with_wrong(place.segment, in_piece("short", place.section, first="A", second="B", at_m=at_m))


def _shield_short(installation: Installation, place: Place, random: Random) -> Installation:
    core, at_m = _somewhere(installation, place, random)
    short = in_piece("short", place.section, first=core, second="shield", at_m=at_m)
    return installation.with_wrong(place.segment, short)


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
    return installation.with_wrong(place.segment, at_plug("cores swapped", place.plug))


def _pin(installation: Installation, place: Place, random: Random) -> Installation:
    return installation.with_wrong(place.segment, at_plug("pin open", place.plug, core=random.choice(_CORES)))


def _straight(installation: Installation) -> tuple[Place, ...]:
    """Plugs without a stub and without a terminator: those that a stub may lead to."""
    found = (p for p in plugs(installation) if p.device)
    at = ((p, _circuit(installation, p).plugs[p.plug]) for p in found)
    return tuple(place for place, plug in at if not plug.stub_m and not plug.terminators)


def _stub(installation: Installation, place: Place, random: Random) -> Installation:
    circuit = _circuit(installation, place)
    bit_m = bit_time_s(installation.bit_rate) / circuit.plugs[place.plug].stub_cable.delay_s_per_m
    length_m = round(min(drawn(random, "stub_quarters") * bit_m / 4, size("stub_most_m")), 1)
    return installation.with_plug(place.segment, place.plug, stub_length_m=length_m)


def _in_cabinet(laid: Segment) -> tuple[int, ...]:
    return tuple(n for n, piece in enumerate(laid.pieces) if size("crowd_m") < piece.length_m <= size("cabinet_m"))


def _cabinets(installation: Installation) -> tuple[Place, ...]:
    """Segments with devices in a cabinet, at bit rates at which every source asks for a spacing."""
    if not spacing_limit(installation.bit_rate).last:
        return ()
    return tuple(p for p in segments(installation) if len(_in_cabinet(_laid(installation, p))) > 1)


def _crowded(installation: Installation, place: Place, random: Random) -> Installation:
    stretch = installation.stretches[place.segment]
    short_m = round(drawn(random, "crowd_m"), 2)
    near = _in_cabinet(stretch.laid)
    pieces = {n: replace(stretch.laid.pieces[n], length_m=short_m) for n in near}
    cut_out = [fault for n in near for fault in stretch.wrong_in(n)]
    least_f = known("rs485", "station_poor_f")
    bare = [at_plug("no inductors", n, least_f=least_f) for n in sorted({n + side for n in near for side in (0, 1)})]
    crowd = installation.without_wrong(place.segment, cut_out).with_wrong(place.segment, *bare)
    return with_pieces(crowd, place.segment, pieces)


def _part(installation: Installation, place: Place, random: Random) -> Installation:
    circuit = _circuit(installation, place)
    ohm = circuit.plugs[place.plug].stub_cable.impedance_ohm / 2
    charged = drawn(random, "capacitance_bits") * bit_time_s(installation.bit_rate) / ohm
    farad = float(f"{min(charged, size('capacitance_most_f')):.2g}")
    return installation.with_wrong(place.segment, at_plug("capacitance", place.plug, farad=farad))


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
    laid = _laid(installation, place)
    return LONGEST_M - laid.length_m + laid.pieces[place.section].length_m


def _wanted_m(installation: Installation, factor: float) -> float:
    limit = length_limit("A", installation.bit_rate).last
    return limit * factor


def _extendable(installation: Installation) -> tuple[Place, ...]:
    """Each segment's longest piece, while the segment is not too long already."""
    found = []
    for segment in segments(installation):
        laid = _laid(installation, segment)
        if laid.length_m <= _wanted_m(installation, 1.0):
            longest = max(range(len(laid.pieces)), key=lambda n: laid.pieces[n].length_m)
            found += [p for p in sections(installation) if (p.segment, p.section) == (segment.segment, longest)]
    return tuple(found)


def _too_long(installation: Installation, place: Place, random: Random) -> Installation:
    wanted_m = _wanted_m(installation, drawn(random, "length_factor"))
    length_m = math.floor(min(wanted_m, _room_m(installation, place)))
    piece = replace(_laid(installation, place).pieces[place.section], length_m=float(length_m))
    return with_pieces(installation, place.segment, {place.section: piece})


def _of_type_a(installation: Installation) -> tuple[Place, ...]:
    found = sections(installation)
    return tuple(p for p in found if _laid(installation, p).pieces[p.section].cable == "A")


def _wrong_cable(installation: Installation, place: Place, random: Random) -> Installation:
    return installation.with_laid(place.segment, _laid(installation, place).with_piece(place.section, cable="B"))


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
    more = round(drawn(random, "loads")) - _loads(_circuit(installation, place))
    return installation.with_wrong(place.segment, at_plug("unit loads", place.plug, unit_loads=more))


FAULTS = (
    Fault(key="core open", name="Core open", group="cable", grade=1, places=_whole, make=_open,
          cures=(("replace piece",),),
          what="One core of this piece of cable is broken."),
    Fault(key="cores swapped", name="A and B swapped at a plug", group="cable", grade=1, places=_connected,
          make=_swapped, cures=(("replace plug",),),
          what="A and B are exchanged at the screws of this plug."),
    Fault(key="pin open", name="Pin without contact", group="cable", grade=2, places=_connected, make=_pin,
          cures=(("replace plug",),),
          what="One core makes no contact between plug and device."),
    Fault(key="short", name="Short between A and B", group="cable", grade=1, places=_whole, make=_short,
          cures=(("replace piece",),),
          what="The two cores of this piece of cable touch."),
    Fault(key="short to shield", name="Short between a core and the shield", group="cable", grade=2, places=_whole,
          make=_shield_short, cures=(("replace piece",),),
          what="One core of this piece of cable touches the shield."),
    Fault(key="bad contact", name="Contact with resistance", group="cable", grade=3, places=_whole, make=_contact,
          cures=(("replace piece",),),
          what="One core has a contact of some hundred ohms in it."),
    Fault(key="loose core", name="Break that comes and goes", group="cable", grade=3, places=_whole, make=_loose,
          cures=(("replace piece",),),
          what="One core is loose: now and then it opens for a moment."),
    Fault(key="stub", name="Stub too long", group="cable", grade=2, places=_straight, make=_stub,
          cures=(("remove stub",),),
          what="This device hangs on a long stub instead of sitting in the line."),
    Fault(key="crowded", name="Devices too close", group="cable", grade=3, places=_cabinets, make=_crowded,
          cures=(("wire cabinet",),),
          what="The devices of this cabinet sit side by side, on plugs without coils and with hardly any cable "
               "between."),
    Fault(key="capacitance", name="Too much capacitance at a plug", group="cable", grade=3, places=_clear, make=_part,
          cures=(("take part off",),),
          what="A part that does not belong there sits between the cores at this plug."),
    Fault(key="too long", name="Cable too long", group="cable", grade=2, places=_extendable, make=_too_long,
          cures=(("replace piece",),),
          what="This piece makes the segment far longer than the bit rate allows."),
    Fault(key="wrong cable", name="Wrong type of cable", group="cable", grade=2, places=_of_type_a, make=_wrong_cable,
          cures=(("replace piece",),),
          what="This piece is of cable type B in a line of type A."),
    Fault(key="overloaded", name="33rd unit load and more", group="cable", grade=3, places=_light, make=_overloaded,
          cures=(("exchange device",),),
          what="The input of this device draws as much as many others, so the segment carries more than 32 unit "
               "loads."),
)  # fmt: skip
