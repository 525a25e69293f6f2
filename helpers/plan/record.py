"""What a checked plan leaves behind: the verdict as a table to save, and a site record to print, sign and file.

A record is calculated from the plan, not from the plant. What was seen on site, the date and the signatures
are left for the hand to fill in.
"""

from __future__ import annotations

import html
import io
import textwrap
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from helpers import safe_work
from helpers.bus.cable.laid import Segment
from helpers.plan.check import check_network, remarks, sentence
from helpers.plan.figures import cable_text, open_m, summarize
from helpers.plan.model import Network, Plan, Station, stations_of
from helpers.quantity import quantity, time_text
from helpers.spreadsheet import csv_file
from helpers.verdict import FINDING_COLUMNS, Finding, findings_table, worst_first

Row = Mapping[str, str]

SEEN = "seen on site"
_LINE = "_" * 36
_BY_HAND = ("Site", "Line", "Date", "Drawn up by")
_ON_SITE = (
    "Terminators on at both ends of each segment, and nowhere else",
    "Address and data format in each drive as listed; supply off and on since the last change",
    "Shield on the cabinet's bar at each entry; bus cable apart from motor cables",
    "Control word, setpoint and status word tried with the machine secured against starting, before the first run",
    "Copies of device descriptions, parameters and program stored with this record",
)
_ADD = "The list is common practice; add what your plant asks for."
_FROM_THE_PLAN = (
    "Calculated from the plan. It says nothing of the plant itself: what is marked “" + SEEN + "” was looked at there."
)
_TEXT_COLUMN, _TEXT_LINE = 24, 120  # characters


# -- the verdict as a table ---------------------------------------------------------------------------


def verdict_csv(findings: Iterable[Finding]) -> bytes:
    r"""All findings as CSV, the worst first; `check.COLUMNS` are the headings.

    >>> verdict_csv(()).decode("utf-8-sig")
    'verdict,rule,place,found,allowed,source,what to do\r\n'
    """
    return csv_file([FINDING_COLUMNS, *(row.values() for row in _verdict_rows(findings))])


