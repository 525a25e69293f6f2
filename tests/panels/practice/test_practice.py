"""Fault-finding practice: a whole case played by its controls, refusals in words, and a kernel that stays free."""

import asyncio
import threading
from functools import cache
from random import Random

import pytest
from line_nets import demo, row

from helpers.errors import Unknown, WorkbookError
from helpers.line.evidence.make import made_anew
from helpers.line.evidence.table import Evidence
from helpers.line.faults.catalogue import by_key, possible
from helpers.line.faults.fault import Chosen
from helpers.line.gate import DEAD, Gate
from helpers.line.instruments.io_sheet import image
from helpers.line.plant.build import installation_of
from helpers.line.practice.case import Case
from helpers.line.practice.complaint import complaint
from helpers.line.practice.observation import usual, watch
from helpers.line.practice.session import Entry, Session
from helpers.line.traffic.line import Line
from helpers.panels.bench.bench_desk import SheetTool
from helpers.panels.practice.practice import LOG, MARKS, PLANT, STORY, PracticePanel, practice_panel
from helpers.panels.practice.practice_cells import acknowledge_all, faulty_drives, log_rows, reading
from helpers.panels.practice.practice_cells import repair as mended
from helpers.panels.practice.practice_views import complaint_html, log_html
from helpers.plan.my_networks import demo_plan, my_networks

KEYS = ("supply off", "run source local")


@cache
def small():
    return installation_of(row(2, 1_500_000))


@cache
def case():
    """Drive 1 without supply."""
    fault = by_key("supply off")
    chosen = Chosen(fault, fault.places(small())[0])
    faulty = chosen.put(small())
    now = watch(Line(faulty))
    said = complaint(now, usual(small()), Random(1))
    return Case(1, 1, small(), (chosen,), faulty, now, True, said, "The electrician was here.", ("drive", "settings"))


def few(installation):
    """The table of two faults at one drive, whichever plant it is."""
    return of_two()


@cache
def of_two():
    faults = [c for c in possible(small()) if c.fault.key in KEYS and c.place.device == "Drive 1"]
    found = made_anew(small(), processes=1, faults=faults)
    found.all = tuple(faults)
    return found


def opened(seed=1):
    asked = []
    panel = PracticePanel(lambda seed, grade: (asked.append((seed, grade)), case())[1], few)
    panel.number.value = str(seed)
    panel.begin.click()
    return panel, asked


def to(box, words):
    """Choose in a list by the words that a person reads."""
    options = [(each, each) if isinstance(each, str) else each for each in box.options]
    box.value = next(value for shown, value in options if words in shown)


def test_a_whole_case_by_its_controls():
    panel, asked = opened()
    assert asked == [(1, 1)]
    assert "rive 1" in panel.complaint.value and "The electrician was here." in panel.complaint.value

    measure = panel._tools["Measure"]
    to(measure.instrument, "front of the device – 3 min, bus in operation")
    to(measure.place, "Drive 1")
    measure.take.click()
    assert panel.said.value == "" and "3 min so far" in panel.standing.value
    assert "front of the device, Drive 1" in panel.result.value

    panel.pane.value = "Repair"
    repair = panel._tools["Repair"]
    to(repair.work, "devices")
    to(repair.repair, "Switch the supply of the device on")
    to(repair.place, "Drive 1")
    assert "3 min, bus in operation" in repair.care.value and repair.clear.layout.display == ""
    repair.do.click()
    assert "people are clear" in repair.said.value + panel.said.value
    assert panel.session.log[-1].breach and "refused" in panel.result.value
    repair.clear.value = True
    repair.do.click()
    assert "something is different now" in panel.result.value and not repair.clear.value
    panel.watch.click()
    assert "Everything runs as it should." in panel.result.value

    panel.pane.value = "Diagnosis"
    claim = panel._tools["Diagnosis"]
    to(claim.group, "drive and its supply")
    to(claim.fault, "Supply off")
    to(claim.place, "Drive 1")
    claim.add.click()
    claim.add.click()
    assert len(claim.claims) == 1 and "Supply off – Drive 1" in claim.named.value
    claim.mark.click()
    assert panel.shown.value == MARKS
    word = {part: word for part, word, _ in panel.marks.parts}
    assert (word["cause"], word["repair"], word["evidence"]) == ("right", "right", "right")
    assert word["order of work"] == "wrong", "a start without asking for people"
    for part, word, sentence in panel.marks.parts:
        assert part in panel.result.value and word in panel.result.value and sentence[:20] in panel.result.value
    panel.shown.value = STORY
    assert "The plant said:" in panel.result.value and "It was: Supply off" in panel.result.value

    before = panel.session
    panel.another.click()
    assert asked[-1] == (2, 1) and panel.session is not before
    assert "Log of the case before" in panel.result.value and claim.claims == () and panel.shown.value == LOG


