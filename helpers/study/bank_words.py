"""Questions on control and status words. Each slip is calculated by making the mistake on purpose.

The machines are those of Saltmarsh Mill, an invented site. The drives behave as the usual choice of each option in
`data/drive_options.csv` says; where that matters, the question says so.
"""

from __future__ import annotations

from helpers.device.formats import by_name
from helpers.drive import sign_of_life, words
from helpers.drive.words import spelled
from helpers.study.bank_addresses import STATIONS
from helpers.study.forms import Choice, Hexadecimal, Number
from helpers.study.question import Draw, Kind, Question, Slip
from helpers.study.questions_on_states import (
    acknowledged_when,
    first_word,
    missing_bit,
    next_state,
    swapped,
    which_stop,
)

_PLC = 1 << words.bit_number("control by PLC")
# The four states in which a status word is read every day, and the fault.
_SHOWN = ("switching on inhibited", "ready for switching on", "switched on", "operation", "fault")


def _mirrored(word: int) -> int:
    return int(f"{word:016b}"[::-1], 2)


def _bits_at_1(word: int) -> list[int]:
    return [bit for bit in range(16) if word >> bit & 1]


def _named(word: int) -> str:
    numbers = _bits_at_1(word)
    return f"bit{'s' if len(numbers) > 1 else ''} {_listed(numbers)}" if numbers else "no bit"


def _listed(numbers: list[int]) -> str:
    return ", ".join(map(str, numbers))


# -- bits and bytes -----------------------------------------------------------------------------------


def build(draw: Draw) -> Question:
    """A control word from the numbers of its bits."""
    word = words.encode(on=[*draw.some(range(8), draw.whole(3, 6)), draw.pick((8, 9)), _PLC.bit_length() - 1])
    numbers = _bits_at_1(word)
    nibbles = " ".join(f"{word >> shift & 15:04b}" for shift in (12, 8, 4, 0))
    return Question(
        f"The control word for the {draw.pick(STATIONS)} is to have these bits at 1, all others at 0: "
        f"{_listed(numbers)}.\nWhich word is it? Answer in hexadecimal, four digits.",
        Hexadecimal(4),
        word,
        steps=(
            "Write 16 places, bit 15 at the left, bit 0 at the right, and put a 1 at each bit of the list.",
            f"In groups of four: {nibbles}.",
            f"Each group is one digit: {spelled(word)}.",
        ),
        slips=(
            Slip(word >> 1, "The bits are counted from 0: bit 0 is the rightmost place and counts 1."),
            Slip(swapped(word), "The two bytes are exchanged: bits 15 to 8 stand at the left."),
            Slip(_mirrored(word), "Bit 0 stands at the right, bit 15 at the left."),
            Slip(word & ~_PLC, "Bit 10 is missing: without it the drive does not take the word over."),
        ),
    )


def byte_order(draw: Draw) -> Question:
    """A status word in a controller that stores the low byte first."""
    state = draw.pick(_SHOWN)
    word = _status(draw, state)
    high, low = divmod(word, 256)
    return Question(
        f"The {draw.pick(STATIONS)} sends its status word with the high byte first, as every word on this bus: "
        f"{high:02X} {low:02X}. The controller keeps the low byte of a word first and takes the bytes as they come.\n"
        "Which word does the program see, if nobody swaps the bytes? Answer in hexadecimal, four digits.",
        Hexadecimal(4),
        swapped(word),
        steps=(
            "The first byte that comes is taken for the low byte, the second for the high byte.",
            f"High byte {low:02X}, low byte {high:02X}.",
            f"The program sees {spelled(swapped(word))}; the drive meant {spelled(word)}.",
        ),
        slips=(
            Slip(word, "That is what the drive meant. This controller takes the first byte for the low one."),
            Slip(
                int(f"{word:04X}"[::-1], 16),
                "Only the bytes are exchanged; the two digits within a byte keep their order.",
            ),
            Slip(_mirrored(word), "Only the bytes are exchanged; the bits within a byte keep their order."),
        ),
    )


