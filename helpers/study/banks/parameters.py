"""Questions on reading and writing parameters. Each slip is calculated by making the mistake on purpose.

The drive with the parameters 110 to 121 is the invented one of the Saltmarsh Mill.
"""

from __future__ import annotations

from helpers.drive.parameters import acyclic, parameter_time
from helpers.drive.parameters.access import STORE, profile_parameter, refusal
from helpers.drive.parameters.acyclic import ADDRESS, HEADER, ParameterValues
from helpers.drive.parameters.parameter_channel import (
    NO_RIGHTS,
    REFUSED,
    Channel,
    change,
    decode,
    encode,
    read,
    tasks,
)
from helpers.drive.parameters.parameter_dialogue import dialogue, match
from helpers.drive.parameters.parameter_store import FIRST_SUBINDEX, demo_store, power_cycle
from helpers.drive.scaling import signed, split, swapped, unsigned
from helpers.study.forms import Choice, Hexadecimal, Number
from helpers.study.question import Draw, Kind, Question, Slip
from helpers.wording import octets_text

# Single words of the profile. Not 922: a manual prints how it is read, and these octets are to be of our own.
_SINGLE_WORDS = (918, 925, 927, 928, 930, 944, 952)


def _channel_octets(channel: Channel) -> str:
    return octets_text(encode(channel))


def _named(number: int) -> str:
    """A parameter number, with its name if the profile gives it one."""
    parameter = profile_parameter(number)
    return f"{number} ({parameter.name})" if parameter else f"{number}"


def first_word(draw: Draw) -> Question:
    """The first word of a request."""
    number = draw.pick(_SINGLE_WORDS) if draw.whole(0, 1) else draw.whole(300, 1900)
    task = draw.pick([t for t in tasks()[1:9] if t.identifier not in (4, 5)])
    right = task.identifier << 12 | number
    as_digits = int(f"{number % 1000:03d}", 16)
    return Question(
        f"A program uses the parameter channel. The task is {task.identifier} ({task.name}), the parameter is "
        f"{_named(number)}.\nWhich is the first word, PKE? Bit 11 is 0. Answer in hexadecimal, four digits.",
        Hexadecimal(4),
        right,
        steps=(
            "The task stands in bits 15 to 12, the parameter number in bits 10 to 0.",
            f"{number} = 16#{number:03X}.",
            f"{task.identifier} in front of it: 16#{right:04X}.",
        ),
        slips=(
            Slip(number << 4 & 0xFFF0 | task.identifier, "The number stands in the wrong bits: the task comes first."),
            Slip(
                task.identifier << 12 | as_digits, "The decimal digits were taken for hexadecimal ones. Convert first."
            ),
            Slip(right | 0x0800, "Bit 11 marks a report. It is 0 in this request."),
            Slip(swapped(right), "High and low byte are exchanged."),
            Slip(number, "The task is missing: with 0 in front, nothing is asked."),
        ),
    )


def number_of(draw: Draw) -> Question:
    """The parameter number in the first word of an answer."""
    number, report = draw.whole(260, 1990), draw.pick((True, True, False))
    identifier = draw.pick((9, 10)) if report else draw.pick((1, 2, 4, 5))
    word = _first_word_of(Channel(identifier, number, report=report))
    return Question(
        f"A drive sends a parameter channel that begins with the word 16#{word:04X}.\n"
        "Which parameter number does it carry? Answer in decimal.",
        Number(),
        float(number),
        steps=(
            "Take away the highest digit (the identifier) and bit 11 (the mark of a report).",
            f"16#{word:04X}: identifier {identifier}, bit 11 is {int(report)}.",
            f"What is left, bits 10 to 0, is 16#{number:03X} = {number}.",
        ),
        slips=(
            Slip(float(word & 0x0FFF), "Bit 11 is not part of the number; it marks a report."),
            Slip(float(word & 0x00FF), "The number has 11 bits: three of them stand in the high byte."),
            Slip(float(word), "The highest digit is the identifier, not part of the number."),
            Slip(float(word >> 4 & 0x07FF), "The number stands at the right end: bits 10 to 0."),
        ),
    )


def _first_word_of(channel: Channel) -> int:
    return int.from_bytes(encode(channel)[:2], "big")


