"""Fault-finding practice: observation, complaint, cases, sessions, marks."""

import os
from contextlib import suppress
from functools import cache, partial
from random import Random

import pytest
from line_nets import row

from helpers.errors import OutOfRange, WorkbookError
from helpers.line.evidence.make import made_anew
from helpers.line.evidence.observe import comes_and_goes
from helpers.line.evidence.pairs import indistinguishable, table
from helpers.line.evidence.table import Evidence
from helpers.line.faults.catalogue import by_key, possible
from helpers.line.faults.fault import Chosen, combined
from helpers.line.instruments import io_sheet
from helpers.line.instruments.catalogue import every, places, take
from helpers.line.instruments.reading import instrument, instruments
from helpers.line.plant.build import installation_of
from helpers.line.plant.place import Place, devices, find
from helpers.line.practice.case import Case, draw_case
from helpers.line.practice.complaint import complaint
from helpers.line.practice.marking import Claim, mark, minutes_to_look
from helpers.line.practice.observation import DROPS_OUT, RUNS, STANDS, usual, watch
from helpers.line.practice.path import Path, Step, good_path
from helpers.line.practice.session import Session
from helpers.line.practice.story import story
from helpers.line.repairs.catalogue import REPAIRS
from helpers.line.times import size
from helpers.line.traffic.line import Line

SEEDS = 30 if "WORKBOOK_FUZZ" in os.environ else 2


@cache
def small():
    return installation_of(row(2, 1_500_000))


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


@cache
def evidence_of(*keys, beside=""):
    """The table of these faults only, without those at one device."""
    faults = [c for c in possible(small()) if c.fault.key in keys and (not beside or beside not in c.place.words)]
    found = made_anew(small(), processes=1, faults=faults)
    found.all = tuple(faults)
    return found


@cache
def few():
    return evidence_of("supply off", "board loose", "controller in stop")


@pytest.mark.parametrize(
    ("key", "does"),
    [("supply off", STANDS), ("run source local", STANDS), ("supply drops", DROPS_OUT), ("terminator doubled", RUNS)],
)
def test_people_see_what_a_drive_does(key, does):
    seen = case_of(key).now
    assert seen.drive("Drive 1").does == does
    assert seen.drive("Drive 2").does == RUNS


def test_a_healthy_plant_gives_no_complaint_and_a_standing_drive_is_named():
    assert {seen.does for _, seen in usual(small()).drives} == {RUNS}
    assert complaint(usual(small()), usual(small()), Random(1)) == ""
    assert "rive 1" in case_of("supply off").complaint
    assert "rive 2" not in case_of("supply off").complaint


@cache
def drawn(seed, grade):
    return draw_case(seed, grade, small())


@pytest.mark.parametrize("grade", [1, 2, 3])
def test_cases_are_drawn_without_end_and_most_are_seen(grade):
    """The normal run draws two of each grade; under WORKBOOK_FUZZ it draws thirty."""
    cases = [drawn(seed, grade) for seed in range(1, 1 + SEEDS)]
    for case in cases:
        assert bool(case.hint) == (grade == 1) == (len(case.groups) == 2)
        assert case.complaint and case.faulty != small()
        assert case.chosen[0].fault.group in case.groups
        if grade == 3:
            assert len(case.chosen) == 2 or comes_and_goes(case.faulty)
        else:
            assert len(case.chosen) == 1 and case.chosen[0].fault.grade <= (1 if grade == 1 else 3)
    assert sum(case.visible for case in cases) > len(cases) * (0.4 if grade == 2 else 0.8)


def test_the_same_seed_gives_the_same_case():
    assert draw_case(1, 1, small()) == drawn(1, 1)


def test_a_fault_that_nobody_sees_is_not_drawn_twice_for_a_case_that_shows(monkeypatch):
    drawn_so_far = []

    def nobody_sees(now, usual, random):
        return ""

    def watched(line):
        drawn_so_far.append(line.installation)
        return usual(small())

    monkeypatch.setattr("helpers.line.practice.case.complaint", nobody_sees)
    monkeypatch.setattr("helpers.line.practice.case.watch", watched)
    case = draw_case(7, 1, small())
    assert not case.visible and case.complaint
    assert len(drawn_so_far) == 6 == len(set(map(repr, drawn_so_far)))


def test_a_grade_that_does_not_exist_is_refused():
    with pytest.raises(OutOfRange, match="grade of difficulty is 4"):
        draw_case(1, 4, small())


