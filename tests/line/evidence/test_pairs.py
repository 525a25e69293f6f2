"""Each fault is told apart from each other one by some reading.

Nothing outside says which readings those are: what is checked is that the model, run with each fault, differs. The
normal run takes the last size of each fault, one in the middle; under WORKBOOK_FUZZ it takes all.
"""

import os
from dataclasses import replace
from functools import cache
from itertools import combinations

import pytest
from line_nets import row

from helpers.line.evidence.expected import Expected, apart, apart_in_time, misfit
from helpers.line.evidence.observe import observed
from helpers.line.evidence.pairs import indistinguishable, representatives, told_apart_by
from helpers.line.evidence.sizes import sizes
from helpers.line.evidence.table import Evidence
from helpers.line.faults.catalogue import FAULTS, by_key
from helpers.line.faults.fault import Chosen
from helpers.line.instruments.catalogue import take
from helpers.line.instruments.reading import Reading
from helpers.line.plant.build import installation_of
from helpers.line.plant.place import Place
from helpers.line.traffic.line import Line

ALL_SIZES = "WORKBOOK_FUZZ" in os.environ
# Pairs that no reading tells apart, and why. There are none at these places.
KNOWN: dict[frozenset[str], str] = {}


@cache
def line(bit_rate, *, box=False):
    """Three stations; PPO 1 has a parameter channel.

    With a box, it and not the last plug ends the line, and the drives are of the type that takes an address over the
    bus and has one format, PPO 3.
    """
    network = row(2, bit_rate, data_format="PPO 3" if box else "PPO 1")
    if box:
        (segment,) = network.segments
        first, *drives = segment.plugs
        middle, last = (replace(drive, description="Mil_FFF2.gsd") for drive in drives)
        stations = first, replace(middle, plug_type="through"), replace(last, own_supply=True, terminator_on=False)
        network = replace(network, segments=(replace(segment, plugs=stations),))
    return installation_of(network)


@pytest.fixture(scope="module")
def tables():
    """The line at 1.5 Mbit/s, at 12 Mbit/s with drives of another type and a box at its end, and at 93.75 kbit/s."""
    return [middle_ones(line(1_500_000)), middle_ones(line(12_000_000, box=True)), middle_ones(line(93_750))]


def middle_ones(installation):
    """The table of each fault at the place in the middle of those that it can have; in a normal run in one size."""
    found = Evidence(installation)
    found.usual = observed(installation, installation)
    for fault in FAULTS:
        places = fault.places(installation)
        for place in places[len(places) // 2 : len(places) // 2 + 1]:
            chosen = Chosen(fault, place)
            every_size = sizes(installation, chosen)
            those = every_size if ALL_SIZES else every_size[-1:]
            found.put(chosen, [observed(each, installation) for each in those])
    return found


def test_every_pair_of_faults_is_told_apart_or_listed_with_the_reason(tables):
    done, pairs, alike = set(), 0, {}
    for each in tables:
        here = representatives(each)
        for one, other in combinations(here, 2):
            if one.fault.key in done and other.fault.key in done:
                continue
            pairs += 1
            if told_apart_by(each, one, other) is None:
                (pair,) = indistinguishable(each, (one, other))
                alike[frozenset((one.fault.key, other.fault.key))] = pair.reason
        done |= {chosen.fault.key for chosen in here}
    assert done == {fault.key for fault in FAULTS}, "each fault has a place at one of these bit rates"
    assert pairs > len(FAULTS) * (len(FAULTS) - 1) / 2 - 50
    assert alike == KNOWN


def test_two_readings_that_differ_exclude_a_fault_whose_reading_never_changes(tables):
    first = tables[0]
    chosen = {c.fault.key: c for c in representatives(first)}
    comes_back, steady = chosen["fault returns"], chosen["bit 10 missing"]
    (key, place), what = told_apart_by(first, comes_back, steady)
    assert first.expected(comes_back, key, place)[what].changes
    running = Line(comes_back.put(first.installation))
    running.run(2)
    at = Place(place, place) if key == "front" else Place(f"{place} in the project", place)
    taken = []
    for _ in range(12):
        running.run(1)
        taken.append(take(running, key, at))
    assert len({dict(reading.lines)[what] for reading in taken}) > 1
    assert any(first.why_not(steady, reading) for reading in taken)
    assert not any(first.why_not(comes_back, reading) for reading in taken)


def lines(*texts, low=float("inf"), high=float("-inf"), changes=False):
    return {"light": Expected(frozenset(texts), low, high, "%" if low < high or low == high else "", changes)}


@pytest.mark.parametrize(
    ("one", "other", "is_apart"),
    [
        (lines("lit", "dark", changes=True), lines("lit"), True),
        (lines("lit"), lines("lit", "dark", changes=True), True),
        (lines("lit", "dark", changes=True), lines("lit", "dark"), False),  # of two sizes: either may be read
        (lines("lit", "dark", changes=True), lines("lit", "dark", changes=True), False),
        (lines("lit"), lines("dark"), False),  # one reading does it; no need to wait
        (lines(low=0.0, high=60.0, changes=True), lines(low=60.0, high=61.0), True),
        (lines(low=60.0, high=61.0, changes=True), lines(low=60.0, high=60.5), False),  # within the tolerance
        (lines("dark", changes=True), {}, True),
    ],
)
def test_what_changes_with_one_fault_only_tells_it_apart_in_time(one, other, is_apart):
    assert (
        (apart_in_time(one, other, "front") == "light") == (apart_in_time(other, one, "front") == "light") == is_apart
    )
    if is_apart:
        assert apart(one, other, "front") is None, "no single reading is sure to do it"


def test_what_changes_excludes_nothing_whatever_is_read():
    reading = Reading("front", "Drive 1", (("light", "blinks"),))
    assert misfit(reading.lines, lines("lit", "dark", changes=True), "front") is None
    assert misfit(reading.lines, lines("lit", "dark"), "front") == "light"


def test_a_reason_says_in_plain_words_why_two_are_alike(tables):
    first = tables[0]
    for key, words in (
        ("supply off", "Both change the same readings in the same way"),
        ("fault returns", "comes and goes"),
    ):
        chosen = next(c for c in representatives(first) if c.fault.key == key)
        (pair,) = indistinguishable(first, (chosen, Chosen(by_key(key), chosen.place, 2)))
        assert words in pair.reason
