"""Questions on control and status words. Each slip is calculated by making the mistake on purpose.

The machines are those of Saltmarsh Mill, an invented site. The drives behave as the usual choice of each option in
`data/drive_options.csv` says; where that matters, the question says so.
"""

from __future__ import annotations

from collections.abc import Callable

from helpers.device.formats import by_name
from helpers.drive import sign_of_life, words
from helpers.drive.command_sequence import shortest
from helpers.drive.scaling import swapped
from helpers.drive.states import settle, step
from helpers.drive.words import spelled
from helpers.study.forms import Choice, Hexadecimal, Number
from helpers.study.mill import STATIONS
from helpers.study.question import Draw, Kind, Question, Slip

_PLC = 1 << words.bit_number("control by PLC")
# The four states in which a status word is read every day, and the fault.
_SHOWN = ("switching on inhibited", "ready for switching on", "switched on", "operation", "fault")
_STOPS = words.encode(on=["no coast stop", "no quick stop"])
_WORDS = {word.name: word.value for word in words.common("control")}
_RUN, _READY, _ACKNOWLEDGING = _WORDS["run"], _WORDS["ready to start"], _WORDS["acknowledge"]


def _mirrored(word: int) -> int:
    return int(f"{word:016b}"[::-1], 2)


def _bits_at_1(word: int) -> list[int]:
    return [bit for bit in range(16) if word >> bit & 1]


def _named(word: int) -> str:
    numbers = _bits_at_1(word)
    return f"bit{'s' if len(numbers) > 1 else ''} {_listed(numbers)}" if numbers else "no bit"


def _listed(numbers: list[int]) -> str:
    return ", ".join(map(str, numbers))


