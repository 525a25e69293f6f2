"""Questions on the I/O image and byte order. Each slip is calculated by making the mistake on purpose.

The drives are those of Saltmarsh Mill, an invented site; PPO 1 to 5 are the profile's.
"""

from __future__ import annotations

from helpers.device import formats as data_formats
from helpers.device.byte_order import iec_type, read_as, to_bus
from helpers.device.consistency import mixtures
from helpers.device.formats import BYTES_PER_WORD, DataFormat
from helpers.device.identifiers import BYTES_PER, DataArea, Identifier
from helpers.device.io_checks import overlaps
from helpers.device.io_image import AREA, ImagePlace, ImageStation, address, lay_out
from helpers.study.forms import Hexadecimal, Number
from helpers.study.mill import DRIVES, OTHER_WAY
from helpers.study.question import Draw, Kind, Question, Slip
from helpers.wording import bits_text, octets_text

_NAME = {"out": "outputs", "in": "inputs"}
_WORD_VALUES = 1 << 16  # the weight of a high word


def _starts(draw: Draw) -> dict[str, int]:
    """Two even start bytes, far enough apart to be told from each other."""
    first = draw.whole(64, 400, 2)
    return {"out": first, "in": first + draw.whole(60, 200, 2)}


def area(draw: Draw) -> Question:
    """Whether a signal is an input or an output, and where it begins."""
    start = _starts(draw)
    way, what = draw.pick(
        (("in", "status word, with which the drive reports"), ("out", "control word, which starts and stops the drive"))
    )
    right = address(way, start[way], BYTES_PER_WORD)
    slips = (
        Slip(
            address(OTHER_WAY[way], start[OTHER_WAY[way]], BYTES_PER_WORD),
            "In and out are exchanged. Direction is as the controller sees it, not as the drive does.",
        ),
        Slip(
            address(OTHER_WAY[way], start[way], BYTES_PER_WORD),
            "The start is right, but the letter belongs to the other direction: I comes in from the drive.",
        ),
        Slip(
            address(way, start[OTHER_WAY[way]], BYTES_PER_WORD),
            "The letter is right, but that start belongs to the other direction.",
        ),
    )
    return Question(
        f"The {draw.pick(DRIVES)} drive has PPO 3. In the controller its outputs begin at byte {start['out']} and its "
        f"inputs at byte {start['in']}.\nWhere is the {what}?",
        draw.choice((right, *(slip.answer for slip in slips))),
        right,
        steps=(
            "Ask who sends the word. What the drive sends comes in: %I. What goes to it is an output: %Q.",
            f"This word is one of the {_NAME[way]}, and it is the first of its direction: byte {start[way]}.",
        ),
        slips=slips,
    )


_CHANNEL_BYTES = data_formats.by_name("PPO 1").bytes_out - data_formats.by_name("PPO 3").bytes_out


