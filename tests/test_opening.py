"""JupyterLab is opened once for each user, ends with the start, and one read-only copy serves others too."""

import contextlib
import json
import os
import shutil
import signal
import subprocess
import time
import urllib.request

import pytest
from small_workbook import NOBODY_ELSE, base_python, ready_workbook, said

pytestmark = pytest.mark.skipif(os.name == "nt", reason="asks for signals and permissions as Unix has them")

OPEN = ("--no-browser", *(["--allow-root"] if hasattr(os, "getuid") and os.getuid() == 0 else []))
NO_RIGHTS = ["setpriv", "--inh-caps=-all", "--bounding-set=-all"]  # root without them obeys permissions


@pytest.fixture(scope="module")
def workbook(tmp_path_factory):
    return ready_workbook(tmp_path_factory.mktemp("a shared workbook"))


class User:
    """Somebody at this computer, with a home of their own; whatever they started ends with the test."""

    def __init__(self, home, workbook, before=(), **more):
        self.home, self.started, self.more = home, [], more
        self.command = [*before, base_python(), str(workbook / "helpers" / "start.py"), *OPEN]
        kept = {name: value for name, value in os.environ.items() if not name.startswith("XDG_")}
        self.surroundings = kept | {"HOME": str(home), "PYTHONDONTWRITEBYTECODE": "1"}

    def start(self):
        process = subprocess.Popen(self.command, env=self.surroundings, stdout=subprocess.PIPE,
                                   stderr=subprocess.STDOUT, text=True, **self.more)  # fmt: skip
        self.started.append(process)
        return process

    def server(self):
        """What this user's one JupyterLab tells about itself."""
        (told,) = self.home.rglob("jpserver-*.json")
        return json.loads(told.read_text())

    def end(self):
        for process in self.started:
            process.kill()
            process.wait()
            process.stdout.close()
        for told in self.home.rglob("jpserver-*.json"):
            with contextlib.suppress(ProcessLookupError):
                os.kill(json.loads(told.read_text())["pid"], signal.SIGKILL)


@pytest.fixture
def user(workbook, tmp_path):
    somebody = User(tmp_path, workbook)
    yield somebody
    somebody.end()


def until(process, text):
    """What a start says, up to a text."""
    said_so_far = ""
    while text not in said_so_far:
        line = process.stdout.readline()
        assert line, said_so_far
        said_so_far += line
    return said_so_far


def answers(server):
    address, rights = f"{server['url']}api/status", {"Authorization": f"token {server['token']}"}
    try:
        with urllib.request.urlopen(urllib.request.Request(address, headers=rights), timeout=60) as answer:
            return answer.status == 200
    except OSError as error:
        print(error)
        return False


def comes_up(server):
    """True as soon as it answers: it tells its address a little before."""
    return any(answers(server) or time.sleep(0.1) for _ in range(600))


def test_two_starts_at_once_open_one_jupyterlab_and_it_ends_with_its_start(user):
    two = [user.start(), user.start()]
    while all(process.poll() is None for process in two):
        time.sleep(0.1)
    second, first = sorted(two, key=lambda process: process.poll() is None)
    told = second.stdout.read()
    assert "The workbook is open already. In your browser: http" in told
    server = user.server()
    assert f"token={server['token']}" in told and answers(server)
    first.terminate()
    assert first.wait() == 128 + signal.SIGTERM
    assert not answers(server)
    with pytest.raises(ProcessLookupError):
        os.kill(server["pid"], 0)


def test_a_jupyterlab_that_lost_its_start_is_shown_and_one_that_was_killed_is_not(user):
    first = user.start()
    until(first, "token=")
    server = user.server()
    first.kill()
    first.wait()
    assert comes_up(server), "nobody told it to end"
    second = user.start()
    assert second.wait() == 0 and f"token={server['token']}" in second.stdout.read()
    os.kill(server["pid"], signal.SIGKILL)
    third = user.start()
    assert "open already" not in until(third, "token=")
    third.terminate()
    assert third.wait() == 128 + signal.SIGTERM


@contextlib.contextmanager
def read_only(workbook):
    folders = [workbook, *(path for path in workbook.rglob("*") if path.is_dir() and not path.is_symlink())]
    for folder in folders:
        folder.chmod(0o555)
    try:
        yield
    finally:
        for folder in folders:
            folder.chmod(0o755)


def test_a_read_only_copy_serves_a_user_who_may_not_write_in_it(workbook, other):
    before = set(workbook.rglob("*"))
    with read_only(workbook):
        process = other.start()
        told = until(process, "token=")
        assert "You may not write in" in told and "Traceback" not in told
        assert comes_up(other.server())
        process.terminate()
        assert process.wait() == 128 + signal.SIGTERM
    assert set(workbook.rglob("*")) == before


def test_a_read_only_copy_that_is_not_set_up_is_told(workbook, other):
    stamp = workbook / ".venv" / "installed-from"
    kept = stamp.read_text()
    stamp.unlink()
    with read_only(workbook):
        process = other.start()
        told = process.stdout.read()
    stamp.write_text(kept)
    assert process.wait() == 1
    assert "is not set up yet, and you may not write in" in told and "Traceback" not in told


@pytest.fixture
def other(workbook, tmp_path):
    somebody = other_user(tmp_path, workbook)
    yield somebody
    somebody.end()


def other_user(home, workbook):
    """Another user, if root asks and the Python may be run by others; else the same one without any rights."""
    if os.getuid():
        return User(home, workbook)
    os.chown(home, NOBODY_ELSE["user"], NOBODY_ELSE["group"])
    for folder in {*home.parents, *workbook.parents}:
        if folder.name.startswith("pytest-") or folder.parent.name.startswith("pytest-"):
            folder.chmod(0o755)
    with contextlib.suppress(OSError):
        if said(workbook / ".venv" / "bin" / "python", "-c", "import jupyterlab", **NOBODY_ELSE).returncode == 0:
            return User(home, workbook, **NOBODY_ELSE)
    os.chown(home, 0, 0)
    if shutil.which(NO_RIGHTS[0]) is None:
        pytest.skip("root may write everywhere here, and there is no setpriv to take that right away")
    return User(home, workbook, NO_RIGHTS)
