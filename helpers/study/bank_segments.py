"""Questions on cable, segments and termination. Each slip is calculated by making the mistake on purpose.

The stations are those of Saltmarsh Mill, an invented site.
"""

from __future__ import annotations

from math import ceil

from helpers.bus.cable import bit_rates, capacitance_f_per_m, length_limit, rate_text
from helpers.bus.circuit.elements import known
from helpers.bus.segment import unit_load_limit
from helpers.facts import one
from helpers.study import questions_on_ends as ends
from helpers.study.forms import Choice, Number
from helpers.study.question import Draw, Kind, Question, Slip
from helpers.wording import counted
from helpers.written import UNITS

_FOOT_M = UNITS["length"]["ft"]


def interfaces(draw: Draw) -> Question:
    """How many places of a segment are taken."""
    drives, remotes, repeaters = draw.whole(14, 26), draw.whole(1, 3), draw.whole(1, 2)
    total = 1 + 1 + drives + remotes + repeaters
    place = "at one end" if repeaters == 1 else "at each end"
    return Question(
        f"On one segment are the controller, {drives} drives, {counted(remotes, 'remote I/O station')}, a socket in "
        f"which the engineering computer stays plugged in, and a repeater {place}. One end has a terminator with its "
        "own supply.\nHow many bus interfaces are that?",
        Number("bus interfaces", also=("interfaces", "stations")),
        float(total),
        steps=(
            "Everything with a transmitter on the cable counts: masters, slaves, repeaters and computers alike.",
            f"Controller 1, computer 1, drives {drives}, remote I/O {remotes}, repeaters {repeaters}.",
            f"1 + 1 + {drives} + {remotes} + {repeaters} = {total}. The terminator does not transmit.",
        ),
        slips=(
            Slip(float(total - repeaters), "A repeater loads each of the two segments that it joins: it counts here."),
            Slip(float(total - 1), "One is missing. The controller and the engineering computer are interfaces too."),
            Slip(float(drives + remotes), "Those are the slaves only. Masters and repeaters are on the same cable."),
            Slip(float(total + 1), "The terminator with its own supply has no transmitter, so it does not count."),
            Slip(float(total + repeaters), "A repeater counts once here; its other side is in the next segment."),
        ),
    )


def unit_loads(draw: Draw) -> Question:
    """The sum of the unit loads on a segment."""
    light, old, repeaters = draw.whole(6, 20, 2), draw.whole(3, 8), draw.whole(1, 2)
    total = light / 2 + 2 * old + repeaters
    return Question(
        f"A segment has {light} drives of half a unit load each, {old} older stations of 2 unit loads each, and "
        f"{counted(repeaters, 'repeater')} of 1 unit load each.\nHow many unit loads are on it?",
        Number("unit loads", also=("loads", "ul")),
        total,
        steps=(
            f"A unit load is what a receiver of {known('rs485', 'unit_load_ohm') / 1000:g} kΩ takes. Add them all up; "
            f"the segment may have {unit_load_limit().last:g} ({unit_load_limit().facts[0].cited}).",
            f"Drives {light} × 0.5 = {light / 2:g}; older stations {old} × 2 = {2 * old}; repeaters {repeaters} × 1 = "
            f"{repeaters}.",
            f"{light / 2:g} + {2 * old} + {repeaters} = {total:g}.",
        ),
        slips=(
            Slip(total - repeaters, "The repeater is forgotten: its receiver loads this segment as any other does."),
            Slip(float(light + old + repeaters), "That is the number of devices. Their loads differ; add the loads."),
            Slip(total + light / 2, "The drives have half a unit load each, not a whole one."),
            Slip(total - old, "The older stations have 2 unit loads each."),
        ),
    )


def feet(draw: Draw) -> Question:
    """How much cable may still be added to one that is measured in feet."""
    bit_rate = draw.pick((500_000, 1_500_000))
    limit = length_limit("A", bit_rate).last
    other = one("segment_length", cable="B", kbit_s=bit_rate / 1000, standing="standard").number("length_m")
    there_ft = draw.whole(100, int(0.8 * limit / _FOOT_M), 10)
    there_m = there_ft * _FOOT_M
    return Question(
        f"The mill's drawing says {there_ft} ft of cable, type A. The bus runs at {rate_text(bit_rate)}.\n"
        "How many metres may be added to this segment? Answer in m.",
        Number("m", "length", absolute=0.6),
        limit - there_m,
        steps=(
            "Bring the length to metres first: a foot is 0.3048 m. Then take it from the limit for type A.",
            f"{there_ft} ft × 0.3048 = {there_m:.1f} m.",
            f"Type A at {rate_text(bit_rate)}: {limit:g} m ({length_limit('A', bit_rate).cited}).",
            f"{limit:g} − {there_m:.1f} = {limit - there_m:.1f} m.",
        ),
        slips=(
            Slip(limit - there_ft, "The feet are taken as metres: a foot is 0.3048 m."),
            Slip(other - there_m, f"{other:g} m is the limit of type B. This cable is type A."),
            Slip(there_m, "That is the length that is there. Asked is what may be added."),
            Slip(limit - there_ft / 3, "Three feet are a yard, not a metre: over a long cable this is metres off."),
        ),
    )


def _highest(cable: str, length_m: float) -> int:
    return max(rate for rate in bit_rates() if length_limit(cable, rate).cautious >= length_m)


