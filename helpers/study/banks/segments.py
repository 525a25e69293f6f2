"""Questions on cable, segments and termination. Each slip is calculated by making the mistake on purpose.

The stations are those of Saltmarsh Mill, an invented site.
"""

from __future__ import annotations

from dataclasses import replace
from math import ceil

from helpers.bus.address.address import LAST_USABLE
from helpers.bus.cable.bit_rates import bit_rate_text, bit_rates
from helpers.bus.cable.cable import capacitance_f_per_m, length_limit
from helpers.bus.cable.laid import Plug, Segment, even_line
from helpers.bus.cable.segment import unit_load_limit
from helpers.bus.cable.termination import lost, switches
from helpers.bus.circuit.dc import dead_resistance, loop_resistance
from helpers.bus.circuit.elements import known
from helpers.bus.circuit.line import cable
from helpers.facts import one
from helpers.study.forms import Addresses, Choice, Number
from helpers.study.question import Draw, Kind, Question, Slip
from helpers.wording import capital_first, counted
from helpers.written import UNITS

_DEAD = "The bus is dead and every device is unplugged."


def _numbered(draw: Draw, most: int) -> Segment:
    """A line whose plugs are named by their addresses, the controller first."""
    count, first = draw.whole(6, most), draw.whole(3, 40)
    plain = even_line(stations=count, length_m=10.0 * count, bit_rate=500_000)
    names = ["1", *(str(first + n) for n in range(count - 1))]
    plugs = tuple(replace(plug, name=name) for plug, name in zip(plain.plugs, names, strict=True))
    return replace(plain, plugs=plugs)


def _addresses(plugs: tuple[Plug, ...]) -> str:
    return ", ".join(plug.name for plug in plugs)


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


_FOOT_M = UNITS["length"]["ft"]


def feet(draw: Draw) -> Question:
    """How much cable may still be added to one that is measured in feet."""
    bit_rate = draw.pick((500_000, 1_500_000))
    limit = length_limit("A", bit_rate).last
    other = one("segment_length", cable="B", kbit_s=bit_rate / 1000, standing="standard").number("length_m")
    there_ft = draw.whole(100, int(0.8 * limit / _FOOT_M), 10)
    there_m = there_ft * _FOOT_M
    return Question(
        f"The mill's drawing says {there_ft} ft of cable, type A. The bus runs at {bit_rate_text(bit_rate)}.\n"
        "How many metres may be added to this segment? Answer in m.",
        Number("m", "length", absolute=0.6),
        limit - there_m,
        steps=(
            "Bring the length to metres first: a foot is 0.3048 m. Then take it from the limit for type A.",
            f"{there_ft} ft × 0.3048 = {there_m:.1f} m.",
            f"Type A at {bit_rate_text(bit_rate)}: {limit:g} m ({length_limit('A', bit_rate).cited}).",
            f"{limit:g} − {there_m:.1f} = {limit - there_m:.1f} m.",
        ),
        slips=(
            Slip(limit - there_ft, "The feet are taken as metres: a foot is 0.3048 m."),
            Slip(other - there_m, f"{other:g} m is the limit of type B. This cable is type A."),
            Slip(there_m, "That is the length that is there. Asked is what may be added."),
            Slip(limit - there_ft / 3, "Three feet are a yard, not a metre: over a long cable this is metres off."),
        ),
    )


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
        Slip(
            bit_rate_text(_highest(other, length_m)), f"That is what type {other} carries. This cable is type {cable}."
        ),
        Slip(
            bit_rate_text(rates[place - 1]),
            f"That works, but it is not the highest: {bit_rate_text(right)} allows {_allowed(cable, right)}.",
        ),
    ]
    if beyond > right:
        words = f"{bit_rate_text(beyond)} allows type {cable} {_allowed(cable, beyond)}."
        slips.append(Slip(bit_rate_text(beyond), f"Too fast. {words}"))
    fails = f" {bit_rate_text(beyond)} allows {_allowed(cable, beyond)}." if beyond > right else " It is the fastest."
    return Question(
        f"A segment has {length_m} m of cable, type {cable}. There are no stubs.\n"
        "Which is the highest bit rate that the strictest source allows?",
        Choice(tuple(bit_rate_text(rate) for rate in rates)),
        bit_rate_text(right),
        steps=(
            f"Go down the column of type {cable} in the table of lengths, from the fastest, until the cable fits.",
            f"{bit_rate_text(right)} allows {_allowed(cable, right)}, and the cable has {length_m} m.{fails}",
        ),
        slips=tuple(slips),
    )