def word_address(draw: Draw) -> Question:
    """The byte number of a process data word behind a parameter channel."""
    data_format = data_formats.by_name(draw.pick(("PPO 1", "PPO 2", "PPO 5")))
    start, way = _starts(draw), draw.pick(("out", "in"))
    pzd = draw.whole(1, len(data_format.process_words(way)))
    offset = _CHANNEL_BYTES + BYTES_PER_WORD * (pzd - 1)
    sender = "from the drive" if way == "in" else "to the drive"
    return Question(
        f"The {draw.pick(DRIVES)} drive has {_format_in_words(data_format)}. Its outputs begin at byte {start['out']}, "
        f"its inputs at "
        f"byte {start['in']}, as the controller counts. The numbers are byte numbers.\n"
        f"Process data word {pzd} {sender} stands at %{AREA[way]}W … Which number?",
        Number(),
        float(start[way] + offset),
        steps=(
            "Start byte of this direction, plus the parameter channel, plus two bytes for each word before yours.",
            f"The {_NAME[way]} begin at byte {start[way]}. The parameter channel takes {_CHANNEL_BYTES} bytes.",
            f"{start[way]} + {_CHANNEL_BYTES} + {pzd - 1} × {BYTES_PER_WORD} = {start[way] + offset}.",
        ),
        slips=(
            Slip(
                float(start[way] + offset - _CHANNEL_BYTES),
                "The parameter channel was forgotten. It stands in front of the process data and takes its bytes.",
            ),
            Slip(
                float(start[OTHER_WAY[way]] + offset),
                "In and out are exchanged: what the drive sends is an input of the controller.",
            ),
            Slip(
                float(start[way] + offset // BYTES_PER_WORD),
                "Words were added to a byte number. Each word takes two bytes.",
            ),
            Slip(
                float(start[way] + offset + BYTES_PER_WORD), "Word 1 has no word before it: count the words in front."
            ),
        ),
    )


def _format_in_words(data_format: DataFormat) -> str:
    process = len(data_format.process_words("in"))
    before = (
        f"{_CHANNEL_BYTES // BYTES_PER_WORD} words of parameter channel, then " if data_format.parameter_channel else ""
    )
    return f"{data_format.name} ({before}{process} process data words each way)"


def next_start(draw: Draw) -> Question:
    """The first free byte behind a station."""
    data_format = draw.pick((*data_formats.ppo_types(), *data_formats.demo_formats()[:3]))
    start, way = _starts(draw), draw.pick(("out", "in"))
    words = {side: len(data_format.words(side)) for side in _NAME}
    length = BYTES_PER_WORD * words[way]
    other = "the same number back" if words["in"] == words["out"] else f"{words[OTHER_WAY[way]]} words the other way"
    return Question(
        f"The {_NAME[way]} of a drive begin at byte {start[way]}. Its format {data_format.name} has {words[way]} "
        f"words this way "
        f"and {other}. The next station follows without a gap.\n"
        f"At which byte do the {_NAME[way]} of the next station begin? Answer with a byte number.",
        Number(),
        float(start[way] + length),
        steps=(
            "Length in bytes of this direction, added to the start byte.",
            f"{words[way]} words × {BYTES_PER_WORD} bytes = {length} bytes.",
            f"The station takes bytes {start[way]} to {start[way] + length - 1}, so the next begins at "
            f"{start[way] + length}.",
        ),
        slips=(
            Slip(
                float(start[way] + length - 1), "That is the last byte of this station: the next begins one byte late"
                "r. Here the two would share a byte.",
            ),
            Slip(float(start[way] + length + 1), "One byte too late: every word behind it gets an odd byte."),
            Slip(float(start[way] + words[way]), "Words were taken for bytes. Each word takes two bytes."),
            Slip(
                float(start[way] + BYTES_PER_WORD * words[OTHER_WAY[way]]),
                "That is the length of the other direction. Each direction counts on its own.",
            ),
        ),
    )  # fmt: skip


def overlap(draw: Draw) -> Question:
    """By how many bytes two stations overlap."""
    chosen = draw.some(data_formats.ppo_types(), 3)
    names = draw.some(DRIVES, 3)
    start = draw.whole(64, 300, 2)
    common = draw.whole(1, min(chosen[0].bytes_in, chosen[1].bytes_in) // BYTES_PER_WORD) * BYTES_PER_WORD - draw.pick(
        (0, 1)
    )
    second = start + chosen[0].bytes_in - common
    firsts = (start, second, second + chosen[1].bytes_in + draw.whole(2, 20, 2))
    image = lay_out(
        [ImageStation(name, place, (), None, first) for name, place, first in zip(names, chosen, firsts, strict=True)]
    )
    first, other, at, count = overlaps(image, "in")[0]
    ends = first.last_byte
    return Question(
        "Three drives lie in the inputs of the controller like this. The numbers are byte numbers.\n"
        "How many bytes belong to two drives at once? Answer in bytes.",
        Number("bytes"),
        float(count),
        rows=[
            {"drive": place.station, "first byte": place.first_byte, "words in": place.length_bytes // BYTES_PER_WORD}
            for place in image.of("in")
        ],
        steps=(
            "Last byte of each drive: first byte + 2 × words − 1. Compare with the first byte of the next one.",
            f"{first.station} takes bytes {first.first_byte} to {ends}; {other.station} begins at byte {at}.",
            f"Common are bytes {at} to {min(ends, other.last_byte)}: {count} of them.",
        ),
        slips=(
            Slip(
                float(max(0, first.first_byte + first.length_bytes // BYTES_PER_WORD - other.first_byte)),
                "Words were taken for bytes: each word takes two.",
            ),
            Slip(float(count - 1), "First and last byte both count: last − first + 1."),
            Slip(float(count + 1), "The last byte is first + length − 1; the byte behind it is free."),
        ),
    )


def grid(draw: Draw) -> Question:
    """The start byte of a station on a grid."""
    bus_address, step, first = draw.whole(3, 40), draw.pick((16, 20, 32)), draw.whole(100, 500, 4)
    station = ImageStation("drive", data_formats.by_name("PPO 3"), (), bus_address)
    place: ImagePlace = lay_out([station], rule="grid", first_out=first, grid_bytes=step).places[0]
    return Question(
        f"At a site each station begins at byte {first} + bus address × {step}, so that everybody finds it. "
        f"The {draw.pick(DRIVES)} drive has bus address {bus_address} and PPO 3.\n"
        "At which %QW is its control word? Answer with the byte number.",
        Number(),
        float(place.first_byte),
        steps=(
            "Bus address times the step, added to where the grid begins. The control word is the first of PPO 3.",
            f"{bus_address} × {step} = {bus_address * step} bytes.",
            f"{first} + {bus_address * step} = {place.first_byte}.",
        ),
        slips=(
            Slip(float(place.first_byte - step), "The grid counts from address 0, so address 1 stands one step on."),
            Slip(float(place.first_byte - first), f"The grid begins at byte {first}, not at 0."),
            Slip(
                float(place.first_byte + (bus_address * step)),
                "The step counts bytes. It was doubled as if it counted words.",
            ),
            Slip(float(place.first_byte + BYTES_PER_WORD), "That is the setpoint. The control word comes first."),
        ),
    )


def word_number(draw: Draw) -> Question:
    """From byte numbers to word numbers and back."""
    byte = draw.whole(64, 500, 2)
    word = byte // BYTES_PER_WORD
    way = draw.pick(("out", "in"))
    to_words = draw.pick((True, False))
    given, right = (byte, word) if to_words else (word, byte)
    counts = ("bytes", "words") if to_words else ("words", "bytes")
    sign = f"%{AREA[way]}W"
    return Question(
        f"A list of the {draw.pick(DRIVES)} drive says {sign}{given}, where the number counts {counts[0]}. "
        f"The controller "
        f"that is used now counts {counts[1]} in this number.\nWhich number stands behind {sign} now?",
        Number(),
        float(right),
        steps=(
            "Find the byte first. A word number is half the number of its first byte.",
            f"{sign}{given} begins at byte {byte}.",
            f"In {counts[1]} that is {right}.",
        ),
        slips=(
            Slip(
                float(given),
                "The same number was taken over. Counted otherwise, it points to another station's bytes.",
            ),
            Slip(
                float(given * BYTES_PER_WORD if to_words else given / BYTES_PER_WORD),
                "The wrong way round: there are twice as many bytes as words, so the byte number is the larger one.",
            ),
            Slip(float(right + 1), "Both countings begin at 0, so nothing is added."),
        ),
    )


def swapped(draw: Draw) -> Question:
    """What a controller of the other byte order reads."""
    value = draw.whole(0x11, 0xEF) * 0x100 + draw.whole(0x11, 0xEF)
    sent = to_bus(value, "WORD")
    got = read_as(sent, "WORD", "low byte first")
    text = f"{value:04X}"
    return Question(
        f"A drive sends the word 16#{text}, high byte first, as the profile has it. The controller keeps the low byte "
        "at the lower address and copies the bytes as they come.\n"
        "Which word does its program read? Answer in hexadecimal, four digits.",
        Hexadecimal(4),
        got,
        steps=(
            "Write the two bytes in the order in which they travel. This controller takes the first for the low byte.",
            f"They travel as {octets_text(sent)}.",
            f"Low byte {sent[0]:02X}, high byte {sent[1]:02X}: 16#{got:04X}.",
        ),
        slips=(
            Slip(value, "That is what was sent. This controller takes the first byte for the low one."),
            Slip(int(text[::-1], 16), "The digits were turned round one by one. A byte stays whole, with two digits."),
            Slip(
                value ^ 0xFFFF,
                "The bits were inverted. A byte order moves bytes, it changes no bit in them.",
            ),
        ),
    )


def sign(draw: Draw) -> Question:
    """A negative number that is shown unsigned."""
    value = -draw.whole(200, 16384)
    unsigned = read_as(to_bus(value, "INT"), "UINT")
    high = iec_type("INT").high
    return Question(
        f"A table of the controller shows the actual speed of the {draw.pick(DRIVES)} drive as UINT: {unsigned}. "
        f"The motor "
        "turns backwards, and the bytes are in the right order.\nWhat does the same word show as INT?",
        Number(),
        float(value),
        steps=(
            f"A word above {high} has its highest bit set. As INT it is negative: take 65536 off.",
            f"{unsigned} − {_WORD_VALUES} = −{-value}.",
        ),
        slips=(
            Slip(float(unsigned), "The sign is lost: an INT ends at 32767."),
            Slip(float(-unsigned), "A minus sign alone will not do: negative numbers are in two's complement."),
            Slip(float(unsigned - _WORD_VALUES // 2), "Bit 15 was only taken off. Its weight in an INT is −32768."),
            Slip(float(value + 1), "Take off 65536, not 65535: the word has 65536 values, from 0 on."),
        ),
    )  # fmt: skip


def double_word(draw: Draw) -> Question:
    """A 32-bit value out of its two words."""
    high, low = draw.whole(1, 9), draw.whole(300, 9000)
    first = draw.whole(64, 400, 2)
    value = high * _WORD_VALUES + low
    sent = to_bus(value, "UDINT")
    return Question(
        f"ENERGY of the {draw.pick(DRIVES)} drive is a double word, high word first. A table shows %IW{first} "
        f"= {high} and "
        f"%IW{first + BYTES_PER_WORD} = {low}.\nWhich number is it, as UDINT?",
        Number(),
        float(value),
        steps=(
            "The high word counts 65536 for each one; the low word is added.",
            f"{high} × {_WORD_VALUES} = {high * _WORD_VALUES}.",
            f"{high * _WORD_VALUES} + {low} = {value}.",
        ),
        slips=(
            Slip(
                float(read_as(sent, "UDINT", "words exchanged")),
                "High and low word are exchanged. The high word comes first, at the lower number.",
            ),
            Slip(float(high + low), "The high word has a weight: each one of it is 65536."),
            Slip(float(high * (_WORD_VALUES - 1) + low), "The weight is 65536, one more than the largest word."),
            Slip(float(low), "That is the low word alone. The high word belongs to it."),
        ),
    )


def torn(draw: Draw) -> Question:
    """A double word that changes between two accesses."""
    high, step = draw.whole(1, 40), draw.whole(2, 90)
    old = high * _WORD_VALUES + _WORD_VALUES - draw.whole(1, step - 1)
    new = old + step
    backwards = draw.pick((True, False))
    octets = [to_bus(value, "UDINT") for value in (old, new)]
    between, other = (
        read_as(mixtures(*octets, access_bytes=BYTES_PER_WORD, backwards=way)[1].octets, "UDINT")
        for way in (backwards, not backwards)
    )
    order = ("low word first, then the high word", "high word first, then the low word")[not backwards]
    got = [f"{value // _WORD_VALUES} and {value % _WORD_VALUES}" for value in (old, new)]
    return Question(
        f"A double word of the {draw.pick(DRIVES)} drive grows from {old} to {new}. In words, high and low, "
        f"that is {got[0]} "
        f"before, {got[1]} after. The program reads the {order}. The change comes between the two.\n"
        "Which number does the program put together?",
        Number(),
        float(between),
        steps=(
            "The word read first is still an old one; the other is already new.",
            f"High word {between // _WORD_VALUES}, low word {between % _WORD_VALUES}.",
            f"{between // _WORD_VALUES} × {_WORD_VALUES} + {between % _WORD_VALUES} = {between}. It never stood there.",
        ),
        slips=(
            Slip(float(new), "The first word was read before the change. It is still the old one."),
            Slip(float(old), "The second word was read behind the change. It is already the new one."),
            Slip(float(other), "Old and new are exchanged: what is read first is old."),
        ),
    )


def consistency(draw: Draw) -> Question:
    """What an identifier promises to keep whole."""
    block = DataArea(draw.whole(2, 16), draw.pick(("word", "word", "byte")), draw.pick((True, False)))
    way = draw.pick(("in", "out"))
    octet = Identifier("compact", block if way == "out" else None, block if way == "in" else None).octets[0]
    answers = {
        "whole": f"all {block.length_bytes} bytes together",
        "word": "the two bytes of each word, not more",
        "byte": "each byte for itself, not more",
        "less": f"the first {block.count} bytes together"
        if block.unit == "word"
        else f"{block.count - 1} bytes together",
    }
    right = answers["whole" if block.whole else block.unit]
    why = {
        "whole": "Bit 7 is 0 here. Only with bit 7 = 1 the area belongs together.",
        "word": "Bit 7 is 1 here: the area belongs together." if block.whole else "Bit 6 is 0: the unit is a byte.",
        "byte": "Bit 7 is 1 here: the area belongs together." if block.whole else "Bit 6 is 1: the unit is a word.",
        "less": "The length counts words, and it stands there less one."
        if block.unit == "word"
        else "The length stands there less one.",
    }
    return Question(
        f"A module of the {draw.pick(DRIVES)} drive has the compact identifier 16#{octet:02X}.\n"
        "What does it promise to keep whole?",
        draw.choice(tuple(answers.values())),
        right,
        steps=(
            "Look at bit 7, then at bit 6 of the octet.",
            f"16#{octet:02X} = {bits_text(octet)}. Bit 7 is {int(block.whole)}, bit 6 is "
            f"{int(block.unit == 'word')}: {block.text}.",
            f"Its length is {block.count} × {BYTES_PER[block.unit]} = {block.length_bytes} bytes.",
        ),
        slips=tuple(Slip(answers[name], why[name]) for name in answers if answers[name] != right),
    )


KINDS: dict[str, Kind] = {
    "area": area,
    "word-address": word_address,
    "next-start": next_start,
    "overlap": overlap,
    "grid": grid,
    "word-number": word_number,
    "swapped": swapped,
    "sign": sign,
    "double-word": double_word,
    "torn": torn,
    "consistency": consistency,
}