def test_the_bus_is_isolated_with_its_steps_and_brought_back():
    panel, _ = opened()
    measure, bus = panel._tools["Measure"], panel._tools["Bus"]
    to(measure.instrument, "meter, ohms, bus dead – 15 min, bus isolated")
    measure.take.click()
    assert "this needs it isolated" in measure.said.value and "refused" in panel.result.value
    panel.pane.value = "Bus"
    assert "own lock and tag" in bus.steps.value and "NOTICE" in bus.steps.value and bus.restore.disabled
    bus.isolate.click()
    assert panel.session.bus == DEAD and panel.watch.disabled and "Take your own lock off" in bus.steps.value
    measure.take.click()
    assert "B against A" in panel.result.value or "Ω" in panel.result.value
    bus.restore.click()
    assert "people are clear" in bus.said.value and panel.session.bus == DEAD
    bus.clear.value = True
    bus.restore.click()
    assert panel.session.bus != DEAD and not panel.watch.disabled
    assert len(panel.session.log) == 5
    bus.press.click()
    assert "people are clear of Drive" in bus.said.value
    bus.clear_there.value = True
    bus.press.click()
    assert panel.session.log[-1].what.startswith("acknowledge at Drive")


def test_after_loading_every_drive_is_acknowledged():
    panel, _ = opened()
    session = panel.session
    mended(session, "switch on", "Drive 1", people_clear=True)
    mended(session, "program cycle", "Controller", 0.05)
    panel.pane.value = "Repair"
    repair = panel._tools["Repair"]
    to(repair.work, "project and controller")
    to(repair.repair, "Load the project into the controller")
    repair.clear.value = True
    repair.do.click()
    panel.pane.value = "Bus"
    bus = panel._tools["Bus"]
    assert faulty_drives(session) == ["Drive 1", "Drive 2"], "no telegrams came while it was loaded"
    for drive in ("Drive 1", "Drive 2"):
        to(bus.drive, f"{drive}: fault")
        assert not bus.clear_there.value and bus.clear_there.description == f"People are clear of {drive}."
        bus.press.click()
        assert f"people are clear of {drive}" in bus.said.value
        bus.clear_there.value = True
        bus.press.click()
    assert faulty_drives(session) == []
    panel.watch.click()
    assert "Everything runs as it should." in panel.result.value
    assert acknowledge_all(session) == "Acknowledged: nothing, no drive shows a fault."


def test_a_lesson_takes_readings_and_repairs_by_words():
    session = Session(case())
    assert {"looked at": "Power", "seen": "dark"} in reading(session, "front", "Drive 1")
    assert "It was the same before" not in mended(session, "switch on", "Drive 1", people_clear=True)
    assert [row["min"] for row in log_rows(session)] == [3, 6]
    with pytest.raises(Unknown, match="Drive 2"):
        reading(session, "front", "Drive 9")


def test_wrong_use_gets_its_sentence_and_the_log_stays():
    panel, _ = opened()
    panel._tools["Measure"].take.click()
    panel.number.value = "many"
    panel.begin.click()
    assert "Not usable" in panel.said.value and len(panel.session.log) == 1
    panel.number.value = "0"
    panel.another.click()
    assert "allowed are 1 to" in panel.said.value
    panel.shown.value = PLANT
    assert "what is wrong is not drawn" in panel.result.value and "<img" in panel.result.value
    panel.shown.value = MARKS
    assert "First name a cause" in panel.result.value and "station table" in panel.result.value


def test_before_a_case_there_is_a_still_picture_and_nothing_runs():
    panel = PracticePanel(lambda seed, grade: case(), few)
    assert panel.session is None and panel.watch.disabled
    bundle = panel._repr_mimebundle_()
    assert "Saltmarsh Mill" in bundle["text/plain"] and "<img" in bundle["text/html"]
    assert bundle["text/html"] == practice_panel()._repr_mimebundle_()["text/html"]


def test_the_kernel_goes_on_while_a_case_is_drawn():
    gate = threading.Event()

    def slow(seed, grade):
        assert gate.wait(5)
        return case()

    async def play():
        panel = PracticePanel(slow, few)
        panel.begin.click()
        panel.begin.click()
        assert panel.session is None and "is drawn" in panel.standing.value
        assert "waits" not in panel.standing.value, "the second click of a double one"
        gate.set()
        await panel.task
        assert panel.session is not None
        panel._tools["Measure"].take.click()
        await panel.task
        assert len(panel.session.log) == 1

    case()
    asyncio.run(play())


def test_a_click_while_something_is_being_done_waits_for_its_turn_and_is_not_lost():
    gates = [threading.Event(), threading.Event()]

    def slow(seed, grade):
        assert gates[seed - 1].wait(5)
        return case()

    async def play():
        panel = PracticePanel(slow, few)
        gates[0].set()
        panel.begin.click()
        await panel.task
        measure = panel._tools["Measure"]
        to(measure.instrument, "front of the controller")
        measure.take.click()
        panel.watch.click()
        assert "the next click waits" in panel.standing.value
        to(measure.instrument, "station table")
        measure.take.click()
        assert "Press again when they are ready" in measure.said.value
        await panel.task
        assert [entry.what for entry in panel.session.log] == ["front of the controller", "watch the plant"]
        assert "Press again" in measure.said.value, "nothing wipes the sentence away but the next click"
        measure.take.click()
        assert measure.said.value == ""
        await panel.task

        before = panel.session
        panel.number.value = "2"
        panel.begin.click()
        panel.watch.click()
        gates[1].set()
        await panel.task
        assert panel.session is not before
        assert panel.session.log == [] and len(before.log) == 3, "it was meant for the case before"

    case()
    asyncio.run(play())


