"""The tables of the demo plan for tests: changed cell by cell, and written as CSV or as a workbook."""

import csv
import io

import openpyxl

from helpers import facts

DEMO = facts.DATA / "demo" / "saltmarsh-mill"
TABLES = ("network", "stations", "cable")


def demo():
    """Each table as a list of rows, remarks included, so that row n of a spreadsheet is item n - 1."""
    return {table: list(csv.reader((DEMO / f"{table}.csv").read_text(encoding="utf-8").splitlines())) for table in TABLES}


def heading_row(rows):
    return next(index for index, row in enumerate(rows) if row and row[0] == "network")


def column(rows, heading):
    return [text.split(" (")[0] for text in rows[heading_row(rows)]].index(heading)


def put(tables, table, row, heading, value):
    """Write a value into a cell, by the row number of the spreadsheet and the heading without its unit."""
    tables[table][row - 1][column(tables[table], heading)] = value
    return tables


def row_of(tables, table, **cells):
    """The row number of the first row whose cells hold these texts; `_` stands for a space in a heading."""
    rows = tables[table]
    for number, row in enumerate(rows, 1):
        if number > heading_row(rows) + 1 and all(
            row[column(rows, heading.replace("_", " "))] == text for heading, text in cells.items()
        ):
            return number
    raise LookupError(cells)


def as_csv(tables, *, delimiter=",", encoding="utf-8", decimal="."):
    files = {}
    for table, rows in tables.items():
        text = io.StringIO()
        csv.writer(text, delimiter=delimiter).writerows(
            [[_with_decimal(cell, decimal) for cell in row] for row in rows]
        )
        files[f"{table}.csv"] = text.getvalue().encode(encoding)
    return files


def as_xlsx(tables, edit=None):
    """One workbook; numbers are stored as numbers; `edit` may change the workbook before it is stored."""
    book = openpyxl.Workbook()
    book.remove(book.active)
    for table, rows in tables.items():
        sheet = book.create_sheet(table)
        for number, row in enumerate(rows, 1):
            for place, text in enumerate(row, 1):
                sheet.cell(number, place, _as_number(text))
    if edit:
        edit(book)
    content = io.BytesIO()
    book.save(content)
    return {"mill.xlsx": content.getvalue()}


def _as_number(text):
    try:
        return float(text)
    except ValueError:
        return text or None


def _with_decimal(text, sign):
    return text.replace(".", sign) if _as_number(text) is not None and isinstance(_as_number(text), float) else text