def which_task(draw: Draw) -> Question:
    """Which task changes or reads this kind of parameter."""
    right = draw.pick([t for t in tasks()[:9] if t.identifier in (1, 2, 3, 6, 7, 8)])
    number, element = draw.whole(100, 1900), draw.whole(1, 9)
    what = f"element {element} of the array {number}" if right.array else f"the parameter {number}, no array"
    width = {0: "", 16: " It is a word of 16 bits.", 32: " It is a double word of 32 bits."}[right.width]
    by_id = {t.identifier: t for t in tasks()}
    turned = {1: 6, 6: 1, 2: 7, 7: 2, 3: 8, 8: 3}[right.identifier]
    other_width = {2: 3, 3: 2, 7: 8, 8: 7}.get(right.identifier, 4)
    slips = [
        Slip(float(turned), "The subindex of an array needs its own task." if right.array else "That is for an array."),
        Slip(
            float(other_width),
            f"That is for {by_id[other_width].width} bits: the drive refuses it with error 5, wrong data type."
            if right.writes
            else "That asks for the description of the parameter, not for its value.",
        ),
    ]
    if right.writes:
        slips.append(Slip(float(6 if right.array else 1), "That only reads."))
    else:
        slips.append(Slip(float(right.answers[0] + 8), "That number is in no list of tasks that read a value."))
        slips.append(Slip(float(7 if right.array else 2), "That changes the value."))
    return Question(
        f"A program is to {'change' if right.writes else 'read'} {what}, over the parameter channel.{width}\n"
        "Which task number is that?",
        Number(),
        float(right.identifier),
        steps=(
            "Ask three things: read or change, array or not, and to change: word or double word.",
            f"Task {right.identifier}: {right.name}.",
        ),
        slips=tuple(slips),
    )


def value_word(draw: Draw) -> Question:
    """One half of a double word to be written."""
    value = draw.whole(70_000, 900_000) * draw.pick((1, -1))
    whole = unsigned(value, bits=32)
    high, low = split(whole)
    which = draw.pick(("PWE1", "PWE2"))
    right, other = (high, low) if which == "PWE1" else (low, high)
    return Question(
        f"A program writes {value} to parameter 121 of the mill drive, a double word with a sign.\n"
        f"Which word stands in {which}? Answer in hexadecimal, four digits.",
        Hexadecimal(4),
        right,
        steps=(
            "Write the value with 8 hexadecimal digits (two's complement if it is negative), then cut it in two.",
            f"{value} = 16#{whole:08X}.",
            f"PWE1 is the high word, 16#{high:04X}; PWE2 the low word, 16#{low:04X}.",
        ),
        slips=(
            Slip(other, "The two words are exchanged: PWE1 is the high one."),
            Slip(swapped(right), "High and low byte of the word are exchanged."),
            Slip(split(unsigned(-value, bits=32))[which == "PWE2"], "The sign is lost: use two's complement."),
            Slip(swapped(other), "Words and bytes are exchanged. Octets run high byte first."),
        ),
    )


def value_of_answer(draw: Draw) -> Question:
    """The value in an answer on an array."""
    element, value, number = draw.whole(1, 9), draw.whole(300, 30_000), draw.pick((915, 916, 923, 945, 947))
    answer = Channel(4, number, element, value)
    return Question(
        f"A program has asked for element {element} of parameter {_named(number)}. The drive "
        f"answers\n{_channel_octets(answer)}\n"
        "Which value is that? Answer in decimal.",
        Number(),
        float(value),
        steps=(
            "Four words: PKE, IND, PWE1, PWE2. The value of a word stands in PWE2, the last two octets.",
            f"PWE2 is 16#{value:04X} = {value}.",
        ),
        slips=(
            Slip(float(element), "That is the subindex, in IND. The value stands in PWE2."),
            Slip(float(element << 8), "That is the word IND, taken for the value."),
            Slip(float(swapped(value)), "High and low byte are exchanged."),
            Slip(float(number), "That is the parameter number again."),
            Slip(float(value << 16), "The words are exchanged: a word stands in PWE2, and PWE1 is 0."),
        ),
    )


