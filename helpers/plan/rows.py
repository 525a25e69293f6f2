"""Some columns of a plan's tables as rows of texts that a person edits, and what they mean.

A panel that needs stations, cables or neighbours shows such rows, filled from a network. They are read by the columns
of the plan (`data/plan_columns.csv`), so a cell means the same here as in a whole plan.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, TypeVar

from helpers.bus.address.address import LAST_USABLE, Holder
from helpers.bus.cable.laid import Plug, Segment
from helpers.bus.cable.termination import terminated
from helpers.bus.time.message_cycle import Exchange
from helpers.device import formats
from helpers.device.formats import DataFormat
from helpers.device.identifiers import Configuration
from helpers.device.io_image import ImageStation as IoStation
from helpers.errors import Unknown, Unreadable, WorkbookError
from helpers.plan.columns import Column, columns, plain
from helpers.plan.join import Row, key, neighbours_of, piece_of
from helpers.plan.model import Neighbour, Network
from helpers.plan.save import as_text
from helpers.plan.sheets import PlanUnreadable, Problem, Sheet, as_table, csv_sheet, tidied
from helpers.wording import counted, short
from helpers.written import Range

T = TypeVar("T")

Texts = tuple[str, ...]  # one row, a text for each column

MOST_ROWS = 250  # twice the addresses of a network: a list may be wrong, but not a novel
_HEADINGS_WITHIN = 5  # of what is pasted; above them may stand a title


@dataclass(frozen=True)
class Shape:
    """The columns that are shown. needed, free: fields that have to be filled here, or need not, unlike in a plan."""

    columns: tuple[Column, ...]
    needed: frozenset[str] = field(default=frozenset())
    free: frozenset[str] = field(default=frozenset())

    def row(self, values: Mapping[str, Any]) -> Texts:
        """One row as texts, from its values by field."""
        return tuple(as_text(column, values.get(column.field)) for column in self.columns)

    def read(self, rows: Sequence[Texts], problems: list[Problem]) -> list[Row]:
        """The values of all rows that are not empty; what can't be read is added to `problems`."""
        if len(rows) > MOST_ROWS:
            raise Unreadable(f"the table has {len(rows)} rows; allowed are {MOST_ROWS}.")
        return [self._read(n, row, problems) for n, row in enumerate(rows, 1) if any(text.strip() for text in row)]

    def _read(self, number: int, row: Texts, problems: list[Problem]) -> Row:
        texts = {column.field: tidied(text) for column, text in zip(self.columns, row, strict=True)}
        kind = texts.get("kind", "").casefold()
        values, faulty = {}, set()
        for column in self.columns:
            text = texts[column.field]
            needed = column.field in self.needed or (column.field not in self.free and column.needed_for(kind))
            try:
                if text or column.default:
                    values[column.field] = column.value(text or column.default, column.unit)
                elif needed:
                    raise Unreadable(column.expected)
            except Unreadable as error:
                faulty.add(column.field)
                found = repr(text) if text else "nothing"
                problems.append(Problem(column.table, number, column.heading, found, str(error)))
        return Row(self.columns[0].table, number, values, frozenset(faulty))


def pick(table: str, *fields: str) -> tuple[Column, ...]:
    """Columns of a table by their fields, in the order asked for."""
    known = {column.field: column for column in columns(table)}
    return tuple(known[name] for name in fields)


# -- pasted from a spreadsheet ------------------------------------------------------------------------