def test_what_needs_a_dead_bus_is_refused_at_a_live_one_and_the_other_way_round():
    session = Session(case_of("supply off"))
    plug = places(small(), "ohms")[1]
    with pytest.raises(WorkbookError, match="isolated, locked and measured dead"):
        session.take("ohms", plug)
    assert session.minutes == 0 and session.log[-1].refused
    assert not session.log[-1].breach, "a false reading hurts nobody"
    with pytest.raises(WorkbookError, match="DANGER: Mains voltage inside kills"):
        session.repair("seat board", Place("Drive 2", "Drive 2"), people_clear=True)
    assert session.log[-1].breach
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
    address = out(session, "Drive 2")
    with pytest.raises(WorkbookError, match="people are clear of Drive 2"):
        session.write(address, 0, people_clear=False)
    assert session.log[-1].refused and session.minutes == 0
    session.write(address, 0, people_clear=True)
    assert not session.line.slaves["Drive 2"].outputs[0]
    with pytest.raises(WorkbookError, match="people are clear"):
        session.release(people_clear=False)
    assert session.release(people_clear=True) == ("Drive 2",) and not session.release(people_clear=False)
    with pytest.raises(OutOfRange, match="is an input"):
        session.write("%IW400", 0, people_clear=True)


def out(session, station):
    """The control word of a drive without parameter channel, as an address."""
    return f"%QW{io_sheet.image(session.line).stretch(station, 'out').first_byte}"


def test_words_by_hand_tell_whose_words_hold_a_drive_and_cut_the_program_off_until_they_are_released():
    session = Session(case_of("bit 10 missing"))
    session.see("Drive 1")
    (seen,) = session.evidence
    assert "out, STW1: 16#007E" in seen.text and session.minutes == 4
    reading = session.write(out(session, "Drive 1"), 0x047E, people_clear=True)
    reading = session.write(out(session, "Drive 1"), 0x047F, people_clear=True)
    assert "standing before, turning" in session.log[-1].result and "16#047F" in reading.text
    assert session.minutes == 12 and session.evidence == (seen,), "words by hand are no evidence of the case"
    session.take("io sheet", places(small(), "io sheet")[0])
    assert session.evidence == (seen,)
    session.watch()
    assert "still written by hand: Drive 1" in session.log[-1].result
    assert not session.healthy
    one_fault = evidence_of("bit 10 missing")
    told = "\n".join(story(session, mark(session, (), one_fault), one_fault))
    assert "has its cable, address, format and sources in order" in told
    assert "still written by hand, not by the program: Drive 1" in told
    session.isolate()
    session.restore(people_clear=True)
    assert not io_sheet.forced(session.line), "the controller was without supply"
    session.take("io sheet", places(small(), "io sheet")[0])
    assert len(session.evidence) == 2


def test_the_right_repair_makes_the_plant_run_and_a_wrong_one_only_costs_time():
    session = Session(case_of("supply off"))
    assert not session.repair("replace plug", Place("plug of Drive 2", "Drive 2", 0, 2), people_clear=True)
    assert session.minutes == 20 and not session.healthy
    assert session.repair("switch on", Place("Drive 1", "Drive 1"), people_clear=True)
    assert session.healthy and session.runs()


def test_a_repair_is_whole_only_when_no_drive_waits_to_be_acknowledged():
    session = Session(case_of("loose core"))
    assert session.repair("replace piece", session.case.chosen[0].place, people_clear=True)
    assert session.healthy and session.tripped == ("Drive 1", "Drive 2")
    part = mark(session, (), few()).part("repair")
    assert part.word == "partly" and part.sentence.endswith("acknowledged: Drive 1, Drive 2.")
    for drive in session.tripped:
        session.acknowledge(drive, people_clear=True)
    assert mark(session, (), few()).part("repair").word == "right" and session.runs()


def test_what_could_have_hurt_somebody_is_told_one_by_one():
    session = Session(case_of("supply off"))
    session.isolate()
    for _ in range(2):
        with pytest.raises(WorkbookError):
            session.restore(people_clear=False)
    order = mark(session, (), few()).part("order of work")
    assert order.word == "wrong" and order.sentence.startswith("2 attempts refused: (1) ") and "(2) " in order.sentence


def test_what_the_lesson_asks_to_try_is_not_called_unsafe():
    """An ohmmeter at a live bus is refused; words of a motor that turns are let go without a word for the people."""
    session = Session(case_of("run source local"))
    with pytest.raises(WorkbookError, match="needs it isolated"):
        session.take("ohms", places(small(), "ohms")[1])
    session.take("stations")
    session.write(out(session, "Drive 2"), 0x047F, people_clear=True)
    with pytest.raises(WorkbookError, match="people are clear"):
        session.release()
    session.release(people_clear=True)
    assert mark(session, (), few()).part("order of work").word == "right"


