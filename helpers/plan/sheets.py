"""The tables of a plan as grids of cells: from a folder of CSV files or from an .xlsx workbook.

Nothing is understood here but the file: text encoding, separator, merged cells, formulas. What a cell
means is the business of `read`.
"""

from __future__ import annotations

import csv
import io
import re
import warnings
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from itertools import islice
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any
from xml.parsers import expat

from helpers.errors import Unreadable
from helpers.files import read_bounded
from helpers.plan.columns import TABLES, plain
from helpers.spreadsheet import unmarked
from helpers.wording import short

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

# A plan has some hundred rows. A sheet that claims more is formatted down to its end, and would take minutes.
MOST_ROWS = 5000
MOST_COLUMNS = 200
MOST_BYTES = 2_000_000  # of one file; a plan with all addresses taken has 20 kB
_SMALLER = "Save the three tables alone, without pictures and without formatted empty rows; a full plan has far less."

REMARK = "#"
_CSV = (".csv", ".txt", ".tsv")
_XLSX = (".xlsx", ".xlsm")
_NO_RESULT = re.compile(r"#([A-Z0-9/]+[!?]|N/A)$")  # what a spreadsheet shows for a broken formula


@dataclass(frozen=True)
class Problem:
    """One fault of a table: where it is, what was found there and what was expected.

    `row` is the number the spreadsheet program shows, 0 where no row is meant; `column` the heading.
    """

    table: str
    row: int
    column: str
    found: str
    expected: str

    def __str__(self) -> str:
        """One sentence.

        >>> str(Problem("cable", 4, "length", "'long'", "a length, for example 12 m"))
        "table cable, row 4, column length: found 'long'; expected a length, for example 12 m."
        """
        place = [
            f"table {self.table}",
            f"row {self.row}" if self.row else "",
            f"column {self.column}" * bool(self.column),
        ]
        return f"{', '.join(part for part in place if part)}: found {self.found}; expected {self.expected}."