def _highest(cable: str, length_m: float) -> int:
    return max(rate for rate in bit_rates() if length_limit(cable, rate).cautious >= length_m)


def _allowed(cable: str, bit_rate: float) -> str:
    limit = length_limit(cable, bit_rate).cautious
    return f"{limit:g} m" if limit else "no length at all, by the strictest source"


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
        f"A line of type A is {length_m} m long and has few stations. It is to run at {bit_rate_text(bit_rate)}, and a "
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


def terminators(draw: Draw) -> Question:
    """How many terminators a line with repeaters needs."""
    repeaters = draw.whole(1, 6)
    segments = repeaters + 1
    stations = draw.whole(8 * segments, min(25 * segments, LAST_USABLE))  # room for all of them on the segments
    return Question(
        f"A line of {stations} stations has {counted(repeaters, 'repeater')} one behind the other.\n"
        "How many terminators must be on? Count those in the repeaters too, and answer in terminators.",
        Number("terminators"),
        float(2 * segments),
        steps=(
            "Every segment has two ends, and each end needs its terminator. How many segments are there?",
            f"{counted(repeaters, 'repeater')} in a row {'divides' if repeaters == 1 else 'divide'} the line into "
            f"{segments} segments.",
            f"2 × {segments} = {2 * segments}. How many stations there are does not matter.",
        ),
        slips=(
            Slip(2.0, "Two are enough for one segment only. A repeater ends one segment and begins another."),
            Slip(float(segments), "One for each segment is counted; a segment has two ends."),
            Slip(
                float(2 * repeaters),
                f"{counted(repeaters, 'repeater')} in a row: {segments} segments, one more.",
            ),
            Slip(float(repeaters + 2), "A repeater terminates both of its sides, not one."),
        ),
    )


def cut_off(draw: Draw) -> Question:
    """Which stations a plug in the middle cuts off."""
    line = _numbered(draw, 10)
    place, exchanged = draw.whole(2, len(line.plugs) - 3), draw.pick((False, False, True))
    wrong = replace(line.plugs[place], terminator_on=True, sides_exchanged=exchanged)
    plugs = (*line.plugs[:place], wrong, *line.plugs[place + 1 :])
    right = frozenset(int(name) for name in lost(replace(line, plugs=plugs)))
    behind = frozenset(int(plug.name) for plug in plugs[place + 1 :])
    before = frozenset(int(plug.name) for plug in plugs[1:place])
    here = frozenset({int(wrong.name)})
    sides = " Its incoming and outgoing cable are exchanged." if exchanged else " Its cables are on their sides."
    stays = "the cable that comes from the controller" if exchanged else "the cable towards the next station"
    return Question(
        f"Along a segment are the addresses {_addresses(line.plugs)}, in this order. Address 1 is the controller; "
        f"both ends are terminated. Somebody switches on the terminator at {wrong.name}. The plug there is of the kind "
        f"that cuts off its outgoing cable.{sides}\n"
        "Which stations does the controller lose? Answer with their addresses.",
        Addresses(),
        right,
        steps=(
            "A plug of this kind, when on, keeps its station and its resistors at the incoming side.",
            f"At {wrong.name} the cable on the outgoing side is {stays}.",
            f"So the controller loses {', '.join(str(n) for n in sorted(right))}.",
        ),
        slips=(
            Slip(behind | here, f"Station {wrong.name} is on the incoming side, and that is joined to the controller."),
            Slip(behind, f"With the cables exchanged the controller's side is cut off, so {wrong.name} is lost too."),
            Slip(before, "That is the other side of the plug: those stay with the controller."),
            Slip(frozenset(), "This kind of plug cuts off its outgoing cable. Only the other kind leaves it joined."),
            Slip(before | here | behind, "The controller keeps what lies on its own side of the cut."),
        ),
    )


