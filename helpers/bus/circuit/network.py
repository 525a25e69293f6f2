"""The segment for direct current: every resistance and every supply, as branches between named nodes.

A node is a pair: `(3, "A")` is pin A of plug 3, `(3, "VP")` its supply pin. Pins: A, B, shield, DGND, VP.
`(3, "device A")` lies behind the plug, in the station. Places in the cable have longer names.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from helpers.bus.circuit.elements import CORES, Circuit, Section, Sender, Short, Tap, known
from helpers.errors import one_of

Node = tuple[object, str]

PINS = ("A", "B", "shield", "DGND", "VP")
DGND_MODELS = ("common", "isolated", "earthed")
DEVICES = ("powered", "dead", "unplugged")
WIRE_OHM = 1e-6  # less than this counts as joined: a millimetre of core has 55 µΩ
SUPPLY_OHM = 1e-3  # inside resistance of a VP supply: small beside 390 Ω, not zero so that two may meet


@dataclass(frozen=True)
class Branch:
    """A resistance between two nodes; emf_v drives current from `first` through the branch to `second`."""

    first: Node
    second: Node
    ohm: float = 0.0
    emf_v: float = 0.0

    @property
    def joins(self) -> bool:
        """True for a wire: no resistance worth the name, no supply."""
        return self.ohm < WIRE_OHM and self.emf_v == 0


def branches(
    segment: Circuit,
    *,
    devices: str = "powered",
    dgnd: str = "common",
    driver: tuple[int, Sender, float] | None = None,
) -> list[Branch]:
    """All branches of a segment.

    devices: "powered"; "dead", plugged but without supply, so that VP lies on DGND; "unplugged", so that the plugs
    hang on the cable alone, without receivers or supply: pins VP and DGND of each lead to its own terminator only.
    dgnd: the cable has no DGND core, so where DGND is common is the plant's doing. "common": all DGND joined, not to
    the shield; "isolated": each plug has its own; "earthed": each DGND joined to the shield at its plug.
    driver: plug, sender, and level: +1 drives B positive, -1 negative, 0 holds 0 V. Without: nobody drives.

    Errors: `Unknown` for another word, `OutOfRange` for a plug that is not there.
    """
    one_of("state of the devices", devices, DEVICES)
    one_of("DGND model", dgnd, DGND_MODELS)
    found: list[Branch] = []
    for number, plug in enumerate(segment.plugs):
        found += _plug(number, plug, devices)
        if devices != "unplugged":
            found += _ground(number, dgnd)
    for number, section in enumerate(segment.sections):
        found += _section(segment, number, section)
    if driver:
        found += _driver(segment, *driver)
    return [branch for branch in found if branch.ohm < math.inf]


def _plug(number: int, plug: Tap, devices: str) -> Iterator[Branch]:
    """Stub, terminators, shorts at the plug, and behind it the station."""
    for core in ("A", "B"):
        landed = {"A": "B", "B": "A"}[core] if plug.swapped else core
        yield Branch((number, f"trunk {core}"), (number, landed), plug.stub_m * plug.stub_cable.loop_ohm_per_m / 2)
    for place, terminator in enumerate(plug.terminators):
        free_vp, free_ground = terminator.supply == "open", not terminator.dgnd
        yield Branch((number, f"VP of terminator {place}" if free_vp else "VP"), (number, "B"), terminator.rs_ohm)
        yield Branch((number, "B"), (number, "A"), terminator.rt_ohm)
        yield Branch(
            (number, "A"), (number, f"DGND of terminator {place}" if free_ground else "DGND"), terminator.rs_ohm
        )
    yield from _supply(number, plug, devices)
    for fault in plug.faults:
        if isinstance(fault, Short):
            yield Branch((number, fault.first), (number, fault.second), fault.ohm)
    for core in ("A", "B"):
        contacts = sum(f.ohm for f in plug.faults if not isinstance(f, Short) and f.core == core)
        yield Branch((number, core), (number, f"device {core}"), contacts)
        if plug.receiver and plug.receiver.unit_loads and devices != "unplugged":
            yield Branch((number, f"device {core}"), (number, "DGND"), 1 / plug.receiver.core_conductance)


def _supply(number: int, plug: Tap, devices: str) -> Iterator[Branch]:
    """5 V from DGND to VP; a device or a terminator without supply lays VP on DGND."""
    supplies = [terminator.supply for terminator in plug.terminators]
    if devices == "unplugged" or not (plug.receiver or {"on", "dead"} & set(supplies)):
        return
    off = devices == "dead" or "dead" in supplies
    volts = max([t.supply_v for t in plug.terminators if t.supply == "on"] or [known("terminator", "supply_v")])
    yield Branch((number, "DGND"), (number, "VP"), SUPPLY_OHM, 0.0 if off else volts)


def _ground(number: int, dgnd: str) -> Iterator[Branch]:
    if dgnd == "common":
        yield Branch((number, "DGND"), ("all", "DGND"))
    elif dgnd == "earthed":
        yield Branch((number, "DGND"), (number, "shield"))


def _section(segment: Circuit, number: int, section: Section) -> Iterator[Branch]:
    """The cable after plug `number`, piece by piece, each conductor on its own."""
    here: dict[str, Node] = {core: _end(segment, number, "right", core) for core in CORES}
    per_m = {"A": section.cable.loop_ohm_per_m / 2, "B": section.cable.loop_ohm_per_m / 2}
    per_m["shield"] = section.cable.shield_ohm_per_m
    for piece, part in enumerate(section.parts()):
        if isinstance(part, Short):
            yield Branch(here[part.first], here[part.second], part.ohm)
            continue
        for core in CORES:
            there: Node = ((number, piece), core)
            if isinstance(part, float | int):
                yield Branch(here[core], there, part * per_m[core])
            else:
                yield Branch(here[core], there, part.ohm if core == part.core else 0.0)
            here[core] = there
    for core in CORES:
        yield Branch(here[core], _end(segment, number + 1, "left", core))


def _end(segment: Circuit, plug: int, side: str, core: str) -> Node:
    """Where the cable on this side of a plug ends: at the plug, or in the air if the plug cuts it off."""
    if core == "shield":
        return plug, core
    if segment.cut_side(plug) == side:
        return plug, f"cut {core}"
    return plug, f"trunk {core}"


def _driver(segment: Circuit, plug: int, sender: Sender, level: float) -> Iterator[Branch]:
    """Two halves in one: common voltage + v/2 on B, - v/2 on A, half the source resistance in each."""
    segment.check_plug(plug, "sending plug")
    half_ohm, half_v = sender.source_ohm / 2, level * sender.open_circuit_v / 2
    yield Branch((plug, "DGND"), (plug, "device B"), half_ohm, sender.common_v + half_v)
    yield Branch((plug, "DGND"), (plug, "device A"), half_ohm, sender.common_v - half_v)
