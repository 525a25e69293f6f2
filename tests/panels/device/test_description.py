"""The panels of device descriptions say what the calculations below say, and an upload is read or refused in words.

The descriptions are invented; what a keyword means is tested beside the reader, with its source.
"""

import html
import random
import re
from datetime import UTC, datetime

import pytest
from drawn import boxes, check_legible, texts

from helpers import facts
from helpers.device.description.checks import check
from helpers.device.description.compare import compare, steps
from helpers.device.description.modules import configure
from helpers.device.description.read import read_description
from helpers.errors import Unknown, Unreadable, WorkbookError
from helpers.panels.device.description import NOTHING, description_panel, revision_panel
from helpers.panels.device.description_files import CHOICES, DEMOS, MOST_BYTES, UPLOADED, description_called
from helpers.panels.device.description_octets import octets_drawing, read_values
from helpers.panels.device.description_views import FINDINGS, MODULES, OCTETS, SHOWN, WHO, description_view
from helpers.panels.device.revision_view import ANY, TO_DO, revision_view
from helpers.panels.kit.as_html import html_of
from helpers.panels.kit.fields import Upload
from helpers.verdict import Degree, worst

FOLDER = facts.DATA / "demo" / "descriptions"
OLD, NEW, GERMAN, COMPACT, FIRST, FAULTY = (read_description(FOLDER / name) for name in DEMOS.values())
OPTION = "option: 16 inputs"


def give(panel, name, content, field="files"):
    """A file as the upload widget of the browser gives it."""
    when = datetime(2031, 2, 28, tzinfo=UTC)
    panel.fields[field].widget.value = (
        {"name": name, "type": "", "size": len(content), "content": memoryview(content), "last_modified": when},
    )


def plain(text):
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def rows_of(view):
    return [*view.rows, *(row for _, rows in view.folded for row in rows)]


# -- one description ----------------------------------------------------------------------------------


@pytest.mark.parametrize("description", [OLD, NEW, GERMAN, COMPACT, FIRST, FAULTY], ids=lambda one: one.file_name)
@pytest.mark.parametrize("show", SHOWN)
def test_every_view_of_every_demo(description, show):
    view = description_view(description, show, [description.modules[0].name])
    assert view.sentence.endswith(".") and plain(html_of(view))
    assert view.sources or show == FINDINGS
    for row in rows_of(view):
        assert row.keys() == rows_of(view)[0].keys() or row not in view.rows
    assert "None" not in plain(html_of(view, still=True))


def test_what_the_file_says():
    view = description_view(OLD)
    said = {row["what"]: row["the file says"] for row in view.rows}
    assert view.sentence == "Mill drive M, issue 1.1: ident number 16#FFF1, 8 modules."
    assert said["bit rates"] == "9.6, 19.2, 45.45, 93.75, 187.5, 500 kbit/s, 1.5, 3, 6, 12 Mbit/s"
    assert (said["finds the bit rate"], said["shortest time between cycles"]) == ("by itself", "1 ms")
    assert said["longest answer time"] == "800 bit times at 12 Mbit/s"
    assert said["parameters"] == "5 with names, in up to 13 octets"
    assert [row["keyword"] for row in view.folded[0][1]] == ["Mill_Own_Keyword"]
    first = {row["what"]: row["the file says"] for row in description_view(FIRST).rows}
    assert (first["finds the bit rate"], first["modules"]) == (
        "no: set it at the device", "one fixed set of identifiers",
    )  # fmt: skip
    assert first["longest answer time"] == "150 bit times at 1.5 Mbit/s"


def test_a_description_that_says_next_to_nothing():
    view = description_view(read_description(b"#Profibus_DP\nFMS_supp = 0", "x.gsd"))
    said = {row["what"]: row["the file says"] for row in view.rows}
    assert view.sentence == "x.gsd: ident number none, 0 modules."
    assert {said[what] for what in ("longest answer time", "shortest time between cycles")} == {"not said"}
    assert (said["bit rates"], said["maker"]) == ("none", "nothing")
    assert view.degree is Degree.CANNOT_WORK


