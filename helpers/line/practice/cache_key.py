"""On what a signature depends: the installation, and all code and tables from which it is made.

Two sums. If both are as they were when signatures were made, the same would come out again, and they need not be made
anew. Comments, docstrings and the columns that say where a fact is from change nothing, so they are not in the sums.
"""

from __future__ import annotations

import csv
import hashlib
import io
import re
import tokenize
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from helpers.facts import DATA
from helpers.line.plant.installation import Installation

_ROOT = Path(__file__).parents[3]
# What makes signatures; whatever these import, and so on, belongs to it.
_MAKERS = ("helpers.line.practice.signature", "helpers.line.faults.catalogue")
_IMPORT = re.compile(r"^\s*(?:from (helpers[\w.]*) )?import (\([^)]*\)|.*)$", re.M)
# How code names a table: "bus_timing", or f"{kind}_word".
_NAME, _ENDING = re.compile(r'"([\w/]+)"'), re.compile(r'f"{\w+}(_\w+)"')
_SET = re.compile(r"frozenset\(\{([^{}]*)\}\)")
_FLOAT = re.compile(r"\d+\.\d+(?:e[-+]\d+)?|\d+e[-+]\d+")
_BEFORE_A_STATEMENT = (tokenize.ENCODING, tokenize.NEWLINE, tokenize.INDENT, tokenize.DEDENT)


def of_installation(installation: Installation) -> str:
    """A sum over an installation, the same on every machine.

    Numbers count with nine digits: their last ones differ from processor to processor. Sets are put in order: theirs
    is another one in each run.

    >>> from helpers.line.practice.case import mill
    >>> of_installation(mill()) == of_installation(mill().with_laid(0, mill().stretches[0].laid))
    True
    """
    ordered = _SET.sub(lambda found: ", ".join(sorted(found[1].split(", "))), repr(installation))
    rounded = _FLOAT.sub(lambda found: f"{float(found[0]):.9g}", ordered)
    return hashlib.sha256(rounded.encode()).hexdigest()[:16]


@cache
def of_code() -> str:
    """A sum over the code and the tables from which signatures are made."""
    found = hashlib.sha256()
    for path in code():
        found.update(f"{path.relative_to(_ROOT).as_posix()}\n{bare(path.read_text(encoding='utf-8'))}".encode())
    for path in tables():
        found.update(f"{path.relative_to(DATA).as_posix()}\n{_values(path)}".encode())
    return found.hexdigest()[:12]


def code() -> tuple[Path, ...]:
    """The files whose code makes signatures, in the order of their names."""
    found: set[Path] = set()
    waiting = [_file(module) for module in _MAKERS]
    while waiting:
        path = waiting.pop()
        if path is not None and path not in found:
            found.add(path)
            waiting += [_file(module) for module in _imported(path.read_text(encoding="utf-8"))]
    return tuple(sorted(found, key=lambda path: path.as_posix()))


def tables() -> tuple[Path, ...]:
    """The tables that this code names, in the order of their names; some it names by their ending only."""
    text = "".join(path.read_text(encoding="utf-8") for path in code())
    named, endings = set(_NAME.findall(text)), tuple(_ENDING.findall(text))
    every = sorted((*DATA.glob("*.csv"), *DATA.glob("demo/*.csv")), key=lambda path: path.as_posix())
    names = [path.relative_to(DATA).with_suffix("").as_posix() for path in every]
    return tuple(path for path, name in zip(every, names, strict=True) if name in named or name.endswith(endings))


def _imported(text: str) -> Iterator[str]:
    """The modules that a file imports; a name that it takes out of one may be a module too."""
    for source, names in _IMPORT.findall(text):
        if source:
            yield source
        for name in re.findall(r"[\w.]+", names):
            yield f"{source}.{name}" if source else name


def _file(module: str) -> Path | None:
    path = _ROOT.joinpath(*module.split(".")).with_suffix(".py")
    return path if module.startswith("helpers.") and path.is_file() else None


def bare(text: str) -> str:
    r"""Code without comments, docstrings and empty lines.

    >>> bare('def two():  # a number\n    "It is two."\n\n    return "#2"')
    'def two():\n    return "#2"'
    """
    lines = text.splitlines()
    before = tokenize.ENCODING
    cut = []
    for token in tokenize.generate_tokens(io.StringIO(text).readline):
        docstring = token.type == tokenize.STRING and before in _BEFORE_A_STATEMENT
        if token.type == tokenize.COMMENT or docstring:
            cut.append((token.start, token.end))
        if token.type not in (tokenize.COMMENT, tokenize.NL):
            before = token.type
    for (first, start), (last, end) in reversed(cut):
        lines[first - 1 : last] = [lines[first - 1][:start] + lines[last - 1][end:]]
    return "\n".join(line.rstrip() for line in lines if line.strip())


def _values(path: Path) -> str:
    """A table without the columns that say where its values are from."""
    with path.open(encoding="utf-8", newline="") as file:
        rows = [{k: v for k, v in row.items() if k not in ("source", "standing")} for row in csv.DictReader(file)]
    return repr(rows)
