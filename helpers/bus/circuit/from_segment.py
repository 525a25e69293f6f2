"""From the segment that the rules know, with devices and switches, to the circuit it makes."""

from __future__ import annotations

from helpers.bus.cable.segment import Device
from helpers.bus.cable.segment import Segment as Planned
from helpers.bus.circuit.elements import Plug, Receiver, Section, Segment, Terminator
from helpers.bus.circuit.line import cable
from helpers.facts import one


def circuit_of(planned: Planned) -> Segment:
    """The circuit of a segment: plug n is device n.

    A device whose input capacitance is not given gets that of a good station. The terminator of a device without
    supply is dead, its VP on DGND; a terminator with its own supply stays on.

    >>> from helpers.bus.cable.segment import even_line
    >>> circuit_of(even_line(stations=3, length_m=100, bit_rate=12_000_000)).positions_m
    (0.0, 50.0, 100.0)
    """
    sections = tuple(Section(section.length_m, cable(section.cable)) for section in planned.sections)
    return Segment(tuple(_plug(device) for device in planned.devices), sections)


def _plug(device: Device) -> Plug:
    terminators: tuple[Terminator, ...] = (
        (Terminator(supply="on" if device.powered else "dead"),) if device.terminator_on else ()
    )
    if device.own_supply or device.kind == "terminator":
        terminators += (Terminator(),)
    receiver = Receiver(device.unit_load)
    if device.stub_capacitance_f:
        receiver = Receiver(device.unit_load, device.stub_capacitance_f)
    return Plug(
        receiver=receiver if device.interfaces else None,
        terminators=terminators,
        cuts_outgoing=device.terminator_on and one("plugs", plug=device.plug)["outgoing_cable"] == "cut off",
        sides_exchanged=device.sides_exchanged,
        stub_m=device.stub_length_m,
        stub_cable=cable(device.stub_cable),
    )
