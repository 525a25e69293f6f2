"""The answer on a record of words: the demo records tell their story, cut or whole."""

import pytest

from helpers.drive import timeline
from helpers.drive.record_answer import DEMOS, demo_record, read_record, record_answer
from helpers.drive.states import Options
from helpers.errors import WorkbookError

FAN, FILTER = DEMOS


def view(name, start_s=None, end_s=None, **given):
    return record_answer(read_record(demo_record(name)), start_s=start_s, end_s=end_s, **given)


def test_the_demo_of_the_words():
    shown = view(FAN)
    assert "6 changes of the control word, 8 of the status word" in shown.sentence
    assert "the word run does not start the drive" in shown.because
    assert shown.rows[0] == {
        "no.": 1,
        "time in s": "0.400",
        "who": "controller",
        "what": "run",
        "should lead to": "switching on inhibited",
    }
    numbers = [row["no."] for row in (*shown.rows, *shown.folded[0][1])]
    assert numbers == list(range(1, 15))


def test_the_demo_of_the_signs_of_life():
    shown = view(FILTER)
    assert "Sign of life of the controller: 7 failures, the first at 0.24 s (14 came, 15 was expected)" in shown.because
    assert "from 0.5 s on it is a fault" in shown.because
    assert "still tolerated" in view(FILTER, tolerance=15).because


def test_a_part_is_cut_out():
    shown = view(FAN, 3.0, 8.0)
    assert [row["what"] for row in shown.rows] == ["operation, other bits"]
    for cut in ((5.0, 5.0), (20.0, 30.0), (8.0, 3.0), (-5.0, -1.0)):
        with pytest.raises(WorkbookError, match="the record runs from 0 s to"):
            view(FAN, *cut)


def test_how_this_drive_differs_reaches_what_is_expected():
    text = "time (s),control,status\n0,16#047F,16#0337\n1,16#0000,16#0337\n2,16#0000,16#0337\n"
    assert record_answer(read_record(text)).rows[0]["should lead to"] == "operation"
    assert record_answer(read_record(text), options=Options(no_control="ramp stop")).rows[0]["should lead to"] == (
        "ready for switching on"
    )


def test_a_named_demo_is_a_record():
    for name in DEMOS:
        assert timeline.read(demo_record(name))
