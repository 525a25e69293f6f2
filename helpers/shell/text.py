"""Plain text for a shell window: tables and verdicts that fit 100 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping, Sequence

from helpers.verdict import Degree, Finding, worst_first

WIDTH = 100
_GAP = 2
_NARROWEST = 6


def table(rows: Sequence[Mapping[str, object]], width: int = WIDTH) -> str:
    """Rows as a table with headings; the widest columns are wrapped until it fits.

    >>> print(table([{"station": "fan", "address": 5}, {"station": "screw", "address": 12}]))
    station  address
    fan      5
    screw    12
    """
    if not rows:
        return ""
    lines = [list(rows[0]), *([str(value) for value in row.values()] for row in rows)]
    widths = [max(len(line[n]) for line in lines) for n in range(len(lines[0]))]
    while sum(widths) + _GAP * (len(widths) - 1) > width and max(widths) > _NARROWEST:
        widths[widths.index(max(widths))] -= 1
    out = []
    for line in lines:
        cells = [textwrap.wrap(text, wide) or [""] for text, wide in zip(line, widths, strict=True)]
        for n in range(max(len(cell) for cell in cells)):
            parts = [(cell[n] if n < len(cell) else "").ljust(wide) for cell, wide in zip(cells, widths, strict=True)]
            out.append((" " * _GAP).join(parts).rstrip())
    return "\n".join(out)


def paragraph(text: str, indent: str = "", width: int = WIDTH) -> str:
    """A text in lines of at most `width`, each but the first behind `indent`."""
    return textwrap.fill(text, width, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False)


def findings(found: Iterable[Finding], *, everything: bool = False) -> str:
    """What asks for something, each finding in full; then, if wanted, what is in order in a short table."""
    ordered = worst_first(found)
    blocks = [_block(finding) for finding in ordered if finding.degree > Degree.IN_ORDER]
    kept = [finding for finding in ordered if finding.degree == Degree.IN_ORDER]
    if everything and kept:
        blocks.append(
            table([{"in order": f.rule, "place": f.place, "found": f.found, "allowed": f.allowed} for f in kept])
        )
    return "\n\n".join(blocks)


def _block(finding: Finding) -> str:
    lines = [f"{finding.verdict.upper()}: {finding.rule}, {finding.place}"]
    parts = (
        ("found", finding.found),
        ("allowed", finding.allowed),
        ("source", finding.source),
        ("to do", finding.to_do),
    )
    lines += [f"  {name:<8} {text}" for name, text in parts]
    return "\n".join(paragraph(line, " " * 11) for line in lines)
