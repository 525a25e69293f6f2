"""The one command: what it says to an old Python, that it sets up, and that it does so without a network too."""

import ast
import json
import os
import platform
import shutil
import sys

import pytest
from small_workbook import said, small_workbook

from helpers import opening, setting_up
from helpers.opening import ROOT

START = ROOT / "helpers" / "start.py"
OLD = ("python2.7", "python3.4", "python3.6", "python3.7", "python3.8", "python3.9", "python3.10")
SENTENCE = "This workbook needs Python 3.11 or newer; this is Python "


# -- an old Python ----------------------------------------------------------------------------------


def test_an_old_python_could_read_start():
    source = START.read_text(encoding="ascii")  # Python 2 takes nothing else without a declaration
    tree = ast.parse(source, feature_version=(3, 4))
    # What Python 2.7 does not know; the rest of the file is plain names, calls and comparisons.
    newer = (ast.JoinedStr, ast.AnnAssign, ast.arg, ast.NamedExpr, ast.Match, ast.AsyncFunctionDef, ast.Starred)
    assert not [node for node in ast.walk(tree) if isinstance(node, newer)]


@pytest.mark.parametrize("version", [(2, 7, 18), (3, 10, 13)])
def test_a_python_too_old_gets_a_sentence(version):
    pretend = f"import sys, runpy; sys.version_info = {version}; runpy.run_path({str(START)!r}, run_name='__main__')"
    done = said(sys.executable, "-c", pretend)
    assert done.returncode == 1
    assert done.stderr.startswith(f"{SENTENCE}{version[0]}.{version[1]}. Get a newer one")
    assert len(done.stderr.splitlines()) == 1


def test_a_real_old_python_gets_the_sentence():
    there = [name for name in OLD if shutil.which(name) and said(name, "-c", "").returncode == 0]
    if not there:
        pytest.skip("no Python older than 3.11 on this computer")
    for name in there:
        done = said(name, START)
        assert (done.returncode, done.stderr[: len(SENTENCE)]) == (1, SENTENCE)


# -- sentences instead of tracebacks ----------------------------------------------------------------


@pytest.fixture
def elsewhere(tmp_path, monkeypatch):
    """An environment that is not there yet, in a folder of its own."""
    monkeypatch.setattr(setting_up, "VENV", tmp_path / ".venv")
    monkeypatch.setattr(setting_up, "STAMP", tmp_path / ".venv" / "installed-from")
    monkeypatch.setattr(setting_up, "LOCK", tmp_path / ".venv-lock")
    return tmp_path


def test_a_python_without_ensurepip_gets_the_name_of_the_package(elsewhere, monkeypatch):
    found = setting_up.importlib.util.find_spec
    monkeypatch.setattr(
        setting_up.importlib.util, "find_spec", lambda name: None if name == "ensurepip" else found(name)
    )
    with pytest.raises(SystemExit, match="sudo apt install python3-venv"):
        setting_up.make_environment(None)
    assert not (elsewhere / ".venv").exists()


def test_a_folder_without_wheels_is_told(elsewhere):
    with pytest.raises(SystemExit, match="There are no wheels in"):
        setting_up.check_made_for(elsewhere)


def test_wheels_for_another_kind_of_computer_are_told(elsewhere, monkeypatch):
    monkeypatch.setattr(setting_up, "kind_of", lambda python: "Windows AMD64, Python 3.12")
    (elsewhere / "some-1-py3-none-any.whl").touch()
    setting_up.check_made_for(elsewhere)
    (elsewhere / setting_up.MADE_FOR).write_text("Windows AMD64, Python 3.12\n")
    setting_up.check_made_for(elsewhere)
    (elsewhere / setting_up.MADE_FOR).write_text("Linux x86_64, Python 3.12\n")
    with pytest.raises(SystemExit, match=r"for Linux x86_64, Python 3\.12; this computer has Windows AMD64"):
        setting_up.check_made_for(elsewhere)


def test_kind_of_a_python(tmp_path):
    kind = f"{platform.system()} {platform.machine()}, Python {sys.version_info[0]}.{sys.version_info[1]}"
    assert setting_up.kind_of(sys.executable) == kind
    assert setting_up.kind_of(tmp_path / "none") == ""


def test_check_on_a_computer_with_nothing_says_what_would_be_done(elsewhere, capsys):
    assert setting_up.main(["--check"]) == 1
    out = capsys.readouterr().out
    assert "none yet; would be made in" in out
    assert "would be installed now" in out
    assert not (elsewhere / ".venv").exists()


