"""One JupyterLab and one Chromium for all browser tests of a run."""

import nbformat
import pytest
from browser.lab import CHROMIUM, Lab, chromium, copy_of_workbook, served
from store_outputs import METADATA


def pytest_addoption(parser):
    parser.addoption("--screens", action="store_true", help="take every screen of a notebook, not only the first")


@pytest.fixture(scope="session")
def workbook(tmp_path_factory):
    """A copy of the workbook to run, and room for notebooks that a test makes up."""
    return copy_of_workbook(tmp_path_factory.mktemp("browser"))


@pytest.fixture(scope="session")
def home(tmp_path_factory):
    """What JupyterLab, its kernels and a learner leave behind."""
    return tmp_path_factory.mktemp("home")


@pytest.fixture(scope="session")
def address(workbook, home):
    if CHROMIUM is None:
        pytest.skip("no Chromium on this computer")
    with served(workbook, home) as address:
        yield address


@pytest.fixture(scope="session")
def browser(address):
    with chromium() as browser:
        yield browser


@pytest.fixture
def lab(browser, address):
    lab = Lab(browser, address)
    yield lab
    lab.close()


@pytest.fixture(scope="session")
def made_up(workbook):
    """Puts a notebook of the given cells (source, tags) into the copy of the workbook; returns its path there."""

    def make(name, *cells):
        notebook = nbformat.v4.new_notebook(metadata=METADATA, cells=[nbformat.v4.new_markdown_cell(f"# {name}")])
        notebook.cells += [nbformat.v4.new_code_cell(source, metadata={"tags": tags}) for source, *tags in cells]
        (workbook / "made-up").mkdir(exist_ok=True)
        nbformat.write(notebook, workbook / "made-up" / f"{name}.ipynb")
        return f"made-up/{name}.ipynb"

    return make
