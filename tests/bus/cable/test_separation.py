"""Cable classes, distances and crossings."""

from dataclasses import replace
from itertools import product
from math import inf, nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.cable.separation import (
    CROSSINGS,
    DIVIDERS,
    SUPPLIES,
    USES,
    Run,
    cable_class,
    check_run,
    check_runs,
    separation_limit,
)
from helpers.errors import OutOfRange, Unknown
from helpers.facts import rows
from helpers.verdict import Degree, worst

IN_ORDER, CAUTION, BROKEN = Degree.IN_ORDER, Degree.CAUTION, Degree.BY_EVERY_SOURCE

RUNS = st.builds(
    Run,
    st.just("run"),
    st.sampled_from(USES),
    st.floats(0, 1000),
    st.sampled_from(SUPPLIES),
    st.booleans(),
    st.floats(0, 100),
    st.floats(0, 1),
    st.sampled_from(DIVIDERS),
    st.sampled_from(CROSSINGS),
)


# M. Felser, PROFIBUS Manual, distances: signals below 25 V and supplies below 60 V; DC 60 to 400 V and
# AC 25 to 400 V; above 400 V and telephone; outdoor.
@pytest.mark.parametrize(
    ("use", "volts", "supply", "expected"),
    [
        ("data", 5, "DC", "signal"),
        ("power", 24.9, "AC", "signal"),
        ("power", 25, "AC", "low voltage"),
        ("power", 59.9, "DC", "signal"),
        ("power", 60, "DC", "low voltage"),
        ("power", 400, "AC", "low voltage"),
        ("power", 400.1, "AC", "high voltage or high frequency"),
        ("power", 400, "DC", "low voltage"),
        ("power", 400.1, "DC", "high voltage or high frequency"),
        ("motor", 400, "AC", "high voltage or high frequency"),
        ("telephone", 48, "DC", "high voltage or high frequency"),
        ("outdoor", 0, "DC", "exposed"),
    ],
)
def test_the_classes_on_both_sides_of_each_voltage(use: str, volts: float, supply: str, expected: str) -> None:
    assert cable_class(use, volts, supply) == expected


def at(distance_m: float, **changes: object) -> Degree:
    run = replace(Run("other", parallel_m=20, distance_m=distance_m), **changes)  # type: ignore[arg-type]
    (finding,) = check_run(run)
    return finding.degree


# 0.30 m: ABB AC 800M PROFIBUS manual p.97; 0.10 m from unshielded cable above 400 V: from memory. EN 50174-2:2000,
# table 1, as ThePhysicalLayer.com, Separation of power and data cables, p.1, gives it: 0.20 m, with a divider 0.10 m
# (aluminium) or 0.05 m (steel); beside a shielded data cable 0.05 m, 0.02 m, 0.005 m; both shielded 0. Side by side
# in a divided, earthed duct: M. Felser, PROFIBUS Manual, distances; 0.10 m and 0.25 m: common practice.
@pytest.mark.parametrize(
    ("changes", "advised_m", "least_m"),
    [
        ({"volts": 230.0}, 0.30, 0.05),
        ({"volts": 690.0}, 0.30, 0.10),
        ({"use": "motor"}, 0.30, 0.10),
        ({"volts": 230.0, "shielded": True}, 0.30, 0.0),
        ({"use": "motor", "shielded": True}, 0.30, 0.0),
        ({"volts": 230.0, "divider": "aluminium"}, 0.10, 0.0),
        ({"volts": 690.0, "divider": "steel"}, 0.05, 0.0),
        ({"use": "telephone"}, 0.10, None),
        ({"use": "outdoor"}, 0.25, None),
        ({"use": "outdoor", "divider": "steel"}, 0.25, 0.0),
    ],
)
def test_the_distance_on_both_sides(changes: dict[str, object], advised_m: float, least_m: float | None) -> None:
    assert at(advised_m, **changes) is IN_ORDER
    assert at(advised_m - 0.001, **changes) is CAUTION
    if least_m:
        assert at(least_m, **changes) is CAUTION
        assert at(least_m - 0.001, **changes) is BROKEN
    else:
        assert at(0, **changes) is CAUTION


