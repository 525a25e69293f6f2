"""Panels for parameters: the cyclic channel, acyclic requests, a maker's own words, the lists of the free words.

The drive that answers is the invented one of the Saltmarsh Mill.
"""

from __future__ import annotations

from helpers.answer import Answer
from helpers.device import formats as data_formats
from helpers.device.format_answers import FormatPicture
from helpers.device.identifiers import octets_from_text
from helpers.device.signals import read_signals
from helpers.drive.parameters import device_request
from helpers.drive.parameters import parameter_channel as channel
from helpers.drive.parameters.acyclic_answers import octets_answer, request_answer, time_answer
from helpers.drive.parameters.channel_answers import (
    dialogue_answer,
    lists_answer,
    octets_of,
    reply_answer,
    task_answer,
    task_from_fields,
)
from helpers.drive.parameters.parameter_text import tasks
from helpers.panels.device.formats import format_drawing
from helpers.panels.drive.parameter_drawings import DRAW
from helpers.panels.kit import fields
from helpers.panels.kit.panel import Panel

# -- the cyclic channel -------------------------------------------------------------------------------


def _ind_field() -> fields.Field:
    # A list of this width cuts the longest words off.
    return fields.choice(
        "IND holds", [(use.replace("number", "no."), use) for use in channel.INDEX_USES], channel.PLAIN
    )


# Short enough for the list; the panel's answer gives the full name of each.
_TASK_WORDS = (
    "no task",
    "read",
    "change, word",
    "change, double",
    "read description",
    "change descr.",
    "read, array",
    "change, array",
    "ch. array double",
    "count of array",
)


def task_panel() -> Panel:
    """Put a task of the parameter channel together."""

    def answer(ind: str, value: int, **given: int) -> Answer:
        return task_answer(task_from_fields(value=value, **given), ind=ind, value=value)

    listed = [(f"{number}  {words}", number) for number, words in enumerate(_TASK_WORDS)]
    return Panel(
        "Put a task together",
        {
            "identifier": fields.choice("task", listed, 2),
            "number": fields.whole("parameter number", "110", 0, channel.HIGHEST),
            "subindex": fields.whole("subindex", "1", 0, 255),
            "value": fields.whole("value", "95", -(1 << 31), (1 << 32) - 1),
            "ind": _ind_field(),
        },
        answer,
        draw=DRAW,
        hint="The subindex counts only for tasks on an array, the value only for tasks that change one. The drive is "
        "the invented one of the Saltmarsh Mill; it has the numbers 110 to 113, 120, 121 and some of the profile's. "
        f"Numbers above {channel.PAGE - 1} need a page in IND, in the octet that your drive's manual names.",
    )


def _maybe_octets(text: str) -> bytes | None:
    return octets_of(text) if text.strip() else None


def answer_panel() -> Panel:
    """Read an answer, and hold it against the request."""
    return Panel(
        "Read an answer",
        {
            "answer": fields.lines("answer", "10 6E 00 00 00 00 00 50", octets_of, rows=2),
            "asked": fields.lines("request", "10 6E 00 00 00 00 00 00", _maybe_octets, rows=2),
            "ind": _ind_field(),
        },
        reply_answer,
        draw=DRAW,
        hint="Eight octets or four words, high byte first, as in 10 6E 00 00 00 00 00 50. Without a request the answer "
        "is read alone. What IND holds differs from maker to maker: the drive's manual tells.",
    )


# 0 stands for a program that waits until the answer belongs: a list of choices cannot hold None.
_HOLD: list[tuple[str, object]] = [
    ("when it belongs", 0),
    ("after 1 cycle", 1),
    ("after 2 cycles", 2),
    ("after 3 cycles", 3),
    ("after 5 cycles", 5),
]


