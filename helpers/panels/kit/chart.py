"""Charts of a live panel: one matplotlib figure is kept, only its data change (a fresh figure costs 100 ms)."""

from __future__ import annotations

import base64
import io
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from helpers.panels.kit.drawing import picture

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@dataclass(frozen=True)
class Photo:
    """A rendered chart: PNG bytes and the words that say what it shows."""

    png: bytes
    says: str

    @property
    def html(self) -> str:
        """The chart as an image element with its text alternative."""
        return picture(f"data:image/png;base64,{base64.b64encode(self.png).decode()}", self.says)


class Chart:
    """A kept figure. `prepare(axes)` draws what never changes; `shoot` redraws what does.

    Size in pixels. Made on first use, so importing a panel does not load matplotlib.
    """

    def __init__(self, width: int, height: int, prepare: Callable[[Axes], None]) -> None:
        self._size, self._prepare = (width / 100, height / 100), prepare
        self._axes: Axes | None = None

    def shoot(self, redraw: Callable[[Axes], None], says: str) -> Photo:
        """Clear what the last call drew, let `redraw(axes)` draw anew, and return the photo."""
        if self._axes is None:
            from matplotlib.backends.backend_agg import FigureCanvasAgg
            from matplotlib.figure import Figure

            self._figure = Figure(figsize=self._size, dpi=100)
            FigureCanvasAgg(self._figure)
            # Fixed margins in pixels: a fitted layout would shift with each redraw.
            left, below, rest = 0.64 / self._size[0], 0.48 / self._size[1], 0.14
            self._axes = self._figure.add_axes(
                (left, below, 1 - left - rest / self._size[0], 1 - below - rest / self._size[1])
            )
            self._prepare(self._axes)
            self._fixed = set(self._axes.get_children())
        for artist in set(self._axes.get_children()) - self._fixed:
            artist.remove()
        # Nothing of the last call may stay: not its place in the colours, not its share of the scale.
        self._axes.set_prop_cycle(None)
        self._axes.relim()
        self._axes.autoscale()
        redraw(self._axes)
        sheet = io.BytesIO()
        self._figure.savefig(sheet, format="png")
        return Photo(sheet.getvalue(), says)
