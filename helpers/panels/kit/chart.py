"""Draws the pictures of `helpers.curves` with matplotlib, as SVG: a figure is made once, then only its data change.

A fresh figure would cost twice the time. Matplotlib is loaded when the first picture is drawn, not with a panel. The
SVG bears no date, its ids are hashes of what is drawn, and its numbers are rounded to a hundredth of a pixel, so it
is the same in every process.
"""

from __future__ import annotations

import html
import io
import re
from collections.abc import Mapping, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from helpers.curves import Axis, Bar, Curves, Matrix, Note, Tone
from helpers.panels.kit.drawing import BLUE, FONT, GREY, INK, ORANGE, PAPER, SAND, SKY, picture

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.axis import Axis as DrawnAxis

_SIZE, _LETTER = 11, 6.6  # px: letters, and the width of a middling one
_ABOVE, _ROW = 24, 16  # px: room for label and key above the axes, and for each row of words below them
_STYLE: dict[Any, Any] = {
    "font.size": _SIZE,
    "font.family": ["DejaVu Sans"],  # comes with matplotlib, so letters are measured the same everywhere
    "text.parse_math": False,  # a $ in a station's name is a $
    "path.simplify": False,
    "svg.fonttype": "none",
    "svg.hashsalt": "workbook",
}
_LINES: Mapping[Tone, Mapping[str, Any]] = {
    Tone.MAIN: {"color": BLUE, "linewidth": 2.0},
    Tone.OTHER: {"color": ORANGE, "linewidth": 2.0, "linestyle": "--"},
    Tone.WRONG: {"color": ORANGE, "linewidth": 1.0},
    Tone.QUIET: {"color": GREY, "linewidth": 1.0},
}
_SIGNS: Mapping[Tone, Mapping[str, Any]] = {
    Tone.MAIN: {"marker": "o", "markersize": 7, "markerfacecolor": INK, "markeredgecolor": PAPER},
    Tone.OTHER: {"marker": "D", "markersize": 6, "markerfacecolor": ORANGE, "markeredgecolor": INK},
    Tone.WRONG: {"marker": "X", "markersize": 11, "markerfacecolor": ORANGE, "markeredgecolor": PAPER},
    Tone.QUIET: {"marker": "|", "markersize": 8, "markerfacecolor": GREY, "markeredgecolor": GREY},
}
_SWATCH = {"linewidth": 9.0, "solid_capstyle": "butt"}  # what stands for an area in the key
_FILLS = {Tone.MAIN: SKY, Tone.OTHER: SAND, Tone.WRONG: INK, Tone.QUIET: PAPER}


_IN_AN_ADDRESS = str.maketrans({letter: f"%{ord(letter):02X}" for letter in '%#"<>&'} | {"\n": " "})


Margins = tuple[float, float, float, float]  # px left, right, below and above the axes


@dataclass(frozen=True)
class Chart:
    """A drawn picture with axes: SVG, and the words that say what it shows."""

    svg: str
    says: str

    @property
    def html(self) -> str:
        """The picture as an image element; the SVG stands in it as text, so that a stored one can be read."""
        return picture(f"data:image/svg+xml,{self.svg.translate(_IN_AN_ADDRESS)}", self.says)


def curves_chart(shown: Curves) -> Chart:
    """The picture on the kept figure of its size and axes."""
    with _style():
        axes, kept = _axes(shown.width, shown.height, _margins(shown), bool(shown.bars))
        _empty(axes, kept)
        for drawn, axis, scale, ends in ((axes.xaxis, shown.x, axes.set_xscale, axes.set_xlim),
                                         (axes.yaxis, shown.y, axes.set_yscale, axes.set_ylim)):  # fmt: skip
            scale("log" if axis.log else "linear")
            ends(axis.first, axis.last)
            _ticks(drawn, axis)
        _lay(axes, shown)
        middle, first = (axes.bbox.x0 + axes.bbox.x1) / 2, 6 + _ROW * len(shown.below)
        texts = [
            _text(axes, 6, shown.height - 15, shown.y.label),
            _text(axes, middle, first, shown.x.label, "middle"),
            *(_text(axes, 6, first - 1 - _ROW * row, words) for row, words in enumerate(shown.below, 1)),
            *_key(axes, shown),
            *(text for bar in shown.bars for text in _in_bar(axes, bar)),
            *(_beside(axes, note) for note in shown.notes),
        ]
        return _shot(axes, shown.says, _group("".join(texts)))


