"""The panel: inputs at the left, the answer at the right, alive as soon as the cell has run.

A panel is a title, fields, and a plain function from the fields' values to a `Answer`. Before the cell has
run, a stored notebook shows the view of the starting values as a still picture.
"""

from __future__ import annotations

import html
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import ipywidgets as widgets

from helpers.answer import Answer, Row
from helpers.errors import WorkbookError
from helpers.panels.kit.as_html import Draw, fold, html_of, table
from helpers.panels.kit.drawing import ORANGE
from helpers.panels.kit.fields import Field

HOW = "This is a still picture. Run the cell (click in it, then Shift+Enter) and the panel comes alive."

# So many rows of what is wrong stand open, and so many in all: who has mended these sees the next.
_OPEN_ROWS, _MOST_ROWS = 6, 200


class Panel(widgets.VBox):
    """A live panel. `answer` takes the fields' values by name and returns an `Answer`; `draw` tells how to draw it.

    An input that cannot be used gets a sentence, and the last good result stays, marked as old.
    """

    def __init__(
        self,
        title: str,
        fields: Mapping[str, Field],
        answer: Callable[..., Answer],
        *,
        hint: str = "",
        draw: Draw | None = None,
    ) -> None:
        self.title, self.fields, self.answer, self.draw = title, dict(fields), answer, draw
        self.said, self.result = widgets.HTML(), widgets.HTML()
        trouble: WorkbookError | None = None
        try:
            self._good = answer(**self._values())
        except WorkbookError as error:  # a network of the user's own may lack what this panel needs
            self._good, trouble = Answer("There is nothing to show yet."), error
        self._still, self._start_sentence = html_of(self._good, still=True, draw=draw), self._good.sentence
        for field in self.fields.values():
            field.widget.observe(self._changed, "value")
        self._show(*((str(trouble), trouble.rows) if trouble else ()))
        heading = widgets.HTML(f"<b style='font-size:16px'>{html.escape(title)}</b>")
        note = [widgets.HTML(f"<p style='line-height:1.35;padding-right:12px'>{html.escape(hint)}</p>")] if hint else []
        wide, narrow = ([f.around or f.widget for f in self.fields.values() if f.wide is so] for so in (True, False))
        left = widgets.VBox([*narrow, *note], layout=widgets.Layout(width="310px", flex="0 0 310px"))
        right = widgets.VBox([self.said, self.result], layout=widgets.Layout(flex="1 1 auto", min_width="0"))
        super().__init__([heading, *wide, widgets.HBox([left, right])], layout=widgets.Layout(padding="6px 0"))

    def _values(self) -> dict[str, object]:
        return {name: field.value for name, field in self.fields.items()}

    def _changed(self, _: object) -> None:
        # An exception that leaves a callback is shown nowhere in the browser, so it is shown here.
        try:
            self._good = self.answer(**self._values())
        except WorkbookError as error:
            self._show(f"{error} The result below is the last good one; it is old.", error.rows)
        except Exception as error:
            self._show(f"The workbook itself failed here ({type(error).__name__}: {error}). The result below is old.")
        else:
            self._show()

    def _show(self, trouble: str = "", rows: Sequence[Row] = ()) -> None:
        self.said.value = (
            f'<p role="alert" style="border-left:6px solid {ORANGE};padding-left:8px;margin:0">'
            f"<b>Not usable:</b> {html.escape(trouble)}</p>" if trouble else ""
        ) + trouble_rows(rows, _OPEN_ROWS)  # fmt: skip
        dim = "opacity:.45" if trouble else ""
        self.result.value = f'<div style="line-height:1.35;{dim}">{html_of(self._good, draw=self.draw)}</div>'

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        """What a notebook stores: the live view, and for a reader without a kernel a still one."""
        return at_rest(super()._repr_mimebundle_(**kwargs), self.title, self._start_sentence, self._still)


def at_rest(live: Mapping[str, Any], title: str, sentence: str, still: str) -> dict[str, Any]:
    """What a notebook stores of a live panel: with it a sentence, and HTML that is a picture of the start."""
    page = f"<p><b>{html.escape(title)}</b></p>{still}<p><i>{HOW}</i></p>"
    return {**live, "text/plain": f"{title}: {sentence}", "text/html": page}


def trouble_rows(rows: Sequence[Row], open_rows: int) -> str:
    """The table that goes with an error, so many rows open and the end of a long one folded up."""
    if not rows:
        return ""
    rest = rows[open_rows:_MOST_ROWS]
    unseen = len(rows) - _MOST_ROWS
    more = f"{len(rows) - open_rows} more" + (f", the first {len(rest)} of them" if unseen > 0 else "")
    return table(rows[:open_rows]) + (fold(more, table(rest)) if rest else "")
