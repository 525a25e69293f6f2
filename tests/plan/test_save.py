"""A plan that is saved and read again is the same plan, both ways, and a blank one shows its columns."""

import io

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plan_tables import DEMO, as_csv, demo, plans, put

from helpers.bus.cable.laid import Piece, Segment
from helpers.errors import Unreadable
from helpers.plan.columns import TABLES, columns
from helpers.plan.model import Network, Station
from helpers.plan.read import read_plan
from helpers.plan.save import blank_plan, plan_files, save_plan


def close(one, other):
    """Equal but for the last digits of numbers that went through decimal text."""
    if isinstance(one, float) and isinstance(other, float):
        return one == pytest.approx(other, rel=1e-9, abs=1e-15)
    if isinstance(one, tuple):
        return len(one) == len(other) and all(close(a, b) for a, b in zip(one, other, strict=True))
    if isinstance(one, Network | Segment | Station | Piece):
        return all(close(getattr(one, name), getattr(other, name)) for name in one.__dataclass_fields__)
    return one == other


@settings(max_examples=40, deadline=None)
@given(plans(), st.booleans())
def test_any_plan_survives_saving_and_reading(plan, workbook):
    assert close(read_plan(plan_files(plan, workbook=workbook)).networks, plan.networks)


@pytest.mark.parametrize("name", ["copy", "copy.xlsx"])
def test_demo_plan_survives_the_way_through_files(tmp_path, name):
    plan = read_plan(DEMO)
    written = save_plan(plan, tmp_path / name)
    assert all(file.is_file() for file in written)
    again = read_plan(tmp_path / name)
    assert again.networks == plan.networks
    assert again.name == "copy"


def test_nothing_is_overwritten_unless_asked(tmp_path):
    plan = read_plan(DEMO)
    save_plan(plan, tmp_path / "mill")
    with pytest.raises(Unreadable, match="is there already"):
        save_plan(plan, tmp_path / "mill")
    save_plan(plan, tmp_path / "mill", overwrite=True)
    with pytest.raises(Unreadable, match=r"ending with \.xlsx"):
        save_plan(plan, tmp_path / "mill.ods")


@pytest.mark.parametrize("name", ["blank", "blank.xlsx"])
def test_blank_plan_has_every_heading_is_refused_as_it_is_and_takes_rows(tmp_path, name):
    blank_plan(tmp_path / name)
    with pytest.raises(Unreadable, match="no row below the headings"):
        read_plan(tmp_path / name)
    if name == "blank":
        # filled with the rows of the demo, the remarks left standing
        for table in demo():
            file = tmp_path / name / f"{table}.csv"
            rows = as_csv({table: demo()[table][2:]})[f"{table}.csv"]
            file.write_bytes(file.read_bytes() + rows)
        assert read_plan(tmp_path / name).networks == read_plan(DEMO).networks


def test_blank_workbook_explains_each_column_and_offers_the_allowed_words():
    book = openpyxl.load_workbook(io.BytesIO(plan_files(None, workbook=True)["plan.xlsx"]))
    assert book.sheetnames == list(TABLES)
    for table in TABLES:
        sheet = book[table]
        for number, column in enumerate(columns(table), 1):
            assert str(sheet.cell(1, number).value).startswith(column.heading)
            assert column.meaning in str(sheet.cell(2, number).value)
            assert column.example in str(sheet.cell(3, number).value)
        listed = {words.formula1 for words in sheet.data_validations.dataValidation}
        assert all(f'"{",".join(c.allowed)}"' in listed for c in columns(table) if c.kind in ("choice", "yes or no"))


def test_the_examples_of_the_columns_are_a_plan_that_can_be_read():
    for table in TABLES:
        for column in columns(table):
            assert column.value(column.example, column.unit) is not None, column.heading
            if column.default:
                column.value(column.default, column.unit)


def test_a_length_of_three_decimals_is_written_so_that_it_is_read_again():
    tables = put(demo(), "cable", 3, "length", "1.2340")
    plan = read_plan(as_csv(tables))
    assert plan.networks[0].segments[0].pieces[0].length_m == 1.234
    assert read_plan(plan_files(plan, workbook=False)).networks == plan.networks
