"""Files that a plan leaves behind, as links of a panel: verdict, site record, the plan itself, a blank one."""

from __future__ import annotations

from functools import lru_cache

from helpers.answer import TakeAway
from helpers.plan.check import check
from helpers.plan.model import Plan
from helpers.plan.my_networks import kept_files
from helpers.plan.record import record_html, record_text, verdict_csv, verdict_xlsx, zipped
from helpers.plan.save import plan_files

Listed = tuple[tuple[TakeAway, str], ...]

_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
_ZIP, _HTML, _TEXT = "application/zip", "text/html", "text/plain;charset=utf-8"


@lru_cache(maxsize=2)
def files_of_verdict(plan: Plan) -> Listed:
    """All findings on all networks as a table; each file with what it holds."""
    findings = check(plan)
    return (
        (TakeAway("verdict.xlsx", verdict_xlsx(findings), _XLSX), "every finding with its source, to filter and sort"),
        (TakeAway("verdict.csv", verdict_csv(findings)), "the same, for any program"),
    )


@lru_cache(maxsize=2)
def files_of_record(plan: Plan) -> Listed:
    """The site record of all networks."""
    return (
        (
            TakeAway("site-record.html", record_html(plan).encode(), _HTML),
            "stations, cable, verdict and bus cycle on pages to print; date and signatures by hand",
        ),
        (TakeAway("site-record.txt", record_text(plan).encode(), _TEXT), "the same as plain text"),
    )


@lru_cache(maxsize=2)
def files_of_plan(plan: Plan) -> Listed:
    """The plan as it was understood, as a workbook and as tables."""
    return (
        _workbook(plan, "plan.xlsx", "this plan as a workbook, every value in the unit of its heading"),
        _tables(plan, "plan-csv.zip", "the same as tables, with its device descriptions; upload it as it is"),
    )


@lru_cache(maxsize=1)
def blank_files() -> Listed:
    """A plan with headings, explanations and examples only."""
    return (
        _workbook(None, "blank-plan.xlsx", "an empty workbook to fill in; each column is explained in it"),
        _tables(None, "blank-plan-csv.zip", "the same as tables; unpack it and fill them in"),
    )


def _workbook(plan: Plan | None, name: str, holds: str) -> tuple[TakeAway, str]:
    return TakeAway(name, plan_files(plan, workbook=True)["plan.xlsx"], _XLSX), holds


def _tables(plan: Plan | None, name: str, holds: str) -> tuple[TakeAway, str]:
    return TakeAway(name, zipped(kept_files(plan) if plan else plan_files(None, workbook=False)), _ZIP), holds