def pasted(text: str, shape: Shape) -> list[Texts]:
    r"""The rows of a pasted table: cells parted by tab, semicolon or comma, with or without a row of headings.

    Headings may stand in any order, with their unit; a column that is not shown is passed over. Without headings the
    cells are those of the shown columns in their order. Raises `Unreadable` for what is no table.

    >>> pasted("address;name\n5;Fan 1\n", ADDRESSES), pasted("Fan 1\t5\tdrive", ADDRESSES)
    ([('Fan 1', '5', '')], [('Fan 1', '5', 'drive')])
    """
    sign = next((sign for sign in "\t;" if sign in text), ",")
    sheet = csv_sheet("pasted", "what was pasted", text.encode("utf-8", "replace"), delimiter=sign)
    if not sheet.rows:
        raise Unreadable("nothing was pasted; copy the cells in a spreadsheet program, and paste them here.")
    head, places = _headings(sheet, shape)
    rows = [_placed(number, [cell.text for cell in cells], places, shape) for number, cells in sheet.rows[head:]]
    if not rows:
        raise Unreadable("only headings were pasted; copy the rows below them too.")
    if len(rows) > MOST_ROWS:
        raise Unreadable(f"{len(rows)} rows were pasted; allowed are {MOST_ROWS}.")
    return rows


_Place = tuple[int, str]  # index of a cell, and the unit that its heading says


def _headings(sheet: Sheet, shape: Shape) -> tuple[int, dict[str, _Place]]:
    """Where the rows begin, and the place of each field; those of the shown columns if there are no headings."""
    by_name = {plain(column.heading): column for column in shape.columns}
    for index, (_, cells) in enumerate(sheet.rows[:_HEADINGS_WITHIN]):
        places: dict[str, _Place] = {}
        for n, cell in enumerate(cells):
            column = by_name.get(plain(cell.text)) or by_name.get(plain(cell.text.partition("(")[0].partition("[")[0]))
            if column and cell.text:
                unit = column.heading_unit(cell.text)
                places.setdefault(column.field, (n, unit if unit != column.unit else ""))
        if len(places) > 1:
            return index + 1, places
    return 0, {column.field: (n, "") for n, column in enumerate(shape.columns)}


def _placed(number: int, cells: list[str], places: Mapping[str, _Place], shape: Shape) -> Texts:
    straight = all(place == (n, "") for n, place in enumerate(places.values()))
    if straight and any(cells[len(shape.columns) :]):
        wanted = ", ".join(column.heading for column in shape.columns)
        raise Unreadable(
            f"row {number} of what was pasted has {len(cells)} cells; the table has the columns {wanted}. Paste these, "
            "or paste the row of headings with them."
        )
    row = []
    for column in shape.columns:
        index, unit = places.get(column.field, (len(cells), ""))
        text = cells[index] if index < len(cells) else ""
        row.append(f"{text} {unit}" if text and unit and text[-1].isdecimal() else text)
    return tuple(row)


# -- what rows mean -----------------------------------------------------------------------------------

ADDRESSES = Shape(pick("stations", "name", "address", "kind"), free=frozenset({"name", "kind"}))
EXCHANGES = Shape(pick("stations", "name", "format_controller"), needed=frozenset({"format_controller"}))
IO_STATIONS = Shape(
    pick("stations", "name", "format_controller", "address", "first_in", "first_out"),
    needed=frozenset({"format_controller"}),
    free=frozenset({"address"}),
)
SEGMENT = Shape(
    (
        *pick("stations", "name", "kind"),
        *pick("cable", "length_m", "cable"),
        *pick("stations", "stub_length_m", "stub_capacitance_f"),
    ),
    free=frozenset({"length_m"}),
)
NEIGHBOURS = Shape(
    pick("neighbours", "name", "use", "volts", "supply", "shielded", "parallel_m", "distance_m", "divider", "crossing")
)
GROUPS = Shape(pick("groups", "group", "stations"))


def holders_in(rows: Sequence[Texts]) -> tuple[Holder, ...]:
    """The stations that have an address; one without a name is called after its row, one without a kind is a drive.

    >>> [(holder.name, holder.address) for holder in holders_in([("", "16#0A", ""), ("Repeater", "", "repeater")])]
    [('row 1', 10)]
    """
    return tuple(
        Holder(row.text("name") or f"row {row.number}", row.text("kind") or "drive", int(str(row.values["address"])))
        for row in _read(ADDRESSES, rows, "station")
        if "address" in row.values
    )