def test_help_teaches_by_example():
    done = said(sys.executable, START, "--help")
    assert done.returncode == 0
    for told in ("--check", "--wheels wheels", "--make-wheels wheels", "On Windows write py helpers\\start.py"):
        assert told in done.stdout


def test_what_start_does_not_know_goes_on_to_jupyterlab(elsewhere, monkeypatch):
    passed_on = []
    monkeypatch.setattr(setting_up, "install", lambda wheels: None)
    monkeypatch.setattr(setting_up, "open_lab", lambda python, arguments: passed_on.extend(arguments) or 0)
    assert setting_up.main(["--no-browser", "--port", "9000"]) == 0
    assert passed_on == ["--no-browser", "--port", "9000"]


# -- really setting up ------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    return small_workbook(tmp_path_factory.mktemp("a workbook on a stick"))


def test_sets_up_from_wheels_alone_and_only_once(small, tmp_path_factory):
    elsewhere = tmp_path_factory.mktemp("elsewhere")
    start, python = small / "helpers" / "start.py", setting_up.venv_python(small / ".venv")
    made = said(sys.executable, start, "--make-wheels", "the wheels", cwd=elsewhere)
    assert made.returncode == 0, made.stdout + made.stderr
    wheels = elsewhere / "the wheels"
    names = sorted(path.name.split("-")[0] for path in wheels.glob("*.whl"))
    assert names == ["lark", "setuptools"], "what is needed, and what builds the helpers"

    # A proxy that does not answer: whoever asks anything of a network fails.
    no_network = os.environ | {"http_proxy": "http://127.0.0.1:9", "https_proxy": "http://127.0.0.1:9"}
    done = said(sys.executable, start, "--wheels", "the wheels", "--no-open", cwd=elsewhere, env=no_network)
    assert done.returncode == 0, done.stdout + done.stderr
    assert said(python, "-c", "import helpers, lark; print(helpers.HERE)", cwd=elsewhere).stdout == "True\n"
    assert said(sys.executable, start, "--check", cwd=elsewhere).returncode == 0

    again = said(sys.executable, start, "--no-open", cwd=elsewhere, env=no_network)
    assert again.returncode == 0
    assert "Installing" not in again.stdout

    # A changed list is noticed, and what cannot be had is told in a sentence.
    with (small / "requirements.txt").open("a") as file:
        file.write("no-package-of-this-name==1.0\n")
    assert said(sys.executable, start, "--check", cwd=elsewhere).returncode == 1
    failed = said(sys.executable, start, "--wheels", "the wheels", "--no-open", cwd=elsewhere, env=no_network)
    assert failed.returncode == 1
    assert "no-package-of-this-name" in failed.stdout
    assert "The packages could not all be had" in failed.stderr
    # Who has just set up from a folder of wheels is not sent to set up from a folder of wheels.
    assert "start.py --make-wheels FOLDER" in failed.stderr and "--wheels FOLDER" not in failed.stderr


# -- JupyterLab -------------------------------------------------------------------------------------


def test_the_kernel_is_that_of_the_environment_and_no_other(tmp_path, monkeypatch):
    """A user's own python3 kernel, wherever it lies, is not taken."""
    strays = [tmp_path / "user" / ".local" / "share" / "jupyter", tmp_path / "named"]
    for place in strays:
        (place / "kernels" / "python3").mkdir(parents=True)
        stray = {"argv": ["stray"], "display_name": "Stray", "language": "python"}
        (place / "kernels" / "python3" / "kernel.json").write_text(json.dumps(stray))
    monkeypatch.setenv("HOME", str(tmp_path / "user"))
    monkeypatch.setenv("JUPYTER_PATH", str(tmp_path / "named"))
    surroundings = opening.lab_environment(tmp_path / "home")
    listed = said(sys.executable, "-m", "jupyter", "kernelspec", "list", "--json", env=surroundings)
    spec = json.loads(listed.stdout)["kernelspecs"]["python3"]
    assert spec["spec"]["display_name"] != "Stray"
    assert spec["resource_dir"].startswith(sys.prefix)


def test_every_folder_that_jupyter_writes_is_its_own(tmp_path):
    surroundings = opening.lab_environment(tmp_path)
    told = json.loads(said(sys.executable, "-m", "jupyter", "--paths", "--json", env=surroundings).stdout)
    assert told["config"][0].startswith((str(tmp_path), str(ROOT / ".jupyter"), sys.prefix))
    assert str(ROOT / ".jupyter") in told["config"]
    assert told["runtime"] == [str(tmp_path / "runtime")]