def switches_on(draw: Draw) -> Question:
    """At which plugs the switch must be on, where an end has a terminator with its own supply."""
    line = _numbered(draw, 9)
    own = draw.pick(((True, False), (False, True), (True, True)))
    ends = (replace(line.plugs[0], own_supply=own[0]), replace(line.plugs[-1], own_supply=own[1]))
    line = replace(line, plugs=(ends[0], *line.plugs[1:-1], ends[1]))
    right = frozenset(int(switch.name) for switch in switches(line) if switch.on)
    first, last = (int(plug.name) for plug in ends)
    with_own = [str(n) for n, has in zip((first, last), own, strict=True) if has]
    middle = draw.pick(line.plugs[1:-1])
    return Question(
        f"Along a segment are the addresses {_addresses(line.plugs)}, in this order. "
        f"Beside {' and beside '.join(with_own)} sits a terminator with its own supply. "
        f"Station {middle.name} is switched off every night.\n"
        "At which stations must the switch in the plug be on? Answer with their addresses, or none.",
        Addresses(),
        right,
        steps=(
            "Each end needs one terminator, and only one. Which ends have one already?",
            f"Beside {' and '.join(with_own)} the terminator with its own supply does it: the switch there is off.",
            f"So on at: {', '.join(str(n) for n in sorted(right)) or 'none'}. Station {middle.name} is not at an end: "
            "it may be off, and the cable runs on through its plug.",
        ),
        slips=(
            Slip(frozenset({first, last}), "Two at one end: beside the one with its own supply the switch is off."),
            Slip(frozenset({first, last}) - right, "The other way round: beside one with its own supply it is off."),
            Slip(right | {int(middle.name)}, "Only the ends are terminated, whoever in between is switched off."),
            Slip(frozenset(), "The other end has nothing yet: its switch must be on."),
        ),
    )


def idle_volts(draw: Draw) -> Question:
    """What a voltmeter shows on an idle bus, however many terminators are on."""
    count, supply = draw.whole(3, 4), draw.pick((4.75, 4.8, 4.85, 4.9, 5.1, 5.15, 5.2, 5.25))
    rt, rs = known("terminator", "rt_ohm"), known("terminator", "rs_ohm")
    share = rt / (rt + 2 * rs)
    right, length_m = supply * share, draw.whole(5, 30)
    return Question(
        f"On a short bus of {length_m} m, {count} terminators are on instead of two. Each is fed with {supply:g} V "
        "between VP and DGND, and DGND is common. Leave the receivers out.\n"
        "Nobody sends. What does a voltmeter show, B against A? Answer in V.",
        Number("V", "voltage", absolute=0.008),
        right,
        steps=(
            f"Look at one terminator alone: {rs:g} Ω, {rt:g} Ω and {rs:g} Ω in a row divide its supply.",
            f"B against A: {supply:g} V × {rt:g} / ({rs:g} + {rt:g} + {rs:g}) = {right:.3f} V.",
            f"All {count} hold A and B at the same voltages, so together they change nothing: {right:.3f} V. The "
            "voltmeter does not see a terminator too many; the ohmmeter does, on the dead bus.",
        ),
        slips=(
            Slip(right * 2 / count, "More of them in parallel change nothing: each divides its own supply alike."),
            Slip(right / count, "They do not share one supply: each has its own, and divides it alike."),
            Slip(known("terminator", "supply_v") * share, f"That is with 5 V. Here the supply is {supply:g} V."),
            Slip(supply * rt / (rt + rs), f"There are two resistors of {rs:g} Ω: one to VP, one to DGND."),
        ),
    )


