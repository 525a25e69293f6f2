"""Answers on the cyclic parameter channel: a task, a reply, a dialogue, a parameter number, an error number."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from helpers import facts
from helpers.answer import Answer, Row
from helpers.device import formats as data_formats
from helpers.device.choose import Assignment, mapping
from helpers.device.format_answers import FormatPicture
from helpers.device.identifiers import octets_from_text
from helpers.device.signals import Signal, list_parameter
from helpers.drive.parameters import acyclic_service
from helpers.drive.parameters import parameter_channel as channel
from helpers.drive.parameters.access import STORE, Refusal, cautious, profile_parameter, refusal, value_of
from helpers.drive.parameters.parameter_channel import Channel, ExplainedWord
from helpers.drive.parameters.parameter_dialogue import Cycle, Dialogue, dialogue, doubt, match
from helpers.drive.parameters.parameter_store import FIRST_SUBINDEX, Store, demo_store, number_of, power_cycle, respond
from helpers.drive.parameters.parameter_text import Task, request
from helpers.errors import Unknown, Unreadable, in_range
from helpers.safe_work import cautions
from helpers.wording import capital_first, counted
from helpers.written import whole

_COUNT = 6  # the answer that bears a number of elements, not a value of the parameter
_CYCLES_SHOWN = 14  # in the picture


@dataclass(frozen=True)
class ChannelPicture:
    """The four words of a task or an answer: PKE with its three fields, IND, and the two halves of the value."""

    shown: Channel
    octets: bytes
    kind: str = "task"

    @property
    def words(self) -> list[str]:
        """The four words as people write them."""
        return [self.octets[n : n + 2].hex(" ").upper() for n in range(0, 8, 2)]

    @property
    def says(self) -> str:
        """The four words by name."""
        named = zip(("PKE", "IND", "PWE1", "PWE2"), self.words, strict=True)
        return f"{self.kind} {self.shown.identifier}: {', '.join(f'{name} {word}' for name, word in named)}"


@dataclass(frozen=True)
class DialoguePicture:
    """The first cycles of a dialogue: request above, answer below."""

    dialogue: Dialogue

    @property
    def cycles(self) -> tuple[Cycle, ...]:
        """The cycles that are shown."""
        return self.dialogue.cycles[:_CYCLES_SHOWN]

    @property
    def says(self) -> str:
        """Each cycle with its request, its answer, and what the answer is."""
        return "; ".join(
            f"cycle {cycle.number}: request {_short(cycle.request)}, answer {_short(cycle.answer)} ({cycle.match.kind})"
            for cycle in self.cycles
        )


def first_word(shown: Channel) -> str:
    """The word PKE, in four digits."""
    return channel.encode(shown)[:2].hex().upper()


def _short(shown: Channel) -> str:
    return f"{first_word(shown)} value {shown.value}"


def task_from_fields(*, identifier: int, number: int, subindex: int, value: int) -> Channel:
    """A task of the channel from its fields; subindex and value count only for tasks that have them.

    >>> channel.encode(task_from_fields(identifier=1, number=110, subindex=3, value=0)).hex(" ").upper()
    '10 6E 00 00 00 00 00 00'
    """
    task = channel.tasks()[identifier]
    return Channel(
        identifier,
        number % channel.PAGE,
        subindex if task.indexed else 0,
        value_of(value, task.width) if task.width else 0,
        page=number // channel.PAGE,
    )


def task_answer(asked: Channel, *, ind: str = channel.PLAIN, value: int = 0) -> Answer:
    """The octets of a task, field by field, and what the demo drive would answer; `value` as it was given."""
    task = channel.tasks()[asked.identifier]
    octets = channel.encode(asked, index=ind)
    answer, _ = respond(demo_store(), asked)
    answered = channel.encode(answer, index=ind).hex(" ").upper()
    notes = [f"{capital_first(task.name)}: {task.meaning}."]
    if asked.number and not cautious("parameter number, cyclic", asked.number):
        notes.append("Not every source allows this number.")
    if task.width and value < 0:
        notes.append(f"{value} is sent in two's complement: {asked.value}.")
    if task.array:
        notes.append(_counted_from())
    return Answer(
        f"{octets.hex(' ').upper()}. The demo drive answers {answered}.",
        because=" ".join([*notes, match(asked, answer, index=ind).sentence, *_in_the_drive(answer)]),
        caution=cautions("write") if task.writes else (),
        pictures=[ChannelPicture(asked, octets)],
        rows=[_word_row("request", word) for word in channel.explain_request(asked, index=ind)]
        + [_word_row("answer", word) for word in channel.explain_answer(answer, index=ind)],
        sources=[
            f"task {task.identifier}: {task.source or 'no source'} ({task.standing})",
            *_index_sources(),
            *_page_sources(asked, ind),
        ],
    )


def _in_the_drive(answer: Channel) -> list[str]:
    """What the demo drive calls the parameter, its unit, and the value with its sign where a sign was lost."""
    known = next((p for p in demo_store().parameters if p.number == answer.parameter), None)
    if known is None or channel.answers()[answer.identifier].kind != "value":
        return []
    value = number_of(known, answer.value) if answer.identifier != _COUNT else answer.value
    unit = f", in steps of {known.unit}" if known.unit else ""
    signed = f" With its sign the value is {value}." if value != answer.value else ""
    return [f"In the demo drive {known.number} is: {known.name}{unit}.{signed}"]


def _counted_from() -> str:
    return "The demo drive counts elements from 1 here. Some drives count from 0: the manual tells."


def _index_sources() -> list[str]:
    return [f"{row['channel']}, first subindex {row['first']}: {row.cited}" for row in facts.rows("first_subindex")]


def _page_sources(shown: Channel, ind: str) -> list[str]:
    if not shown.page:
        return []
    if "number" in ind:
        return [f"page: {row['remark']}: {row.cited}" for row in facts.where("parameter_pages", way="number")]
    rows = facts.where("parameter_pages", way="bits")
    bits = ", ".join(f"bit {row['bit']} adds {row['adds']}" for row in rows)
    return [f"page: {bits} ({', '.join(dict.fromkeys(row.standing for row in rows))})"]


def _word_row(side: str, word: ExplainedWord) -> Row:
    return {"": side, "field": word.field, "octets": word.octets, "meaning": word.meaning}


def octets_of(text: str) -> bytes:
    """Eight octets in any usual spelling; four words are taken too.

    >>> octets_of("106E 0000 0000 0050").hex()
    '106e000000000050'
    """
    octets = octets_from_text(text)
    if len(octets) != channel.OCTETS:
        raise Unreadable(f"a parameter channel has {channel.OCTETS} octets (4 words); got {len(octets)}.")
    return octets


def reply_answer(asked: bytes | None, answer: bytes, ind: str = channel.PLAIN) -> Answer:
    """An answer field by field, and whether it belongs to the request."""
    got = channel.decode(answer, index=ind)
    words = channel.explain_answer(got, index=ind)
    rows = [_word_row("answer", word) for word in words]
    kind, because = channel.answers()[got.identifier], doubt(got, index=ind)
    meaning = kind.name if kind.identifier == channel.NO_RIGHTS else words[-1].meaning
    sentence = f"Answer {kind.identifier}, parameter {got.parameter}: {meaning.rstrip('.')}."
    if asked is not None:
        wanted = channel.decode(asked, index=ind)
        belongs = match(wanted, got, index=ind)
        because = "It belongs to the request: refused." if belongs.kind == "refusal" else belongs.sentence
        rows = [_word_row("request", word) for word in channel.explain_request(wanted, index=ind)] + rows
    if got.value >= 1 << 15 and kind.kind == "value":
        width = kind.width or 32
        negative = got.value - (1 << width) if got.value >> (width - 1) else got.value
        because = f"{because} If the parameter has a sign, the value is {negative}.".strip()
    return Answer(
        sentence,
        because=because,
        pictures=[ChannelPicture(got, answer, kind="answer")],
        rows=rows,
        sources=[
            f"answer {kind.identifier}: {kind.source or 'no source'} ({kind.standing})",
            *_page_sources(got, ind),
        ],
    )


def dialogue_answer(
    listed: tuple[Task, ...], *, work: int, hold: int, running: bool, rights: bool, report: bool, power_off: bool
) -> Answer:
    """A program's tasks and the demo drive's answers, cycle by cycle."""
    begun = replace(demo_store(), running=running, rights=rights)
    talk = dialogue(begun, [request(task) for task in listed], work_cycles=work, hold_cycles=hold or None,
                    report_in_cycle=2 if report else 0)  # fmt: skip
    wrong = [n for n, outcome in enumerate(talk.outcomes, 1) if not outcome.right]
    count = len(talk.cycles)
    sentence = f"{counted(len(listed), 'task')}, {count} bus cycles. "
    if wrong:
        sentence += f"Wrong for task {', '.join(map(str, wrong))}: what the program takes is not the answer to it."
    else:
        sentence += "Every answer that the program takes belongs to its task."
    after = power_cycle(talk.store) if power_off else talk.store
    folded: list[tuple[str, Sequence[Row]]] = [("Cycle by cycle", [_cycle_row(c) for c in talk.cycles])]
    return Answer(
        sentence,
        because=_kept(begun, talk.store, after, power_off=power_off),
        caution=cautions("write") if any(task.action.startswith("write") for task in listed) else (),
        pictures=[DialoguePicture(talk)],
        rows=[
            {
                "task": f"{n}  {task.text}",
                "cycles": outcome.cycles,
                "taken": channel.encode(outcome.taken).hex(" ").upper(),
                "right": "yes" if outcome.right else "NO",
                "why": outcome.sentence,
            }
            for n, (task, outcome) in enumerate(zip(listed, talk.outcomes, strict=True), 1)
        ],
        folded=folded,
    )


def _kept(begun: Store, after_talk: Store, after: Store, *, power_off: bool) -> str:
    """What has changed in the drive, and what of it outlives power off."""
    changed = [p for p in after_talk.parameters if p.values != begun[p.number].values]
    if not changed:
        return "Nothing has changed in the drive."
    told = ", ".join(f"{p.number} is now {' '.join(map(str, after[p.number].values))}" for p in changed)
    lost = [p.number for p in changed if next(s for s in after_talk.saved if s.number == p.number).values != p.values]
    if power_off:
        return f"After power off and on: {told}." + (" What was not stored is lost." if lost else " All was stored.")
    if lost:
        return (
            f"{told}. Not stored: {', '.join(map(str, lost))} will be lost at power off. Write 1 to parameter {STORE}, "
            "and wait until it reads 0, before anybody switches off."
        )
    return f"{told}. Stored: it outlives power off."


def _cycle_row(cycle: Cycle) -> Row:
    return {
        "cycle": cycle.number,
        "request": channel.encode(cycle.request).hex(" ").upper(),
        "answer": channel.encode(cycle.answer).hex(" ").upper(),
        "what it is": cycle.match.sentence,
    }


def lists_answer(name: str, needs: tuple[Signal, ...]) -> Answer:
    """The parameter tasks that give the free words of a format their signals."""
    form = data_formats.by_name(name)
    places = mapping(form, ["STW1", "NSOLL_A", "ZSW1", "NIST_A", *needs])
    free = [place for place in places if not place.fixed and place.number is not None]
    used, empty = ([_list_row(p) for p in free if bool(p.signal) is named] for named in (True, False))
    return Answer(
        f"{len(used)} words to be written into the lists 915 (out) and 916 (in) for {name}."
        if used
        else f"{name} has no free word for these signals, or nothing is asked for.",
        because="A signal of 32 bits takes two words; both elements name it. Then store: write 1 to 971.",
        caution=cautions("write") if used else (),
        pictures=[FormatPicture(form, needs)],
        rows=used,
        folded=[("Words that carry nothing: write 0 there", empty)],
        sources=[row.cited for row in facts.rows("signal_lists")],
    )


def _list_row(place: Assignment) -> Row:
    task = channel.change(place.parameter, place.number or 0, subindex=place.pzd)
    return {
        "word": f"{'out' if place.parameter == list_parameter('out') else 'in'} {place.pzd}",
        "signal": f"{place.signal} {place.half}".strip() or "none",
        "write": f"{place.parameter}.{place.pzd} = {place.number}",
        "cyclic task": channel.encode(task).hex(" ").upper(),
        "acyclic subindex": str(place.pzd - FIRST_SUBINDEX["cyclic"] + FIRST_SUBINDEX["acyclic"]),
    }


def parameter_answer(number: int) -> Answer:
    """What the profile says of a parameter number; `Unknown` for a number of the maker's own."""
    known = profile_parameter(number)
    if known is None:
        raise Unknown(f"{number} is not in the profile's list: a number of the maker's own, see the drive's manual.")
    kind = f", {known.type}" if known.type else ""
    return Answer(
        f"{known.number}: {known.name}{kind}",
        because=" ".join(text for text in (known.remark, f"[{known.source}; {known.standing}]") if text),
    )


