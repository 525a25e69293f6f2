"""Plain text for a shell window: tables and verdicts that fit 100 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

from helpers.answer import Answer, Row
from helpers.safe_work import in_words
from helpers.verdict import Degree, Finding, worst_first

WIDTH = 100
_GAP = 2
_NARROWEST = 6


def say(answer: Answer, *, everything: bool | None = None, sources: bool = False) -> int:
    """Print an answer; gives the exit status: 1 where it says that something is not allowed.

    `everything` as the option --all of a command says; where it is off, what it would show is named.
    """
    print(text_of(answer, everything=bool(everything), sources=sources))
    folded = [heading for heading, rows in answer.folded if rows]
    if everything is False and folded:
        print("\n" + paragraph(f"with --all: {'; '.join(folded)}", "  "))
    return int(answer.degree is not None and answer.degree.forbidden)


def say_all(answers: Iterable[Answer], *, everything: bool = False, sources: bool = False) -> int:
    """Print several answers, a line between them; the exit status is the worst of them."""
    status = 0
    for n, answer in enumerate(answers):
        print("\n" * bool(n), end="")
        status = max(status, say(answer, everything=everything, sources=sources))
    return status


def text_of(answer: Answer, *, everything: bool = False, sources: bool = False) -> str:
    """An answer as text. What a panel folds up comes with `everything`, where it is known from with `sources`.

    >>> print(text_of(Answer("12 m.", degree=Degree.CAUTION, because="Too short.", rows=[{"piece": 1}])))
    OUTSIDE CAUTIOUS PRACTICE: 12 m.
    Too short.
    <BLANKLINE>
    piece
    1
    """
    verdict = "" if answer.degree is None else f"{answer.degree.words.upper()}: "
    said = [paragraph(f"{verdict}{answer.sentence}"), paragraph(answer.because)]
    parts = [
        "\n".join(filter(None, said)),
        "\n".join(paragraph(in_words([caution])) for caution in answer.caution),
        _rows(answer.rows),
    ]
    if everything:
        parts += [f"{heading}\n{_rows(rows)}" for heading, rows in answer.folded if rows]
    if sources:
        parts.append("\n".join(paragraph(f"source: {source}", "  ") for source in dict.fromkeys(answer.sources)))
    return "\n\n".join(filter(None, parts))


def _rows(rows: Sequence[Row]) -> str:
    """A table; rows that bear a verdict stand one below the other, verdict in front: people read them one by one."""
    if not any(isinstance(row.get("verdict"), Degree) for row in rows):
        return table(rows)
    return "\n\n".join(_judged(row) for row in rows)


def _judged(row: Row) -> str:
    cells = {column: _cell(value) for column, value in row.items() if column != "verdict" and _cell(value)}
    wide = max(map(len, cells), default=0)
    lines = [_cell(row["verdict"]).upper(), *(f"  {column:<{wide}}  {text}" for column, text in cells.items())]
    return "\n".join(paragraph(line, " " * (wide + 4)) for line in lines)


def _cell(value: object) -> str:
    if isinstance(value, Degree):
        return value.words
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def table(rows: Sequence[Row], width: int = WIDTH) -> str:
    """Rows as a table with headings; the widest columns are wrapped until it fits.

    >>> print(table([{"station": "fan", "address": 5}, {"station": "screw", "address": 12}]))
    station  address
    fan      5
    screw    12
    """
    if not rows:
        return ""
    columns = list(rows[0])
    lines = [columns, *([_cell(row.get(column, "")) for column in columns] for row in rows)]
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
