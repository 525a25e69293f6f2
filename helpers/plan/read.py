"""Reads a network plan from a folder of CSV tables or from an .xlsx workbook with the same tables."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from helpers.errors import Unreadable
from helpers.plan.columns import OPTIONAL, TABLES, Column, Value, column_for, columns
from helpers.plan.descriptions import is_description, with_descriptions
from helpers.plan.join import Row, join
from helpers.plan.model import Plan
from helpers.plan.sheets import REMARK, Cell, PlanUnreadable, Problem, Sheet, read_sheets

# A title and some lines of text may stand above the headings.
_HEADINGS_WITHIN = 20
_BLANK = Cell("")


def read_plan(source: str | Path | Mapping[str, bytes]) -> Plan:
    """The plan in a folder, in a workbook, or in uploaded files (name to content), device descriptions among them.

    A column of one's own gets a heading that begins with #; so does a row that is a remark.
    Raises `PlanUnreadable` with every fault of every table; `Unreadable` if there is no plan at all.

    >>> [network.name for network in read_plan("data/demo/saltmarsh-mill")]
    ['Mill line']
    """
    tables = source
    if isinstance(source, Mapping):
        tables = {name: content for name, content in source.items() if not is_description(name)} or source
    sheets = read_sheets(tables)
    problems: list[Problem] = []
    rows: dict[str, list[Row]] = {}
    for table in TABLES:
        if table in sheets:
            found = _rows(sheets[table], problems)
            if found is not None:
                rows[table] = found
        elif table not in OPTIONAL:
            problems.append(Problem(table, 0, "", "no such table", f"a file {table}.csv, or a sheet {table}"))
    plan = join(_name(tables), rows, problems)
    if problems:
        raise PlanUnreadable(problems)
    return with_descriptions(plan, source)


def network_names(files: Mapping[str, bytes]) -> tuple[str, ...]:
    """The names in the table of networks alone; at least one, empty if the table can't be read."""
    sheet = read_sheets(files).get("network")
    rows = (sheet and _rows(sheet, [])) or ()
    return tuple(row.text("network") for row in rows) or ("",)


def _name(source: str | Path | Mapping[str, bytes]) -> str:
    if isinstance(source, Mapping):
        return Path(next(iter(source))).stem if len(source) == 1 else "uploaded plan"
    path = Path(source)
    return path.resolve().name if path.is_dir() else path.stem


@dataclass(frozen=True)
class _Placed:
    """A column of the schema, found in the sheet at an index, with the unit of its bare numbers."""

    index: int
    column: Column
    unit: str


def _rows(sheet: Sheet, problems: list[Problem]) -> list[Row] | None:
    """The rows below the headings, with as many values as could be read; None if there are no headings."""
    table = sheet.table
    head = _heading_row(sheet)
    if head is None:
        wanted = ", ".join(column.heading for column in columns(table))
        first = " | ".join(cell.text for cell in sheet.rows[0][1] if cell.text) if sheet.rows else "an empty table"
        problems.append(Problem(table, 0, "", first, f"a row of headings: {wanted}"))
        return None
    number, headings = sheet.rows[head]
    body = sheet.rows[head + 1 :]
    placed = _placed(table, number, headings, problems)
    _headless(table, number, headings, body, problems)
    missing = {column.heading for column in columns(table)} - {place.column.heading for place in placed}
    for column in columns(table):
        if column.required and column.required != "no" and column.heading in missing:
            problems.append(Problem(table, number, column.heading, "no such heading", f"one named {column.heading!r}"))
    if not body and table in ("network", "stations"):
        problems.append(Problem(table, 0, "", "no row below the headings", f"a row for each {table.rstrip('s')}"))
    return [_row(table, line, cells, placed, problems) for line, cells in body]


def _heading_row(sheet: Sheet) -> int | None:
    """Index of the row with the most known headings among the first ones; one alone may be a title."""
    known = [
        sum(column_for(sheet.table, cell.text) is not None for cell in cells)
        for _, cells in sheet.rows[:_HEADINGS_WITHIN]
    ]
    return known.index(max(known)) if known and max(known) > 1 else None


def _placed(table: str, number: int, headings: tuple[Cell, ...], problems: list[Problem]) -> list[_Placed]:
    placed: list[_Placed] = []
    for index, cell in enumerate(headings):
        if not cell.text or cell.text.startswith(REMARK):
            continue
        column = column_for(table, cell.text)
        if column is None:
            known = ", ".join(column.heading for column in columns(table))
            own = f"one of {known}; the heading of a column of your own begins with {REMARK}"
            problems.append(Problem(table, number, cell.text, "a heading that is not known", own))
        elif any(place.column is column for place in placed):
            problems.append(Problem(table, number, cell.text, "this heading twice", "each heading once"))
        else:
            try:
                placed.append(_Placed(index, column, column.heading_unit(cell.text)))
            except Unreadable as error:
                problems.append(Problem(table, number, column.heading, str(error), column.expected))
                placed.append(_Placed(index, column, column.unit))
    return placed


def _headless(
    table: str,
    number: int,
    headings: tuple[Cell, ...],
    body: tuple[tuple[int, tuple[Cell, ...]], ...],
    problems: list[Problem],
) -> None:
    """Report entries below an empty heading: they would be left out without a word."""
    width = max((len(cells) for _, cells in body), default=0)
    for index in range(width):
        if index < len(headings) and headings[index].text:
            continue
        entry = next(((line, cells[index]) for line, cells in body if index < len(cells) and cells[index].text), None)
        if entry:
            line, cell = entry
            place = f"number {index + 1}"
            problems.append(Problem(table, line, place, repr(cell.text), f"a heading above it in row {number}"))


def _row(table: str, line: int, cells: tuple[Cell, ...], placed: list[_Placed], problems: list[Problem]) -> Row:
    values: dict[str, Value] = {}
    texts = {p.column.field: cells[p.index] if p.index < len(cells) else _BLANK for p in placed}
    units = {p.column.field: p.unit for p in placed}
    kind = texts.get("kind", _BLANK).text.casefold()
    faulty = set()
    for column in columns(table):
        cell = texts.get(column.field, _BLANK)
        fault = _fault(column, cell, kind)
        if fault is None and (cell.text or column.default):
            try:
                unit = units.get(column.field, column.unit)
                values[column.field] = column.value(cell.text or column.default, unit, typed=cell.typed)
            except Unreadable as error:
                fault = (repr(cell.text), str(error))
        if fault and column.field in texts:
            problems.append(Problem(table, line, column.heading, *fault))
        if fault:
            faulty.add(column.field)
    return Row(table, line, values, frozenset(faulty))


def _fault(column: Column, cell: Cell, kind: str) -> tuple[str, str] | None:
    """What was found and what was expected, for a cell that can't even be looked into."""
    if cell.problem:
        return f"{cell.text!r}, {cell.problem}", column.expected
    if cell.shared and cell.text and column.is_number:
        return f"a cell merged with the one above ({cell.text})", f"{column.expected}, in each row"
    if not cell.text and column.needed_for(kind):
        return "nothing", column.expected
    return None
