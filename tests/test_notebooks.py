"""What every notebook of the workbook keeps to, so that nbval compares something and a reader finds sense in it."""

import ast
import base64
import re
import statistics
from pathlib import Path

import nbformat
import numpy as np
import pytest
from nbval.plugin import get_sanitize_patterns
from store_outputs import CELL_METADATA, LIVE, METADATA, notebooks

from helpers.curves import Area, Axis, Curve, Curves, Note, Points
from helpers.opening import FIRST_PAGE, ROOT, WORKBOOK
from helpers.panels.kit.chart import curves_chart
from helpers.panels.kit.drawing import Drawing

LONGEST_CELL, MEDIAN_CELL = 9, 3
# Statements that show nothing by themselves. Anything else is expected to show something.
SILENT = (
    ast.Import, ast.ImportFrom, ast.Assign, ast.AnnAssign, ast.AugAssign, ast.FunctionDef, ast.ClassDef, ast.Assert,
)  # fmt: skip
OF_ONE_RUN = {
    "an address in memory": r"\b0x[0-9a-f]{8,}",
    "a random id": r"\b[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}|\b(?=[0-9a-f]*[a-f])[0-9a-f]{32}\b|IPY_MODEL|id=\"T_",
    "a date": r"\b20\d\d-[01]\d-[0-3]\d\b",
    "a time of day": r"\b[0-2]\d:[0-5]\d:[0-5]\d\b",
    "a path of one machine": r"[A-Z]:\\\w|/(?:home|Users|root|tmp|var)/|" + re.escape(str(ROOT)),
}
# JupyterLab takes these out of what a reader sees before a cell has run, and leaves a drawing's bare text.
TAKEN_OUT = ("<svg", "<style", "<script", "<iframe")

every_notebook = pytest.mark.parametrize("path", notebooks(), ids=lambda path: path.stem)


def read(path):
    return nbformat.read(path, as_version=4)


def code_cells(path):
    return [cell for cell in read(path).cells if cell.cell_type == "code" and cell.source.strip()]


def outputs(path):
    return [output for cell in code_cells(path) for output in cell.outputs]


def lines(cell):
    return [line for line in cell.source.splitlines() if line.strip()]


def shows_something(source):
    """Whether running a cell is expected to leave an output."""
    plain = "\n".join(line for line in source.splitlines() if not line.startswith("%"))
    return any(not isinstance(statement, SILENT) for statement in ast.parse(plain).body)


def texts(output):
    """All text of an output, that in its drawings too."""
    found = [output.get("text", ""), output.get("evalue", ""), *output.get("traceback", [])]
    for kind, data in output.get("data", {}).items():
        if not kind.startswith("image/"):
            found.append(data if isinstance(data, str) else repr(data))
    for text in list(found):
        coded = re.findall(r"data:(?:image/svg\+xml|text/\w+);base64,([\w+/=]+)", text)
        found += [base64.b64decode(part).decode() for part in coded]
    return [re.sub(r"base64,[\w+/=]+", "", text) for text in found]


def test_a_cell_that_only_prepares_is_told_from_one_that_shows():
    assert not shows_something("import math\nx: int = 3\nx += 1\nassert x == 4")
    assert not shows_something("%config something\ndef f():\n    return 3")
    assert shows_something("x = 3\nx")
    assert shows_something("for n in range(3):\n    print(n)")


@pytest.mark.parametrize(
    ("what", "text"),
    [
        ("an address in memory", "<object at 0x7f2b8c0d1e50>"),
        ("a random id", "IPY_MODEL_x"),
        ("a random id", "3b2e1f6a-1c2d-4e5f-8a9b-0c1d2e3f4a5b"),
        ("a random id", "0f" * 16),
        ("a date", "made 2031-02-28"),
        ("a time of day", "at 23:59:59"),
        ("a path of one machine", r"C:\plans\site.xlsx"),
        ("a path of one machine", str(ROOT / "data")),
    ],
)
def test_what_belongs_to_one_run_only_is_found(what, text):
    assert re.search(OF_ONE_RUN[what], text)


def test_what_a_technician_reads_is_not_taken_for_something_of_one_run():
    for text in ("16#047F 0x7E 2#0111_1110", "%IW256", "IEC 61158-2:2023, 10.4", "0" * 32, "1/2, 3:45"):
        assert not any(re.search(pattern, text) for pattern in OF_ONE_RUN.values()), text


def compared(html):
    """What nbval compares of an output: the rest after `nbval_sanitize.cfg`, read and used as nbval does."""
    for pattern, instead in get_sanitize_patterns((ROOT / "tests" / "nbval_sanitize.cfg").read_text()):
        html = re.sub(pattern, instead, html)
    return html


