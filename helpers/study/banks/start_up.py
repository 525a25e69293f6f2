"""Questions on the start of a station and on diagnosis. Each slip is calculated by making the mistake on purpose.

The drives are those of Saltmarsh Mill, an invented site; the ident numbers are such that no maker's is meant.
"""

from __future__ import annotations

from helpers import facts
from helpers.bus.services import diagnosis, slave_diag
from helpers.bus.services.diag_blocks import ChannelBlock, DeviceBlock, name
from helpers.bus.services.set_prm import SetPrm
from helpers.bus.services.slave_diag import FIXED, NO_MASTER, SlaveDiag
from helpers.bus.time.watchdog import BASES_S, watchdog_time_s
from helpers.device.formats import by_name
from helpers.study.forms import Bits, Hexadecimal, Number
from helpers.study.mill import DRIVES, drawn_ident
from helpers.study.question import Draw, Kind, Question, Slip
from helpers.wording import bits_text, octets_text

_FACTORS = (2, 4, 5, 8, 10, 16, 20, 25, 40, 50)
_FORMATS = ("PPO 1", "PPO 2", "PPO 3", "PPO 4", "PPO 5")


_ORDER = tuple(row["service"] for row in facts.rows("start_up_order"))


def next_service(draw: Draw) -> Question:
    """What the controller sends next in a start without trouble."""
    at = draw.whole(0, len(_ORDER) - 2)
    words = (
        "asks for the diagnosis for the first time and reads that the drive waits for parameters",
        "sends the parameters and gets SC",
        "sends the configuration and gets SC",
        "asks for the diagnosis for the second time and reads that nothing is refused and the drive is ready",
    )[at]
    address, drive = draw.whole(3, 125), draw.pick(DRIVES)
    right = _ORDER[at + 1]
    why = {
        "Set_Prm": "The parameters come behind the first diagnosis, and only once.",
        "Chk_Cfg": "The configuration comes once, right behind the parameters: a station without them refuses it.",
        "Slave_Diag": "The diagnosis has just been read: it says what is to come."
        if _ORDER[at] == "Slave_Diag"
        else "Parameters alone make no start: the configuration follows, and only then the second diagnosis.",
        "Data_Exchange": "Data comes last: a station that has not accepted parameters and configuration refuses it.",
        "Get_Cfg": "Get_Cfg is a question of its own; a start does not need it.",
    }
    return Question(
        f"The {drive} drive at address {address} is in order and is starting. Its controller {words}.\n"
        "Which service does the controller send to it next?",
        draw.choice(list(why)),
        right,
        steps=(
            "Say the order of a start aloud: ask, tell, check, ask again, exchange.",
            f"That is {', '.join(_ORDER)}.",
            f"So {right} is next.",
        ),
        slips=tuple(Slip(service, sentence) for service, sentence in why.items() if service != right),
    )


_STATES = {
    "Prm_Fault": "the parameters are refused",
    "Cfg_Fault": "the configuration is refused",
    "Station_Not_Ready": "it is not ready yet, and nothing is refused",
    "Ext_Diag": "the bus is in order; it reports a fault of its own",
}
_WHY = {
    "Prm_Fault": "That would be Prm_Fault, bit 6 of octet 1.",
    "Cfg_Fault": "That would be Cfg_Fault, bit 2 of octet 1.",
    "Station_Not_Ready": "Station_Not_Ready alone would be bit 1 with bits 2 and 6 at 0.",
    "Ext_Diag": "That would be Ext_Diag, bit 3 of octet 1, with blocks behind octet 6.",
}


