"""What the practice panel shows of a case: the complaint, the log, the marks and the story. No widgets here."""

from __future__ import annotations

import html
from collections.abc import Sequence

from helpers.line.gate import STATES
from helpers.line.practice.case import Case
from helpers.line.practice.marking import OPEN, PARTLY, RIGHT, WRONG, Marks
from helpers.line.practice.session import Entry, Session
from helpers.panels.bench.bench_tools import GROUP_WORDS
from helpers.panels.kit.drawing import BLUE, GREY, ORANGE, PURPLE

GRADE_WORDS = {
    1: "1 – found by looking, with a hint",
    2: "2 – one fault of any kind",
    3: "3 – two, or one that comes and goes",
}
# A word stands beside each sign, so that nobody needs the colour.
_SIGNS = {RIGHT: ("●", BLUE), PARTLY: ("▲", ORANGE), WRONG: ("■", PURPLE), OPEN: ("○", GREY)}
_LOOK = "padding:2px 8px 2px 0;border-bottom:1px solid #8886;vertical-align:top;text-align:left"
_CELL = f'style="{_LOOK}"'
_NUMBER = _CELL.replace("text-align:left", "text-align:right;white-space:nowrap")


def complaint_html(case: Case) -> str:
    """What the plant says, and for grade 1 what was worked on last and which groups of faults come into question."""
    who = "The plant says" if case.visible else "Before handover"
    said = f"<b>{who}:</b> {html.escape(case.complaint)}"
    if case.hint:
        groups = " or ".join(GROUP_WORDS.get(group, group) for group in case.groups)
        said += f" <b>Hint:</b> {html.escape(case.hint)} It is one of these groups: {html.escape(groups)}."
    return (
        f'<div style="border-left:6px solid {BLUE};padding:2px 8px;margin:2px 0;line-height:1.35;font-size:14px">{said}'
        "</div>"
    )


def standing_words(session: Session) -> str:
    """How much time has gone, and how the bus is."""
    return f"{session.minutes:g} min so far · the bus is {STATES[session.bus]}"


def log_html(log: Sequence[Entry]) -> str:
    """Everything that was done, the newest at the top."""
    if not log:
        return "<p>Nothing is done yet. Take a reading, and it stands here.</p>"
    columns = (("min", ""), ("what you did", "width:26%;"), ("what came of it", ""))
    head = "".join(f'<th scope="col" style="{wide}{_LOOK}">{words}</th>' for words, wide in columns)
    rows = "".join(
        f"<tr><td {_NUMBER}>{entry.minute:g}</td><td {_CELL}>{html.escape(entry.what)}{_kind(entry)}</td>"
        f"<td {_CELL}>{_result(entry)}</td></tr>"
        for entry in reversed(log)
    )
    return (
        '<table style="border-collapse:collapse;font-size:12px;line-height:1.3;width:100%">'
        f"<thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>"
    )


def _kind(entry: Entry) -> str:
    if entry.breach:
        return f'<br><b><span style="color:{PURPLE}">■</span> refused: unsafe</b>'
    if entry.refused:
        return "<br><b>refused</b>"
    if entry.written:
        return "<br><i>words by hand: no evidence</i>"
    if entry.reading and not entry.evidence:
        return "<br><i>after a change: no evidence</i>"
    return ""


def _result(entry: Entry) -> str:
    if entry.reading is None:
        return html.escape(entry.result)
    lines = [f"{html.escape(what)}: <b>{html.escape(seen)}</b>" for what, seen in entry.reading.lines]
    told = [] if entry.result == entry.reading.text else [html.escape(entry.result)]
    return "<br>".join([*told, *lines])


def marks_html(marks: Marks) -> str:
    """The marks, part by part, each with its sign, its word and its sentence."""
    rows = "".join(
        f'<tr><td {_CELL}><b>{html.escape(part)}</b></td><td {_NUMBER}><span style="color:{_SIGNS[word][1]}">'
        f"{_SIGNS[word][0]}</span> {word}</td><td {_CELL}>{html.escape(sentence)}</td></tr>"
        for part, word, sentence in marks.parts
    )
    return (
        '<table style="border-collapse:collapse;font-size:13px;line-height:1.35;width:100%"><tbody>'
        f"{rows}</tbody></table>"
    )


def story_html(told: Sequence[str]) -> str:
    """The story, one sentence after the other."""
    items = "".join(f"<li>{html.escape(one)}</li>" for one in told)
    return f'<ol style="margin:2px 0;padding-left:24px;font-size:12px;line-height:1.35">{items}</ol>'
