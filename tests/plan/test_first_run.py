"""The first run as a file and in the site record; Python's csv module is the second reader. The drives are invented."""

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plan_tables import DEMO

from helpers.drive.commissioning import OUTCOMES, Checklist, judge, marked, open_steps, step_called, steps
from helpers.errors import Unreadable
from helpers.plan.first_run import COLUMNS, checklist_csv, demo_checklists, first_run_parts, read_checklists, wrong
from helpers.plan.read import read_plan
from helpers.plan.record import page, record_html, record_parts, record_text
from helpers.plan.sheets import PlanUnreadable

NAMES = [step.name for step in steps()]
READINGS = {"min": "12", "V": "3 V", "%": "30", "address": "12", "text": "noted", "": ""}
# Words as a spreadsheet keeps them: one line, single spaces.
WORDS = st.text(st.characters(codec="utf-8", exclude_categories=("C", "Z")), max_size=4)


def filled(drive="Cooling fan", names=NAMES):
    checklist = Checklist(drive)
    for name in names:
        checklist = marked(checklist, name, "done", reading=READINGS[step_called(name).reading])
    return checklist


def table(content):
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def as_csv(rows, delimiter=","):
    text = io.StringIO()
    writer = csv.DictWriter(text, COLUMNS, delimiter=delimiter)
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue().encode()


@st.composite
def checklists(draw):
    checklist = Checklist(draw(WORDS.filter(bool)))
    for name in draw(st.lists(st.sampled_from(NAMES), unique=True, min_size=1, max_size=6)):
        outcome, reading = draw(st.sampled_from(OUTCOMES)), READINGS[step_called(name).reading]
        if step_called(name).reading == "text":
            reading = draw(WORDS)
        checklist = marked(checklist, name, outcome, reading=reading, remark=draw(WORDS), who="=SUM(A1)")
    return checklist


def test_every_step_of_every_drive_is_in_the_file_once():
    rows = table(checklist_csv([filled(), Checklist("Dryer fan 1")]))
    assert [row["step"] for row in rows] == NAMES * 2
    assert {row["drive"] for row in rows[len(NAMES) :]} == {"Dryer fan 1"}
    assert {row["outcome"] for row in rows[len(NAMES) :]} == {"not done"}


@given(checklists(), st.sampled_from(",;\t"))
@settings(max_examples=30)
def test_what_was_saved_is_read_back(checklist, delimiter):
    kept = as_csv(table(checklist_csv([checklist])), delimiter)
    assert read_checklists(kept) == (checklist,)
    assert not any(row["who"].startswith("=") for row in table(checklist_csv([checklist])))


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"drive": ""}, "row 5, column drive: found ''; expected the name of a drive"),
        ({"step": "dance"}, "row 5, column step: found 'dance'; expected one of read nameplates and label"),
        ({"step": "isolate"}, "row 5, column step: found 'isolate'; expected each step once"),
        ({"outcome": "perhaps"}, "row 5, column outcome: found 'perhaps'; expected one of done, not done"),
        ({"turn": ""}, "row 5, column turn: found ''; expected the turn in which it was done"),
        ({"turn": "0"}, "row 5, column turn: found '0'"),
        ({"turn": "1"}, "row 5, column turn: found '1'; expected a turn that no other step"),
        ({"step": "wait", "reading": "long"}, "row 5, column reading: found 'long'; expected 'long' is not a number"),
        ({"step": "wait", "reading": "999"}, "row 5, column reading: found '999'"),
    ],
)
def test_a_bad_row_is_named_in_a_sentence(changes, said):
    rows = table(checklist_csv([filled()]))
    rows[3] |= changes
    if "step" in changes:
        rows = rows[:4]
    with pytest.raises(PlanUnreadable) as refused:
        read_checklists(as_csv(rows))
    assert f"table first run, {said}" in str(refused.value)
    assert len(refused.value.problems) == 1


def test_all_bad_rows_are_named_at_once_and_a_file_that_is_none_is_refused():
    rows = table(checklist_csv([filled()]))
    rows[2]["turn"], rows[6]["outcome"] = "first", "no"
    with pytest.raises(PlanUnreadable) as refused:
        read_checklists(as_csv(rows))
    assert [problem.row for problem in refused.value.problems] == [4, 8]
    for content in (b"", b"drive,step\nfan,lock\n"):
        with pytest.raises(PlanUnreadable, match="expected the columns drive, step, outcome"):
            read_checklists(content)
    with pytest.raises(Unreadable, match="can't be read as a CSV table"):
        read_checklists(b'drive,"step\n')


def test_short_rows_and_columns_of_ones_own_do_no_harm():
    text = "step,drive,my note,outcome,turn,reading,remark,who\nlock,Fan,!,done,1\n"
    (checklist,) = read_checklists(text.encode())
    assert (checklist.drive, checklist.result("lock").turn) == ("Fan", 1)


def test_the_record_holds_the_first_runs_where_they_are_given():
    plan, hasty = read_plan(DEMO), filled(names=[name for name in NAMES if name != "measure the DC link"])
    parts = first_run_parts([filled("Dryer fan 1"), hasty])
    assert [part.level for part in parts] == [2, 3, 2, 3]
    assert parts[0].lines == ("Every step is done, or has a reason why not.",) and parts[0].rows == ()
    assert "measure the DC link" in parts[2].lines[0]
    assert [row["verdict"] for row in parts[2].rows] == ["not allowed, by every source found"]
    assert [row["step"] for row in parts[3].rows] == NAMES
    usual, more = record_parts(plan), record_parts(plan, parts)
    assert len(more) == len(usual) + 4 and all(part in more for part in usual)
    assert [part.heading for part in more[-2:]] == ["Checked on site", "Signatures"]
    for text in (record_text(plan, parts), record_html(plan, parts), page(parts)):
        assert "First run of Cooling fan, on its own" in text and "seat the option board" in text
    assert "First run" not in record_text(plan)


def test_an_open_step_is_not_called_wrong():
    empty = Checklist("fan")
    assert judge(empty) and wrong(judge(empty)) == []
    assert len(open_steps(empty)) == len(NAMES)


def test_the_demo_list_has_the_faults_that_were_put_in():
    (found,) = demo_checklists()
    assert [(f.rule, f.place) for f in wrong(judge(found))] == [
        ("order of steps", "wait"),
        ("order of steps", "seat the option board"),
        ("order of steps", "close the cover"),
        ("waiting time", "wait"),
        ("DC link", "measure the DC link"),
    ]