def does_it_belong(draw: Draw) -> Question:
    """Whether an answer belongs to a request, and if not, why."""
    first, second = draw.some((*_SINGLE_WORDS, 110, 111, 113), 2)
    value = draw.whole(2, 900)
    request, place = read(second), draw.whole(0, 3)
    answers = {
        "yes, it belongs": Channel(1, second, 0, value),
        "no, it is an old answer": Channel(1, first, 0, value),
        "it is a refusal": Channel(*draw.pick([(REFUSED, second, 0, n) for n in (0, 1, 3, 5)] + [(NO_RIGHTS, second)])),
        "no, the drive reports a change by itself": Channel(9, second, 0, value, report=True),
    }
    right = list(answers)[place]
    answer = decode(encode(answers[right]))
    why = {
        "yes, it belongs": "Identifier and parameter number have to fit. Look at the first word of both.",
        "no, it is an old answer": f"The answer would have to bear another parameter number than 16#{second:03X}.",
        "it is a refusal": f"A refusal begins with the digit {REFUSED} or {NO_RIGHTS}.",
        "no, the drive reports a change by itself": "A report has bit 11 set and an identifier from 9 to 12.",
    }
    return Question(
        f"The request on the bus is\n{_channel_octets(request)}\nand the answer is\n{_channel_octets(answer)}\nDoes "
        "the answer belong to it?",
        Choice(tuple(answers)),
        right,
        steps=(
            "Compare the first words: identifier, bit 11, parameter number.",
            match(request, answer).sentence,
        ),
        slips=tuple(Slip(option, why[option]) for option in answers if option != right),
    )


def which_cycle(draw: Draw) -> Question:
    """In which cycle the answer to a task first stands there."""
    work, first, second = draw.whole(2, 5), *draw.some((918, 110, 111, 113), 2)
    talk = dialogue(demo_store(), [read(first), read(second)], work_cycles=work)
    begin = next(c.number for c in talk.cycles if c.task == 2)
    right = talk.cycles[-1].number
    rows = [
        {"cycle": str(c.number), "request": _channel_octets(c.request), "answer": _channel_octets(c.answer)}
        for c in talk.cycles[max(0, begin - 3) :]
    ]
    old, new = demo_store()[first].values[0], demo_store()[second].values[0]
    return Question(
        f"A program asks first for parameter {first}, then for parameter {second}. In which cycle may it take the "
        "answer "
        f"to {second}? Answer with the number of the cycle.",
        Number(),
        float(right),
        rows=rows,
        steps=(
            "A drive repeats its last answer until it is done with the new task. Compare the parameter numbers.",
            f"In cycle {begin} the request changes to {second}, 16#{second:03X}; the answers still bear "
            f"16#{first:03X} and "
            f"{old}.",
            f"In cycle {right} the answer bears 16#{second:03X}: it belongs. The value is {new}.",
        ),
        slips=(
            Slip(float(begin), f"There the old answer still stands: it bears the number of parameter {first}."),
            Slip(float(begin + 1), "One cycle is not enough for the drive: the answer still bears the old number."),
            Slip(float(begin - 1), f"That is the answer to {first}, before the request has even changed."),
        ),
    )


def same_again(draw: Draw) -> Question:
    """What becomes of a change that is sent twice without a pause."""
    number = draw.pick((110, 111))
    old, new = demo_store()[number].values[0], draw.whole(30, 600)
    by_hand = draw.whole(700, 2000)
    right, wrong = f"{by_hand}, the second request does nothing", f"{new}, it is written again"
    gone, fault = f"{old}, the change is undone", "none, the drive reports a fault"
    return Question(
        f"A program writes {new} to parameter {number} of a drive of the mill over the parameter channel. The drive "
        "answers that it is done. It acts on a request only when the request changes. The program leaves the request "
        f"standing. Somebody sets the parameter to {by_hand} at the drive's panel. The program wants {new} again and "
        "sends the same request.\nWhich value has the parameter then?",
        draw.choice((right, wrong, gone, fault)),
        right,
        steps=(
            "Ask how the drive can tell a second request from the first one that is still standing.",
            "It cannot: the octets are the same. It repeats its answer and does nothing.",
            "Send task 0 in between, wait for answer 0, then send the request again.",
        ),
        slips=(
            Slip(wrong, "To the drive the same octets are no new task. Task 0 has to come between."),
            Slip(gone, "Nothing is undone. The drive simply does not act on the same request again."),
            Slip(fault, "The bus sees nothing wrong, and the drive neither: it repeats its old answer."),
        ),
    )


