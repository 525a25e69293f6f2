"""The panel for a network plan: what is uploaded is read or refused in words, and what it shows is what the check says.

The plans are invented; what a rule allows is tested beside the rule. Files are made by openpyxl, csv and zipfile.
"""

import asyncio
import base64
import csv
import html
import io
import re
import zipfile
from dataclasses import replace
from datetime import UTC, datetime
from html.parser import HTMLParser
from urllib.parse import unquote_to_bytes

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from plan_tables import DEMO, as_csv, as_xlsx, demo, plans, put, row_of

from helpers.bus.cable.laid import Piece, Segment
from helpers.bus.cable.line_picture import LinePicture
from helpers.errors import Unknown, Unreadable
from helpers.panels.cable.segment_drawing import line_drawing
from helpers.panels.kit.as_html import html_of, link
from helpers.panels.kit.fields import Upload
from helpers.panels.network.network_plan import MOST_BYTES, UPLOADED, plan_panel, uploaded_plan
from helpers.plan.answers import (
    CYCLE,
    SAVE_PLAN,
    SAVE_RECORD,
    SAVE_VERDICT,
    SEGMENTS,
    SHOWN,
    VERDICT,
    WORST,
    plan_answer,
)
from helpers.plan.check import check, check_network, remarks
from helpers.plan.columns import TABLES
from helpers.plan.figures import summarize
from helpers.plan.model import Network, Plan, Station
from helpers.plan.my_networks import DEMO_SITE, my_networks
from helpers.plan.read import read_plan
from helpers.verdict import Degree, worst

EXTENDED_FOLDER = DEMO.parent / "saltmarsh-mill-extended"
MILL, EXTENDED = read_plan(DEMO), read_plan(EXTENDED_FOLDER)
MARKUP = '<img src=x onerror="alert(1)">\'"><script>alert(2)</script>'


def shown_as_html(answer, **how):
    return html_of(answer, draw={LinePicture: line_drawing}, **how)


def uploads(files):
    return [Upload(name, content) for name, content in files.items()]


def chosen(files):
    """Files as the upload widget of the browser gives them."""
    when = datetime(2031, 2, 28, tzinfo=UTC)
    return tuple(
        {"name": name, "type": "", "size": len(content), "content": memoryview(content), "last_modified": when}
        for name, content in files.items()
    )


def give(panel, files):
    panel.fields["files"].widget.value = chosen(files)


def plain(text):
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


class Page(HTMLParser):
    """Every tag and attribute of a page, in drawings too, as a browser would see them."""

    def __init__(self, text):
        super().__init__()
        self.tags, self.attributes, self.words = set(), set(), ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        for name, value in attrs:
            self.attributes.add(name)
            if name == "src":
                assert re.fullmatch(r"data:image/svg\+xml;base64,[\w+/=]+", value)
                drawing = Page(base64.b64decode(value.partition("base64,")[2]).decode())
                self.tags |= drawing.tags
                self.attributes |= drawing.attributes
            if name == "href":
                assert re.fullmatch(r"data:[\w/.;=+-]+;base64,[\w+/=]+", value)

    def handle_data(self, data):
        self.words += data


