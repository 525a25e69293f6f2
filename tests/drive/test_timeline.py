"""Records of words: reading, naming, and clear refusals."""

import csv
import io
import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.drive import states, timeline
from helpers.drive.states import Options
from helpers.drive.timeline import Sample
from helpers.errors import Unreadable, WorkbookError
from helpers.facts import DATA

DEMO = (DATA / "demo" / "word_record.csv").read_text(encoding="utf-8")


def test_the_demo_record_tells_its_story():
    events = timeline.events(timeline.read(DEMO))
    assert [(e.time_s, e.name) for e in events] == [
        (0.4, "run"),
        (0.42, "switching on inhibited, other bits"),
        (1.2, "ready to start"),
        (1.22, "switching on inhibited → ready for switching on"),
        (2.0, "run"),
        (2.06, "ready for switching on → operation"),
        (6.4, "operation, other bits"),
        (9.0, "ready to start"),
        (12.5, "operation → ready for switching on"),
        (14.0, "run"),
        (14.06, "ready for switching on → operation"),
        (15.8, "fault in operation"),
        (17.0, "acknowledge"),
        (17.04, "fault acknowledged"),
    ]


def test_every_expected_state_of_the_demo_record_comes():
    samples = timeline.read(DEMO)
    for event in timeline.events(samples):
        if event.kind == "control":
            later = [states.model_state(s.status) for s in samples if s.time_s > event.time_s]
            assert event.expected in (*later, "switching on inhibited")
            assert event.why


def test_the_run_word_sent_first_is_explained():
    first = timeline.events(timeline.read(DEMO))[0]
    assert first.expected == "switching on inhibited"
    assert "send 16#047E, then 16#047F" in first.why
    assert len(first.sentences) == 8


def at(control, status, time_s=0.0):
    return Sample(time_s, control, status)


def test_on_during_a_ramp():
    ramping = [at(0x047F, 0x0337), at(0x047E, 0x0337, 1), at(0x047F, 0x0237, 2)]
    assert timeline.events(ramping)[-2].expected == "operation"
    assert "cancelled" in timeline.events(ramping)[-2].why
    waits = Options(on_while_stopping="waits for standstill")
    assert timeline.events(ramping, waits)[-2].expected == "ready for switching on"


def test_zeros_to_a_running_drive():
    stop = timeline.events([at(0x047F, 0x0337), at(0x0000, 0x0337, 1)])[0]
    assert (stop.name, stop.expected) == ("no command", "operation")
    # the word that counts afterwards is the last one that was taken over
    again = timeline.events([at(0x047F, 0x0337), at(0, 0x0337, 1), at(0x047F, 0x0337, 2)])[1]
    assert again.expected == "operation"


def test_a_local_drive_and_a_status_without_a_state():
    local = timeline.events([at(0x047E, 0x0031), at(0x047F, 0x0031, 1)])[0]
    assert local.expected == "ready for switching on"
    assert "own panel" in local.why
    odd = timeline.events([at(0x047E, 0x0205), at(0x1234, 0x0205, 1)])[0]
    assert (odd.name, odd.expected, odd.why) == ("control word 16#1234", "", "")


@pytest.mark.parametrize(
    ("status", "state"),
    [
        (0x0240, "switching on inhibited"),
        (0x0238, "fault"),
        (0x0278, "fault"),
        (0x023F, "fault reaction"),
        (0x0217, "quick stop"),
        (0x0233, "switched on"),
        (0x0205, ""),
    ],
)
def test_states_of_the_model(status, state):
    assert states.model_state(status) == state


SAME = (Sample(0.0, 0x047E, 0x0231), Sample(0.5, 0x047F, 0x0237))