def refused(draw: Draw) -> Question:
    """What a refusal says, and what to do."""
    numbers = (0, 1, 2, 3, 4, 5, 11, 17, 20)
    number, parameter = draw.pick(numbers), draw.whole(100, 1900)
    others = draw.some([n for n in numbers if n != number], 3)
    right = refusal(number).meaning
    answer = Channel(7, parameter, 0, number)
    return Question(
        f"A program writes to parameter {parameter}. The drive answers\n{_channel_octets(answer)}\nWhat does it say?",
        draw.choice((right, f"the value is now {number}", *(refusal(n).meaning for n in others))),
        right,
        steps=(
            "Look at the first digit: 7 and 8 are refusals. With 7 the last word is an error number, not a value.",
            refusal(number).sentence,
        ),
        slips=(
            Slip(f"the value is now {number}", "The first digit is 7: refused. The last word is the error number."),
            *(Slip(refusal(n).meaning, f"That would be error {n}; the last word says {number}.") for n in others),
        ),
    )


def first_element(draw: Draw) -> Question:
    """The subindex of an element by the other way."""
    nth, number = draw.whole(2, 30), draw.pick((915, 916, 923, 945, 947, 964))
    way = draw.pick(("cyclic", "acyclic"))
    right = nth - 1 + FIRST_SUBINDEX[way]
    ways = {"cyclic": "the parameter channel, where it counts arrays from 1", "acyclic": "acyclic requests, where it "
            "counts arrays from 0"}  # fmt: skip
    other = nth - 1 + FIRST_SUBINDEX["acyclic" if way == "cyclic" else "cyclic"]
    return Question(
        f"Parameter {_named(number)} is an array. A program wants element number {nth}, counted from 1 as people do. "
        "The "
        f"drive is reached over {ways[way]}.\nWhich subindex does the request bear?",
        Number(),
        float(right),
        steps=(
            "Ask which subindex the first element has there, then count on.",
            f"The first has {FIRST_SUBINDEX[way]}, so number {nth} has {right}.",
        ),
        slips=(
            Slip(float(other), f"That holds for the other way only: here the first element is {FIRST_SUBINDEX[way]}."),
            Slip(float(right + 1 if way == "cyclic" else nth + 1), "That is one element further on."),
            Slip(float(right - 2), "That is too far back."),
        ),
    )


def after_power_off(draw: Draw) -> Question:
    """Which value a parameter has after power off."""
    number, stored = draw.pick((110, 111)), draw.pick((True, False, False))
    old, first, second = demo_store()[number].values[0], *draw.some(range(20, 600), 2)
    asked = [change(number, first)]
    asked += [change(STORE, 1)] if stored else []
    asked.append(change(number, second))
    after = power_cycle(dialogue(demo_store(), asked).store)[number].values[0]
    writing = f"writes {first} to it, then 1 to parameter {STORE}" if stored else f"writes {first} to it"
    return Question(
        f"Parameter {number} of the mill drive has been at {old} since delivery. A program {writing}, and later "
        f"{second} to it. "
        f"All answers are good. Then the drive's supply goes off and on.\nWhich value has parameter {number}?",
        Number(),
        float(after),
        steps=(
            f"Writing changes the value in use. Only parameter {STORE} = 1 makes the drive keep it through power off.",
            f"{STORE} was written after {first} and before {second}: {first} is kept."
            if stored
            else f"{STORE} was never written: what was kept is still {old}.",
        ),
        slips=(
            Slip(float(second), f"{second} was in use, but it was never stored."),
            Slip(float(first), f"Neither value was stored: {STORE} was never written."),
            Slip(float(old), f"Parameter {STORE} has kept the value that was in use at that moment."),
            Slip(0.0, "A parameter is not emptied by power off; it goes back to what was stored."),
        ),
    )


