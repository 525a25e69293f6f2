"""The question widget, worked as a learner works it."""

import asyncio
import sqlite3

import ipywidgets as widgets
import pytest

from helpers.panels.learning import ask as module
from helpers.panels.learning.ask import ask
from helpers.study.banks import registry
from helpers.study.banks.registry import draw_question, kinds
from helpers.study.forms import Addresses, Bits, Choice, Hexadecimal, Number
from helpers.study.progress import FILE, Attempt, Progress, own_progress
from helpers.study.question import Question, Slip

FORMS = {
    "length": Question(
        "How long is the cable, in m?\nAdd the pieces.", Number("m", "length", relative=0.01), 200.0,
        ("Add up.", "120 m + 80 m = 200 m."), (Slip(280.0, "Counted twice."), Slip(61.0, "Those are feet.")),
        rows=[{"piece": "A < B", "length in m": 120}]),
    "ends": Question(
        "Where is it terminated?", Choice(("at both ends", "at one end", "nowhere")), "at both ends",
        ("Think of the echo.", "Both."), (Slip("at one end", "The other end echoes."), Slip("nowhere", "It echoes."))),
    "word": Question(
        "Which word, in hexadecimal?", Hexadecimal(4), 0x047F, ("Bits.", "16#047F."),
        (Slip(0x7F04, "The bytes are swapped."), Slip(0x47F0, "Shifted."))),
    "switches": Question(
        "How do they stand?", Bits(("S1", "S2", "S3")), "110", ("Weights.", "3 = 2 + 1."),
        (Slip("011", "Wrong end."), Slip("001", "Exchanged."))),
    "list": Question(
        "Which addresses?", Addresses(), frozenset({3, 4}), ("Look.", "3 and 4."),
        (Slip(frozenset({3}), "4 too."), Slip(frozenset(), "Some."))),
}  # fmt: skip


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("WORKBOOK_PROGRESS", str(tmp_path))
    monkeypatch.setattr(registry, "BANKS", {**registry.BANKS, "forms": {k: lambda _, q=q: q for k, q in FORMS.items()}})
    return tmp_path


def fill(panel, typed: str) -> None:
    """Answer as a hand does: type a text, turn switches, choose from a list."""
    first = panel.field.widgets[0]
    if isinstance(first, widgets.Text | widgets.RadioButtons):
        first.value = typed
    else:
        for place, bit in zip(panel.field.widgets, typed, strict=True):
            place.children[1].value = bit == "1"


def try_(panel, typed: str) -> str:
    fill(panel, typed)
    panel.check.click()
    return panel.said.value


RIGHT = {"length": "0,2 km", "ends": "at both ends", "word": "16#047F", "switches": "110", "list": "4, 3"}
SLIPS = {
    "length": ("280", "Counted twice."),
    "ends": ("nowhere", "It echoes."),
    "word": ("7f04", "The bytes are swapped."),
    "switches": ("011", "Wrong end."),
    "list": ("3", "4 too."),
}


@pytest.mark.parametrize("kind", FORMS)
def test_each_form_has_a_field_that_is_marked_in_words(kind):
    panel = ask("forms", kind)
    slip, sentence = SLIPS[kind]
    said = try_(panel, slip)
    assert "✗</span> Not right yet.</b>" in said
    assert sentence in said
    said = try_(panel, RIGHT[kind])
    assert "✓</span> Right.</b>" in said
    assert f"The answer is {FORMS[kind].written}." in said


def test_every_question_of_every_bank_can_be_answered():
    for lesson in registry.BANKS:
        panel = ask(lesson)
        for n, kind in enumerate(kinds(lesson), 1):
            assert f"Question {n} of {len(kinds(lesson))}<" in panel.heading.value
            assert panel.question.kind == kind
            assert "✓" in try_(panel, panel.question.form.written(panel.question.answer))
            panel.next.click()
        assert panel.question == draw_question(lesson, kinds(lesson)[0])  # round again
        assert own_progress().right()[lesson] == set(kinds(lesson))


def test_the_steps_open_after_a_second_try():
    panel = ask("forms", "length")
    assert panel.show_steps.disabled
    assert "Start here: Add up." in try_(panel, "150")
    assert panel.show_steps.disabled
    try_(panel, "not a number")  # no try
    try_(panel, "")
    assert panel.show_steps.disabled
    assert "The steps can be shown now." in try_(panel, "151")
    panel.show_steps.click()
    assert "<li>120 m + 80 m = 200 m.</li>" in panel.steps.value
    assert "Answer: <b>200 m</b>" in panel.steps.value


