"""The table of faults and readings: it has every fault, and reads from both sides."""

import math

import pytest

from helpers.errors import Unknown
from helpers.line.faults.catalogue import FAULTS, by_key
from helpers.line.hazard import declared
from helpers.line.instruments.reading import instruments
from helpers.line.practice.case import mill
from helpers.panels.practice import fault_table
from helpers.panels.practice.fault_table import (
    ALIKE,
    BY_FAULT,
    BY_INSTRUMENT,
    fault_table_panel,
    fault_table_view,
)


def test_the_table_has_every_fault_that_the_site_can_have():
    possible = [fault.key for fault in FAULTS if fault.places(mill())]
    assert list(fault_table.known()) == possible and len(possible) >= 36


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