def request_length(draw: Draw) -> Question:
    """How many octets an acyclic read request has."""
    count = draw.whole(2, 39)
    right = HEADER + count * ADDRESS
    return Question(
        f"An acyclic request reads {count} parameters, each a single value.\nHow many octets has the request, "
        "without the "
        "four octets of the service in front of it? Answer in octets.",
        Number("octets", also=("bytes", "byte")),
        float(right),
        steps=(
            "A request has a header, and then one address for each parameter.",
            f"Header {HEADER} octets: reference, read or change, axis, number of parameters.",
            f"Each address {ADDRESS} octets: attribute, number of elements, parameter number, subindex.",
            f"{HEADER} + {count} × {ADDRESS} = {right} octets.",
        ),
        slips=(
            Slip(float(count * ADDRESS), "The header of the request is forgotten."),
            Slip(float(right + HEADER), "That includes the four octets of the service."),
            Slip(float(HEADER + count * 4), "Parameter number and subindex have two octets each: an address has 6."),
            Slip(float(HEADER + count * 8), "That counts the PKW's 8 octets for each. An address has 6."),
        ),
    )


def response_value(draw: Draw) -> Question:
    """The value in an acyclic response."""
    value, reference = -draw.whole(20, 9_000), draw.whole(1, 200)
    response = acyclic.Response("read", False, 1, (ParameterValues(3, (unsigned(value),)),), reference)
    octets = acyclic.encode_response(response)
    raw = unsigned(value)
    return Question(
        "An acyclic request has read parameter 112 of the mill drive. The response "
        f"is\n{octets_text(octets)}\nFormat 03 "
        "is Integer16, a word with a sign. Which value is that? Answer in decimal.",
        Number(),
        float(value),
        steps=(
            "Four octets of header; then format, number of values, and the value.",
            f"Format 03, one value, 16#{raw:04X}. The first digit is 8 or more: negative.",
            f"{raw} − 65536 = {value}.",
        ),
        slips=(
            Slip(float(raw), "The sign is lost: Integer16 is in two's complement."),
            Slip(float(signed(swapped(raw))), "High and low byte are exchanged."),
            Slip(float(0x0301), "That is format and number of values, not the value."),
            Slip(float(-value), "The sign is the wrong way round: the first digit is 8 or more."),
        ),
    )


def how_many_cycles(draw: Draw) -> Question:
    """How many bus cycles a row of parameters takes over the channel."""
    count, cycle_ms, work = draw.whole(5, 40), draw.pick((2, 3, 4, 5)), draw.whole(2, 6)
    right = parameter_time.cyclic(count, cycle_s=cycle_ms / 1e3, work_s=work * cycle_ms / 1e3).cycles
    return Question(
        f"A program reads {count} different parameters over the parameter channel, one after the other. The bus "
        "cycle is "
        f"{cycle_ms} ms, the drive needs {work * cycle_ms} ms for each. Every new request goes out with the next "
        "cycle.\n"
        "How many bus cycles does it take? Answer in bus cycles.",
        Number("bus cycles", also=("cycles",)),
        float(right),
        steps=(
            "For one parameter: a cycle that takes the request out, then as many as the drive works; the answer "
            "comes in "
            "with the last of them.",
            f"{work * cycle_ms} ms / {cycle_ms} ms = {work} cycles of work, 1 + {work} = {work + 1} for each "
            "parameter.",
            f"{count} × {work + 1} = {right} bus cycles.",
        ),
        slips=(
            Slip(float(count * work), "The cycle that takes the request out is forgotten."),
            Slip(float(count), "The drive does not answer in the same cycle: it needs time for each task."),
            Slip(float(right * cycle_ms), "That is the time in ms."),
            Slip(float(work + 1), "That is one parameter only: the channel carries them one at a time."),
        ),
    )


KINDS: dict[str, Kind] = {
    "first-word": first_word,
    "number-of": number_of,
    "which-task": which_task,
    "value-word": value_word,
    "value-of-answer": value_of_answer,
    "does-it-belong": does_it_belong,
    "which-cycle": which_cycle,
    "same-again": same_again,
    "refused": refused,
    "first-element": first_element,
    "after-power-off": after_power_off,
    "request-length": request_length,
    "response-value": response_value,
    "how-many-cycles": how_many_cycles,
}
