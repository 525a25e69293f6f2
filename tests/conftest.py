"""For every test: no learner's progress is read or written, and no verdict hangs on the wall clock."""

import os

import pytest
from hypothesis import settings

# A busy machine must not fail a property test: speed is measured in tests/bench.
settings.register_profile("workbook", deadline=None)
settings.load_profile("workbook")


@pytest.fixture(scope="session", autouse=True)
def empty_progress(tmp_path_factory):
    """A progress folder of the tests' own; kernels that a test starts inherit it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(os.environ, "WORKBOOK_PROGRESS", str(tmp_path_factory.mktemp("progress")))
        yield
