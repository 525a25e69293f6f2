"""Questions on data formats. Each slip is calculated by making the mistake on purpose.

The drives are those of Saltmarsh Mill, an invented site; PPO 1 to 5 are the profile's.
"""

from __future__ import annotations

from helpers import facts
from helpers.bus.cable.bit_rates import bit_rate_text
from helpers.bus.time.timing import rule_bits, rule_source
from helpers.device import formats as data_formats
from helpers.device.choose import FormatRow, choose, mapping
from helpers.device.formats import BYTES_PER_WORD, DataFormat
from helpers.device.identifiers import DataArea, Identifier, explain
from helpers.device.signals import Signal, demo_signals, find, list_parameter, own_signal
from helpers.study.forms import Choice, Hexadecimal, Number
from helpers.study.mill import DRIVES, OTHER_WAY
from helpers.study.question import Draw, Kind, Question, Slip
from helpers.wording import bits_text, counted, octets_text

_WAY = {"out": "from the controller to the drive", "in": "from the drive to the controller"}
_CHANNEL = len(data_formats.by_name("PPO 1").words_out) - len(data_formats.by_name("PPO 3").words_out)
_BASIC = tuple(find(name) for name in ("STW1", "NSOLL_A", "ZSW1", "NIST_A"))
_NARROW = {way: [s for s in demo_signals() if s.direction == way and s.words == 1] for way in _WAY}
_WIDE = [signal for signal in demo_signals() if signal.words == 2]


def _signal_in_words(signal: Signal) -> str:
    return f"{signal.name}, {signal.bits} bit"


def _compact(draw: Draw) -> tuple[str, DataArea]:
    """A direction and an area that a compact byte can carry, of two words or bytes and more."""
    return draw.pick(("out", "in")), DataArea(
        draw.whole(2, 16), draw.pick(("word", "word", "byte")), draw.pick((True, False))
    )


def _one_way(way: str, area: DataArea) -> Identifier:
    return Identifier("compact", area, None) if way == "out" else Identifier("compact", None, area)


def bytes_of(draw: Draw) -> Question:
    """How many bytes one direction of a format has."""
    channel = draw.pick((_CHANNEL, _CHANNEL, 0))
    process = dict(zip(_WAY, draw.some(range(2, 13), 2), strict=True))
    way, other = draw.shuffled(tuple(_WAY))
    words = channel + process[way]
    with_channel = f"a parameter channel of {channel} words each way, " if channel else "no parameter channel, "
    return Question(
        f"A data format of the {draw.pick(DRIVES)} drive has {with_channel}{process['out']} process data words "
        f"{_WAY['out']} and {process['in']} {_WAY['in']}.\n"
        f"How many bytes go {_WAY[way]} in each cycle? Answer in bytes.",
        Number("bytes"),
        float(BYTES_PER_WORD * words),
        steps=(
            "Count all words of this one direction, then two bytes for each.",
            f"{channel} words of parameter channel and {counted(process[way], 'word')} of process data: "
            f"{counted(words, 'word')}."
            if channel
            else f"There are {counted(words, 'word')} this way.",
            f"{words} words × {BYTES_PER_WORD} bytes = {BYTES_PER_WORD * words} bytes.",
        ),
        slips=(
            Slip(float(words), "Those are the words. A word has two bytes."),
            Slip(
                float(BYTES_PER_WORD * process[way]) if channel else float(BYTES_PER_WORD * (words + _CHANNEL)),
                "The parameter channel travels in each cycle too, asked for or not."
                if channel
                else "A parameter channel was counted, but this format has none.",
            ),
            Slip(
                float(BYTES_PER_WORD * (channel + process[other])),
                f"That is the other direction. Asked is what goes {_WAY[way]}.",
            ),
            Slip(
                float(BYTES_PER_WORD * (2 * channel + sum(process.values()))),
                "Those are both directions together. Asked is one of them.",
            ),
        ),
    )