def test_the_steps_open_with_a_right_answer():
    panel = ask("forms", "length")
    try_(panel, "200")
    assert not panel.show_steps.disabled


def shown_steps(panel):
    try_(panel, "1"), try_(panel, "2")
    panel.show_steps.click()


def test_steps_that_were_shown_stay_seen_once_around_the_questions():
    panel = ask("forms")
    first = panel.question.kind
    shown_steps(panel)
    for _ in FORMS:
        panel.next.click()
    assert panel.question.kind == first and not panel.steps.value
    assert "does not count yet" in try_(panel, "200")
    last = own_progress().answers()[-1]
    assert (last.kind, last.verdict, last.steps_seen) == (first, "right", True) and own_progress().right() == {}


def test_steps_that_were_shown_stay_seen_when_the_cell_is_run_again_and_for_these_numbers_only():
    shown_steps(ask("forms", "length"))
    assert "does not count yet" in try_(ask("forms", "length"), "200")
    assert "does not count yet" not in try_(ask("forms", "length", seed=77), "200")
    assert own_progress().right() == {"forms": {"length"}}


def test_steps_shown_behind_a_right_answer_take_nothing_back():
    panel = ask("forms", "length")
    try_(panel, "200")
    panel.show_steps.click()
    assert [answer.verdict for answer in own_progress().answers()] == ["right"]
    assert "does not count yet" not in try_(ask("forms", "length"), "200")


def test_a_right_answer_after_the_steps_does_not_count():
    panel = ask("forms", "length")
    try_(panel, "1"), try_(panel, "2")
    panel.show_steps.click()
    assert "does not count yet: take another question" in try_(panel, "200")
    assert own_progress().right() == {}
    panel.another.click()
    assert (panel.steps.value, panel.show_steps.disabled) == ("", True)
    try_(panel, "200")
    assert own_progress().right() == {"forms": {"length"}}


def test_another_question_has_other_numbers_and_an_empty_field():
    panel = ask("addresses", "dip-read")
    try_(panel, "1")
    texts = []
    for seed in (1, 2, 3):
        assert panel.question == draw_question("addresses", "dip-read", seed)
        assert f"number set {seed}<" in panel.heading.value
        texts.append(panel.text.value)
        panel.another.click()
        assert (panel.field.typed(), panel.said.value, panel.tries) == ("", "", 0)
    assert len(set(texts)) == 3


def test_another_question_of_a_named_seed_keeps_the_name():
    panel = ask("addresses", "dip-read", "Ann")
    panel.another.click()
    assert panel.question == draw_question("addresses", "dip-read", "Ann/1")


def test_tries_are_kept_until_the_first_right_one(own_folder):
    panel = ask("forms", "length")
    for typed in ("long", "150", "280", "200", "150", "200"):
        try_(panel, typed)
    kept = [(a.lesson, a.kind, a.seed, a.typed, a.verdict) for a in Progress(own_folder).answers()]
    assert kept == [
        ("forms", "length", "1", "150", "wrong"),
        ("forms", "length", "1", "280", "slip"),
        ("forms", "length", "1", "200", "right"),
    ]


def test_the_widget_opens_at_the_first_kind_not_yet_right():
    own_progress().record(Attempt("forms", "length", "1", "200", "right"))
    own_progress().record(Attempt("forms", "word", "1", "x", "right"))
    panel = ask("forms")
    assert panel.question.kind == "ends"
    assert "Question 2 of 5" in panel.heading.value
    assert "2 of 5 kinds of question" in panel.note.value
    try_(panel, "at both ends")
    assert "3 of 5 kinds of question" in panel.note.value


def test_opening_leaves_no_trace(own_folder):
    ask("addresses")
    assert list(own_folder.iterdir()) == []


def test_enter_in_the_field_checks():
    panel = ask("forms", "length")
    fill(panel, "280")
    panel.field.widgets[0]._handle_custom_msg({"event": "submit"}, [])
    assert "Counted twice." in panel.said.value


