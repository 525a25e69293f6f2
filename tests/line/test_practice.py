"""Fault-finding practice: observation, complaint, cases, sessions, signatures, marks."""

from functools import cache
from random import Random

import pytest
from line_nets import row

from helpers.errors import OutOfRange, WorkbookError
from helpers.line.build import installation_of
from helpers.line.faults.catalogue import by_key
from helpers.line.faults.fault import Chosen
from helpers.line.instruments.kit import every, places, take
from helpers.line.line import Line
from helpers.line.place import Place
from helpers.line.practice.case import Case, draw_case
from helpers.line.practice.complaint import complaint
from helpers.line.practice.marking import Claim, mark
from helpers.line.practice.observation import DROPS_OUT, RUNS, STANDS, usual, watch
from helpers.line.practice.session import Session
from helpers.line.practice.signatures import Signatures
from helpers.line.practice.story import story
from helpers.line.practice.tables import indistinguishable, table


@cache
def small():
    return installation_of(row(3, 1_500_000))


def chosen(key, number=0, seed=1):
    fault = by_key(key)
    return Chosen(fault, fault.places(small())[number], seed)


@cache
def case_of(key, number=0):
    """A case with one known fault."""
    what = chosen(key, number)
    faulty = what.put(small())
    now = watch(Line(faulty))
    return Case(1, 2, small(), (what,), faulty, now, True, complaint(now, usual(small()), Random(1)), "", ())


class Few(Signatures):
    """Signatures of a few faults only."""

    def __init__(self, keys, folder=None):
        super().__init__(small(), folder)
        self.all = tuple(c for c in self.all if c.fault.key in keys)
        self._number = {(c.fault.key, c.place.words): n for n, c in enumerate(self.all)}


@cache
def few():
    return Few(("supply off", "board loose", "controller in stop"))


@pytest.mark.parametrize(
    ("key", "does"),
    [("supply off", STANDS), ("run source local", STANDS), ("supply drops", DROPS_OUT), ("terminator doubled", RUNS)],
)
def test_people_see_what_a_drive_does(key, does):
    seen = case_of(key).now
    assert seen.drive("Drive 1").does == does
    assert seen.drive("Drive 3").does == RUNS


def test_a_healthy_plant_gives_no_complaint_and_a_standing_drive_is_named():
    assert {seen.does for _, seen in usual(small()).drives} == {RUNS}
    assert complaint(usual(small()), usual(small()), Random(1)) == ""
    assert "rive 1" in case_of("supply off").complaint
    assert "rive 2" not in case_of("supply off").complaint


@pytest.mark.parametrize("grade", [1, 3])
def test_the_same_seed_gives_the_same_case(grade):
    one, other = draw_case(5, grade, small()), draw_case(5, grade, small())
    assert one == other
    assert bool(one.hint) == (grade == 1) == (len(one.groups) == 2)
    assert one.complaint and one.faulty != small()


def test_a_grade_that_does_not_exist_is_refused():
    with pytest.raises(OutOfRange, match="grade of difficulty is 4"):
        draw_case(1, 4, small())


def test_what_needs_a_dead_bus_is_refused_at_a_live_one_and_the_other_way_round():
    session = Session(case_of("supply off"))
    plug = places(small(), "ohms")[1]
    with pytest.raises(WorkbookError, match="isolated, locked and measured dead"):
        session.take("ohms", plug)
    assert session.minutes == 0 and session.log[-1].breach
    assert any("lock" in step.lower() for step in session.isolate())
    assert session.take("ohms", plug).lines
    with pytest.raises(WorkbookError, match="needs it in operation"):
        session.take("stations")
    with pytest.raises(WorkbookError, match="people are clear"):
        session.restore(people_clear=False)
    session.restore(people_clear=True)
    assert session.bus == "alive"


def test_outputs_are_written_only_when_people_are_clear():
    session = Session(case_of("supply off"))
    with pytest.raises(WorkbookError, match="people are clear"):
        session.write("Drive 2", bytes(12), people_clear=False)
    session.write("Drive 2", bytes(12), people_clear=True)
    assert not session.line.slaves["Drive 2"].outputs[0]
    session.give_back("Drive 2")