def test_findings_name_line_keyword_found_and_expected():
    view = description_view(FAULTY, FINDINGS)
    told = [finding for finding in check(FAULTY) if finding.degree]
    rows = [*view.rows, *view.folded[0][1]]
    assert len(rows) == len(told)
    assert [(row["line"], row["keyword or place"]) for row in rows[:3]] == [
        (23, "Auto_Baud_supp"), (26, "Max_Module"), (28, "Max_Output_Len"),
    ]  # fmt: skip
    assert (rows[0]["found"], rows[0]["expected"]) == ("'maybe'", "0 or 1")
    assert rows[0]["what to do"] == told[0].to_do and rows[1]["what to do"] == "as above"
    lines = {row["keyword or place"]: row["line"] for row in rows}
    assert lines["Min_Slave_Intervall"] == FAULTY.general["min_slave_intervall"].line  # a check that looks at numbers
    assert lines["Hardware_Release"] == ""  # what is absent stands nowhere
    assert lines["cut off"] == FAULTY.module("cut off").line
    good = description_view(OLD, FINDINGS)
    assert good.degree is worst(check(OLD)) is Degree.IN_ORDER and not good.rows


def test_modules_parameters_and_slots():
    view = description_view(OLD, MODULES)
    option = next(row for row in rows_of(view) if row.get("module") == OPTION)
    assert (option["bytes out"], option["bytes in"], option["identifiers"], option["own parameters"]) == (0, 2, "11", 1)
    parameters, slots = view.folded[1][1], view.folded[2][1]
    assert parameters[0]["default"] == "1 (ramp down)"
    assert slots[1]["takes the references"] == "7"
    cut = next(row for row in rows_of(description_view(FAULTY, MODULES)) if row.get("module") == "cut off")
    assert cut["bytes out"] == "not whole"


def test_octets_of_a_choice_are_those_of_the_calculation():
    values = read_values("When the bus fails = coast to a stop\n\nfilter of the inputs, in ms = 16#0A")
    view = description_view(OLD, OCTETS, ["Mill 2/3", OPTION], values)
    setup = configure(OLD, ["Mill 2/3", OPTION], {(0, 1): 0, (2, 5): 10})
    assert view.sentence == (
        "Mill 2/3 + option: 16 inputs: 4 bytes out, 8 bytes in; 3 octets in Chk_Cfg, 16 octets in Set_Prm."
    )
    assert view.pictures[0].svg == octets_drawing(setup).svg
    assert [row["octet"] for row in view.rows] == ["11", "11", "12 to 13", "14", "15"]
    assert "secured against starting" in str(view.caution)
    drawn = texts(view.pictures[0])
    assert [one.words for one in drawn if re.fullmatch("[0-9A-F]{2}", one.words)] == [
        f"{octet:02X}" for octet in setup.identifiers + setup.user_parameters
    ]


def test_what_the_description_does_not_allow_is_broken_and_said():
    view = description_view(OLD, OCTETS, [OPTION])
    assert view.degree is Degree.CANNOT_WORK and "does not take it" in view.because
    assert description_view(COMPACT, OCTETS).degree is Degree.IN_ORDER  # one set of identifiers: nothing to choose


@pytest.mark.parametrize(
    ("typed", "message"),
    [
        ("ramp", "'ramp' is no value of a parameter; write one a line"),
        ("= 5", "is no value of a parameter"),
        ("speed = 5", "no parameter is called 'speed'; with these modules they are: when the bus fails"),
        ("when the bus fails = fly", "known are coast to a stop"),
        ("delay before a stop, in 10 ms = 6001", "allowed is 0 to 6000"),
    ],
)
def test_values_that_are_refused(typed, message):
    with pytest.raises(WorkbookError, match=re.escape(message)):
        description_view(OLD, OCTETS, ["PPO 4"], read_values(typed))


