"""The input fields of a panel: a label with its unit, the widget, and how what was entered is read.

A text field takes what people write (`1,5 km`, `300 ft`, `16#7E`); a slider is for playing with a value.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

import ipywidgets as widgets

from helpers import written
from helpers.bus.cable.bit_rates import bit_rate_text, bit_rates
from helpers.errors import in_range

_WIDE = widgets.Layout(width="290px")
_STYLE = {"description_width": "130px"}


@dataclass(frozen=True)
class Field:
    """A widget and the function that turns its value into what the calculation takes.

    `around` is what is shown where the widget has company (a play button beside its slider). A `wide` one takes the
    whole width of the panel, above all else.
    """

    widget: widgets.Widget
    read: Callable[[Any], object] = lambda value: value
    around: widgets.Widget | None = None
    wide: bool = False

    @property
    def value(self) -> object:
        """The value as read; a `WorkbookError` if it cannot be read."""
        return self.read(self.widget.value)


def slider(label: str, value: int, low: int, high: int, *, step: int = 1) -> Field:
    """A slider over whole numbers; the label ends with the unit."""
    return Field(
        widgets.IntSlider(value=value, min=low, max=high, step=step, description=label, continuous_update=False,
                          style=_STYLE, layout=_WIDE)
    )  # fmt: skip


def choice(label: str, options: Iterable[str] | Iterable[tuple[str, object]], value: object = None) -> Field:
    """A list to choose from; pairs are (shown, value)."""
    known = list(options)
    first = value if value is not None else (known[0][1] if isinstance(known[0], tuple) else known[0])
    return Field(widgets.Dropdown(options=known, value=first, description=label, style=_STYLE, layout=_WIDE))


def bit_rate(value: int, label: str = "bit rate") -> Field:
    """One of the bit rates of PROFIBUS DP, in bit/s."""
    return choice(label, [(bit_rate_text(rate), rate) for rate in bit_rates()], value)


def tick(label: str, value: bool = False) -> Field:
    """A box to tick."""
    return Field(widgets.Checkbox(value=value, description=label, indent=False, layout=_WIDE))


def text(label: str, value: str, read: Callable[[str], object] = str) -> Field:
    """One line of text, read when Enter is pressed or the field is left."""
    return Field(
        widgets.Text(value=value, description=label, continuous_update=False, style=_STYLE, layout=_WIDE), read
    )


def lines(label: str, value: str, read: Callable[[str], object] = str, *, rows: int = 6) -> Field:
    """Several lines of text, for pasted lists."""
    box = widgets.Textarea(value=value, description=label, continuous_update=False, rows=rows, style=_STYLE,
                           layout=widgets.Layout(width="290px"))  # fmt: skip
    return Field(box, read)


def with_unit(label: str, value: str, kind: str, unit: str, low: float, high: float) -> Field:
    """A number with its unit, as text; low and high are in the base unit of the kind (see `helpers.written`)."""
    base = next(name for name, factor in written.UNITS[kind].items() if factor == 1.0 and name)

    def read(typed: str) -> float:
        number = written.read_quantity(typed, kind, unit)
        in_range(label, number, low, high, base)
        return number

    return text(label, value, read)


def whole(label: str, value: str, low: int, high: int) -> Field:
    """A whole number as text: decimal, hexadecimal or binary."""

    def read(typed: str) -> int:
        number = written.whole(typed)
        in_range(label, number, low, high)
        return number

    return text(label, value, read)


def decimal(label: str, value: str, low: float, high: float, unit: str = "") -> Field:
    """A number as text, with decimal point or decimal comma; the label says its unit."""

    def read(typed: str) -> float:
        number = written.number(typed)
        in_range(label, number, low, high, unit)
        return number

    return text(label, value, read)


def play(label: str, value: int, low: int, high: int, *, pause_ms: int = 900) -> Field:
    """A slider that a play button moves on, step by step; it starts stopped."""
    field = slider(label, value, low, high)
    button = widgets.Play(value=value, min=low, max=high, interval=pause_ms, show_repeat=False)
    widgets.link((button, "value"), (field.widget, "value"))
    return Field(field.widget, around=widgets.VBox([field.widget, button]))


# A browser hands over a file in one message, and JupyterLab ends the connection at one of 10 MiB. What is larger is
# refused by a script beside the button (`.jupyter/labextensions`), before anything is sent.
MOST_UPLOAD_BYTES = 10_000_000


@dataclass(frozen=True)
class Upload:
    """A file a person chose: its name and its bytes."""

    name: str
    content: bytes


def upload(label: str, endings: str) -> Field:
    """A button to choose files; reads as a list of `Upload`. Endings as `.csv,.xlsx`."""
    box = widgets.FileUpload(description=label, accept=endings, multiple=True, layout=_WIDE)
    return Field(box, lambda chosen: [Upload(f["name"], bytes(f["content"])) for f in chosen])