def _margins(shown: Curves) -> Margins:
    ticks = [line for _, words in shown.y.ticks or [(0.0, "-2.55")] for line in words.split("\n")]
    rows = 1 + bool(shown.x.label) + len(shown.below)
    return 14 + _LETTER * max(map(len, ticks)), 28, _ROW * rows + 4, _ABOVE if shown.y.label or shown.has_key else 8


def _lay(axes: Axes, shown: Curves) -> None:
    """Everything of the picture but its words, what lies at the back first."""
    for area in shown.areas:
        look: dict[str, Any] = {"color": _FILLS[area.tone], "linewidth": 0, "zorder": 1}
        if len(area.x):
            axes.fill_between(area.x, area.low, area.high, **look)
        else:
            axes.axhspan(area.low[0], area.high[0], **look)
    for x in shown.upright:
        axes.axvline(x, color=INK, linewidth=0.8, linestyle=":", zorder=1.5)
    for curve in shown.curves:
        axes.plot(
            curve.x, curve.y, drawstyle="steps-post" if curve.steps else "default", zorder=2, **_LINES[curve.tone]
        )
    _bars(axes, shown.bars)
    for points in shown.points:
        axes.plot(points.x, points.y, linestyle="none", zorder=3, clip_on=False, **_SIGNS[points.tone])


# -- a matrix -----------------------------------------------------------------------------------------

_BLUES = ("#f1f7fc", "#c3dcf0", "#7fb6df", "#08457e")  # one hue: the order shows by the shade alone
_SIDE, _LEAST_CELL, _MOST_CELL, _KEY = 360, 20, 44, 230  # px: the square, a cell of it, room for the key


