"""Addresses against M. Felser, PROFIBUS Manual, addressing, and what follows from it."""

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.address import address
from helpers.bus.address.address import (
    Holder,
    check,
    check_count,
    check_hsa,
    classify,
    duplicates,
    next_free,
    propose,
    runs,
)
from helpers.errors import OutOfRange, Unknown, Unreadable
from helpers.verdict import Degree


@pytest.mark.parametrize(
    ("number", "meaning", "degree"),
    [
        # M. Felser, PROFIBUS Manual, addressing: 0 to 125 usable, 126 as delivered, 127 to all, 0 to 127 in all.
        (-1, "out of range", Degree.CANNOT_WORK),
        (0, "engineering practice", Degree.CAUTION),
        (1, "usable", Degree.IN_ORDER),
        (125, "usable", Degree.IN_ORDER),
        (126, "delivery default", Degree.CANNOT_WORK),
        (127, "broadcast", Degree.CANNOT_WORK),
        (128, "out of range", Degree.CANNOT_WORK),
    ],
)
def test_both_sides_of_each_range(number, meaning, degree):
    meant = classify(number)
    assert (meant.meaning, meant.degree) == (meaning, degree)
    assert "Felser" in meant.source
    assert meant.reason.endswith(".") and bool(meant.to_do) == (degree > Degree.IN_ORDER)
    assert meant.verdict == degree.words


def test_zero_belongs_to_the_engineering_computer():
    assert classify(0, "engineering computer").degree == Degree.IN_ORDER
    assert {classify(0, kind).degree for kind in address.KINDS if kind != "engineering computer"} == {Degree.CAUTION}


def test_a_repeater_has_no_address():
    with pytest.raises(Unknown, match="repeater"):
        classify(5, "repeater")


@given(st.integers(-300, 300))
def test_usable_is_exactly_what_breaks_nothing(number):
    assert (classify(number).degree.forbidden) != (0 <= number <= 125)


@given(st.integers(0, 127))
def test_every_spelling_reads_back(number):
    spelling = address.spell(number)
    assert {address.read(t) for t in (spelling.decimal, spelling.hexadecimal, spelling.binary)} == {number}
    # Python's own number reader as the outside check.
    assert int(spelling.hexadecimal.removeprefix("16#"), 16) == number
    assert int(spelling.binary.removeprefix("2#").replace("_", ""), 2) == number


@pytest.mark.parametrize("number", [-1, 128])
def test_what_is_no_address_is_neither_read_nor_spelled(number):
    with pytest.raises(OutOfRange, match="allowed is 0 to 127"):
        address.spell(number)
    with pytest.raises(OutOfRange, match="allowed is 0 to 127"):
        address.read(str(number))


@given(st.text())
def test_any_text_gives_an_address_or_the_workbook_s_own_error(text):
    with suppress(OutOfRange, Unreadable):
        assert 0 <= address.read(text) <= 127


def test_duplicates_name_all_places():
    assert duplicates([7, 3, 7, 3, 7, 1]) == {7: (0, 2, 4), 3: (1, 3)}
    assert duplicates([1, 2, 3]) == {}


@given(st.sets(st.integers(1, 125), max_size=124), st.integers(1, 125))
def test_next_free_is_free_and_the_lowest(taken, start):
    if taken.issuperset(range(start, 126)):
        with pytest.raises(OutOfRange):
            next_free(taken, start)
    else:
        free = next_free(taken, start)
        assert free not in taken and taken.issuperset(range(start, free))


def test_next_free_offers_neither_0_nor_126():
    assert next_free([]) == 1
    assert next_free(range(1, 125)) == 125
    with pytest.raises(OutOfRange, match="no address is free from 1 to 125"):
        next_free(range(1, 126))
    for start in (-1, 126):
        with pytest.raises(OutOfRange, match="allowed is 0 to 125"):
            next_free([], start)


GROUPS = st.dictionaries(st.text("abcdefgh", min_size=1, max_size=3), st.integers(1, 12), max_size=15)


@given(GROUPS, st.integers(1, 4))
def test_a_proposal_is_in_order_and_leaves_0_and_126(groups, controllers):
    wanted = controllers + sum(groups.values())
    if wanted > 125:
        with pytest.raises(OutOfRange):
            propose(groups, controllers)
        return
    lines = propose(groups, controllers)
    assert [line.address for line in lines] == sorted({line.address for line in lines})
    assert [line.kind for line in lines[: controllers + 1]] == ["engineering computer"] + ["controller"] * controllers
    assert [line.address for line in lines[: controllers + 1]] == list(range(controllers + 1))
    assert len(lines) == wanted + 1 and lines[-1].address <= 125
    findings = check([Holder(line.holder, line.kind, line.address) for line in lines], hsa=126)
    assert not [f for f in findings if f.degree and f.rule != "number of stations"]


def addresses_of(groups, name):
    return [line.address for line in propose(groups) if line.holder.startswith(name)]


