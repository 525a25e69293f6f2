"""Gets the workbook ready and opens it. Run by start.py, which has made sure of the Python; standard library only.

The packages lie in `.venv`, which one start makes for all users of the folder; deleting it undoes all of it. It can be
interrupted at any moment: an environment counts only when its stamp is written, and one without a stamp is made anew.
What JupyterLab writes lies in the user's own folder (`helpers.opening`).
"""

from __future__ import annotations

import argparse
import hashlib
import importlib.util
import os
import platform
import signal
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO

from helpers.one_at_a_time import alone, handed_on
from helpers.opening import ROOT, clean_environment, open_lab

VENV = ROOT / ".venv"
STAMP = VENV / "installed-from"
LOCK = ROOT / ".venv-lock"
MADE_FOR = "made-for.txt"
# What decides which packages are installed; a change in one of them means: install again.
LISTS = ("requirements.txt", "helpers/constraints.txt", "helpers/pyproject.toml")

NO_INTERNET = (
    "Without a way to the internet, set up from a folder of wheels: "
    "python3 helpers/start.py --wheels FOLDER (README.md tells how to make one)."
)
TRY_AGAIN = "This needs a way to the internet. Run it again where there is one."
OTHER_WHEELS = (
    "In {} a package is missing, or is damaged. Make the folder anew, with this same copy of the workbook, on a "
    "computer with internet and with the same system and Python: python3 helpers/start.py --make-wheels FOLDER."
)

HELP_AFTER = """
examples:
  python3 helpers/start.py                      set up what is missing, then open the workbook
  python3 helpers/start.py --check              only say what is there and what would be done
  python3 helpers/start.py --make-wheels wheels collect every package in the folder wheels, for a stick
  python3 helpers/start.py --wheels wheels      set up from that folder, without any network
  python3 helpers/start.py --port 9000          what is not named above goes on to JupyterLab
On Windows write py helpers\\start.py instead.
"""


def venv_python(venv: Path) -> Path:
    """The Python inside an environment."""
    return venv / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def kind_of(python: Path) -> str:
    """The kind of computer a Python runs on, as wheels are made for it; empty if it does not run or is too old.

    A text like `Linux x86_64, Python 3.11`.
    """
    code = (
        "import platform, sys; assert sys.version_info >= (3, 11);"
        "print(platform.system(), platform.machine() + ', Python %d.%d' % sys.version_info[:2])"
    )
    try:
        completed = subprocess.run([python, "-c", code], capture_output=True, text=True, env=clean_environment())
    except OSError:
        return ""
    return completed.stdout.strip() if completed.returncode == 0 else ""


def wanted() -> str:
    """What an environment that is up to date was made from: the lists of packages, the kind of Python, the place.

    The place counts because the helpers are installed by their path: a moved folder is set up anew.
    """
    digest = hashlib.sha256()
    for name in LISTS:
        digest.update((ROOT / name).read_bytes())
    return f"{digest.hexdigest()}\n{kind_of(venv_python(VENV))}\n{ROOT}\n"


def is_installed() -> bool:
    """True if the packages of the environment are the ones wanted now."""
    return STAMP.is_file() and STAMP.read_text(encoding="utf-8") == wanted()


def make_environment(lock: TextIO) -> None:
    """Makes `.venv`, unless one is there that was set up to the end and whose Python runs and is new enough."""
    if STAMP.is_file() and kind_of(venv_python(VENV)):
        return
    for module in ("venv", "ensurepip"):
        if importlib.util.find_spec(module) is None:
            sys.exit(
                f"This Python cannot make an environment of its own: its module {module} is missing.\n"
                "On Debian or Ubuntu it is a package: sudo apt install python3-venv. Then run this again."
            )
    print(f"Making an environment for Python {platform.python_version()} in {VENV}", flush=True)
    STAMP.unlink(missing_ok=True)
    # The base Python, so that an environment that is run by its own Python can be made anew.
    base = getattr(sys, "_base_executable", sys.executable)
    if subprocess.run([base, "-m", "venv", "--clear", str(VENV)], **handed_on(lock)).returncode:
        sys.exit(f"The environment could not be made in {VENV}; what went wrong stands above.")


def pip(lock: TextIO, advice: str, *arguments: str) -> None:
    """Runs pip in the environment, from the workbook's own folder, and counts packages while it works."""
    command = [str(venv_python(VENV)), "-m", "pip", "--disable-pip-version-check", *arguments]
    # From ROOT: pip takes the path in `-e ./helpers` from where it is run, not from where the list lies.
    process = subprocess.Popen(
        command, cwd=ROOT, env=clean_environment(), stdout=subprocess.PIPE, stderr=subprocess.STDOUT, **handed_on(lock)
    )
    output: list[str] = []
    count = 0
    assert process.stdout is not None
    try:
        for raw in process.stdout:
            line = raw.decode(errors="replace").rstrip()
            output.append(line)
            if line.startswith(("Collecting ", "Processing ", "Obtaining ")):
                count += 1
                print(f"\r  {count} packages found", end="", flush=True)
            elif line.startswith("Installing collected"):
                print("; putting them in place", end="", flush=True)
        print()
        status = process.wait()
    except BaseException:
        process.kill()
        process.wait()
        raise
    if status:
        print("\n".join(output[-15:]))
        sys.exit(f"The packages could not all be had; what pip said stands above.\n{advice}")