def meter_reading(draw: Draw) -> Question:
    """What an ohmmeter shows between A and B."""
    near, far, words = draw.pick(
        (
            (1, 1, "The terminators at both ends are on"),
            (1, 1, "The terminators at both ends are on"),
            (0, 1, "Only the terminator at the far end is on"),
            (2, 1, "At the near end the one in the plug and one with its own supply are on, at the far end one"),
        )
    )
    length_m = draw.whole(100, 400, 20)
    loop, per_m = loop_resistance(length_m), cable("A").loop_ohm_per_m
    right = dead_resistance(near, far, length_m=length_m)
    rt, rs = known("terminator", "rt_ohm"), known("terminator", "rs_ohm")
    steps = [
        "Draw it: the resistors near the meter, and behind the resistance of both cores the one at the far end.",
        f"Both cores of {length_m} m: {length_m} × {per_m:g} Ω = {loop:g} Ω. The far terminator is seen as "
        f"{rt:g} + {loop:g} = {rt + loop:g} Ω.",
    ]
    if near:
        steps.append(f"Near the meter: {rt:g} Ω / {near} = {rt / near:g} Ω, in parallel with {rt + loop:g} Ω.")
    return Question(
        f"{_DEAD} {words}. The cable is {length_m} m of type A, {per_m:g} Ω a metre for both cores together.\n"
        "What does an ohmmeter show between A and B at the near end? Answer in Ω.",
        Number("Ω", "resistance", relative=0.006),
        right,
        steps=(*steps, f"The meter shows {right:.1f} Ω."),
        slips=(
            Slip(rt / (near + far), "That leaves the cable out: its cores lie between the meter and the far end."),
            Slip(dead_resistance(near, far, length_m=length_m / 2), "The current goes out and back: both cores count."),
            Slip(
                dead_resistance(near, far, length_m=2 * length_m),
                f"{per_m:g} Ω a metre are both cores already.",
            ),
            Slip(rt, "That is one terminator at the meter. Look again at which are on, and where."),
            Slip((near + far) * rt, "They lie in parallel, not one behind the other."),
            Slip(rt * 2 * rs / (rt + 2 * rs), f"The two of {rs:g} Ω join nothing while VP and DGND hang free."),
        ),
    )


def meter_cause(draw: Draw) -> Question:
    """What an ohmmeter's reading says about the terminators."""
    length_m = draw.whole(60, 200, 10)
    readings = {
        "both ends on, nothing else": dead_resistance(length_m=length_m),
        "only the near end on": dead_resistance(1, 0, length_m=length_m),
        "only the far end on": dead_resistance(0, 1, length_m=length_m),
        "both ends on, and one more in the middle": dead_resistance(middle=1, length_m=length_m),
        "three on at the near end, and the far end": dead_resistance(3, 1, length_m=length_m),
    }
    options = draw.shuffled(list(readings))
    right = draw.pick(options)
    loop, rt = loop_resistance(length_m), known("terminator", "rt_ohm")
    return Question(
        f"{_DEAD} The plugs leave both cables joined. The cable is {length_m} m of type A, so both its cores have "
        f"{loop:.1f} Ω together.\n"
        f"At the near end an ohmmeter shows {readings[right]:.1f} Ω between A and B. Which terminators are on?",
        Choice(tuple(options)),
        right,
        steps=(
            f"One terminator at the meter is {rt:g} Ω. Two in parallel are half of it, three a third, four a quarter.",
            "The resistance of the cores is added to what lies behind it.",
            *(f"{capital_first(name)}: {ohm:.1f} Ω." for name, ohm in readings.items()),
        ),
        slips=tuple(
            Slip(name, f"With {name} it would be {ohm:.1f} Ω.") for name, ohm in readings.items() if name != right
        ),
    )


KINDS: dict[str, Kind] = {
    "interfaces": interfaces,
    "feet": feet,
    "highest-rate": highest_rate,
    "unit-loads": unit_loads,
    "stub-capacitance": stub_capacitance,
    "repeaters": repeaters_needed,
    "terminators": terminators,
    "cut-off": cut_off,
    "switches-on": switches_on,
    "idle-volts": idle_volts,
    "meter-reading": meter_reading,
    "meter-cause": meter_cause,
}
