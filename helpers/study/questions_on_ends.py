"""Questions on the ends of a segment: which terminators are on, what a plug cuts off, what a meter shows.

They belong to the bank of lesson "segments"; see `helpers.study.bank_segments`.
"""

from __future__ import annotations

from dataclasses import replace

from helpers.bus.address import LAST_USABLE
from helpers.bus.circuit.dc import dead_resistance, loop_resistance
from helpers.bus.circuit.elements import known
from helpers.bus.circuit.line import cable
from helpers.bus.segment import Device, Segment, even_line
from helpers.bus.termination import lost, switches
from helpers.study.forms import Addresses, Choice, Number
from helpers.study.question import Draw, Question, Slip
from helpers.wording import capital_first, counted

_DEAD = "The bus is dead and every device is unplugged."


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


def _numbered(draw: Draw, most: int) -> Segment:
    """A line whose devices are named by their addresses, the controller first."""
    count, first = draw.whole(6, most), draw.whole(3, 40)
    plain = even_line(stations=count, length_m=10.0 * count, bit_rate=500_000)
    names = ["1", *(str(first + n) for n in range(count - 1))]
    devices = tuple(replace(device, name=name) for device, name in zip(plain.devices, names, strict=True))
    return replace(plain, devices=devices)


def _addresses(devices: tuple[Device, ...]) -> str:
    return ", ".join(device.name for device in devices)


def cut_off(draw: Draw) -> Question:
    """Which stations a plug in the middle cuts off."""
    line = _numbered(draw, 10)
    place, exchanged = draw.whole(2, len(line.devices) - 3), draw.pick((False, False, True))
    wrong = replace(line.devices[place], terminator_on=True, sides_exchanged=exchanged)
    devices = (*line.devices[:place], wrong, *line.devices[place + 1 :])
    right = frozenset(int(name) for name in lost(replace(line, devices=devices)))
    behind = frozenset(int(d.name) for d in devices[place + 1 :])
    before = frozenset(int(d.name) for d in devices[1:place])
    here = frozenset({int(wrong.name)})
    sides = " Its incoming and outgoing cable are exchanged." if exchanged else " Its cables are on their sides."
    stays = "the cable that comes from the controller" if exchanged else "the cable towards the next station"
    return Question(
        f"Along a segment are the addresses {_addresses(line.devices)}, in this order. Address 1 is the controller; "
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
    ends = (replace(line.devices[0], own_supply=own[0]), replace(line.devices[-1], own_supply=own[1]))
    line = replace(line, devices=(ends[0], *line.devices[1:-1], ends[1]))
    right = frozenset(int(switch.name) for switch in switches(line) if switch.on)
    first, last = (int(device.name) for device in ends)
    with_own = [str(n) for n, has in zip((first, last), own, strict=True) if has]
    middle = draw.pick(line.devices[1:-1])
    return Question(
        f"Along a segment are the addresses {_addresses(line.devices)}, in this order. "
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