def highest_rate(draw: Draw) -> Question:
    """The highest bit rate for a length of cable, by the strictest source."""
    cable = draw.pick(("A", "A", "B"))
    low, high = draw.pick({"A": ((40, 100), (110, 200), (210, 400), (410, 990)), "B": ((40, 200), (210, 590))}[cable])
    length_m = draw.whole(low, high, 10)
    other = "B" if cable == "A" else "A"
    right, rates = _highest(cable, length_m), bit_rates()
    place = rates.index(right)
    beyond = rates[min(place + 1, len(rates) - 1)]
    slips = [
        Slip(rate_text(_highest(other, length_m)), f"That is what type {other} carries. This cable is type {cable}."),
        Slip(
            rate_text(rates[place - 1]),
            f"That works, but it is not the highest: {rate_text(right)} allows {_allowed(cable, right)}.",
        ),
    ]
    if beyond > right:
        words = f"{rate_text(beyond)} allows type {cable} {_allowed(cable, beyond)}."
        slips.append(Slip(rate_text(beyond), f"Too fast. {words}"))
    fails = f" {rate_text(beyond)} allows {_allowed(cable, beyond)}." if beyond > right else " It is the fastest."
    return Question(
        f"A segment has {length_m} m of cable, type {cable}. There are no stubs.\n"
        "Which is the highest bit rate that the strictest source allows?",
        Choice(tuple(rate_text(rate) for rate in rates)),
        rate_text(right),
        steps=(
            f"Go down the column of type {cable} in the table of lengths, from the fastest, until the cable fits.",
            f"{rate_text(right)} allows {_allowed(cable, right)}, and the cable has {length_m} m.{fails}",
        ),
        slips=tuple(slips),
    )


def _allowed(cable: str, bit_rate: float) -> str:
    limit = length_limit(cable, bit_rate).cautious
    return f"{limit:g} m" if limit else "no length at all, by the strictest source"


def stub_capacitance(draw: Draw) -> Question:
    """What all stubs of a segment have in capacitance."""
    stubs, length_m, device_pf = draw.whole(3, 8), draw.whole(5, 25, 5) / 10, draw.whole(15, 50, 5)
    per_m = capacitance_f_per_m("A") * 1e12
    cable_pf = stubs * length_m * per_m
    total = cable_pf + stubs * device_pf
    type_b = stubs * length_m * capacitance_f_per_m("B") * 1e12 + stubs * device_pf
    return Question(
        f"A segment has {stubs} stubs of {length_m:g} m each, type A, taken at its highest of {per_m:g} pF/m. The "
        f"input of the device at the end of each has {device_pf} pF.\n"
        "How much capacitance are all stubs together? Answer in pF.",
        Number("pF", "capacitance", absolute=1),
        total,
        steps=(
            "The limit is for all stubs of the segment together, and the inputs of the devices count too.",
            f"Cable: {stubs} × {length_m:g} m × {per_m:g} pF/m = {cable_pf:g} pF.",
            f"Inputs: {stubs} × {device_pf} pF = {stubs * device_pf} pF.",
            f"{cable_pf:g} + {stubs * device_pf} = {total:g} pF.",
        ),
        slips=(
            Slip(cable_pf, "The inputs of the devices are forgotten: they hang on the bus just as the cable does."),
            Slip(total / stubs, "That is one stub. The limit is for all stubs of the segment together."),
            Slip(type_b, "That is cable of type B, with twice the capacitance. These stubs are type A."),
            Slip(float(stubs * device_pf), "That is the devices alone. The cable of the stubs counts as well."),
        ),
    )


def repeaters_needed(draw: Draw) -> Question:
    """How many repeaters a long line needs."""
    bit_rate = draw.pick((187_500, 500_000, 1_500_000, 12_000_000))
    limit = length_limit("A", bit_rate).cautious
    segments = draw.whole(3, 5)
    length_m = int(limit * (segments - 1)) + draw.whole(1, 9) * int(limit / 10)
    return Question(
        f"A line of type A is {length_m} m long and has few stations. It is to run at {rate_text(bit_rate)}, and a "
        "repeater may stand at any place along it. Leave aside how many repeaters their maker allows in line.\n"
        "How many repeaters does the length ask for, at the least?",
        Number("repeaters"),
        float(segments - 1),
        steps=(
            "Find out into how many segments the line must be divided. Between two segments stands one repeater.",
            f"A segment may have {limit:g} m: {length_m} / {limit:g} = {length_m / limit:g}, so {segments} segments.",
            f"{segments} segments have {segments - 1} places between them: {segments - 1} repeaters.",
        ),
        slips=(
            Slip(float(segments), "That is the number of segments. The repeaters stand between them: one fewer."),
            Slip(float(segments - 2), "One segment would be too long: round the number of segments up, not down."),
            Slip(float(2 * (segments - 1)), "One repeater joins two segments; it is not one for each side."),
            Slip(
                float(ceil(length_m / 1000) - 1),
                "That takes 1000 m for a segment, the limit at a low bit rate. It shrinks as the rate grows.",
            ),
        ),
    )


KINDS: dict[str, Kind] = {
    "interfaces": interfaces,
    "feet": feet,
    "highest-rate": highest_rate,
    "unit-loads": unit_loads,
    "stub-capacitance": stub_capacitance,
    "repeaters": repeaters_needed,
    "terminators": ends.terminators,
    "cut-off": ends.cut_off,
    "switches-on": ends.switches_on,
    "idle-volts": ends.idle_volts,
    "meter-reading": ends.meter_reading,
    "meter-cause": ends.meter_cause,
}
