"""What is saved of a checked plan: read back by programs from outside, complete, undated, and never taken for code.

The csv module, openpyxl and the HTML parser of Python are the outside readers. The plans are invented.
"""

import csv
import io
import re
import zipfile
from dataclasses import replace
from html.parser import HTMLParser

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plan_tables import DEMO, as_csv, demo, plans, put, row_of

from helpers import safe_work
from helpers.plan.check import check, remarks
from helpers.plan.figures import summarize
from helpers.plan.model import Plan
from helpers.plan.read import read_plan
from helpers.plan.record import (
    SEEN,
    record_html,
    record_parts,
    record_text,
    verdict_csv,
    verdict_xlsx,
    zipped,
)
from helpers.verdict import FINDING_COLUMNS, VERDICTS, Degree, Finding, findings_table

MILL = read_plan(DEMO)
EXTENDED = read_plan(DEMO.parent / "saltmarsh-mill-extended")
# A name as somebody might write it into a plan to make a reader run something.
MARKUP = "<img src=x onerror=alert(1)></td><script>"


class Page(HTMLParser):
    """The words and the tags of a page, as a browser would see them; tables as rows of cells."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.words, self.attributes = set(), "", set()
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}

    def handle_data(self, data):
        self.words += data


def read_csv(content):
    return list(csv.reader(io.StringIO(content.decode("utf-8-sig"), newline="")))


def read_xlsx(content):
    (sheet,) = openpyxl.load_workbook(io.BytesIO(content)).worksheets
    return [["" if value is None else value for value in row] for row in sheet.iter_rows(values_only=True)]


# The verdict


@pytest.mark.parametrize(("write", "read"), [(verdict_csv, read_csv), (verdict_xlsx, read_xlsx)])
def test_every_finding_is_in_the_table_the_worst_first(write, read):
    findings = check(EXTENDED)
    heads, *rows = read(write(findings[::-1]))
    assert tuple(heads) == FINDING_COLUMNS
    assert sorted(rows) == sorted(list(row.values()) for row in findings_table(findings))
    verdicts = [row[0] for row in rows]
    order = [VERDICTS.index(verdict.split(",")[0]) for verdict in verdicts]
    assert order == sorted(order, reverse=True)
    assert set(order) == {0, 1, 2}, "the plan has findings of each verdict"


def test_no_finding_gives_headings_only():
    assert read_csv(verdict_csv(())) == read_xlsx(verdict_xlsx(())) == [list(FINDING_COLUMNS)]


@pytest.mark.parametrize(
    "name", ["=1+1", "+49", "-5", "@SUM(A1)", '=HYPERLINK("http://nowhere.invalid")', "5-3", "a=b"]
)
def test_a_name_is_never_taken_for_a_formula(name):
    finding = Finding("address", name, "126", "1 to 125", "", "", Degree.BY_STANDARD)
    saved = openpyxl.load_workbook(io.BytesIO(verdict_xlsx([finding]))).worksheets[0]["C2"]
    assert (saved.value, saved.data_type) == (name, "s")
    place = read_csv(verdict_csv([finding]))[1][2]
    number = name in ("+49", "-5")  # runs nothing, and a negative figure shall stay one that can be summed
    assert place == (name if name[0].isalnum() or number else f"'{name}")


def test_a_zip_holds_the_files_and_is_the_same_each_time():
    files = {"network.csv": b"network\n", "stations.csv": bytes(range(256)), "cable.csv": b""}
    assert zipped(files) == zipped(files)
    with zipfile.ZipFile(io.BytesIO(zipped(files))) as packed:
        assert packed.testzip() is None
        assert {name: packed.read(name) for name in packed.namelist()} == files


# The site record


@pytest.mark.parametrize("plan", [MILL, EXTENDED], ids=lambda plan: plan.name)
@pytest.mark.parametrize("write", [record_text, lambda plan: Page(record_html(plan)).words], ids=["text", "page"])
def test_everything_is_in_the_record(plan, write):
    written = " ".join(re.sub(r"[|\s]+", " ", write(plan)).split())
    for network in plan:
        assert f"Network {network.name}" in written
        for station in network.stations:
            assert station.name in written
            assert station.format_drive in written and station.format_controller in written
        for segment in network.segments:
            assert f"Segment {segment.name}: {len(segment.plugs)} stations" in written
        for row in summarize(network).rates:
            assert row.cells["bit rate"] in written and row.cells["typical"] in written
    for finding in remarks(check(plan)):
        assert finding.rule in written
    assert write(plan) == write(plan)


def test_each_station_stands_in_its_row_with_its_own_values():
    segment = next(part for part in record_parts(MILL) if part.heading.startswith("Segment 2"))
    screw = segment.rows[-1]
    assert screw == {
        "station": "Discharge screw",
        "kind": "drive",
        "address": "22",
        "place": "Cabinet 2",
        "format in drive": "Mill 3/5",
        "format in controller": "Mill 3/5",
        "terminator": "with own supply",
        "plug": "cutting",
        "may be off": "yes",
        "min slave interval": "1 ms",
        "device description": "Mil_FFF1.gsd",
        "ident number": "16#FFF1",
        "watchdog": "200 ms",
        "cable to the next": "end",
        "note": "own-supply terminator on the rail beside this drive",
        SEEN: "",
    }
    assert segment.rows[0]["cable to the next"] == "85 m A (cable tray from the dryer house to the intake pit)"
    assert segment.rows[0]["address"] == "" and segment.rows[0]["terminator"] == "on"


def test_what_differs_from_the_usual_is_told():
    tables = put(demo(), "stations", row_of(demo(), "stations", name="Cooling fan"), "unit load", "2")
    fan = row_of(tables, "stations", name="Cooling fan")
    for heading, value in {"stub length": "0.3", "stub capacitance": "50", "watchdog": "0"}.items():
        put(tables, "stations", fan, heading, value)
    put(tables, "cable", row_of(tables, "cable", to="Cooling fan"), "cable type", "B")
    parts = record_parts(read_plan(as_csv(tables)))
    rows = next(part.rows for part in parts if part.heading.startswith("Segment 1"))
    fan = next(row for row in rows if row["station"] == "Cooling fan")
    assert (fan["unit loads"], fan["stub"], fan["watchdog"]) == ("2", "0.3 m, 50 pF", "off")
    assert next(row for row in rows if row["station"] == "Dryer fan 2")["cable to the next"] == "1.5 m B"
    assert all("stub" not in row for part in parts if part.heading.startswith("Segment 2") for row in part.rows)


def test_a_rule_is_in_order_throughout_only_where_nothing_is_said_against_it():
    verdict = next(part for part in record_parts(EXTENDED) if part.heading == "Verdict on Mill line")
    told = {row["rule"] for row in verdict.rows}
    throughout = verdict.lines[1].removeprefix("In order throughout: ").removesuffix(".").split(", ")
    assert told == {
        "address given twice",
        "termination: both ends",
        "distance between cables",
        "crossing",
        "same format",
        "format in the description",
        "watchdog",
    }
    assert "address" in throughout and not told & set(throughout)


def test_date_and_signatures_are_left_for_the_hand():
    for text in (record_text(EXTENDED), Page(record_html(EXTENDED)).words):
        assert not re.search(r"\d{4}-\d\d-\d\d|\b\d{1,2}[./]\d{1,2}[./]\d{2,4}\b|\b\d\d?:\d\d\b", text)
        for what in ("Date: ___", "Drawn up by: ___", "signature", "checked by", "taken over by", SEEN):
            assert what in text
        words = " ".join(text.split())
        assert all(" ".join(line.split()) in words for line in safe_work.whole()), "the whole text once, on the paper"


def test_a_plan_that_polls_nobody_or_has_no_known_bit_rate_gets_a_record_too():
    network = MILL.networks[0]
    strange = replace(network, bit_rate=1e6, note=network.note)
    assert "1000 kbit/s" in record_text(Plan("strange", (strange,)))
    segment = replace(network.segments[0], plugs=network.segments[0].plugs[:2], pieces=network.segments[0].pieces[:1])
    quiet = replace(network, segments=(segment,), note="")
    text = record_text(Plan("quiet", (quiet,)))
    assert "No station to poll" in text
    assert "Note:" not in text


@settings(max_examples=25, deadline=None)
@given(plans(), st.text(max_size=30))
def test_nothing_written_in_a_plan_becomes_a_tag(plan, words):
    usual = Page(record_html(MILL))
    network = plan.networks[0]
    first, *others = network.segments[0].plugs
    stations = (replace(first, name=MARKUP, note=words, format_drive=MARKUP), *others)
    segment = replace(network.segments[0], name=MARKUP, plugs=stations)
    page = Page(record_html(Plan(MARKUP, (replace(network, name=MARKUP, note=words, segments=(segment,)),))))
    assert page.tags <= usual.tags
    assert page.attributes <= usual.attributes
    assert f"Network {MARKUP}" in page.words and f"Segment {MARKUP}" in page.words