def install(wheels: Path | None) -> None:
    """Installs what `requirements.txt` names, from the package index or from a folder of wheels alone."""
    if is_installed():
        return
    with setting_up_alone() as lock:
        if is_installed():  # by the start that was waited for
            return
        make_environment(lock)
        print("Installing the packages (once; about 500 MB on the disk, a minute or more)", flush=True)
        STAMP.unlink(missing_ok=True)
        if wheels is None:
            pip(lock, NO_INTERNET, "install", "-r", "requirements.txt")
        else:
            check_made_for(wheels)
            options = ("--isolated", "--no-index", "--find-links", str(wheels))
            pip(lock, OTHER_WHEELS.format(wheels), "install", *options, "-r", "requirements.txt")
        beside = STAMP.with_name(f"{STAMP.name}.part")
        beside.write_text(wanted(), encoding="utf-8")
        beside.replace(STAMP)


@contextmanager
def setting_up_alone() -> Iterator[TextIO]:
    """Nobody else makes or fills the environment meanwhile; ends with a sentence where this user may not."""
    try:
        LOCK.touch()
    except OSError as error:
        sys.exit(
            f"The workbook is not set up yet, and you may not write in {ROOT} ({error.strerror}).\n"
            "Who may runs this once: python3 helpers/start.py --no-open. Then everybody who can read the folder can "
            "start the workbook."
        )
    with alone(LOCK, "Another start is setting up the workbook here. This one waits for it.") as lock:
        yield lock


def check_made_for(wheels: Path) -> None:
    """Ends with a sentence if the folder holds no wheels, or wheels for another kind of computer."""
    if not any(wheels.glob("*.whl")):
        sys.exit(f"There are no wheels in {wheels}. Make them where there is internet: start.py --make-wheels FOLDER")
    note, here = wheels / MADE_FOR, kind_of(venv_python(VENV))
    made_for = note.read_text(encoding="utf-8").strip() if note.is_file() else here
    if made_for != here:
        sys.exit(f"The wheels in {wheels} are for {made_for}; this computer has {here}.")


def make_wheels(folder: Path) -> None:
    """Collects every package that `install` needs, for computers of this kind."""
    with setting_up_alone() as lock:
        make_environment(lock)
        _collect(folder, lock)


def _collect(folder: Path, lock: TextIO) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    lines = (ROOT / "requirements.txt").read_text(encoding="utf-8").splitlines()
    build = tomllib.loads((ROOT / "helpers/pyproject.toml").read_text(encoding="utf-8"))["build-system"]["requires"]
    # The helpers themselves lie in this folder; only what builds them has to come along.
    named = [line for line in lines if line and line[0] not in "#-"] + build
    kind = kind_of(venv_python(VENV))
    print(f"Collecting the packages for {kind} in {folder}")
    pip(
        lock,
        TRY_AGAIN,
        "download",
        "--only-binary",
        ":all:",
        "-d",
        str(folder),
        "-c",
        "helpers/constraints.txt",
        *named,
    )
    (folder / MADE_FOR).write_text(kind + "\n", encoding="utf-8")
    sizes = [file.stat().st_size for file in folder.glob("*.whl")]
    print(
        f"{len(sizes)} wheels, {sum(sizes) / 1e6:.0f} MB. Take this folder and the workbook's (without .venv) along,\n"
        "and run there: start.py --wheels FOLDER"
    )


def check() -> int:
    """Says what is there and what would be done; 0 if the workbook is ready to open."""
    python = venv_python(VENV)
    kind = kind_of(python)
    ready = bool(kind) and is_installed()
    print(f"This Python:  {platform.python_version()} (needed: 3.11 or newer)")
    print(f"Environment:  {f'{kind}, in {VENV}' if kind else f'none yet; would be made in {VENV}'}")
    print(f"Packages:     {'installed, as the lists ask' if ready else 'would be installed now'}")
    if kind:
        listed = subprocess.run([python, "-m", "pip", "list", "--format", "freeze"], capture_output=True, text=True)
        names = ("jupyterlab==", "ipywidgets==", "numpy==", "pandas==", "matplotlib==")
        print("\n".join("              " + line for line in listed.stdout.splitlines() if line.startswith(names)))
    return 0 if ready else 1


def main(arguments: list[str] | None = None) -> int:
    """Reads the command line and does what it asks; returns the exit status."""
    parser = argparse.ArgumentParser(
        prog="start.py",
        description="Sets up the workbook and opens it.",
        epilog=HELP_AFTER,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        allow_abbrev=False,
    )
    parser.add_argument("--check", action="store_true", help="only say what is there and what would be done")
    parser.add_argument("--no-open", action="store_true", help="set up, but do not open JupyterLab")
    parser.add_argument(
        "--wheels", type=Path, metavar="FOLDER", help="set up from a folder of wheels, without a network"
    )
    parser.add_argument("--make-wheels", type=Path, metavar="FOLDER", help="collect the wheels for such a folder")
    options, passed_on = parser.parse_known_args(arguments)
    if options.check:
        return check()
    if options.make_wheels:
        make_wheels(options.make_wheels.resolve())
        return 0
    install(options.wheels.resolve() if options.wheels else None)
    if options.no_open:
        print("The workbook is set up. Open it with: python3 helpers/start.py")
        return 0
    return open_lab(venv_python(VENV), passed_on)


def _end_in_order() -> None:
    """Told to end, or left by its window, this program ends what it has started too."""
    for name in ("SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        if number and signal.getsignal(number) is not signal.SIG_IGN:
            signal.signal(number, lambda signal_number, _: sys.exit(128 + signal_number))


if __name__ == "__main__":
    _end_in_order()
    try:
        sys.exit(main())
    except KeyboardInterrupt:
        print("\nStopped. The next start goes on.")
        sys.exit(128 + signal.SIGINT)
