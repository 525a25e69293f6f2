"""Questions on the I/O image and byte order. Each slip is calculated by making the mistake on purpose.

The drives are those of Saltmarsh Mill, an invented site; PPO 1 to 5 are the profile's.
"""

from __future__ import annotations

from helpers.device import formats as data_formats
from helpers.device.formats import BYTES_PER_WORD, DataFormat
from helpers.device.io_checks import overlaps
from helpers.device.io_image import AREA, Place, Station, address, lay_out
from helpers.study.bank_formats import DRIVES
from helpers.study.forms import Choice, Number
from helpers.study.question import Draw, Kind, Question, Slip
from helpers.study.questions_on_byte_order import consistency, double_word, sign, swapped, torn

_CHANNEL_BYTES = data_formats.by_name("PPO 1").bytes_out - data_formats.by_name("PPO 3").bytes_out
_EXCHANGED = {"out": "in", "in": "out"}
_NAME = {"out": "outputs", "in": "inputs"}


def _starts(draw: Draw) -> dict[str, int]:
    """Two even start bytes, far enough apart to be told from each other."""
    first = draw.whole(64, 400, 2)
    return {"out": first, "in": first + draw.whole(60, 200, 2)}


def _format_told(one: DataFormat) -> str:
    process = len(one.process_words("in"))
    before = f"{_CHANNEL_BYTES // BYTES_PER_WORD} words of parameter channel, then " if one.parameter_channel else ""
    return f"{one.name} ({before}{process} process data words each way)"


def word_address(draw: Draw) -> Question:
    """The byte number of a process data word behind a parameter channel."""
    one = data_formats.by_name(draw.pick(("PPO 1", "PPO 2", "PPO 5")))
    start, way = _starts(draw), draw.pick(("out", "in"))
    pzd = draw.whole(1, len(one.process_words(way)))
    offset = _CHANNEL_BYTES + BYTES_PER_WORD * (pzd - 1)
    sender = "from the drive" if way == "in" else "to the drive"
    return Question(
        f"The {draw.pick(DRIVES)} drive has {_format_told(one)}. Its outputs begin at byte {start['out']}, "
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
                float(start[_EXCHANGED[way]] + offset),
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


def area(draw: Draw) -> Question:
    """Whether a signal is an input or an output, and where it begins."""
    start = _starts(draw)
    way, what = draw.pick(
        (("in", "status word, with which the drive reports"), ("out", "control word, which starts and stops the drive"))
    )
    right = address(way, start[way], BYTES_PER_WORD)
    slips = (
        Slip(
            address(_EXCHANGED[way], start[_EXCHANGED[way]], BYTES_PER_WORD),
            "In and out are exchanged. Direction is as the controller sees it, not as the drive does.",
        ),
        Slip(
            address(_EXCHANGED[way], start[way], BYTES_PER_WORD),
            "The start is right, but the letter belongs to the other direction: I comes in from the drive.",
        ),
        Slip(
            address(way, start[_EXCHANGED[way]], BYTES_PER_WORD),
            "The letter is right, but that start belongs to the other direction.",
        ),
    )
    return Question(
        f"The {draw.pick(DRIVES)} drive has PPO 3. In the controller its outputs begin at byte {start['out']} and its "
        f"inputs at byte {start['in']}.\nWhere is the {what}?",
        Choice(tuple(draw.shuffled((right, *(slip.answer for slip in slips))))),
        right,
        steps=(
            "Ask who sends the word. What the drive sends comes in: %I. What goes to it is an output: %Q.",
            f"This word is one of the {_NAME[way]}, and it is the first of its direction: byte {start[way]}.",
        ),
        slips=slips,
    )


def next_start(draw: Draw) -> Question:
    """The first free byte behind a station."""
    one = draw.pick((*data_formats.ppo_types(), *data_formats.demo_formats()[:3]))
    start, way = _starts(draw), draw.pick(("out", "in"))
    words = {side: len(one.words(side)) for side in _NAME}
    length = BYTES_PER_WORD * words[way]
    other = "the same number back" if words["in"] == words["out"] else f"{words[_EXCHANGED[way]]} words the other way"
    return Question(
        f"The {_NAME[way]} of a drive begin at byte {start[way]}. Its format {one.name} has {words[way]} "
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
                float(start[way] + BYTES_PER_WORD * words[_EXCHANGED[way]]),
                "That is the length of the other direction. Each direction counts on its own.",
            ),
        ),
    )  # fmt: skip


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
        [Station(name, one, (), None, first) for name, one, first in zip(names, chosen, firsts, strict=True)]
    )
    first, other, at, count = overlaps(image, "in")[0]
    ends = first.last_byte
    return Question(
        "Three drives lie in the inputs of the controller like this. The numbers are byte numbers.\n"
        "How many bytes belong to two drives at once? Answer in bytes.",
        Number("bytes"),
        float(count),
        rows=[
            {"drive": one.station, "first byte": one.first_byte, "words in": one.length_bytes // BYTES_PER_WORD}
            for one in image.of("in")
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
    one = Station("drive", data_formats.by_name("PPO 3"), (), bus_address)
    place: Place = lay_out([one], rule="grid", first_out=first, grid_bytes=step).places[0]
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
