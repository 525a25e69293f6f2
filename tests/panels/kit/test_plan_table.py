"""The editable table: what is typed, pasted, added and removed is what its panel gets, and nothing typed is lost."""

import pytest

from helpers.errors import WorkbookError
from helpers.panels.kit.plan_table import PlanTable, table_field
from helpers.plan.my_networks import demo_network, demo_plan, my_networks
from helpers.plan.rows import ADDRESSES, address_rows, holders_in

MILL = tuple(address_rows(demo_network()))


@pytest.fixture
def mine(tmp_path, monkeypatch):
    monkeypatch.setenv("WORKBOOK_PROGRESS", str(tmp_path))
    return my_networks()


def table_of(**more):
    return PlanTable(ADDRESSES, (100, 50, 80), lambda network, _: address_rows(network), **{"shown": 4, **more})


def shown(table):
    """The texts in the cells that are on the page."""
    rows = (len(table.grid.children) // len(table._titles)) - 1
    return [tuple(cell.value for cell in row) for row in table.cells[:rows]]


def many(count):
    return [(f"Fan {n}", str(n), "drive") for n in range(1, count + 1)]


def test_it_begins_with_the_demo_site_a_page_at_a_time(mine):
    table = table_of()
    assert table.rows == MILL and shown(table) == list(MILL[:4])
    assert table.counted.value == "rows 1 to 4 of 11" and table.back.disabled
    table.forth.click()
    table.forth.click()
    assert shown(table) == list(MILL[8:]) and table.counted.value == "rows 9 to 11 of 11" and table.forth.disabled
    assert table.rows == MILL, "turning pages changes nothing"


def test_a_cell_changes_its_row_on_whatever_page_it_is(mine):
    table = table_of()
    told = []
    table.observe(lambda change: told.append(change.new), "value")
    table.forth.click()
    table.cells[1][1].value = "99"
    assert table.rows[5] == (MILL[5][0], "99", MILL[5][2])
    assert table.rows[:5] == MILL[:5] and table.rows[6:] == MILL[6:]
    assert told == [table.rows], "the panel is told once"


def test_rows_are_added_repeated_removed_and_brought_back(mine):
    table = table_of()
    table.put([("Fan 1", "1", "drive")])
    table.add.click()
    assert table.rows == (("Fan 1", "1", "drive"), ("", "", ""))
    table.undo.click()
    for _ in range(2):
        table.again.click()
    assert [row[0] for row in table.rows] == ["Fan 1", "Fan 2", "Fan 3"] and shown(table)[-1][0] == "Fan 3"
    table._removes[1].click()
    assert [row[0] for row in table.rows] == ["Fan 1", "Fan 3"]
    table.undo.click()
    assert [row[0] for row in table.rows] == ["Fan 1", "Fan 2", "Fan 3"]


def test_the_last_page_follows_what_is_added_and_shrinks_with_what_is_removed(mine):
    table = table_of()
    table.put(many(4))
    table.add.click()
    assert shown(table) == [("", "", "")] and table.counted.value == "rows 5 to 5 of 5"
    table._removes[0].click()
    assert shown(table) == many(4)
    for _ in range(4):
        table._removes[0].click()
    assert shown(table) == [] and table.rows == ()
    table.add.click()
    table.cells[0][0].value = "Fan"
    assert table.rows == (("Fan", "", ""),)


def test_what_is_pasted_replaces_the_rows_or_comes_behind_them(mine):
    table = table_of()
    assert table._pasting.layout.display == "none"
    table.paste.click()
    assert table._pasting.layout.display == ""
    table.box.value = "name;address\nFan;5"
    table.replace.click()
    assert table.rows == (("Fan", "5", ""),) and "1 row taken over" in table.said.value and not table.box.value
    table.box.value = "Pump\t6\tdrive"
    table.append.click()
    assert table.rows == (("Fan", "5", ""), ("Pump", "6", "drive"))


@pytest.mark.parametrize("text", ["", "a;b;c;d;e", "name;address;kind", "a;1\n" * 251])
def test_a_paste_that_is_no_table_is_told_and_stays_in_the_box(mine, text):
    table = table_of()
    table.box.value = text
    for button in (table.replace, table.append):
        button.click()
        assert table.said.value and "failed" not in table.said.value
        assert table.rows == MILL and table.box.value == text


def test_no_more_rows_than_any_network_has_can_be_added(mine):
    table = table_of()
    table.put(many(250))
    table.add.click()
    table.again.click()
    assert len(table.rows) == 250
    table.box.value = "a;1"
    table.append.click()
    assert "more than 250 rows" in table.said.value and len(table.rows) == 250


def test_another_network_fills_it_and_undo_brings_ones_own_rows_back(mine):
    table = table_of()
    table.cells[0][0].value = "typed by hand"
    typed = table.rows
    table.network.value = ("the Mill extended", "Silo line")
    assert table.rows[0][0] == "Silo controller"
    table.undo.click()
    assert table.rows == typed


def test_it_begins_with_my_network_where_the_page_asks_for_it(mine):
    mine.save("My plant", demo_plan("the Mill extended"))
    mine.choose("My plant")
    assert table_of().network.value == ("Saltmarsh Mill", "Mill line")
    assert table_of(own=True).network.value == ("My plant", "Mill line")
    example = ("an example", [("Fan", "5", "")])
    assert table_of(example=example).rows == (("Fan", "5", ""),)
    assert table_of(own=True, example=example).network.value == ("My plant", "Mill line")


def test_a_damaged_network_is_told_and_what_was_typed_stays(mine):
    mine.save("mine", demo_plan())
    table = table_of()
    field = table_field(table, holders_in)
    table.cells[0][0].value = "typed by hand"
    typed = table.rows
    (mine.folder / "mine.zip").write_bytes(b"rubbish")
    table.network.value = ("mine", "Mill line")
    with pytest.raises(WorkbookError, match="'mine' can't be read"):
        field.read(table.value)
    assert table.rows == typed and shown(table)[0][0] == "typed by hand"
    table.cells[0][1].value = "7"
    assert field.read(table.value)[0].address == 7, "the rows count again"


def test_a_damaged_network_that_is_my_network_leaves_the_demo_site(mine):
    mine.save("mine", demo_plan())
    mine.choose("mine")
    (mine.folder / "mine.zip").write_bytes(b"rubbish")
    table = table_of(own=True)
    assert table.network.value == ("Saltmarsh Mill", "Mill line") and table.rows == MILL
    assert ("mine (can't be read)", ("mine", "")) in table.network.options


def test_cells_say_what_they_are_and_offer_the_words_that_may_stand_there(mine):
    table = table_of()
    assert "drive" in table.cells[0][2].options and table.cells[0][1].tooltip == "address, row 1 of those shown"
    assert "Bus address" in table._titles[2].value
    assert len(table.cells) == 4, "however many rows there are, there are as many cells as a page has"
