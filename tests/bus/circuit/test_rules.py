"""The table of rule and calculation: the rules come out by themselves, and where they are stricter it is seen."""

import pytest

from helpers.bus.circuit.elements import Receiver, Tap, evenly_spaced
from helpers.bus.circuit.faults import cluster, terminator_missing
from helpers.bus.circuit.margin import margin_matrix
from helpers.bus.circuit.rules import Compared, compared
from helpers.verdict import Degree


def rows(rule, tried=""):
    return [row for row in compared() if rule in row.rule and tried in row.tried]


def test_terminated_segments_at_full_length_keep_a_margin_at_each_bit_rate():
    """Lengths: PROFIBUS Specification 1997 p.32 up to 1.5 Mbit/s, 100 m above (device manuals)."""
    full = rows("longest cable")
    assert [(row.rate, row.tried) for row in full[:5]] == [
        ("12 Mbit/s", "100 m"), ("6 Mbit/s", "100 m"), ("3 Mbit/s", "100 m"), ("1.5 Mbit/s", "200 m"),
        ("500 kbit/s", "400 m"),
    ]  # fmt: skip
    assert len(full) == 10
    assert all(row.margin_v > row.weakest_v > 0 for row in full)
    assert {row.physics for row in full} == {"all bits arrive"}
    assert not any(row.degree.forbidden for row in full)


def test_a_terminator_pulled_goes_quiet_at_a_low_bit_rate_and_stays_forbidden():
    """One at each end: M. Felser, PROFIBUS Manual, bus termination."""
    pulled = rows("one terminator")
    assert [(row.rate, row.margin_v > 0) for row in pulled] == [
        ("12 Mbit/s", False), ("1.5 Mbit/s", False), ("93.75 kbit/s", True),
    ]  # fmt: skip
    assert {row.degree for row in pulled} == {Degree.BY_EVERY_SOURCE}
    assert all("Felser" in row.source for row in pulled)


def test_ten_stubs_of_three_metres_and_where_the_rule_is_stricter():
    """Nothing above 1.5 Mbit/s (Beckhoff BC3150 documentation), 6.6 m in all at 1.5 Mbit/s."""
    stubs = rows("stubs")
    assert [(row.rate, row.physics) for row in stubs] == [
        ("12 Mbit/s", "bits are lost"), ("1.5 Mbit/s", "all bits arrive"), ("500 kbit/s", "all bits arrive"),
    ]  # fmt: skip
    assert [row.degree.verdict for row in stubs] == ["not allowed", "not allowed", "outside cautious practice"]
    assert all("stricter" in row.why for row in stubs[1:])


def test_terminators_without_supply_keep_the_margin_and_lose_the_idle_level():
    (row,) = rows("powered")
    assert row.margin_v > 1
    assert (row.idle_v, row.physics, row.degree) == (0, "no idle level", Degree.CAUTION)


def test_crowded_stations():
    """1 m at least above 1.5 Mbit/s: Bronkhorst PROFIBUS manual p.9."""
    near, apart, good, slow = rows("1 m of cable")
    assert (near.degree, near.physics) == (Degree.CAUTION, "bits are lost")
    assert (apart.degree, apart.physics) == (Degree.IN_ORDER, "all bits arrive")
    assert good.margin_v > near.margin_v and good.degree is Degree.CAUTION
    assert slow.margin_v > near.margin_v and slow.degree is Degree.CAUTION


def test_the_margins_are_those_of_the_circuit():
    pulled = margin_matrix(terminator_missing(evenly_spaced(8, 100)), bit_rate=1.5e6)
    assert rows("one terminator")[1].margin_v == pytest.approx(pulled.worst[2], abs=0.006)
    crowd = cluster(20, spacing_m=0.5, length_m=100.0, plug=Tap(Receiver(capacitance_f=50e-12)))
    crowded = margin_matrix(crowd, bit_rate=12e6)
    # The crowd of the table ends at 100 m as well; its last section is shorter by the crowd.
    assert rows("1 m of cable")[0].margin_v == pytest.approx(crowded.worst[2], abs=0.006)


def test_each_row_says_who_makes_the_rule_and_why():
    for row in compared():
        assert row.source or row.degree is Degree.IN_ORDER, row
        assert row.why.endswith(".") and row.rate.endswith("bit/s")
        assert row.margin_v >= row.weakest_v or row.margin_v < 0


@pytest.mark.parametrize(
    ("margin", "weak", "idle", "words"),
    [
        (0.01, 0.01, 0.21, "all bits arrive"),
        (0.0, 0.0, 1.0, "bits are lost"),
        (0.01, 0.0, 0.21, "lost with a weak sender"),
        (0.01, 0.01, 0.2, "no idle level"),
        (-0.1, -0.2, 0.0, "bits are lost"),
    ],
)
def test_the_words_for_the_calculation(margin, weak, idle, words):
    row = Compared("rule", "line", 12_000_000, Degree.IN_ORDER, "", margin, weak, idle, "why")
    assert row.physics == words