def words_needed(draw: Draw) -> Question:
    """How many process data words a list of signals takes in one direction."""
    wide = draw.some(_WIDE, draw.whole(1, len(_WIDE)))
    into = [
        *(signal for signal in _BASIC if signal.direction == "in"),
        *draw.some(_NARROW["in"], draw.whole(1, 4)),
        *wide,
    ]
    out = [*(signal for signal in _BASIC if signal.direction == "out"), *draw.some(_NARROW["out"], draw.whole(0, 3))]
    words = sum(signal.words for signal in into)
    return Question(
        f"The program needs these signals of the {draw.pick(DRIVES)} drive in each cycle.\n"
        f"How many process data words do they take {_WAY['in']}? Answer in words.",
        Number("words"),
        float(words),
        rows=[
            {"signal": signal.name, "meaning": signal.meaning, "bits": signal.bits, "direction": _WAY[signal.direction]}
            for signal in draw.shuffled([*out, *into])
        ],
        steps=(
            "Take only the rows of this direction. A signal of 16 bits takes one word, one of 32 bits takes two.",
            f"One word each: {', '.join(signal.name for signal in into if signal.words == 1)}. "
            f"Two words: {', '.join(signal.name for signal in wide)}.",
            f"{len(into) - len(wide)} × 1 + {len(wide)} × 2 = {words} words.",
        ),
        slips=(
            Slip(float(len(into)), "A signal of 32 bits takes two words: a word has 16 bits."),
            Slip(
                float(words + sum(signal.words for signal in out)),
                "Both directions were added. Each has its own words, and room in one does not help the other.",
            ),
            Slip(float(BYTES_PER_WORD * words), "Those are bytes; asked are words."),
            Slip(float(sum(signal.words for signal in out)), "Those are the words to the drive."),
            Slip(float(words - 2), f"{_BASIC[2].name} and {_BASIC[3].name} take words too."),
        ),
    )


def shortest(draw: Draw) -> Question:
    """The shortest format for a list of needs."""
    parameters = draw.pick((False, False, True))
    out = draw.some(_NARROW["out"], draw.whole(0, 2))
    into = [*draw.some(_NARROW["in"], draw.whole(0, 4)), *draw.some(_WIDE, draw.whole(0, 1))]
    needs = [*_BASIC, *out, *into]
    offered = sorted(
        (*data_formats.ppo_types(), *draw.some(data_formats.demo_formats()[:3], 1)),
        key=lambda data_format: data_format.bytes_both,
    )

    def best(wanted: list[Signal], channel: bool) -> str:
        fit = choose(wanted, parameters=channel, formats=offered).best
        return fit.format.name if fit else offered[-1].name

    right = best(needs, parameters)
    narrow = [own_signal(signal.name, bits=16, direction=signal.direction) for signal in needs]
    asked = (
        "The program reads parameters of the drive in every cycle; the drive has no acyclic services."
        if parameters
        else "Parameters are set once, with the drive's own tool."
    )
    extra = (
        ", ".join(f"{signal.meaning.partition(' in ')[0]} ({_signal_in_words(signal)})" for signal in (*out, *into))
        or "nothing else"
    )
    return Question(
        f"The {draw.pick(DRIVES)} drive needs control word and speed setpoint out, status word and speed in, and "
        f"besides: {extra}. {asked}\nWhich is the shortest format that carries all of it?",
        Choice(tuple(data_format.name for data_format in offered)),
        right,
        rows=[_format_row(data_format) for data_format in offered],
        steps=(
            "Count the words of each direction apart, then go down the table from the shortest format and stop at the "
            "first that has room both ways.",
            f"Out: {counted(sum(signal.words for signal in needs if signal.direction == 'out'), 'word')}. "
            f"In: {counted(sum(signal.words for signal in needs if signal.direction == 'in'), 'word')}. "
            f"Parameter channel: {'needed' if parameters else 'not needed'}.",
            *_lacking(choose(needs, parameters=parameters, formats=offered).shorter, right),
            f"The table's first fit is {right} ({facts.one('format_rules', rule='shortest').cited}).",
        ),
        slips=(
            Slip(
                best(needs, not parameters),
                "Without a parameter channel the program can't read parameters in the cyclic data."
                if parameters
                else "A parameter channel travels in each cycle. Here nobody needs it.",
            ),
            Slip(best(narrow, parameters), "A signal of 32 bits takes two words."),
            Slip(
                best([signal for signal in needs if signal.direction == "out"], parameters),
                "That is enough out, but not in: look at each direction on its own.",
            ),
            Slip(
                best([signal for signal in needs if signal.direction == "in"], parameters),
                "That is enough in, but not out: look at each direction on its own.",
            ),
            Slip(offered[-1].name, "It carries everything, and costs time in each cycle for words that nobody reads."),
            Slip(offered[0].name, "That one is short, but has no room for everything."),
        ),
    )


