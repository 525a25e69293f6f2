"""Answers as HTML: the verdict with its sign, cautions, pictures, tables, what is folded up, files to save."""

from __future__ import annotations

import base64
import html
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from helpers.answer import Answer, Picture, Row, TakeAway
from helpers.caution import Caution
from helpers.curves import Curves, Matrix
from helpers.panels.kit.chart import Chart, curves_chart, matrix_chart
from helpers.panels.kit.drawing import BLUE, ORANGE, PURPLE, Drawing
from helpers.verdict import Degree
from helpers.wording import capital_first

# A sign and a colour for each degree. The words of the degree always stand beside them.
SIGNS = dict.fromkeys(Degree, ("■", PURPLE)) | {
    Degree.IN_ORDER: ("●", BLUE),
    Degree.CAUTION: ("▲", ORANGE),
    Degree.DEPENDS: ("?", ORANGE),
}


# How pictures are drawn: for the type of a description, the function that makes a drawing or a chart of it.
Draw = Mapping[type, Callable[[Any], Drawing | Chart]]
CHARTS: Draw = {Curves: curves_chart, Matrix: matrix_chart}


def html_of(answer: Answer, *, still: bool = False, draw: Draw | None = None) -> str:
    """An answer as HTML; a still one leaves out the files.

    draw: how to draw the descriptions among its pictures, those with axes aside; a `Drawing` is drawn already.
    """
    parts = [_verdict(answer.sentence, answer.degree)]
    if answer.because:
        parts.append(f'<p style="margin:2px 0 6px">{html.escape(answer.because)}</p>')
    if answer.caution:
        parts.append(caution(*answer.caution))
    parts += [_drawn(picture, {**CHARTS, **(draw or {})}).html for picture in answer.pictures]
    if answer.rows:
        parts.append(table(answer.rows))
    parts += [fold(heading, table(rows)) for heading, rows in answer.folded if rows]
    if answer.sources:
        parts.append(_sources(answer.sources))
    if answer.files and not still:
        parts.append("<p>Save: " + " · ".join(map(link, answer.files)) + "</p>")
    return "\n".join(parts)


def _drawn(picture: Picture, draw: Draw) -> Drawing | Chart:
    return picture if isinstance(picture, Drawing) else draw[type(picture)](picture)


def link(file: TakeAway) -> str:
    """A link that saves the file; the file travels in the link, so no folder is written to."""
    coded = base64.b64encode(file.content).decode()
    name = html.escape(file.name, quote=True)
    # JupyterLab shows a link in a widget as plain text; it has to look like something to click.
    look = f"color:{BLUE};text-decoration:underline"
    return f'<a download="{name}" style="{look}" href="data:{file.media};base64,{coded}">{name}</a>'


def _verdict(sentence: str, degree: Degree | None) -> str:
    said = html.escape(sentence)
    if degree is None:
        return f'<p style="font-size:15px;margin:0 0 4px"><b>{said}</b></p>'
    sign, colour = SIGNS[degree]
    return (
        f'<p style="font-size:15px;margin:0 0 4px;padding-left:8px;border-left:6px solid {colour}">'
        f'<b><span style="color:{colour}">{sign}</span> {html.escape(capital_first(degree.words))}.</b> {said}</p>'
    )


def caution(*said: Caution) -> str:
    """Cautions in one frame, each with its signal word: what can hurt, and how it is avoided.

    One sign for a frame, and none where nobody is hurt: signs that stand everywhere are seen by nobody.

    >>> from helpers.caution import NOTICE, WARNING
    >>> [caution(Caution(word, "words"), Caution(word, "words")).count("⚠") for word in (NOTICE, WARNING)]
    [0, 1]
    """
    told = "<br>".join(f"<b>{each.signal}</b> {html.escape(each.words)}" for each in said)
    told = f"⚠ {told}" if any(each.injures for each in said) else told
    return f'<p role="note" style="border:2px solid {ORANGE};padding:4px 8px;margin:4px 0">{told}</p>'


def fold(heading: str, inside: str) -> str:
    """HTML that is folded up behind its heading until the reader asks."""
    return f'<details style="font-size:12px"><summary>{html.escape(heading)}</summary>{inside}</details>'


def steps_html(steps: Sequence[str]) -> str:
    """Steps in their order."""
    return (
        '<ol style="margin:2px 0;padding-left:24px;font-size:12px;line-height:1.3">'
        + "".join(f"<li>{html.escape(step)}</li>" for step in steps)
        + "</ol>"
    )


def _sources(sources: Sequence[str]) -> str:
    items = "".join(f"<li>{html.escape(source)}</li>" for source in dict.fromkeys(sources))
    return fold("Sources", f'<ul style="margin:2px 0">{items}</ul>')


_SHORT = 24  # characters: a text this short stays on one line
_CELL = "padding:1px 10px 1px 0;border-bottom:1px solid #8886;vertical-align:top;text-align"


def table(rows: Sequence[Row]) -> str:
    """Rows as an HTML table. Numbers stand at the right, a `Degree` gets its sign and its words.

    >>> table([{"address": 3, "used by": "fan 1"}]).count("<td")
    2
    """
    columns = list(rows[0])
    head = "".join(f'<th scope="col" style="{_CELL}:left">{html.escape(str(c))}</th>' for c in columns)
    body = "".join("<tr>" + "".join(_cell(row.get(c, "")) for c in columns) + "</tr>" for row in rows)
    return (
        '<table style="border-collapse:collapse;font-size:12px;line-height:1.3;margin:4px 0">'
        f"<thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
    )


def _cell(value: object) -> str:
    if isinstance(value, Degree):
        sign, colour = SIGNS[value]
        shown = f'<span style="color:{colour}">{sign}</span> {value.words}'
        return f'<td style="{_CELL}:left;white-space:nowrap">{shown}</td>'
    if isinstance(value, int | float) and not isinstance(value, bool):
        shown = f"{value:,}" if isinstance(value, int) else f"{value:,.6g}"
        return f'<td style="{_CELL}:right">{shown}</td>'.replace(",", "\N{NARROW NO-BREAK SPACE}")
    words = str(value)
    whole = ";white-space:nowrap" if len(words) <= _SHORT else ""
    return f'<td style="{_CELL}:left{whole}">{html.escape(words)}</td>'