class PlanUnreadable(Unreadable):
    """The tables can't be read as a plan; `problems` lists every fault, the text is one sentence for each."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


def as_table(error: PlanUnreadable, sentence: str) -> Unreadable:
    """The same as one sentence with a table of all faults, for a panel."""
    refused = Unreadable(sentence)
    refused.rows = tuple(
        {"table": p.table, "row": p.row or "", "column": short(p.column), "found": short(p.found, 120),
         "expected": p.expected}
        for p in error.problems
    )  # fmt: skip
    return refused


@dataclass(frozen=True)
class Cell:
    """One cell: its text; `problem` says why the text can't be had; `shared` marks a cell merged with the one above;
    `typed` is False where the spreadsheet program keeps a number, not a text.
    """

    text: str
    problem: str = ""
    shared: bool = False
    typed: bool = True


@dataclass(frozen=True)
class Sheet:
    """A table with the row numbers that a spreadsheet program shows; blank rows and remarks are left out."""

    table: str
    rows: tuple[tuple[int, tuple[Cell, ...]], ...]


def read_sheets(source: str | Path | Mapping[str, bytes]) -> dict[str, Sheet]:
    """The tables found in a folder, in an .xlsx file, or in uploaded files (name to content).

    A table that is missing is missing in the result. Raises `Unreadable` if there is nothing to read.
    """
    files = source if isinstance(source, Mapping) else _files(Path(source))
    workbooks = [name for name in files if Path(name).suffix.lower() in _XLSX]
    if workbooks and len(files) > 1:
        raise Unreadable(f"{len(files)} files are given; a plan is one workbook or a set of CSV tables, not both.")
    if workbooks:
        return _workbook(workbooks[0], files[workbooks[0]])
    sheets: dict[str, Sheet] = {}
    for name, content in files.items():
        table = _table_named(Path(name).stem)
        if table and Path(name).suffix.lower() in _CSV:
            _only_one(table, name, sheets)
            sheets[table] = csv_sheet(table, name, content)
    if not sheets:
        expected = ", ".join(f"{table}.csv" for table in TABLES)
        raise Unreadable(f"none of the files {expected} is there; found: {', '.join(sorted(files)) or 'nothing'}.")
    return sheets


def _files(path: Path) -> dict[str, bytes]:
    if path.is_dir():
        tables = [file for file in sorted(path.iterdir()) if file.suffix.lower() in _CSV and _table_named(file.stem)]
        workbooks = ", ".join(file.name for file in sorted(path.iterdir()) if file.suffix.lower() in _XLSX)
        if workbooks and not tables:
            raise Unreadable(f"folder {path.name!r} holds no CSV table but {workbooks}; give the workbook itself.")
        return {file.name: read_bounded(file, MOST_BYTES, _SMALLER) for file in tables}
    if not path.exists():
        raise Unreadable(f"{str(path)!r} is not there; a plan is a folder of CSV tables or one .xlsx workbook.")
    if path.suffix.lower() not in _XLSX:
        raise Unreadable(
            f"{path.name!r} is one file of kind {path.suffix or '(none)'}; a plan is a folder of CSV tables (give the "
            "folder) or one workbook saved as .xlsx."
        )
    return {path.name: read_bounded(path, MOST_BYTES, _SMALLER)}


def _table_named(name: str) -> str | None:
    """The table a file or sheet name means; `Station` will do for `stations`, any case too."""
    return next((table for table in TABLES if plain(name).rstrip("s") == table.rstrip("s")), None)


def _only_one(table: str, name: str, sheets: Mapping[str, Sheet]) -> None:
    if table in sheets:
        raise Unreadable(f"{name!r} is a second table {table}; a plan has each of {', '.join(TABLES)} once.")


def csv_sheet(table: str, name: str, content: bytes, *, remarks: str = "", delimiter: str = "") -> Sheet:
    """One CSV file as a table, whatever its encoding and separator, if none is given; `Unreadable` if it is none.

    The mark of `helpers.spreadsheet` that keeps a cell from being a formula is taken off; `remarks` as there.
    """
    if len(content) > MOST_BYTES:
        raise Unreadable(
            f"file {name!r} has {len(content) / 1e6:.1f} MB; allowed are {MOST_BYTES / 1e6:g} MB. {_SMALLER}"
        )
    lines = io.StringIO(_decoded(content), newline="")
    begin = list(islice(lines, 20))
    lines.seek(0)
    skip = 0
    if begin and begin[0].lower().startswith("sep=") and len(begin[0].strip()) == 5:
        delimiter, skip = begin[0][4], 1  # a line some spreadsheet programs write to name the separator
        next(lines)
    records: list[list[str]] = []
    try:
        for record in csv.reader(lines, delimiter=delimiter or _delimiter(begin), strict=True):
            records.append(record)
            if len(records) > MOST_ROWS or len(record) > MOST_COLUMNS:
                raise Unreadable(
                    f"file {name!r} has more rows or columns than allowed: {MOST_ROWS} rows, {MOST_COLUMNS} columns. "
                    "Delete what is not the table."
                )
    except csv.Error as error:
        raise Unreadable(f"file {name!r} can't be read as a CSV table: {error}.") from None
    grid = ((number, tuple(_text(text) for text in record)) for number, record in enumerate(records, 1 + skip))
    rows = _sheet(table, grid).rows
    return Sheet(
        table,
        tuple((number, tuple(replace(c, text=unmarked(c.text, remarks)) for c in cells)) for number, cells in rows),
    )


def _decoded(content: bytes) -> str:
    if content.startswith((b"\xff\xfe", b"\xfe\xff")):
        return content.decode("utf-16", errors="replace")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", errors="replace")


def _delimiter(begin: list[str]) -> str:
    """The separator: the one that cuts some early line into the most cells."""
    return max(",;\t", key=lambda sign: max((line.count(sign) for line in begin), default=0))


def _workbook(name: str, content: bytes) -> dict[str, Sheet]:
    import openpyxl

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # openpyxl warns of parts it leaves out, such as drop-down lists
            check_size(name, content)
            values = openpyxl.load_workbook(io.BytesIO(content), data_only=True)
            formulas = openpyxl.load_workbook(io.BytesIO(content))
    except Unreadable:
        raise
    except Exception as error:  # a damaged file breaks the zip, the XML or openpyxl, each in its own words
        raise Unreadable(
            f"{name!r} is not a workbook that can be read ({error}); open it in a spreadsheet program and save it "
            "as .xlsx, without a password."
        ) from None
    sheets: dict[str, Sheet] = {}
    for sheet in values.worksheets:
        table = _table_named(sheet.title)
        if table:
            _only_one(table, sheet.title, sheets)
            sheets[table] = _sheet(table, _grid(sheet, formulas[sheet.title]))
    if not sheets:
        raise Unreadable(
            f"{name!r} has no sheet named {', '.join(TABLES)}; its sheets are {', '.join(values.sheetnames)}."
        )
    return sheets


def _grid(values: Worksheet, formulas: Worksheet) -> Iterable[tuple[int, tuple[Cell, ...]]]:
    last_row, last_column = values.max_row, values.max_column  # looked up once: each goes through all cells
    if last_row > MOST_ROWS or last_column > MOST_COLUMNS:
        raise Unreadable(
            f"sheet {values.title!r} reaches to row {last_row} and column {last_column}; allowed are "
            f"{MOST_ROWS} rows and {MOST_COLUMNS} columns. Delete the empty rows and columns behind the table."
        )
    if last_row * last_column > MOST_CELLS:
        raise Unreadable(
            f"sheet {values.title!r} has {last_row} rows of {last_column} columns; allowed are {MOST_CELLS} cells. "
            "Delete the empty rows and columns behind the table."
        )
    above = {}
    for merged in values.merged_cells.ranges:
        for row in range(merged.min_row + 1, merged.max_row + 1):
            above[row, merged.min_col] = (merged.min_row, merged.min_col)
    for row in range(1, last_row + 1):
        cells = []
        for column in range(1, last_column + 1):
            at = above.get((row, column), (row, column))
            cell = _cell(values.cell(*at).value, formulas.cell(*at).data_type)
            cells.append(Cell(cell.text, cell.problem, shared=at != (row, column), typed=cell.typed))
        yield row, tuple(cells)


def _cell(value: Any, formula_type: str) -> Cell:
    if value is None:
        if formula_type == "f":
            return Cell("a formula", "its result is not stored; open the plan in a spreadsheet program and save it")
        return Cell("")
    if isinstance(value, bool):
        return Cell("yes" if value else "no")
    if isinstance(value, int | float):
        return Cell(f"{value:.12g}", typed=False)
    if isinstance(value, datetime | date | time):
        return Cell(str(value), "the cell holds a date; set its format to text and type it again")
    return _text(str(value))


def tidied(text: str) -> str:
    """A text in one line of signs that can be shown."""
    return " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())


def _text(raw: str) -> Cell:
    text = tidied(raw)
    return Cell(text, "the formula in this cell has no result" if _NO_RESULT.match(text) else "")


def _sheet(table: str, grid: Iterable[tuple[int, tuple[Cell, ...]]]) -> Sheet:
    kept = []
    for number, cells in grid:
        first = next((cell for cell in cells if cell.text), None)
        if first and not (first.text.startswith(REMARK) and not first.problem):
            kept.append((number, cells))
    return Sheet(table, tuple(kept))


# -- the size of a workbook, before it is expanded

# A full plan unpacks to 0.2 MB and 10 000 elements; six times as many still open in a second or two.
_MOST_UNPACKED = 6_000_000  # bytes of all parts, whatever they are called
MOST_CELLS = 60_000  # elements of XML, cells covered and pieces of lists
_MOST_PARTS = 500
_PIECE = 64_000  # bytes unpacked at a time
_RANGE = re.compile(r"\$?([A-Z]{1,3})\$?(\d{1,7}):\$?([A-Z]{1,3})\$?(\d{1,7})")

_TIDY = "Delete the empty rows and columns behind the tables, or copy the tables into a new workbook."


def check_size(name: str, content: bytes) -> None:
    """Raise `Unreadable` if a workbook would grow beyond what a plan needs. Other errors: as `zipfile` raises them."""
    with zipfile.ZipFile(io.BytesIO(content)) as packed:
        parts = packed.infolist()
        # No part gives more bytes than it claims: zipfile stops there.
        size = sum(part.file_size for part in parts)
        if size > _MOST_UNPACKED:
            raise Unreadable(
                f"{name!r} unpacks to {size / 1e6:.1f} MB of cells; allowed are {_MOST_UNPACKED / 1e6:.0f} MB. {_TIDY}"
            )
        if len(parts) > _MOST_PARTS:
            raise Unreadable(f"{name!r} is packed in {len(parts)} parts; allowed are {_MOST_PARTS}. {_TIDY}")
        counter = _Counter(name)
        for part in parts:
            with packed.open(part) as unpacked:
                counter.count(unpacked)


class _Counter:
    """Counts what the parts of one workbook would become."""

    def __init__(self, name: str) -> None:
        self._name, self._found = name, 0

    def count(self, unpacked: IO[bytes]) -> None:
        parser = expat.ParserCreate()
        parser.StartElementHandler = self._element
        parser.StartDoctypeDeclHandler = self._doctype
        try:
            while piece := unpacked.read(_PIECE):
                parser.Parse(piece)
        except expat.ExpatError:
            return  # a picture, or damaged: the reader would get no further in it either

    def _element(self, element: str, attributes: Mapping[str, str]) -> None:
        self._found += 1
        for value in attributes.values():
            self._found += value.count(" ") + value.count(",")
        covered = element.rpartition(":")[2] in ("mergeCell", "hyperlink") and _RANGE.fullmatch(
            attributes.get("ref", "")
        )
        if covered:
            left, top, right, bottom = covered.groups()
            rows, columns = int(bottom) - int(top) + 1, _number(right) - _number(left) + 1
            self._found += max(rows, 0) * max(columns, 0)
            if self._found > MOST_CELLS:
                raise Unreadable(
                    f"{self._name!r} merges or links the cells {covered[0]}, {rows * columns} of them; allowed are "
                    f"{MOST_CELLS} cells in all. Split those cells, or merge only those within the table."
                )
        if self._found > MOST_CELLS:
            raise Unreadable(
                f"{self._name!r} holds more than {MOST_CELLS} cells and other entries, formatted empty ones "
                f"included, which is what is allowed. {_TIDY}"
            )

    def _doctype(self, *_: object) -> None:
        raise Unreadable(f"{self._name!r} declares a document type, which no spreadsheet program writes.")


def _number(letters: str) -> int:
    """The number of a column: A is 1, AA is 27."""
    number = 0
    for letter in letters:
        number = number * 26 + ord(letter) - ord("A") + 1
    return number
