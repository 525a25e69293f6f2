"""Questions on addresses and switches. Each slip is calculated by making the mistake on purpose.

The stations are those of Saltmarsh Mill, an invented site.
"""

from __future__ import annotations

from helpers import facts
from helpers.bus.address.address import HIGHEST, LAST_USABLE, classify, duplicates, next_free, spell
from helpers.bus.address.switches import DipSwitches, RotarySwitches, hex_read_as_decimal, misreadings
from helpers.safe_work import EVERY_STEP
from helpers.study.forms import Addresses, Bits, Hexadecimal, Number
from helpers.study.mill import STATIONS
from helpers.study.question import Draw, Kind, Question, Slip

_KEPT = facts.one("address_practice", rule="engineering address").whole("value")
_DELIVERY = facts.one("address_ranges", meaning="delivery default").whole("low")
# Addresses that take more than one switch.
_TWO_BITS = [address for address in range(1, LAST_USABLE + 1) if address.bit_count() > 1]


def _dip(draw: Draw) -> DipSwitches:
    weights = tuple(2**place for place in range(7))
    return DipSwitches(draw.pick((weights, weights[::-1])), on_is=draw.pick((1, 1, 0)))


def _described(dip: DipSwitches) -> str:
    counts = "ON" if dip.on_is else "OFF"
    return (
        f"A drive has seven DIP switches, numbered 1 to 7 from the left. Switch 1 counts {dip.weights[0]}, "
        f"switch 7 counts {dip.weights[-1]}; a switch counts when it is {counts}."
    )


def usable(draw: Draw) -> Question:
    """Which of these numbers no drive in operation may have."""
    edges = (_KEPT, LAST_USABLE, _DELIVERY, HIGHEST, HIGHEST + 1)
    numbers = draw.shuffled(draw.some(edges, 4) + draw.some(range(1, LAST_USABLE), 3))
    refused = frozenset(n for n in numbers if classify(n).degree.forbidden)
    return Question(
        f"Which of these numbers may no drive in operation have as its address?\n{', '.join(map(str, numbers))}",
        Addresses(),
        refused,
        steps=(
            f"Sort them: usable, kept for a purpose, no address at all ({classify(_DELIVERY).source}).",
            *(f"{n}: {classify(n).meaning}. {classify(n).reason}" for n in sorted(numbers) if n in (*edges, *refused)),
        ),
        slips=(
            Slip(refused - {_DELIVERY}, f"{_DELIVERY} is missing: {classify(_DELIVERY).reason}"),
            Slip(
                refused | ({_KEPT} & set(numbers)),
                f"{_KEPT} is allowed. It is only practice that keeps it for the engineering computer.",
            ),
            Slip(refused - {HIGHEST}, f"{HIGHEST} is missing: {classify(HIGHEST).reason}"),
            Slip(refused | ({LAST_USABLE} & set(numbers)), f"{LAST_USABLE} is the last usable address, but usable."),
            Slip(frozenset(numbers) - refused, "Those are the ones that a drive may have; the others are asked."),
        ),
    )


def addresses_left(draw: Draw) -> Question:
    """How many drives still find an address on a network."""
    controllers, drives, repeaters = draw.whole(1, 3), draw.whole(20, 90), draw.whole(2, 9)
    used = controllers + drives
    return Question(
        f"A network has {controllers} controller{'s' if controllers > 1 else ''}, {drives} drives and {repeaters} "
        f"repeaters. Address {_KEPT} stays free for the engineering computer.\nFor how many more drives are there "
        "addresses? (Answer in drives; the length of the segments is another question.)",
        Number("drives"),
        float(LAST_USABLE - used),
        steps=(
            f"Usable are 0 to {LAST_USABLE} ({classify(LAST_USABLE).source}). Cross out the one kept free.",
            f"That leaves 1 to {LAST_USABLE}: {LAST_USABLE} addresses.",
            f"Controllers and drives have one address each: {controllers} + {drives} = {used}. Repeaters have none.",
            f"{LAST_USABLE} − {used} = {LAST_USABLE - used}.",
        ),
        slips=(
            Slip(
                float(LAST_USABLE + 1 - used),
                f"One too many. {_KEPT} is kept free, and with {_DELIVERY} no station runs.",
            ),
            Slip(
                float(LAST_USABLE - used - repeaters), "A repeater takes a place on the cable, but it has no address."
            ),
            Slip(float(LAST_USABLE - drives), "The controllers have addresses too."),
            Slip(
                float(HIGHEST + 1 - used),
                f"There are {HIGHEST + 1} numbers from 0 to {HIGHEST}, but not all are usable.",
            ),
        ),
    )


