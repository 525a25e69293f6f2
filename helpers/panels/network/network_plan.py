"""The panel for a whole network plan: choose or upload one, and see its verdict, its segments and its bus cycle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from helpers.answer import Answer
from helpers.bus.cable.line_picture import LinePicture
from helpers.device.description.read import ENDINGS
from helpers.errors import Unreadable, WorkbookError
from helpers.panels.cable.segment_drawing import line_drawing
from helpers.panels.kit import fields
from helpers.panels.kit.fields import Upload
from helpers.panels.kit.panel import Panel
from helpers.panels.network.keep_plan import Keeper
from helpers.plan.answers import SAVE_PLAN, SHOWN, WORST, plan_answer
from helpers.plan.columns import TABLES
from helpers.plan.descriptions import is_description
from helpers.plan.model import Plan
from helpers.plan.my_networks import DEMOS, ENDING, my_networks, unpacked
from helpers.plan.read import read_plan
from helpers.plan.sheets import PlanUnreadable, as_table
from helpers.wording import counted, short

UPLOADED = "your upload"
_BEGIN = "the Mill extended"  # while no network is one's own: it has something to show
MOST_BYTES = 2_000_000  # a plan with all addresses taken has 20 kB; what is far larger would keep the page waiting

_ENDINGS = (".xlsx", ".xlsm", ".csv", ".txt", ".tsv", ENDING)
PLAN_ENDINGS = (*_ENDINGS, *ENDINGS)  # with the device descriptions that a plan names

# -- reading ------------------------------------------------------------------------------------------


def uploaded_plan(files: Sequence[Upload]) -> Plan:
    """The plan in uploaded files. Raises `Unreadable`; its `rows` list every fault of the tables."""
    plan = _read(tuple(files))
    if isinstance(plan, WorkbookError):
        raise plan
    return plan


@lru_cache(maxsize=2)
def _read(files: tuple[Upload, ...]) -> Plan | WorkbookError:
    """Read once, though several controls ask: a refusal is kept like a plan."""
    names = ", ".join(short(file.name) for file in files)
    size = sum(len(file.content) for file in files)
    if not files:
        return Unreadable("Nothing is uploaded yet; choose one of the demo plans, or press the button.")
    strange = [f for f in files if Path(f.name).suffix.lower() not in _ENDINGS and not is_description(f.name)]
    if strange:
        tables = ", ".join(f"{table}.csv" for table in TABLES)
        return Unreadable(f"{names}: a plan is one workbook saved as .xlsx, or the tables {tables} chosen together.")
    if size > MOST_BYTES:
        return Unreadable(
            f"{names}: {size / 1e6:.1f} MB; allowed are {MOST_BYTES / 1e6:.0f} MB. Save the three tables alone, "
            "without pictures and without formatted empty rows; a full plan has far less."
        )
    try:
        if len(files) == 1 and files[0].name.lower().endswith(ENDING):
            return replace(read_plan(unpacked(names, files[0].content)), name=Path(names).stem)
        return read_plan({file.name: file.content for file in files})
    except PlanUnreadable as error:
        faults = counted(len(error.problems), "fault")
        return as_table(error, f"{names}: {faults} in the tables. Mend and upload again.")
    except WorkbookError as error:
        return error


def _plan(plan: str, files: Sequence[Upload]) -> Plan:
    return uploaded_plan(files) if plan == UPLOADED else my_networks().plan(plan)


# -- the panel ----------------------------------------------------------------------------------------


class _Offers:
    """Keeps the lists of networks and segments in step with the plan, and turns to what was uploaded.

    Its observers come before those of the panel, so that the panel finds the lists in order.
    """

    def __init__(self, plan: Any, files: fields.Field, network: Any, segment: Any) -> None:
        self.plan, self.files, self.network, self.segment = plan, files, network, segment
        files.widget.observe(self._uploaded, "value")
        plan.observe(self._list, "value")
        network.observe(self._list, "value")
        self._list()

    def _uploaded(self, _: Any) -> None:
        self.plan.value = UPLOADED
        self._list()

    def _list(self, _: Any = None) -> None:
        try:
            plan = _plan(self.plan.value, self.files.value)  # type: ignore[arg-type]
        except Exception:
            return  # the panel meets the same, and says it
        networks = [network.name for network in plan]
        if list(self.network.options) != networks:
            self.network.options = networks
        segments = next([segment.name for segment in each.segments] for each in plan if each.name == self.network.value)
        if list(self.segment.options) != [WORST, *segments]:
            self.segment.options = [WORST, *segments]


def plan_panel() -> Panel:
    """A whole plan: choose a demo, one of your own, or upload one; verdict, segments, bus cycle, files to save."""
    mine = my_networks()
    own = mine.chosen()
    start = own if own in mine.names() else _BEGIN
    plan = fields.choice("plan", [*DEMOS, *mine.names(), UPLOADED], start)
    files = fields.upload("Upload your plan", ",".join(PLAN_ENDINGS))
    keeper = Keeper(mine, plan.widget, lambda: _plan(plan.widget.value, files.value), UPLOADED)  # type: ignore[arg-type]
    files = replace(files, around=widgets.VBox([files.widget, keeper]))
    network = fields.choice("network", [""])
    segment = fields.choice("draw segment", [WORST])
    _Offers(plan.widget, files, network.widget, segment.widget)

    def answer(plan: str, files: Sequence[Upload], **shown: str) -> Answer:
        return plan_answer(_plan(plan, files), **shown)

    return Panel(
        "Is my network in order?",
        {
            "plan": plan,
            "files": files,
            "network": network,
            "show": fields.choice("show", SHOWN),
            "segment": segment,
        },
        answer,
        draw={LinePicture: line_drawing},
        hint="Upload one .xlsx workbook, or the three tables network.csv, stations.csv and cable.csv together (mark "
        "them with Ctrl), and with them the device descriptions that it names; at most "
        f"{MOST_BYTES / 1e6:.0f} MB. Then name it and keep it: every page offers it. A blank one to fill in, and yours "
        f"as a file: show “{SAVE_PLAN}”. Saltmarsh Mill is invented; the extended one has faults put in on purpose.",
    )