def refused_what(draw: Draw) -> Question:
    """What a station has against its start, from the octets of its diagnosis."""
    bit = draw.pick(tuple(_STATES))
    flags = {FIXED, bit}
    blocks: tuple[DeviceBlock, ...] = ()
    master = NO_MASTER
    if bit == "Ext_Diag":
        flags, blocks, master = flags | {"WD_On"}, (DeviceBlock(bytes([draw.whole(1, 3)])),), draw.whole(1, 9)
    elif bit == "Station_Not_Ready":
        flags, master = flags | {"WD_On"}, draw.whole(1, 9)
    else:
        flags |= {"Station_Not_Ready", "Prm_Req"}
    octets = SlaveDiag(frozenset(flags), master, drawn_ident(draw), blocks).octets
    return Question(
        f"The {draw.pick(DRIVES)} drive does not run. Its diagnosis is {octets_text(octets)}.\nWhat does it say?",
        draw.choice(list(_STATES.values())),
        _STATES[bit],
        steps=(
            "Write octet 1 as eight bits, bit 7 at the left, and look which are 1.",
            f"16#{octets[0]:02X} = {bits_text(octets[0])}: "
            f"{', '.join(row.name for row in slave_diag.bit_rows(octets)[:8] if row.value)}.",
            f"So {_STATES[bit]}.",
        ),
        slips=tuple(Slip(words, _WHY[other]) for other, words in _STATES.items() if other != bit),
    )


_BITS = tuple(f"bit {n}" for n in range(7, -1, -1))


def first_octet(draw: Draw) -> Question:
    """The bits of the first octet of a diagnosis."""
    value = draw.whole(1, 0xFE)
    answer = f"{value:08b}"
    return Question(
        f"The first octet of the diagnosis of the {draw.pick(DRIVES)} drive is 16#{value:02X}.\n"
        "Write its bits, bit 7 at the left.",
        Bits(_BITS),
        answer,
        steps=(
            "Each hexadecimal digit is four bits, the left digit first.",
            f"{value >> 4:X} = {value >> 4:04b} and {value & 15:X} = {value & 15:04b}.",
            f"Together {answer}.",
        ),
        slips=(
            Slip(answer[::-1], "That is read from the wrong end: bit 0 is the lowest, at the right."),
            Slip(answer[4:] + answer[:4], "The two digits were exchanged; the left one holds bits 7 to 4."),
            Slip(f"{value ^ 0xFF:08b}", "Ones and zeros were exchanged."),
        ),
    )


def which_bit(draw: Draw) -> Question:
    """What one bit of the first two octets means."""
    octet = draw.whole(1, 2)
    rows = [row for row in slave_diag.bit_rows(bytes([0xFF, 0xFF, 0, 0, 0, 0])) if row.octet == octet]
    named = [row for row in rows if not row.name.startswith(("reserved", FIXED))]
    right = draw.pick(named)
    value = 1 << right.bit | (4 if octet == 2 else 0)
    at = {row.bit: row.name for row in rows}
    mirrored, next_up, next_down = at[7 - right.bit], at.get(right.bit + 1, ""), at.get(right.bit - 1, "")
    wrong = {
        mirrored: f"That bit counts from the other end: bit {7 - right.bit}.",
        next_up: "Bits are counted from 0; this is one too high.",
        next_down: "Bits are counted from 0; this is one too low.",
    }
    slips = {words: why for words, why in wrong.items() if words and words != right.name}
    options = {right.name, *slips, *(row.name for row in draw.some(named, 3))}
    beside = " besides the bit that is always 1" if octet == 2 else ""
    return Question(
        f"In the diagnosis of the {draw.pick(DRIVES)} drive at address {draw.whole(3, 125)}, octet {octet} is "
        f"16#{value:02X}.\nWhich bit is 1{beside}?",
        draw.choice(sorted(options)),
        right.name,
        steps=(
            "Write the octet as eight bits, and count from the right, from 0.",
            f"16#{value:02X} = {bits_text(value)}.",
            f"Bit {right.bit} of octet {octet} is {right.name}: {right.meaning}.",
        ),
        slips=tuple(Slip(words, why) for words, why in slips.items()),
    )