def hexadecimal(draw: Draw) -> Question:
    """A decimal address in hexadecimal."""
    address = draw.whole(10, LAST_USABLE)
    high, low = divmod(address, 16)
    return Question(
        f"A drive's own display shows its address in hexadecimal. It is to have the address {address} (decimal).\n"
        "What must the display show? Answer in hexadecimal, two digits.",
        Hexadecimal(2),
        address,
        steps=(
            "Divide by 16: the whole part is the first digit, what remains is the second; 10 to 15 are A to F.",
            f"{address} = {high} × 16 + {low}.",
            f"{high} is {high:X} and {low} is {low:X}: {spell(address).hexadecimal}.",
        ),
        slips=(
            Slip(
                address // 10 * 16 + address % 10, "Divide by 16, not by 10: in hexadecimal the first digit counts 16."
            ),
            Slip(low * 16 + high, "The two digits are exchanged: the one that counts 16 stands first."),
        ),
    )


def dip_read(draw: Draw) -> Question:
    """The address that DIP switches give."""
    dip, address = _dip(draw), draw.pick(_TWO_BITS)
    lines = dip.table(dip.setting(address))
    setting = " ".join(position for _, position, _ in lines)
    added = [str(adds) for _, _, adds in lines if adds]
    return Question(
        f"{_described(dip)}\nWhich address do they give?",
        Number(),
        float(address),
        rows=[{"switch": str(number), "stands at": position} for number, position, _ in lines],
        steps=(
            f"Write beside each switch what it counts: {', '.join(map(str, dip.weights))}.",
            f"Add up those that stand at {'ON' if dip.on_is else 'OFF'}: {' + '.join(added)} = {address}.",
        ),
        slips=tuple(Slip(float(wrong.address), wrong.correction) for wrong in misreadings(dip, setting)),
    )


