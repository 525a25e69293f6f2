"""Wrong bits on the wire: who notices them, and how many it takes until nobody does."""

from __future__ import annotations

from collections.abc import Collection

from helpers.answer import Answer, Row
from helpers.bus.recording.telegram_meaning import read
from helpers.bus.services import message
from helpers.bus.telegram import hamming
from helpers.bus.telegram.characters import BITS, bits_of
from helpers.bus.telegram.frame import Frame, write
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.study.question import Draw
from helpers.wording import counted

_CLAIM = "M. Felser, PROFIBUS Manual, telegram formats (handbook)"
_TELEGRAMS = {
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
        draw = Draw(f"{octets.hex()}/{wrong}/{throw}")
        return tuple(sorted(draw.some(range(BITS * len(octets)), wrong)))
    other = next(hamming.impostors(octets, wrong), None)
    if other is not None:
        return hamming.places(octets, other)
    second = BITS if len(octets) > 1 else 0
    return tuple(second + bit for bit in range(1, wrong + 1))


def distance_view(telegram: str, wrong: int = 2, where: str = WORST, throw: int = 1) -> Answer:
    """A telegram with wrong bits: what the receiver notices, and how often it notices nothing."""
    octets = _TELEGRAMS[telegram]
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
        pictures=[distance_drawing(octets, places)],
        rows=[_count_row(one, chosen=one.wrong == wrong) for one in count],
        folded=[("How far apart the delimiters are", delimiter_rows())],
        sources=[f"claim of distance 4, delimiters and octets: {_CLAIM}", "all counts: calculated here, case by case"],
    )


def _bits(count: int) -> str:
    return counted(count, "wrong bit")


def _because(count: tuple[hamming.Count, ...]) -> str:
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


def _count_row(one: hamming.Count, *, chosen: bool) -> Row:
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


_BIT, _ROW = 26.0, 19.0


def distance_drawing(octets: bytes, wrong: Collection[int]) -> Drawing:
    """Each octet as its eleven bits in the order of time, the wrong ones marked with a cross and their wrong value."""
    names = [line.name for line in next(iter(read(octets))).lines for _ in line.octets]
    rows = len(octets)
    told = ", ".join(f"bit {place % BITS + 1} of octet {place // BITS + 1}" for place in sorted(wrong)) or "none"
    sheet = Drawing(560, 30 + _ROW * rows, f"{octets.hex(' ').upper()}; wrong bits: {told}")
    for n, head in enumerate(("st.", *range(8), "par.", "sp.")):
        sheet.text(150 + _BIT * (n + 0.5), 13, head, size=11, fill=GREY)
    for row, octet in enumerate(octets):
        y = 20 + _ROW * row
        sheet.text(96, y + 14, names[row], size=11, anchor="end", fill=GREY)
        sheet.text(140, y + 14, f"{octet:02X}", size=13, anchor="end", bold=True)
        arrived = 0
        for n, bit in enumerate(bits_of(octet)):
            bad = row * BITS + n in wrong
            value = bit ^ bad
            arrived |= value << n
            fill = SAND if bad else SKY if 0 < n < 9 else PAPER
            x = 150 + _BIT * n
            sheet.box(x + 1, y, _BIT - 2, _ROW - 2, fill=fill, stroke=ORANGE if bad else GREY, line=2.5 if bad else 0.7)
            sheet.text(x + _BIT / 2, y + 13, f"✗{value}" if bad else value, size=11, bold=bad, fill=INK)
        if any(place // BITS == row for place in wrong):
            words = f"arrives as {arrived >> 1 & 0xFF:02X}"
            sheet.text(150 + _BIT * BITS + 8, y + 14, words, size=11, anchor="start", bold=True, fill=ORANGE)
    return sheet


def distance_panel() -> Panel:
    """Let bits arrive wrong, and see who notices."""
    return Panel(
        "How many wrong bits does a telegram bear?",
        {
            "telegram": fields.choice("telegram", list(_TELEGRAMS)),
            "wrong": fields.slider("wrong bits", 2, 0, hamming.MOST_WRONG),
            "where": fields.choice("where", (WORST, ANYWHERE)),
            "throw": fields.slider("throw no.", 1, 1, 50),
        },
        distance_view,
        hint="One row is one octet: start bit (st.), eight bits, bit 0 first, parity (par.), stop bit (sp.). ✗ marks "
        "a bit that arrives wrong. “throw no.” throws them to other places if they may be anywhere.",
    )
