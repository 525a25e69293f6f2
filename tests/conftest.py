"""For every test: no learner's progress is read or written, and no verdict hangs on the wall clock."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import settings

# A busy machine must not fail a property test: speed is measured in tests/bench.
settings.register_profile("workbook", deadline=None)
settings.load_profile("workbook")


ROOT = Path(__file__).parents[1]


def pytest_sessionstart(session):
    """A copy is tested with its own helpers: a kernel takes those that its environment has installed."""
    if "PYTEST_XDIST_WORKER" in os.environ:
        return
    ask = [sys.executable, "-P", "-c", "import helpers; print(helpers.__file__)"]
    answer = subprocess.run(ask, capture_output=True, text=True, cwd=Path(__file__).parent).stdout.strip()
    if not answer or ROOT not in Path(answer).resolve().parents:
        pytest.exit(
            f"This environment has the helpers of {answer or 'nowhere'}, and the tests here are those of {ROOT}. "
            "A copy needs an environment of its own: bash tests/run makes it.",
            returncode=4,
        )


@pytest.fixture(scope="session", autouse=True)
def empty_progress(tmp_path_factory):
    """A progress folder of the tests' own; kernels that a test starts inherit it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(os.environ, "WORKBOOK_PROGRESS", str(tmp_path_factory.mktemp("progress")))
        yield
