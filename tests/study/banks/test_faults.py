"""The questions on finding faults, answered a second time from their text alone."""

import re

from helpers.bus.circuit.elements import evenly_spaced
from helpers.bus.circuit.faults import bad_contact, terminator_missing
from helpers.bus.circuit.margin import margins
from helpers.facts import where
from helpers.line.evidence.pairs import shows_and_silent
from helpers.line.evidence.table import demo_evidence
from helpers.study.banks.registry import draw_question, kinds

SEEDS = range(1, 30)


def drawn(kind):
    return [draw_question("faults", kind, seed) for seed in SEEDS]


def test_a_loss_from_a_point_on_is_the_cable_and_a_single_loss_the_drive():
    for question in drawn("one-or-many"):
        first = re.search(r"only drive (\d+)|the drives (\d+) to", question.text)
        number = int(first[1] or first[2])
        if first[1]:
            assert question.answer.startswith(f"at drive {number} itself")
        else:
            assert question.answer.startswith(f"in the cable between drive {number - 1} and drive {number},")


def test_the_next_cut_leaves_two_equal_halves():
    for question in drawn("next-plug"):
        low, high = map(int, re.search(r"left: plugs (\d+) to (\d+),", question.text).groups())
        assert question.answer - low + 1 == high - question.answer


def test_cuts_are_enough_and_one_fewer_is_not():
    for question in drawn("how-many-cuts"):
        plugs = int(re.search(r"of (\d+) on a segment", question.text)[1])
        assert 2 ** (question.answer - 1) < plugs <= 2**question.answer


def test_what_comes_next_hangs_on_whether_the_drive_is_in_data_exchange():
    """A station in data exchange has had its address found, its parameters taken and its configuration compared."""
    seen = set()
    for question in drawn("order"):
        exchanges = "it exchanges data" in question.text
        order = (
            ["the sources", "the words"] if exchanges else ["the supply", "the plug", "the address", "the data format"]
        )
        checked = sum(f"{name};" in question.text or f"{name}." in question.text for name in order)
        assert question.answer.startswith(order[checked])
        seen.add((exchanges, checked))
    assert seen == {(True, 0), (True, 1), (False, 0), (False, 1), (False, 2), (False, 3)}


def test_the_ohms_are_those_of_terminators_side_by_side():
    # 220 Ω between B and A in each terminator: M. Felser, PROFIBUS Manual, bus termination
    words = {1: "one terminator is seen", 2: "two terminators are seen", 3: "three terminators"}
    for question in drawn("ohms"):
        shown = int(re.search(r"shows (\d+) Ω", question.text)[1])
        nearest = min(words, key=lambda n: abs(220 / n - shown))
        assert question.answer.startswith(words[nearest])


def test_only_the_excluded_fault_changes_the_reading():
    keys = {"station table": "stations", "ohmmeter": "ohms", "All settings": "settings", "project": "project",
            "I/O test sheet": "io sheet"}  # fmt: skip
    for question in drawn("excludes"):
        key = next(key for words, key in keys.items() if words in question.text)
        shows, silent = shows_and_silent(demo_evidence(), key)
        assert question.answer in shows
        assert {slip.answer for slip in question.slips} <= set(silent) - set(shows)


def test_the_fault_lies_before_the_first_repeat():
    for question in drawn("retries"):
        first = next(n for n, row in enumerate(question.rows, 1) if row["repeated"])
        assert question.answer.startswith(f"the cable between drive {first - 1} and drive {first},")


def test_a_bit_has_the_cause_that_its_meaning_names():
    words = {"Cfg_Fault": "format", "Prm_Fault": "parameter", "Station_Non_Existent": "supply", "Ext_Diag": "its own",
             "Master_Lock": "another master"}  # fmt: skip
    for question in drawn("diagnosis-bit"):
        bit = next(bit for bit in words if bit in question.text)
        assert words[bit] in question.answer


def test_a_quiet_fault_is_not_cured():
    for question in drawn("goes-quiet"):
        assert question.answer.startswith("the fault is still there")
        assert any("Nothing was repaired" in slip.sentence for slip in question.slips)


def test_the_next_safe_step_follows_the_last_one_done():
    steps = [row for way in ("agree", "isolate", "unplug") for row in where("safe_work", way=way)]
    for question in drawn("safe-order"):
        done = question.text.splitlines()[1].removesuffix(".").split(" · ")
        assert done == [step["name"] for step in steps[: len(done)]]
        assert question.answer == steps[len(done)]["words"]


def test_minutes_are_the_readings_and_one_isolation():
    for question in drawn("cost"):
        assert question.answer == sum(row["min"] for row in question.rows) + 30 + 15
        assert any(row["bus"] == "dead" for row in question.rows)


def test_nobody_swaps_first_and_the_slips_are_the_ways_time_is_lost():
    for question in drawn("first-reading"):
        assert any(slip.sentence.startswith("That is swapping before measuring") for slip in question.slips)
    told = {slip.sentence.split(".")[0] for kind in kinds("faults") for q in drawn(kind)[:10] for slip in q.slips}
    assert len(kinds("faults")) >= 8 and len(told) >= 30


def test_a_bad_contact_costs_all_behind_it_and_an_echo_hits_pairs_wherever_they_stand():
    """What the question on repeats says, out of the circuit: 8 stations on 100 m at 1.5 Mbit/s, the first sends."""
    bus = evenly_spaced(8, 100)
    series = margins(bad_contact(bus, "A", 3, ohm=1000.0), bit_rate=1.5e6).least
    assert all(series[n] < 0 for n in range(4, 8)) and all(series[n] > 0 for n in range(1, 4))
    echo = margins(terminator_missing(bus), bit_rate=1.5e6).least
    lost = [n for n in range(1, 8) if echo[n] < 0]
    assert lost and max(lost) < 7  # those at the open end still hear
    for question in drawn("retries"):
        assert any("pairs of stations" in slip.sentence for slip in question.slips)
