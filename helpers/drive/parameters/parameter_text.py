"""Parameter tasks as a person writes them, one on a line, for the cyclic channel and the acyclic request.

read 918              a parameter                      write 110 = 95        a word
read 964.2            element 2 of an array            write32 121 = -70000  a double word
read 964.0 x 6        six elements (acyclic only)      elements 964          how many elements it has
pause                 task 0 (cyclic only)
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from helpers import written
from helpers.drive.parameters import acyclic, parameter_channel
from helpers.drive.parameters.acyclic import Address, ParameterValues, Request, format_of
from helpers.drive.parameters.parameter_channel import Channel
from helpers.errors import OutOfRange, Unreadable, quoted

MOST_LINES = 40

_LINE = re.compile(
    r"(read|write|write32|elements|pause)(?:\s+(\S+?)(?:\s*[.\[]\s*(\d+)\s*\]?)?(?:\s*x\s*(\d+))?(?:\s*=\s*(.+))?)?",
    re.IGNORECASE,
)
_EXAMPLES = "read 918, read 964.2, write 110 = 95, write32 121 = -70000, elements 964 or pause"


@dataclass(frozen=True)
class Task:
    """One line: what to do, with which parameter, element (None: no array), how many elements, and value."""

    action: str
    number: int = 0
    subindex: int | None = None
    elements: int = 1
    value: int = 0

    @property
    def text(self) -> str:
        """The line as one would write it."""
        place = "" if self.subindex is None else f".{self.subindex}"
        many = f" x {self.elements}" if self.elements > 1 else ""
        value = f" = {self.value}" if self.action.startswith("write") else ""
        return f"{self.action} {self.number}{place}{many}{value}" if self.action != "pause" else "pause"


def tasks(text: str) -> tuple[Task, ...]:
    """The tasks of a text, one on each line; lines may also be parted by semicolons.

    >>> [task.text for task in tasks("read 918; write 110 = 95")]
    ['read 918', 'write 110 = 95']
    """
    lines = [line.strip() for line in re.split(r"[\n;]", text) if line.strip()]
    if not lines:
        raise Unreadable(f"there is no task; write for example {_EXAMPLES}.")
    if len(lines) > MOST_LINES:
        raise OutOfRange(f"{len(lines)} tasks are given; up to {MOST_LINES} can be followed at once.")
    return tuple(map(_task, lines))


def _task(line: str) -> Task:
    found = _LINE.fullmatch(line)
    shown = quoted(line)
    if not found:
        raise Unreadable(f"{shown} is not a task; write for example {_EXAMPLES}.")
    action, number, subindex, elements, value = found.groups()
    action = action.lower()
    if (number is None) != (action == "pause") or (value is None) == action.startswith("write"):
        raise Unreadable(f"{shown} lacks something or has too much; write for example {_EXAMPLES}.")
    return Task(
        action,
        written.whole(number) if number else 0,
        int(subindex) if subindex else None,
        int(elements) if elements else 1,
        written.whole(value) if value else 0,
    )


def request(task: Task) -> Channel:
    """The request of the cyclic channel for a task.

    >>> parameter_channel.encode(request(tasks("write 110 = 95")[0])).hex(" ").upper()
    '20 6E 00 00 00 00 00 5F'
    """
    if task.action == "pause":
        return parameter_channel.no_task()
    if task.elements != 1:
        raise OutOfRange(f"{task.text}: the cyclic channel carries one element at a time.")
    if task.action == "read":
        return parameter_channel.read(task.number, subindex=task.subindex)
    if task.action == "elements":
        return parameter_channel.number_of_elements(task.number)
    bits = 32 if task.action == "write32" else 16
    return parameter_channel.change(task.number, task.value, bits=bits, subindex=task.subindex)


def acyclic_request(listed: tuple[Task, ...], *, reference: int = 1, axis: int = 1) -> Request:
    """One acyclic request for all the tasks: all of them read, or all of them write.

    >>> acyclic.encode_request(acyclic_request(tasks("read 110"), reference=37)).hex(" ").upper()
    '25 01 01 01 10 00 00 6E 00 00'
    """
    kinds = {task.action.removesuffix("32") for task in listed}
    if kinds - {"read", "write"}:
        raise Unreadable("an acyclic request reads or writes; elements and pause belong to the cyclic channel.")
    if len(kinds) > 1:
        raise Unreadable("one acyclic request either reads or writes; make two requests of it.")
    addresses = tuple(
        Address(task.number, task.subindex or 0, 0 if task.subindex is None else task.elements) for task in listed
    )
    if kinds == {"read"}:
        return Request("read", addresses, reference=reference, axis=axis)
    groups = tuple(_values(task) for task in listed)
    return Request("change", addresses, groups, reference=reference, axis=axis)


def _values(task: Task) -> ParameterValues:
    if task.elements != 1:
        raise OutOfRange(f"{task.text}: write one element on each line.")
    bits = 32 if task.action == "write32" else 16
    name = {(16, False): "Unsigned16", (16, True): "Integer16", (32, False): "Unsigned32", (32, True): "Integer32"}
    return acyclic.values(format_of(name[bits, task.value < 0]).code, [task.value])