def verdict_xlsx(findings: Iterable[Finding]) -> bytes:
    """All findings as a workbook of one sheet, the worst first, ready to be filtered."""
    import openpyxl
    from openpyxl.styles import Alignment, Font
    from openpyxl.utils import get_column_letter

    book = openpyxl.Workbook()
    sheet = book.worksheets[0]
    sheet.title = "verdict"
    wrapped = Alignment(wrap_text=True, vertical="top")
    rows = [dict(zip(FINDING_COLUMNS, FINDING_COLUMNS, strict=True)), *_verdict_rows(findings)]
    for number, row in enumerate(rows, 1):
        for place, text in enumerate(row.values(), 1):
            cell = sheet.cell(number, place, text)
            cell.data_type = "s"  # a text, even where it begins with the sign of a formula
            if number == 1:
                cell.font = Font(bold=True)
            elif row["what to do"]:  # what is in order stays on one line
                cell.alignment = wrapped
    for place, width in enumerate((24, 22, 28, 36, 36, 48, 48), 1):
        sheet.column_dimensions[get_column_letter(place)].width = width
    sheet.freeze_panes = "A2"
    sheet.auto_filter.ref = sheet.dimensions
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def zipped(files: Mapping[str, bytes]) -> bytes:
    """Several files as one .zip; the same files give the same bytes."""
    content = io.BytesIO()
    with zipfile.ZipFile(content, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, inside in files.items():
            packed.writestr(zipfile.ZipInfo(name), inside, zipfile.ZIP_DEFLATED)  # without it, the time of now
    return content.getvalue()


def _verdict_rows(findings: Iterable[Finding]) -> list[dict[str, str]]:
    return findings_table(worst_first(findings))


# -- the site record ----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Part:
    """One part of a record: a heading of level 1, 2 or 3, lines of text, and a table."""

    heading: str
    level: int = 2
    lines: tuple[str, ...] = ()
    rows: tuple[Row, ...] = ()


def record_parts(plan: Plan, more: tuple[Part, ...] = ()) -> tuple[Part, ...]:
    """The site record of a plan, part by part: networks, stations along the cable, verdict, cycle, signatures.

    more: parts from elsewhere, such as the first runs of the drives; they come before what is checked on site.

    >>> from helpers.plan.read import read_plan
    >>> [part.heading for part in record_parts(read_plan("data/demo/saltmarsh-mill"))][:3]
    ['Site record: saltmarsh-mill', 'Network Mill line', 'Segment 1: 9 stations, 16 m of cable']
    """
    *calculated, on_site, signatures = _plan_parts(plan)
    return (*calculated, *more, on_site, signatures)


@lru_cache(maxsize=2)  # text and page are made of the same parts
def _plan_parts(plan: Plan) -> tuple[Part, ...]:
    by_hand = tuple(f"{what}: {_LINE}" for what in _BY_HAND)
    parts = [Part(f"Site record: {plan.name}", 1, (*by_hand, _FROM_THE_PLAN))]
    for network in plan:
        parts += _network_parts(network)
    ticks = tuple({"checked on site": what, SEEN: "", "by": ""} for what in _ON_SITE)
    parts.append(Part("Checked on site", 2, (*safe_work.whole(), _ADD), ticks))
    signed = tuple({"": who, "name": "", "date": "", "signature": ""} for who in ("checked by", "taken over by"))
    parts.append(Part("Signatures", 2, (), signed))
    return tuple(parts)


def record_text(plan: Plan, more: tuple[Part, ...] = ()) -> str:
    """The site record as plain text; `more` as for `record_parts`."""
    return "\n\n".join(_text(part) for part in record_parts(plan, more)) + "\n"


def record_html(plan: Plan, more: tuple[Part, ...] = ()) -> str:
    """The site record as one HTML page; `more` as for `record_parts`."""
    return page(record_parts(plan, more))


def page(parts: tuple[Part, ...]) -> str:
    """Parts as one HTML page that prints on A4, landscape; the first heading is its title."""
    body = "\n".join(_html(part) for part in parts)
    head = f'<meta charset="utf-8"><title>{html.escape(parts[0].heading)}</title><style>{_STYLE}</style>'
    return f'<!DOCTYPE html>\n<html lang="en"><head>{head}</head><body>\n{body}\n</body></html>\n'


def _network_parts(network: Network) -> list[Part]:
    findings, summary = worst_first(check_network(network)), summarize(network)
    figures = tuple({"what": what, "figure": figure} for what, figure in summary.cells.items())
    cycle = tuple(row.cells for row in summary.rates)
    rows = tuple(findings_table(remarks(findings)))
    kept = dict.fromkeys(f.rule for f in findings)
    for finding in remarks(findings):
        kept.pop(finding.rule, None)
    checked = (f"In order throughout: {', '.join(kept)}.",) if kept else ()
    note = f"Note: {network.note}" if network.note else ""
    return [
        Part(f"Network {network.name}", 2, (note,) if note else (), figures),
        *(_segment_part(segment) for segment in network.segments),
        Part(f"Verdict on {network.name}", 3, (sentence(findings), *checked), rows),
        Part(f"Bus cycle of {network.name}", 3, () if cycle else ("No station to poll, so there is no cycle.",), cycle),
    ]


def _segment_part(segment: Segment) -> Part:
    """The stations in the order along the cable, each with the piece of cable to the next one."""
    pieces = [
        f"{piece.length_text} {piece.cable}" + (f" ({piece.note})" if piece.note else "") for piece in segment.pieces
    ]
    rows = [
        _station(station) | {"cable to the next": piece, "note": station.note, SEEN: ""}
        for station, piece in zip(stations_of(segment), [*pieces, "end"], strict=True)
    ]
    used = [column for column in rows[0] if column == SEEN or any(row[column] for row in rows)]
    length = cable_text(segment.length_m, open_m([segment]))
    count = f"{len(rows)} stations, {length} of cable"
    return Part(f"Segment {segment.name}: {count}", 3, (), tuple({c: row[c] for c in used} for row in rows))


def _station(station: Station) -> dict[str, str]:
    terminator = ["on"] * station.terminator_on + ["with own supply"] * station.own_supply
    stub = [quantity(station.stub_length_m, "m")] * bool(station.stub_length_m)
    stub += [quantity(station.stub_capacitance_f * 1e12, "pF")] * bool(station.stub_capacitance_f)
    return {
        "station": station.name,
        "kind": station.kind,
        "address": "" if station.address is None else str(station.address),
        "place": station.place,
        "format in drive": station.format_drive,
        "format in controller": station.format_controller,
        "terminator": ", ".join(terminator),
        "plug": station.plug_type,
        "may be off": "yes" if station.may_be_off else "",
        "unit loads": "" if station.unit_load == 1 else quantity(station.unit_load, ""),
        "stub": ", ".join(stub),
        "min slave interval": _time(station.min_slave_interval_s),
        "device description": station.description,
        "ident number": "" if station.ident is None else f"16#{station.ident:04X}",
        "watchdog": "off" if station.watchdog_s == 0 else _time(station.watchdog_s),
    }


def _time(seconds: float | None) -> str:
    return "" if seconds is None else time_text(seconds)


# -- as text and as a page ----------------------------------------------------------------------------


def _text(part: Part) -> str:
    rule = {1: "=", 2: "-"}.get(part.level, "")
    lines = [part.heading, *([rule * len(part.heading)] if rule else [])]
    lines += [textwrap.fill(line, _TEXT_LINE) for line in part.lines]
    if part.rows:
        lines += ["", *_text_rows(part.rows)]
    return "\n".join(lines)


def _text_rows(rows: tuple[Row, ...]) -> list[str]:
    """A table in columns that a page holds: long cells go on in the next line."""
    heads = list(rows[0])
    texts = [heads, *(list(row.values()) for row in rows)]
    wrapped = [[textwrap.wrap(text, _TEXT_COLUMN) or [""] for text in line] for line in texts]
    widths = [max(len(line) for row in wrapped for line in row[n]) for n in range(len(heads))]
    for n, head in enumerate(heads):
        if not any(row[head] for row in rows):  # to write on
            widths[n] = max(widths[n], _TEXT_COLUMN)
    lines = []
    for row in wrapped:
        for n in range(max(len(cell) for cell in row)):
            parts = [(cell[n] if n < len(cell) else "").ljust(w) for cell, w in zip(row, widths, strict=True)]
            lines.append(" | ".join(parts).rstrip())
    return lines


_STYLE = (
    "@page{size:A4 landscape;margin:12mm}body{font:12px/1.35 sans-serif;color:#000;background:#fff;margin:12px}"
    "h1{font-size:20px}h2{font-size:16px;border-bottom:2px solid;margin-top:22px}h3{font-size:13px;margin-bottom:4px}"
    "table{border-collapse:collapse;margin:4px 0 10px}tr{break-inside:avoid}"
    "th,td{border:1px solid #777;padding:2px 6px;text-align:left;vertical-align:top}"
    "td.hand{min-width:90px;height:22px}td.long{overflow-wrap:anywhere}"
)


def _html(part: Part) -> str:
    lines = "".join(f"<p>{html.escape(line)}</p>" for line in part.lines)
    return f"<h{part.level}>{html.escape(part.heading)}</h{part.level}>{lines}{_table(part.rows)}"


def _table(rows: tuple[Row, ...]) -> str:
    if not rows:
        return ""
    head = "".join(f"<th>{html.escape(name)}</th>" for name in rows[0])
    hand = {name for name in rows[0] if not any(row[name] for row in rows)}  # empty throughout: to write on
    body = "".join("<tr>" + "".join(_cell(text, name in hand) for name, text in row.items()) + "</tr>" for row in rows)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _cell(text: str, by_hand: bool) -> str:
    long = any(len(word) > _TEXT_COLUMN for word in text.split())  # such a word may be broken, no other
    return f"<td{' class=hand' * by_hand}{' class=long' * long}>{html.escape(text)}</td>"
