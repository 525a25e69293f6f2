"""Questions on acyclic requests, on where arrays begin, and on time; they belong to the bank on parameters.

The drive is the invented one of the Saltmarsh Mill.
"""

from __future__ import annotations

from helpers.drive import acyclic, parameter_time
from helpers.drive.acyclic import ADDRESS, HEADER, Values
from helpers.drive.parameter_store import FIRST_SUBINDEX
from helpers.drive.parameters import profile_parameter
from helpers.drive.scaling import signed, unsigned
from helpers.drive.two_sides import swapped
from helpers.study.forms import Number
from helpers.study.question import Draw, Question, Slip


def named(number: int) -> str:
    """A parameter number, with its name if the profile gives it one."""
    known = profile_parameter(number)
    return f"{number} ({known.name})" if known else f"{number}"


def first_element(draw: Draw) -> Question:
    """The subindex of an element by the other way."""
    nth, number = draw.whole(2, 30), draw.pick((915, 916, 923, 945, 947, 964))
    way = draw.pick(("cyclic", "acyclic"))
    right = nth - 1 + FIRST_SUBINDEX[way]
    told = {"cyclic": "the parameter channel, where it counts arrays from 1", "acyclic": "acyclic requests, where it "
            "counts arrays from 0"}  # fmt: skip
    other = nth - 1 + FIRST_SUBINDEX["acyclic" if way == "cyclic" else "cyclic"]
    return Question(
        f"Parameter {named(number)} is an array. A program wants element number {nth}, counted from 1 as people do. "
        "The "
        f"drive is reached over {told[way]}.\nWhich subindex does the request bear?",
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
    response = acyclic.Response("read", False, 1, (Values(3, (unsigned(value),)),), reference)
    octets = acyclic.encode_response(response)
    raw = unsigned(value)
    return Question(
        "An acyclic request has read parameter 112 of the mill drive. The response "
        f"is\n{octets.hex(' ').upper()}\nFormat 03 "
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