def test_groups_start_at_tens_then_fives_then_close_up():
    assert addresses_of({"a": 9, "b": 2}, "b") == [20, 21]  # 10 to 18, one spare, then the next ten
    assert addresses_of({"a": 10, "b": 1}, "b") == [30]  # 10 to 19 leaves no spare before 20
    assert addresses_of({"a": 115}, "a")[0] == 10  # 10 to 124, and 125 is spare
    assert addresses_of({"a": 116}, "a")[0] == 5
    twelve, thirteen = ({f"{n:02d}": 1 for n in range(count)} for count in (12, 13))
    assert addresses_of(twelve, "11") == [120]
    assert addresses_of(thirteen, "12") == [65]
    assert [line.address for line in propose({"a": 60, "b": 64})][-1] == 125


def test_a_line_of_125_fits_and_one_of_126_does_not():
    assert propose({"a": 124})[-1].address == 125
    with pytest.raises(OutOfRange, match="is 126; allowed is 1 to 125"):
        propose({"a": 125})
    for groups, controllers in (({"a": 0}, 1), ({"a": 1}, 0)):
        with pytest.raises(OutOfRange):
            propose(groups, controllers)


def test_the_three_figures_in_print_are_kept():
    rows = address.station_counts()
    assert [row.whole("figure") for row in rows] == [124, 126, 127]
    # M. Felser, PROFIBUS Manual, addressing: 0 to 125, with 0 left free beside one controller 124.
    assert [row.whole("figure") for row in rows[:2]] == [126 - 2, 126]
    finding = check_count(126)
    assert finding.degree == Degree.CAUTION and "memory" in finding.source and "Felser" in finding.source
    with pytest.raises(OutOfRange):
        check_count(0)


def test_a_list_shows_all_its_faults_and_no_others():
    findings = check(
        [
            Holder("controller", "controller", 6),
            Holder("fan 1", "drive", 5),
            Holder("fan 2", "drive", 5),
            Holder("screw", "drive", 126),
            Holder("computer", "engineering computer", 0),
        ],
        hsa=125,
    )
    assert [(f.rule, f.place, f.verdict) for f in findings if f.degree] == [
        ("address", "screw", "not allowed, cannot work"),
        ("address given twice", "fan 1, fan 2", "not allowed, cannot work"),
        ("controllers first", "controller", "outside cautious practice"),
        ("HSA", "screw", "outside cautious practice"),
    ]
    assert all(f.to_do for f in findings if f.degree)
    assert check([]) == ()


def test_controllers_alone_or_below_the_others_are_in_order():
    alone = [Holder("controller", "controller", 90)]
    assert not any(f.degree for f in check(alone))
    assert not any(f.degree for f in check([*alone, Holder("fan", "drive", 91)]))
    assert [f.rule for f in check([*alone, Holder("fan", "drive", 89)]) if f.degree] == ["controllers first"]


def test_stations_above_the_hsa_are_not_found():
    holders = [Holder("controller", "controller", 40), Holder("fan", "drive", 31), Holder("screw", "drive", 32)]
    assert [f.place for f in check_hsa(holders, 31)] == ["controller", "screw"]
    assert "token" in check_hsa(holders, 31)[0].to_do and "search" in check_hsa(holders, 31)[1].to_do
    # The HSA bounds masters and the search of the gap; a slave in the controller's list is polled whatever it is.
    assert "polls it all the same" in check_hsa(holders, 31)[1].to_do
    assert "token" in check_hsa([Holder("laptop", "engineering computer", 40)], 31)[0].to_do
    assert [f.degree for f in check_hsa(holders, 40)] == [Degree.IN_ORDER]
    assert check_hsa([], 0)[0].degree == Degree.IN_ORDER
    check_hsa(holders, 126)  # Elpro 105U-G/905U-G manual p.85: 0 to 126
    for hsa in (-1, 127):
        with pytest.raises(OutOfRange, match="allowed is 0 to 126"):
            check_hsa(holders, hsa)


@given(st.lists(st.integers(0, 127), min_size=1))
def test_runs_name_every_address_and_no_other(addresses: list[int]) -> None:
    named: set[int] = set()
    for part in runs(addresses).split(", "):
        low, _, high = part.partition(" to ")
        named.update(range(int(low), int(high or low) + 1))
    assert named == set(addresses)


def test_two_neighbours_are_no_run() -> None:
    assert runs([4, 3]) == "3, 4"
    assert runs([5, 4, 3, 3]) == "3 to 5"


def test_what_is_refused_says_where_its_range_is_from():
    with pytest.raises(OutOfRange, match=r"200.*0 to 127.*PROFIBUS"):
        address.read("200")
    with pytest.raises(OutOfRange, match=r"stations and controllers is 141.*1 to 125.*PROFIBUS"):
        address.propose({"fans": 70, "pumps": 70}, controllers=1)
