"""How long a notebook waits for its first import, in a fresh Python. Aim for the panels: 1.5 s."""

import subprocess
import sys
from pathlib import Path

import helpers.panels

# Tables for a lesson's cells bring pandas along; panels do without it.
WITH_PANDAS = {"kit.tables", "cable.rule_table"}
PANELS = sorted(
    {f"{p.parent.name}.{p.stem}" for p in Path(helpers.panels.__file__).parent.glob("*/[!_]*.py")} - WITH_PANDAS
)


def _python(benchmark, lines):
    benchmark.pedantic(subprocess.run, ([sys.executable, "-c", lines],), {"check": True}, rounds=5, warmup_rounds=1)


def test_import_of_all_panels(benchmark):
    _python(benchmark, "\n".join(f"import helpers.panels.{name}" for name in PANELS))


def test_import_of_tables_for_cells(benchmark):
    _python(benchmark, "import helpers.panels.kit.tables")


def test_python_alone(benchmark):
    _python(benchmark, "pass")
