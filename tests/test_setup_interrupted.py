"""A first start that is killed, or begun twice at once, is no harm: the next one works.

A normal run kills one of a small workbook. `WORKBOOK_KILLS=10` in front of pytest kills ten first starts of the whole
workbook, which takes some minutes for each.
"""

import os
import random
import signal
import subprocess
import sys
import time

import pytest
from small_workbook import said, small_workbook, whole_workbook

from helpers.setting_up import venv_python

KILLS = int(os.environ.get("WORKBOOK_KILLS", "0"))

pytestmark = pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL")


@pytest.fixture(scope="module")
def workbook(tmp_path_factory):
    make = whole_workbook if KILLS else small_workbook
    return make(tmp_path_factory.mktemp("a workbook"))


@pytest.fixture(scope="module")
def start(workbook, tmp_path_factory):
    """The command of a first start without a network."""
    wheels = tmp_path_factory.mktemp("wheels")
    made = said(sys.executable, workbook / "helpers" / "start.py", "--make-wheels", wheels)
    assert made.returncode == 0, made.stdout + made.stderr
    return [sys.executable, str(workbook / "helpers" / "start.py"), "--wheels", str(wheels), "--no-open"]


def files(workbook):
    """How far a set-up has come, in files: a moment that does not depend on the speed of the computer."""
    return sum(len(names) for _, _, names in os.walk(workbook / ".venv"))


def works(workbook, start):
    done = said(*start)
    assert done.returncode == 0, done.stdout + done.stderr
    python = venv_python(workbook / ".venv")
    found = said(python, "-c", "import helpers, lark" + ", jupyterlab, pandas, matplotlib" * bool(KILLS))
    assert found.returncode == 0, found.stderr
    assert said(*start[:2], "--check").returncode == 0
    return done


def test_killed_at_any_moment_and_started_again_it_works(workbook, start):
    works(workbook, start)
    whole = files(workbook)
    draw = random.Random(7)
    # The program's own files come last; before them, the environment is made and filled with pip.
    moments = [draw.randrange(whole) for _ in range(KILLS)] or [draw.randrange(whole // 2)]
    for turn, moment in enumerate(moments):
        (workbook / ".venv" / "installed-from").unlink()
        said("rm", "-rf", workbook / ".venv")
        process = subprocess.Popen(start, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True)
        while process.poll() is None and files(workbook) <= moment:
            time.sleep(0.005)
        if turn % 2:
            os.killpg(process.pid, signal.SIGKILL)  # as when the power goes
        else:
            process.kill()  # what it has begun goes on without it for a while
        process.wait()
        print(f"killed at {moment} of {whole} files, {'all' if turn % 2 else 'start.py alone'}")
        works(workbook, start)


def test_two_first_starts_at_once_work(workbook, start):
    said("rm", "-rf", workbook / ".venv")
    two = [subprocess.Popen(start, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True) for _ in range(2)]
    told = [process.communicate()[0] for process in two]
    assert [process.returncode for process in two] == [0, 0], told
    assert sorted("Making an environment" in text for text in told) == [False, True]
    assert sorted("Another start is setting up" in text for text in told) == [False, True]
    works(workbook, start)


def test_told_to_end_while_it_sets_up_it_takes_along_what_it_began(workbook, start):
    said("rm", "-rf", workbook / ".venv")
    with subprocess.Popen(start, stdout=subprocess.PIPE, text=True, start_new_session=True) as process:
        while "Installing" not in process.stdout.readline():
            pass
        process.terminate()
        process.stdout.read()  # ends when the last of the programs has ended that can write to it
    assert process.returncode == 128 + signal.SIGTERM
    assert not (workbook / ".venv" / "installed-from").exists()
    works(workbook, start)
