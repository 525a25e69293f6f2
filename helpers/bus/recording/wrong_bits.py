"""Wrong bits on the wire, as an answer: who notices them, and how many it takes until nobody does."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from helpers.answer import Answer, Row
from helpers.bus.recording.telegram_meaning import read
from helpers.bus.services import message
from helpers.bus.telegram import hamming
from helpers.bus.telegram.characters import BITS
from helpers.bus.telegram.frame import Frame, write
from helpers.wording import counted, octets_text


@dataclass(frozen=True)
class WrongBitsPicture:
    """Each octet as its eleven bits in the order of time; `wrong` are the places of those that arrive wrong."""

    octets: bytes
    wrong: frozenset[int]

    @property
    def says(self) -> str:
        """The octets, and which bits of which are wrong."""
        named = ", ".join(f"bit {place % BITS + 1} of octet {place // BITS + 1}" for place in sorted(self.wrong))
        return f"{octets_text(self.octets)}; wrong bits: {named or 'none'}"


_CLAIM = "M. Felser, PROFIBUS Manual, telegram formats (handbook)"
TELEGRAMS = {
    "status request, SD1": write(Frame("SD1", 2, 1, 0x49)),
    "two output bytes, SD2": message.request(
        "Data_Exchange", to=12, sender=1, data=b"\x04\x7f", count="counted, 1"
    ).octets,
    "token from 1 to 2": write(Frame("token", 2, 1)),
    "short acknowledgement, SC": write(Frame("SC")),
}
WORST, ANYWHERE = "where they deceive best", "anywhere"


def wrong_places(octets: bytes, wrong: int, where: str, throw: int = 1) -> tuple[int, ...]:
    """Which bits arrive wrong: thrown anywhere, or where they deceive best (then in pairs, so that parity is blind).

    >>> wrong_places(write(Frame("token", 2, 1)), 2, WORST)
    (13, 20)
    """
    if not wrong:
        return ()
    if where == ANYWHERE:
        thrown = Random(f"{octets.hex()}/{wrong}/{throw}").sample(range(BITS * len(octets)), wrong)
        return tuple(sorted(thrown))
    other = next(hamming.impostors(octets, wrong), None)
    if other is not None:
        return hamming.places(octets, other)
    second = BITS if len(octets) > 1 else 0
    return tuple(second + bit for bit in range(1, wrong + 1))


def distance_answer(telegram: str, *, wrong: int = 2, where: str = WORST, throw: int = 1) -> Answer:
    """A telegram with wrong bits: what the receiver notices, and how often it notices nothing."""
    octets = TELEGRAMS[telegram]
    places = wrong_places(octets, wrong, where, throw)
    got = hamming.received(octets, places)
    count = hamming.counted(octets)
    if not wrong:
        sentence = "All bits arrive as they were sent: the receiver takes the telegram."
    elif got.frame is None:
        sentence = f"{_bits(wrong)}: noticed. The receiver says: {got.notices}."
    else:
        (believed,) = read(got.frame.octets)
        said = ", ".join(filter(None, (believed.way, believed.meaning)))
        sentence = f"{_bits(wrong)}, and nobody notices: the receiver takes it for another {believed.kind} ({said})."
    return Answer(
        sentence,
        because=_because(count),
        pictures=[WrongBitsPicture(octets, frozenset(places))],
        rows=[_count_row(one, chosen=one.wrong == wrong) for one in count],
        folded=[("How far apart the delimiters are", delimiter_rows())],
        sources=[f"claim of distance 4, delimiters and octets: {_CLAIM}", "all counts: calculated here, case by case"],
    )


def _bits(count: int) -> str:
    return counted(count, "wrong bit")


def _because(count: tuple[hamming.WrongBitCount, ...]) -> str:
    deceived = next((one for one in count if one.believed), None)
    if deceived is None:
        return "No other octet alone is a telegram, so nothing can be taken for this one."
    claim = "as the handbook claims" if deceived.wrong == hamming.MOST_WRONG else "less than the 4 that is claimed"
    why = (
        "Parity notices every odd number of wrong bits in a character, the check sum every single wrong octet. Only "
        "two octets, wrong by two bits each, can make up for each other."
        if deceived.wrong == hamming.MOST_WRONG
        else "The token has no check sum: one wrong address bit and its parity bit make another good token."
    )
    return f"The smallest number that can deceive is {deceived.wrong}, {claim}. {why}"


def _count_row(one: hamming.WrongBitCount, *, chosen: bool) -> Row:
    share = f"1 in {one.ways / one.believed:,.0f}".replace(",", "\N{NARROW NO-BREAK SPACE}") if one.believed else "none"
    return {
        "wrong bits": f"{one.wrong}{' ◀' if chosen else ''}",
        "ways to have them": one.ways,
        "noticed": one.ways - one.believed,
        "taken for another telegram": one.believed,
        "that is": share,
    }


def delimiter_rows() -> list[Row]:
    """Every pair of delimiters with its distance, the nearest first; what is below the claim is named.

    >>> delimiter_rows()[0]["remark"]
    'the exception: fewer than the 4 that is claimed'
    """
    remark = "the exception: fewer than the 4 that is claimed"
    return [
        {"delimiter": one.one, "and": one.other, "bits that differ": one.bits,
         "remark": remark if one.bits < hamming.MOST_WRONG else ""}
        for one in hamming.delimiters()
    ]  # fmt: skip