def line(stations=125, segments=10, watchdog_s=None):
    """One network with all addresses taken, one segment behind the other."""
    parts = []
    for n in range(segments):
        own = [(f"Station {a}", a) for a in range(n * stations // segments + 1, (n + 1) * stations // segments + 1)]
        rows = [*[(f"Repeater {n}", None)] * (n > 0), *own, *[(f"Repeater {n + 1}", None)] * (n < segments - 1)]
        members = tuple(
            Station(name, "drive" if address else "repeater", position=place, address=address, watchdog_s=watchdog_s)
            for place, (name, address) in enumerate(rows, 1)
        )
        parts.append(Segment(str(n + 1), members, (Piece(5.0),) * (len(members) - 1), 1.5e6))
    return Plan("full", (Network("line", 1.5e6, "A", tuple(parts)),))


# What is shown


def test_the_worst_comes_first_and_what_is_in_order_is_folded_up():
    view = plan_answer(EXTENDED)
    findings = check_network(EXTENDED.networks[0])
    assert view.degree is worst(findings) is Degree.CANNOT_WORK
    assert view.sentence == "Mill line: 5 are not allowed, 4 are outside cautious practice, 105 checks are in order."
    told = remarks(findings)
    (_, rest), (kept, rows) = view.folded
    shown = [*view.rows, *rest]
    assert {(row["rule"], row["where"]) for row in shown} == {(f.rule, f.place) for f in told}
    assert [row["verdict"] for row in shown] == sorted((f.degree for f in told), reverse=True)
    assert all(row["what to do"] and row["allowed"] and row["found"] for row in shown)
    assert (len(rest), kept) == (5, "In order: 105 checks")
    assert {row["rule"] for row in rows} == {f.rule for f in findings if not f.degree}
    assert {f"{f.rule}: {f.source}" for f in told} == set(view.sources)
    assert "Silo line, not allowed, cannot work" in view.because
    assert "isolation, every step" in str(view.caution) and "drives stop and start" in str(view.caution)


def test_each_degree_has_its_sign_and_its_words():
    shown = plain(shown_as_html(plan_answer(EXTENDED)))
    for words in ("■ not allowed, cannot work", "▲ outside cautious practice"):
        assert words in shown


def test_a_plan_in_order_says_so_and_warns_of_nothing():
    view = plan_answer(MILL)
    assert (view.sentence, view.degree) == (f"Mill line: all {len(check(MILL))} checks are in order.", Degree.IN_ORDER)
    assert not view.rows and not view.caution and "Also in it" not in view.because


@pytest.mark.parametrize("network", [network.name for network in EXTENDED])
def test_each_network_of_a_plan_has_its_own_verdict_cycle_and_drawing(network):
    own = EXTENDED.network(network)
    for show in (VERDICT, SEGMENTS, CYCLE):
        assert plan_answer(EXTENDED, network, show).sentence.startswith(network)
    view = plan_answer(EXTENDED, network)
    told = [row["rule"] for row in (*view.rows, *view.folded[0][1])]
    assert sorted(told) == sorted(finding.rule for finding in remarks(check_network(own)))
    drawing = line_drawing(*plan_answer(EXTENDED, network, SEGMENTS).pictures)
    assert all(station.name in drawing.says for station in own.stations)


def test_a_network_that_is_not_there_stands_for_the_first_and_an_unknown_view_is_refused():
    assert plan_answer(EXTENDED, "no such line") == plan_answer(EXTENDED, "Mill line")
    with pytest.raises(Unknown, match="known are verdict, segments"):
        plan_answer(EXTENDED, show="everything")


def test_the_cycle_at_each_bit_rate_is_that_of_the_summary():
    view = plan_answer(MILL, show=CYCLE)
    cells = [row.cells for row in summarize(MILL.networks[0]).rates]
    shown = [(row["bit rate"], row["at best"], row["typical"], row["at worst"]) for row in view.rows]
    assert shown == [(row["bit rate"], row["best"], row["typical"], row["worst"]) for row in cells]
    assert [row["bit rate"] for row in view.rows if row["set"]] == ["1.5 Mbit/s"]
    assert "asked once in 3.451 ms; at best in 2.837 ms, at worst in 4.714 ms" in view.sentence
    assert view.sources


def test_a_bit_rate_that_is_none_of_dp_leaves_out_the_drawing_and_nothing_else():
    plan = read_plan(as_csv(put(demo(), "network", 3, "bit rate", "1 Mbit/s")))
    assert plan_answer(plan).degree is Degree.CANNOT_WORK
    segments = plan_answer(plan, show=SEGMENTS)
    assert not segments.pictures and "1000 kbit/s is no bit rate of DP" in segments.sentence
    assert "no bit rate of DP" in plan_answer(plan, show=CYCLE).sentence
    assert len(plan_answer(plan, show=CYCLE).rows) == 10


def test_who_polls_nobody_has_no_cycle_and_a_format_not_known_is_named():
    network = MILL.networks[0]
    segment = network.segments[0]
    quiet = replace(network, segments=(replace(segment, plugs=segment.plugs[:2], pieces=segment.pieces[:1]),))
    assert "no station to poll" in plan_answer(Plan("quiet", (quiet,)), show=CYCLE).sentence
    tables = demo()
    for column in ("format in drive", "format in controller"):
        put(tables, "stations", row_of(tables, "stations", name="Cooling fan"), column, "own make")
    assert "is not counted: Cooling fan." in plan_answer(read_plan(as_csv(tables)), show=CYCLE).because


def test_the_worst_segment_is_drawn_first_and_any_other_on_request():
    plan = line()
    segment = plan.networks[0].segments[6].with_plug(3, stub_length_m=50.0)
    segments = (*plan.networks[0].segments[:6], segment, *plan.networks[0].segments[7:])
    plan = Plan("p", (replace(plan.networks[0], segments=segments),))
    view = plan_answer(plan, show=SEGMENTS)
    assert "segment 7, of 10" in view.sentence and view.degree is Degree.BY_EVERY_SOURCE
    assert view.rows[0]["segment"] == "7" and view.rows[0][""] == "◀ drawn"
    other = plan_answer(plan, show=SEGMENTS, segment="2")
    assert "segment 2, of 10" in other.sentence and other.rows[0]["segment"] == "2"
    assert "Station 13" in other.pictures[0].says and "to segment 3" in other.pictures[0].says
    assert shown_as_html(plan_answer(plan, show=SEGMENTS, segment="no such")) == shown_as_html(view)
    listed = [row["segment"] for row in (*view.rows, *view.folded[0][1])]
    assert sorted(listed, key=int) == [str(n) for n in range(1, 11)]


def test_a_mark_stands_at_each_station_that_the_verdict_names_and_at_no_other():
    drawing = line_drawing(*plan_answer(EXTENDED, "Mill line", SEGMENTS).pictures)
    told = dict(re.findall(r"(?:^|[–;:]) ?([\w /]+) \(([^()]*)\)", drawing.says))
    marked = {name: words for name, words in told.items() if "not allowed" in words or "practice" in words}
    broken = {"Dryer fan 2", "Dryer fan 3", "Dust filter valve", "Bucket elevator"}
    assert set(marked) == broken | {"Cooling fan"}
    assert {name for name, words in marked.items() if "not allowed" in words} == broken


def test_of_many_equal_findings_three_are_shown_and_the_rest_are_counted():
    view = plan_answer(line(watchdog_s=0.001))
    rows = [*view.rows, *view.folded[0][1]]
    short = [row for row in rows if row["rule"] == "watchdog"]
    assert len(short) == 4
    assert short[-1]["where"].startswith("and 122 more: Station 4, Station 5")
    assert len(view.rows) == 4 and view.folded[0][0] == f"{len(rows) - 4} more lines of the verdict"
    assert len(shown_as_html(view)) < 100_000


@settings(max_examples=15, deadline=None)
@given(plans(), st.sampled_from(SHOWN))
def test_any_plan_gives_every_view(plan, show):
    view = plan_answer(plan, show=show)
    assert view.sentence
    Page(shown_as_html(view))


def test_the_same_plan_gives_the_same_still_picture():
    assert plan_panel()._repr_mimebundle_()["text/html"] == plan_panel()._repr_mimebundle_()["text/html"]


# Nothing that is written in a plan becomes a tag


def with_markup():
    tables = demo()
    tables["neighbours"] = list(
        csv.reader((EXTENDED_FOLDER / "neighbours.csv").read_text(encoding="utf-8").splitlines())
    )
    for rows in tables.values():
        for row in rows[2:]:
            row[:] = [MARKUP if text in ("Mill line", "PPO 4") else text for text in row]
            row[:] = [text + MARKUP if text in ("Cooling fan", "2", "Repeater") else text for text in row]
            row[:] = [MARKUP if text == "Cabinet 1" else text for text in row]
    for row in tables["stations"][2:]:
        row[2] = row[2].removesuffix(MARKUP)
    return tables


@pytest.mark.parametrize("show", SHOWN)
def test_markup_in_a_plan_is_shown_as_it_is_written(show):
    plan = read_plan(as_xlsx(with_markup()))
    assert MARKUP in plan.networks[0].name and plan.networks[0].segments[1].name == "2" + MARKUP
    page, usual = (
        Page(shown_as_html(plan_answer(replace_name(plan), show=show))),
        Page(shown_as_html(plan_answer(EXTENDED, show=show))),
    )
    assert page.tags <= usual.tags
    assert page.attributes <= usual.attributes
    assert "script" not in page.tags and not [name for name in page.attributes if name.startswith("on")]


def replace_name(plan):
    return Plan(MARKUP, plan.networks)


def test_markup_in_faults_and_file_names_is_shown_as_it_is_written():
    tables = demo()
    for row in range(4, 12):
        put(tables, "stations", row, "kind", MARKUP)
    tables["network"][1][1] = f"bit rate{MARKUP}"
    panel = plan_panel()
    for files in (as_csv(tables), {f"{MARKUP.replace('/', '')}.xlsx": b"x"}, {f"{MARKUP.replace('/', '')}.pdf": b"x"}):
        give(panel, files)
        assert "Not usable" in panel.said.value
        page = Page(panel.said.value)
        assert page.tags <= {"p", "b", "table", "thead", "tbody", "tr", "th", "td", "details", "summary"}
        assert "<img src=x" in page.words


# Uploading


def test_a_workbook_and_tables_are_read_alike():
    assert uploaded_plan(uploads(as_xlsx(demo()))).networks == MILL.networks
    assert uploaded_plan(uploads(as_csv(demo(), delimiter=";", decimal=","))).networks == MILL.networks


@pytest.mark.parametrize(
    ("files", "said"),
    [
        ({}, "Nothing is uploaded yet"),
        ({"plan.pdf": b"%PDF"}, r"^plan\.pdf: a plan is one workbook saved as \.xlsx, or the tables network\.csv"),
        ({"plan.xls": b"x"}, "saved as .xlsx"),
        ({"plan.ods": b"x", "network.csv": b""}, "saved as .xlsx"),
        ({"plan": b"x"}, "saved as .xlsx"),
        ({"plan.xlsx": b"\x00\xff" * 999}, "not a workbook"),
        ({"plan.xlsx": b""}, "not a workbook"),
        ({"plan.xlsx": b"x", "network.csv": b"x"}, "not both"),
        ({"measured.csv": b"1,2"}, "none of the files"),
        ({"plan.xlsx": bytes(MOST_BYTES + 1)}, r"2\.0 MB; allowed are 2 MB"),
        ({"plan.xlsx": bytes(5_000_000)}, r"5\.0 MB; allowed are 2 MB"),
        ({"plan.xlsx": bytes(MOST_BYTES)}, "not a workbook"),
        ({"network.csv": bytes(MOST_BYTES // 2), "cable.csv": bytes(MOST_BYTES)}, r"3\.0 MB"),
    ],
)
def test_what_is_no_plan_is_refused_in_words(files, said):
    with pytest.raises(Unreadable, match=said):
        uploaded_plan(uploads(files))


def test_every_fault_of_the_tables_is_in_the_table_of_the_refusal():
    tables = put(demo(), "network", 3, "bit rate", "fast")
    for row in range(4, 12):
        put(tables, "stations", row, "address", "none")
    with pytest.raises(Unreadable, match="9 faults in the tables") as refused:
        uploaded_plan(uploads(as_csv(tables)))
    first, second, *_ = refused.value.rows
    assert list(first) == ["table", "row", "column", "found", "expected"]
    assert (first["table"], first["row"], first["column"], first["found"]) == ("network", 3, "bit rate", "'fast'")
    assert second["expected"] == "a whole number, 0 or more, for example 5"
    with pytest.raises(Unreadable, match=r"^network\.csv: 2 faults") as refused:
        uploaded_plan(uploads({"network.csv": as_csv(demo())["network.csv"]}))
    assert [(row["table"], row["row"]) for row in refused.value.rows] == [("stations", ""), ("cable", "")]


def test_formulas_without_a_result_are_named_with_the_remedy():
    def plant(book):
        book["cable"]["E4"] = "=1+2"

    with pytest.raises(Unreadable, match="1 fault in the tables") as refused:
        uploaded_plan(uploads(as_xlsx(demo(), plant)))
    assert "open the plan in a spreadsheet program and save it" in refused.value.rows[0]["found"]


def test_a_page_pasted_into_a_cell_does_not_flood_the_panel():
    tables = put(demo(), "stations", 5, "address", "x" * 50_000)
    panel = plan_panel()
    give(panel, as_csv(tables))
    assert "1 fault" in panel.said.value and len(panel.said.value) < 5000
    assert (
        len(
            shown_as_html(
                plan_answer(read_plan(as_csv(put(demo(), "network", 3, "note", "x" * 50_000))), show=SEGMENTS)
            )
        )
        < 90_000
    )


# The panel


def test_it_begins_alive_with_a_plan_that_has_something_to_show():
    panel = plan_panel()
    assert panel.fields["plan"].value == "the Mill extended"
    assert panel.fields["network"].widget.options == ("Mill line", "Silo line")
    assert panel.fields["segment"].widget.options == (WORST, "1", "2")
    assert "not allowed" in panel.result.value and panel.said.value == ""


def test_controls_change_what_is_shown():
    panel = plan_panel()
    panel.fields["network"].widget.value = "Silo line"
    assert "Silo line: 3 are not allowed, 3 are outside cautious practice" in plain(panel.result.value)
    assert panel.fields["segment"].widget.options == (WORST, "1")
    expected = {
        SEGMENTS: "one segment, 145 m",
        CYCLE: "Silo line at 3 Mbit/s",
        SAVE_VERDICT: "verdict.xlsx",
        SAVE_RECORD: "site-record.html",
        SAVE_PLAN: "blank-plan.xlsx",
    }
    for show, words in expected.items():
        panel.fields["show"].widget.value = show
        assert words in panel.result.value
    panel.fields["plan"].widget.value = DEMO_SITE
    assert panel.fields["network"].widget.options == ("Mill line",)
    panel.fields["show"].widget.value = VERDICT
    assert "in order" in panel.result.value and panel.said.value == ""


def test_what_is_uploaded_is_shown_and_the_lists_follow():
    panel = plan_panel()
    give(panel, as_xlsx(demo()))
    assert panel.fields["plan"].value == UPLOADED
    assert panel.fields["network"].widget.options == ("Mill line",)
    assert "all 97 checks are in order" in panel.result.value and "Plan: mill." in panel.result.value
    assert panel.said.value == ""


def test_device_descriptions_come_with_the_tables():
    tables = put(demo(), "stations", row_of(demo(), "stations", name="Cooling fan"), "device description", "own.gsg")
    panel = plan_panel()
    give(panel, as_csv(tables))
    assert "stands neither beside the plan" in panel.result.value
    own = (DEMO.parent / "descriptions" / "Mil_FFF1.gsg").read_bytes()
    give(panel, as_csv(tables) | {"own.gsg": own.replace(b"1.5M_supp = 1", b"1.5M_supp = 0")})
    assert "own.gsg offers 9.6 kbit/s" in panel.result.value and panel.said.value == ""
    give(panel, as_csv(tables) | {"own.gsg": own})
    assert "all 97 checks are in order" in panel.result.value


def test_after_a_bad_upload_the_last_good_plan_stays_and_is_marked_as_old():
    panel = plan_panel()
    give(panel, as_xlsx(demo()))
    good = panel.result.value
    give(panel, as_csv(put(demo(), "network", 3, "bit rate", "fast")))
    assert "1 fault in the tables" in panel.said.value and "it is old" in panel.said.value
    assert good.partition(">")[2] == panel.result.value.partition(">")[2], "that of the upload before, not a demo"
    assert "opacity" in panel.result.value and "opacity" not in good
    give(panel, {"plan.xlsx": b"rubbish"})
    assert "not a workbook" in panel.said.value and "all 97 checks" in panel.result.value
    give(panel, as_csv(demo()))
    assert panel.said.value == "" and "opacity" not in panel.result.value


def test_turning_to_the_upload_before_there_is_one_says_so_and_back_again():
    panel = plan_panel()
    panel.fields["plan"].widget.value = UPLOADED
    assert "Nothing is uploaded yet" in panel.said.value and "it is old" in panel.said.value
    panel.fields["plan"].widget.value = DEMO_SITE
    assert panel.said.value == ""


def test_a_fault_of_the_workbook_itself_is_said(monkeypatch):
    def fail(_):
        raise ZeroDivisionError("planted")

    panel = plan_panel()
    monkeypatch.setattr("helpers.panels.network.network_plan._read", fail)
    give(panel, {"plan.xlsx": b"x"})
    assert "ZeroDivisionError: planted" in panel.said.value


# Files to save


def saved(view):
    return {file.name: file.content for file in view.files}


def test_the_saved_verdict_and_record_cover_every_network():
    files = saved(plan_answer(EXTENDED, show=SAVE_VERDICT)) | saved(plan_answer(EXTENDED, show=SAVE_RECORD))
    assert list(files) == ["verdict.xlsx", "verdict.csv", "site-record.html", "site-record.txt"]
    (sheet,) = openpyxl.load_workbook(io.BytesIO(files["verdict.xlsx"])).worksheets
    assert sheet.max_row == 1 + len(check(EXTENDED))
    for name in ("site-record.html", "site-record.txt"):
        assert all(network.name in files[name].decode() for network in EXTENDED)


def test_the_saved_plan_is_the_plan_and_the_blank_one_is_a_plan_without_rows():
    files = saved(plan_answer(EXTENDED, show=SAVE_PLAN))
    assert list(files) == ["plan.xlsx", "plan-csv.zip", "blank-plan.xlsx", "blank-plan-csv.zip"]
    assert uploaded_plan(uploads({"plan.xlsx": files["plan.xlsx"]})).networks == EXTENDED.networks
    for name, plan in {"plan-csv.zip": EXTENDED, "blank-plan-csv.zip": None}.items():
        with zipfile.ZipFile(io.BytesIO(files[name])) as packed:
            tables = {table: packed.read(table) for table in packed.namelist()}
        assert list(tables) == [f"{table}.csv" for table in TABLES]
        if plan:
            assert uploaded_plan(uploads(tables)).networks == plan.networks
        else:
            with pytest.raises(Unreadable, match="2 faults"):
                uploaded_plan(uploads(tables))
    with pytest.raises(Unreadable, match="2 faults"):
        uploaded_plan(uploads({"blank.xlsx": files["blank-plan.xlsx"]}))


def test_a_link_holds_the_file_it_names():
    for file in plan_answer(MILL, show=SAVE_VERDICT).files:
        address = re.search(r'href="data:([^"]*);base64,([^"]*)"', link(file))
        assert base64.b64decode(unquote_to_bytes(address[2])) == file.content
        assert f'download="{file.name}"' in link(file)


def test_a_saved_plan_brings_its_device_descriptions_and_can_be_uploaded_as_it_is():
    tables = put(demo(), "stations", row_of(demo(), "stations", name="Cooling fan"), "device description", "own.gsg")
    own = (DEMO.parent / "descriptions" / "Mil_FFF1.gsg").read_bytes()
    plan = read_plan(as_csv(tables) | {"own.gsg": own})
    content = saved(plan_answer(plan, show=SAVE_PLAN))["plan-csv.zip"]
    again = uploaded_plan(uploads({"plan-csv.zip": content}))
    assert again.networks == plan.networks and again.name == "plan-csv"
    with pytest.raises(Unreadable, match=r"'plan\.zip' is damaged"):
        uploaded_plan(uploads({"plan.zip": content[: len(content) // 2]}))


# A network of one's own


@pytest.fixture
def mine(tmp_path, monkeypatch):
    monkeypatch.setenv("WORKBOOK_PROGRESS", str(tmp_path))
    return my_networks()


def keeper_of(panel):
    return panel.fields["files"].around.children[1]


def test_an_upload_is_kept_under_its_name_and_the_next_page_begins_with_it(mine):
    panel = plan_panel()
    give(panel, as_xlsx(demo()))
    keeper = keeper_of(panel)
    keeper.name.value = "My plant"
    keeper.keep.click()
    assert "My plant is kept" in keeper.said.value and mine.names() == ("My plant",)
    assert panel.fields["plan"].value == "My plant" and "Plan: My plant." in panel.result.value
    again = plan_panel()
    assert again.fields["plan"].value == "My plant" and keeper_of(again).begin.value == "My plant"
    keeper_of(again).begin.value = DEMO_SITE
    assert mine.chosen() == DEMO_SITE and plan_panel().fields["plan"].value == "the Mill extended"


def test_names_that_are_taken_or_wrong_are_told_and_nothing_kept_changes(mine):
    mine.save("a", MILL)
    keeper = keeper_of(plan_panel())
    for name, words in {"": "has 1 to 60 letters", "A": "already", "x/y": "may not hold"}.items():
        keeper.name.value = name
        keeper.keep.click()
        assert words in plain(keeper.said.value)
    assert mine.names() == ("a",) and mine.read("a").networks == MILL.networks
    keeper.name.value, keeper.sure.value = "A", True
    keeper.keep.click()
    assert len(mine.read("a").networks) == 2 and not keeper.sure.value, "the tick holds for one time only"


def test_a_bad_upload_is_not_kept(mine):
    panel = plan_panel()
    give(panel, as_csv(put(demo(), "network", 3, "bit rate", "fast")))
    keeper_of(panel).name.value = "bad"
    keeper_of(panel).keep.click()
    assert "1 fault in the tables" in keeper_of(panel).said.value and mine.names() == ()


def test_rename_and_remove_act_on_the_network_that_is_shown(mine):
    for name in ("a", "b"):
        mine.save(name, MILL)
    panel = plan_panel()
    keeper = keeper_of(panel)
    keeper.rename.click()
    assert "is not one of your own" in keeper.said.value
    panel.fields["plan"].widget.value = "a"
    keeper.name.value = "c"
    keeper.rename.click()
    assert mine.names() == ("b", "c") and panel.fields["plan"].value == "c"
    keeper.remove.click()
    assert "Tick the box above" in keeper.said.value and mine.names() == ("b", "c")
    keeper.sure.value = True
    keeper.remove.click()
    assert mine.names() == ("b",) and panel.fields["plan"].value == DEMO_SITE and panel.said.value == ""


def test_what_is_made_of_a_kept_plan_is_made_with_a_bar_and_a_failure_is_told(mine, monkeypatch):
    made = []

    def make(plan, progress):
        progress(0.5, "half done")
        made.append((plan.name, keeper.bar.value))

    def fail(plan, progress):
        raise OSError("no room")

    async def use(*after):
        monkeypatch.setattr("helpers.panels.network.keep_plan.ON_SAVED", after)
        keeper.name.value, keeper.sure.value = "My plant", True
        keeper.keep.click()
        await keeper.task

    keeper = keeper_of(plan_panel())
    asyncio.run(use(make))
    assert made == [("My plant", 0.5)] and keeper.bar.layout.display == "none"
    asyncio.run(use(fail))
    assert "My plant is kept, but what is made of it failed: no room" in keeper.said.value