@pytest.mark.parametrize(
    "text",
    [
        "time (s),control,status\n0,16#047E,16#0231\n0.5,16#047F,16#0237\n",
        "\ufeffTime (s);Control;Status\r\n0;16#047E;16#0231\r\n\r\n0,5;16#047F;16#0237\r\n",
        "time (ms)\tcontrol (hex)\tstatus (hex)\n0\t047E\t0231\n500\t47f\t0237\n",
        "\n\nstatus,note,time (ms),control\n16#0231,,0,1150\n0x0237,start,500,2#0000_0100_0111_1111\n",
        'time (s),control,status\n0,"16#047E",16#0231\n0.5,16#047F,16#0237,\n',
    ],
)
def test_spellings_of_a_record(text):
    assert timeline.read(text) == SAME


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "the record is empty"),
        (" \n \n", "the record is empty"),
        ("time (s),status\n", "lacks the column control"),
        ("when,what\n", "lacks the column time and control and status; it has when, what"),
        (",\n", "it has none"),
        ("time (s),control,status\n0,047E,16#0231\n", "line 2: '047E' looks hexadecimal"),
        ("time (s),control,status\n0,0337,16#0231\n", "line 2: '0337' could be"),
        ("time (s),control,status\n0,5,16#047E,16#0231\n", "line 2: 4 cells under 3 columns"),
        ("time (s),control,status\n0,16#047E\n", "line 2: '' is not a whole number"),
        ("time (s),control,status\nsoon,1,1\n0,99999,1\n", "line 3: word is 99999"),
        ("time (s),control,status\n2,1,1\n1,1,1\n", "the time goes back"),
        ("time (s),control,status\n0," + "1" * 200_000 + ",1\n", "no CSV"),
    ],
)
def test_records_refused(text, says):
    with pytest.raises(Unreadable, match=says.replace("(", r"\(").replace(")", r"\)")):
        timeline.read(text)


def test_all_wrong_lines_are_named_at_once():
    with pytest.raises(Unreadable) as refused:
        timeline.read("time (s),control,status\nx,1,1\n1,y,1\n2,1,z\n3,1,1\n")
    assert [f"line {n}" in str(refused.value) for n in (2, 3, 4, 5)] == [True, True, True, False]


@given(st.lists(st.tuples(st.integers(0, 10_000), st.integers(0, 0xFFFF), st.integers(0, 0xFFFF)), max_size=6))
def test_a_written_record_reads_back(rows):
    rows = sorted(rows)
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["time (ms)", "control", "status"])
    writer.writerows(rows)
    samples = timeline.read(out.getvalue())
    assert [(round(s.time_s * 1000), s.control, s.status) for s in samples] == rows
    changes = sum((a[1] != b[1]) + (a[2] != b[2]) for a, b in itertools.pairwise(rows))
    events = timeline.events(samples)
    assert len(events) == changes
    assert all(e.name and e.sentences for e in events)


@given(st.text(max_size=60), st.booleans())
def test_any_text_is_read_or_refused_in_words(text, with_header):
    try:
        timeline.read(("time (s),control,status\n" if with_header else "") + text)
    except WorkbookError as refused:
        assert str(refused)


ALIVE = (DATA / "demo" / "sign_of_life_record.csv").read_text(encoding="utf-8")


def test_the_signs_of_life_of_both_partners():
    beats = timeline.lives(timeline.read(ALIVE), tolerance=3)
    # One count lost is tolerated; the hanging program fails four times in a row, and the drive then sends 0.
    assert [n for n, beat in enumerate(beats["controller"]) if beat.failures] == [12, 22, 23, 24, 25, 26, 27]
    assert [n for n, beat in enumerate(beats["controller"]) if beat.fault] == [25, 26, 27]
    assert next(n for n, beat in enumerate(beats["drive"]) if beat.failures) == 26
    assert "reports a failure itself" in beats["drive"][26].sentence
    assert timeline.lives(timeline.read(DEMO)) == {} == timeline.lives(())


def test_one_partner_may_be_recorded_alone():
    record = timeline.read("time (s),status 2 (hex),control,status\n0,1000,0,0\n1,2000,0,0\n2,4000,0,0\n")
    assert [beat.count for beat in timeline.lives(record)["drive"]] == [1, 2, 4]
    assert "controller" not in timeline.lives(record)
    with pytest.raises(Unreadable, match="line 2"):
        timeline.read("time (s),status 2,control,status\n0,,0,0\n")


def test_remarks_name_the_word_that_did_not_start_and_the_state_that_did_not_come():
    (only,) = timeline.remarks(timeline.read(DEMO))
    assert only.startswith("At 0.4 s: the word run does not start")
    stuck = [at(0x047E, 0x0231), at(0x047F, 0x0231, 1), at(0x047F, 0x0233, 2), at(0x047E, 0x0233, 3)]
    (told,) = timeline.remarks([*stuck, at(0x047E, 0x0231, 4)])
    assert "At 1 s: after run, the state operation was expected" in told
    assert timeline.remarks([]) == ()
    # a status word that shows no state says nothing about what should follow
    assert timeline.remarks([at(0, 0x0046), at(0x047F, 0x0046, 1)]) == ()