@pytest.mark.parametrize("changes", [{"use": "data"}, {"volts": 24.0}, {"volts": 48.0, "supply": "DC"}])
def test_cables_of_one_class_may_touch(changes: dict[str, object]) -> None:
    # M. Felser, PROFIBUS Manual, distances: the same class may share a duct.
    assert at(0, **changes) is IN_ORDER


def test_a_shielded_or_divided_run_has_nothing_left_to_say_where_the_distance_is_kept() -> None:
    finding = check_run(Run("fan motor", "motor", shielded=True, parallel_m=30, distance_m=0.3))[0]
    assert finding.found == "0.3 m over 30 m, class high voltage or high frequency, shielded"
    assert finding.to_do == ""


def test_the_sources_in_conflict_all_stand_in_the_finding() -> None:
    source = check_run(Run("mains", volts=690, parallel_m=1, distance_m=0.2))[0].source
    assert all(name in source for name in ("AC 800M", "EN 50174-2:2000", "device manual", "common practice"))


def test_crossings_are_at_right_angles() -> None:
    # M. Felser, PROFIBUS Manual, distances.
    (good,) = check_run(Run("mains", crossing="right angle"))
    (bad,) = check_run(Run("mains", crossing="slanting"))
    (same,) = check_run(Run("other bus", "data", crossing="slanting"))
    assert (good.degree, bad.degree, same.degree) == (IN_ORDER, CAUTION, IN_ORDER)


def test_a_cable_that_only_crosses_needs_no_distance() -> None:
    assert check_run(Run("mains", distance_m=0)) == ()
    assert [f.rule for f in check_run(Run("mains", crossing="right angle"))] == ["crossing"]


def test_a_list_of_runs_keeps_its_order() -> None:
    runs = [
        Run("mains", volts=230, parallel_m=20, distance_m=0.04),
        Run("other bus", "data", parallel_m=50),
        Run("fan motor", "motor", parallel_m=10, distance_m=0.3, crossing="slanting"),
    ]
    assert [(f.place, f.degree) for f in check_runs(runs)] == [
        ("mains", BROKEN),
        ("other bus", IN_ORDER),
        ("fan motor", IN_ORDER),
        ("fan motor", CAUTION),
    ]


@given(RUNS, st.floats(0, 1))
def test_more_distance_is_never_worse(run: Run, more_m: float) -> None:
    farther = replace(run, distance_m=run.distance_m + more_m)
    assert worst(check_run(farther)) <= worst(check_run(run))


@given(RUNS)
def test_a_shield_or_a_divider_is_never_worse(run: Run) -> None:
    assert worst(check_run(replace(run, shielded=True))) <= worst(check_run(run))
    for divider in DIVIDERS:
        assert worst(check_run(replace(run, divider=divider))) <= worst(check_run(replace(run, divider="none")))


@given(RUNS, st.floats(0, 1000))
def test_a_higher_voltage_is_never_better(run: Run, more_v: float) -> None:
    assert worst(check_run(replace(run, volts=run.volts + more_v))) >= worst(check_run(run))


def test_every_kind_of_run_has_a_source() -> None:
    for use, volts, shielded, divider in product(USES, (0.0, 230.0, 690.0), (True, False), DIVIDERS):
        limit = separation_limit(Run("run", use, volts, shielded=shielded, divider=divider))
        assert limit.facts
        assert limit.last <= limit.cautious


def test_every_row_of_the_table_can_be_met() -> None:
    kinds = {row["against"] for row in rows("cable_classes")}
    assert {row["against"] for row in rows("separation")} == kinds
    assert {row["divider"] for row in rows("separation")} - {"any"} == set(DIVIDERS)


@pytest.mark.parametrize(
    "changes", [{"volts": -1.0}, {"distance_m": nan}, {"parallel_m": inf}, {"distance_m": -0.1}, {"volts": 1e7}]
)
def test_numbers_that_cannot_be_are_refused(changes: dict[str, float]) -> None:
    with pytest.raises(OutOfRange, match="allowed is"):
        Run("run", **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "changes", [{"use": "water"}, {"supply": "three-phase"}, {"divider": "wood"}, {"crossing": "often"}]
)
def test_unknown_words_are_refused_with_the_list(changes: dict[str, str]) -> None:
    with pytest.raises(Unknown, match="known are"):
        Run("run", **changes)  # type: ignore[arg-type]