def _status(draw: Draw, state: str) -> int:
    """A status word of a state as real drives send it, with bits 7, 8, 10 and a maker's bit as they come."""
    values = {word.name: word.value for word in words.common("status")}
    names = {"operation": draw.pick(("running up", "running at setpoint")), "fault": "switched on"}
    word = values[names.get(state, state)]
    if state == "fault":
        word = words.encode("status", on=["fault"], start=word & ~words.STATE_MASK)
    return word | draw.pick((0, 1 << 7)) | draw.pick((0, 1 << 10)) | draw.pick((0, 1 << 11, 1 << 13))


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
    state_bits = word & (words.STATE_MASK | 1 << words.bit_number("fault", "status"))
    return Question(
        f"The status word of the {draw.pick(STATIONS)} is {spelled(word)}. In which state is the drive?",
        Choice(_SHOWN),
        state,
        steps=(
            "Look at bits 6, 3, 2, 1 and 0 only; the others say nothing about the state.",
            f"{words.pattern(word)}: of these, at 1: {_named(state_bits)}.",
            f"That is: {state}.",
        ),
        slips=tuple(Slip(answer, sentence) for answer, sentence in _MISREAD[state]),
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


_OFFERED = (_READY, _RUN, _WORDS["switched on"], _ACKNOWLEDGING)
_TOO_MANY = {
    "fault": "That leaves the fault as it is: bit 7 must rise first.",
    "switched on": "Bit 0 at 0 is OFF1: it leads back to ready for switching on.",
}


def first_word(draw: Draw) -> Question:
    """The word to send first, if the drive is to run."""
    state, before = draw.pick(
        (
            ("switching on inhibited", 0),
            ("switching on inhibited", _RUN),
            ("ready for switching on", _READY),
            ("ready for switching on", _RUN),
            ("switched on", _WORDS["switched on"]),
            ("fault", _RUN),
            ("fault", _READY),
            ("fault", _ACKNOWLEDGING),
        )
    )
    shortest_way = shortest("run", state, before)
    first = shortest_way.moves[0].word
    sequence = ", then ".join(spelled(move.word) for move in shortest_way.moves)
    slips = (
        Slip(_RUN, _idle(state, before, _RUN)),
        Slip(
            _ACKNOWLEDGING,
            "Bit 7 was 1 already in the word before: only its rise acknowledges. Take it away first."
            if state == "fault"
            else "There is no fault to acknowledge.",
        ),
        Slip(
            _READY,
            _TOO_MANY.get(state, "One word too many: nothing has to be taken back here, bit 0 can rise at once."),
        ),
        Slip(
            _WORDS["switched on"],
            _idle(state, before, _WORDS["switched on"])
            or "With bit 3 at 0 no pulses come, and it takes one more word.",
        ),
        Slip(first & ~_PLC, "Bit 10 is 0: the drive does not take this word over."),
        Slip(swapped(first), "The two bytes are exchanged."),
    )
    equal = [w for w in _OFFERED if w != first and _words_to_run(state, before, w) == len(shortest_way.moves)]
    offered = ", ".join(spelled(word) for word in sorted({*_OFFERED, first & ~_PLC} - set(equal)))
    return Question(
        f"The {draw.pick(STATIONS)} is to run. Its drive is in the state "
        f"{state}{', and the cause of the fault is gone' if state == 'fault' else ''}; the word it took over last was "
        f"{spelled(before)}.\nWhich of the words {offered} must be sent first, so that as few words as possible lead "
        "to running? Answer in hexadecimal, four digits.",
        Hexadecimal(4),
        first,
        steps=(
            "Ask of the state what lets the drive leave it, and of the word before which bits can still rise.",
            step(state, before, before).why,
            f"The shortest sequence: {sequence}.",
        ),
        slips=tuple(slip for slip in slips if slip.answer not in equal),
    )


def _words_to_run(state: str, before: int, first: int) -> int:
    """How many words lead to running if this one is sent first: another that needs as few is no wrong answer."""
    last = settle(state, before, first)[-1]
    return 1 + len(shortest("run", last.after, last.taken).moves)


def _idle(state: str, before: int, word: int) -> str:
    """That a word does nothing in this state, and why; empty if it leads to another."""
    last = step(state, before, word)
    return "" if last.changed else f"{spelled(word)} sent first does nothing here: {_lower(last.why)}"


def _lower(sentence: str) -> str:
    return sentence[0].lower() + sentence[1:]


# The states in which the motor is not driven, each with words that the drive may have taken over last.
_WAYS_UP = {
    "switching on inhibited": (0, _RUN, _WORDS["coast stop"], _WORDS["quick stop"]),
    "ready for switching on": (_READY, _RUN),
    "switched on": (_WORDS["switched on"],),
}


def next_state(draw: Draw) -> Question:
    """Where a word leads from a state in which the motor is not driven."""
    state = draw.pick(tuple(_WAYS_UP))
    before = draw.pick(_WAYS_UP[state])
    sent = draw.pick((*_WORDS.values(), _RUN & ~_PLC, _READY & ~_PLC, _RUN, _READY))
    last = settle(state, before, sent)[-1]
    others = (
        (sent | _PLC, before, "Bit 10 is 0: the word is not taken over, so nothing changes."),
        (sent ^ _STOPS, before, "Bits 1 and 2 are turned round: at 1 there is no stop, at 0 there is one."),
        (sent, before & ~1, "Only the rise of bit 0 counts, and it was 1 already in the word before."),
        (swapped(sent), before, "The bytes are exchanged: bit 0 is the rightmost one."),
        (sent & ~_PLC, before, "Bit 10 is 1: the word is taken over."),
        (sent | 1 << 3, before, "Bit 3 is 0: the pulses stay off."),
        (_READY, before, "Bit 0 is not 0 in this word: only a word with bit 0 at 0 lifts the inhibit."),
    )[: 7 if state == "switching on inhibited" and sent & 1 else 6]
    return Question(
        f"The drive of the {draw.pick(STATIONS)} is in the state {state}. The word it took over last was "
        f"{spelled(before)}. Now {spelled(sent)} comes and stays.\nIn which state does it end?",
        Choice((*_WAYS_UP, "operation")),
        last.after,
        steps=(
            "Look at bit 10 first, then at bits 1 and 2, then whether bit 0 rises, then at bit 3.",
            f"{spelled(before)} → {spelled(sent)}: {_changes(before, sent)}.",
            f"{last.why} The state is {last.after}.",
        ),
        slips=tuple(
            Slip(settle(state, was, word)[-1].after, sentence)
            for word, was, sentence in others
            if word != sent or was != before
        ),
    )


def _changes(before: int, sent: int) -> str:
    changes = [
        f"bit {bit} {'rises' if sent >> bit & 1 else 'falls'}" for bit in range(16) if (before ^ sent) >> bit & 1
    ]
    return ", ".join(changes) or "no bit changes"


def missing_bit(draw: Draw) -> Question:
    """The bit that keeps a drive from turning."""
    bit = draw.pick((1, 2, 3, 4, 6, _PLC.bit_length() - 1))
    word = words.encode(off=[bit], start=_RUN) | draw.pick((0, 1 << 8, 1 << 12, 1 << 15))
    name = words.bits("control")[bit].name
    return Question(
        f"The {draw.pick(STATIONS)} does not turn. Its drive was ready for switching on, the setpoint is "
        f"{draw.whole(20, 100, 5)} %, and the controller now sends {spelled(word)}.\n"
        "Which bit of the word is at 0 and should be at 1? Answer with its number.",
        Number(),
        float(bit),
        steps=(
            f"Compare with a word that makes a drive run: {spelled(_RUN)}.",
            f"{words.pattern(_RUN)} against {words.pattern(word)}.",
            f"Bit {bit} ({name}) is 0. {_obstacle(word)}",
        ),
        slips=(
            Slip(float(bit + 1), "The bits are counted from 0: the rightmost is bit 0."),
            Slip(float(15 - bit), "The bits are counted from the right."),
            Slip(float((bit + 8) % 16), "The two bytes are exchanged: bits 15 to 8 are the left two digits."),
            Slip(7.0, "Bit 7 acknowledges a fault. It is at 0 in normal running."),
        ),
    )


def _obstacle(word: int) -> str:
    """What keeps a drive from turning that was ready for switching on, once the word has done what it can."""
    last = settle("ready for switching on", _READY, word)[-1]
    return step(last.after, last.taken, word).why


_MOTOR = {
    "operation": "it follows its setpoint",
    "ramp stop": "it ramps down",
    "quick stop": "it brakes as fast as the drive can",
    "switching on inhibited": "it coasts: the pulses are off at once, and switching on is inhibited",
    "switched on": "it coasts: the pulses are off at once, and the drive stays switched on",
}


def which_stop(draw: Draw) -> Question:
    """What a running motor does when a word comes with bits missing."""
    # A stop that loses bit 3 on its way is left out: the documents differ on what follows.
    gone = draw.some(
        draw.pick(((0, 1, 2, _PLC.bit_length() - 1), (1, 3, _PLC.bit_length() - 1))), draw.pick((1, 1, 2, 3))
    )
    extra = draw.pick((0, 0, 1 << 8, 1 << 11, 1 << 12))
    sent = words.encode(off=gone, start=_RUN) | extra

    def does(word: int) -> str:
        return _MOTOR[step("operation", _RUN, word).after]

    return Question(
        f"The motor of the {draw.pick(STATIONS)} runs on {spelled(_RUN)}. Now {spelled(sent)} comes.\n"
        "What does the motor do? The drive is of the kind that does not take over a word with bit 10 at 0, and that "
        "takes the pulses off when bit 3 is 0.",
        Choice(tuple(_MOTOR.values())),
        does(sent),
        steps=(
            "Look at bit 10 first. If it is 1, the strongest stop wins: OFF2 before OFF3 before OFF1 before bit 3.",
            f"At 0 against {spelled(_RUN)}: bit {' and '.join(map(str, sorted(gone)))}.",
            f"So: {does(sent)}.",
        ),
        slips=(
            Slip(does(sent | _PLC), "Bit 10 is 0: the word is not taken over, and the motor runs on as before."),
            Slip(does(sent ^ _STOPS), "Bits 1 and 2 are turned round: at 0 there is a stop, at 1 there is none."),
            Slip(does(sent | 1 << 1), "Bit 1 is 0: that is OFF2, and it is the strongest."),
            Slip(does(sent | 1 << 2), "Bit 2 is 0: that is OFF3, and it is stronger than OFF1."),
            Slip(does((sent & ~0xF) | (sent << 1 & 0xF) | 1), "The bits are counted from 0, not from 1."),
            Slip(does(sent | 1), "Bit 0 is 0: that is OFF1."),
            Slip(_MOTOR["ramp stop"], "Look at bits 10, 1 and 2 before bit 0: the first of them that is 0 decides."),
            Slip(
                _MOTOR["switching on inhibited"],
                "Only OFF2, bit 1 at 0, takes the pulses off and inhibits switching on.",
            ),
        ),
    )


_ACKNOWLEDGE = 1 << words.bit_number("acknowledge fault")


def acknowledged_when(draw: Draw) -> Question:
    """The line of a recording in which a fault is acknowledged."""
    held = draw.whole(1, 3)
    sent = [
        *[_ACKNOWLEDGING] * held,
        *[_READY & ~_PLC] * draw.whole(0, 1),
        *[_READY] * draw.whole(1, 2),
        *[_ACKNOWLEDGING & ~_PLC] * draw.whole(1, 2),
        *[_ACKNOWLEDGING] * draw.whole(2, 3),
    ]
    number = _acknowledged(sent, lambda before, word: step("fault", before, word).after != "fault")
    return Question(
        f"The drive of the {draw.pick(STATIONS)} has a fault; its cause is gone. The word it took over last was "
        f"{spelled(_ACKNOWLEDGING)}. These words come one after another.\n"
        "With which of them is the fault acknowledged? Answer with its number.",
        Number(),
        float(number),
        rows=[{"number": place, "control word": spelled(word)} for place, word in enumerate(sent, 1)],
        steps=(
            "Bit 7 must rise from 0 to 1. Both the word with the 0 and the word with the 1 must be taken over: bit 10.",
            "; ".join(
                f"{place}: bit 10 = {word >> 10 & 1}, bit 7 = {word >> 7 & 1}" for place, word in enumerate(sent, 1)
            )
            + ".",
            f"The first rise that counts is in word {number}.",
        ),
        slips=(
            Slip(1.0, "Bit 7 was 1 already before: holding it acknowledges nothing, only its rise does."),
            Slip(
                float(_acknowledged(sent, lambda before, word: bool(word & ~before & _ACKNOWLEDGE), taken=False)),
                "Bit 10 is 0 in this word: it is not taken over, and neither is its bit 7.",
            ),
            Slip(
                float(next(place for place, word in enumerate(sent, 1) if not word & _ACKNOWLEDGE)),
                "Bit 7 falls here. The fault is acknowledged by its rise.",
            ),
            Slip(float(number + 1), "The rise itself counts, not the word after it."),
        ),
    )


def _acknowledged(sent: list[int], does: Callable[[int, int], bool], *, taken: bool = True) -> int:
    """The number of the first word that does it; without `taken`, a word with bit 10 at 0 counts like any other."""
    before = _ACKNOWLEDGING
    for number, word in enumerate(sent, 1):
        if does(before, word):
            return number
        if word & _PLC or not taken:
            before = word
    return 0


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
        draw.choice(options),
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