def error_answer(number: int) -> Answer:
    """An error number in each of the three tables: which one holds depends on where it stood."""
    cyclic, acyclic = refusal(number), refusal(number, acyclic=True)
    row = acyclic_service.service_error(number)
    use = f": {row['with_parameters']}" if row is not None and row.has("with_parameters") else ""
    service = f"{row['code']}: {row['class']}, {row['meaning']}{use}." if row is not None else ""
    places = (
        ("an answer 7 of the cyclic channel", cyclic.sentence, _cited(cyclic)),
        ("an acyclic parameter response", acyclic.sentence, _cited(acyclic)),
        (
            "a refused acyclic service (DE or DF), as error code 1",
            service or f"16#{number:02X} is not in the table.",
            "" if row is None else row.cited,
        ),
    )
    return Answer(
        f"Error number {number} (16#{number:02X}): what it means depends on where it stood.",
        rows=[{"where it stood": place, "what it means": meaning} for place, meaning, _ in places],
        sources=[f"{place}: {source}" for place, _, source in places if source],
    )


def _cited(known: Refusal) -> str:
    return f"{known.source} ({known.standing})" if known.source else known.standing


def error_number(typed: str) -> int:
    """An error number as it is printed: codes of a refused service bare (B5), all others decimal.

    >>> error_number("B5"), error_number("17")
    (181, 17)
    """
    bare = re.fullmatch(r"[0-9a-f]{2}", typed.strip(), re.IGNORECASE) and not typed.strip().isdecimal()
    number = int(typed, 16) if bare else whole(typed)
    in_range("error number", number, 0, 0xFFFF, source="one word")
    return number