def parameter_ident(draw: Draw) -> Question:
    """The ident number that a Set_Prm carries."""
    ident = drawn_ident(draw)
    prm = SetPrm(ident, factor_1=draw.pick(_FACTORS), factor_2=draw.whole(3, 60))
    octets = prm.octets
    return Question(
        f"The {draw.pick(DRIVES)} drive reports Prm_Fault. In the recording its Set_Prm is {octets_text(octets)}.\n"
        "Which ident number does the controller expect there? Answer in hexadecimal, four digits.",
        Hexadecimal(4),
        ident,
        steps=(
            "Count the octets from 1; the ident number has two of them, behind min TSDR.",
            f"Octets 5 and 6 are {octets[4]:02X} and {octets[5]:02X}, the high one first.",
            f"So 16#{ident:04X}; compare it with the ident number in the diagnosis of the station.",
        ),
        slips=(
            Slip(int.from_bytes(octets[4:6], "little"), "The high octet comes first; the two were exchanged."),
            Slip(int.from_bytes(octets[3:5], "big"), "One octet too early: octet 4 is min TSDR."),
            Slip(int.from_bytes(octets[1:3], "big"), "Octets 2 and 3 are the factors of the watchdog."),
        ),
    )


def watchdog_time(draw: Draw) -> Question:
    """The watchdog of a Set_Prm, in ms."""
    factor_1, factor_2 = draw.pick(_FACTORS), draw.whole(3, 60)
    by_dpv1 = draw.whole(0, 1)
    base_s = BASES_S[by_dpv1]
    extra = bytes([0x84, 0, 0]) if by_dpv1 else b""
    prm = SetPrm(drawn_ident(draw), factor_1=factor_1, factor_2=factor_2, user=extra)
    answer = watchdog_time_s(factor_1, factor_2, base_s=base_s) * 1000
    base_ms, other_ms = base_s * 1000, BASES_S[1 - by_dpv1] * 1000
    # Only octets without a letter can be taken for decimal numbers.
    read = f"{factor_1:X}", f"{factor_2:X}"
    slip = "The octets are hexadecimal; they were read as decimal."
    decimal = [Slip(round(base_ms * int(read[0]) * int(read[1]), 6), slip)] if "".join(read).isdecimal() else []
    about = "works by DPV1, and octet 8 holds the bit for the base of 1 ms" if by_dpv1 else "does not know DPV1"
    return Question(
        f"The {draw.pick(DRIVES)} drive {about}. Its Set_Prm begins with {octets_text(prm.octets)}.\n"
        "How long is its watchdog? Answer in ms.",
        Number("ms", "time", relative=1e-6),
        round(answer, 6),
        steps=(
            "Octets 2 and 3 are the two factors; multiply them with each other and with the base.",
            f"16#{factor_1:02X} = {factor_1} and 16#{factor_2:02X} = {factor_2}; the base is {base_ms:g} ms.",
            f"{base_ms:g} ms × {factor_1} × {factor_2} = {answer:g} ms.",
        ),
        slips=(
            Slip(round(other_ms * factor_1 * factor_2, 6), f"The base is {base_ms:g} ms here."),
            Slip(round(base_ms * (factor_1 + factor_2), 6), "The two factors are multiplied, not added."),
            Slip(round(base_ms * factor_2, 6), "There are two factors; the first was left out."),
            *decimal,
        ),
    )


def second_factor(draw: Draw) -> Question:
    """The second factor for a wanted time."""
    factor_1, factor_2 = draw.pick(_FACTORS), draw.whole(4, 25)
    base_ms = BASES_S[0] * 1000
    wanted = base_ms * factor_1 * factor_2
    return Question(
        f"The {draw.pick(DRIVES)} drive is to have a watchdog of {wanted:g} ms with a base of {base_ms:g} ms. "
        f"WD_Fact_1 is {factor_1}.\nWhich octet is WD_Fact_2? Answer in hexadecimal, two digits.",
        Hexadecimal(2),
        factor_2,
        steps=(
            "Divide the time by the base, then by the first factor.",
            f"{wanted:g} ms / {base_ms:g} ms = {factor_1 * factor_2}; {factor_1 * factor_2} / {factor_1} = {factor_2}.",
            f"{factor_2} = 16#{factor_2:02X}.",
        ),
        slips=tuple(
            Slip(value, why)
            for value, why in (
                (int(str(factor_2), 16), "Those are the decimal digits; write the number in hexadecimal."),
                (factor_1 * factor_2, "The first factor counts too: divide by it."),
                (factor_2 * int(base_ms), "The base is 10 ms, not 1 ms."),
                (factor_1, "That is the first factor; asked is the second."),
            )
            if value <= 0xFF
        ),
    )


