"""The first-run panel: what it shows for a list, and the hand that fills it in. The drives are invented."""

import re
from datetime import UTC, datetime

import pytest
from drawn import check_legible, texts

from helpers.drive.commissioning import Checklist, marked, step_called, steps
from helpers.panels.network.first_run import first_run_panel, first_run_view, strip
from helpers.plan.first_run import read_checklists
from helpers.plan.my_networks import demo_network, demo_plan, my_networks
from helpers.verdict import Degree

NAMES = [step.name for step in steps()]
READINGS = {"min": "12", "V": "3 V", "%": "30", "address": "12", "text": "noted", "": ""}
PLAN = demo_plan()


def filled(names=NAMES, drive="Cooling fan"):
    checklist = Checklist(drive)
    for name in names:
        checklist = marked(checklist, name, "done", reading=READINGS[step_called(name).reading])
    return checklist


@pytest.fixture(scope="module")
def panel():
    return first_run_panel()


@pytest.fixture
def entry(panel):
    box = panel.fields["desk"].widget
    box.drive.value = f"{box.drive.value}+"  # a new drive: an empty list
    return box


@pytest.mark.parametrize(
    ("names", "degree", "said"),
    [
        ((), None, "nothing is written down yet. Begin with step 1, read nameplates and label"),
        (NAMES[:5], None, "5 of 22 steps past, in order so far. Next: step 6, measure the DC link"),
        (NAMES, Degree.IN_ORDER, "all 22 steps are past"),
        ([n for n in NAMES if n != "wait"], Degree.BY_EVERY_SOURCE, "21 of 22 steps past, 1 finding."),
        ([n for n in NAMES if n != "copy the set-up"], Degree.CAUTION, "21 of 22 steps past, 1 finding."),
    ],
)
def test_the_sentence_tells_how_far_and_how_good(names, degree, said):
    view = first_run_view(filled(names), "wait", PLAN)
    assert said in view.sentence and view.degree == degree
    assert bool(view.because) == bool(degree)
    assert len(view.files) == 3


@pytest.mark.parametrize("name", NAMES)
def test_the_caution_stands_at_the_step_where_the_hand_would_move(name):
    step = step_called(name)
    view = first_run_view(Checklist("fan"), name)
    shown = str(list(view.rows))
    assert step.do in shown and step.see in shown and step.why in shown
    assert set(step.caution) <= set(view.caution)
    must = [before for before in step.after if step_called(before).safety]
    assert all(f"“{before}”" in str(view.caution) for before in must)
    assert str(view.caution[:1]).count("Not yet") == bool(must)


def test_the_strip_shows_every_step_with_its_sign():
    checklist = marked(filled([n for n in NAMES[:8] if n != "wait"]), "close the cover", "not possible", remark="none")
    sheet = strip(checklist, "wait")
    check_legible(sheet)
    words = [text.words for text in texts(sheet)]
    assert [w for w in words if w.isdigit()] == [str(step.order) for step in steps()]
    assert words.count("✓") == 6 and words.count("■") == 1 and words.count("–") == 1
    assert "step 6 measure the DC link: not allowed, by every source found" in sheet.says
    assert "In hand: wait" in sheet.says


def test_writing_down_keeps_the_step_and_turns_to_the_next(panel, entry):
    entry.reading.value, entry.who.value = "10 min", "A. Fitter"
    entry.write.click()
    assert entry.step.value == NAMES[1] and entry.who.value == "A. Fitter"
    entry.write.click()
    assert entry.step.value == "isolate" and "2 of 22 steps" in panel.result.value
    assert [label.split()[0] for label, _ in entry.step.options][:3] == ["✓", "✓", "3"]
    entry.step.value = NAMES[0]
    assert entry.reading.value == "10 min" and not entry.reading.disabled
    entry.step.value = "lock"
    assert entry.reading.disabled and "Not yet: “isolate”" in panel.result.value
    entry.outcome.value = "not done"
    entry.write.click()
    assert entry.value.checklist.result("lock").turn == 0


def test_a_reading_that_cannot_be_meant_is_refused_and_stays_to_be_put_right(panel, entry):
    entry.step.value = "measure the DC link"
    entry.reading.value = "a lot"
    entry.write.click()
    assert "is not a voltage" in panel.said.value and entry.reading.value == "a lot"
    entry.reading.value = "565 V"
    entry.write.click()
    assert "Not usable" not in panel.said.value
    assert "Not allowed, by the standard" in panel.result.value and "Touch nothing" in panel.result.value


