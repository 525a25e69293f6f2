"""The checklist of a drive's first run as a file, and as a part of the site record.

The file is a CSV table, one row for each step of each drive. It can be filled in with a spreadsheet program and read
back; what cannot be read is named row by row.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache

from helpers.drive.commissioning import OUTCOMES, Checklist, Result, judge, open_steps, steps, value_of
from helpers.errors import WorkbookError
from helpers.facts import DATA
from helpers.plan.record import Part
from helpers.plan.sheets import REMARK, PlanUnreadable, Problem, csv_sheet
from helpers.spreadsheet import csv_file
from helpers.verdict import Finding, findings_table, worst_first

COLUMNS = ("drive", "step", "outcome", "turn", "reading", "remark", "who")
_TABLE = "first run"
_STEPS = {step.name: step for step in steps()}


def checklist_csv(checklists: Iterable[Checklist]) -> bytes:
    """The lists as CSV: every step of every drive, those still open too, so that it can be printed and filled in.

    >>> checklist_csv([Checklist("Cooling fan")]).decode("utf-8-sig").splitlines()[1]
    'Cooling fan,read nameplates and label,not done,,,,'
    """
    rows = [_cells(each.drive, each.result(name)) for each in checklists for name in _STEPS]
    return csv_file([COLUMNS, *([row[column] for column in COLUMNS] for row in rows)], remarks=REMARK)


def read_checklists(content: bytes, name: str = "first-run.csv") -> tuple[Checklist, ...]:
    """The lists in a CSV file, in the order of their drives.

    Raises `PlanUnreadable` with a sentence for every bad row; `Unreadable` if the file is no table.

    >>> read_checklists(checklist_csv([Checklist("Cooling fan")]))[0].drive
    'Cooling fan'
    """
    rows = csv_sheet(_TABLE, name, content, remarks=REMARK).rows
    heads = [cell.text.lower() for cell in rows[0][1]] if rows else []
    missing = [column for column in COLUMNS if column not in heads]
    if missing:
        raise PlanUnreadable(
            [Problem(_TABLE, 0, "", f"no column {', '.join(missing)}", f"the columns {', '.join(COLUMNS)}")]
        )
    places = {column: heads.index(column) for column in COLUMNS}
    problems = list[Problem]()
    found: dict[str, list[Result]] = {}
    for number, cells in rows[1:]:
        texts = [cell.text for cell in cells] + [""] * (len(heads) - len(cells))
        row = {column: texts[place] for column, place in places.items()}
        faults = list(_faults(number, row, found))
        problems += faults
        if not faults and row["step"]:
            turn = int(row["turn"]) if row["outcome"] == "done" else 0
            result = Result(row["step"], row["outcome"] or "not done", row["reading"], row["remark"], row["who"], turn)
            found.setdefault(row["drive"], []).append(result)
    if problems:
        raise PlanUnreadable(problems)
    return tuple(_checklist(drive, results) for drive, results in found.items())


def demo_checklists() -> tuple[Checklist, ...]:
    """The invented list of `data/demo/first_run.csv`, with faults in it on purpose.

    >>> [checklist.drive for checklist in demo_checklists()]
    ['Cooling fan']
    """
    return read_checklists((DATA / "demo" / "first_run.csv").read_bytes())


def first_run_parts(checklists: Iterable[Checklist]) -> tuple[Part, ...]:
    """The lists as parts of a site record: for each drive what is wrong or open, then every step with its result."""
    return tuple(part for checklist in checklists for part in _parts(checklist))


@lru_cache(maxsize=128)  # while one drive's list is filled in, those of the others stay as they are
def _parts(checklist: Checklist) -> tuple[Part, Part]:
    remarks = tuple(findings_table(worst_first(wrong(judge(checklist)))))
    left = ", ".join(step.name for step in open_steps(checklist))
    progress = f"Still open: {left}." if left else "Every step is done, or has a reason why not."
    rows = tuple(
        {column: text for column, text in _cells("", checklist.result(name)).items() if column != "drive"}
        for name in _STEPS
    )
    return (
        Part(f"First run of {checklist.drive}, on its own", 2, (progress,), remarks),
        Part(f"Steps of {checklist.drive}", 3, (), rows),
    )


def wrong(findings: Sequence[Finding]) -> list[Finding]:
    """The findings that ask for something; a step that is only still open asks for nothing but to go on."""
    return [finding for finding in findings if finding.degree and finding.rule != "missing step"]


def _cells(drive: str, result: Result) -> Mapping[str, str]:
    turn = str(result.turn) if result.turn else ""
    return {
        "drive": drive,
        "step": result.step,
        "outcome": result.outcome,
        "turn": turn,
        "reading": result.reading,
        "remark": result.remark,
        "who": result.who,
    }


def _checklist(drive: str, results: list[Result]) -> Checklist:
    kept = [result for result in results if result != Result(result.step)]
    return Checklist(drive, tuple(sorted(kept, key=lambda result: _STEPS[result.step].order)))


def _faults(number: int, row: Mapping[str, str], found: Mapping[str, Sequence[Result]]) -> Iterable[Problem]:
    """What is wrong with a row, given the rows before it."""

    def fault(column: str, expected: str) -> Problem:
        return Problem(_TABLE, number, column, repr(row[column]), expected)

    before = found.get(row["drive"], ())
    if not row["drive"]:
        yield fault("drive", "the name of a drive")
    if row["step"] not in _STEPS:
        yield fault("step", f"one of {', '.join(_STEPS)}")
        return
    if any(result.step == row["step"] for result in before):
        yield fault("step", "each step once for each drive")
    if row["outcome"] not in ("", *OUTCOMES):
        yield fault("outcome", f"one of {', '.join(OUTCOMES)}")
    if row["outcome"] == "done":
        if not (row["turn"].isascii() and row["turn"].isdigit() and 0 < int(row["turn"]) < 1000):
            yield fault("turn", "the turn in which it was done, 1 for the first")
        elif any(result.turn == int(row["turn"]) for result in before):
            yield fault("turn", "a turn that no other step of this drive has")
    try:
        value_of(row["step"], row["reading"])
    except WorkbookError as error:
        yield fault("reading", str(error).removesuffix("."))