def test_words_are_seen_and_written_and_released_with_what_that_costs():
    panel, _ = opened()
    panel.pane.value = "Words"
    words = panel._tools["Words"]
    to(words.station, "Drive 2")
    assert all("not looked at" in row.words.value for row in words.sheet.children)
    words.look.click()
    assert "4 min so far" in panel.standing.value
    assert not any("not looked at" in row.words.value for row in words.sheet.children)
    assert panel.session.log[-1].evidence
    told = str([getattr(child, "value", "") for child in words.children])
    assert "The motor may start" in told and "past the program and all its interlocks" in told
    words.value.value = "16#047E"
    words.write.click()
    assert "people are clear of Drive 2" in words.said.value and panel.session.log[-1].refused
    words.clear.value = True
    words.write.click()
    assert "turning at 58 % before, standing now" in panel.result.value and "words by hand" in panel.result.value
    assert "cut off from: Drive 2" in words.forced.value and not words.clear.value
    words.rows[0].reading.value = "number"
    assert str(0x047E) in words.rows[0].words.value, "it stays live"
    words.clear_to_release.value = True
    words.release.click()
    assert words.forced.value == "" and str(0x047F) in words.rows[0].words.value
    words.value.value = "a lot"
    words.write.click()
    assert "Not usable" in words.said.value
    assert not words.look.disabled
    words.station.value = ""
    words.range.value = "%QW900"
    assert "no station" in words.result.value
    assert words.look.disabled, "nobody has words there, so nothing is paid for"
    to(words.station, "Drive 2")
    panel.session.isolate()
    panel.pane.value = "Bus"
    panel.pane.value = "Words"
    assert all("bus isolated" in row.words.value for row in words.sheet.children)


def test_a_person_begins_to_write_at_the_control_word():
    # PPO 2 begins with 4 words of the parameter channel, PPO 3 with the control word: data/ppo_types.csv.
    gate = Gate(Line(demo()))
    sheet, first = SheetTool(lambda: gate), {s.station: s.first_byte for s in image(gate.line).of("out")}
    assert sheet.out.value == sheet.value.value == "", "nothing lies ready before anybody has chosen"
    for station, before in (("Intake conveyor", 8), ("Dust filter valve", 0)):
        sheet.station.value = station
        assert sheet.out.value == f"%QW{first[station] + before}" and sheet.value.value == "16#047E"


def test_no_start_command_lies_ready_for_what_has_no_control_word():
    gate = Gate(Line(demo()))
    sheet = SheetTool(lambda: gate)
    sheet.station.value = "Intake conveyor"
    sheet.station.value = "Remote I/O"
    assert sheet.out.value == sheet.value.value == ""


def test_what_fails_in_the_thread_is_said():
    def broken(seed, grade):
        raise WorkbookError("No such case.") if seed == 1 else RuntimeError("planted")

    async def play(seed):
        panel = PracticePanel(broken, few)
        panel.number.value = str(seed)
        panel.begin.click()
        await panel.task
        return panel.said.value

    assert "No such case." in asyncio.run(play(1))
    assert "The workbook itself failed here (RuntimeError: planted)" in asyncio.run(play(2))


def test_without_evidence_for_the_network_a_case_is_marked_as_far_as_that_goes_and_says_so():
    panel = PracticePanel(lambda seed, grade: case(), Evidence)
    panel.begin.click()
    panel.session.take("stations")
    panel._mark()
    assert "evidence for this network is not made yet" in panel.result.value
    assert "You have not named a cause" in panel.result.value


def test_views_escape_and_name_each_kind_of_entry():
    log = [Entry(5, "look <here>", "a & b"), Entry(5, "ohms", "not now", breach=True)]
    shown = log_html(log)
    assert "look &lt;here&gt;" in shown and shown.index("refused") < shown.index("look"), "the newest stands first"
    assert "Nothing is done yet" in log_html([])
    assert "It is one of these groups: drive and its supply or settings of a device" in complaint_html(case())


def test_a_case_can_be_in_a_network_of_ones_own(tmp_path, monkeypatch):
    monkeypatch.setenv("WORKBOOK_PROGRESS", str(tmp_path))
    my_networks().save("mine", demo_plan("the Mill extended"))
    panel = PracticePanel(lambda seed, grade: case(), few)
    panel.network.value = ("mine", "Silo line")
    panel.begin.click()
    assert not panel.said.value and panel.session.case.installation.device("Sweep auger")
    panel.shown.value = "The plant"
    assert "Outlet gate" in panel._site and panel._site in panel.result.value
    (tmp_path / "networks" / "mine.zip").write_bytes(b"rubbish")
    panel.begin.click()
    assert "can&#x27;t be read" in panel.said.value and panel.session.case.installation.device("Sweep auger")
    panel.network.value = ("Saltmarsh Mill", "Mill line")
    panel.begin.click()
    assert panel.session.case == case()