_KEPT = {
    "on the bus, but it has no valid data": "Stat_Diag",
    "in data exchange, with a fault of its own in the blocks": "Ext_Diag",
    "not there, as the controller notes": "Station_Non_Existent",
    "in data exchange, and nothing is reported": "",
}


def stat_or_ext(draw: Draw) -> Question:
    """Static diagnosis, a fault of the station's own, nobody there, or nothing."""
    right = draw.pick(tuple(_KEPT))
    bit = _KEPT[right]
    flags, master, ident = {FIXED, "WD_On"}, draw.whole(1, 9), drawn_ident(draw)
    blocks = (ChannelBlock(draw.whole(0, 3), draw.whole(0, 7), draw.pick((4, 5, 6))),) if bit == "Ext_Diag" else ()
    if bit == "Station_Non_Existent":
        flags, master, ident = set(), NO_MASTER, 0
    octets = SlaveDiag(frozenset(flags | ({bit} if bit else set())), master, ident, blocks).octets
    why = {
        "Stat_Diag": "Stat_Diag is bit 1 of octet 2. It means: no valid data, and the controller goes on asking.",
        "Ext_Diag": "Ext_Diag is bit 3 of octet 1, and then a block follows behind octet 6. Data stays valid.",
        "Station_Non_Existent": "Station_Non_Existent is bit 0 of octet 1; the controller writes it itself.",
        "": "Octet 1 is not 0, or octet 2 holds more than the watchdog and the bit that is always 1.",
    }
    return Question(
        f"For the {draw.pick(DRIVES)} drive, address {draw.whole(3, 125)}, the controller shows the diagnosis "
        f"{octets_text(octets)}.\nWhat does it say of the drive?",
        draw.choice(list(_KEPT)),
        right,
        steps=(
            "Take octet 1 first, then octet 2, then look whether there is more than six octets.",
            f"Octet 1 is 16#{octets[0]:02X}, octet 2 is 16#{octets[1]:02X}; {len(octets) - 6} octets follow the sixth.",
            f"So it is {right}.",
        ),
        slips=tuple(Slip(words, why[_KEPT[words]]) for words in _KEPT if words != right),
    )


def saved_not_loaded(draw: Draw) -> Question:
    """How a station behaves after a change that was saved or loaded, with or without a power cycle."""
    old, new = draw.some(_FORMATS, 2)
    in_drive, loaded = draw.whole(0, 1), draw.whole(0, 1)
    loaded_format, active_format = (new if loaded else old), (new if in_drive else old)
    drive, address = draw.pick(DRIVES), draw.whole(3, 125)
    works = loaded_format == active_format
    at_drive = "switched its supply off and on" if in_drive else "left its supply on"
    at_desk = "saved the project and loaded the controller" if loaded else "saved the project"
    answers = {
        "new": f"it exchanges data with {new}",
        "old": f"it exchanges data with {old}",
        "cfg": "it refuses the configuration: Cfg_Fault",
        "prm": "it refuses the parameters: Prm_Fault",
    }
    right = ("new" if loaded else "old") if works else "cfg"
    why = {
        "new": f"The new format counts only where it was loaded, and where the drive has been off. One of them is {old}"
        " still." if not works else f"Neither of them has taken over {new} yet.",
        "old": f"Not both of them work with {old}." if not works else f"Both of them work with {new} now.",
        "cfg": "Controller and drive have the same format, so nothing is refused.",
        "prm": "The ident number and the parameters have not changed; Prm_Fault is for those.",
    }  # fmt: skip
    return Question(
        f"The {drive} drive, address {address}, ran with {old}. You set it to {new} at the drive and {at_drive}. Its "
        f"manual says: a new format counts only after the supply was off and on. At the desk you chose {new} and "
        f"{at_desk}.\n"
        "The controller starts the drive anew. What happens?",
        draw.choice(list(answers.values())),
        answers[right],
        steps=(
            "Ask for each side what counts there now: what is loaded in the controller, and what is active in the "
            "drive.",
            f"Loaded is {loaded_format}; active is {active_format}.",
            f"So {answers[right]}.",
        ),
        slips=tuple(Slip(answers[key], why[key]) for key in answers if key != right),
    )