def dip_set(draw: Draw) -> Question:
    """How DIP switches must stand for an address."""
    dip, address = _dip(draw), draw.pick(_TWO_BITS)

    def pattern(setting: tuple[bool, ...]) -> str:
        return "".join("1" if on else "0" for on in setting)

    right = dip.setting(address)
    lowest = dip.numbers[dip.weights.index(1)]
    counting = [weight for weight in sorted(dip.weights, reverse=True) if address & weight]
    return Question(
        f"{_described(dip)}\nHow must they stand for address {address}? Write 1 for ON and 0 for OFF, switch 1 first.",
        Bits(tuple(f"switch {number}" for number in dip.numbers)),
        pattern(right),
        steps=(
            "Take the greatest value that fits into the address, then go on with what is left.",
            f"{address} = {' + '.join(map(str, counting))}.",
            f"Those switches stand at {'ON' if dip.on_is else 'OFF'}, the others at {'OFF' if dip.on_is else 'ON'}: "
            f"{pattern(right)}.",
        ),
        slips=(
            Slip(pattern(right[::-1]), f"That starts at the wrong end: switch {lowest} counts 1."),
            Slip(
                pattern(tuple(not on for on in right)),
                f"ON and OFF are exchanged: here a switch counts when it is {'ON' if dip.on_is else 'OFF'}.",
            ),
            Slip(pattern(dip.setting(address // 2)), f"That gives {address // 2}: switch {lowest} counts 1, not 2."),
        ),
    )


def rotary(draw: Draw) -> Question:
    """The address that two rotary switches give."""
    high_first = draw.pick((True, True, False))
    switches = RotarySwitches(high_first=high_first)
    address = draw.whole(16, LAST_USABLE)
    setting = switches.setting(address)
    high, low = divmod(address, 16)
    return Question(
        f"A drive has two rotary switches, each from 0 to F. The {'left' if high_first else 'right'} one counts most.\n"
        f"The left one stands at {setting[0]}, the right one at {setting[1]}. Which address is that, in decimal?",
        Number(),
        float(address),
        steps=(
            "A switch from 0 to F has 16 positions, so each step of the high one counts 16.",
            f"High switch: {high:X} is {high}. Low switch: {low:X} is {low}.",
            f"{high} × 16 + {low} = {address}.",
        ),
        slips=(
            *(Slip(float(wrong.address), wrong.correction) for wrong in misreadings(switches, setting)),
            Slip(float(high + low), "The two are not simply added: each step of the high one counts 16."),
        ),
    )


def free_address(draw: Draw) -> Question:
    """The next free address of a network."""
    first = draw.whole(2, 5)
    drives = sorted(draw.some(range(first, first + 9), len(STATIONS)))
    taken = [*range(1, first), *drives]
    answer = next_free(taken)
    rows = [{"station": f"controller {n}", "address": str(n)} for n in range(1, first)]
    rows += [{"station": name, "address": str(n)} for name, n in zip(STATIONS, drives, strict=True)]
    rows.insert(draw.whole(first, len(rows)), {"station": "repeater", "address": "–"})
    return Question(
        f"A drive is added to this network, and {_KEPT} stays free for the engineering computer.\n"
        "What is the lowest free address?",
        Number(),
        float(answer),
        rows=rows,
        steps=(
            f"Begin at 1, for {_KEPT} is kept free, and look for the first number that nobody has.",
            f"{', '.join(map(str, range(1, answer)))} are taken; {answer} is not.",
        ),
        slips=(
            Slip(float(_KEPT), f"{_KEPT} is free, but practice keeps it for the engineering computer."),
            Slip(float(max(taken) + 1), "That one is free too, but there is a gap further down."),
            Slip(float(len(rows) + 1), "That counts the rows. The repeater has no address, and the list has gaps."),
            Slip(float(_DELIVERY), f"{_DELIVERY} is where a new device starts; no station runs with it."),
        ),
    )


def given_twice(draw: Draw) -> Question:
    """Which address two stations share, when some show it in decimal and some on hexadecimal switches."""
    switches = RotarySwitches()
    shared, apart = draw.some(range(18, 80), 2)
    # `shared` stands twice, once in each way; `apart` only looks the same in both ways.
    settings = [switches.setting(shared), str(apart), *map(switches.setting, draw.some(range(100, LAST_USABLE), 1))]
    decimals = [shared, apart, *draw.some(range(2, 16), 2)]
    on_switches = [switches.address(setting) for setting in settings]
    misread = [hex_read_as_decimal(switches, setting) for setting in settings]
    names = draw.shuffled(STATIONS)
    shown = [f"switches, 0 to F: {s}" for s in settings] + [f"display, decimal: {n}" for n in decimals]
    right = frozenset(duplicates([*on_switches, *decimals]))
    seeming = frozenset(duplicates([*misread, *decimals]))
    return Question(
        "Some drives show their address on a display in decimal, some have two rotary switches from 0 to F, the left "
        "one counting most.\nWhich addresses are given twice? Answer in decimal.",
        Addresses(),
        right,
        rows=draw.shuffled([{"station": n, "address set": s} for n, s in zip(names, shown, strict=True)]),
        steps=(
            "First bring all addresses into decimal, then compare.",
            *(f"Switches at {s}: address {n}." for s, n in zip(settings, on_switches, strict=True)),
            f"Displays: {', '.join(map(str, decimals))}.",
            f"Twice: {Addresses().written(right)}. Until one of the two is changed, rely on neither station.",
        ),
        slips=(
            Slip(seeming, "The switches were read as decimal. Each step of the left one counts 16."),
            Slip(right | seeming, "One of them only looks the same: the switches are hexadecimal, the display is not."),
            Slip(frozenset(), "There is at least one: bring the switches into decimal before comparing."),
        ),
    )


def takes_effect(draw: Draw) -> Question:
    """When a change of the address switches counts."""
    name, (old, new) = draw.pick(STATIONS), draw.some(range(3, LAST_USABLE), 2)
    right = f"at {old}, until its supply has been off and on"
    at_once, gone, fresh = f"at {new}, at once", "at none, it has left the bus", f"at {_DELIVERY}, as a new device"
    return Question(
        f"The {name} is in operation. Someone turns its address switches from {old} to {new}; the supply stays on.\n"
        "At which address does the controller find the drive now?",
        draw.choice((right, at_once, gone, fresh)),
        right,
        steps=(
            "Ask when a drive reads its address switches.",
            "A communication setting counts after the drive's supply has been off and on (common practice; the drive's "
            "own manual decides).",
            f"Before you switch off: the machine stops, agree with the plant. Before you open the drive: {EVERY_STEP}.",
        ),
        slips=(
            Slip(at_once, "The drive reads its switches at power-up, not while it runs."),
            Slip(
                gone,
                "Turning the switches does not stop the bus side: it goes on with what it read at power-up.",
            ),
            Slip(
                fresh,
                f"{_DELIVERY} belongs to devices whose address is set over the bus, not to switches.",
            ),
        ),
    )


KINDS: dict[str, Kind] = {
    "usable": usable,
    "addresses-left": addresses_left,
    "hexadecimal": hexadecimal,
    "dip-read": dip_read,
    "dip-set": dip_set,
    "rotary": rotary,
    "free-address": free_address,
    "given-twice": given_twice,
    "takes-effect": takes_effect,
}