def mask(draw: Draw) -> Question:
    """What is left of a status word after the mask of the state bits."""
    word = _status(draw, draw.pick(_SHOWN))
    left = word & words.STATE_MASK
    mask_text = spelled(words.STATE_MASK)
    kept = _bits_at_1(words.STATE_MASK)
    return Question(
        f"The status word of the {draw.pick(STATIONS)} is {spelled(word)}. To find the state, the program keeps only "
        f"bits 6, 2, 1 and 0: it combines the word with {mask_text} by AND.\n"
        "What is left? Answer in hexadecimal, four digits.",
        Hexadecimal(4),
        left,
        steps=(
            "AND leaves a 1 only where both words have a 1.",
            f"At 1 in {spelled(word)}: bits {_listed(_bits_at_1(word))}. In the mask: bits {_listed(kept)}.",
            f"Left: {_named(left)}, so {spelled(left)}.",
        ),
        slips=(
            Slip(word | words.STATE_MASK, "That is OR: it sets the bits of the mask. AND clears all others."),
            Slip(word & ~words.STATE_MASK, "The mask is turned round: its bits are those that stay."),
            Slip(word & 0x00FF, "That is the whole low byte; bits 3, 4, 5 and 7 are no part of the mask."),
            Slip(word & 47, "The mask is 47 in hexadecimal, not in decimal."),
        ),
    )


def _status(draw: Draw, state: str) -> int:
    """A status word of a state as real drives send it, with bits 7, 8, 10 and a maker's bit as they come."""
    known = {word.name: word.value for word in words.common("status")}
    names = {"operation": draw.pick(("running up", "running at setpoint")), "fault": "switched on"}
    word = known[names.get(state, state)]
    if state == "fault":
        word = words.encode("status", on=["fault"], start=word & ~words.STATE_MASK)
    return word | draw.pick((0, 1 << 7)) | draw.pick((0, 1 << 10)) | draw.pick((0, 1 << 11, 1 << 13))


# -- reading a state ----------------------------------------------------------------------------------

_MISREAD = {
    "switching on inhibited": (
        ("ready for switching on", "Bit 6 at 1 is no sign of readiness: it says that switching on is inhibited."),
        ("operation", "Bits 4 and 5 at 1 say that no stop is active; the pulses are shown by bit 2."),
    ),
    "ready for switching on": (
        ("switched on", "Bit 0 says ready for switching on. Switched on is bit 1, and that is 0."),
        ("operation", "Bits 4 and 5 at 1 say that no stop is active; the pulses are shown by bit 2."),
        ("switching on inhibited", "Bit 6 is 0: switching on is not inhibited."),
    ),
    "switched on": (
        ("operation", "Bit 1 says switched on. The pulses are shown by bit 2, and that is 0."),
        ("ready for switching on", "Bit 0 stays 1 in the states above; the highest of bits 0, 1 and 2 decides."),
    ),
    "operation": (
        ("switched on", "Bit 1 stays 1 in operation; bit 2 is 1 too, so the pulses are on."),
        ("ready for switching on", "Bit 0 stays 1 in the states above; the highest of bits 0, 1 and 2 decides."),
    ),
    "fault": (
        ("switching on inhibited", "Bit 6 is 0 here. Bit 3 is 1: that is the fault."),
        ("operation", "Bit 3 at 1 is the fault. Operation is bit 2, counted from 0."),
        ("switched on", "Bits 4 and 5 at 1 say only that no stop is active."),
    ),
}


def read_state(draw: Draw) -> Question:
    """The state that a status word shows."""
    state = draw.pick(_SHOWN)
    word = _status(draw, state)
    shown = word & (words.STATE_MASK | 1 << words.bit_number("fault", "status"))
    return Question(
        f"The status word of the {draw.pick(STATIONS)} is {spelled(word)}. In which state is the drive?",
        Choice(_SHOWN),
        state,
        steps=(
            "Look at bits 6, 3, 2, 1 and 0 only; the others say nothing about the state.",
            f"{words.pattern(word)}: of these, at 1: {_named(shown)}.",
            f"That is: {state}.",
        ),
        slips=tuple(Slip(answer, sentence) for answer, sentence in _MISREAD[state]),
    )


# -- where the words lie, and whether both are awake --------------------------------------------------