def not_loaded_bytes(draw: Draw) -> Question:
    """How many output bytes still travel when a change was saved but not loaded."""
    sized = [by_name(data_format) for data_format in _FORMATS]
    old, new = draw.some(sized, 2)
    while len(old.words("out")) == len(new.words("out")):
        old, new = draw.some(sized, 2)
    sizes = [2 * len(data_format.words("out")) for data_format in (old, new)]
    return Question(
        f"The {draw.pick(DRIVES)} drive at address {draw.whole(3, 125)} works with {old.name}. At the desk somebody "
        f"chooses {new.name} for it and saves the project. Nothing is loaded, and nobody touches the drive.\n"
        "How many bytes does the controller send to it in each cycle? Answer in bytes.",
        Number("bytes"),
        float(sizes[0]),
        rows=[
            {"format": data_format.name, "words to the drive": len(data_format.words("out"))} for data_format in sized
        ],
        steps=(
            "The controller works with what was loaded into it last.",
            f"That is {old.name}, with {sizes[0] // 2} words; a word has two bytes.",
            f"{sizes[0] // 2} × 2 = {sizes[0]} bytes.",
        ),
        slips=(
            Slip(float(sizes[1]), "Saved is not loaded: the controller does not know of the change yet."),
            Slip(float(sizes[0] // 2), "Those are words; a word has two bytes."),
            Slip(0.0, "Nothing stops: the old project runs on in the controller."),
        ),
    )


def who_first(draw: Draw) -> Question:
    """What is set up first, and why the other way round fails."""
    drive, address = draw.pick(DRIVES), draw.whole(3, 125)
    right = "load the controller with the new station, then set the drive and switch it off and on"
    wrong = {
        "set the drive to the bus and give its run command there, then plan the station some day":
            "A drive that waits for the bus does nothing until a controller asks it; nothing can be tested meanwhile.",
        "save the project, set the drive, and wait until the controller finds it":
            "A controller finds nothing by itself: it asks the stations that were loaded into it.",
        "set the drive, and give the address in the controller afterwards to whatever answers":
            "Two at one address disturb each other, and who answers is luck. The address is planned first.",
        "switch the drive on first and load the controller while people are at the machine":
            "When the controller is loaded, data exchange begins at once; nobody may be at the machine then.",
    }  # fmt: skip
    shown = draw.some(list(wrong), 3)
    return Question(
        f"A new {drive} drive is to get address {address}. The rest of the network runs.\nWhich order is right?",
        draw.choice([right, *shown]),
        right,
        steps=(
            "Ask who speaks first on this bus: a station only answers.",
            "So the controller must know the station, or nobody asks it.",
            f"Therefore: {right}.",
        ),
        slips=tuple(Slip(words, wrong[words]) for words in shown),
    )


def look_first(draw: Draw) -> Question:
    """Where to look first, from a diagnosis."""
    bits = ("Station_Non_Existent", "Prm_Fault", "Cfg_Fault", "Master_Lock")
    bit = draw.pick(bits)
    answers = {flag: _answer_with(draw, flag) for flag in bits}
    advice = {flag: diagnosis.read(answer).advice[0].look_first for flag, answer in answers.items()}
    exchange = "Exchange the drive for a new one: it is defective."
    why = {
        "Station_Non_Existent": "That is for a station that does not answer at all.",
        "Prm_Fault": "That is for refused parameters.",
        "Cfg_Fault": "That is for a refused configuration.",
        "Master_Lock": "That is for a station that another controller holds.",
    }
    return Question(
        f"The controller shows {bit} for the {draw.pick(DRIVES)} drive at address {draw.whole(3, 125)}.\n"
        "What do you look at, or do, first?",
        draw.choice([*advice.values(), exchange]),
        advice[bit],
        steps=(
            "Ask what the bit says, and no more: who does not answer, or who refuses what?",
            f"{diagnosis.read(answers[bit]).sentence}",
            f"So first: {advice[bit]}",
        ),
        slips=(
            Slip(
                exchange, "The bit does not say that it is defective. Look before you measure, measure before you swap."
            ),
            *(Slip(advice[flag], why[flag]) for flag in bits if flag != bit),
        ),
    )


def _answer_with(draw: Draw, bit: str) -> SlaveDiag:
    """The diagnosis of a station with this bit at 1; nobody answers where the station does not exist."""
    if bit == "Station_Non_Existent":
        return SlaveDiag(frozenset({bit}), NO_MASTER, 0)
    return SlaveDiag(frozenset({FIXED, bit}), 2 if bit == "Master_Lock" else NO_MASTER, drawn_ident(draw))


def channel_fault(draw: Draw) -> Question:
    """What a channel block reports."""
    codes = list(range(1, 10))
    error, place, channel = draw.pick(codes), draw.whole(0, 7), draw.whole(0, 15)
    direction, kind = draw.pick((1, 2)), draw.pick((1, 2, 3))
    block = ChannelBlock(place, channel, error, type=kind, direction=direction)
    octets = SlaveDiag(frozenset({FIXED, "WD_On", "Ext_Diag"}), 1, drawn_ident(draw), (block,)).octets
    right = name("error", error)
    last = octets[-1]
    wrong = {
        name("error", last >> 4): "That is the left digit; the error stands in the five lowest bits.",
        name("error", kind): "That number is the type of the channel, in the three highest bits.",
        name("error", octets[-2] & 0x1F): "That octet holds direction and channel; the error is in the next one.",
        name("error", error % 9 + 1): "One too far in the table of errors.",
    }
    slips = {words: why for words, why in wrong.items() if words not in (right, "reserved", "maker")}
    others = [name("error", code) for code in draw.some(codes, 4)]
    return Question(
        f"The remote I/O beside the {draw.pick(DRIVES)} sends the diagnosis {octets_text(octets)}.\n"
        "What does its channel block report?",
        draw.choice(sorted({right, *slips, *others})),
        right,
        steps=(
            "The block begins at octet 7 and has three octets. Take the five lowest bits of the last one.",
            f"16#{last:02X} = {bits_text(last)}: type {last >> 5}, error {last & 0x1F}.",
            f"Error {error} is: {right}.",
        ),
        slips=tuple(Slip(words, why) for words, why in slips.items()),
        rows=[{"error": code, "meaning": name("error", code)} for code in codes],
    )


def groups_octet(draw: Draw) -> Question:
    """The octet for the groups of a station."""
    groups = sorted(draw.some(range(1, 9), draw.whole(2, 3)))
    answer = SetPrm(0, groups=frozenset(groups)).octets[6]
    mirrored = int(f"{answer:08b}"[::-1], 2)
    named = f"{', '.join(map(str, groups[:-1]))} and {groups[-1]}"
    return Question(
        f"The {draw.pick(DRIVES)} drive is to belong to the groups {named}.\n"
        "Which octet is the seventh of its Set_Prm? Answer in hexadecimal, two digits.",
        Hexadecimal(2),
        answer,
        steps=(
            "Each group has one bit: group 1 is bit 0.",
            " + ".join(f"16#{1 << group - 1:02X}" for group in groups) + " are the bits of these groups.",
            f"Together 16#{answer:02X}.",
        ),
        slips=(
            Slip(answer << 1 & 0xFF, "Group 1 is bit 0; each was set one bit too high."),
            Slip(mirrored, "Bit 0 is the lowest, at the right; this is counted from the other end."),
            Slip(sum(groups), "The numbers were added; each group is a bit of its own."),
        ),
    )


KINDS: dict[str, Kind] = {
    "next-service": next_service,
    "refused-what": refused_what,
    "first-octet": first_octet,
    "which-bit": which_bit,
    "parameter-ident": parameter_ident,
    "watchdog-time": watchdog_time,
    "second-factor": second_factor,
    "stat-or-ext": stat_or_ext,
    "saved-not-loaded": saved_not_loaded,
    "not-loaded-bytes": not_loaded_bytes,
    "who-first": who_first,
    "look-first": look_first,
    "channel-fault": channel_fault,
    "groups-octet": groups_octet,
}
