"""A maker's own way to read and write parameters: request and answer fields in process data words.

The drive is the invented one of the Saltmarsh Mill. Its fields are rows of `data/demo/device_parameter_fields.csv`,
its codes rows of `data/demo/device_parameter_codes.csv`. It acts when the running number of the request changes,
and its answer repeats that number: so an old answer can be told from the new one, which the profile's channel
does not offer. Other makers have other fields; the manual of the drive decides.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

from helpers import facts
from helpers.answer import Answer, Row
from helpers.drive.parameters.access import STORE, value_of
from helpers.drive.parameters.parameter_store import Refused, Store, changed, demo_store, number_of, raw
from helpers.drive.scaling import join, split
from helpers.errors import Unreadable, in_range
from helpers.safe_work import cautions

NOTHING, READ, WRITE, WRITE_AND_STORE = range(4)
DONE, WORKING = 1, 2
NO_SUCH, READ_ONLY, OUT_OF_RANGE, NOT_RUNNING, UNKNOWN_TASK = range(16, 21)

_ANSWERED_BEFORE = 110  # the parameter that the drive answered last; its value then stands in the answer

# From the error numbers of the profile, which the store uses, to this drive's own.
_OWN_NUMBER = {0: NO_SUCH, 1: READ_ONLY, 2: OUT_OF_RANGE, 11: READ_ONLY, 17: NOT_RUNNING}


@dataclass(frozen=True)
class DeviceRequest:
    """The five words out: running number, task, parameter number, value (32 bits)."""

    count: int
    task: int
    number: int = 0
    value: int = 0


@dataclass(frozen=True)
class DeviceAnswer:
    """The five words in: running number of the request answered, result, parameter number, value (32 bits)."""

    count: int
    result: int
    number: int = 0
    value: int = 0


@cache
def fields(direction: str) -> tuple[str, ...]:
    """The names of the words of one direction, `out` or `in`, in their order.

    >>> fields("out")[0]
    'REQ_COUNT'
    """
    return tuple(row["field"] for row in facts.where("demo/device_parameter_fields", direction=direction))


@cache
def codes(field: str) -> dict[int, str]:
    """The codes of REQ_TASK or ANS_RESULT with their names.

    >>> codes("ANS_RESULT")[2]
    'still working'
    """
    return {row.whole("code"): row["name"] for row in facts.where("demo/device_parameter_codes", field=field)}


def encode(message: DeviceRequest | DeviceAnswer) -> tuple[int, ...]:
    """The five words of a request or an answer.

    >>> encode(DeviceRequest(7, READ, 110))
    (7, 1, 110, 0, 0)
    """
    code = message.task if isinstance(message, DeviceRequest) else message.result
    for name, value in (("running number", message.count), ("code", code), ("parameter number", message.number)):
        in_range(name, value, 0, 0xFFFF, source="a word has 16 bits")
    return (message.count, code, message.number, *split(message.value))


def decode_request(words: tuple[int, ...]) -> DeviceRequest:
    """The request in five words."""
    count, task, number, high, low = _five(words, "out")
    return DeviceRequest(count, task, number, join(high, low))


def decode_answer(words: tuple[int, ...]) -> DeviceAnswer:
    """The answer in five words.

    >>> decode_answer((7, 1, 110, 0, 80)).value
    80
    """
    count, result, number, high, low = _five(words, "in")
    return DeviceAnswer(count, result, number, join(high, low))


def explain(request: DeviceRequest, answer: DeviceAnswer) -> str:
    """What the answer says about the request, in a sentence.

    >>> explain(DeviceRequest(8, READ, 110), DeviceAnswer(7, DONE, 110, 80))
    'The answer bears number 7, the request 8: it is the old answer. Keep the request and wait.'
    """
    if answer.count != request.count:
        return (
            f"The answer bears number {answer.count}, the request {request.count}: it is the old answer. "
            "Keep the request and wait."
        )
    found = facts.where("demo/device_parameter_codes", field="ANS_RESULT", code=answer.result)
    if not found:
        return f"Result {answer.result} is not in the drive's list."
    (row,) = found
    told = f"Result {answer.result}: {row['name']}."
    if answer.result == DONE:
        return f"{told} Parameter {answer.number} is {answer.value}."
    return f"{told} {row['to_do']}".rstrip()


def respond(store: Store, request: DeviceRequest) -> tuple[DeviceAnswer, Store]:
    """The answer of the drive, and its parameters afterwards.

    >>> respond(demo_store(), DeviceRequest(7, READ, 110))[0]
    DeviceAnswer(count=7, result=1, number=110, value=80)
    """
    if request.task == NOTHING:
        return DeviceAnswer(request.count, 0), store
    if request.task not in (READ, WRITE, WRITE_AND_STORE):
        return DeviceAnswer(request.count, UNKNOWN_TASK, request.number), store
    try:
        parameter = store[request.number]
        if request.task != READ:
            mask = (1 << parameter.bits) - 1
            store = changed(store, request.number, 0, number_of(parameter, request.value & mask))
        if request.task == WRITE_AND_STORE:
            store = changed(store, STORE, 0, 1)
    except Refused as refused:
        return DeviceAnswer(request.count, _OWN_NUMBER[refused.number], request.number), store
    return DeviceAnswer(request.count, DONE, request.number, raw(store[request.number], 0)), store


def _five(words: tuple[int, ...], direction: str) -> tuple[int, ...]:
    names = fields(direction)
    if len(words) != len(names):
        raise Unreadable(f"these fields are {len(names)} words ({', '.join(names)}); got {len(words)}.")
    return words


@dataclass(frozen=True)
class RequestPicture:
    """The five words out and the five in, each with its name; the two running numbers are joined."""

    request: DeviceRequest
    answer: DeviceAnswer

    @property
    def agree(self) -> bool:
        """True if both bear one running number."""
        return self.request.count == self.answer.count

    @property
    def words(self) -> dict[str, list[tuple[str, int]]]:
        """The words of each direction with their names."""
        sides = (("out", encode(self.request)), ("in", encode(self.answer)))
        return {way: list(zip(fields(way), words, strict=True)) for way, words in sides}

    @property
    def says(self) -> str:
        """All ten words by name, and whether the running numbers agree."""
        named = [f"{name} {word}" for words in self.words.values() for name, word in words]
        return ", ".join([*named, "numbers agree" if self.agree else "numbers differ"])


def request_answer(*, before: int, count: int, task: int, number: int, value: int, running: bool) -> Answer:
    """What the drive makes of a request, given the running number that it answered last."""
    parameter = next((p for p in demo_store().parameters if p.number == number), None)
    bits = parameter.bits if parameter else 32
    asked = DeviceRequest(count, task, number, value_of(value, bits) if task in (WRITE, WRITE_AND_STORE) else 0)
    old = DeviceAnswer(before, DONE, _ANSWERED_BEFORE, demo_store()[_ANSWERED_BEFORE].values[0])
    new, _ = respond(replace(demo_store(), running=running), asked)
    acted = count != before
    answer = new if acted else old
    if acted:
        sentence = explain(asked, answer)
        because = f"The running number went from {before} to {count}: the drive acts once and repeats {count}."
        if parameter and answer.result == DONE and (signed := number_of(parameter, answer.value)) != answer.value:
            because += f" With its sign the value is {signed}."
    else:
        sentence = f"The drive does nothing: the running number is still {count}."
        because = (
            "The answer of last time stands there and bears the same number. A program that looks at the number alone "
            "takes it for the new answer. Raise the running number for every request."
        )
    return Answer(
        sentence,
        because=because,
        caution=cautions("write") if task in (WRITE, WRITE_AND_STORE) else (),
        pictures=[RequestPicture(asked, answer)],
        rows=[_field_row(row, word) for way, words in (("out", encode(asked)), ("in", encode(answer)))
              for row, word in zip(facts.where("demo/device_parameter_fields", direction=way), words, strict=True)],
        sources=[facts.rows("demo/device_parameter_fields")[0].source],
    )  # fmt: skip


def _field_row(row: facts.Fact, word: int) -> Row:
    name = codes(row["field"]).get(word, "") if row["field"] in ("REQ_TASK", "ANS_RESULT") else ""
    return {"field": row["field"], "word": f"16#{word:04X}", "says": name or str(word), "meaning": row["meaning"]}
