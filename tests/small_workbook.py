"""A workbook that needs few packages, to set up really; and the whole one, for evidence."""

import contextlib
import shutil
import subprocess
import sys
import sysconfig
from functools import cache
from pathlib import Path

from helpers.opening import ROOT
from helpers.setting_up import venv_python

SET_UP = ("start.py", "setting_up.py", "opening.py", "one_at_a_time.py", "pyproject.toml", "constraints.txt")


def said(*command, **more):
    return subprocess.run([str(part) for part in command], capture_output=True, text=True, **more)


def small_workbook(root):
    """What sets up, and of the packages two: the helpers, which say that they are there, and a small one."""
    (root / "helpers").mkdir()
    for name in SET_UP:
        shutil.copy(ROOT / "helpers" / name, root / "helpers")
    packages = ["helpers", *(path.parent.name for path in (ROOT / "helpers").glob("*/__init__.py"))]
    for package in packages:
        folder = root / "helpers" / package if package != "helpers" else root / "helpers"
        folder.mkdir(exist_ok=True)
        (folder / "__init__.py").write_text("HERE = True\n")
    text = (ROOT / "helpers" / "pyproject.toml").read_text(encoding="utf-8")
    few = ", ".join(f'"{name}"' for name in ["helpers", *(f"helpers.{p}" for p in packages[1:])])
    head = text[: text.index("packages = [")]
    (root / "helpers" / "pyproject.toml").write_text(f"{head}packages = [{few}]\n", encoding="utf-8")
    # The first two lines as they stand, and one small package instead of all.
    lines = (ROOT / "requirements.txt").read_text(encoding="utf-8").splitlines()
    kept = [line for line in lines if line.startswith(("-c", "-e", "lark"))]
    assert len(kept) == 3
    (root / "requirements.txt").write_text("\n".join(kept) + "\n")
    return root


def whole_workbook(root):
    """A copy of what belongs to the workbook itself, without any environment."""
    for name in ("helpers", "data", "workbook", ".jupyter"):
        shutil.copytree(
            ROOT / name, root / name, ignore=shutil.ignore_patterns("__pycache__", "*.egg-info", "my-notes")
        )
    shutil.copy(ROOT / "requirements.txt", root)
    return root


NOBODY_ELSE = {"user": 54321, "group": 54321, "extra_groups": []}  # of whom nothing is known on this computer


@cache
def base_python():
    """A Python of this version outside any environment: one that other users may run, if root looks for it."""
    own = getattr(sys, "_base_executable", sys.executable)
    asked = "import sys, venv; print(sys.version_info[:2])"
    for python in (own, *filter(None, [shutil.which("python3", path="/usr/local/bin:/usr/bin")])):
        with contextlib.suppress(OSError):  # subprocess can't even begin what a user may not run
            if said(python, "-c", asked, **NOBODY_ELSE).stdout.strip() == str(sys.version_info[:2]):
                return python
    return own


def ready_workbook(root):
    """A small workbook whose environment has all that the checks have: set up in a moment, and JupyterLab starts."""
    small_workbook(root)
    shutil.copytree(ROOT / ".jupyter", root / ".jupyter")
    (root / "workbook").mkdir()
    shutil.copy(ROOT / "workbook" / "start-here.ipynb", root / "workbook")
    venv = root / ".venv"
    assert said(base_python(), "-m", "venv", "--without-pip", venv).returncode == 0
    python = venv_python(venv)
    places = [sysconfig.get_path("purelib"), said(python, "-c", "import site; print(site.getsitepackages()[0])").stdout]
    (Path(places[1].strip()) / "those-of-the-checks.pth").write_text(f"{places[0]}\n")
    (venv / "share").symlink_to(Path(sys.prefix) / "share")
    stamp = said(python, "-c", "from helpers.setting_up import wanted; print(wanted(), end='')", cwd=root)
    (venv / "installed-from").write_text(stamp.stdout)
    return root
