"""Opens JupyterLab on the workbook, once for each user, with a home of its own. Standard library only.

What JupyterLab writes lies in the user's own data folder, so that one installation, read-only too, serves all users of
a computer, and nothing of a user's own configuration is read or changed. A start that finds the user's JupyterLab
running shows it again.
"""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import time
import urllib.request
import webbrowser
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from helpers.one_at_a_time import alone

ROOT = Path(__file__).resolve().parent.parent
WORKBOOK = ROOT / "workbook"
FIRST_PAGE = "start-here.ipynb"
# The folder for a learner's own changed copies of pages; git and all checks ignore it.
OWN_NOTES = "my-notes"
# The user's own settings for Python or Jupyter that would affect the workbook.
NOT_OURS = ("JUPYTER_PATH", "PYTHONPATH", "PYTHONHOME", "PYTHONSTARTUP", "MPLBACKEND", "MATPLOTLIBRC")
_DATA_FOLDER = "import platformdirs; print(platformdirs.user_data_dir('fieldbus-workbook', appauthor=False))"
NO_BROWSER = "--no-browser"
_PATIENCE_S = 20  # for JupyterLab to end in order
_ANSWER_S = 10  # for a JupyterLab that runs to say so; one that was killed is refused at once


def clean_environment() -> dict[str, str]:
    """The environment for a program that is started, without the user's settings for Python and Jupyter."""
    return {name: value for name, value in os.environ.items() if name not in NOT_OURS}


def lab_environment(home: Path) -> dict[str, str]:
    """The environment for JupyterLab: reads the workbook's `.jupyter`, writes to `home`, nothing of the user's."""
    return clean_environment() | {
        "JUPYTER_CONFIG_PATH": str(ROOT / ".jupyter"),
        "JUPYTER_PREFER_ENV_PATH": "1",
        "JUPYTER_CONFIG_DIR": str(home / "config"),
        "JUPYTER_DATA_DIR": str(home / "data"),
        "JUPYTER_RUNTIME_DIR": str(home / "runtime"),
        "JUPYTERLAB_SETTINGS_DIR": str(home / "settings"),
        "JUPYTERLAB_WORKSPACES_DIR": str(home / "workspaces"),
        "IPYTHONDIR": str(home / "ipython"),
        "MPLCONFIGDIR": str(home / "matplotlib"),
    }


def lab_command(python: Path, workbook: Path) -> list[str]:
    """The command that opens JupyterLab at the first page, one document in view."""
    return [
        str(python),
        "-m",
        "jupyterlab",
        f"--ServerApp.root_dir={workbook}",
        f"--LabApp.default_url=/doc/tree/{FIRST_PAGE}",
        # The script that refuses too large uploads in words.
        f"--LabApp.extra_labextensions_path={ROOT / '.jupyter' / 'labextensions'}",
        "--log-level=ERROR",  # the address to open is printed all the same
    ]


def own_home(python: Path) -> Path:
    """Where the JupyterLab of this copy of the workbook writes for this user; ends with a sentence if it can't be."""
    command = [str(python), "-X", "utf8", "-c", _DATA_FOLDER]
    completed = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", env=clean_environment())
    if completed.returncode:
        sys.exit(
            f"The packages are damaged; delete the folder {python.parent.parent} and start again.\n{completed.stderr}"
        )
    copy = hashlib.sha256(str(ROOT).encode()).hexdigest()[:8]
    home = Path(completed.stdout.strip()) / "lab" / copy
    try:
        (home / "runtime").mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        sys.exit(f"The workbook needs a folder of your own, and {home} can't be made: {error.strerror}.")
    return home


def open_lab(python: Path, arguments: list[str]) -> int:
    """Opens JupyterLab and stays until it is stopped; shows the one that runs already, if there is one."""
    home = own_home(python)
    with alone(home / "lock", "Another start is opening the workbook. This one waits for it."):
        if running := running_at(home):
            print(f"The workbook is open already. In your browser: {running}", flush=True)
            if not set(arguments) - {NO_BROWSER, "--allow-root"}:
                if NO_BROWSER not in arguments:
                    webbrowser.open(running)
                return 0
            print("Another one is opened, as you asked.", flush=True)
        _make_notes()
        print(
            "Opening the workbook in your browser. Keep this window open; Ctrl+C here stops the workbook.", flush=True
        )
        before = _written(home)
        process = subprocess.Popen([*lab_command(python, WORKBOOK), *arguments], env=lab_environment(home))
        with ending_with_us(process):
            while process.poll() is None and not any(_answering(file) for file, _ in _written(home) - before):
                time.sleep(0.1)
    with ending_with_us(process):
        return process.wait()


@contextmanager
def ending_with_us(process: subprocess.Popen[bytes]) -> Iterator[None]:
    """A program that is told to end when this one is; it has heard Ctrl+C itself, and only takes its time."""
    try:
        yield
    except KeyboardInterrupt:
        process.wait()
    except BaseException:
        process.terminate()
        try:
            process.wait(_PATIENCE_S)
        except subprocess.TimeoutExpired:
            process.kill()
        raise


def running_at(home: Path) -> str:
    """The address of the first page in a JupyterLab of this user that answers; empty if none does."""
    return next(filter(None, map(_answering, _servers(home))), "")


def _answering(file: Path) -> str:
    """The address of the first page, if the JupyterLab that wrote this file answers; else empty."""
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    try:
        server = json.loads(file.read_text(encoding="utf-8"))
        address, token = str(server["url"]), str(server["token"])
        request = urllib.request.Request(f"{address}api/status", headers={"Authorization": f"token {token}"})
        with opener.open(request, timeout=_ANSWER_S):
            return f"{address}doc/tree/{FIRST_PAGE}?token={token}"
    except (OSError, ValueError, KeyError, TypeError):
        return ""  # the server was killed and left its file behind, or it is not ready yet


def _servers(home: Path) -> list[Path]:
    """What each running JupyterLab tells about itself; one that was killed leaves it behind."""
    return sorted((home / "runtime").glob("jpserver-*.json"))


def _written(home: Path) -> set[tuple[Path, int]]:
    """These files with their times: process numbers, and so file names, are used again."""
    return {(file, file.stat().st_mtime_ns) for file in _servers(home) if file.exists()}


def _make_notes() -> None:
    notes = WORKBOOK / OWN_NOTES
    with suppress(OSError):
        notes.mkdir(exist_ok=True)
    if not os.access(notes, os.W_OK):
        print(
            f"You may not write in {WORKBOOK}. Pages can be run and changed, but not saved there; for a copy of your "
            "own use File, Download. Your answers are kept in your own folder."
        )
