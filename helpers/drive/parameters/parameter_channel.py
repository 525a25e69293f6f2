"""The cyclic parameter channel: four words beside the process data that carry one parameter at a time.

    word 1, PKE    bits 15-12 task or answer · bit 11 change report · bits 10-0 parameter number
    word 2, IND    one octet the subindex · the other free: not defined by the profile, a page on some drives
    word 3, PWE1   high word of the value, 0 for a word
    word 4, PWE2   low word of the value, or the error number of a refusal

Sources: Lenze 931M/W manual p.42-43, Toshiba manual E6581738 p.15, a Mitsubishi inverter manual p.45. The tasks and
answers are rows of `data/parameter_tasks.csv` and `data/parameter_answers.csv`. Octets run high byte first.

Makers differ in IND. Which octet bears what is therefore an option, one of `INDEX_USES`, and never guessed. A page
adds to the parameter number; some makers count the pages, others give each bit its own weight
(`data/parameter_pages.csv`).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from helpers import facts
from helpers.drive.parameters.access import profile_parameter, refusal, value_of
from helpers.errors import OutOfRange, Unreadable, in_range, one_of

OCTETS = 8
# What the two octets of IND hold, the first named first. Makers differ; the manual of the drive decides.
INDEX_USES = (
    "subindex, free",
    "free, subindex",
    "subindex, page bits",
    "page bits, subindex",
    "subindex, page number",
    "page number, subindex",
)
PLAIN = INDEX_USES[0]
NO_TASK, DESCRIPTION, REFUSED, NO_RIGHTS = 0, 3, 7, 8

PAGE = facts.one("parameter_pages", way="number").whole("adds")  # parameters on a page
_PAGE_BITS = {1 << row.whole("bit"): row.whole("adds") // PAGE for row in facts.where("parameter_pages", way="bits")}
_PAGE_MASK = sum(_PAGE_BITS)
HIGHEST = 0xFF * PAGE + PAGE - 1


@dataclass(frozen=True)
class Channel:
    """What the four words say. The same fields serve a request and an answer.

    identifier: task or answer, 0 to 15; report: bit 11, a changed parameter is reported; number: bits 10 to 0;
    subindex: an octet of IND; page: the page that the other octet bears, 0 where it bears none; other: what else
    stands in that octet; value: 32 bits as they stand on the bus.
    """

    identifier: int
    number: int = 0
    subindex: int = 0
    value: int = 0
    report: bool = False
    other: int = 0
    page: int = 0

    @property
    def parameter(self) -> int:
        """The parameter number, with what the page adds."""
        return self.page * PAGE + self.number


@dataclass(frozen=True)
class TaskKind:
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
class AnswerKind:
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
class ExplainedWord:
    """One line of an explanation: field, its octets as printed, and what they mean."""

    field: str
    octets: str
    meaning: str


@cache
def tasks() -> tuple[TaskKind, ...]:
    """The 16 tasks, by identifier.

    >>> tasks()[6].name, tasks()[6].answers
    ('read a value of an array', (4, 5))
    """
    return tuple(
        TaskKind(
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
def answers() -> tuple[AnswerKind, ...]:
    """The 16 answers, by identifier.

    >>> answers()[7].name
    'task cannot be executed'
    """
    return tuple(
        AnswerKind(
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


def decode(octets: bytes, *, index: str = PLAIN) -> Channel:
    """The fields of the eight octets; any eight octets can be read.

    Parameters: octets, as in the telegram; index, what the octets of IND hold, one of `INDEX_USES`.

    >>> decode(bytes.fromhex("106E000000000050"))
    Channel(identifier=1, number=110, subindex=0, value=80, report=False, other=0, page=0)
    >>> decode(bytes.fromhex("106E008000000050"), index="subindex, page bits").parameter
    2110
    """
    one_of("use of IND", index, INDEX_USES)
    if len(octets) != OCTETS:
        raise Unreadable(f"a parameter channel has {OCTETS} octets (4 words); got {len(octets)}.")
    identifier, number = octets[0] >> 4, int.from_bytes(octets[:2], "big") & 0x07FF
    subindex, other = octets[2:4] if index.startswith("subindex") else reversed(octets[2:4])
    page = 0
    if "page bits" in index:
        page, other = sum(pages for bit, pages in _PAGE_BITS.items() if other & bit), other & ~_PAGE_MASK
    elif "page number" in index:
        page, other = other, 0
    value = int.from_bytes(octets[4:], "big")
    return Channel(identifier, number, subindex, value, bool(octets[0] & 0x08), other, page)


def encode(channel: Channel, *, index: str = PLAIN) -> bytes:
    """The eight octets of the fields; index as for `decode`.

    >>> encode(read(110)).hex(" ").upper()
    '10 6E 00 00 00 00 00 00'
    >>> encode(read(2110), index="page number, subindex").hex(" ").upper()
    '10 6E 01 00 00 00 00 00'
    """
    one_of("use of IND", index, INDEX_USES)
    beside, pages = 0xFF, 0  # what may stand in the octet beside the subindex
    if "page" in index:
        beside, pages = (0xFF & ~_PAGE_MASK, sum(_PAGE_BITS.values())) if "bits" in index else (0, 0xFF)
    elif channel.page:
        raise OutOfRange(
            f"parameter {channel.parameter} is above {PAGE - 1}, and the number in the first word goes no higher. Some "
            "drives put a page into IND, in one octet or the other. Look it up in the drive's manual, then choose "
            "what IND holds."
        )
    in_range("task or answer", channel.identifier, 0, 15, source="4 bits")
    in_range("parameter number", channel.number, 0, 0x07FF, source="11 bits")
    in_range("subindex", channel.subindex, 0, 0xFF, source="8 bits")
    in_range(f"page of parameter {channel.parameter}", channel.page, 0, pages, source=f"IND as {index}")
    in_range("what else IND bears", channel.other, 0, beside, source=f"IND as {index}")
    in_range("value", channel.value, 0, 0xFFFFFFFF, source="32 bits")
    first = channel.identifier << 12 | channel.report << 11 | channel.number
    if "number" in index:
        other = channel.page
    else:
        other = channel.other | sum(bit for bit, pages in _PAGE_BITS.items() if channel.page & pages)
    octets = (channel.subindex, other) if index.startswith("subindex") else (other, channel.subindex)
    return first.to_bytes(2, "big") + bytes(octets) + channel.value.to_bytes(4, "big")


def no_task() -> Channel:
    """The pause: to be sent between two equal requests, so that the answer to the second can be told apart."""
    return Channel(NO_TASK)


def read(number: int, *, subindex: int | None = None) -> Channel:
    """The request that reads a parameter, or one element of an array if a subindex is given.

    >>> read(964, subindex=2).identifier
    6
    """
    return _request(1 if subindex is None else 6, number, subindex or 0)


def change(number: int, value: int, *, bits: int = 16, subindex: int | None = None) -> Channel:
    """The request that changes a parameter of 16 or 32 bits, or one element of an array.

    A negative value is sent in two's complement.

    >>> encode(change(110, 95)).hex(" ").upper()
    '20 6E 00 00 00 00 00 5F'
    """
    if bits not in (16, 32):
        raise OutOfRange(f"bits is {bits}; the parameter channel carries values of 16 or 32 bits.")
    (task,) = (
        t.identifier
        for t in tasks()[:10]  # the profile's own; those above are extensions of single makers
        if t.writes and t.width == bits and t.array == (subindex is not None) and t.answers != (DESCRIPTION,)
    )
    return _request(task, number, subindex or 0, value_of(value, bits))


def number_of_elements(number: int) -> Channel:
    """The request for the number of elements of an array."""
    return _request(9, number)


def _request(task: int, parameter: int, subindex: int = 0, value: int = 0) -> Channel:
    in_range("parameter number, cyclic", parameter, 0, HIGHEST, source=f"{PAGE - 1}, and above it by pages")
    return Channel(task, parameter % PAGE, subindex, value, page=parameter // PAGE)


def explain_request(request: Channel, *, index: str = PLAIN) -> tuple[ExplainedWord, ...]:
    """A request, field by field; index as for `encode`."""
    task = tasks()[request.identifier & 0xF]
    identifier = f"task {task.identifier}: {task.name} ({task.meaning})"
    return _explain(encode(request, index=index), request, identifier, task.width, task.indexed, "")


def explain_answer(answer: Channel, *, index: str = PLAIN) -> tuple[ExplainedWord, ...]:
    """An answer, field by field; index as for `encode`.

    >>> explain_answer(decode(bytes.fromhex("106E000000000050")))[-1].meaning
    '80 (16#0050)'
    """
    got = answers()[answer.identifier & 0xF]
    error = refusal(answer.value & 0xFFFF).sentence if got.identifier == REFUSED else ""
    identifier = f"answer {got.identifier}: {got.name} ({got.meaning})"
    if got.kind == "report" and not answer.report:
        identifier = f"answer {got.identifier}: that of a report, yet bit 11, which marks one, is 0"
    return _explain(encode(answer, index=index), answer, identifier, got.width, got.indexed, error)


def _explain(
    sent: bytes, channel: Channel, identifier: str, width: int, indexed: bool, error: str
) -> tuple[ExplainedWord, ...]:
    octets = sent.hex(" ").upper()
    known = profile_parameter(channel.parameter)
    name = f" ({known.name})" if known else ""
    report = "1: the drive reports a changed parameter" if channel.report else "0: no report"
    paged = f"{channel.number} and the page's {channel.page * PAGE}: " if channel.page else ""
    return (
        ExplainedWord("PKE bits 15-12", octets[:5], identifier),
        ExplainedWord("PKE bit 11", octets[:5], report),
        ExplainedWord("PKE bits 10-0", octets[:5], f"{paged}parameter {channel.parameter}{name}"),
        ExplainedWord("IND", octets[6:11], _index(channel, indexed)),
        ExplainedWord("PWE1 PWE2", octets[12:], error or value_text(width, channel.value)),
    )


def _index(channel: Channel, indexed: bool) -> str:
    """What IND says; of octets that the profile does not define, that they are there."""
    subindex = f"element {channel.subindex}" if indexed else f"{channel.subindex}, not used by this task"
    if channel.page:
        return f"{subindex}; page: adds {channel.page * PAGE} to the parameter number"
    if channel.other:
        return (
            f"{subindex}; beside it 16#{channel.other:02X}, which the profile does not define: a page of the parameter "
            "number on some drives, see the manual"
        )
    return subindex


def value_text(width: int, value: int) -> str:
    """A value of 16 or 32 bits as a number and in hexadecimal; width 0 stands for a task that carries none."""
    if width == 0 and value == 0:
        return "no value"
    if width != 32 and value <= 0xFFFF:
        return f"{value} (16#{value:04X})"
    return f"{value} (16#{value:08X})"