def matrix_chart(shown: Matrix) -> Chart:
    """Shades in rows and columns, with the words of each cell on them."""
    down, across = shown.values.shape
    cell = max(_LEAST_CELL, min(_MOST_CELL, _SIDE // max(down, across)))
    left, below = 14 + _LETTER * max(map(len, shown.rows)), 2 * _ROW + 4
    blues = _BLUES[-len(shown.shades) :]
    with _style():
        size = round(left + cell * across + _KEY), below + cell * down + _ABOVE
        axes, kept = _axes(*size, (left, _KEY, below, _ABOVE), True)
        _empty(axes, kept)
        axes.set(xlim=(0, across), ylim=(down, 0))
        _ticks(axes.xaxis, _named(shown.columns))
        _ticks(axes.yaxis, _named(shown.rows))
        texts = [_text(axes, 6, axes.bbox.y1 + 9, shown.row_label), _text(axes, left, 6, shown.column_label)]
        shades = _shades(shown)
        for n, (blue, (_, words)) in enumerate(zip(blues, shown.shades, strict=True)):
            _squares(axes, np.argwhere(shades == n), blue)
            x, y = axes.bbox.x1 + 24, axes.bbox.y1 - 12 - 24 * n
            _sign(axes, [x], y, {"marker": "s", "markersize": 16, "color": blue, "markeredgecolor": GREY})
            texts.append(_text(axes, x + 16, y - 4, words))
        return _shot(axes, shown.says, _group("".join(texts)) + _cells(shown, shades, left, cell))


def _named(names: Sequence[str]) -> Axis:
    return Axis("", 0, len(names), ticks=[(n + 0.5, name) for n, name in enumerate(names)])


def _shades(shown: Matrix) -> NDArray[np.int_]:
    """For each value the number of its shade; −1 where there is no value."""
    above = [shown.values >= least for least, _ in shown.shades[:-1]]
    return np.select([np.isnan(shown.values), *above], [-1, *range(len(above))], len(above))


def _squares(axes: Axes, places: NDArray[np.int_], fill: str) -> None:
    """All cells of one shade as one path: a thousand patches would take a second."""
    from matplotlib.patches import PathPatch
    from matplotlib.path import Path

    if len(places):
        corners = places[:, None, ::-1] + np.array([(0, 0), (1, 0), (1, 1), (0, 1), (0, 0)])
        square = (Path.MOVETO, Path.LINETO, Path.LINETO, Path.LINETO, Path.CLOSEPOLY)
        path = Path(corners.reshape(-1, 2), square * len(places))
        axes.add_artist(PathPatch(path, facecolor=fill, edgecolor=GREY, linewidth=0.5))


def _cells(shown: Matrix, shades: NDArray[np.int_], left: float, cell: int) -> str:
    """The words of the cells as SVG, for the same reason; those in the darkest shade are white and bold."""
    size = min(12.0, 0.4 * cell)
    texts = [
        f'<text x="{left + cell * (column + 0.5):g}" y="{_ABOVE + cell * (row + 0.5) + 0.36 * size:g}"'
        + (f' fill="{PAPER}" font-weight="bold"' if shades[row, column] == len(shown.shades) - 1 else "")
        + f">{html.escape(words)}</text>"
        for row, line in enumerate(shown.cells)
        for column, words in enumerate(line)
        if words
    ]
    return _group("".join(texts), size, "middle")


# -- the kept figure ----------------------------------------------------------------------------------


def _style() -> AbstractContextManager[None]:
    import matplotlib

    return matplotlib.rc_context(_STYLE)


@lru_cache(maxsize=16)
def _axes(width: int, height: int, margins: Margins, plain: bool) -> tuple[Axes, frozenset[object]]:
    """The kept axes of this size [px], and what belongs to them when they are empty; plain ones have no grid."""
    import matplotlib
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    # A reader's own settings change no picture.
    common: dict[Any, Any] = {name: value for name, value in matplotlib.rcParamsDefault.items() if name != "backend"}
    with matplotlib.rc_context({**common, **_STYLE}):
        # 72 dots to the inch: then a pixel is a point, and the sizes of letters and lines are pixels.
        figure = Figure(figsize=(width / 72, height / 72), dpi=72)
        FigureCanvasSVG(figure)
        left, right, below, above = margins
        axes = figure.add_axes(
            (left / width, below / height, (width - left - right) / width, (height - below - above) / height)
        )
        axes.set_axisbelow(True)
        if not plain:
            axes.grid(color="#d5d9de", linewidth=1)
        axes.tick_params(length=0 if plain else 4, color=INK, labelcolor=INK)
        for drawn in (axes.xaxis, axes.yaxis):
            drawn.set_label_coords(0, 0)  # unused; spares matplotlib the search for a place
        return axes, frozenset(axes.get_children())


def _empty(axes: Axes, kept: frozenset[object]) -> None:
    for artist in set(axes.get_children()) - kept:
        artist.remove()


def _ticks(drawn: DrawnAxis, axis: Axis) -> None:
    from matplotlib.ticker import AutoLocator, FixedFormatter, FixedLocator, NullLocator, ScalarFormatter

    drawn.set_minor_locator(NullLocator())
    if axis.ticks is None:
        drawn.set_major_locator(AutoLocator())
        drawn.set_major_formatter(ScalarFormatter(useOffset=False))
    else:
        drawn.set_major_locator(FixedLocator([value for value, _ in axis.ticks]))
        drawn.set_major_formatter(FixedFormatter([words for _, words in axis.ticks]))


_PLACES = re.compile(r' (?:d|x|y|width|height|transform)="[^"]*"')
_LONG = re.compile(r"-?\d+\.\d{3,}")
_UNSAID = ("Date", "Creator", "Format", "Type")
_FONT = "font-family: 'DejaVu Sans'"


def _shot(axes: Axes, says: str, more: str = "") -> Chart:
    """What the figure shows now, and `more` SVG over it; of the same bytes wherever it is made."""
    sheet = io.StringIO()
    axes.figure.canvas.print_figure(sheet, format="svg", metadata=dict.fromkeys(_UNSAID))
    svg = sheet.getvalue()
    svg = svg[svg.index("<svg ") :].replace('pt" ', '" ', 2).replace("</svg>", f"{more}</svg>")
    svg = svg.replace(_FONT, f"font-family: {FONT}").replace(">", f"><title>{html.escape(says)}</title>", 1)
    return Chart(_PLACES.sub(lambda place: _LONG.sub(_rounded, place[0]), svg), says)


def _rounded(number: re.Match[str]) -> str:
    return f"{round(float(number[0]), 2) + 0:g}"


# -- words and bars -----------------------------------------------------------------------------------


def _group(texts: str, size: float = _SIZE, anchor: str = "start") -> str:
    """SVG of words. All but those at the axes are written so: matplotlib takes a millisecond for each."""
    return f'<g font-family="{FONT}" font-size="{size:g}" text-anchor="{anchor}" fill="{INK}">{texts}</g>'


def _text(axes: Axes, x: float, y: float, words: str, anchor: str = "start", *, bold: bool = False) -> str:
    """Words at a place of the sheet [px from its lower left corner]."""
    look = (f' text-anchor="{anchor}"' if anchor != "start" else "") + (' font-weight="bold"' if bold else "")
    down = float(axes.figure.bbox.height) - y
    return f'<text x="{x:.2f}" y="{down:.2f}"{look}>{html.escape(words)}</text>' if words else ""


def _key(axes: Axes, shown: Curves) -> list[str]:
    """The names of curves, points and areas at the upper right, each behind a piece of what it names."""
    looks = [
        *(
            (area.name, {"color": _FILLS[area.tone], "linewidth": 9.0, "solid_capstyle": "butt"})
            for area in shown.areas
        ),
        *((curve.name, _LINES[curve.tone]) for curve in shown.curves),
        *((points.name, {"linestyle": "none", **_SIGNS[points.tone]}) for points in shown.points),
    ]
    x, y, texts = axes.bbox.x1, shown.height - 11.0, []
    for name, look in reversed([(name, look) for name, look in looks if name]):
        x -= _LETTER * len(name)
        texts.append(_text(axes, x, y - 4, name))
        _sign(axes, [x - 10] if "marker" in look else [x - 28, x - 6], y, look)
        x -= 24 if "marker" in look else 46
    return texts


def _sign(axes: Axes, x: Sequence[float], y: float, look: Mapping[str, Any]) -> None:
    """A sign or a piece of a line at a place of the sheet."""
    from matplotlib.transforms import IdentityTransform

    axes.plot(x, [y] * len(x), transform=IdentityTransform(), clip_on=False, **look)


def _beside(axes: Axes, note: Note) -> str:
    """Words beside their point; they change sides where the sheet ends, and those on a curve cover it."""
    across = "left" if "left" in note.side else "right" if "right" in note.side else ""
    along = "above" if "above" in note.side else "below" if "below" in note.side else ""
    x, y = (float(value) for value in axes.transData.transform((note.x, note.y)))
    long = (1.15 if note.bold else 1.0) * _LETTER * len(note.words)
    outside = x - long - 12 < axes.bbox.x0 if across == "left" else across and x + long + 12 > axes.bbox.x1
    if outside:
        across = "right" if across == "left" else "left"
        along = {"above": "below", "below": "above"}.get(along, along)
    anchor = {"left": "end", "right": "start"}.get(across, "middle")
    place = x + {"left": -8, "right": 8}.get(across, 0), y - 4 + {"above": 13, "below": -13}.get(along, 0)
    text = _text(axes, *place, note.words, anchor, bold=note.bold)
    if note.side != "centre":
        return text
    down = float(axes.figure.bbox.height) - y
    return f'<rect x="{x - long / 2:.2f}" y="{down - 7:.2f}" width="{long:.2f}" height="14" fill="{PAPER}"/>{text}'


def _bars(axes: Axes, bars: Sequence[Bar]) -> None:
    """Stretches in rows, each as high as eight tenths of its row, with the words that fit."""
    if not bars:
        return
    from matplotlib.collections import PolyCollection

    corners = [
        [(bar.begin, bar.y - 0.4), (bar.end, bar.y - 0.4), (bar.end, bar.y + 0.4), (bar.begin, bar.y + 0.4)]
        for bar in bars
    ]
    axes.add_collection(
        PolyCollection(corners, facecolors=[_FILLS[bar.tone] for bar in bars], edgecolors=INK, linewidths=1, zorder=2),
        autolim=False,
    )


def _in_bar(axes: Axes, bar: Bar) -> list[str]:
    (begin, y), (end, _) = axes.transData.transform([(bar.begin, bar.y), (bar.end, bar.y)])
    lines = _fitted(bar.words, end - begin - 6) or _fitted(bar.short, end - begin - 6)
    top = float(y) - 4 + 6 * (len(lines) - 1)
    return [_text(axes, float(begin + end) / 2, top - 12 * n, line, "middle") for n, line in enumerate(lines)]


def _fitted(text: str, room: float) -> list[str]:
    """The text in one or two lines; none if there is no room [px] for its words."""
    if len(text) * _LETTER <= room:
        return [text]
    cut = min((n for n, letter in enumerate(text) if letter == " "), key=lambda n: abs(2 * n - len(text)), default=0)
    lines = [text[:cut], text[cut + 1 :]]
    return lines if cut and max(map(len, lines)) * _LETTER <= room else []