def where(draw: Draw) -> Question:
    """The address of a word in the controller."""
    form = by_name(draw.pick(("PPO 1", "PPO 2", "PPO 3", "PPO 4")))
    start = draw.whole(256, 400, 2)
    name, letter, place = draw.pick(
        (("control word", "Q", 0), ("main setpoint", "Q", 1), ("status word", "I", 0), ("main actual value", "I", 1))
    )
    channel = sum(word.kind == "parameter" for word in form.words("out"))
    other = {"Q": "I", "I": "Q"}[letter]

    def address(which: str, offset: int) -> str:
        return f"%{which}W{start + offset}"

    right = 2 * (channel + place)
    drawn = [
        Slip(address(other, right), "In and out are exchanged: the controller writes %QW and reads %IW."),
        Slip(address(letter, channel + place), "The number counts bytes here, and a word has two."),
        Slip(address(letter, 2 * place), "The parameter channel comes first and takes four words."),
        Slip(address(letter, 2 * (channel + 1 - place)), "The control or status word comes first, the value second."),
        Slip(address(letter, right + 1), "A word begins at its first byte."),
    ]
    options = list(dict.fromkeys([address(letter, right), *(slip.answer for slip in drawn)]))
    return Question(
        f"The drive of the {draw.pick(STATIONS)} has the format {form.name}. Its words begin at byte {start}, in the "
        f"inputs as in the outputs; the number in an address counts bytes.\nAt which address does the program find "
        f"the {name}?",
        Choice(tuple(draw.shuffled(options))),
        address(letter, right),
        steps=(
            "The controller writes to the drive with %QW and reads from it with %IW.",
            f"{form.name} has {channel} words of parameter channel; then come the two words of the profile.",
            f"The {name} is word {channel + place + 1}: {start} + 2 × {channel + place} = {start + right}. So "
            f"{address(letter, right)}.",
        ),
        slips=tuple(drawn),
    )


def alive(draw: Draw) -> Question:
    """The cycle in which a sign of life becomes a fault."""
    tolerance, first = draw.whole(1, 4), draw.whole(9, 14)
    counts = [first]
    for good in (draw.whole(17 - first, 20 - first), draw.whole(2, 3)):  # past 15, and again after one lost count
        for _ in range(good):
            counts.append(sign_of_life.following(counts[-1]))
        counts.append(counts[-1])
    alone, stuck = (n for n in range(2, len(counts) + 1) if counts[n - 1] == counts[n - 2])
    counts += [counts[-1]] * (tolerance + 1)
    fault = next(n for n, beat in enumerate(sign_of_life.watch(counts, tolerance=tolerance), 1) if beat.fault)
    return Question(
        f"The drive of the {draw.pick(STATIONS)} watches the sign of life of its controller. Parameter 925 is "
        f"{tolerance}: so many failures in a row are tolerated. It expects each count to be one more than the one "
        "before. In its cycles, counted from 1, it sees these counts:\n"
        f"{', '.join(map(str, counts))}\n"
        "In which cycle does it report the fault? Answer with the number of the cycle.",
        Number(),
        float(fault),
        steps=(
            "Each count must be one more than the one before; after 15 comes 1. A good count clears the failures.",
            f"The count of cycle {alone} fails alone. From cycle {stuck} on all counts fail.",
            f"Tolerated in a row: {tolerance}. The next one is too many: cycle {stuck} + {tolerance} = {fault}.",
        ),
        slips=(
            Slip(float(fault - 1), "That failure is the last one that is tolerated; the next one is the fault."),
            Slip(float(alone), "One failure is no fault yet: parameter 925 tolerates some."),
            Slip(float(stuck), "The first failure of the row is no fault yet: parameter 925 tolerates some."),
            Slip(float(counts.index(1) + 1), "After 15 comes 1, not 0 or 16: that is no failure."),
            Slip(float(fault + 1), "The cycles are counted from 1, not from 0."),
        ),
    )


KINDS: dict[str, Kind] = {
    "build": build,
    "read-state": read_state,
    "mask": mask,
    "byte-order": byte_order,
    "first-word": first_word,
    "next-state": next_state,
    "missing-bit": missing_bit,
    "which-stop": which_stop,
    "acknowledged-when": acknowledged_when,
    "where": where,
    "alive": alive,
}
