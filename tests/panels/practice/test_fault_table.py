"""The table of faults and readings: what is stored is what running the faults gives, and it reads from both sides."""

import csv
import math

import pytest

from helpers.errors import Unknown
from helpers.facts import rows, where
from helpers.line.faults.catalogue import FAULTS, by_key
from helpers.line.faults.fault import Chosen
from helpers.line.hazard import declared
from helpers.line.instruments.catalogue import places
from helpers.line.instruments.reading import instruments
from helpers.line.plant.place import find
from helpers.line.practice import tables
from helpers.line.practice.case import mill
from helpers.line.practice.expected import apart
from helpers.line.practice.signature import EYE, METER, PARTS, part_of
from helpers.line.practice.signature_file import from_text
from helpers.line.practice.signatures import Signatures
from helpers.panels.practice import fault_table
from helpers.panels.practice.fault_table import (
    ALIKE,
    BY_FAULT,
    BY_INSTRUMENT,
    READINGS,
    fault_table_panel,
    fault_table_view,
)


def test_the_table_has_every_fault_that_the_site_can_have():
    possible = [fault.key for fault in FAULTS if fault.places(mill())]
    assert list(fault_table.known()) == possible and len(possible) >= 36


# Two that cost little; `python -m helpers.panels.practice.fault_table` makes all of them anew.
@pytest.mark.parametrize(("key", "parts"), [("terminator missing", (EYE, METER)), ("format differs", (EYE,))])
def test_running_a_fault_anew_gives_what_is_stored(key, parts):
    stored = {row["instrument"]: row["shows"] for row in where(READINGS, fault=key)}
    words = where(READINGS, fault=key)[0]["place"]
    chosen = Chosen(by_key(key), find(words, by_key(key).places(mill())))
    signatures = Signatures(mill())
    for each in instruments():
        if part_of(each.key) in parts:
            changed = [
                (place.words, line)
                for place in places(mill(), each.key)
                if (line := apart(signatures.expected(chosen, each.key, place.words),
                                  signatures.healthy(each.key, place.words)))
            ]  # fmt: skip
            assert bool(changed) == (each.key in stored), each.key
            if changed:
                assert any(stored[each.key].startswith(f"{place}: {line}: ") for place, line in changed)


def test_what_a_fault_shows_and_what_an_instrument_shows_are_one_table():
    view = fault_table_view(BY_FAULT, "controller in stop", "look")
    assert view.sentence.startswith("Controller in stop") and "front of the controller" in str(view.rows)
    assert len(view.rows) + len(view.folded[0][1]) == len(instruments())
    for each in instruments():
        shown = fault_table_view(BY_INSTRUMENT, "stub", each.key)
        assert f"shows {len(shown.rows)} of" in shown.sentence and shown.caution == declared(each.hazards).cautions
        for fault in fault_table.known():
            row = next(row for row in fault_table.shown_by(fault) if row["instrument"] == each.name)
            assert (row["what it shows"] != "as usual") == (by_key(fault).name in [r["fault"] for r in shown.rows])
    with pytest.raises(Unknown):
        fault_table.shown_by("nothing")


def test_a_terminator_missing_gives_220_ohm_and_one_too_many_73():
    # 220 Ω between B and A in each terminator: M. Felser, PROFIBUS Manual, bus termination; side by side 110 and 73 Ω
    for fault, ohms in (("terminator missing", 220), ("terminator doubled", 220 / 3)):
        shown = next(row["what it shows"] for row in fault_table.shown_by(fault) if "ohms" in row["instrument"])
        assert shown.endswith(" Ω") and float(shown.split()[-2]) == pytest.approx(ohms, rel=0.03)


def test_no_two_faults_of_the_mill_look_alike_and_a_pair_that_did_would_be_told(monkeypatch):
    pairs = math.comb(len(fault_table.known()), 2)
    told = f"of {pairs} pairs of faults look alike to every instrument."
    assert pairs >= 1128 and fault_table_view(ALIKE, "stub", "look").sentence == f"None {told}"
    pair = {"one": "Stub too long", "other": "Core open", "reason": "Both are out of sight."}
    monkeypatch.setattr(fault_table, "alike", lambda: [pair])
    view = fault_table_view(ALIKE, "stub", "look")
    assert view.sentence == f"1 {told}" and view.rows == [pair]


def test_crosses_stand_where_a_reading_differs():
    (row,) = fault_table.crosses(["controller in stop"], ["front", "look"])
    assert list(row.values()) == ["Controller in stop", "×", "·"]
    assert len(fault_table.crosses()) == len(fault_table.known())
    assert len(fault_table.crosses()[0]) == 1 + len(instruments())


def test_the_panel_browses_it():
    panel = fault_table_panel()
    panel.fields["look"].widget.value = BY_INSTRUMENT
    panel.fields["key"].widget.value = "ohms"
    assert "meter, ohms, bus dead: shows" in panel.result.value and "NOTICE" in panel.result.value
    panel.fields["look"].widget.value = ALIKE
    assert "look alike to every instrument" in panel.result.value


def test_the_tables_are_written_as_they_are_read(tmp_path, monkeypatch):
    faults = [Chosen(by_key("controller in stop"), by_key("controller in stop").places(mill())[0])] * 2
    line = {"fault": "-", "place": "-"} | {each.name: tables.AS_USUAL for each in instruments()}
    seen = [line | {"plug and board": "a, b"}, line]
    monkeypatch.setattr(tables, "representatives", lambda signatures: tuple(faults))
    monkeypatch.setattr(tables, "table", lambda signatures, those: seen)
    monkeypatch.setattr(tables, "indistinguishable", lambda *_: (tables.Pair(*faults, "The same."),))
    (tmp_path / "demo").mkdir()
    fault_table.write_tables(Signatures(mill()), tmp_path)
    with (tmp_path / f"{READINGS}.csv").open(encoding="utf-8", newline="") as file:
        written = list(csv.DictReader(file))
    assert [(row["instrument"], row["shows"]) for row in written] == [("look", "a, b"), ("", "")]
    assert set(written[0]) == set(rows(READINGS)[0]) and written[0]["standing"] == "calculated"


def test_one_command_runs_all_that_is_missing_and_writes_all_that_is_kept(tmp_path, monkeypatch):
    class OfOneFault(Signatures):
        """As of the demo site, but of one fault; as if the processes had ended before their time."""

        def __init__(self, installation):
            super().__init__(installation)
            self.all = tuple(c for c in self.all if c.fault.key == "controller in stop")
            made.append(self)

        def start(self, processes):
            assert processes >= 1

    made = []
    monkeypatch.setattr(fault_table, "Signatures", OfOneFault)
    (tmp_path / "demo").mkdir()
    fault_table.make(tmp_path)
    (signatures,) = made
    assert signatures.progress == 1
    assert {path.name for path in (tmp_path / "demo").iterdir()} == {
        "fault_pairs.csv",
        "fault_readings.csv",
        "fault_signatures.json",
    }
    kept = from_text((tmp_path / "demo/fault_signatures.json").read_text(encoding="utf-8"), signatures.stamp)
    assert {key[:2] for key in kept.parts} == {("controller in stop", "Controller")} and len(kept.parts) == len(PARTS)
    with (tmp_path / f"{READINGS}.csv").open(encoding="utf-8", newline="") as file:
        assert {row["fault"] for row in csv.DictReader(file)} == {"controller in stop"}
