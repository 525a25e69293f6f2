"""How fast a question is drawn, marked and answered in the widget: run with `pytest tests/bench/bench_ask.py`."""

import pytest

from helpers.panels.learning.ask import ask
from helpers.study.banks.registry import draw_question, kinds
from helpers.study.marking import mark
from helpers.study.progress import Attempt, Progress


@pytest.fixture(autouse=True)
def own_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("WORKBOOK_PROGRESS", str(tmp_path))
    return tmp_path


def test_draw_a_question(benchmark):
    benchmark(draw_question, "addresses", "given-twice", 7)


def test_mark_an_answer(benchmark):
    question = draw_question("addresses", "given-twice", 7)
    benchmark(mark, question, "3, 7 to 9")


def test_open_a_lesson_of_questions(benchmark):
    benchmark(ask, "addresses")


def test_check_in_the_widget_with_a_thousand_answers_kept(benchmark, own_folder):
    progress = Progress(own_folder)
    for n in range(1000):
        progress._unwritten.append(Attempt("addresses", kinds("addresses")[n % 5], str(n), "7", "wrong"))
    progress.write()
    panel = ask("addresses", "dip-read")
    panel.field.widgets[0].value = "127"
    benchmark(panel.check.click)