@pytest.mark.parametrize(
    ("modules", "octets"), [(1, 1), (1, 24), (1, 25), (1, 237), (30, 3)], ids=lambda value: str(value)
)
def test_the_drawing_of_octets_is_legible_and_says_what_it_leaves_out(modules, octets):
    lines = [f'Module = "module {n} with quite a long name" {", ".join(["0x11"] * min(octets, 8))}\nEndModule\n'
             for n in range(modules)]  # fmt: skip
    text = "#Profibus_DP\nModular_Station = 1\n" + "".join(lines)
    text += f"User_Prm_Data = {','.join(['1'] * octets)}\n"
    description = read_description(text.encode())
    sheet = octets_drawing(configure(description, [module.name for module in description.modules]))
    check_legible(sheet)
    shown = [count if count <= 24 else 23 for count in (modules * min(octets, 8), octets)]
    assert len(boxes(sheet)) == sum(shown)
    words = [one.words for one in texts(sheet)]
    assert (f"+{octets - 23}" in words) == (octets > 24)
    assert ("and" in words[-1]) == (modules == 30)


def test_what_the_bus_tells_and_what_only_the_file():
    view = description_view(OLD, WHO)
    silent = [row for row in view.rows if row["on the bus"] == "–"]
    assert view.sentence.endswith(f"of {len(view.rows)} things to know, {len(silent)} are never said on the bus.")
    assert {"bit rates", "parameters"} <= {row["what"] for row in silent}


def test_an_unknown_view_is_refused():
    with pytest.raises(Unknown):
        description_view(OLD, "everything")
    with pytest.raises(Unknown):
        revision_view(OLD, NEW, show="everything")


# -- files of one's own -------------------------------------------------------------------------------

PNG = b"\x89PNG\r\n\x1a\n" + random.Random(1).randbytes(300_000)


@pytest.mark.parametrize(
    ("name", "content", "message"),
    [
        ("own.gsd", b"", "own.gsd is empty (0 bytes)"),
        ("photo.png", PNG, "photo.png is no device description: none of its lines begins with a keyword"),
        ("own.gsd", b"x" * 5_000_000, "own.gsd: 5.0 MB; allowed are 2 MB here."),
        ("own.gsd", b"PK\x03\x04" + PNG, "own.gsd is a packed file: unpack it first"),
        ("n" * 200, b"hello", "n" * 60 + " is no device description"),
    ],
    ids=["empty", "picture", "5 MB", "packed", "long name"],
)  # fmt: skip
def test_what_is_no_description_gets_one_sentence_and_the_last_result_stays(name, content, message):
    panel = description_panel()
    before = plain(panel.result.value)
    give(panel, name, content)
    assert panel.fields["description"].value == UPLOADED
    assert message in plain(panel.said.value) and "is old" in panel.said.value
    assert len(plain(panel.said.value)) < 330
    assert plain(panel.result.value) == before


def test_a_damaged_file_is_shown_with_its_findings():
    panel = description_panel()
    give(panel, "Mil_FFF1.gsd", (FOLDER / "Mil_FFF1.gsd").read_bytes()[:2000])
    assert panel.said.value == "" and "Mill drive M, issue 1.1" in panel.result.value
    panel.fields["show"].widget.value = FINDINGS
    assert "not allowed" in panel.result.value
    panel.fields["show"].widget.value = OCTETS
    assert "no module is chosen" in plain(panel.said.value)
    assert panel.fields["place_1"].widget.options == (NOTHING,)


def test_nothing_uploaded_and_too_many():
    with pytest.raises(Unreadable, match="Nothing is uploaded yet"):
        description_called(UPLOADED, [])
    with pytest.raises(Unreadable, match="2 files are uploaded; choose one"):
        description_called(UPLOADED, [Upload("a.gsd", b"1"), Upload("b.gsd", b"2")])
    full = (FOLDER / "Mil_FFF2.gsd").read_bytes()
    assert description_called(UPLOADED, [Upload("a.gsd", full + b" " * (MOST_BYTES - len(full)))]).ident == 0xFFF2


def test_markup_in_a_file_and_in_its_name_is_shown_as_text():
    mark = '<img src=x onerror="alert(1)">'
    text = (FOLDER / "Mil_FFF1.gsd").read_text().replace("Mill drive M", "<b>M</b>").replace("fan worn", "<i>worn</i>")
    panel = description_panel()
    give(panel, f"{mark}.gsd", text.replace("Mill 2/3", "<u>2/3</u>").encode())
    for show in SHOWN:
        panel.fields["show"].widget.value = show
        assert panel.said.value == ""
        assert not re.search(r'<[iu]\b|<b>M|onerror="', panel.result.value)