def test_each_drive_has_a_list_of_its_own_and_all_go_into_the_files(panel, entry):
    first = entry.drive.value
    entry.reading.value = "5"
    entry.write.click()
    entry.drive.value = "Mixer"
    assert entry.step.value == NAMES[0] and entry.reading.value == ""
    entry.write.click()
    entry.drive.value = first
    assert entry.step.value == NAMES[1]
    saved = panel.answer(demo_network(), entry.value).files[0].content
    assert {first, "Mixer"} <= {checklist.drive for checklist in read_checklists(saved)} | {"Mixer"}
    entry.drive.value = " "  # an empty name changes nothing
    assert entry.value.drive == first


def upload(entry, content, name="first-run.csv"):
    entry.saved.value = ({"name": name, "type": "text/csv", "size": len(content), "content": content,
                          "last_modified": datetime(2026, 1, 1, tzinfo=UTC)},)  # fmt: skip


def test_a_live_dc_link_is_said_first():
    checklist = marked(marked(Checklist("Cooling fan"), "wait", "done", reading="12"), "lock", "done")
    checklist = marked(checklist, "measure the DC link", "done", reading="86 V")
    view = first_run_view(checklist, "lock")
    assert view.degree is Degree.BY_STANDARD and view.because.startswith("DC link") and "86 V" in view.because


def test_a_saved_list_goes_on_and_a_bad_one_is_named_row_by_row(panel, entry):
    view = first_run_view(filled(NAMES[:7], "Grinder"), "lock")
    upload(entry, view.files[0].content)
    assert (entry.drive.value, entry.step.value) == ("Grinder", NAMES[7])
    upload(entry, view.files[0].content.replace(b",done,3,", b",dome,3,"), "bad.csv")
    assert "bad.csv: 1 bad row." in panel.said.value and "&#x27;dome&#x27;" in panel.said.value
    upload(entry, b'a,"', "none.csv")
    assert "can&#x27;t be read as a CSV table" in panel.said.value
    upload(entry, b"drive,step,outcome,turn,reading,remark,who\n", "empty.csv")
    assert "empty.csv holds no step" in panel.said.value
    assert entry.value.drive == "Grinder"


def test_the_files_hold_the_list_and_the_record():
    files = first_run_view(filled(), "lock", PLAN, [filled(NAMES[:3], "Dryer fan 2")]).files
    assert [file.name for file in files] == ["first-run.csv", "first-run.html", "site-record-with-first-runs.html"]
    assert len(read_checklists(files[0].content)) == 2
    for file in files[1:]:
        text = file.content.decode()
        assert "First run of Cooling fan" in text and "First run of Dryer fan 2" in text
    assert "Network Mill line" in files[2].content.decode()


def test_a_still_picture_makes_sense(panel):
    still = first_run_panel()._repr_mimebundle_()
    assert "Begin with step 1" in still["text/plain"] and "Shift+Enter" in still["text/html"]
    assert re.search(r"Dryer fan 1", still["text/html"])


def test_the_drives_are_those_of_the_network_that_is_chosen_and_a_list_that_was_begun_stays(tmp_path, monkeypatch):
    monkeypatch.setenv("WORKBOOK_PROGRESS", str(tmp_path))
    my_networks().save("My plant", demo_plan("the Mill extended"))
    my_networks().choose("My plant")
    panel = first_run_panel(own=True)
    entry = panel.fields["desk"].widget
    assert panel.fields["network"].widget.value == ("My plant", "Mill line") and "Dryer fan 3" in entry.drive.options
    panel.fields["network"].widget.value = ("My plant", "Silo line")
    assert entry.drive.options == ("Silo fan 1", "Silo fan 2", "Sweep auger", "Outlet gate")
    assert entry.drive.value == "Silo fan 1" and panel.said.value == ""
    entry.write.click()
    panel.fields["network"].widget.value = ("Saltmarsh Mill", "Mill line")
    assert entry.drive.value == "Silo fan 1" and entry.drive.options[0] == "Dryer fan 1"
