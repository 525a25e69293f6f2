"""Tasks as people write them become the octets that manuals print."""

import contextlib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.drive.parameters import acyclic, parameter_channel
from helpers.drive.parameters.parameter_text import MOST_LINES, Task, acyclic_request, request, tasks
from helpers.errors import OutOfRange, Unreadable, WorkbookError


@pytest.mark.parametrize(
    ("line", "octets"),
    [
        ("read 922", "139A000000000000"),  # Toshiba manual E6581738 p.17
        ("read 964.0", "63C4000000000000"),  # the same, an array
        ("write 927 = 1", "239F000000000001"),  # Lenze 931M/W manual p.46
        ("write32 121 = -2", "30790000FFFFFFFE"),  # calculated from the layout: task 3, high word first
        ("write 915.3=140", "739303000000008C"),  # calculated: task 7, subindex in the high byte of IND
        ("elements 964", "93C4000000000000"),
        ("pause", "0000000000000000"),
        ("READ 16#39A", "139A000000000000"),
    ],
)
def test_lines_for_the_cyclic_channel(line, octets):
    (task,) = tasks(line)
    assert parameter_channel.encode(request(task)).hex().upper() == octets
    assert tasks(task.text) == (task,)


@pytest.mark.parametrize(
    ("line", "octets"),
    [
        ("read 918", "09010101100003960000"),  # ABB FPBA-01 manual p.170
        ("write 927 = 0", "0902010110 00039F0000 06010000".replace(" ", "")),
        ("read 964.0 x 6", "09010101100603C40000"),
        ("read 918\nread 922; ", "09010102100003960000" + "1000039A0000"),
    ],
)
def test_lines_for_an_acyclic_request(line, octets):
    assert acyclic.encode_request(acyclic_request(tasks(line), reference=9)).hex().upper() == octets


def test_negative_values_say_so_in_their_format():
    asked = acyclic_request(tasks("write 112 = -100; write32 121 = -5; write32 121 = 5"))
    assert [acyclic.format_of(group.format).name for group in asked.values] == ["Integer16", "Integer32", "Unsigned32"]


@pytest.mark.parametrize(
    "line",
    ["", ";", "reed 918", "read", "write 110", "read 918 = 5", "pause 3", "read x", "write 110 = a lot", "9" * 99],
)
def test_what_is_no_task_is_refused(line):
    with pytest.raises(Unreadable):
        tasks(line)


def test_what_cannot_be_sent_that_way():
    with pytest.raises(OutOfRange, match="one element"):
        request(tasks("read 964.1 x 2")[0])
    with pytest.raises(OutOfRange, match="each line"):
        acyclic_request(tasks("write 915.0 x 2 = 5"))
    with pytest.raises(Unreadable, match="two requests"):
        acyclic_request(tasks("read 918; write 110 = 5"))
    with pytest.raises(Unreadable, match="cyclic channel"):
        acyclic_request((Task("pause"),))
    with pytest.raises(OutOfRange, match=str(MOST_LINES)):
        tasks("read 918\n" * (MOST_LINES + 1))
    with pytest.raises(OutOfRange, match="16 bits"):
        request(tasks("write 110 = 70000")[0])


@given(st.text("readwite32lmnspu 0179.=[]x#-;\n", max_size=20))
@settings(max_examples=50)
def test_any_text_gives_tasks_or_the_projects_own_error(typed):
    with contextlib.suppress(WorkbookError):
        for task in tasks(typed):
            parameter_channel.encode(request(task))