def dialogue_panel() -> Panel:
    """A program and the demo drive, cycle by cycle."""
    return Panel(
        "Program and drive, cycle by cycle",
        {
            "listed": fields.lines("tasks", "read 918\nread 110\nwrite 110 = 95", tasks, rows=5),
            "work": fields.slider("drive works, cycles", 2, 1, 6),
            "hold": fields.choice("program takes it", _HOLD, 0),
            "running": fields.tick("the motor is running"),
            "rights": fields.tick("the bus may change parameters", True),
            "report": fields.tick("the drive reports a change by itself"),
            "power_off": fields.tick("afterwards: power off and on"),
        },
        dialogue_answer,
        draw=DRAW,
        hint="One task on a line: read 918, read 964.2 (element 2), write 110 = 95, write32 121 = -70000, elements "
        "964, pause (task 0).",
    )


# -- acyclic requests ---------------------------------------------------------------------------------


def request_panel() -> Panel:
    """Put an acyclic request together and follow it to its response."""
    return Panel(
        "An acyclic request",
        {
            "listed": fields.lines("parameters", "read 918\nread 964.0 x 6\nread 121", tasks, rows=5),
            "reference": fields.whole("reference", "37", 1, 255),
            "axis": fields.whole("axis", "1", 0, 254),
            "slot": fields.whole("slot", "2", 0, 254),
            "busy": fields.slider("asked too early", 1, 0, 4),
            "running": fields.tick("the motor is running"),
        },
        request_answer,
        draw=DRAW,
        hint="One parameter on a line: read 918, read 964.0 x 6 (six elements from element 0), write 110 = 95, write32 "
        "121 = -70000. One request either reads or writes. Slot and axis of a real drive: its manual tells.",
    )


def decode_panel() -> Panel:
    """Read the octets of an acyclic service."""
    return Panel(
        "Read acyclic octets",
        {"octets": fields.lines("octets", "5E 02 2F 08 25 01 01 01 06 01 00 50", octets_from_text, rows=4)},
        octets_answer,
        hint="From the function octet on: 5E read, 5F write, DE or DF refused. A write bears a request, a read bears a "
        "response.",
    )


def time_panel() -> Panel:
    """The cyclic channel against acyclic requests."""
    return Panel(
        "Which way is faster?",
        {
            "parameters": fields.whole("parameters", "20", 1, 1000),
            "cycle_ms": fields.decimal("bus cycle, ms", "3", 0.1, 1000),
            "work_ms": fields.decimal("drive's work, ms", "10", 0, 1000),
            "pause": fields.tick("a pause (task 0) after each"),
        },
        time_answer,
        draw=DRAW,
    )


# -- a maker's own words, and the free ones -----------------------------------------------------------


def device_request_panel() -> Panel:
    """A maker's own request and answer words."""
    listed = [(f"{code}  {name}", code) for code, name in device_request.codes("REQ_TASK").items()]
    return Panel(
        "A maker's own request and answer",
        {
            "before": fields.whole("answered last", "6", 0, 0xFFFF),
            "count": fields.whole("REQ_COUNT", "7", 0, 0xFFFF),
            "task": fields.choice("REQ_TASK", listed, device_request.WRITE),
            "number": fields.whole("REQ_NUMBER", "110", 0, 0xFFFF),
            "value": fields.whole("value", "95", -(1 << 31), (1 << 32) - 1),
            "running": fields.tick("the motor is running"),
        },
        device_request.request_answer,
        draw=DRAW,
        hint="The words of the format Mill 7/8 request, invented like the drive. Other makers have other fields: their "
        "manual decides.",
    )


def lists_panel() -> Panel:
    """The lists 915 and 916 for the free words of a format."""
    names = [f.name for f in (*data_formats.ppo_types(), *data_formats.demo_formats())]
    return Panel(
        "What stands in the free words",
        {
            "name": fields.choice("format", names, "PPO 4"),
            "needs": fields.text("signals", "CURRENT, ENERGY", read_signals),
        },
        lists_answer,
        draw={FormatPicture: format_drawing},
        hint="Signals of the profile and of the mill drive, such as CURRENT, TORQUE, ENERGY, RAMP_TIME.",
    )
