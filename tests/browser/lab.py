"""JupyterLab, started as start.py starts it, and a headless Chromium that looks at it.

To look at a panel while you write it, before any notebook holds it (each text is one cell):

    python tests/browser/lab.py "from helpers.panels.drive.words import read_word" "read_word()"

The screenshots go to `.screenshots/`: as opened, and after Run All from top to bottom. To see every screen of a
notebook that exists:

    python -m pytest tests/browser -k addresses --screens
"""

from __future__ import annotations

import json
import os
import re
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import nbformat
from playwright.sync_api import Browser, ConsoleMessage, Locator, Request, expect, sync_playwright

from helpers.opening import FIRST_PAGE, OWN_NOTES, ROOT, WORKBOOK, lab_command, lab_environment

SCREENSHOTS = ROOT / ".screenshots"
SCREEN = {"width": 1366, "height": 768}
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
# Without these Chromium asks its maker for news, and does not run as root or without a graphics card.
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update"]
PATIENCE_MS = 60_000
# What a panel says when its own code fails in a callback; see helpers/panels/kit/panel.py.
FAILED_HERE = "The workbook itself failed here"


def free_port() -> int:
    """A port that no program listens on now."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


@contextmanager
def served(workbook: Path, home: Path) -> Iterator[str]:
    """JupyterLab over a folder of notebooks; yields its address.

    `home` takes all that JupyterLab and its kernels write, a learner's progress and the user's home included.
    """
    port = free_port()
    address = f"http://127.0.0.1:{port}"
    for folder in ("progress", "user"):
        (home / folder).mkdir(parents=True, exist_ok=True)
    surroundings = lab_environment(home / "lab") | {"WORKBOOK_PROGRESS": str(home / "progress")}
    surroundings |= {"HOME": str(home / "user"), "USERPROFILE": str(home / "user")}
    command = [*lab_command(Path(sys.executable), workbook), "--no-browser", "--allow-root", f"--port={port}"]
    command += ["--IdentityProvider.token=", "--ServerApp.disable_check_xsrf=True", "--ServerApp.port_retries=0"]
    log = home / "lab.log"
    with log.open("w") as file:
        server = subprocess.Popen(command, env=surroundings, stdout=file, stderr=subprocess.STDOUT)
    try:
        for _ in range(600):
            if server.poll() is not None:
                raise RuntimeError(f"JupyterLab ended at once:\n{log.read_text()}")
            try:
                urllib.request.urlopen(f"{address}/api/status", timeout=5).close()
                break
            except OSError:
                time.sleep(0.1)
        else:
            raise RuntimeError(f"JupyterLab does not answer:\n{log.read_text()}")
        yield address
    finally:
        server.terminate()
        try:
            server.wait(20)
        except subprocess.TimeoutExpired:
            server.kill()
            server.wait()


@contextmanager
def chromium() -> Iterator[Browser]:
    """A headless Chromium."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


def copy_of_workbook(place: Path) -> Path:
    """A copy to run: no test changes a notebook of the workbook itself."""
    copy = place / "workbook"
    shutil.copytree(WORKBOOK, copy, ignore=shutil.ignore_patterns(".ipynb_checkpoints", OWN_NOTES))
    return copy


