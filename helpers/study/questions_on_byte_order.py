"""Questions on byte order, signs, double words and tearing: a part of the lesson on the I/O image.

Each slip is calculated by making the mistake on purpose. The drives are those of Saltmarsh Mill, an invented site.
"""

from __future__ import annotations

from helpers.device.byte_order import iec_type, read_as, to_bus
from helpers.device.formats import BYTES_PER_WORD
from helpers.device.identifiers import BYTES_PER, Area, Identifier
from helpers.device.tearing import mixtures
from helpers.study.bank_formats import DRIVES
from helpers.study.forms import Choice, Hexadecimal, Number
from helpers.study.question import Draw, Question, Slip

_HALF = 1 << 16  # what a high word counts


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
            f"They travel as {sent.hex(' ').upper()}.",
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
    shown = read_as(to_bus(value, "INT"), "UINT")
    high = iec_type("INT").high
    return Question(
        f"A table of the controller shows the actual speed of the {draw.pick(DRIVES)} drive as UINT: {shown}. "
        f"The motor "
        "turns backwards, and the bytes are in the right order.\nWhat does the same word show as INT?",
        Number(),
        float(value),
        steps=(
            f"A word above {high} has its highest bit set. As INT it is negative: take 65536 off.",
            f"{shown} − {_HALF} = −{-value}.",
        ),
        slips=(
            Slip(float(shown), "The sign is lost: an INT ends at 32767."),
            Slip(float(-shown), "A minus sign alone will not do: negative numbers are in two's complement."),
            Slip(float(shown - _HALF // 2), "Bit 15 was only taken off. Its weight in an INT is −32768."),
            Slip(float(value + 1), "Take off 65536, not 65535: the word has 65536 values, from 0 on."),
        ),
    )  # fmt: skip


def double_word(draw: Draw) -> Question:
    """A 32-bit value out of its two words."""
    high, low = draw.whole(1, 9), draw.whole(300, 9000)
    first = draw.whole(64, 400, 2)
    value = high * _HALF + low
    sent = to_bus(value, "UDINT")
    return Question(
        f"ENERGY of the {draw.pick(DRIVES)} drive is a double word, high word first. A table shows %IW{first} "
        f"= {high} and "
        f"%IW{first + BYTES_PER_WORD} = {low}.\nWhich number is it, as UDINT?",
        Number(),
        float(value),
        steps=(
            "The high word counts 65536 for each one; the low word is added.",
            f"{high} × {_HALF} = {high * _HALF}.",
            f"{high * _HALF} + {low} = {value}.",
        ),
        slips=(
            Slip(
                float(read_as(sent, "UDINT", "words exchanged")),
                "High and low word are exchanged. The high word comes first, at the lower number.",
            ),
            Slip(float(high + low), "The high word has a weight: each one of it is 65536."),
            Slip(float(high * (_HALF - 1) + low), "The weight is 65536, one more than the largest word."),
            Slip(float(low), "That is the low word alone. The high word belongs to it."),
        ),
    )


def torn(draw: Draw) -> Question:
    """A double word that changes between two accesses."""
    high, step = draw.whole(1, 40), draw.whole(2, 90)
    old = high * _HALF + _HALF - draw.whole(1, step - 1)
    new = old + step
    backwards = draw.pick((True, False))
    octets = [to_bus(value, "UDINT") for value in (old, new)]
    between, other = (
        read_as(mixtures(*octets, access_bytes=BYTES_PER_WORD, backwards=way)[1].octets, "UDINT")
        for way in (backwards, not backwards)
    )
    order = ("low word first, then the high word", "high word first, then the low word")[not backwards]
    got = [f"{value // _HALF} and {value % _HALF}" for value in (old, new)]
    return Question(
        f"A double word of the {draw.pick(DRIVES)} drive grows from {old} to {new}. In words, high and low, "
        f"that is {got[0]} "
        f"before, {got[1]} after. The program reads the {order}. The change comes between the two.\n"
        "Which number does the program put together?",
        Number(),
        float(between),
        steps=(
            "The word read first is still an old one; the other is already new.",
            f"High word {between // _HALF}, low word {between % _HALF}.",
            f"{between // _HALF} × {_HALF} + {between % _HALF} = {between}. It never stood there.",
        ),
        slips=(
            Slip(float(new), "The first word was read before the change. It is still the old one."),
            Slip(float(old), "The second word was read behind the change. It is already the new one."),
            Slip(float(other), "Old and new are exchanged: what is read first is old."),
        ),
    )


def consistency(draw: Draw) -> Question:
    """What an identifier promises to keep whole."""
    one = Area(draw.whole(2, 16), draw.pick(("word", "word", "byte")), draw.pick((True, False)))
    way = draw.pick(("in", "out"))
    octet = Identifier("compact", one if way == "out" else None, one if way == "in" else None).octets[0]
    answers = {
        "whole": f"all {one.length_bytes} bytes together",
        "word": "the two bytes of each word, not more",
        "byte": "each byte for itself, not more",
        "less": f"the first {one.count} bytes together" if one.unit == "word" else f"{one.count - 1} bytes together",
    }
    right = answers["whole" if one.whole else one.unit]
    why = {
        "whole": "Bit 7 is 0 here. Only with bit 7 = 1 the area belongs together.",
        "word": "Bit 7 is 1 here: the area belongs together." if one.whole else "Bit 6 is 0: the unit is a byte.",
        "byte": "Bit 7 is 1 here: the area belongs together." if one.whole else "Bit 6 is 1: the unit is a word.",
        "less": "The length counts words, and it stands there less one."
        if one.unit == "word"
        else "The length stands there less one.",
    }
    return Question(
        f"A module of the {draw.pick(DRIVES)} drive has the compact identifier 16#{octet:02X}.\n"
        "What does it promise to keep whole?",
        Choice(tuple(draw.shuffled(tuple(answers.values())))),
        right,
        steps=(
            "Look at bit 7, then at bit 6 of the octet.",
            f"16#{octet:02X} = 2#{octet >> 4:04b}_{octet & 15:04b}. Bit 7 is {int(one.whole)}, bit 6 is "
            f"{int(one.unit == 'word')}: {one.text}.",
            f"Its length is {one.count} × {BYTES_PER[one.unit]} = {one.length_bytes} bytes.",
        ),
        slips=tuple(Slip(answers[name], why[name]) for name in answers if answers[name] != right),
    )