def exchanges_in(rows: Sequence[Texts]) -> tuple[Exchange, ...]:
    """What each station exchanges in a cycle, by its data format.

    >>> [exchange.data_bytes for exchange in exchanges_in([("Fan", "PPO 4"), ("Valve", "2/1")])]
    [24, 3]
    """
    return _of_formats(
        EXCHANGES,
        rows,
        lambda row, known: Exchange(known.bytes_out, known.bytes_in, name=row.text("format_controller")),
    )


def io_stations_in(rows: Sequence[Texts]) -> tuple[IoStation, ...]:
    """The stations of an I/O image, with the first bytes that are fixed by hand.

    >>> io_stations_in([("Switches", "16#10", "", "%IB40", "")])[0].first_in
    40
    """
    return _of_formats(IO_STATIONS, rows, _io_station)


def _io_station(row: Row, known: DataFormat | Configuration) -> IoStation:
    numbers: Any = {name: row.values.get(name) for name in ("first_in", "first_out")}
    address: Any = row.values.get("address")
    return IoStation(row.text("name"), known, bus_address=address, **numbers)


def segment_in(rows: Sequence[Texts], *, bit_rate: float, cable: str = "A") -> Segment:
    """The segment of these rows: each station, and the piece of cable from the row above; `cable` where it says none.

    Its terminators are as `helpers.bus.cable.termination.terminated` wants them.

    >>> rows = [("Controller", "controller", "", "", "", ""), ("Fan", "drive", "4", "B", "2", "")]
    >>> segment = segment_in(rows, bit_rate=500_000)
    >>> segment.length_m, segment.pieces[0].cable, segment.plugs[1].stub_length_m
    (4.0, 'B', 2.0)
    """
    problems: list[Problem] = []
    found = SEGMENT.read(rows, problems)
    if found and not isinstance(found[0].values.get("length_m", Range()), Range):
        problems.append(found[0].problem("length", "a length", "none in the first row: the cable begins there"))
    _repeated(found, problems)
    _refuse(problems)
    if len(found) < 2:
        raise Unreadable("the table needs two stations or more: a cable has two ends.")
    plugs = tuple(
        Plug(
            row.text("name"),
            row.text("kind"),
            stub_length_m=_number(row, "stub_length_m"),
            stub_cable=row.text("cable") or cable,
            stub_capacitance_f=_number(row, "stub_capacitance_f"),
        )
        for row in found
    )
    pieces = tuple(piece_of(row, cable) for row in found[1:])
    return terminated(Segment("segment", plugs, pieces, bit_rate))


def neighbours_in(rows: Sequence[Texts]) -> tuple[Neighbour, ...]:
    """The cables beside the bus cable."""
    problems: list[Problem] = []
    found = NEIGHBOURS.read(rows, problems)
    neighbours = neighbours_of(found, problems)
    _refuse(problems)
    if not found:
        raise Unreadable("the table holds no cable; write its name, what it carries, and how far away it lies.")
    return neighbours


def groups_in(rows: Sequence[Texts]) -> dict[str, int]:
    """The groups of a new line with their number of stations.

    >>> groups_in([("intake", "2"), ("dryer", "3")])
    {'intake': 2, 'dryer': 3}
    """
    groups: dict[str, int] = {}
    for row in _read(GROUPS, rows, "group", name="group"):
        groups[row.text("group")] = int(str(row.values["stations"]))
        if not 1 <= groups[row.text("group")] <= LAST_USABLE:
            _refuse([row.problem("stations", row.text("stations"), f"1 to {LAST_USABLE}, the addresses there are")])
    return groups


# -- rows of a network --------------------------------------------------------------------------------


def address_rows(network: Network) -> list[Texts]:
    """Everything that has an address, in the order of the addresses."""
    have = (station for station in network.stations if station.address is not None)
    return [ADDRESSES.row(vars(station)) for station in sorted(have, key=lambda station: station.address or 0)]


def exchange_rows(network: Network) -> list[Texts]:
    """The stations that the controller polls, with the format in the controller, else the one in the drive."""
    return [EXCHANGES.row(_with_format(vars(station))) for station in network.slaves]