def test_the_right_repair_makes_the_plant_run_and_a_wrong_one_only_costs_time():
    session = Session(case_of("supply off"))
    assert not session.repair("replace plug", Place("plug of Drive 2", "Drive 2", 0, 2), people_clear=True)
    assert session.minutes == 20 and not session.healthy
    assert session.repair("switch on", Place("Drive 1", "Drive 1"), people_clear=True)
    assert session.healthy and session.runs()


def test_a_session_that_does_nothing_has_no_evidence():
    marks = mark(Session(case_of("supply off")), (), few())
    assert [m.word for m in marks.parts][:3] == ["open"] * 3
    assert len(marks.left.fitting) == len(few().all)


def test_readings_leave_the_cause_and_the_story_tells_what_they_excluded():
    session = Session(case_of("supply off"))
    session.take("front", Place("Drive 1", "Drive 1"))
    session.take("look", places(small(), "look")[1])
    session.take("stations")
    cause = session.case.chosen[0]
    marks = mark(session, (Claim("supply off", cause.place),), few(), seconds=60)
    assert [c[:2] for c in marks.left.fitting] == [cause[:2]]
    assert marks.part("cause").word == marks.part("evidence").word == "right"
    assert marks.part("repair").word == "open"
    few().work(60)
    marks = mark(session, (Claim("board loose", cause.place),), few())
    assert marks.part("cause").word == "wrong"
    assert marks.path and marks.path[-1].left == 1
    told = story(session, marks, few())
    assert any("excludes" in line for line in told) and told[-1].startswith("A good path")


@pytest.mark.parametrize("key", ["supply off", "controller in stop"])
def test_the_cause_is_never_excluded_by_its_own_readings(key):
    line = Line(chosen(key).put(small()))
    line.run(8)
    cause = next(c for c in few().all if c[:2] == chosen(key)[:2])
    for reading in every(line):
        assert few().why_not(cause, reading) is None, reading


def test_what_is_made_is_kept_on_the_disk_and_a_damaged_file_is_made_anew(tmp_path):
    first = Few(("controller in stop",), tmp_path)
    assert first.progress == 0 and first.work(60) and first.progress == 1
    (file,) = tmp_path.iterdir()
    again = Few(("controller in stop",), tmp_path)
    stop = again.all[0]
    assert again.progress == 1
    assert again.expected(stop, "controller", "") == first.expected(stop, "controller", "")
    file.write_bytes(b"no such thing")
    assert Few(("controller in stop",), tmp_path).progress == 0


def test_a_folder_that_can_not_be_written_does_no_harm(tmp_path):
    lost = Few(("controller in stop",), tmp_path / "gone")
    lost.expected(lost.all[0], "look", "plug of Drive 1")
    assert not lost.save() and lost.progress == 0.25


def test_without_time_a_fault_stays_unknown():
    fresh = Few(("supply off", "board loose"))
    line = Line(small())
    line.run(1)
    found = fresh.candidates([take(line, "stations")], seconds=-1)
    assert not found.fitting and len(found.unknown) == len(fresh.all)


def test_faults_at_the_desk_show_in_the_table_and_are_told_apart():
    desk = Few(("bit 10 missing", "bytes swapped", "ident mismatch"))
    desk.all = tuple(c for c in desk.all if "Drive 2" in c.place.words)
    desk._number = {(c.fault.key, c.place.words): n for n, c in enumerate(desk.all)}
    rows = {each["fault"]: each for each in table(desk)}
    assert "STW1: 16#047F" not in rows["Control word without bit 10"]["I/O test sheet"] != "as usual"
    assert "ident" in rows["Ident number of another device"]["project in the engineering computer"]
    assert not indistinguishable(desk)


def test_the_front_of_a_drive_without_supply_is_dark_from_the_start():
    front = dict(take(Line(case_of("supply off").faulty), "front", Place("Drive 1", "Drive 1")).lines)
    assert front["Power"] == "dark"
