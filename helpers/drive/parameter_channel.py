"""The cyclic parameter channel: four words beside the process data that carry one parameter at a time.

    word 1, PKE    bits 15-12 task or answer · bit 11 change report · bits 10-0 parameter number
    word 2, IND    high byte subindex · low byte not defined by the profile, a page on some drives
    word 3, PWE1   high word of the value, 0 for a word
    word 4, PWE2   low word of the value, or the error number of a refusal

Sources: Lenze 931M/W manual p.42-43, Toshiba manual E6581738 p.15, a Mitsubishi inverter manual p.45. The tasks and
answers are rows of `data/parameter_tasks.csv` and `data/parameter_answers.csv`. Octets run high byte first.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache

from helpers import facts
from helpers.drive.parameters import check, profile_parameter, refusal, value_of
from helpers.errors import OutOfRange, Unreadable, in_range, one_of
from helpers.wording import capital_first

OCTETS = 8
SUBINDEX_BYTES = ("high", "low")  # where the subindex stands in IND; makers differ
NO_TASK, DESCRIPTION, REFUSED, NO_RIGHTS = 0, 3, 7, 8


@dataclass(frozen=True)
class Channel:
    """What the four words say. The same fields serve a request and an answer.

    identifier: task or answer, 0 to 15; report: bit 11, a changed parameter is reported; number: parameter
    number; subindex and other: the two bytes of IND; value: 32 bits as they stand on the bus.
    """

    identifier: int
    number: int = 0
    subindex: int = 0
    value: int = 0
    report: bool = False
    other: int = 0


@dataclass(frozen=True)
class Task:
    """A row of the table of tasks. `answers`: what a good answer bears; `width`: bits of the value, 0 if none."""

    identifier: int
    name: str
    answers: tuple[int, ...]
    width: int
    array: bool
    writes: bool
    meaning: str
    source: str
    standing: str

    @property
    def indexed(self) -> bool:
        """True if IND names an element: of an array, or of the description (the latter is from memory)."""
        return self.array or self.answers == (DESCRIPTION,)


@dataclass(frozen=True)
class Answer:
    """A row of the table of answers. `kind`: none, value, refusal, report or reserved."""

    identifier: int
    name: str
    kind: str
    width: int
    array: bool
    meaning: str
    source: str
    standing: str

    @property
    def indexed(self) -> bool:
        """As for a task."""
        return self.array or self.identifier == DESCRIPTION


@dataclass(frozen=True)
class Field:
    """One line of an explanation: field, its octets as printed, and what they mean."""

    field: str
    octets: str
    meaning: str


@dataclass(frozen=True)
class Match:
    """Whether an answer belongs to a request. `kind`: answer, refusal, none, report, or other."""

    kind: str
    sentence: str

    @property
    def belongs(self) -> bool:
        """True if the request is answered, well or by a refusal."""
        return self.kind in ("answer", "refusal")


@cache
def tasks() -> tuple[Task, ...]:
    """The 16 tasks, by identifier.

    >>> tasks()[6].name, tasks()[6].answers
    ('read a value of an array', (4, 5))
    """
    return tuple(
        Task(
            row.whole("task"),
            row["name"],
            tuple(int(n) for n in row["answers"].split()),
            int(row["width"] or 0),
            row["array"] == "yes",
            row["writes"] == "yes",
            row["meaning"],
            row.source,
            row.standing,
        )
        for row in facts.rows("parameter_tasks")
    )


@cache
def answers() -> tuple[Answer, ...]:
    """The 16 answers, by identifier.

    >>> answers()[7].name
    'task cannot be executed'
    """
    return tuple(
        Answer(
            row.whole("answer"),
            row["name"],
            row["kind"],
            int(row["width"] or 0),
            row["array"] == "yes",
            row["meaning"],
            row.source,
            row.standing,
        )
        for row in facts.rows("parameter_answers")
    )


def decode(octets: bytes, *, subindex_byte: str = "high") -> Channel:
    """The fields of the eight octets; any eight octets can be read.

    Parameters: octets, as in the telegram; subindex_byte, the byte of IND that bears the subindex.

    >>> decode(bytes.fromhex("139A000000000065"))
    Channel(identifier=1, number=922, subindex=0, value=101, report=False, other=0)
    """
    one_of("place of the subindex", subindex_byte, SUBINDEX_BYTES)
    if len(octets) != OCTETS:
        raise Unreadable(f"a parameter channel has {OCTETS} octets (4 words); got {len(octets)}.")
    identifier, number = octets[0] >> 4, int.from_bytes(octets[:2], "big") & 0x07FF
    subindex, other = octets[2:4] if subindex_byte == "high" else reversed(octets[2:4])
    return Channel(identifier, number, subindex, int.from_bytes(octets[4:], "big"), bool(octets[0] & 0x08), other)


def encode(channel: Channel, *, subindex_byte: str = "high") -> bytes:
    """The eight octets of the fields.

    >>> encode(read(922)).hex(" ").upper()
    '13 9A 00 00 00 00 00 00'
    """
    one_of("place of the subindex", subindex_byte, SUBINDEX_BYTES)
    in_range("task or answer", channel.identifier, 0, 15, source="4 bits")
    in_range("parameter number", channel.number, 0, 0x07FF, source="11 bits")
    in_range("subindex", channel.subindex, 0, 0xFF, source="8 bits")
    in_range("other byte of IND", channel.other, 0, 0xFF, source="8 bits")
    in_range("value", channel.value, 0, 0xFFFFFFFF, source="32 bits")
    first = channel.identifier << 12 | channel.report << 11 | channel.number
    index = (channel.subindex, channel.other) if subindex_byte == "high" else (channel.other, channel.subindex)
    return first.to_bytes(2, "big") + bytes(index) + channel.value.to_bytes(4, "big")


def no_task() -> Channel:
    """The pause: to be sent between two equal requests, so that the answer to the second can be told apart."""
    return Channel(NO_TASK)


def read(number: int, *, subindex: int | None = None) -> Channel:
    """The request that reads a parameter, or one element of an array if a subindex is given.

    >>> read(964, subindex=2).identifier
    6
    """
    check("parameter number, cyclic", number)
    return Channel(1 if subindex is None else 6, number, subindex or 0)


def change(number: int, value: int, *, bits: int = 16, subindex: int | None = None) -> Channel:
    """The request that changes a parameter of 16 or 32 bits, or one element of an array.

    A negative value is sent in two's complement.

    >>> encode(change(927, 1)).hex(" ").upper()
    '23 9F 00 00 00 00 00 01'
    """
    check("parameter number, cyclic", number)
    if bits not in (16, 32):
        raise OutOfRange(f"bits is {bits}; the parameter channel carries values of 16 or 32 bits.")
    (task,) = (
        t.identifier
        for t in tasks()[:10]  # the profile's own; those above are extensions of single makers
        if t.writes and t.width == bits and t.array == (subindex is not None) and t.answers != (DESCRIPTION,)
    )
    return Channel(task, number, subindex or 0, value_of(value, bits))


def number_of_elements(number: int) -> Channel:
    """The request for the number of elements of an array."""
    check("parameter number, cyclic", number)
    return Channel(9, number)


def match(request: Channel, answer: Channel) -> Match:
    """Whether an answer belongs to a request.

    It does if its identifier is one that the task can bring, its parameter number is the one asked, and for an
    array its subindex too (Delta PD-01 manual p.15). A drive repeats its last answer until the task changes, so
    an answer on the bus may still be the one before; and two equal requests in a row cannot be told apart at
    all without a pause between them.

    >>> match(read(922), decode(bytes.fromhex("139A000000000065"))).kind
    'answer'
    >>> match(read(930), decode(bytes.fromhex("139A000000000065"))).kind
    'other'
    """
    task, got = tasks()[request.identifier & 0xF], answers()[answer.identifier & 0xF]
    if got.kind == "none":
        if request.identifier == NO_TASK:
            return Match("answer", "Nothing was asked, and nothing is answered.")
        return Match("none", "No answer yet: keep the request as it is.")
    if got.kind == "report":
        return Match(
            "report",
            f"The drive reports by itself that parameter {answer.number} has changed; this is no answer. "
            "Bit 11 marks it; how it is confirmed is in the drive's manual. Keep the request and wait.",
        )
    if answer.number != request.number or request.identifier == NO_TASK:
        return Match(
            "other",
            f"This answer is for parameter {answer.number}, not for the present request: it is the answer to "
            "the task before. Keep the request and wait.",
        )
    if got.identifier == REFUSED:
        return Match("refusal", refusal(answer.value & 0xFFFF).sentence)
    if got.identifier == NO_RIGHTS:
        return Match("refusal", f"{capital_first(got.name)}: {got.meaning}.")
    if got.identifier not in task.answers:
        return Match(
            "other",
            f"Answer {got.identifier} ({got.name}) does not fit task {task.identifier} ({task.name}): it is the "
            "answer to the task before. Keep the request and wait.",
        )
    if task.array and answer.subindex != request.subindex:
        return Match(
            "other",
            f"This answer is for element {answer.subindex}, element {request.subindex} was asked: it is the "
            "answer to the task before. Keep the request and wait.",
        )
    if task.writes and answer.value != request.value:
        return Match(
            "other",
            f"The answer repeats {answer.value}, {request.value} was written: it is the answer to the task "
            "before, or the drive keeps another value. Read the parameter back.",
        )
    return Match("answer", f"Answered: {_value(got.width, answer.value)}.")


def follow(cycles: Iterable[tuple[Channel, Channel]]) -> tuple[Match, ...]:
    """The cycles of a dialogue, request and answer side by side: which answers belong, and which are old.

    To a drive, the same request again is no new task, unless it has answered 0 in between: it repeats its
    answer, and a second change is not carried out. Such an answer is marked in its sentence.

    >>> old = decode(bytes.fromhex("139A000000000065"))
    >>> [m.kind for m in follow([(read(922), old), (read(930), old)])]
    ['answer', 'other']
    """
    told: list[Match] = []
    answered: Channel | None = None
    for request, answer in cycles:
        found = match(request, answer)
        if found.belongs and request == answered:
            again = "It is the old answer repeated. To ask anew, send task 0, wait for answer 0, then ask."
            found = replace(found, sentence=f"{found.sentence} {again}")
        told.append(found)
        if answers()[answer.identifier & 0xF].kind == "none":
            answered = None
        elif found.belongs:
            answered = request
    return tuple(told)


def explain_request(request: Channel, *, subindex_byte: str = "high") -> tuple[Field, ...]:
    """A request, field by field; subindex_byte as for `encode`."""
    task = tasks()[request.identifier & 0xF]
    identifier = f"task {task.identifier}: {task.name} ({task.meaning})"
    return _explain(encode(request, subindex_byte=subindex_byte), request, identifier, task.width, task.indexed, "")


def explain_answer(answer: Channel, *, subindex_byte: str = "high") -> tuple[Field, ...]:
    """An answer, field by field; subindex_byte as for `encode`.

    >>> explain_answer(decode(bytes.fromhex("139A000000000065")))[-1].meaning
    '101 (16#0065)'
    """
    got = answers()[answer.identifier & 0xF]
    error = refusal(answer.value & 0xFFFF).sentence if got.identifier == REFUSED else ""
    identifier = f"answer {got.identifier}: {got.name} ({got.meaning})"
    return _explain(encode(answer, subindex_byte=subindex_byte), answer, identifier, got.width, got.indexed, error)


def _explain(
    sent: bytes, channel: Channel, identifier: str, width: int, indexed: bool, error: str
) -> tuple[Field, ...]:
    octets = sent.hex(" ").upper()
    known = profile_parameter(channel.number)
    name = f" ({known.name})" if known else ""
    report = "1: the drive reports a changed parameter" if channel.report else "0: no report"
    index = f"element {channel.subindex}" if indexed else f"{channel.subindex}, not used by this task"
    return (
        Field("PKE bits 15-12", octets[:5], identifier),
        Field("PKE bit 11", octets[:5], report),
        Field("PKE bits 10-0", octets[:5], f"parameter {channel.number}{name}"),
        Field("IND", octets[6:11], index),
        Field("PWE1 PWE2", octets[12:], error or _value(width, channel.value)),
    )


def _value(width: int, value: int) -> str:
    if width == 0 and value == 0:
        return "no value"
    if width != 32 and value <= 0xFFFF:
        return f"{value} (16#{value:04X})"
    return f"{value} (16#{value:08X})"