def io_rows(network: Network) -> list[Texts]:
    """The stations that exchange data with the controller."""
    return [IO_STATIONS.row(_with_format(vars(station))) for station in network.slaves]


def segment_rows(network: Network, name: str) -> list[Texts]:
    """The stations of a segment, each with the piece of cable before it; of the first segment if none has the name."""
    segment = next((each for each in network.segments if each.name == name), network.segments[0])
    pieces = [{}, *(vars(piece) for piece in segment.pieces)]
    rows = []
    for plug, piece in zip(segment.plugs, pieces, strict=True):
        own = {"cable": piece["cable"] if piece and piece["cable"] != network.cable_type else None}
        length = {"length_m": piece.get("open") or piece.get("length_m")}
        rows.append(SEGMENT.row({**vars(plug), **piece, **own, **length}))
    return rows


def neighbour_rows(network: Network) -> list[Texts]:
    """The cables beside the bus cable."""
    return [NEIGHBOURS.row(vars(neighbour)) for neighbour in network.neighbours]


def group_rows(network: Network) -> list[Texts]:
    """The places of a network, and how many stations each has that the controller polls."""
    places = Counter(station.place or "line" for station in network.slaves)
    return [(place, str(count)) for place, count in places.items()]


def _with_format(values: Mapping[str, Any]) -> dict[str, Any]:
    return {**values, "format_controller": values["format_controller"] or values["format_drive"]}


# -- shared -------------------------------------------------------------------------------------------


def _read(shape: Shape, rows: Sequence[Texts], what: str, *, name: str = "name") -> list[Row]:
    """The rows, if each can be read, there is one, and no name stands twice."""
    problems: list[Problem] = []
    found = shape.read(rows, problems)
    if name == "group":
        _repeated(found, problems, name)
    _refuse(problems)
    if not found:
        raise Unreadable(f"the table holds no {what}; fill in a row, or choose a network.")
    return found


def _of_formats(
    shape: Shape, rows: Sequence[Texts], make: Callable[[Row, DataFormat | Configuration], T]
) -> tuple[T, ...]:
    """What is made of each station and its format; a format that means nothing is a problem of its cell."""
    problems: list[Problem] = []
    made = []
    found = shape.read(rows, problems)
    if len(found) > LAST_USABLE:
        raise Unreadable(f"the table has {len(found)} stations; a bus has at most {LAST_USABLE}.")
    for row in found:
        address: Any = row.values.get("address")
        if address is not None and address > LAST_USABLE:
            problems.append(row.problem("address", row.text("address"), f"0 to {LAST_USABLE}, the addresses there are"))
        if row.faulty:
            continue
        try:
            made.append(make(row, _format(row.text("format_controller"))))
        except WorkbookError as error:
            problems.append(row.problem("format in controller", repr(row.text("format_controller")), str(error)))
    _refuse(problems)
    if not made:
        raise Unreadable("the table holds no station; fill in a row, or choose a network.")
    return tuple(made)


def _format(text: str) -> DataFormat | Configuration:
    try:
        return formats.by_name(text)
    except Unknown:
        return formats.configuration(text)


def _repeated(rows: Iterable[Row], problems: list[Problem], name: str = "name") -> None:
    first: dict[str, Row] = {}
    for row in rows:
        if row.text(name):
            known = first.setdefault(key(row.text(name)), row)
            if known is not row:
                problems.append(row.problem(name, repr(row.text(name)), f"a name not yet used in row {known.number}"))


def _refuse(problems: Sequence[Problem]) -> None:
    """Raise what is wrong with the rows: one sentence, or a table if there is more than one fault."""
    if len(problems) == 1:
        bad = problems[0]
        raise Unreadable(f"Row {bad.row}, column {bad.column}: found {short(bad.found, 120)}; expected {bad.expected}.")
    if problems:
        raise as_table(PlanUnreadable(problems), f"{counted(len(problems), 'cell')} can't be used.")


def _number(row: Row, name: str) -> float:
    value: Any = row.values.get(name) or 0.0
    return float(value)