def _lacking(shorter: tuple[FormatRow, ...], right: str) -> tuple[str, ...]:
    named = [f"{row.format.name} lacks {row.missing}" for row in shorter]
    return (f"{'. '.join(named)}.",) if named else (f"Nothing in the table is shorter than {right}.",)


def _format_row(data_format: DataFormat) -> dict[str, object]:
    process = {way: data_format.process_words(way) for way in _WAY}
    row: dict[str, object] = {
        "format": data_format.name,
        "parameter channel": "yes" if data_format.parameter_channel else "no",
    }
    for way in _WAY:
        row[f"process words {way}"] = len(process[way])
        fixed = [word.name for word in process[way] if word.kind == "fixed"]
        row[f"fixed {way}"] = ", ".join(fixed)
    return row


def longer_cycle(draw: Draw) -> Question:
    """By how much a longer format lengthens the bus cycle."""
    drives, bit_rate = draw.whole(3, 30), draw.pick((500_000, 1_500_000, 3_000_000, 6_000_000, 12_000_000))
    short, long = sorted(draw.some(data_formats.ppo_types(), 2), key=lambda data_format: data_format.bytes_both)
    extra, bits = long.bytes_both - short.bytes_both, rule_bits("character")

    def time_us(octets: float, of: int = drives, each: int = bits) -> float:
        return round(of * octets * each / bit_rate * 1e6, 4)

    answer = time_us(extra)
    return Question(
        f"{drives} drives at {bit_rate_text(bit_rate)} are changed from {short.name} ({short.bytes_out} bytes out, "
        f"{short.bytes_in} in) to {long.name} ({long.bytes_out} bytes out, {long.bytes_in} in).\n"
        "By how much does the bus cycle get longer? Answer in µs.",
        Number("µs", "time", relative=0.01),
        answer,
        steps=(
            f"Count the bytes that are added, out and in. Each takes {bits} bit times on the wire "
            f"({rule_source('character')}).",
            f"{long.bytes_both} − {short.bytes_both} = {extra} bytes for each drive.",
            f"{drives} drives × {extra} bytes × {bits} bit = {drives * extra * bits} bit times.",
            f"{drives * extra * bits} bit / {bit_rate / 1000:g} kbit/s = {answer:.6g} µs.",
        ),
        slips=(
            Slip(time_us(extra, each=8), f"A byte has {bits} bits on the wire: start, 8 data bits, parity, stop."),
            Slip(time_us(extra / 2), "Count bytes, not words, and count them in both directions."),
            Slip(time_us(extra, of=1), f"That is for one drive. The cycle serves all {drives}."),
            Slip(time_us(long.bytes_both), "Only the added bytes count; the old ones were there before."),
        ),
    )


