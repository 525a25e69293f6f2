"""Instruments at the plugs: meter with the bus idle or dead, oscilloscope, continuity of a piece of cable."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from helpers.bus.circuit import meter
from helpers.bus.circuit.dc import Solved
from helpers.bus.circuit.elements import Break, Circuit, Short
from helpers.bus.circuit.margin import TRIAL, sampled
from helpers.bus.circuit.network import branches
from helpers.bus.circuit.waveform import Waveform, waveform
from helpers.bus.telegram.characters import character_bits
from helpers.line.instruments.reading import Reading
from helpers.line.plant.installation import Installation
from helpers.line.plant.place import Place

_IDLE_PAIRS = (("B", "A"), ("VP", "DGND"), ("B", "DGND"), ("A", "DGND"))
_DEAD_PAIRS = (("A", "B"), ("A", "shield"), ("B", "shield"))


def volts(installation: Installation, place: Place) -> Reading:
    """The voltages between the pins of a plug while nobody sends and all devices that have supply are on."""
    circuit = _live(installation, place.segment)
    idle = _solved(circuit, "powered")
    seen = tuple(
        (
            f"{plus} against {minus}",
            meter.volts_text(meter.steady_volts(idle, (place.plug, plus), (place.plug, minus))),
        )
        for plus, minus in _IDLE_PAIRS
    )
    return Reading("volts", place.words, seen)


def ohms(installation: Installation, place: Place) -> Reading:
    """The resistances between the pins of a plug, the whole bus without supply and every device unplugged."""
    circuit = installation.stretches[place.segment].circuit
    seen = tuple(
        (f"{a} to {b}", meter.ohms_text(_solved(circuit, "unplugged").ohms((place.plug, a), (place.plug, b))))
        for a, b in _DEAD_PAIRS
    )
    return Reading("ohms", place.words, seen)


def continuity(installation: Installation, place: Place) -> Reading:
    """Each core and the shield of a piece of cable, taken off both plugs and measured from end to end."""
    piece = installation.stretches[place.segment].circuit.sections[place.section]
    seen = []
    for core in ("A", "B", "shield"):
        broken = [fault.ohm for fault in piece.faults if isinstance(fault, Break) and fault.core == core]
        per_m = piece.cable.shield_ohm_per_m if core == "shield" else piece.cable.loop_ohm_per_m / 2
        seen.append((core, meter.ohms_text(sum(broken, per_m * piece.length_m))))
    shorts = [f"{f.first} to {f.second}" for f in piece.faults if isinstance(f, Short)]
    seen.append(("touching", ", ".join(shorts) or "none"))
    return Reading("continuity", place.words, tuple(seen))


def signal(installation: Installation, segment: int) -> Waveform:
    """The signal at all plugs of a segment while the controller sends, in other segments while the repeater does."""
    return _signal(_live(installation, segment), installation.bit_rate, _sender(installation, segment))


# Many readings are taken of one circuit; each of these is worked out once.
@lru_cache(64)
def _signal(circuit: Circuit, bit_rate: float, sending: int) -> Waveform:
    return waveform(circuit, character_bits(TRIAL), bit_rate=bit_rate, sending=sending)


@lru_cache(64)
def _least_margins(circuit: Circuit, bit_rate: float, sending: int) -> Mapping[int, float]:
    return sampled(_signal(circuit, bit_rate, sending)).least


@lru_cache(256)
def _solved(circuit: Circuit, devices: str) -> Solved:
    return Solved(branches(circuit, devices=devices))


def scope(installation: Installation, place: Place) -> Reading:
    """What an oscilloscope shows at a plug: levels of the two bits, the highest peak, and the margin."""
    picture = signal(installation, place.segment)
    _, trace = picture.trace(place.plug, float(picture.time_s[0]), float(picture.time_s[-1]))
    seen = [("highest", meter.volts_text(float(trace.max()))), ("lowest", meter.volts_text(float(trace.min())))]
    circuit, bit_rate = _live(installation, place.segment), installation.bit_rate
    least = _least_margins(circuit, bit_rate, picture.sending).get(place.plug)
    if least is not None:
        seen.append(("beyond 200 mV where the bits are read, at least", meter.volts_text(least)))
    return Reading("scope", place.words, tuple(seen))


def _sender(installation: Installation, segment: int) -> int:
    stretch = installation.stretches[segment]
    for name in (installation.controller.name, *stretch.devices):
        if name in stretch.devices and (name == installation.controller.name or _is_repeater(installation, name)):
            return stretch.plug_of(name)
    return stretch.circuit.stations[0]


def _is_repeater(installation: Installation, name: str) -> bool:
    return bool(name) and installation.device(name).kind == "repeater"


def _live(installation: Installation, segment: int) -> Circuit:
    return installation.stretches[segment].live(installation.off)


def tug(installation: Installation, place: Place) -> Reading:
    """What gives way when somebody pulls gently at each core and at the shield of a plug."""
    stretch = installation.stretches[place.segment]
    beside = (place.plug - 1, place.plug)
    loose = [
        fault.core
        for n in beside
        if 0 <= n < len(stretch.circuit.sections)
        for fault in stretch.circuit.sections[n].faults
        if isinstance(fault, Break)
    ]
    loose += [fault.core for fault in stretch.circuit.plugs[place.plug].faults if isinstance(fault, Break)]
    loose += [flicker.fault.core for flicker in stretch.flickers if flicker.section in beside]
    seen = [(core, "gives way" if core in loose else "firm") for core in ("A", "B", "shield")]
    return Reading("tug", place.words, tuple(seen))
