"""The table of evidence: what is shipped is what trying the faults gives now; its file; what a reading leaves."""

import json
import os
from functools import cache
from random import Random

import pytest
from line_nets import demo, row

from helpers.bus.circuit.dc import Solved
from helpers.bus.circuit.network import branches
from helpers.errors import Unreadable
from helpers.line.evidence import make, table
from helpers.line.evidence.expected import ABSENT, Expected, exactly
from helpers.line.evidence.make import made_anew, make_evidence, tried
from helpers.line.evidence.noted import FREE, noted, number, tolerance
from helpers.line.evidence.sizes import shaken, sizes
from helpers.line.evidence.table import SHIPPED, Evidence, demo_evidence, evidence_of, key_of, mark_of
from helpers.line.faults.catalogue import FAULTS, by_key, possible
from helpers.line.faults.fault import Chosen
from helpers.line.instruments.catalogue import every, places, take
from helpers.line.instruments.catalogue import read as look_at
from helpers.line.instruments.reading import Reading
from helpers.line.plant.build import installation_of
from helpers.line.traffic.line import Line
from helpers.plan.model import Network, Plan

ALL = "WORKBOOK_FUZZ" in os.environ
ANEW = "A fault, an instrument or the line has changed: raise VERSION and make it anew with  python -m helpers evidence"


@cache
def small():
    return installation_of(row(2, 1_500_000))


def first(key, installation=None):
    fault = by_key(key)
    return Chosen(fault, fault.places(installation or small())[0])


@cache
def few():
    """The table of some faults of a small line."""
    return made_anew(small(), processes=1, faults=[first(key) for key in ("wrong address", "supply off", "short")])


# -- what is shipped --------------------------------------------------------------------------------------------------


def test_every_fault_that_can_be_in_the_demo_site_is_in_what_is_shipped():
    assert demo_evidence().complete, ANEW
    assert SHIPPED.stat().st_size < 2_000_000


def close(mine, theirs):
    """Equal; numbers may differ a little, for a processor may round the other way."""
    assert mine.keys() == theirs.keys(), ANEW
    for what, one in mine.items():
        other = theirs[what]
        assert (one.texts, one.changes, one.unit) == (other.texts, other.changes, other.unit), (what, ANEW)
        assert (one.low, one.high) == pytest.approx((other.low, other.high), rel=0.006, abs=0.011), (what, ANEW)
    return True


SAMPLE = Random(None if ALL else 5).sample(range(len(possible(demo()))), 40 if ALL else 6)


@pytest.mark.parametrize("number_of_fault", SAMPLE)
def test_a_sample_of_it_is_what_trying_the_faults_gives_now(number_of_fault):
    evidence, chosen = demo_evidence(), possible(demo())[number_of_fault]
    anew = Evidence(demo())
    anew.usual = evidence.usual
    anew.put(chosen, tried(demo(), chosen))
    for key, place in evidence.usual:
        mine, theirs = anew.sizes(chosen, key, place), evidence.sizes(chosen, key, place)
        assert len(mine) == len(theirs), ANEW
        assert all(close(*both) for both in zip(mine, theirs, strict=True))


def test_every_fault_of_the_catalogue_has_a_row_or_no_place_in_the_demo_site():
    shown = {chosen.fault.key for chosen in demo_evidence().all if demo_evidence().known(chosen)}
    assert {fault.key for fault in FAULTS if fault.places(demo())} == shown


@pytest.mark.parametrize("seed", range(40 if ALL else 8))
def test_a_cause_of_any_size_is_not_excluded_by_what_is_read_of_it(seed):
    """Sizes are drawn freely; the table has others."""
    random = Random(f"fresh {seed}")
    evidence = demo_evidence()
    chosen = random.choice(evidence.all)._replace(seed=random.randrange(1 << 30))
    line = Line(chosen.put(demo()), seed=seed)
    line.run(8)
    excluded = [reading for reading in every(line) if evidence.why_not(chosen, reading)]
    assert len(excluded) <= 1, (chosen.fault.key, chosen.place.words, excluded)


