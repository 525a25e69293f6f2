"""An editable table of the plan's columns: filled from a network, typed in cell by cell, or pasted from a spreadsheet.

Only a page of rows is shown at a time, by cells that are used again, so 125 stations are as fast as 5. What is typed
stays as it is typed; what a cell means is the business of `helpers.plan.rows`.
"""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence
from functools import partial
from typing import Any

import ipywidgets as widgets
import traitlets

from helpers.errors import WorkbookError
from helpers.panels.kit.fields import Field
from helpers.panels.kit.network_field import network_at, network_options
from helpers.plan.columns import Column
from helpers.plan.model import Network
from helpers.plan.my_networks import DEMO_SITE, DEMOS
from helpers.plan.rows import MOST_ROWS, Shape, Texts, pasted
from helpers.wording import counted

Fill = Callable[[Network, str], Sequence[Texts]]
_EXAMPLE = ("", "")  # in the place of a network
_STYLE = {"description_width": "64px"}
_NUMBER_PX, _REMOVE_PX = 26, 30


class PlanTable(widgets.VBox):
    """The table. `value` is its rows as texts, or the error for which a network could not be shown.

    shape: the columns; widths: of each in px; fill: the rows of a network, and of a part of it where `parts` tells the
    names of its parts; shown: rows on a page; own: begin with the user's own network; usual: else with this demo plan;
    example: rows to begin with in place of a network, and what the list calls them; on_network: told of a network that
    is chosen, and of one's own at the start.
    """

    value = traitlets.Any()

    def __init__(
        self,
        shape: Shape,
        widths: Sequence[int],
        fill: Fill,
        *,
        own: bool = False,
        shown: int = 8,
        parts: Callable[[Network], Sequence[str]] | None = None,
        usual: str = DEMO_SITE,
        example: tuple[str, Sequence[Texts]] | None = None,
        on_network: Callable[[Network], object] | None = None,
    ) -> None:
        self.shape, self._fill, self._parts, self._shown = shape, fill, parts, shown
        self._first, self._busy = 0, False
        self._texts: tuple[Texts, ...] = ()
        self._before: tuple[Texts, ...] = ()  # the last change of many cells at once
        options, start = network_options(own=own, usual=usual)
        self._example = example[1] if example else ()
        if example:
            options = [(example[0], _EXAMPLE), *options]
            start = start if own and start[0] not in DEMOS else _EXAMPLE
        self._on_network = on_network if own else None
        wide = sum(widths) + _NUMBER_PX + _REMOVE_PX
        self.network = widgets.Dropdown(options=options, value=start, description="network", style=_STYLE,
                                        layout=widgets.Layout(width=f"{min(wide, 400)}px"))  # fmt: skip
        self.part = widgets.Dropdown(description="segment", style=_STYLE,
                                     layout=widgets.Layout(width=f"{min(wide, 400)}px"))  # fmt: skip
        self._cells(widths)
        self._tools(wide)
        super().__init__([self._heads, self.grid, self._pages, self._buttons, self._pasting])
        self.take_network()
        self._on_network = on_network
        self.network.observe(self._turned, "value")
        self.part.observe(self._turned, "value")

    # -- what is shown ------------------------------------------------------------------------------------

    def _cells(self, widths: Sequence[int]) -> None:
        columns = " ".join(f"{width}px" for width in (_NUMBER_PX, *widths, _REMOVE_PX))
        layout = widgets.Layout(width="auto", margin="0 2px 2px 0")
        self._titles = [widgets.HTML(), *(_title(column) for column in self.shape.columns), widgets.HTML()]
        self._numbers = [widgets.HTML() for _ in range(self._shown)]
        self.cells: list[list[Any]] = [
            [self._cell(n, m, column, layout) for m, column in enumerate(self.shape.columns)]
            for n in range(self._shown)
        ]
        self._removes = [self._button("✕", partial(self._remove, n), "Remove this row", _REMOVE_PX - 4)
                         for n in range(self._shown)]  # fmt: skip
        self.grid = widgets.GridBox(layout=widgets.Layout(grid_template_columns=columns, grid_gap="0px"))

    def _cell(self, row: int, number: int, column: Column, layout: widgets.Layout) -> widgets.Widget:
        """A cell; where only some words may stand, they are offered."""
        words = column.allowed if column.kind in ("choice", "yes or no") else ()
        made = (partial(widgets.Combobox, options=words) if words else widgets.Text)(
            continuous_update=False, layout=layout, tooltip=f"{column.heading}, row {row + 1} of those shown"
        )
        made.observe(partial(self._typed, row, number), "value")
        return made

    def _tools(self, wide: int) -> None:
        networks = [self.network, self.part] if self._parts else [self.network]
        self._heads = (widgets.HBox if wide > 600 else widgets.VBox)(networks)
        self.back = self._button("▲", partial(self._turn_page, -1), "Rows before", 32)
        self.forth = self._button("▼", partial(self._turn_page, 1), "Rows after", 32)
        self.counted = widgets.HTML()
        self._pages = widgets.HBox([self.back, self.forth, self.counted])
        self.add = self._button("Add a row", self._add, "An empty row at the end", 82)
        self.again = self._button("Repeat last", self._repeat, "The last row once more, with another name", 84)
        self.paste = self._button("Paste …", self._show_pasting, "Paste rows of a spreadsheet", 62)
        self.undo = self._button("Undo", self._undo, "The rows as before the last button or network", 52)
        self._buttons = widgets.HBox([self.add, self.again, self.paste, self.undo])
        self.box = widgets.Textarea(placeholder="paste cells of a spreadsheet here", rows=4,
                                    layout=widgets.Layout(width=f"{min(wide, 500)}px"))  # fmt: skip
        self.replace = self._button("Replace the rows", self._paste, "These rows instead of those shown", 140)
        self.append = self._button("Add to the rows", partial(self._paste, keep=True), "These rows behind them", 140)
        self.said = widgets.HTML()
        buttons = widgets.HBox([self.replace, self.append])
        self._pasting = widgets.VBox([self.box, buttons, self.said], layout=widgets.Layout(display="none"))

    @staticmethod
    def _button(label: str, work: Callable[[], object], tip: str, width: int) -> widgets.Button:
        button = widgets.Button(description=label, tooltip=tip,
                                layout=widgets.Layout(width=f"{width}px", padding="0"))  # fmt: skip
        button.on_click(lambda _: work())
        return button

    def _draw(self) -> None:
        """Put the rows of this page into the cells."""
        rows = self.rows
        self._first = max(0, min(self._first, len(rows) - 1) // self._shown * self._shown)
        page = rows[self._first : self._first + self._shown]
        self._busy = True
        for n, row in enumerate(page):
            self._numbers[n].value = f'<div style="text-align:right;padding-right:4px">{self._first + n + 1}</div>'
            for cell, text in zip(self.cells[n], row, strict=True):
                cell.value = text
        self._busy = False
        lines = zip(self._numbers, self.cells, self._removes, strict=True)
        children = [*self._titles, *(w for number, cells, remove in lines for w in (number, *cells, remove))]
        self.grid.children = children[: (len(page) + 1) * len(self._titles)]
        several = len(rows) > self._shown
        self._pages.layout.display = "" if several else "none"
        self.back.disabled, self.forth.disabled = self._first == 0, self._first + self._shown >= len(rows)
        self.counted.value = f"rows {self._first + 1} to {self._first + len(page)} of {len(rows)}" if several else ""

    # -- what a person does -------------------------------------------------------------------------------

    @property
    def rows(self) -> tuple[Texts, ...]:
        """The rows as they stand, also beside a network that could not be shown."""
        return self._texts

    def put(self, rows: Sequence[Texts]) -> None:
        """Show these rows; `undo` brings those before them back."""
        self._before, self._texts = self._texts, tuple(rows)
        self.value = self._texts
        self._draw()

    def take_network(self) -> None:
        """Fill the table from the network that is chosen."""
        if self.network.value == _EXAMPLE:
            self.put(self._example)
            return
        try:
            network = network_at(self.network.value)
            if self._on_network:
                self._on_network(network)
            self._offer_parts(network)
            self.put(self._fill(network, self.part.value or ""))
        except WorkbookError as error:
            self.value = error  # what stands in the cells stays

    def _offer_parts(self, network: Network) -> None:
        names = list(self._parts(network)) if self._parts else []
        if list(self.part.options) != names:
            self._busy = True
            self.part.options = names
            self._busy = False

    def _turned(self, _: object) -> None:
        if not self._busy:
            self.take_network()

    def _typed(self, row: int, number: int, change: Any) -> None:
        if self._busy:
            return
        rows = [list(each) for each in self._texts]
        rows[self._first + row][number] = change.new
        self.value = self._texts = tuple(tuple(each) for each in rows)

    def _undo(self) -> None:
        self.put(self._before)

    def _remove(self, row: int) -> None:
        self.put([each for n, each in enumerate(self.rows) if n != self._first + row])

    def _add(self) -> None:
        self._grow([("",) * len(self.shape.columns)])

    def _repeat(self) -> None:
        if self.rows:
            name, *rest = self.rows[-1]
            self._grow([(_next_name(name, {row[0] for row in self.rows}), *rest)])

    def _grow(self, more: Sequence[Texts]) -> None:
        rows = (*self.rows, *more)
        if len(rows) <= MOST_ROWS:
            self._first = len(rows) - 1
            self.put(rows)

    def _turn_page(self, way: int) -> None:
        self._first += way * self._shown
        self._draw()

    def _show_pasting(self) -> None:
        self._pasting.layout.display = "none" if self._pasting.layout.display == "" else ""

    def _paste(self, *, keep: bool = False) -> None:
        try:
            rows = pasted(self.box.value, self.shape)
            if keep and len(self.rows) + len(rows) > MOST_ROWS:
                raise WorkbookError(f"Together these are more than {MOST_ROWS} rows, which is what is allowed.")
        except WorkbookError as error:
            self._say(str(error))
            return
        except Exception as error:
            self._say(f"The workbook itself failed here ({type(error).__name__}: {error}).")
            return
        self._first = 0
        self.put([*self.rows, *rows] if keep else rows)
        self.box.value = ""
        self._say(f"{counted(len(rows), 'row')} taken over.")

    def _say(self, words: str) -> None:
        self.said.value = f'<p role="status" style="line-height:1.3;margin:0">{html.escape(words)}</p>'


def _title(column: Column) -> widgets.HTML:
    unit = f" ({column.unit})" if column.measured else ""
    words = html.escape(column.heading + unit)
    return widgets.HTML(
        f'<div title="{html.escape(column.explained)}" style="line-height:1.15;font-weight:600">{words}</div>'
    )


def _next_name(name: str, taken: set[str]) -> str:
    """A name that is not taken: the number behind it goes on, `Fan 2` after `Fan 1` and after `Fan`."""
    stem, _, digits = name.rpartition(" ")
    stem, number = (stem, int(digits)) if stem and digits.isdecimal() and len(digits) < 6 else (name, 1)
    return next(new for n in range(number + 1, number + 2 + len(taken)) if (new := f"{stem} {n}") not in taken)


def table_field(table: PlanTable, read: Callable[[Sequence[Texts]], object], *, wide: bool = False) -> Field:
    """The table as a field of a panel; read: what the panel's calculation takes, from the rows."""

    def value_of(value: object) -> object:
        if isinstance(value, WorkbookError):
            raise value
        return read(value)  # type: ignore[arg-type]

    return Field(table, value_of, wide=wide)