def test_how_a_text_was_read_is_shown_where_it_differs():
    panel = ask("forms", "length")
    assert "(Read as 1.5 m.)" in try_(panel, "1,500")
    assert "Read as" not in try_(panel, "150 m")


def test_switches_show_their_place_and_position_in_words():
    panel = ask("forms", "switches")
    assert panel.field.typed() == "000"
    places = [box.children[1] for box in panel.field.widgets]
    places[1].value = True
    assert [place.description for place in places] == ["0", "1", "0"]
    assert [place.tooltip for place in places] == ["S1: 0", "S2: 1", "S3: 0"]
    assert [box.children[0].value for box in panel.field.widgets] == ["S1", "S2", "S3"]


def test_a_choice_that_comes_just_after_the_click_counts():
    """Two choices and a click in quick succession: the browser may send the second choice after the click."""
    kind = next(k for k in kinds("faults") if isinstance(draw_question("faults", k).form, Choice))

    async def hurry():
        panel = ask("faults", kind)
        fill(panel, panel.question.slips[0].answer)
        panel.check.click()
        fill(panel, panel.question.answer)
        await asyncio.sleep(0.3)
        return panel

    assert "Right" in asyncio.run(hurry()).said.value


def test_an_unanswered_choice_is_no_try():
    panel = ask("forms", "ends")
    panel.check.click()
    assert "Nothing is filled in yet" in panel.said.value
    assert panel.tries == 0


def test_what_is_shown_is_never_read_as_html():
    panel = ask("forms", "length")
    said = try_(panel, "<script>alert(1)</script>")
    assert "<script>" not in said
    assert "&lt;script&gt;" in said
    assert "A &lt; B" in panel.text.value
    assert "in m?<br>Add" in panel.text.value


def test_trouble_with_the_file_is_shown_and_the_answer_counts(own_folder):
    panel = ask("forms", "length")
    (own_folder / FILE).mkdir()
    try_(panel, "200")
    assert "1 answer is kept in memory" in panel.note.value
    assert own_progress().right() == {"forms": {"length"}}
    (own_folder / FILE).rmdir()
    panel.another.click()
    try_(panel, "280")
    assert "kept in memory" not in panel.note.value
    assert len(Progress(own_folder).answers()) == 2


def test_a_damaged_file_found_at_opening_is_told(own_folder):
    (own_folder / FILE).write_bytes(b"no database" * 100)
    assert "was damaged. It is kept as" in ask("forms").note.value


def test_a_failure_of_the_workbook_is_shown_in_the_widget(monkeypatch, caplog):
    panel = ask("forms", "length")

    def broken(*_):
        raise ZeroDivisionError("a < b")

    monkeypatch.setattr(module, "mark", broken)
    said = try_(panel, "200")
    assert "The workbook itself failed here" in said
    assert "ZeroDivisionError: a &lt; b" in said
    assert caplog.records == []  # ipywidgets would only have logged it


def test_what_the_notebook_stores_is_the_same_at_every_run(own_folder):
    def stored():
        bundle = ask("addresses")._repr_mimebundle_()
        return bundle["text/plain"], bundle["text/html"]

    first = stored()
    own_progress().record(Attempt("addresses", kinds("addresses")[0], "1", "x", "right"))
    sqlite3.connect(own_folder / FILE).close()
    assert stored() == first
    panel = ask("addresses")
    panel.next.click(), panel.another.click(), try_(panel, "5")
    bundle = panel._repr_mimebundle_()
    assert (bundle["text/plain"], bundle["text/html"]) == first
    assert bundle["application/vnd.jupyter.widget-view+json"]["model_id"]


def test_a_reader_without_a_kernel_sees_all_questions_and_how_to_start():
    html = ask("forms")._repr_mimebundle_()["text/html"]
    assert "<b>5 questions</b>, number set 1" in html
    assert html.count("<li><p") == 5
    assert "<li>nowhere</li>" in html  # the options of a choice
    assert "Run the cell (click in it, then Shift+Enter)" in html
    assert "Answer:" not in html
    assert ask("forms", "word")._repr_mimebundle_()["text/plain"] == "Question: Which word, in hexadecimal?"


def test_one_kind_has_no_next_question():
    buttons = [w.description for w in ask("forms", "length").children[3].children]
    assert buttons == ["Check", "Show the steps", "Another question"]
    assert [w.description for w in ask("forms").children[3].children][-1] == "Next question"
