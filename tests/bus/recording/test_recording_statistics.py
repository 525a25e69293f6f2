"""A recording in slices tells the same as in one go, wherever it is stopped, and keeps little."""

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.recording import recording_statistics, recording_text, telegram_meaning
from helpers.bus.recording.recording_statistics import Recording
from helpers.bus.telegram.frame import Frame, frame, write
from helpers.errors import OutOfRange, Unreadable
from helpers.facts import DATA

DEMO = (DATA / "demo" / "bus_recording.txt").read_text(encoding="utf-8")


def read(text):
    found = Recording(text)
    for _ in found:
        pass
    return found


def in_one_go(text):
    return list(telegram_meaning.read(recording_text.read(text).octets))


def long(telegrams, seed=1):
    """Data exchange with 20 stations, a lost answer and rubbish now and then; one telegram a line."""
    draw = random.Random(seed)
    lines = []
    while len(lines) < telegrams:
        to = 3 + len(lines) // 2 % 20
        asked = frame(to=to, sender=1, fc=draw.choice((0x5D, 0x7D)), data=draw.randbytes(draw.randint(1, 30)))
        lines.append(write(asked))
        lines.append(write(frame(to=1, sender=to, fc=8, data=draw.randbytes(4))) if draw.random() < 0.95 else b"\0\7")
    return "\n".join(line.hex(" ") for line in lines)


def test_the_demo_recording_is_counted():
    found = read(DEMO)
    # Counted by hand in the 29 lines of data/demo/bus_recording.txt: station 2 is not there.
    assert found.finished and found.telegrams == 29 and found.kinds["token"] == 2 and found.kinds["SC"] == 2
    assert {one.address for one in found.stations} == {2, 12, 127}
    # Station 12 was asked 13 times; two answers are SC, one is damaged, two are missing.
    assert found.stations[:2] == (
        recording_statistics.Count(2, 1, 0, 1, 0, 0),
        recording_statistics.Count(12, 13, 10, 3, 2, 4),
    )
    assert found.unusual["rubbish"] == 1 and found.unusual["no answer"] >= 3
    rubbish = next(one for one in found.errors if one.kind == "rubbish")
    assert rubbish.line == 24 and "16#00 begins no telegram" in rubbish.sentence


@pytest.mark.parametrize("lines_a_step", [1, 3, 7, 2000])
def test_slices_tell_what_one_go_tells(lines_a_step, monkeypatch):
    monkeypatch.setattr(recording_text, "LINES_A_STEP", lines_a_step)
    monkeypatch.setattr(recording_statistics, "MARK_EVERY", 11)
    for text in (DEMO, long(300)):
        whole = in_one_go(text)
        found = read(text)
        assert found.telegrams == len(whole)
        assert sum(found.kinds.values()) == len(whole)
        assert found.page(1, 1000) == whole
        for first in (1, 10, 11, 12, 13, len(whole) - 1):
            assert found.page(first, 5) == whole[first - 1 : first + 4]


def test_stopped_anywhere_what_was_read_is_kept(monkeypatch):
    monkeypatch.setattr(recording_text, "LINES_A_STEP", 40)
    text = long(600)
    whole = in_one_go(text)
    for steps in (0, 1, 3, 9):
        found = Recording(text)
        for _, share in zip(range(steps), found, strict=False):
            assert 0 < share < 1
        assert not found.finished
        if not found.telegrams:
            with pytest.raises(Unreadable):
                found.page(1)
            continue
        assert found.page(1, 1000) == whole[: found.telegrams]
        # Going on afterwards is not needed: the counts are those of the page.
        assert sum(one.requests for one in found.stations) == sum(o.role == "request" for o in whole[: found.telegrams])


def test_a_stop_in_the_middle_is_not_told_as_a_missing_answer(monkeypatch):
    monkeypatch.setattr(recording_statistics, "TELEGRAMS_A_STEP", 1)
    asked, answer = frame(to=5, sender=1, fc=0x5D, data=b"\1"), frame(to=1, sender=5, fc=8, data=b"\2")
    found = Recording(" ".join(write(one).hex() for one in (Frame("token", 1, 1), asked, answer)))
    steps = iter(found)
    next(steps), next(steps)
    assert [one.role for one in found.page(1)] == ["token"] and not found.errors


@settings(max_examples=50, deadline=None)
@given(st.binary(max_size=400), st.integers(1, 9))
def test_any_octets_in_any_slices(octets, per_line):
    text = "\n".join(octets[at : at + per_line].hex(" ") for at in range(0, len(octets), per_line))
    found = read(text)
    assert found.octets == len(octets)
    if octets:
        page = found.page(1, 1000)
        assert b"".join(one.octets for one in page) == octets
        assert page == in_one_go(text)


def test_errors_kept_are_few_and_all_are_counted():
    silent = write(frame(to=9, sender=1, fc=0x49)).hex()
    found = read("\n".join([silent] * 1000))
    assert len(found.errors) == recording_statistics.MOST_ERRORS and found.unusual["no answer"] == 1000
    assert found.stations == (recording_statistics.Count(9, 1000, 0, 1000, 0, 0),)


def test_lines_that_hold_no_octets_are_counted_and_a_page_beyond_is_refused():
    found = read("10 02 01 49 4C 16\nno octets here\n")
    assert found.unread == 1 and found.problems[0].line == 2
    assert found.line_of(found.page(1)[0]).number == 1
    for first, count in ((0, 1), (2, 1), (1, 0), (1, 1001)):
        with pytest.raises(OutOfRange):
            found.page(first, count)
