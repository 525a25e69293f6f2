"""The panel's promises: a good answer is shown, a bad input gets a sentence and costs nothing."""

import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.answer import Answer, TakeAway
from helpers.errors import OutOfRange
from helpers.panels.kit import fields
from helpers.panels.kit.as_html import html_of, table
from helpers.panels.kit.drawing import Drawing
from helpers.panels.kit.panel import Panel
from helpers.verdict import Degree


def _answer(length_m: float, stations: int) -> Answer:
    if stations == 13:
        raise ZeroDivisionError("thirteen")
    degree = Degree.BY_STANDARD if length_m > 1200 else Degree.IN_ORDER
    return Answer(f"{stations} stations on {length_m:g} m.", degree, rows=[{"length in m": length_m, "is": degree}])


def _panel() -> Panel:
    return Panel(
        "A segment",
        {
            "length_m": fields.with_unit("length", "100 m", "length", "m", 0, 5000),
            "stations": fields.slider("stations", 2, 1, 32),
        },
        _answer,
    )


def test_a_moved_control_changes_the_answer() -> None:
    panel = _panel()
    panel.fields["stations"].widget.value = 7
    assert "7 stations on 100 m." in panel.result.value
    assert panel.said.value == ""


def test_the_verdict_is_said_in_words_not_only_in_colour() -> None:
    panel = _panel()
    panel.fields["length_m"].widget.value = "1,3 km"
    assert "Not allowed, by the standard." in panel.result.value


@pytest.mark.parametrize("typed", ["", "-5 m", "99999999 m", "12 V", "x" * 500, "<b>1</b>", "1 2 3"])
def test_a_bad_input_gets_a_sentence_and_the_last_good_result_stays(typed: str) -> None:
    panel = _panel()
    panel.fields["length_m"].widget.value = typed
    assert "Not usable" in panel.said.value
    assert "2 stations on 100 m." in panel.result.value
    assert "<b>1</b>" not in panel.said.value
    panel.fields["length_m"].widget.value = "50 m"
    assert panel.said.value == ""


@pytest.mark.parametrize(
    ("count", "more"), [(1, ""), (6, ""), (7, "1 more"), (200, "194 more"), (300, "294 more, the first 194 of them")]
)
def test_an_error_may_bring_a_table_and_its_end_is_folded_up(count: int, more: str) -> None:
    def refuse(length_m: float) -> Answer:
        if length_m > 100:
            trouble = OutOfRange("Too long.")
            trouble.rows = tuple({"row": n, "found": f"<i>{n}</i>"} for n in range(count))
            raise trouble
        return Answer("Short enough.")

    panel = Panel("A cable", {"length_m": fields.with_unit("length", "50 m", "length", "m", 0, 5000)}, refuse)
    panel.fields["length_m"].widget.value = "200 m"
    assert "Too long." in panel.said.value and "Short enough." in panel.result.value
    assert "&lt;i&gt;0&lt;/i&gt;" in panel.said.value and "<i>" not in panel.said.value
    assert panel.said.value.count("<tr>") == min(count, 200) + (2 if more else 1)
    assert panel.said.value.count("<summary>") == bool(more)
    assert f"<summary>{more}</summary>" in panel.said.value or not more
    panel.fields["length_m"].widget.value = "99 m"
    assert panel.said.value == ""


def test_a_view_folds_up_further_tables_and_leaves_out_empty_ones() -> None:
    shown = html_of(Answer("One.", folded=[("<rest>", [{"n": 1}]), ("none", [])]))
    assert "<summary>&lt;rest&gt;</summary>" in shown
    assert shown.count("<details") == 1


def test_a_fault_of_the_workbook_is_shown_and_not_swallowed() -> None:
    panel = _panel()
    panel.fields["stations"].widget.value = 13
    assert "ZeroDivisionError: thirteen" in panel.said.value
    assert "2 stations" in panel.result.value


def test_what_a_notebook_stores_does_not_change_when_the_panel_is_used() -> None:
    panel, untouched = _panel(), _panel()
    panel.fields["stations"].widget.value = 30
    for kind in ("text/plain", "text/html"):
        assert panel._repr_mimebundle_()[kind] == untouched._repr_mimebundle_()[kind]


def test_a_still_picture_leaves_out_files() -> None:
    answer = Answer("A square.", pictures=[Drawing(10, 10, "a square")], files=[TakeAway("a.csv", b"1")])
    assert "a square" in html_of(answer) and "a.csv" in html_of(answer)
    assert "a square" in html_of(answer, still=True) and "a.csv" not in html_of(answer, still=True)


@given(st.text(alphabet=st.characters(codec="utf-8", exclude_categories=["Cc", "Cs"]), max_size=40))
def test_any_words_make_a_well_formed_drawing(words: str) -> None:
    sheet = Drawing(100, 50, words)
    sheet.text(5, 5, words)
    root = ET.fromstring(sheet.svg)
    assert "".join(root[-1].itertext()) == words.replace("\r", "\n")


def test_a_table_shows_words_beside_signs_and_escapes_markup() -> None:
    shown = table([{"station": "<fan>", "verdict": Degree.CAUTION}])
    assert "&lt;fan&gt;" in shown and "outside cautious practice" in shown


def test_a_field_refuses_what_lies_outside_its_range() -> None:
    field = fields.whole("address", "200", 0, 127)
    with pytest.raises(OutOfRange, match="address is 200; allowed is 0 to 127"):
        _ = field.value
    field.widget.value = "16#7E"
    assert field.value == 126


def test_a_play_button_moves_its_slider() -> None:
    field = fields.play("step", 0, 0, 5)
    assert field.around is not None
    button = field.around.children[1]
    button.value = 3
    assert field.value == 3