# -- sizes ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "seen"),
    [
        ("pin open", lambda i: [(fault.core) for fault in i.stretches[0].circuit.plugs[0].faults]),
        ("scaling wrong", lambda i: i.loaded.station("Drive 1").program.full_scale),
        ("run source local", lambda i: i.device("Drive 1").settings.set.run_source),
        ("format differs", lambda i: i.device("Drive 1").settings.set.data_format),
        ("duplicate address", lambda i: i.device("Drive 1").address),
    ],
)
def test_all_real_alternatives_are_tried(key, seen):
    chosen = first(key)
    tried_ones = [seen(each) for each in sizes(small(), chosen)]
    drawn = {str(seen(chosen._replace(seed=seed).put(small()))) for seed in range(300)}
    assert set(map(str, tried_ones)) == drawn


def test_of_what_can_have_any_value_both_ends_are_tried():
    chosen = first("bad contact")
    ohm = [fault.ohm for each in sizes(small(), chosen) for fault in each.stretches[0].circuit.sections[0].faults]
    assert (min(ohm), max(ohm)) == (250, 600)  # data/practice_faults.csv
    assert len(sizes(small(), first("wrong address"))) == 3, "free addresses are all alike"


# -- what is noted, and tolerance -------------------------------------------------------------------------------------


def test_free_values_are_told_by_their_class():
    def settings(address):
        line = first("wrong address").fault.make(small(), first("wrong address").place, Fixed(address))
        return dict(noted(look_at(line, "settings", first("wrong address").place), small()))["Station address"]

    class Fixed(Random):
        def choice(self, seq):
            return self.address

        def __new__(cls, address):
            return super().__new__(cls)

        def __init__(self, address):
            super().__init__(1)
            self.address = address

    assert settings(77) == settings(99) == FREE
    assert settings(126) == "126" and settings(3) == "that of Drive 2" and settings(2) == "2"


def test_a_row_of_the_station_table_is_several_lines_and_shares_have_neighbours():
    table_of_stations = Reading("stations", "", (("Fan (77)", "controller exchanges data, repeats a few, lost none"),))
    assert noted(table_of_stations, demo()) == (
        ("Fan", "controller exchanges data"), ("Fan, repeats", "a few"), ("Fan, lost", "none"),
        ("Fan, answers", "whole or none"),
    )  # fmt: skip
    assert exactly("a few").meets(exactly("none")) and exactly("a few").meets(exactly("some"))
    assert not exactly("none").meets(exactly("some"))


def test_moving_readings_never_exclude():
    moving = Expected(frozenset({"lit"}), changes=True)
    assert moving.fits("dark") and moving.fits("5 V") and moving.meets(exactly(ABSENT))


@pytest.mark.parametrize("seed", range(30 if ALL else 6))
def test_a_plant_that_is_not_quite_as_planned_stays_within_the_tolerance_of_the_plant(seed):
    circuit = demo().stretches[seed % 2].circuit
    built = shaken(circuit, Random(seed))
    assert built != circuit
    for devices, first_pin, second_pin, unit in (("unplugged", "A", "B", "Ω"), ("powered", "B", "A", "V")):
        before, after = (Solved(branches(each, devices=devices)) for each in (circuit, built))
        for plug in range(len(circuit.plugs)):
            pins = (plug, first_pin), (plug, second_pin)
            planned, real = (s.ohms(*pins) if unit == "Ω" else s.volts(*pins) for s in (before, after))
            within = tolerance("ohms" if unit == "Ω" else "volts", unit, as_built=True)
            assert real == pytest.approx(planned, abs=within.around(planned))


# -- the file ---------------------------------------------------------------------------------------------------------


def test_it_comes_back_from_its_file_as_it_was_and_only_for_its_own_plan(tmp_path):
    path = tmp_path / "evidence.json"
    few().save(path)
    back = table.read(path, small())
    for chosen in few().all:
        assert back.known(chosen) == few().known(chosen)
        for key, place in few().usual:
            assert back.sizes(chosen, key, place) == few().sizes(chosen, key, place)
    with pytest.raises(Unreadable, match="another plan"):
        table.read(path, demo())
    again = tmp_path / "again.json"
    back.save(again)
    assert again.read_bytes() == path.read_bytes()


