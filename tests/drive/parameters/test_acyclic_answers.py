"""Answers on acyclic requests: printed octets are read, and the time of both ways is calculated."""

import pytest

from helpers.drive.parameters.acyclic_answers import octets_answer, request_answer, time_answer
from helpers.drive.parameters.parameter_text import tasks


def test_an_acyclic_request_and_its_response():
    answer = request_answer(tasks("read 918"), reference=9, axis=1, slot=1, busy=2, running=False)
    assert answer.pictures[0].says.count("still working") == 2
    assert answer.folded[0][1][0]["octets"] == "5F"  # ABB FPBA-01 manual p.170
    assert answer.rows == [{"parameter": "read 918", "what comes back": "Unsigned16: 21"}]
    assert (
        "header alone"
        in request_answer(tasks("write 110 = 95"), reference=1, axis=1, slot=0, busy=0, running=False).sentence
    )
    failed = request_answer(
        tasks("write 110 = 95\nwrite32 120 = 1"), reference=1, axis=1, slot=0, busy=0, running=False
    )
    assert "1 of 2 parameters refused" in failed.sentence and "read only" in failed.rows[1]["what comes back"]
    assert failed.rows[0]["what comes back"] == "changed"


@pytest.mark.parametrize(
    ("octets", "said"),
    [
        ("5F 01 2F 0A 09 01 01 01 10 00 03 96 00 00", "request to read 1"),  # ABB FPBA-01 manual p.170
        ("5E 01 2F 08 09 01 01 01 42 01 00 03", "all done"),  # the same
        ("DE 80 B5 00", "still working"),  # SEW manual DH.41B p.79
        ("5E 01 2F F0", "Is the response ready"),
        ("5F 01 2F 0A", "confirmed"),
        ("5E 00 2F 08 01 81 01 01 44 01 00 00", "something failed"),  # calculated from the layout
    ],
)
def test_acyclic_octets_are_read(octets, said):
    assert said in octets_answer(bytes.fromhex(octets)).sentence


def test_time_by_both_ways():
    assert (
        "1000 parameters: 15000 ms" in time_answer(parameters=1000, cycle_ms=3, work_ms=10, pause=False).sentence
    )  # 5 cycles of 3 ms for each
    answer = time_answer(parameters=10, cycle_ms=2.0, work_ms=10.0, pause=False)
    assert "120 ms over the cyclic channel, 102 ms by acyclic" in answer.sentence  # 60 and 51 cycles of 2 ms
