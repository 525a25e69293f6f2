"""Formats notebooks, runs them in a fresh kernel and stores their outputs, the same on every machine.

    python tests/store_outputs.py                      every notebook of workbook/
    python tests/store_outputs.py workbook/lessons/03-addresses.ipynb

Run it after each change to a notebook or to what a notebook shows; nbval compares with what is stored. No
learner's progress gets in: the kernel sees an empty progress folder.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
from pathlib import Path

import nbformat
from nbclient import NotebookClient
from nbclient.exceptions import CellExecutionError

from helpers.opening import OWN_NOTES, WORKBOOK, lab_environment

LIVE = "application/vnd.jupyter.widget-view+json"
METADATA = {
    "kernelspec": {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"},
    "language_info": {"name": "python"},
}
# What a cell may carry: tags, and whether its source is hidden. Times and view states are of one run only.
CELL_METADATA = ("tags", "jupyter")


def notebooks() -> list[Path]:
    """Every notebook of the workbook; a learner's own notes are not part of it."""
    not_ours = {".ipynb_checkpoints", OWN_NOTES}
    return sorted(path for path in WORKBOOK.rglob("*.ipynb") if not not_ours & set(path.parts))


def normalise(notebook: nbformat.NotebookNode) -> None:
    """Takes out of an executed notebook what differs from run to run."""
    notebook.metadata = nbformat.from_dict(METADATA)
    for cell in notebook.cells:
        cell.metadata = {key: cell.metadata[key] for key in CELL_METADATA if key in cell.metadata}
        for output in cell.get("outputs", []):
            if "data" in output:
                # The live widget has a random id and no kernel knows it later; its still picture stays.
                output.data.pop(LIVE, None)
            if output.output_type == "error":
                # nbval compares name and message; the full traceback names files of this machine.
                output.traceback = [f"{output.ename}: {output.evalue}"]


def store(path: Path) -> None:
    """Runs one notebook and writes it back with its outputs; raises and leaves the old outputs if a cell fails."""
    for command in (["check", "--fix", "--select", "I"], ["format"]):
        subprocess.run([sys.executable, "-m", "ruff", *command, "--quiet", path], check=True)
    notebook = nbformat.read(path, as_version=4)
    notebook.metadata = nbformat.from_dict(METADATA)
    client = NotebookClient(
        notebook, timeout=120, store_widget_state=False, coalesce_streams=True,
        resources={"metadata": {"path": str(path.parent)}},
    )  # fmt: skip
    client.execute()
    normalise(notebook)
    nbformat.validate(notebook)
    nbformat.write(notebook, path)


def main() -> int:
    """Stores the notebooks that the command line names, or all; the exit status is the number that failed."""
    parser = argparse.ArgumentParser(description="Run notebooks and store their outputs.")
    parser.add_argument("notebook", nargs="*", type=Path, help="which ones; all of workbook/ if none is named")
    failed = 0
    with tempfile.TemporaryDirectory() as folder:
        os.environ.update(lab_environment(Path(folder)), WORKBOOK_PROGRESS=folder)
        for path in parser.parse_args().notebook or notebooks():
            try:
                store(path)
            except CellExecutionError as error:
                failed += 1
                print(f"{path}: not stored, a cell failed:\n{error}", file=sys.stderr)
            else:
                print(f"{path}: stored")
    return failed


if __name__ == "__main__":
    sys.exit(main())
