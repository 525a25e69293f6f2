"""Files for spreadsheet programs: no cell of them runs, and what was written is read back as it was.

Which signs begin a formula, and the apostrophe against it: OWASP, CSV Injection.
"""

import csv
import io
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from plan_tables import as_csv, demo, put, row_of

from helpers.bus.address.address import Holder
from helpers.bus.address.answers import address_list_answer
from helpers.device.formats import by_name
from helpers.device.io_answers import io_image_answer
from helpers.device.io_export import from_csv, to_csv
from helpers.device.io_image import ImageStation, lay_out
from helpers.plan.read import read_plan
from helpers.plan.save import plan_files
from helpers.spreadsheet import csv_file, csv_text, marked, unmarked

FORMULAS = ('=HYPERLINK("http://nowhere.invalid")', "+1+1", "-1-1", "@SUM(A1)", "\t=1+1", " =1+1", "＝1+1", "'=1+1")
odd = st.text(st.sampled_from("=+-@'# \t\n\r,;\"1aé＝"), max_size=6)


def cells(content):
    return [cell for row in csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")) for cell in row]


def runs(cell):
    """True for a cell that a spreadsheet program takes for a formula: a number runs nothing."""
    return bool(re.match(r"[\s\x00-\x1f]*[=+\-@＝＋－＠]", cell)) and not re.fullmatch(r"[+-]?\d+([.,]\d+)?", cell)


@given(st.lists(st.lists(odd, min_size=1, max_size=3), min_size=1, max_size=3))
def test_no_cell_runs_and_every_cell_comes_back(rows):
    text = csv_text(rows)
    written = list(csv.reader(io.StringIO(text, newline="")))
    assert not [cell for row in written for cell in row if runs(cell)]
    assert [[unmarked(cell) for cell in row] for row in written] == [[*row] for row in rows]


@given(odd)
def test_a_mark_is_taken_off_once_and_only_where_it_was_put(text):
    assert unmarked(marked(text)) == text
    assert unmarked(marked(text, "#"), "#") == text
    assert not marked(text, "#").startswith("#")


def test_numbers_stay_numbers_and_half_a_character_is_written_out():
    assert csv_text([(-5, "-0,5", "+3", 1e-9)]) == '-5,"-0,5",+3,1e-09\r\n'
    assert csv_file([("a\ud800",)]).decode("utf-8-sig") == "a\\ud800\r\n"


@pytest.mark.parametrize("name", FORMULAS)
def test_every_file_that_is_saved_keeps_a_name_from_running_and_gives_it_back(name):
    places = lay_out([ImageStation(name, by_name("PPO 3"))]).places
    assert from_csv(to_csv(places)) == places
    files = {file.name: file.content for file in io_image_answer([ImageStation(name, by_name("PPO 3"))]).files}
    assert not [cell for cell in cells(files["io-image.csv"]) if runs(cell)]
    (addresses,) = address_list_answer([Holder(name, "drive", 126)]).files
    assert not [cell for cell in cells(addresses.content) if runs(cell)]
    tables = put(demo(), "stations", row_of(demo(), "stations", name="Cooling fan"), "note", name)
    plan = read_plan(as_csv(tables))
    saved = plan_files(plan, workbook=False)
    assert not [cell for content in saved.values() for cell in cells(content) if runs(cell)]
    assert read_plan(saved).networks == plan.networks
