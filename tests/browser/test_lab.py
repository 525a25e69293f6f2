"""JupyterLab as the workbook sets it up, and whether the browser tests see what goes wrong."""

import pytest
from playwright.sync_api import expect

pytestmark = pytest.mark.browser

PANEL = """
from helpers.panels.kit import fields
from helpers.panels.kit.panel import Panel
from helpers.answer import Answer
from helpers.written import whole

def answer(devices, spare, note):
    if note == "break":
        raise RuntimeError("planted")
    return Answer(f"{devices} devices and {spare} spare make {devices + spare}. Note: {note}.")

Panel("Sum", {
    "devices": fields.slider("devices", 3, 0, 31),
    "spare": fields.text("spare", "2", whole),
    "note": fields.text("note", "none", str),
}, answer)
"""


@pytest.fixture(scope="module")
def sample(made_up):
    return made_up("sample", ("6 * 7",), (PANEL,), ("1 / 0", "raises-exception"))


def test_first_page_is_the_notebook_alone(lab, made_up, workbook):
    if not (workbook / "start-here.ipynb").exists():
        (workbook / made_up("first", ("1",))).rename(workbook / "start-here.ipynb")
    lab.open()
    assert lab.page.url.endswith("/doc/tree/start-here.ipynb")
    lab.screenshot("first-page")
    expect(lab.page.locator("#jp-left-stack")).to_be_hidden()
    expect(lab.page.locator("#jp-right-stack")).to_be_hidden()
    expect(lab.page.locator(".jp-Dialog")).to_have_count(0)
    expect(lab.page.locator(".Toastify__toast")).to_have_count(0)
    assert lab.errors == lab.asked_outside == []


def test_controls_move_results_follow_and_a_failure_is_seen(lab, sample, home):
    lab.open(sample)
    lab.run_all()
    lab.shows("42")
    lab.shows("3 devices and 2 spare make 5.")
    lab.type_in("spare", "16#0A")
    lab.shows("3 devices and 10 spare make 13.")
    lab.slide("devices", -2)
    lab.shows("1 devices and 10 spare make 11.")
    lab.type_in("note", "cabinet 2")
    lab.shows("Note: cabinet 2.")
    lab.type_in("spare", "many")
    lab.shows("Not usable: 'many' is not a whole number")
    lab.shows("1 devices and 10 spare make 11.")
    lab.type_in("spare", "2")
    lab.type_in("note", "break")
    lab.shows("The workbook itself failed here (RuntimeError: planted)")
    assert len(lab.error_outputs()) == 1, "the planted division"
    assert lab.errors == lab.asked_outside == []

    made = {path.relative_to(home / "user").as_posix() for path in (home / "user").rglob("*")}
    theirs = [name for name in made if any(word in name for word in ("jupyter", "ipython", "matplotlib"))]
    assert theirs == [], "something was written into the user's own configuration"


def test_a_failing_cell_and_a_page_that_asks_outside_are_seen(lab, made_up):
    cells = ("from IPython.display import HTML",), ("HTML('<img src=\"http://nowhere.invalid/a.png\">')",)
    lab.open(made_up("failing", *cells, ("import nothing_of_this_name",)))
    lab.run_all()
    assert "nothing_of_this_name" in lab.error_outputs()[0]
    assert set(lab.asked_outside) == {"http://nowhere.invalid/a.png"}


def test_a_run_is_not_saved_by_itself_and_leaving_asks_nothing(lab, sample, workbook):
    before = (workbook / sample).read_bytes()
    asked = []
    lab.open(sample)
    lab.page.on("dialog", lambda dialog: (asked.append(dialog.message), dialog.accept()))
    lab.run_all()
    lab.page.goto("about:blank")
    assert asked == []
    assert (workbook / sample).read_bytes() == before