# -- the panels ---------------------------------------------------------------------------------------


def test_the_lists_of_modules_follow_the_description():
    panel = description_panel()
    assert panel.fields["place_1"].widget.options == tuple(module.name for module in OLD.modules)
    assert panel.fields["place_2"].widget.value == NOTHING
    panel.fields["show"].widget.value = OCTETS
    panel.fields["place_2"].widget.value = OPTION
    assert "Mill 2/3 + option: 16 inputs" in panel.result.value
    for name in CHOICES[:-1]:
        panel.fields["description"].widget.value = name
        assert panel.said.value == ""
    assert panel.fields["place_1"].widget.value == FAULTY.modules[0].name
    assert panel.fields["place_2"].widget.options[0] == NOTHING


def test_a_still_picture_stands_in_a_notebook_that_was_not_run():
    for panel in (description_panel(), revision_panel()):
        assert "still picture" in panel._repr_mimebundle_()["text/html"]


# -- two descriptions ---------------------------------------------------------------------------------


def test_what_changed_is_shown_worst_first_with_what_it_does():
    view = revision_view(OLD, NEW)
    changes = compare(OLD, NEW)
    assert view.sentence.startswith("From Mill drive M, issue 1.1 to Mill drive M, issue 2.0: 13 changes, 2 of them")
    assert len(rows_of(view)) == len(changes)
    assert [row["what it does"][0] for row in view.rows] == ["■", "■", "▲", "▲", "▲"]
    assert {row["what it does"] for row in view.folded[1][1]} == {"● changes nothing that runs"}
    assert "keep people away" in str(view.caution)


def test_a_module_that_is_not_in_use_breaks_nothing():
    assert "none of them breaks" in revision_view(OLD, NEW, "Mill 2/3").sentence
    assert "1 of them breaks" in revision_view(OLD, NEW, "Mill 3/5").sentence


def test_what_has_to_be_done_is_that_of_the_comparison():
    view = revision_view(OLD, NEW, show=TO_DO)
    assert [list(row.values())[1] for row in view.rows] == list(steps(compare(OLD, NEW)))
    assert "any of them can start" in str(view.caution)
    harmless = read_description((FOLDER / "Mil_FFF1.gsd").read_bytes().replace(b"= 2\r", b"= 2\r"), "Mil_FFF1.gsd")
    assert revision_view(OLD, harmless).sentence.startswith("No difference")


def test_languages_devices_and_nothing():
    assert "differ in texts only" in revision_view(OLD, GERMAN).sentence
    assert not revision_view(OLD, GERMAN).caution
    assert "nothing has to be done" in revision_view(OLD, GERMAN, show=TO_DO).sentence
    assert "16#FFF1 and 16#FFF2: these are two devices" in revision_view(OLD, COMPACT).because
    more = (FOLDER / "Mil_FFF1.gsd").read_bytes().replace(b"Max_Module = 2", b"Max_Module = 3")
    grown = revision_view(OLD, read_description(more, "Mil_FFF1.gsd"))
    assert "1 change, none of them breaks" in grown.sentence and not grown.caution and len(grown.rows) == 1


def test_the_panel_of_two_takes_an_upload_at_either_side():
    panel = revision_panel()
    assert panel.fields["used"].widget.options == (ANY, *(module.name for module in OLD.modules))
    own = (FOLDER / "Mil_FFF2.gsd").read_bytes()
    give(panel, "Mil_FFF2.gsd", own, "old_files")
    assert panel.fields["used"].widget.options == (ANY, "PPO 3")
    give(panel, "Mil_FFF2.gsd", own.replace(b"Fail_Safe = 0", b"Fail_Safe = 1"), "new_files")
    assert (panel.fields["old"].value, panel.fields["new"].value) == (UPLOADED, UPLOADED)
    assert "1 change, none of them breaks" in panel.result.value
    give(panel, "photo.png", PNG, "new_files")
    assert "photo.png is no device description" in plain(panel.said.value)
