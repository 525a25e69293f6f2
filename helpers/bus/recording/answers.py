"""Answers on telegrams: pasted octets read one by one, a long recording counted, a telegram put together."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from helpers import facts
from helpers.answer import Answer, Row
from helpers.bus.recording import recording_text, telegram_meaning
from helpers.bus.recording.recording_statistics import MOST_ERRORS, Recording
from helpers.bus.recording.recording_text import Capture, skipped
from helpers.bus.recording.telegram_meaning import ANSWER, DAMAGED, REQUEST, RUBBISH, Telegram
from helpers.bus.recording.telegram_meaning import TOKEN as TOKEN_ROLE
from helpers.bus.services import message
from helpers.bus.services.bits import OctetLine
from helpers.bus.telegram import function_code
from helpers.bus.telegram.frame import Frame, frame, write
from helpers.bus.time.timing import telegram_bits, wire_bits
from helpers.errors import OutOfRange, Unreadable, in_range
from helpers.facts import DATA
from helpers.safe_work import cautions
from helpers.wording import capital_first, octets_text, short

MOST_PASTED = 300_000  # characters; more of it belongs into the panel that reads a file
ORDER, OCTETS, UNUSUAL = "telegrams in order", "one telegram, octet by octet", "only what is unusual"
TELEGRAMS = "telegrams"
# What is odd about a telegram, with the word of its remark.
_ODD = {"without an answer": "no answer", "repeated": "repeated", "that nobody asked for": "nobody asked"}
COUNTS, ERRORS, PAGE = "counts", "what is unusual", "telegrams"
PER_PAGE, _OPEN_ROWS = 14, 14
_WINDOW = 12  # telegrams listed at a time
_UNUSUAL_SHOWN = 40
_LONGEST_MEANING, _MOST_VALUES = 96, 12
_ROLES = {REQUEST: "requests", ANSWER: "answers", TOKEN_ROLE: "tokens", DAMAGED: "damaged",
          RUBBISH: "pieces of rubbish"}  # fmt: skip


@dataclass(frozen=True)
class TelegramPicture:
    """The octets of a telegram as boxes in the order on the wire; those that are wrong are marked."""

    telegram: Telegram

    @property
    def wrong(self) -> set[int]:
        """The places, from 0, of the octets that a damaged telegram names."""
        if self.telegram.frame is not None:
            return set()
        return {int(place) - 1 for place in re.findall(r"octets? (\d+)(?: and \d+)?:", self.telegram.remark)}

    @property
    def says(self) -> str:
        """The kind of telegram and its octets."""
        return f"{self.telegram.kind}: {octet_values(self.telegram.octets)}"


def examples() -> dict[str, str]:
    """Worked examples by name: the demo recording, and single telegrams as published.

    >>> list(examples())[1]
    'FDL status request, station 1 to station 2'
    """
    demo = (DATA / "demo" / "bus_recording.txt").read_text(encoding="utf-8")
    single = {row["meaning"]: row["octets"] for row in facts.rows("published/bus_telegrams")}
    return {"start of the cooling fan (invented)": demo} | single


@lru_cache(4)
def _read(text: str) -> tuple[Capture, tuple[Telegram, ...]]:
    in_range("pasted text", len(text), 0, MOST_PASTED, "characters", "for more, the panel that reads a file")
    recording = recording_text.read(text)
    return recording, tuple(telegram_meaning.read(recording.octets))


def telegram_answer(text: str, show: str = ORDER, number: int = 1) -> Answer:
    """A recording: its telegrams in order, what is unusual in it, or one telegram octet by octet.

    Parameters: text, as pasted; show, one of the three ways; number of the telegram, from 1 (beyond the last one: the
    last). Raises `Unreadable` where no octets are, `OutOfRange` for too much text.
    """
    recording, told = _read(text)
    telegram = told[min(number, len(told)) - 1]
    beyond = ""
    if number > len(told):
        many = f"are {len(told)} telegrams" if len(told) > 1 else "is 1 telegram"
        beyond = f"There {many}, so the last one is shown."
    because = " ".join(filter(None, (beyond, *_unread_lines(recording))))
    if show == OCTETS or (len(told) == 1 and show == ORDER):
        partner = told[telegram.partner - 1] if telegram.partner else None
        answer = octet_answer(telegram, partner)
        around = ("The telegrams around it", _listed(recording, told, telegram.number))
        return replace(answer, because=because, folded=[around])
    if show == UNUSUAL:
        strange = [t for t in told if t.remark]
        return unusual_answer(
            recording, strange[:_UNUSUAL_SHOWN], found=len(strange), telegrams=len(told), because=because
        )
    return Answer(
        summary(tally(told), recording.unread),
        because=because,
        pictures=[TelegramPicture(telegram)],
        rows=_listed(recording, told, telegram.number),
        folded=[(f"Telegram {telegram.number}, octet by octet", octet_rows(telegram))],
        sources=_sources(telegram),
    )


def octet_answer(telegram: Telegram, partner: Telegram | None = None) -> Answer:
    """One telegram octet by octet; `partner` is the one that belongs to it, where it is at hand."""
    return Answer(
        _sentence(telegram, partner),
        pictures=[TelegramPicture(telegram)],
        rows=octet_rows(telegram),
        sources=_sources(telegram),
    )


def unusual_answer(
    recording: Capture, listed: Sequence[Telegram], *, found: int, telegrams: int, because: str = ""
) -> Answer:
    """The telegrams of a recording that have a remark: the first of `found`, of so many telegrams in all."""
    many = f"{found} of {telegrams} telegrams and pieces are unusual" if found else "Nothing unusual"
    first = f"The first {len(listed)} are listed." if found > len(listed) else ""
    where = "What is wrong is said at its octet." if found else ""
    return Answer(
        "; ".join(filter(None, (many, skipped(recording.unread)))) + ".",
        because=" ".join(filter(None, (because, first, where))),
        rows=[_recorded_row(recording, telegram) for telegram in listed],
    )


def listed_answer(recording: Capture, listed: Sequence[Telegram], counts: Counter[str]) -> Answer:
    """Telegrams of a recording in their order, and what all of it holds, counted by `tally`."""
    rest = counts[TELEGRAMS] - len(listed)
    more = f"{rest} more are not shown." if rest else ""
    return Answer(
        summary(counts, recording.unread),
        because=" ".join(filter(None, (*_unread_lines(recording), more))),
        rows=[_recorded_row(recording, telegram) for telegram in listed],
    )


def _unread_lines(recording: Capture) -> list[str]:
    """What is wrong with the first lines that could not be read, and how many more there are."""
    told = [f"Line {problem.line}: {problem.sentence}" for problem in recording.problems[:3]]
    return told + ([f"And {recording.unread - 3} more lines could not be read."] if recording.unread > 3 else [])


def tally(telegrams: Iterable[Telegram]) -> Counter[str]:
    """Telegrams counted: all, by their roles, and by what is odd about them. Tallies of parts can be added up."""
    counts: Counter[str] = Counter()
    for telegram in telegrams:
        counts.update(
            (TELEGRAMS, telegram.role, *(words for words, remark in _ODD.items() if remark in telegram.remark))
        )
    return counts


def summary(counts: Counter[str], unread: int = 0) -> str:
    """What a recording holds, and how many of its lines could not be read.

    >>> summary(tally(telegram_meaning.read(bytes.fromhex("10 02 01 49 4C 16"))))
    '1 telegram: 1 request; 1 without an answer.'
    """
    roles = ", ".join(_count_words(counts[role], words) for role, words in _ROLES.items() if counts[role])
    odd = ", ".join(f"{counts[words]} {words}" for words in _ODD if counts[words])
    parts = "; ".join(filter(None, (roles, odd, skipped(unread))))
    return f"{_count_words(counts[TELEGRAMS], TELEGRAMS)}: {parts}."


def _count_words(count: int, words: str) -> str:
    singular = words.replace("pieces", "piece").removesuffix("s") if count == 1 else words
    return f"{count} {singular}"


def _sentence(telegram: Telegram, partner: Telegram | None) -> str:
    """One telegram in a sentence, and the one that belongs to it."""
    if telegram.role in (DAMAGED, RUBBISH):
        return f"No. {telegram.number} is {telegram.role}: {telegram.remark}."
    said = _said(telegram)
    what = f"{telegram.kind} {telegram.role}" if telegram.role != telegram.kind else telegram.kind
    begin = f"No. {telegram.number}, {what}{f' from {telegram.way}' if telegram.way else ''}"
    unusual = f" {capital_first(telegram.remark)}." if telegram.remark else ""
    if partner is None:
        return f"{begin} – {said}.{unusual}"
    which = "Its answer is" if telegram.role == REQUEST else "It answers"
    return f"{begin} – {said}.{unusual} {which} no. {partner.number}: {short(partner.meaning, _LONGEST_MEANING)}."


def _listed(recording: Capture, told: Sequence[Telegram], number: int) -> list[Row]:
    """A window on the telegrams, the chosen one marked."""
    first = max(0, min(number - 4, len(told) - _WINDOW))
    return [
        _recorded_row(recording, telegram, chosen=telegram.number == number)
        for telegram in told[first : first + _WINDOW]
    ]


def _recorded_row(recording: Capture, telegram: Telegram, *, chosen: bool = False) -> Row:
    line = recording.line_of(telegram.at)
    row: dict[str, object] = (
        {"no.": f"{telegram.number}{' ◀' if chosen else ''}"} | telegram_row(telegram) | {"line": line.number}
    )
    if any(line.stamp for line in recording.lines[:20]):
        row["time stamp"] = line.stamp
    return row


def telegram_row(telegram: Telegram, names: Mapping[int, str] | None = None) -> dict[str, object]:
    """A telegram as one row of a table: who to whom, what it says, what is unusual, its octets, its pair.

    Parameters: one; names, of the stations by their addresses, where they are known.
    """
    pair = {REQUEST: "→ ", ANSWER: "← "}.get(telegram.role, "") + str(telegram.partner) if telegram.partner else ""
    return {
        "who to whom": telegram.between(names or {}) or ("no address in it" if telegram.frame else ""),
        "meaning": _said(telegram),
        "remark": telegram.remark,
        "octets": octet_values(telegram.octets),
        "pair": pair,
    }


def _said(telegram: Telegram) -> str:
    """Service and meaning; a telegram without a service bears its role there, which is told already."""
    if telegram.frame is None:
        return telegram.role
    service = telegram.service if telegram.service != telegram.role else ""
    return ": ".join(filter(None, (service, short(telegram.meaning, _LONGEST_MEANING))))


def octet_rows(telegram: Telegram) -> list[Row]:
    """Every octet of a telegram explained, as the rows of a table.

    >>> (told,) = telegram_meaning.read(bytes.fromhex("DC 01 02"))
    >>> [(row["octet"], row["value"], row["name"]) for row in octet_rows(told)]
    [('1', 'DC', 'SD4'), ('2', '01', 'DA'), ('3', '02', 'SA')]
    """
    return [
        {"octet": _place(line), "value": octet_values(line.octets), "name": line.name, "meaning": line.meaning}
        for line in telegram.lines
    ]


def _place(line: OctetLine) -> str:
    last = line.first + len(line.octets) - 1
    return f"{line.first} to {last}" if last > line.first else str(line.first) if line.octets else ""


def octet_values(octets: bytes) -> str:
    """The first octets, and how many more there are."""
    shown = octets_text(octets[:_MOST_VALUES])
    return shown + (f" … {len(octets) - _MOST_VALUES} more" if len(octets) > _MOST_VALUES else "")


def _sources(telegram: Telegram) -> list[str]:
    return [f"{line.name}: {line.source}" for line in telegram.lines if line.source]


# -- a long recording --------------------------------------------------------------------------------


def recording_answer(
    recording: Recording, name: str, show: str = COUNTS, *, first: int = 1, share: float = 1.0, stopped: bool = True
) -> Answer:
    """What was read of a recording: counts, the unusual, or a page of telegrams from number `first` on.

    `share` is how much of it was read, 0 to 1; `stopped` tells a recording whose reading was ended early from one that
    is still being read. Raises as `Recording.page`.
    """
    sentence = _how_far(recording, name, share, stopped=stopped)
    because = "".join(f"Line {problem.line}: {problem.sentence} " for problem in recording.problems[:2])
    if show == PAGE:
        page = recording.page(min(first, max(recording.telegrams, 1)), PER_PAGE)
        rows: list[Row] = []
        for one in page:
            line = recording.line_of(one)
            rows.append({"no.": one.number} | telegram_row(one) | {"line": line.number, "time stamp": line.stamp})
        opened = (f"No. {page[0].number}, octet by octet", octet_rows(page[0]))
        return Answer(sentence, because=because, rows=rows, folded=[opened])
    if show == ERRORS:
        noted: list[Row] = [
            {"no.": one.number, "line": one.line, "what": one.kind, "more": one.sentence} for one in recording.errors
        ]
        counted = ", ".join(f"{kind} {count}" for kind, count in recording.unusual.most_common()) or "nothing unusual"
        kept = f" The first {MOST_ERRORS} are kept with their place." if len(noted) == MOST_ERRORS else ""
        return Answer(
            sentence,
            because=f"{because}{capital_first(counted)}.{kept}",
            rows=noted[:_OPEN_ROWS],
            folded=[(f"{len(noted) - _OPEN_ROWS} more", noted[_OPEN_ROWS:])],
        )
    stations = _station_rows(recording)
    return Answer(
        sentence,
        because=because,
        rows=stations[:_OPEN_ROWS],
        folded=[
            (f"{len(stations) - _OPEN_ROWS} more stations", stations[_OPEN_ROWS:]),
            ("Kinds of telegram", [{"kind": kind, "count": count} for kind, count in recording.kinds.most_common()]),
            ("Services", [{"service": name, "requests": count} for name, count in recording.services.most_common()]),
        ],
    )


def _how_far(recording: Recording, name: str, share: float, *, stopped: bool) -> str:
    read = f"{recording.telegrams:,} telegrams in {recording.octets:,} octets".replace(",", "\N{NARROW NO-BREAK SPACE}")
    read += f"; {left}" if (left := skipped(recording.unread)) else ""
    if recording.finished:
        return f"{name}: read to the end, {read}."
    if stopped:
        return f"{name}: stopped at {share * 100:.0f} %. What was read is kept: {read}."
    return f"{name}: {share * 100:.0f} % is read so far, {read}."


def _station_rows(recording: Recording) -> list[Row]:
    return [
        {
            "station": "all" if one.address == message.EVERYBODY else one.address,
            "requests to it": one.requests,
            "not answered": one.silent,
            "repeated": one.repeated,
            "answers from it": one.answers,
            "diagnosis asked": one.diagnosis,
        }
        for one in recording.stations
    ]


# -- a telegram put together ---------------------------------------------------------------------------

TOKEN, STATUS = "token", "FDL status"
_ANSWERS = {"data": "a telegram with data, or SC where there is none", "SC": "SC, one octet", "none": "nobody"}


def made(service: str, *, sender: int, to: int, data: bytes = b"", count: str = "counted, 1") -> Frame:
    """The telegram of a controller: a service, a status request, or the token.

    Parameters: service, `token`, `FDL status` or one of `message.services()`; sender and to, addresses; data, its
    octets; count, the frame count. Raises `OutOfRange`, `Unknown`, `Unreadable` for data where none belong.

    >>> octets_text(made("token", sender=1, to=2).octets)
    'DC 02 01'
    """
    if service in (TOKEN, STATUS) and data:
        raise Unreadable(f"a {service} telegram carries no data; leave the data empty.")
    if service == TOKEN:
        token = Frame("token", to, sender)
        write(token)  # refuses an address that no station has
        return token
    if to == message.EVERYBODY and (service == STATUS or message.answered_by(service) != "none"):
        raise OutOfRange(f"to all (127) goes only what nobody answers; {service} is answered, so name one station.")
    if service == STATUS:
        return frame(to=to, sender=sender, fc=function_code.request(STATUS))
    if not data and service in ("Set_Prm", "Chk_Cfg", "Global_Control", "Set_Slave_Add"):
        raise Unreadable(f"{service} has nothing to say without data; type its octets as hexadecimal.")
    return message.request(service, to=to, sender=sender, data=data, count=count)


def maker_answer(service: str, *, sender: int, to: int, data: bytes, count: str) -> Answer:
    """The octets of a telegram that was put together, each explained."""
    (telegram,) = telegram_meaning.read(made(service, sender=sender, to=to, data=data, count=count).octets)
    octets, bits = len(telegram.octets), wire_bits(len(telegram.octets))
    if service == TOKEN:
        answer = "Nobody answers a token."
    elif service == STATUS:
        answer = f"A station that is there answers with an SD1 of {telegram_bits('SD1')} bit times."
    else:
        answer = f"It is answered by {_ANSWERS[message.answered_by(service) or 'data']}."
    return Answer(
        octets_text(telegram.octets[:40]) + (" …" if octets > 40 else ""),
        because=f"{telegram.kind}, {octets} octets, {bits} bit times on the wire. {answer}",
        caution=cautions("telegram") if data else (),
        pictures=[TelegramPicture(telegram)],
        rows=octet_rows(telegram),
        sources=[f"{line.name}: {line.source}" for line in telegram.lines if line.source],
    )
