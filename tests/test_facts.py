"""The facts: every row has its source and standing, and a table is read or refused with its place named."""

import csv

import pytest

from helpers import facts
from helpers.errors import Unknown, Unreadable
from helpers.facts import STANDINGS, Fact, Limit, least, most, one, rows, where

# A limit as four sources might give it. Invented for the tests.
SPACING = """\
device,least_m,most_m,count,source,standing
fan,0.5,3,16#1F,"book one, p.3",standard
fan,1,2.5,0x1f,"book two, p.4",handbook
fan,2,1,31,,common practice
screw,,4,x,"book two, p.5",device manual
"""


@pytest.fixture
def table(tmp_path, monkeypatch):
    """Writes a table of the test's own; the tables read before are forgotten, and so are these."""
    rows.cache_clear()
    monkeypatch.setattr(facts, "DATA", tmp_path)

    def write(text, name="spacing"):
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
        return name

    yield write
    rows.cache_clear()


def test_a_row_is_a_mapping_of_its_columns(table):
    row = rows(table(SPACING))[0]
    assert isinstance(row, Fact)
    assert dict(row) == {
        "device": "fan", "least_m": "0.5", "most_m": "3", "count": "16#1F", "source": "book one, p.3",
        "standing": "standard",
    }  # fmt: skip
    assert len(row) == 6 and next(iter(row)) == "device"
    assert "device" in row and "colour" not in row and None not in row
    assert row.get("device") == "fan"
    assert row.get("colour") is None and row.get("colour", "grey") == "grey"
    assert row == rows("spacing")[0] and row != rows("spacing")[1]


def test_a_row_says_where_it_comes_from(table):
    first, _, practice, _ = rows(table(SPACING))
    assert (first.source, first.standing, first.cited) == ("book one, p.3", "standard", "book one, p.3 (standard)")
    assert practice.cited == "common practice"
    assert first.place == "data/spacing.csv line 2"


def test_a_column_that_is_not_there_is_named_with_its_table(table):
    row = rows(table(SPACING))[0]
    for read in (row.__getitem__, row.has, row.number, row.whole):
        with pytest.raises(Unknown, match=r"column in data/spacing.csv line 2 is 'colour'; known are device, least_m"):
            read("colour")
    with pytest.raises(Unknown, match="'colour'"):
        where("spacing", colour="red")


def test_numbers_are_read_from_their_columns(table):
    first, second, third, _ = rows(table(SPACING))
    assert first.number("least_m") == 0.5
    assert [row.whole("count") for row in (first, second, third)] == [31, 31, 31]


def test_an_empty_cell_is_no_number(table):
    last = rows(table(SPACING))[3]
    assert not last.has("least_m") and last.has("most_m")
    with pytest.raises(Unreadable, match=r"data/spacing.csv line 5, column least_m: '' is not a number"):
        last.number("least_m")


@pytest.mark.parametrize("cell", ["x", "1,5", "1 2", "½", "1.5.2"])
def test_a_bad_number_is_named_with_its_place(table, cell):
    row = rows(table(f'width_m,source,standing\n"{cell}",,memory\n'))[0]
    with pytest.raises(Unreadable, match=rf"data/spacing.csv line 2, column width_m: '{cell}' is not a number"):
        row.number("width_m")
    with pytest.raises(Unreadable, match=r"line 2, column width_m: .* is not a whole number"):
        row.whole("width_m")


def test_a_fraction_is_no_whole_number(table):
    with pytest.raises(Unreadable, match=r"column least_m: '0.5' is not a whole number"):
        rows(table(SPACING))[0].whole("least_m")


def test_rows_are_found_by_what_they_hold(table):
    table(SPACING)
    assert where("spacing") == rows("spacing")
    assert [row["source"] for row in where("spacing", device="fan", standing="handbook")] == ["book two, p.4"]
    assert where("spacing", device="pump") == ()
    # numbers compare as numbers, texts as texts
    assert len(where("spacing", least_m=1)) == len(where("spacing", least_m=1.0)) == len(where("spacing", least_m="1"))
    assert where("spacing", least_m="1.0") == ()
    assert where("spacing", device=1) == ()  # a cell that is no number equals none


def test_exactly_one_row_is_found_or_none(table):
    table(SPACING)
    assert one("spacing", device="screw")["most_m"] == "4"
    with pytest.raises(Unknown, match=r"data/spacing.csv has 3 rows with device = fan; one was expected"):
        one("spacing", device="fan")
    with pytest.raises(Unknown, match=r"has 0 rows with device = pump, least_m = 3"):
        one("spacing", device="pump", least_m=3)


def test_a_table_that_is_not_there_gets_the_list(table):
    table(SPACING), table(SPACING, "other")
    with pytest.raises(Unknown, match=r"no table 'spaces'; known are other, spacing"):
        rows("spaces")


@pytest.mark.parametrize("head", ["a,b", "a,source", "standing,a", ""])
def test_a_table_without_sources_is_refused(table, head):
    table(f"{head}\n1,2\n", "bare")
    with pytest.raises(Unreadable, match=r"data/bare.csv lacks the columns source and standing"):
        rows("bare")


def test_a_table_may_hold_a_column_named_table(table):
    table("table,source,standing\nplan,,memory\n", "columns")
    assert len(where("columns", table="plan")) == 1


def test_a_limit_from_above(table):
    # 3, 2.5 and, by practice, 1: cautious is what all allow, last what the most generous firm source allows.
    found = most(where(table(SPACING), device="fan"), "most_m")
    assert (found.cautious, found.last) == (1, 3)
    assert found.cited == "book one, p.3 (standard); book two, p.4 (handbook); common practice"


def test_a_limit_from_below(table):
    found = least(where(table(SPACING), device="fan"), "least_m")
    assert (found.cautious, found.last) == (2, 0.5)


def test_practice_alone_advises_and_never_forbids(table):
    practice = where(table(SPACING), standing="common practice")
    assert (most(practice, "most_m").cautious, most(practice, "most_m").last) == (1, float("inf"))
    assert (least(practice, "least_m").cautious, least(practice, "least_m").last) == (2, float("-inf"))


def test_a_source_named_twice_is_cited_once(table):
    facts_twice = rows(table(SPACING))[:1] * 2
    assert Limit(1, 2, facts_twice).cited == "book one, p.3 (standard)"


def test_a_limit_of_nothing_is_a_fault_of_the_caller():
    with pytest.raises(ValueError, match="without any source"):
        most((), "most_m")


# The tables in folders of their own; those beside them are looked at in test_project.py.
SOURCED = [
    path.relative_to(facts.DATA).with_suffix("").as_posix()
    for path in sorted(facts.DATA.glob("*/*.csv"))
    if "standing" in path.read_text(encoding="utf-8").partition("\n")[0]
]


@pytest.mark.parametrize("name", SOURCED)
def test_every_invented_or_published_table_is_whole(name):
    with (facts.DATA / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        head, *cells = list(csv.reader(file))
    assert len(set(head)) == len(head)
    # Pairs of faults that look alike: there may be none, and then the table says so.
    assert cells and all(len(row) == len(head) for row in cells)
    for row in rows(name):
        assert row.standing in STANDINGS, row.place
        # What is known from a document names it.
        assert row.source or row.standing in ("common practice", "own setting", "memory", "calculated"), row.place
        assert not (row.source and row.standing == "common practice"), row.place
