"""Pictures with axes as plain data: curves, points and bars, and numbers as a matrix of shades.

They are made where the numbers are calculated; `helpers.panels.kit.chart` draws them. What has a colour in the drawing
has a name, a sign or a word here, so that nobody depends on the colour.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import Enum
from math import ceil, floor, log10

import numpy as np
from numpy.typing import NDArray

from helpers.errors import in_range

MOST_POINTS = 1200  # of one curve: a little less than two for each pixel of the widest picture

Numbers = Sequence[float] | NDArray[np.float64]


class Tone(Enum):
    """What a curve, a point or a bar means to the reader; the drawing gives each its colour and its shape."""

    MAIN = "what the picture is about"
    OTHER = "what it is compared with"
    WRONG = "what is not in order"
    QUIET = "what stands in the background"


@dataclass(frozen=True)
class Axis:
    """One axis: its label with the unit, and its two ends; where the first end is the greater, it runs backwards.

    ticks: what to write at which value; without it, round numbers.
    """

    label: str
    first: float
    last: float
    log: bool = False
    ticks: Sequence[tuple[float, str]] | None = None


@dataclass(frozen=True, eq=False)
class Curve:
    """A line through points; with `steps` each value holds until the next. Its name, if any, stands in the key."""

    x: Numbers
    y: Numbers
    name: str = ""
    tone: Tone = Tone.MAIN
    steps: bool = False

    def __post_init__(self) -> None:
        in_range("points of a curve", len(self.x), 1, MOST_POINTS)
        in_range("values of a curve", len(self.y), len(self.x), len(self.x))


@dataclass(frozen=True, eq=False)
class Points:
    """Single points with one sign: a dot, for another tone a diamond, a cross or a stroke."""

    x: Numbers
    y: Numbers
    name: str = ""
    tone: Tone = Tone.MAIN


@dataclass(frozen=True, eq=False)
class Area:
    """What lies between two curves over the same x; over the whole width where `x` is empty."""

    low: Numbers
    high: Numbers
    x: Numbers = ()
    name: str = ""
    tone: Tone = Tone.OTHER


@dataclass(frozen=True)
class Bar:
    """A stretch along x in the row at `y`, with its words in it, or the short ones, where they have room."""

    begin: float
    end: float
    y: float
    words: str = ""
    short: str = ""
    tone: Tone = Tone.QUIET


@dataclass(frozen=True)
class Note:
    """Words at a point; `side` is where they stand from it: right, left, above, below, centre, above left …"""

    x: float
    y: float
    words: str
    side: str = "right"
    bold: bool = False


@dataclass(frozen=True, eq=False)
class Curves:
    """A picture with two axes, `width` × `height` pixels. `says` tells it to a reader who cannot see it.

    upright: values of x at which a thin line stands. below: lines of words under the picture.
    """

    says: str
    x: Axis
    y: Axis
    curves: Sequence[Curve] = ()
    points: Sequence[Points] = ()
    areas: Sequence[Area] = ()
    bars: Sequence[Bar] = ()
    notes: Sequence[Note] = ()
    upright: Sequence[float] = ()
    below: Sequence[str] = ()
    width: int = 760
    height: int = 236

    @property
    def has_key(self) -> bool:
        """Whether anything has a name that stands above the picture."""
        named: Sequence[Area | Curve | Points] = [*self.areas, *self.curves, *self.points]
        return any(each.name for each in named)


@dataclass(frozen=True, eq=False)
class Matrix:
    """Numbers in rows and columns, the darker the worse. `says` tells it to a reader who cannot see it.

    values: rows of numbers, NaN where there is none. cells: the words for each. shades: lightest first, each with the
    value down to which it reaches and its words; the last is below all others, and its cells are bold.
    """

    says: str
    rows: Sequence[str]
    columns: Sequence[str]
    row_label: str
    column_label: str
    values: NDArray[np.float64]
    cells: Sequence[Sequence[str]]
    shades: Sequence[tuple[float, str]]


def decades(low: float, high: float, write: Callable[[float], str]) -> list[tuple[float, str]]:
    """Ticks of a logarithmic axis: powers of ten, at most eight; on a short axis twice and five times these, too.

    >>> decades(1, 5000, "{:g}".format)
    [(1.0, '1'), (10.0, '10'), (100.0, '100'), (1000.0, '1000')]
    >>> decades(15, 60, "{:g}".format)
    [(20.0, '20'), (50.0, '50')]
    """
    first, last = ceil(log10(low) - 1e-9), floor(log10(high) + 1e-9)
    step = 1 + max(0, last - first) // 8
    values = [10.0**power for power in range(first, last + 1, step)]
    if len(values) < 2:
        values = [n * 10.0**power for power in (first - 1, first) for n in (1, 2, 5) if low <= n * 10.0**power <= high]
    return [(value, write(value)) for value in values]


def thinned(x: NDArray[np.float64], y: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The same curve with fewer points, no peak lost: the lowest and the highest of each narrow strip of x.

    >>> x, y = thinned(np.arange(100_000.0), np.sin(np.arange(100_000.0)))
    >>> len(x) <= MOST_POINTS, round(float(y.max()), 6)
    (True, 1.0)
    """
    if len(x) <= 2:
        return x, y
    strip = ((x - x[0]) / (x[-1] - x[0]) * (MOST_POINTS / 2 - 2)).astype(int)
    order = np.lexsort((y, strip))
    highest = np.append(np.flatnonzero(np.diff(strip[order])), len(order) - 1)
    lowest = np.append(0, highest[:-1] + 1)
    kept = np.union1d(np.union1d(order[lowest], order[highest]), [0, len(order) - 1])
    return x[kept], y[kept]
