"""The panels of device descriptions draw what is chosen; an upload is read, or refused in words. All are invented."""

import html
import random
import re
from datetime import UTC, datetime

import pytest
from drawn import boxes, check_legible, texts

from helpers import facts
from helpers.device.description.answers import FINDINGS, OCTETS, SHOWN, description_answer
from helpers.device.description.modules import configure
from helpers.device.description.read import read_description
from helpers.device.description.set_up_answer import SetUpPicture, read_values
from helpers.errors import Unreadable
from helpers.panels.device.description import (
    ANY,
    CHOICES,
    DEMOS,
    DRAW,
    MOST_BYTES,
    NOTHING,
    UPLOADED,
    description_called,
    description_panel,
    revision_panel,
    set_up_drawing,
)
from helpers.panels.kit.as_html import html_of
from helpers.panels.kit.fields import Upload

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


def rows_of(answer):
    return [*answer.rows, *(row for _, rows in answer.folded for row in rows)]


# -- one description ----------------------------------------------------------------------------------


@pytest.mark.parametrize("description", [OLD, NEW, GERMAN, COMPACT, FIRST, FAULTY], ids=lambda one: one.file_name)
@pytest.mark.parametrize("show", SHOWN)
def test_every_view_of_every_demo(description, show):
    answer = description_answer(description, show, [description.modules[0].name])
    assert answer.sentence.endswith(".") and plain(html_of(answer, draw=DRAW))
    assert answer.sources or show == FINDINGS
    for row in rows_of(answer):
        assert row.keys() == rows_of(answer)[0].keys() or row not in answer.rows
    assert "None" not in plain(html_of(answer, still=True, draw=DRAW))


def test_octets_of_a_choice_are_those_of_the_calculation():
    values = read_values("When the bus fails = coast to a stop\n\nfilter of the inputs, in ms = 16#0A")
    answer = description_answer(OLD, OCTETS, ["Mill 2/3", OPTION], values)
    setup = configure(OLD, ["Mill 2/3", OPTION], {(0, 1): 0, (2, 5): 10})
    assert answer.sentence == (
        "Mill 2/3 + option: 16 inputs: 4 bytes out, 8 bytes in; 3 octets in Chk_Cfg, 16 octets in Set_Prm."
    )
    assert answer.pictures[0] == SetUpPicture(setup)
    assert [row["octet"] for row in answer.rows] == ["11", "11", "12 to 13", "14", "15"]
    assert "secured against starting" in str(answer.caution)
    drawn = texts(set_up_drawing(answer.pictures[0]))
    assert [one.words for one in drawn if re.fullmatch("[0-9A-F]{2}", one.words)] == [
        f"{octet:02X}" for octet in setup.identifiers + setup.user_parameters
    ]


@pytest.mark.parametrize(
    ("modules", "octets"), [(1, 1), (1, 24), (1, 25), (1, 237), (30, 3)], ids=lambda value: str(value)
)
def test_the_drawing_of_octets_is_legible_and_says_what_it_leaves_out(modules, octets):
    lines = [f'Module = "module {n} with quite a long name" {", ".join(["0x11"] * min(octets, 8))}\nEndModule\n'
             for n in range(modules)]  # fmt: skip
    text = "#Profibus_DP\nModular_Station = 1\n" + "".join(lines)
    text += f"User_Prm_Data = {','.join(['1'] * octets)}\n"
    description = read_description(text.encode())
    sheet = set_up_drawing(SetUpPicture(configure(description, [module.name for module in description.modules])))
    check_legible(sheet)
    shown = [count if count <= 24 else 23 for count in (modules * min(octets, 8), octets)]
    assert len(boxes(sheet)) == sum(shown)
    words = [one.words for one in texts(sheet)]
    assert (f"+{octets - 23}" in words) == (octets > 24)
    assert ("and" in words[-1]) == (modules == 30)


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