def test_another_version_of_the_workbook_does_not_take_it(tmp_path, monkeypatch):
    few().save(tmp_path / "evidence.json")
    monkeypatch.setattr(table, "VERSION", table.VERSION + 1)
    with pytest.raises(Unreadable, match="another version"):
        table.read(tmp_path / "evidence.json", small())


@pytest.mark.parametrize(
    "damage",
    [lambda text: "", lambda text: text[: len(text) // 2], lambda text: "5", lambda text: text.replace("[", "{"),
     lambda text: json.dumps([*json.loads(text), ["supply off"]]),
     lambda text: json.dumps([*json.loads(text), ["supply off", "Drive 1", [1, ["look", 5, {}]]]])],
)  # fmt: skip
def test_a_damaged_file_is_told_and_counts_as_none(tmp_path, monkeypatch, damage):
    monkeypatch.setenv("WORKBOOK_PROGRESS", str(tmp_path))
    path = table.kept_at(small())
    few().save(path)
    path.write_text(damage(path.read_text(encoding="utf-8")), encoding="utf-8")
    with pytest.raises(Unreadable, match="damaged"):
        table.read(path, small())
    assert not evidence_of(small()).known(first("supply off"))


def test_the_mark_is_of_the_plan_and_not_of_what_is_broken_in_it():
    assert mark_of(demo()) != mark_of(small()) != mark_of(installation_of(row(2, 1_500_000, watchdog_s=0.3)))
    assert mark_of(small()) == mark_of(installation_of(row(2, 1_500_000)))


# -- making it --------------------------------------------------------------------------------------------------------


def test_several_processes_make_the_same_and_tell_how_far_they_are():
    told = []
    faults = [first(key) for key in ("wrong address", "supply off", "short")]
    several = made_anew(small(), told.append, processes=2, faults=faults)
    assert several.text == few().text
    assert told == sorted(told) and told[-1] == 1


def test_it_is_made_for_each_network_of_a_plan_that_has_none(tmp_path, monkeypatch):
    monkeypatch.setenv("WORKBOOK_PROGRESS", str(tmp_path))
    few_faults = [first("supply off")]
    monkeypatch.setattr(table, "possible", lambda installation: tuple(few_faults))
    told = []
    network = row(2, 1_500_000)
    plan = Plan("mine", (network, Network("nobody there", 1_500_000, "A", ())))
    (made,) = make_evidence(plan, lambda share, words: told.append((share, words)))
    assert made.complete and evidence_of(small()).complete and told[-1] == (1.0, "evidence is made")
    monkeypatch.setattr(make, "made_anew", None)
    assert make_evidence(plan)[0].complete, "what is made is not made again"


def test_whoever_stops_it_leaves_nothing_behind(tmp_path, monkeypatch):
    monkeypatch.setenv("WORKBOOK_PROGRESS", str(tmp_path))
    monkeypatch.setattr(table, "possible", lambda installation: (first("supply off"),))

    def stop(share, words):
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        make_evidence(Plan("mine", (row(2, 1_500_000),)), stop)
    assert not list(tmp_path.rglob("*.json"))


def test_what_was_read_leaves_the_cause_and_says_what_excludes_another():
    plug = next(place for place in places(small(), "ohms") if place.device == "Drive 1")
    line = Line(first("short").put(small()))
    reading = take(line, "ohms", plug)
    left = few().candidates([reading])
    assert [key_of(chosen) for chosen in left.fitting] == [key_of(first("short"))]
    assert first("supply off") in few().all and few().why_not(first("supply off"), reading) == "A to B"
    assert len(left.unknown) == len(few().all) - 3, "of the others the table has nothing"
    assert number("1.2 kΩ") == (1200, "Ω")
