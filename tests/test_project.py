"""What the project keeps to as a whole: its places, its facts, its size, its pinned packages."""

import ast
import csv
import importlib.metadata
import re
import subprocess
import sys
import tomllib
from collections import Counter
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from helpers.facts import DATA, STANDINGS
from helpers.opening import ROOT

AGREED = {"README.md", "DEVELOPERS.md", "requirements.txt", "workbook", "helpers", "tests", "data"}
MADE_BY_README = {"wheels"}  # named there for the folder of wheels; git leaves it out
# Of these the standing itself says that no document stands behind the value.
WITHOUT_SOURCE = ("common practice", "own setting", "memory")
HELPERS = sorted((ROOT / "helpers").rglob("*.py"))
TABLES = sorted(DATA.glob("*.csv"))
LISTS = [ROOT / name for name in ("requirements.txt", "tests/requirements.txt", "helpers/constraints.txt")]


def of_the_project():
    """Every file that git keeps or would keep."""
    listed = subprocess.run(
        ["git", "ls-files", "-co", "--exclude-standard"], cwd=ROOT, capture_output=True, text=True
    ).stdout.splitlines()
    return [ROOT / name for name in listed if (ROOT / name).is_file()]


def named(path):
    return path.relative_to(ROOT).as_posix()


def test_top_level_holds_the_agreed_names_only():
    found = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert found - AGREED - MADE_BY_README == set()


# -- facts ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.stem)
def test_every_fact_says_where_it_is_from(path):
    with path.open(encoding="utf-8", newline="") as file:
        table = csv.DictReader(file)
        rows = list(table)
    assert rows
    assert {"source", "standing"} <= set(table.fieldnames)
    for line, row in enumerate(rows, 2):
        place = f"{path.name} line {line}"
        assert None not in row and None not in row.values(), f"{place}: more or fewer cells than the heading"
        assert row["standing"] in STANDINGS, f"{place}: {row['standing']!r}"
        assert row["source"].strip() or row["standing"] in WITHOUT_SOURCE, f"{place}: no source"
    twice = [row for row, count in Counter(tuple(row.items()) for row in rows).items() if count > 1]
    assert not twice


def sourced(*standings):
    """Place and source of each row with one of these standings."""
    for path in TABLES:
        with path.open(encoding="utf-8", newline="") as file:
            for line, row in enumerate(csv.DictReader(file), 2):
                if row["standing"] in standings:
                    yield f"{path.name} line {line}", row["source"]


PAGE = re.compile(r"\bp\. ?[A-Z]?-?\d|\b(clause|section|title page)\b")
# A document that nobody could find again by its title, and what is known from no document at all.
NOBODY_FINDS = re.compile(
    r"\b(several|many|some|various|newer|older|an?|another|one)( [\w-]+){0,3} (manuals?|drives?|makers?)\b"
    r"|\bsibling\b|\bremembered\b|\bmemory\b|\bblog\b",
    re.IGNORECASE,
)


def test_what_a_standard_says_has_its_page_or_clause():
    assert [place for place, source in sourced("standard") if not PAGE.search(source)] == []


def test_what_is_from_memory_says_where_it_was_looked_for():
    assert [place for place, source in sourced("memory") if not re.search("looked for .+, not found", source)] == []


def test_every_other_source_can_be_found_by_its_title():
    documents = sourced("standard", "handbook", "publication", "device manual")
    assert [(place, source) for place, source in documents if NOBODY_FINDS.search(source)] == []


def test_a_manual_is_cited_with_the_place_in_it():
    inside = re.compile(rf"{PAGE.pattern}|\b(tables?|lists?|listing|fig\.|topology|error codes)\b")
    exempt = {"the warning label or the manual of the drive"}  # it hangs on the drive
    found = [(p, s) for p, s in sourced("device manual") if s not in exempt and not inside.search(s)]
    assert found == []


def test_most_rows_come_from_a_document():
    assert len(list(sourced("memory"))) <= 350


def test_there_are_tables_of_facts():
    assert len(TABLES) > 5


# -- code -------------------------------------------------------------------------------------------


def test_no_helper_hides_a_module_of_python():
    # start.py is run as a file, so its own folder is searched before the standard library.
    assert {path.stem for path in (ROOT / "helpers").iterdir()} & sys.stdlib_module_names == set()


def test_every_room_is_installed():
    listed = tomllib.loads((ROOT / "helpers/pyproject.toml").read_text(encoding="utf-8"))
    rooms = {".".join(path.parent.relative_to(ROOT).parts) for path in HELPERS}
    assert set(listed["tool"]["setuptools"]["packages"]) == rooms


def test_every_room_is_a_package():
    assert [path for path in HELPERS if not (path.parent / "__init__.py").exists()] == []


def test_no_file_names_a_place_on_one_computer():
    own = "|".join(re.escape(str(place)) for place in (ROOT, Path.home()) if len(place.parts) > 1)
    pattern = re.compile(rf"(?<![\w.])(?:{own})/|/(?:home|Users)/[a-z]\w*/|[A-Z]:\\Users\\")
    found = []
    for path in of_the_project():
        try:
            text = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue
        found += [f"{named(path)}: {hit[0]}" for hit in pattern.finditer(text)]
    assert found == []


def test_no_test_is_hidden_by_another_of_its_name():
    for path in sorted((ROOT / "tests").rglob("*.py")):
        body = ast.parse(path.read_text(encoding="utf-8")).body
        names = Counter(statement.name for statement in body if isinstance(statement, ast.FunctionDef | ast.ClassDef))
        assert not [name for name, count in names.items() if count > 1], named(path)


# -- packages ---------------------------------------------------------------------------------------


def pinned():
    """Name to version, of every line that holds for this computer."""
    found = {}
    for path in LISTS:
        for line in path.read_text(encoding="utf-8").splitlines():
            if line and line[0] not in "#-":
                package = Requirement(line)
                assert re.fullmatch(r"==[\w.+!]+", str(package.specifier)), f"{named(path)}: {line} is not exact"
                if package.marker is None or package.marker.evaluate():
                    found[canonicalize_name(package.name)] = str(package.specifier).removeprefix("==")
    return found


def test_every_installed_package_is_pinned_at_its_version():
    # pip comes with the environment, setuptools with that of Python 3.11 only; uv makes the list of pins.
    installed = {canonicalize_name(d.name): d.version for d in importlib.metadata.distributions()}
    for name in ("pip", "setuptools", "uv", "workbook-helpers"):
        installed.pop(name, None)
    known = pinned()
    assert {name: version for name, version in installed.items() if known.get(name) != version} == {}
