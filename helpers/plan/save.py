"""Writes a plan, or a blank one to fill in, as a folder of CSV tables or as an .xlsx workbook."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any

from helpers.bus.cable.laid import Segment
from helpers.errors import Unreadable
from helpers.plan.columns import BYTE, HEXADECIMAL, TABLES, Column, Value, columns
from helpers.plan.model import Network, Plan, stations_of
from helpers.plan.sheets import REMARK
from helpers.spreadsheet import csv_file
from helpers.written import UNITS, Range

if TYPE_CHECKING:
    from openpyxl.worksheet.worksheet import Worksheet

Grid = list[list[str]]
Fields = Mapping[str, Any]  # a row of a table by the fields of its columns

# So many rows of a blank workbook offer the allowed words as a drop-down list.
_LISTED_ROWS = 400


def save_plan(plan: Plan, path: str | Path, *, overwrite: bool = False) -> list[Path]:
    """Write a plan to a new folder, or to a file if its name ends with .xlsx; gives the files written.

    Raises `Unreadable` if something of that name is there already and `overwrite` is not given.
    """
    return _write({table: _filled(plan, table) for table in TABLES}, Path(path), overwrite)


def blank_plan(path: str | Path, *, overwrite: bool = False) -> list[Path]:
    """Write an empty plan: the headings, and below them remarks that explain each column and give an example."""
    return _write({table: _blank(table) for table in TABLES}, Path(path), overwrite)


def plan_files(plan: Plan | None, *, workbook: bool) -> dict[str, bytes]:
    """The files of a plan, or of a blank one, by name: for a download."""
    grids = {table: _filled(plan, table) if plan else _blank(table) for table in TABLES}
    return (
        {"plan.xlsx": _xlsx(grids)} if workbook else {f"{table}.csv": csv_file(grid) for table, grid in grids.items()}
    )


def as_text(column: Column, value: Value) -> str:
    """A value as it stands in a cell, in the unit of its column.

    >>> from helpers.plan.columns import column_for
    >>> as_text(column_for("network", "bit rate"), 1500000.0)
    '1500'
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Range):
        return _range(column, value)
    return _number(column, value) if isinstance(value, int | float) else value


def _range(column: Column, value: Range) -> str:
    if value.most is None or value.likely is None:
        return "?"
    if value.about:
        return f"about {_number(column, value.likely)} {column.unit}"
    return f"{_number(column, value.least)} to {_number(column, value.most)} {column.unit}"


def _number(column: Column, value: float) -> str:
    if column.unit == HEXADECIMAL:
        return f"{HEXADECIMAL}{int(value):04X}"
    if column.unit.startswith(BYTE):
        return f"{column.unit}{value}"
    factor = UNITS[column.kind][column.unit.lower()] if column.measured else 1.0
    text = f"{value / factor:.12g}"
    whole, _, fraction = text.partition(".")
    # 1.234 might be read as 1234 where a point groups thousands: the reader refuses it, 1.2340 is clear.
    return f"{whole}.{fraction}0" if len(fraction) == 3 else text


def _filled(plan: Plan, table: str) -> Grid:
    rows: list[Fields]
    if table == "network":
        rows = [vars(network) | {"network": network.name} for network in plan]
    elif table == "stations":
        rows = [row for network in plan for segment in network.segments for row in _station_rows(network, segment)]
    elif table == "cable":
        rows = [row for network in plan for segment in network.segments for row in _cable_rows(network, segment)]
    else:
        rows = [vars(cable) | {"network": network.name} for network in plan for cable in network.neighbours]
    return [_headings(table), *([as_text(column, row.get(column.field)) for column in columns(table)] for row in rows)]


def _station_rows(network: Network, segment: Segment) -> Iterator[Fields]:
    for station in stations_of(segment):
        yield vars(station) | {"network": network.name, "segment": segment.name}


def _cable_rows(network: Network, segment: Segment) -> Iterator[Fields]:
    for (first, second), piece in zip(pairwise(segment.plugs), segment.pieces, strict=True):
        row = vars(piece) | {"from_station": first.name, "to_station": second.name}
        row |= {"network": network.name, "segment": segment.name, "length_m": piece.open or piece.length_m}
        yield row | ({"cable": None} if piece.cable == network.cable_type else {})


def _headings(table: str) -> list[str]:
    return [f"{column.heading} ({column.unit})" if column.measured else column.heading for column in columns(table)]


def _blank(table: str) -> Grid:
    meaning = [f"{column.explained} Filled: {column.filled}." for column in columns(table)]
    example = [column.example for column in columns(table)]
    meaning[0] = f"{REMARK} {meaning[0]} Rows that begin with {REMARK} are remarks."
    example[0] = f"{REMARK} for example: {example[0]}"
    return [_headings(table), meaning, example]


def _write(grids: dict[str, Grid], path: Path, overwrite: bool) -> list[Path]:
    if path.suffix.lower() == ".xlsx":
        files = {path: _xlsx(grids)}
    elif path.suffix:
        raise Unreadable(f"{path.name!r}: a plan is saved as a folder (no ending) or as one file ending with .xlsx.")
    else:
        files = {path / f"{table}.csv": csv_file(grid) for table, grid in grids.items()}
    there = [file for file in files if file.exists()]
    if there and not overwrite:
        raise Unreadable(f"{', '.join(str(file) for file in there)} is there already; give another name.")
    for file, content in files.items():
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content)
    return list(files)


def _xlsx(grids: dict[str, Grid]) -> bytes:
    import openpyxl

    book = openpyxl.Workbook()
    book.remove(book.worksheets[0])
    for table, grid in grids.items():
        sheet = book.create_sheet(table)
        for row, line in enumerate(grid, 1):
            for number, (column, text) in enumerate(zip(columns(table), line, strict=True), 1):
                cell = sheet.cell(row, number, _as_cell(column, text) if row > 1 else text)
                if isinstance(cell.value, str):
                    cell.data_type = "s"  # a text, even where it begins with the sign of a formula
        _dress(sheet, table)
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def _as_cell(column: Column, text: str) -> str | float | None:
    """A number as a number, so that the spreadsheet program shows it with its own decimal sign."""
    if column.is_number:
        try:
            return float(text)
        except ValueError:  # a remark, or empty
            return text or None
    return text or None


def _dress(sheet: Worksheet, table: str) -> None:
    """Bold headings that stay in sight, explained remarks in italics, drop-down lists for fixed words."""
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter
    from openpyxl.worksheet.datavalidation import DataValidation

    sheet.freeze_panes = "A2"
    for row in sheet.iter_rows(max_row=3):
        remark = str(row[0].value or "").startswith(REMARK)
        for cell in row:
            cell.font = Font(bold=cell.row == 1, italic=remark)
            cell.alignment = Alignment(wrap_text=remark or cell.row == 1, vertical="top")
    for number, column in enumerate(columns(table), 1):
        letter = get_column_letter(number)
        sheet.column_dimensions[letter].width = max(12, min(24, len(column.heading) + 6))
        if column.kind in ("choice", "yes or no"):
            words = DataValidation(type="list", formula1=f'"{",".join(column.allowed)}"', allow_blank=True)
            words.add(f"{letter}2:{letter}{_LISTED_ROWS}")
            sheet.add_data_validation(words)