def process_words(draw: Draw) -> Question:
    """How many process data words stand behind the identifiers of a parameter channel and process data."""
    count = draw.whole(2, 16)
    both = [Identifier("compact", DataArea(words), DataArea(words)).octets for words in (_CHANNEL, count)]
    text = octets_text(b"".join(both))
    return Question(
        f"For a data format of the {draw.pick(DRIVES)} drive its device description lists the identifiers {text}. The "
        "first one is the parameter channel.\n"
        "How many process data words does the format have in each direction? Answer in words.",
        Number("words"),
        float(count),
        steps=(
            "Look at the second octet alone, and at its last digit: it holds the length less one.",
            f"The last digit of {both[1].hex().upper()} is {count - 1:X}"
            + (f", that is {count - 1}." if count > 10 else "."),
            f"{count - 1} + 1 = {count} words.",
        ),
        slips=(
            Slip(float(count - 1), "The octet holds the length less one: add one."),
            Slip(float(count + _CHANNEL), f"The {_CHANNEL} words of the first octet are parameters, not process data."),
            Slip(float(BYTES_PER_WORD * count), "Those are bytes: bit 6 is 1, so the length counts words."),
            Slip(
                float(count - 1 + _CHANNEL - 1), "Both lengths are one short, and the parameter channel is not asked."
            ),
        ),
    )


def read_identifier(draw: Draw) -> Question:
    """What a compact identifier says."""
    way, area = _compact(draw)
    identifier = _one_way(way, area)
    octet = explain(identifier.octets)[0]
    unit = "byte" if area.unit == "word" else "word"
    right = _area_in_words(way, area)
    slips = (
        Slip(
            _area_in_words(way, DataArea(area.count - 1, area.unit, area.whole)),
            "The last four bits hold the length less one.",
        ),
        Slip(_area_in_words(OTHER_WAY[way], area), "In and out are seen from the controller: in comes from the drive."),
        Slip(
            _area_in_words(way, DataArea(area.count, unit, area.whole)),
            "Bit 6 tells the unit: 1 counts words, 0 counts bytes.",
        ),
        Slip(
            _area_in_words(way, DataArea(area.count, area.unit, not area.whole)),
            "Bit 7 is 1 if the area belongs together.",
        ),
    )
    return Question(
        f"The device description of the {draw.pick(DRIVES)} drive has a module with the identifier "
        f"16#{octet.value:02X}.\nWhat does the module exchange?",
        draw.choice((right, *(slip.answer for slip in slips))),
        right,
        steps=(
            "Write the octet as eight bits, bit 7 first, and read it field by field.",
            f"16#{octet.value:02X} = {bits_text(octet.value)}.",
            *(_field_in_words(field.name, field.high_bit, field.low_bit, field.meaning) for field in octet.fields),
        ),
        slips=slips,
    )


def _area_in_words(way: str, area: DataArea) -> str:
    return f"{area.text}, {_WAY[way]}"


def _field_in_words(name: str, high: int, low: int, meaning: str) -> str:
    bits = f"Bit {high}" if high == low else f"Bits {high} to {low}"
    return f"{bits} ({name}): {meaning.partition(';')[0]}."


def write_identifier(draw: Draw) -> Question:
    """The compact identifier for what a module exchanges."""
    way, area = _compact(draw)
    answer = _one_way(way, area).octets[0]
    together = "belong together" if area.whole else f"need not belong together, only each {area.unit} must be whole"
    codes = {"in": "01", "out": "10"}
    return Question(
        f"A module exchanges {area.count} {area.unit}s {_WAY[way]}; they {together}.\n"
        "Which compact identifier is that? Answer in hexadecimal, two digits.",
        Hexadecimal(2),
        answer,
        steps=(
            "Put the octet together from bit 7 down: whole, unit, direction, length less one.",
            f"Bit 7 is {int(area.whole)}, bit 6 is {int(area.unit == 'word')}, bits 5 and 4 are {codes[way]}.",
            f"The length less one is {area.count - 1}, in four bits {area.count - 1:04b}.",
            f"Together {bits_text(answer)} = 16#{answer:02X}.",
        ),
        slips=(
            Slip(answer & 0xF0 | area.count & 0xF, "The length stands there less one."),
            Slip(
                _one_way(OTHER_WAY[way], area).octets[0],
                "In and out are exchanged: they are seen from the controller, and out is binary 10.",
            ),
            Slip(answer ^ 0x40, "Bit 6 tells the unit: 1 counts words, 0 counts bytes."),
            Slip(answer ^ 0x80, "Bit 7 is 1 if the area belongs together, else 0."),
        ),
    )


