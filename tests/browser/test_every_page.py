"""Every notebook of the workbook in a real browser: it opens with sense, runs, answers, and hides no error."""

import os
import re

import pytest
from browser.lab import FAILED_HERE
from playwright.sync_api import expect
from store_outputs import notebooks

from helpers.opening import FIRST_PAGE, WORKBOOK
from helpers.study.banks.registry import BANKS, draw_question
from helpers.study.forms import Bits, Choice
from helpers.study.lessons import LESSONS
from helpers.study.marking import Verdict, mark

pytestmark = pytest.mark.browser

PAGES = [path.relative_to(WORKBOOK).as_posix() for path in notebooks()]


def panels_of(page):
    """The panels that a page shows."""
    return set(re.findall(r"\b(\w+_panel)\(", (WORKBOOK / page).read_text(encoding="utf-8")))


# A visit costs ten seconds. A what-if page that shows nothing but panels of lessons is visited only when it is asked
# for: WORKBOOK_EVERY_PAGE=1 in front of pytest. nbval runs its cells all the same.
IN_LESSONS = set().union(*(panels_of(page) for page in PAGES if page.startswith("lessons/")))
EVERY = bool(os.environ.get("WORKBOOK_EVERY_PAGE"))
VISITED = [page for page in PAGES if EVERY or not page.startswith("what-if/") or panels_of(page) - IN_LESSONS]
ASKING = {lesson.file: lesson for lesson in LESSONS if lesson.key in BANKS}
# The lessons in which this process has given a right answer; several processes share the pages among them.
answered = []
NONSENSE = "fifteen-ish, ask Tom"


def name_of(page):
    return page.removesuffix(".ipynb").replace("/", "-")


def move_slider(lab):
    handle = lab.notebook.locator(".widget-slider .noUi-handle").first
    if handle.count():
        before = handle.get_attribute("aria-valuenow")
        handle.focus()
        key = "ArrowLeft" if before == handle.get_attribute("aria-valuemax") else "ArrowRight"
        handle.press(key)
        expect(handle).not_to_have_attribute("aria-valuenow", before)
    return handle.count()


def choose_another(lab):
    options = lab.notebook.locator(".widget-dropdown select").first
    if options.count():
        before = options.input_value()
        options.select_option(index=options.locator("option").count() - 1)
        if options.locator("option").count() > 1:
            assert options.input_value() != before
    return options.count()


def type_nonsense(lab):
    line = lab.notebook.locator(".widget-text input[type=text]").first
    if line.count():
        line.fill(NONSENSE)
        line.press("Enter")
        expect(line).to_have_value(NONSENSE)
    return line.count()


@pytest.mark.parametrize("page", VISITED, ids=name_of)
def test_opens_runs_and_answers(page, lab, request):
    lab.open(page)
    lab.screenshot(f"{name_of(page)}-opened")
    assert "Error displaying widget" not in " ".join(lab.output_texts())
    lab.run_all()
    if page in ASKING:
        answer_a_question(ASKING[page], lab)
    if request.config.getoption("--screens", default=False):
        lab.screenshots(name_of(page))
    else:
        lab.to_top()
        lab.screenshot(name_of(page))
    source = (WORKBOOK / page).read_text(encoding="utf-8")
    assert len(lab.error_outputs()) == source.count('"raises-exception"'), lab.error_outputs()
    broken = "pictures => pictures.filter(p => !p.complete || !p.naturalWidth).map(p => p.outerHTML.slice(0, 200))"
    assert lab.notebook.locator("img").evaluate_all(broken) == []
    for use in (move_slider, choose_another, type_nonsense):
        if use(lab):
            lab.wait_idle()
    lab.screenshot(f"{name_of(page)}-used")
    shown = " ".join(lab.output_texts())
    assert FAILED_HERE not in shown
    assert "Error displaying widget" not in shown
    assert lab.errors == lab.asked_outside == []


def fill_in(lab, question, value):
    """Gives an answer as the form of the question asks for it, and has it marked."""
    widget = lab.asking()
    if isinstance(question.form, Choice):
        widget.locator("label", has_text=re.compile(rf"^\s*{re.escape(value)}\s*$")).click()
    elif isinstance(question.form, Bits):
        for place, bit in zip(widget.locator(".widget-toggle-button").all(), value, strict=True):
            if place.inner_text().strip() != bit:
                place.click()
    else:
        widget.locator(".widget-text input").fill(question.form.written(value))
        widget.locator(".widget-text input").blur()
    lab.press("Check")


def plain(sentence):
    return " ".join(sentence.split())


def answer_a_question(lesson, lab):
    """A slip is corrected, and the right answer is taken."""
    lab.asking().scroll_into_view_if_needed()
    expect(lab.asking()).to_contain_text(re.compile(r"Question \d+ of"))
    heading = plain(lab.asking().inner_text())
    kind = list(BANKS[lesson.key])[int(re.search(r"Question (\d+) of", heading)[1]) - 1]
    question = draw_question(lesson.key, kind)
    slip = question.slips[0]
    assert mark(question, question.form.written(slip.answer)).verdict is Verdict.SLIP
    fill_in(lab, question, slip.answer)
    lab.shows(slip.sentence)
    lab.screenshot(f"{name_of(lesson.file)}-slip")
    fill_in(lab, question, question.answer)
    lab.shows(f"Right. The answer is {question.written}")
    lab.screenshot(f"{name_of(lesson.file)}-right")
    answered.append(lesson.key)


def test_right_answers_count_on_the_first_page(lab):
    lab.open(FIRST_PAGE)
    lab.run_all()
    shown = plain(" ".join(lab.output_texts()))
    every = sum(int(count) for count in re.findall(r"\ball (\d+) kinds of question right", shown))
    assert every + sum(int(count) for count in re.findall(r"(\d+) of \d+ kinds of question right", shown)) == len(
        answered
    )
    lab.to_top()
    lab.screenshot("progress")
