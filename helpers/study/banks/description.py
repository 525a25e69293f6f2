"""Questions on device descriptions. Each slip is calculated by making the mistake on purpose.

Drives, files and ident numbers are those of Saltmarsh Mill, an invented site.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

from helpers import facts
from helpers.bus.cable.bit_rates import bit_rate_text, bit_rates
from helpers.device.description.compare import Effect, compare
from helpers.device.description.grammar import Statement
from helpers.device.description.model import Description, Module
from helpers.device.description.modules import configure
from helpers.device.description.on_bus import who_tells
from helpers.device.description.read import read_description
from helpers.device.identifiers import BYTES_PER, decode
from helpers.study.forms import Choice, Hexadecimal, Number
from helpers.study.mill import DRIVES, drawn_ident
from helpers.study.question import Draw, Kind, Question, Slip
from helpers.wording import bits_text, capital_first, octets_text

_OPTION = 7  # reference number of the option in the demo description


@cache
def _demo() -> Description:
    return read_description(facts.DATA / "demo" / "descriptions" / "Mil_FFF1.gsd")


def _formats() -> list[Module]:
    return [module for module in _demo().modules if module.reference != _OPTION]


def ident_number(draw: Draw) -> Question:
    """Which ident number a station reports in its diagnosis."""
    ident, master = drawn_ident(draw), draw.whole(1, 9)
    octets = bytes([0x08 * draw.whole(0, 1), 0x0C, 0, master, ident >> 8, ident & 0xFF])
    return Question(
        f"Nobody knows which drive sits behind the {draw.pick(DRIVES)}. Its diagnosis begins with the octets "
        f"{octets_text(octets)}.\nWhich ident number must its device description have? Answer in hexadecimal, four "
        "digits.",
        Hexadecimal(4),
        ident,
        steps=(
            "Count the octets from 1, and take those in which the diagnosis carries the ident number.",
            f"Octets 5 and 6 are {octets[4]:02X} and {octets[5]:02X}, the high one first.",
            f"The ident number is 16#{ident:04X}, so the name of the file ends with {ident:04X}.",
        ),
        slips=(
            Slip((ident & 0xFF) << 8 | ident >> 8, "The high octet comes first; the two were exchanged."),
            Slip(master << 8 | ident >> 8, "The octets were counted from 0: octet 4 is the address of the master."),
            Slip(octets[0] << 8 | octets[1], "Those are the first two octets, the state of the station."),
        ),
    )


def right_file(draw: Draw) -> Question:
    """Which of the files on the shelf belongs to a device."""
    ident, other = draw.some(range(0xFF01, 0xFFFF), 2)
    issue = draw.whole(1, 4)
    model = f"Mill drive {draw.pick('ABDEGHKLNPRSTUVWXYZ')}"
    right = f"Mil_{ident:04X}.gsd, issue {issue}.0"
    newer = f"Mil_{ident:04X}.gsd, issue {issue + draw.whole(1, 3)}.0"
    same_name = f"Mil_{other:04X}.gsd, issue {issue}.0"
    renamed = f"drive.gsd, issue {issue}.0"
    rows = [
        {"file": right, "Ident_Number": f"16#{ident:04X}", "Model_Name": model, "for devices of issue": f"{issue}.0"},
        {"file": newer, "Ident_Number": f"16#{ident:04X}", "Model_Name": model, "for devices of issue":
         newer.rpartition(" ")[2]},
        {"file": same_name, "Ident_Number": f"16#{other:04X}", "Model_Name": model, "for devices of issue":
         f"{issue}.0"},
        {"file": renamed, "Ident_Number": f"16#{other:04X}", "Model_Name": f"{model}, new", "for devices of issue":
         f"{issue}.0"},
    ]  # fmt: skip
    return Question(
        f"The {draw.pick(DRIVES)} drive, type “{model}”, is exchanged for one of the same type. The new plate says "
        f"issue {issue}.0, and the diagnosis shows the ident number 16#{ident:04X}. Four files are at hand.\n"
        "Which one fits?",
        Choice(tuple(row["file"] for row in draw.shuffled(rows))),
        right,
        rows=draw.shuffled(rows),
        steps=(
            "First keep only the files that hold the ident number of the station; then compare the issue.",
            f"16#{ident:04X} stands in two of them.",
            f"The plate says {issue}.0: {right} was written for it.",
        ),
        slips=(
            Slip(newer, "The newest file is not always the right one: it may offer what this issue can't do."),
            Slip(same_name, "The name of the model is only a text. The ident number decides, and this one differs."),
            Slip(renamed, "It holds another ident number; its name shows nothing, somebody renamed it."),
        ),
    )


# A station tells these only in part, so they are no fair answer to "on the bus or in the file".
_HALF_TOLD = ("sync and freeze", "longest answer time", "names of maker and device")


def said_on_the_bus(draw: Draw) -> Question:
    """What a station says of itself on the bus."""
    items = [item for item in who_tells(_demo()) if item.what not in _HALF_TOLD]
    spoken, silent = ([item for item in items if bool(item.on_the_bus) is wanted] for wanted in (True, False))
    asked_spoken = draw.pick((True, False))
    item = draw.pick(spoken if asked_spoken else silent)
    others = draw.some(silent if asked_spoken else spoken, 3)
    asked = "can you still learn from the station itself" if asked_spoken else "can you learn from the file only"
    reasons = {
        True: "No service asks a DP station for that; only the description tells it.",
        False: "The station tells that itself, in an answer on the bus.",
    }
    where = f"on the bus: {item.on_the_bus}" if asked_spoken else "in the file alone"
    return Question(
        f"The description of the {draw.pick(DRIVES)} drive is lost; the drive itself answers at address "
        f"{draw.whole(3, 125)}.\nWhich of these {asked}?",
        draw.choice([item.what, *(other.what for other in others)]),
        item.what,
        steps=(
            "Think of what comes back in a diagnosis and in the answer to Get_Cfg; nothing else names a DP station.",
            f"{capital_first(item.what)}: {where}.",
        ),
        slips=tuple(Slip(other.what, reasons[asked_spoken]) for other in others),
    )


def highest_bit_rate(draw: Draw) -> Question:
    """The highest bit rate at which every station of a line works."""
    rates = bit_rates()[5:]
    names = ["Remote I/O", *(f"{name} drive" for name in draw.some(DRIVES, 3))]
    first = draw.whole(1, len(rates) - 3)
    highest = [draw.whole(first, len(rates) - 1) for _ in names]
    slowest = draw.whole(0, len(names) - 1)
    highest[slowest] = first
    fastest = (slowest + 1) % len(names)
    highest[fastest] = draw.whole(first + 2, len(rates) - 1)
    by_itself = [draw.pick(("yes", "yes", "no")) for _ in names]
    right, top, low = (bit_rate_text(rates[n]) for n in (first, max(highest), 0))
    most = max(sorted(set(highest) - {first}), key=highest.count)
    return Question(
        "Four stations are to be on one line. Their descriptions name these bit rates.\n"
        "Which is the highest bit rate that the line can have?",
        Choice(tuple(bit_rate_text(rate) for rate in rates)),
        right,
        rows=[
            {"station": name, "from": low, "up to": bit_rate_text(rates[n]), "finds it by itself": auto}
            for name, n, auto in zip(names, highest, by_itself, strict=True)
        ],
        steps=(
            "All stations of one line work at the same bit rate. Look for the station that goes least far up.",
            f"{capital_first(names[slowest])} goes up to {right} only.",
            f"So the line can have {right}. A station that does not find it by itself has to be set to it.",
        ),
        slips=(
            Slip(top, f"{capital_first(names[slowest])} does not work at {top}: it would be missing."),
            Slip(bit_rate_text(rates[most]), "It is not a vote: the slowest station decides."),
            Slip(low, "All of them work at that one, but a higher one is possible too."),
        ),
    )  # fmt: skip


def shortest_interval(draw: Draw) -> Question:
    """What Min_Slave_Intervall means in ms."""
    units = draw.whole(3, 250)
    answer = units / 10
    return Question(
        f"The description of the {draw.pick(DRIVES)} drive says Min_Slave_Intervall = {units}.\n"
        "What is the shortest time between two polls of it? Answer in ms.",
        Number("ms", "time"),
        answer,
        steps=(
            "The number counts steps of 100 µs.",
            f"{units} × 100 µs = {units * 100} µs.",
            f"{units * 100} µs = {answer:g} ms.",
        ),
        slips=(
            Slip(float(units), "The number does not count ms; it counts steps of 100 µs."),
            Slip(units / 100, "One step is 100 µs, not 10 µs."),
            Slip(units / 1000, "The number does not count µs; it counts steps of 100 µs."),
        ),
    )


def input_bytes(draw: Draw) -> Question:
    """How many bytes of input chosen modules have, from their identifiers."""
    chosen = draw.some(_formats(), 1) + [_demo().module(_OPTION)] * draw.whole(0, 1)
    way, other = draw.shuffled(("in", "out"))
    configuration = decode(b"".join(module.identifiers for module in chosen))
    sizes = {"in": configuration.bytes_in, "out": configuration.bytes_out}
    areas = [identifier.input if way == "in" else identifier.output for identifier in configuration.identifiers]
    lengths = [area.length_bytes for area in areas if area]
    short = sum(area.length_bytes - BYTES_PER[area.unit] for area in areas if area)
    words = {"in": "the drive to the controller", "out": "the controller to the drive"}
    return Question(
        f"For the {draw.pick(DRIVES)} drive these modules are chosen from its description, in this order.\n"
        f"How many bytes go from {words[way]}? Answer in bytes.",
        Number("bytes"),
        float(sizes[way]),
        rows=[
            {"place": n, "module": m.name, "identifiers": octets_text(m.identifiers)} for n, m in enumerate(chosen, 1)
        ],
        steps=(
            "Take the identifiers one by one, and keep those that carry something this way.",
            f"This way there are {' + '.join(str(length) for length in lengths) or '0'} bytes. An identifier holds "
            "its length less one, and a word has two bytes.",
            f"Together {sizes[way]} bytes.",
        ),
        slips=(
            Slip(float(sizes[other]), "That is the other direction: in comes from the drive, out goes to it."),
            Slip(float(short), "The identifiers hold the length less one: add one for each."),
            Slip(sizes[way] / 2, "Those are words; a word has two bytes."),
            Slip(float(sum(sizes.values())), "Those are both directions together. Asked is one."),
        ),
    )


_OWN_OCTETS = facts.one("service_limits", service="Set_Prm", what="octets").whole("least")  # octets of Set_Prm itself


def parameter_octets(draw: Draw) -> Question:
    """How long Set_Prm gets."""
    device, modules = draw.whole(2, 40), [draw.whole(1, 12) for _ in range(draw.whole(1, 3))]
    answer = _OWN_OCTETS + device + sum(modules)
    count = len(modules)
    return Question(
        f"The description of the {draw.pick(DRIVES)} drive gives {device} octets of parameters for the device itself"
        f" and, for the {count} module{'s' if count > 1 else ''} chosen, {', '.join(str(n) for n in modules)} more.\n"
        "How many octets has its Set_Prm? Answer in octets.",
        Number("octets"),
        float(answer),
        steps=(
            f"Begin with the {_OWN_OCTETS} octets that every Set_Prm has.",
            "Behind them stand the parameters of the device, then those of each module in its order.",
            f"{_OWN_OCTETS} + {device} + {' + '.join(str(n) for n in modules)} = {answer} octets.",
        ),
        slips=(
            Slip(float(answer - _OWN_OCTETS), f"Every Set_Prm has {_OWN_OCTETS} octets of its own in front."),
            Slip(float(_OWN_OCTETS + device), "The parameters of the modules travel in the same telegram."),
            Slip(float(_OWN_OCTETS + sum(modules)), "The parameters of the device itself were left out."),
            Slip(float(answer + 3), "The three octets of DPV1 are among those of the device; they were counted twice."),
        ),
    )


def bits_of_an_octet(draw: Draw) -> Question:
    """The octet that a constant and a value of some bits make."""
    first, count = draw.whole(1, 4), draw.whole(2, 3)
    last, value = first + count - 1, draw.whole(1, 2**count - 1)
    mask = (2**count - 1) << first
    constant = draw.whole(0, 255) & ~mask | 0x80 | (draw.whole(0, 2**count - 1) << first)
    answer = constant & ~mask | value << first
    mirrored = sum(1 << (7 - bit) for bit in range(8) if value << first >> bit & 1)
    return Question(
        f"A parameter octet of the {draw.pick(DRIVES)} drive is 16#{constant:02X} before values are put in. Bits "
        f"{first} to {last} of it are the parameter “when the bus fails”, and you choose the value {value}.\n"
        "Which octet is sent? Answer in hexadecimal, two digits.",
        Hexadecimal(2),
        answer,
        steps=(
            "Write the octet as eight bits, bit 7 at the left, and change those of the parameter only.",
            f"16#{constant:02X} = {bits_text(constant)}; without bits {first} to {last} it is "
            f"16#{constant & ~mask:02X}.",
            f"{value} moved up by {first} bit{'s' if first > 1 else ''} is 16#{value << first:02X}.",
            f"Together 16#{answer:02X}.",
        ),
        slips=(
            Slip(value << first, "The other bits of the octet stay as the file gives them."),
            Slip(constant & ~mask | value, f"The value begins at bit {first}: move it up."),
            Slip(constant | value << first, "The old bits of the parameter go out before the new value comes in."),
            Slip(constant & ~mask | mirrored, "Bit 0 is the lowest bit, at the right."),
            Slip((constant & ~mask | value << (first - 1)) & 0xFF, "Bits are counted from 0, not from 1."),
        ),
    )


_MS_OF_DELAY = 10  # parameter 3 of the demo description counts in 10 ms


def two_octets(draw: Draw) -> Question:
    """The two octets of a parameter of 16 bits, from a time."""
    ms = draw.whole(26, 590) * 100
    value = ms // _MS_OF_DELAY
    setup = configure(_demo(), [draw.pick(_formats()).name], {(0, 3): value})
    octets = setup.user_parameters[4:6]
    answer = int.from_bytes(octets, "big")
    return Question(
        f"The {draw.pick(DRIVES)} drive is to wait {ms / 1000:g} s before it stops. Its description has for this an "
        f"Unsigned16 “delay before a stop, in {_MS_OF_DELAY} ms”.\n"
        "Which two octets are sent, in the order of the telegram? Answer in hexadecimal, four digits.",
        Hexadecimal(4),
        answer,
        steps=(
            f"Divide the time by {_MS_OF_DELAY} ms: the parameter counts in such steps.",
            f"{ms} ms / {_MS_OF_DELAY} ms = {value}.",
            f"{value} = 16#{answer:04X}; the high octet goes first: {octets_text(octets)}.",
        ),
        slips=(
            Slip(int.from_bytes(octets, "little"), "The high octet goes first; the two were exchanged."),
            Slip(ms & 0xFFFF, f"That is the time in ms, but the parameter counts in {_MS_OF_DELAY} ms."),
            Slip(ms // 100, f"The parameter counts in {_MS_OF_DELAY} ms, not in 100 ms."),
            Slip(int(f"{value:04d}", 16), "Those are the decimal digits; write the number in hexadecimal."),
        ),
    )


# What a newer issue may change, seen from a station that uses one module: words, and the description after it.
_Changed = Callable[[Description, Module, Module, int], tuple[str, Description]]
_BREAKING: tuple[_Changed, ...] = (
    lambda file, used, other, n: (f"Module “{used.name}” is gone", _without(file, used)),
    lambda file, used, other, n: (
        f"Other identifiers for module “{used.name}”",
        _with_other_octets(file, used, 8 + n % 6),
    ),
    lambda file, used, other, n: (
        f"Ident_Number is 16#{0xFF00 + n:04X} now",
        _with_number(file, "Ident_Number", 0xFF00 + n),
    ),
    lambda file, used, other, n: ("12M_supp is 0 now", _with_number(file, "12M_supp", 0)),
)
# Each with the reason why it does no harm.
_HARMLESS: tuple[tuple[_Changed, str], ...] = (
    (lambda file, used, other, n: (f"Module “{other.name}” is gone", _without(file, other)),
     "Your station does not use that module."),
    (lambda file, used, other, n:
         (f"Other identifiers for module “{other.name}”", _with_other_octets(file, other, 8 + n % 6)),
     "Those identifiers belong to a module that your station does not use."),
    (lambda file, used, other, n: (f"A new module “Mill {n}”", _with_modules(file, [*file.modules, _new_module(n)])),
     "A module more does no harm: nothing that is stored changes."),
    (lambda file, used, other, n: (f"Max_Input_Len is {32 + n} now", _with_number(file, "Max_Input_Len", 32 + n)),
     "More bytes than before: what was stored still fits."),
    (lambda file, used, other, n: (f"Revision_Number is {n} now", _with_number(file, "Revision_Number", n)),
     "The number of the issue is a remark for people; it is not sent."),
)  # fmt: skip


def what_breaks(draw: Draw) -> Question:
    """Which change of a newer description breaks a station that runs."""
    used, other = draw.some(_formats(), 2)
    n = draw.whole(2, 60)
    right, after = draw.pick(_BREAKING)(_demo(), used, other, n)
    wrong = [(change(_demo(), used, other, n), why) for change, why in _HARMLESS]
    harmless = draw.some(wrong, 3)
    effects = {words: max(change.effect for change in compare(_demo(), new, [used.name]))
               for words, new in ((right, after), *(pair for pair, _ in harmless))}  # fmt: skip
    assert [words for words, effect in effects.items() if effect is Effect.BREAKS] == [right]
    return Question(
        f"The {draw.pick(DRIVES)} drive runs at 12 Mbit/s with the module “{used.name}”. A newer description of it is "
        "brought into the engineering program; these are its changes.\n"
        "With which of them can the drive not go on as it is?",
        draw.choice(list(effects)),
        right,
        steps=(
            "Ask of each change: does it touch something that is sent to this station at its start?",
            "Sent are the ident number, the identifiers of the module in use, and everything at the line's bit rate.",
            f"That is touched by: {right}.",
        ),
        slips=tuple(Slip(words, why) for (words, _), why in harmless),
    )


def _with_number(description: Description, keyword: str, value: int) -> Description:
    statement = description.general[keyword.lower()]
    return replace(description, general={**description.general, keyword.lower(): Statement(
        statement.line, statement.keyword, None, (value,))})  # fmt: skip


def _with_modules(description: Description, modules: list[Module]) -> Description:
    return replace(description, modules=tuple(modules))


def _without(description: Description, module: Module) -> Description:
    return _with_modules(description, [kept for kept in description.modules if kept != module])


def _with_other_octets(description: Description, module: Module, digit: int) -> Description:
    octets = module.identifiers[:-1] + bytes([module.identifiers[-1] & 0xF0 | digit])
    return _with_modules(description, [replace(kept, identifiers=octets) if kept == module else kept
                                       for kept in description.modules])  # fmt: skip


def _new_module(n: int) -> Module:
    return Module(f"Mill {n}", bytes([0xF0 | n % 16]))


KINDS: dict[str, Kind] = {
    "ident-number": ident_number,
    "right-file": right_file,
    "said-on-the-bus": said_on_the_bus,
    "highest-bit-rate": highest_bit_rate,
    "shortest-interval": shortest_interval,
    "input-bytes": input_bytes,
    "parameter-octets": parameter_octets,
    "bits-of-an-octet": bits_of_an_octet,
    "two-octets": two_octets,
    "what-breaks": what_breaks,
}