def list_place(draw: Draw) -> Question:
    """The place of a signal in the list of assigned words."""
    way = draw.pick(("in", "in", "out"))
    data_format = data_formats.by_name(draw.pick(("PPO 2", "PPO 5")))
    narrow = draw.some(_NARROW[way], draw.whole(0, 1 if data_format.name == "PPO 2" else 2))
    before = [*narrow, *(draw.some(_WIDE, 1) if way == "in" else ())]
    wanted = draw.pick([signal for signal in _NARROW[way] if signal not in before])
    order = [*draw.shuffled(before), wanted]
    pnu = list_parameter(way)
    places = [entry for entry in mapping(data_format, order) if entry.parameter == pnu and not entry.fixed]
    place = next(entry.pzd for entry in places if entry.signal == wanted.name)
    fixed = place - 1 - sum(signal.words for signal in before)
    return Question(
        f"The {draw.pick(DRIVES)} drive uses {data_format.name}: parameter channel of {_CHANNEL} words, then process "
        f"data. The first two process data words are fixed.\nThe free words {_WAY[way]} are to carry, in this order: "
        f"{'; '.join(_signal_in_words(signal) for signal in order)}.\nAt which place of parameter {pnu} does "
        f"{wanted.name} stand? The list has one place for each process data word, counted from 1.",
        Number(),
        float(place),
        steps=(
            "Count process data words only, from the first one, and two for a signal of 32 bits.",
            f"Places 1 to {fixed} are the fixed words.",
            *(
                f"{entry.signal}{f' ({entry.half} word)' if entry.half else ''} stands at place {entry.pzd}."
                for entry in places
                if entry.signal and entry.pzd <= place
            ),
        ),
        slips=(
            Slip(
                float(place + _CHANNEL),
                "The words of the parameter channel are not in the list: it begins with process data word 1.",
            ),
            Slip(float(place - fixed), "The two fixed words have their places in the list too."),
            Slip(float(place - 1), "The list is counted from 1 here."),
            Slip(float(fixed + len(order)), "A signal of 32 bits takes two words, and two places of the list."),
        ),
    )


def agree(draw: Draw) -> Question:
    """What happens if drive and controller are set to different formats."""
    drive, controller = draw.some(data_formats.ppo_types(), 2)
    right = "no data is exchanged; the drive reports a configuration fault"
    shorter = "data is exchanged, as much as the shorter of the two formats has"
    follows = "the drive changes over to the format of the controller"
    shifted = "data is exchanged, but the words stand at other places"
    rule = facts.one("format_rules", rule="agree")
    return Question(
        f"The {draw.pick(DRIVES)} drive is set to {drive.name}; its manual says that it keeps to what is set. In the "
        f"controller {controller.name} was chosen for it. Address, bit rate and cable are right.\n"
        "What happens when the bus starts?",
        draw.choice((right, shorter, follows, shifted)),
        right,
        steps=(
            "Ask what the controller sends before the first data, and what the drive does with it.",
            f"Here it sends {octets_text(controller.identifiers)}; the drive holds {octets_text(drive.identifiers)}.",
            f"{rule['says'][0].upper()}{rule['says'][1:]} ({rule.cited}).",
            "To cure it, set the same format at both sides. A setting of the drive counts after its supply has been "
            "off and on: the machine stops, so ask first.",
        ),
        slips=(
            Slip(shorter, "There is no halfway: the identifiers must be the same, octet by octet."),
            Slip(follows, "Some drives do so, but the manual of this one says that it keeps to what is set."),
            Slip(shifted, "The check comes before the first data, so that no word ever arrives at a wrong place."),
        ),
    )


KINDS: dict[str, Kind] = {
    "bytes": bytes_of,
    "words-needed": words_needed,
    "shortest": shortest,
    "longer-cycle": longer_cycle,
    "process-words": process_words,
    "read-identifier": read_identifier,
    "write-identifier": write_identifier,
    "list-place": list_place,
    "agree": agree,
}