def test_a_start_without_a_look_at_the_people_is_unsafe():
    session = Session(case_of("supply off"))
    with pytest.raises(WorkbookError, match="people are clear of Drive 1"):
        session.repair("switch on", Place("Drive 1", "Drive 1"))
    assert mark(session, (), few()).part("order of work").word == "wrong"


def test_a_word_for_the_people_ends_with_the_minutes_that_pass():
    session = Session(case_of("supply off"))
    session.gate.say_clear(("Drive 1",))
    session.take("project", places(small(), "project")[0])
    with pytest.raises(WorkbookError, match="The plant has changed since you said it"):
        session.repair("switch on", Place("Drive 1", "Drive 1"))


def test_nothing_done_is_neither_quick_nor_safe():
    marks = mark(Session(case_of("supply off")), (), few())
    assert marks.part("time").word == marks.part("order of work").word == "open"


def test_only_readings_of_the_case_count_as_time_to_look():
    session = Session(case_of("loose core"))
    session.take("stations")
    assert minutes_to_look(session.log) == instrument("stations").minutes
    session.isolate()
    session.restore(people_clear=True)
    assert minutes_to_look(session.log) == 2, "isolated, and nothing measured"
    session.isolate()
    session.take("ohms", places(small(), "ohms")[1])
    around = size("isolate_minutes") + size("restore_minutes")
    assert minutes_to_look(session.log) == 2 + 15 + size("isolate_minutes")
    session.restore(people_clear=True)
    assert minutes_to_look(session.log) == 2 + 15 + around
    session.repair("replace piece", session.case.chosen[0].place, people_clear=True)
    for drive in session.tripped:
        session.acknowledge(drive, people_clear=True)
    session.write(out(session, "Drive 1"), 0x047F, people_clear=True)
    session.take("stations")
    session.watch()
    assert minutes_to_look(session.log) == 2 + 15 + around


@pytest.mark.parametrize(("longer", "word"), [(0.0, "right"), (0.5, "partly")])
def test_as_long_as_the_good_path_is_right_and_longer_is_not(longer, word, monkeypatch):
    session = Session(case_of("supply off"))
    session.take("stations")
    path = Path((Step("stations", Place(""), 2.0 - longer, 1),), session.case.chosen)
    monkeypatch.setattr("helpers.line.practice.marking.good_path", lambda *_: path)
    assert mark(session, (), few()).part("time").word == word


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
    marks = mark(session, (Claim("supply off", cause.place),), few())
    assert [c[:2] for c in marks.left.fitting] == [cause[:2]]
    assert marks.part("cause").word == marks.part("evidence").word == "right"
    assert marks.part("repair").word == "open"
    marks = mark(session, (Claim("board loose", cause.place),), few())
    assert marks.part("cause").word == "wrong"
    assert marks.path.steps[-1].left == 1 and [c[:2] for c in marks.path.left] == [cause[:2]]
    told = story(session, marks, few())
    assert any("excludes" in line for line in told) and told[-1].startswith("A good path")


DESK = ("run source local", "bit 10 missing", "supply off", "board loose", "controller in stop", "fault returns")


@cache
def desk():
    """The table of faults that are found without a meter, at one drive."""
    return evidence_of(*DESK, beside="Drive 2")


@pytest.mark.parametrize(
    ("key", "first"),
    [
        ("run source local", [("stations", ""), ("settings", "Drive 1")]),
        ("bit 10 missing", [("stations", ""), ("settings", "Drive 1"), ("io sheet", "Drive 1 in the project")]),
        ("supply off", [("stations", ""), ("front", "Drive 1")]),
        ("controller in stop", [("stations", "")]),
    ],
)
def test_a_good_path_goes_the_way_that_the_lesson_teaches(key, first):
    """In data exchange: sources, then words. Not in it: the supply first. Only at the drive of the complaint."""
    path = good_path(desk(), case_of(key))
    went = [(step.key, step.place.words) for step in path.steps]
    taught = [step for step in first if step in went]
    assert went[: len(taught)] == taught and taught[0] == ("stations", "")
    assert not any("Drive 2" in words for _, words in went)
    assert case_of(key).chosen[0][:2] in [c[:2] for c in path.left]


def test_a_good_path_ends_with_one_cause_or_with_those_that_nothing_tells_apart():
    for key in DESK:
        path = good_path(desk(), case_of(key))
        left = [c.fault.key for c in path.left]
        assert key in left and path.steps[-1].left == len(left)
        assert len(left) == 1 or "fault returns" in left, "only what comes and goes can not be excluded"
    lasting = Path(path.steps, desk().all[:2])
    session = Session(case_of("supply off"))
    marks = mark(session, (), desk())._replace(path=lasting)
    told = story(session, marks, desk())[-1]
    assert "No reading tells these apart at one look" in told and desk().all[1].fault.name in told


