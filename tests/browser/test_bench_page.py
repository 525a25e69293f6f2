"""The bench in a browser: time goes on, the kernel answers meanwhile, a fault is put in and a reading is taken."""

import re
import time

import pytest
from browser.lab import FAILED_HERE
from playwright.sync_api import expect

from helpers.line.faults.catalogue import FAULTS
from helpers.line.instruments.reading import instrument
from helpers.panels.bench.bench_tools import BUS_WORDS

pytestmark = pytest.mark.browser

NONSENSE = "fifteen-ish, ask Tom"
PANEL = "from helpers.panels.bench.bench import bench_panel\nbench_panel()"
ASK = "import time\nprint('answered', 6 * 7)"


def seconds(lab):
    return float(re.search(r"([\d.]+) s since the supplies", " ".join(lab.output_texts()))[1])


def test_the_line_runs_while_another_cell_answers(lab, made_up):
    lab.open(made_up("bench", [PANEL], [ASK]))
    lab.run_all()
    lab.shows("9 wait for parameters")
    assert seconds(lab) == 0
    pane = lab.notebook.locator(".widget-toggle-buttons button")
    lab.notebook.locator("button.widget-toggle-button", has_text=re.compile(r"^\s*Run\s*$")).click()
    lab.shows("9 exchange data")
    before = seconds(lab)
    lab.page.wait_for_timeout(600)
    assert seconds(lab) > before > 0

    cell = lab.notebook.locator(".jp-CodeCell", has_text="answered").first
    cell.locator(".cm-content").click()
    begun = time.monotonic()
    number = cell.locator(".jp-InputPrompt").first
    was = number.inner_text()
    lab.page.keyboard.press("Control+Enter")
    expect(number).not_to_have_text(was)
    print(f"another cell answered after {time.monotonic() - begun:.2f} s while the line ran")

    lab.choose("fault", FAULTS[0].name)
    lab.press("Put it in")
    lab.shows(f"{FAULTS[0].name}: plug of")
    lab.screenshot("bench-fault")
    pane.filter(has_text="Measure").click()
    volts = instrument("volts")
    lab.choose("instrument", f"{volts.name} – {volts.minutes:g} min, {BUS_WORDS[volts.bus]}")
    lab.press("Take reading")
    lab.shows("B against A")
    lab.screenshot("bench-reading")
    pane.filter(has_text="Words").click()
    lab.choose("station", "Dryer fan 1")
    lab.shows("STW1, control word 1")
    for label in ("write to", "value"):
        lab.type_in(label, NONSENSE)
        lab.press("Write")
        lab.shows("Not usable")
    lab.choose("station", "an address of no station")
    lab.type_in("words", NONSENSE)
    lab.shows("Not usable")
    pane.filter(has_text="Front").click()
    lab.press("Local")
    lab.shows("come from the panel now")
    lab.screenshot("bench-front")
    assert FAILED_HERE not in " ".join(lab.output_texts())
    assert lab.errors == lab.asked_outside == lab.error_outputs() == []