def test_nbval_compares_the_words_of_a_curve_and_no_places():
    def shown(shift=0.0, words="100 m", low=0.0):
        x = np.linspace(0, 10, 50)
        line = Curve(x, np.sin(x) + shift, "sent")
        return curves_chart(
            Curves("a wave", Axis("time in µs", low, 10), Axis("B − A in V", -2, 2), [line],
                   [Points([2], [shift])], [Area(line.y - 0.1, line.y + 0.1, x)], notes=[Note(1, shift, words)])
        ).html  # fmt: skip

    assert shown(0.1) != shown() and compared(shown(0.1)) == compared(shown())
    assert compared(shown(words="200 m")) != compared(shown())
    assert compared(shown(low=-5.0)) != compared(shown())
    drawing = Drawing(10, 10, "a line")
    drawing.line(0, 0, 5, 5)
    assert compared(drawing.html) == drawing.html


@every_notebook
def test_opens_with_a_title(path):
    first = read(path).cells[0]
    assert first.cell_type == "markdown"
    assert first.source.startswith("# ")


@every_notebook
def test_every_cell_that_shows_something_has_a_stored_output(path):
    bare = [cell.source for cell in code_cells(path) if shows_something(cell.source) and not cell.outputs]
    assert not bare, "nbval compares nothing there; store the outputs: python tests/store_outputs.py"


@every_notebook
def test_errors_are_stored_where_they_are_meant_and_only_there(path):
    for cell in code_cells(path):
        meant = "raises-exception" in cell.metadata.get("tags", [])
        assert any(output.output_type == "error" for output in cell.outputs) == meant, cell.source


@every_notebook
def test_nothing_of_one_run_is_stored(path):
    for output in outputs(path):
        for text in texts(output):
            for what, pattern in OF_ONE_RUN.items():
                found = re.search(pattern, text)
                assert not found, f"{what}: {text[max(0, found.start() - 40) : found.end() + 20]!r}"


@every_notebook
def test_nothing_is_stored_that_differs_between_machines(path):
    for output in outputs(path):
        kinds = set(output.get("data", {}))
        assert LIVE not in kinds, "a live widget is stored; use tests/store_outputs.py"
        assert not [kind for kind in kinds if kind.startswith("image/")], "a rendered picture; draw an SVG instead"
        assert "data:image/png" not in output.get("data", {}).get("text/html", "")
        assert output.get("name") != "stderr", output.text


@every_notebook
def test_what_stands_there_before_a_cell_has_run_makes_sense(path):
    for output in outputs(path):
        data = output.get("data", {})
        bare_widget = re.match(r"\w+\((children=|value=)", data.get("text/plain", ""))
        assert not bare_widget or "text/html" in data, f"no still picture: {data['text/plain']}"
        # The style that pandas puts before a table is taken out too, and the table reads as well without it.
        shown = data.get("text/html", "").replace("<style scoped>", "")
        assert not [part for part in TAKEN_OUT if part in shown]
    for cell in read(path).cells:
        if cell.cell_type == "markdown":
            assert not [part for part in TAKEN_OUT if part in cell.source]


@every_notebook
def test_cells_are_short(path):
    lengths = [len(lines(cell)) for cell in code_cells(path)]
    if lengths:
        assert max(lengths) <= LONGEST_CELL, "longer belongs into helpers"
        assert statistics.median(lengths) <= MEDIAN_CELL


@every_notebook
def test_finds_helpers_without_touching_the_path(path):
    assert not [cell.source for cell in code_cells(path) if "sys.path" in cell.source]


@every_notebook
def test_carries_no_state_of_an_editor_or_a_run(path):
    notebook = read(path)
    assert notebook.metadata == METADATA
    assert not [cell.metadata for cell in notebook.cells if set(cell.metadata) - set(CELL_METADATA)]
    counts = [cell.execution_count for cell in notebook.cells if cell.cell_type == "code" and cell.source.strip()]
    assert counts == list(range(1, len(counts) + 1)), "not run from top to bottom in one go"


def markdown_of(notebook):
    """The Markdown of a notebook: its text cells, and what its code cells have stored as Markdown."""
    for cell in notebook.cells:
        if cell.cell_type == "markdown":
            yield cell.source
        yield from (output.data.get("text/markdown", "") for output in cell.get("outputs", ()) if "data" in output)


@every_notebook
def test_links_and_pictures_are_there_and_pictures_are_told_in_words(path):
    for mark, words, target in re.findall(r"(!?)\[([^\]]*)\]\(([^)\s]+)\)", "\n".join(markdown_of(read(path)))):
        assert words.strip() or not mark, f"a picture without words: {target}"
        if not re.match(r"[a-z]+:|#", target):
            assert (path.parent / Path(target.split("#")[0])).exists(), target


def test_the_first_page_leads_to_every_other():
    said = "\n".join(markdown_of(read(WORKBOOK / FIRST_PAGE)))
    for path in notebooks():
        place = path.relative_to(WORKBOOK).as_posix()
        assert place == FIRST_PAGE or f"]({place})" in said, f"{place} is not linked"