@pytest.mark.parametrize("key", ["supply off", "controller in stop"])
def test_the_cause_is_never_excluded_by_its_own_readings(key):
    line = Line(chosen(key).put(small()))
    line.run(8)
    cause = next(c for c in few().all if c[:2] == chosen(key)[:2])
    for reading in every(line):
        assert few().why_not(cause, reading) is None, reading


def test_what_a_fault_changes_stands_in_the_table():
    desk = evidence_of("bit 10 missing", "run source local", beside="Drive 1")
    rows = {each["fault"]: each for each in table(desk)}
    without, local = rows[by_key("bit 10 missing").name], rows[by_key("run source local").name]
    assert "STW1: 16#047F" not in without["I/O test sheet"] != "as usual"
    assert without["settings in the drive"] == "as usual" != local["settings in the drive"]
    assert without["plug and board"] == local["plug and board"] == "as usual"
    assert not indistinguishable(desk)


def everything(session):
    """Every reading at the live bus, then every one at the dead bus."""
    for bus in ("alive", "dead"):
        if bus == "dead":
            session.isolate()
        for each in instruments():
            if each.bus == bus or (each.bus == "any" and bus == "alive"):
                for place in places(small(), each.key):
                    session.take(each.key, place)


def test_whoever_takes_every_reading_leaves_only_what_can_not_be_told_apart():
    session = Session(case_of("board loose"))
    everything(session)
    (cause,) = session.case.chosen
    left = few().candidates(session.evidence)
    assert not left.unknown and cause[:2] in [c[:2] for c in left.fitting]
    alike = {c[:2] for pair in indistinguishable(few(), few().all) for c in pair[:2]}
    assert {c[:2] for c in left.fitting} - {cause[:2]} <= alike


def test_two_faults_are_two_causes_and_no_single_one_gives_both_readings():
    two = (chosen("supply off"), chosen("board loose", 1))
    faulty = combined(small(), two)
    case = Case(1, 3, small(), two, faulty, usual(small()), True, "It stands.", "", ())
    session = Session(case)
    session.take("look", find("plug of Drive 2", places(small(), "look")))
    marks = mark(session, (Claim("supply off", two[0].place),), few())
    assert marks.part("cause").word == marks.part("evidence").word == "partly"
    assert "1 of 2 causes" in marks.part("cause").sentence
    assert "alone would also give" in marks.part("evidence").sentence
    session.take("front", find("Drive 1", places(small(), "front")))
    both = tuple(Claim(c.fault.key, c.place) for c in two)
    marks = mark(session, both, few())
    assert marks.part("cause").word == marks.part("evidence").word == "right"
    assert "had to be two" in marks.part("evidence").sentence
    marks = mark(session, (*both, Claim("short", two[0].place)), few())
    assert marks.part("cause").word == "partly"


def at_random(case, seed):
    """A session of somebody who tries anything anywhere; what is refused is refused in words."""
    random, session = Random(seed), Session(case)
    kit, repairs = instruments(), REPAIRS
    for _ in range(10):
        spots = places(small(), (each := random.choice(kit)).key)
        repair = random.choice(repairs)
        clear = random.random() < 0.7
        tried = (
            partial(session.take, each.key, random.choice(spots)),
            partial(session.repair, repair.key, random.choice(devices(small())), people_clear=clear),
            partial(session.acknowledge, "Drive 1", people_clear=clear),
            partial(session.write, out(session, "Drive 2"), random.randrange(1 << 16), people_clear=clear),
            partial(session.release, people_clear=clear),
            session.isolate,
            partial(session.restore, people_clear=clear),
        )
        with suppress(WorkbookError):
            random.choices(tried, (6, 3, 1, 1, 1, 1, 1))[0]()
    return session


@pytest.mark.parametrize("seed", range(1, 1 + SEEDS // 2))
def test_whatever_is_tried_ends_in_a_log_and_marks_and_the_same_ones_again(seed):
    case = drawn(seed, 3)
    session, again = at_random(case, seed), at_random(case, seed)
    assert session.log == again.log
    minutes = [entry.minute for entry in session.log]
    assert minutes == sorted(minutes) and minutes[-1] == session.minutes
    none_made_yet = Evidence(small())
    marks = mark(session, (), none_made_yet)
    assert {m.word for m in marks.parts} <= {"right", "partly", "wrong", "open"}
    assert all(m.sentence.endswith(".") for m in marks.parts)
    assert all(story(session, marks, none_made_yet))


def test_the_front_of_a_drive_without_supply_is_dark_from_the_start():
    front = dict(take(Line(case_of("supply off").faulty), "front", Place("Drive 1", "Drive 1")).lines)
    assert front["Power"] == "dark"