class Lab:
    """One page of JupyterLab: what a learner does there, and what goes wrong that a learner may not see."""

    def __init__(self, browser: Browser, address: str) -> None:
        # One context for all pages: what JupyterLab has loaded once need not be loaded and compiled again.
        context = browser.contexts[0] if browser.contexts else browser.new_context(viewport=SCREEN)
        self.page, self.address = context.new_page(), address
        self.page.set_default_timeout(PATIENCE_MS)
        self.errors: list[str] = []
        self.asked_outside: list[str] = []
        self.notebook = self.page.locator(".jp-NotebookPanel:not(.lm-mod-hidden)")
        self.page.on("pageerror", lambda error: self.errors.append(f"page: {error}"))
        self.page.on("console", self._said)
        self.page.on("request", self._asked)

    def _said(self, message: ConsoleMessage) -> None:
        if message.type == "error":
            self.errors.append(f"console: {message.text}")

    def _asked(self, request: Request) -> None:
        if not request.url.startswith((self.address, self.address.replace("http", "ws", 1), "data:", "blob:")):
            self.asked_outside.append(request.url)

    def close(self) -> None:
        """Leaves the page and ends its kernels, so that the next notebook has the machine to itself."""
        self.page.close()
        for session in self._sessions():
            request = urllib.request.Request(f"{self.address}/api/sessions/{session['id']}", method="DELETE")
            urllib.request.urlopen(request).close()

    def _sessions(self) -> list[dict[str, Any]]:
        """What the server knows of open notebooks and their kernels."""
        with urllib.request.urlopen(f"{self.address}/api/sessions") as answer:
            found: list[dict[str, Any]] = json.load(answer)
        return found

    def _kernel_idle(self) -> bool:
        # The page shows "idle" even while it is still waiting for its kernel, so the server is asked too.
        path = unquote(self.page.url).partition("/doc/tree/")[2]
        kernels = [session["kernel"] for session in self._sessions() if session["path"] == path]
        return any(kernel["execution_state"] == "idle" and kernel["connections"] for kernel in kernels)

    # -- the notebook -----------------------------------------------------------------------------

    def open(self, notebook: str = "") -> None:
        """Opens a notebook, given by its path below the workbook; without one, what the learner sees first."""
        self.page.goto(f"{self.address}/doc/tree/{notebook}" if notebook else self.address)
        self.wait_idle()

    def run_all(self) -> None:
        """Run > Run All Cells, and waits until all have run."""
        self.page.get_by_role("menuitem", name="Run", exact=True).click()
        self.page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
        self.wait_idle()

    def wait_idle(self) -> None:
        """Waits until the kernel is at rest and no cell is waiting to be run."""
        idle = self.notebook.locator('.jp-Notebook-ExecutionIndicator[data-status="idle"]')
        quiet = 0
        deadline = time.monotonic() + PATIENCE_MS / 1000
        while quiet < 3:  # between two cells the kernel is idle for a moment
            if time.monotonic() > deadline:
                raise TimeoutError("the notebook did not come to rest")
            self.page.wait_for_timeout(100)
            waiting = self.notebook.locator(".jp-InputPrompt", has_text="[*]").count()
            quiet = quiet + 1 if idle.count() and not waiting and self._kernel_idle() else 0

    def output_texts(self) -> list[str]:
        """The text of each output, errors included, as it can be read on the page."""
        return self.notebook.locator(".jp-OutputArea-output").all_inner_texts()

    def error_outputs(self) -> list[str]:
        """The outputs that are errors or warnings, those of cells that are meant to raise included."""
        return self.notebook.locator('.jp-OutputArea-output[data-mime-type$="stderr"]').all_inner_texts()

    def shows(self, text: str) -> None:
        """Waits until a text stands in an output; an AssertionError if it does not come."""
        words = re.compile(r"\s+".join(map(re.escape, text.split())))
        expect(self.notebook.locator(".jp-OutputArea-output", has_text=words).first).to_be_visible(timeout=15_000)

    # -- controls ---------------------------------------------------------------------------------

    def control(self, kind: str, label: str, nth: int = 0) -> Locator:
        """A widget by its kind (`text`, `dropdown`, `slider`, `checkbox` …) and the label before it."""
        labelled = self.page.locator(".widget-label", has_text=label)
        return self.notebook.locator(f".widget-{kind}").filter(has=labelled).nth(nth)

    def asking(self) -> Locator:
        """The first output that holds a question: the one with a button Check."""
        check = self.page.locator("button.jupyter-button", has_text=re.compile(r"^\s*Check\s*$"))
        return self.notebook.locator(".jp-OutputArea-output", has=check).first

    def press(self, label: str, nth: int = 0) -> None:
        """Presses a panel's button."""
        name = re.compile(rf"^\s*{re.escape(label)}\s*$")
        self.notebook.locator("button.jupyter-button", has_text=name).nth(nth).click()

    def type_in(self, label: str, text: str, nth: int = 0) -> None:
        """Fills a text field and presses Enter."""
        line = self.control("text", label, nth).locator("input")
        line.fill(text)
        line.press("Enter")

    def choose(self, label: str, option: str, nth: int = 0) -> None:
        """Chooses in a drop-down list."""
        self.control("dropdown", label, nth).locator("select").select_option(label=option)

    def slide(self, label: str, steps: int, nth: int = 0) -> None:
        """Moves a slider with the arrow keys, to the right or (negative steps) to the left."""
        handle = self.control("slider", label, nth).locator(".noUi-handle").first
        handle.focus()
        for _ in range(abs(steps)):
            handle.press("ArrowRight" if steps > 0 else "ArrowLeft")

    # -- pictures ---------------------------------------------------------------------------------

    def to_top(self) -> Locator:
        """Scrolls the notebook to its first cell; returns the part that scrolls."""
        outer = self.notebook.locator(".jp-WindowedPanel-outer")
        outer.evaluate("panel => panel.scrollTop = 0")
        return outer

    def screenshot(self, name: str) -> Path:
        """The screen as it is, as `.screenshots/NAME.png`."""
        SCREENSHOTS.mkdir(exist_ok=True)
        path = SCREENSHOTS / f"{name}.png"
        self.page.screenshot(path=path)
        return path

    def screenshots(self, name: str) -> list[Path]:
        """Every screen of the notebook from top to bottom, as `.screenshots/NAME-01.png` and so on."""
        for old in SCREENSHOTS.glob(f"{name}-[0-9][0-9].png"):
            old.unlink()
        outer = self.to_top()
        taken = []
        while True:
            self.page.wait_for_timeout(250)
            taken.append(self.screenshot(f"{name}-{len(taken) + 1:02}"))
            at_end = outer.evaluate(
                "panel => { const before = panel.scrollTop; panel.scrollTop += 0.9 * panel.clientHeight;"
                " return panel.scrollTop <= before + 1 }"
            )
            if at_end or len(taken) == 99:
                return taken


def main(cells: list[str]) -> int:
    """Puts the cells into a notebook, runs it and takes the screenshots; prints errors that the page hides."""
    if CHROMIUM is None:
        raise SystemExit("No Chromium was found; on Debian: apt install chromium")
    title = nbformat.v4.new_markdown_cell("# A panel to look at")
    notebook = nbformat.v4.new_notebook(
        cells=[title, *map(nbformat.v4.new_code_cell, cells)],
        metadata={"kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}},
    )
    with tempfile.TemporaryDirectory() as folder:
        workbook = Path(folder) / "workbook"
        workbook.mkdir()
        nbformat.write(notebook, workbook / FIRST_PAGE)
        with served(workbook, Path(folder) / "home") as address, chromium() as browser:
            lab = Lab(browser, address)
            lab.open()
            lab.run_all()
            for path in lab.screenshots("panel"):
                print(path.relative_to(ROOT))
            print("\n".join([*lab.error_outputs(), *lab.errors]) or "no errors")
            lab.close()
    return 0


if __name__ == "__main__":
    os.chdir(ROOT)
    if len(sys.argv) < 2:
        sys.exit(__doc__)
    sys.exit(main(sys.argv[1:]))
