"""The tables of the demo plan for tests: changed cell by cell, and written as CSV or as a workbook."""

import csv
import io
from dataclasses import replace

import openpyxl
from hypothesis import strategies as st

from helpers import facts
from helpers.bus.cable.laid import Piece, Segment
from helpers.plan.model import Neighbour, Network, Plan, Station
from helpers.written import Range

DEMO = facts.DATA / "demo" / "saltmarsh-mill"
TABLES = ("network", "stations", "cable")


def demo():
    """Each table as a list of rows, remarks included, so that row n of a spreadsheet is item n - 1."""
    return {
        table: list(csv.reader((DEMO / f"{table}.csv").read_text(encoding="utf-8").splitlines())) for table in TABLES
    }


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


# Texts that are no remark and that reading does not tidy: single spaces, printable, no # in front.
NAME = st.from_regex(r"[A-Za-zÄöß0-9=+@'\",;-][A-Za-zÄöß0-9=+@'\",;. #-]{0,8}[A-Za-z0-9]", fullmatch=True).filter(
    lambda text: "  " not in text
)
METRES = st.floats(0, 1e4).map(lambda value: round(value, 6))


def _between(least, most):
    likely = float(f"{(least + most) / 2:.12g}")
    return Piece(likely, open=Range(least, likely, most))


PIECES = (
    METRES.map(Piece)
    | st.just(Piece(10.0, open=Range()))
    | METRES.map(lambda m: Piece(m, open=Range(float(f"{m * 0.75:.12g}"), m, float(f"{m * 1.25:.12g}"), about=True)))
    | st.tuples(METRES, METRES).map(sorted).map(lambda ends: _between(*ends))
)


@st.composite
def plans(draw):
    """One network of one segment, with any names and any values that the columns allow."""
    names = draw(st.lists(NAME, min_size=2, max_size=4, unique_by=lambda name: name.casefold()))
    network, segment, kind = draw(NAME), draw(NAME), st.sampled_from(["controller", "drive", "remote I/O"])
    stations = tuple(
        Station(
            position=position,
            name=name,
            kind=draw(kind),
            address=draw(st.integers(0, 300)),
            place=draw(NAME),
            unit_load=draw(st.floats(0, 32).map(lambda value: round(value, 6))),
            stub_length_m=draw(METRES),
            stub_capacitance_f=draw(st.integers(0, 1_000_000)) / 1e12,
            stub_cable="B",
            plug_type=draw(st.sampled_from(["cutting", "through", "device"])),
            terminator_on=draw(st.booleans()),
            own_supply=draw(st.booleans()),
            may_be_off=draw(st.booleans()),
            format_drive=draw(NAME),
            first_in=draw(st.none() | st.integers(0, 65535)),
            first_out=draw(st.none() | st.integers(0, 65535)),
            min_slave_interval_s=draw(st.none() | st.integers(0, 65535).map(lambda units: round(units * 1e-4, 4))),
            watchdog_s=draw(st.none() | st.integers(0, 65025).map(lambda units: round(units * 1e-2, 2))),
            description=draw(st.sampled_from(["", "Mil_FFF1.gsd", "Lost.gsd", "=1.gsg"])),
            ident=draw(st.none() | st.integers(0, 0xFFFF)),
            note=draw(NAME),
        )
        for position, name in enumerate(names, 1)
    )
    pieces = tuple(
        replace(draw(PIECES), cable=draw(st.sampled_from(["A", "B"])), note=draw(st.just("") | NAME)) for _ in names[1:]
    )
    bit_rate = draw(st.sampled_from([9600.0, 45450.0, 93750.0, 1.5e6, 12e6]))
    laid = (Segment(segment, stations, pieces, bit_rate),)
    beside = tuple(draw(st.lists(neighbours(segment), max_size=3)))
    return Plan("p", (Network(network, bit_rate, "B", laid, draw(st.none() | st.just(126)), neighbours=beside),))


@st.composite
def neighbours(draw, segment):
    """A cable beside the bus cable, as the columns allow it."""
    use, parallel_m = draw(st.sampled_from(["data", "power", "motor", "telephone", "outdoor"])), draw(METRES)
    crossings = ["right angle", "slanting", *["none"] * bool(parallel_m)]
    return Neighbour(
        name=draw(NAME),
        use=use,
        volts=draw(st.integers(1, 1_000_000)) * 1.0,
        supply=draw(st.sampled_from(["AC", "DC"])),
        shielded=draw(st.booleans()),
        parallel_m=parallel_m,
        distance_m=draw(METRES) if parallel_m else 0.0,
        divider=draw(st.sampled_from(["none", "aluminium", "steel"])),
        crossing=draw(st.sampled_from(crossings)),
        segment=segment,
        note=draw(NAME),
    )
