"""The panel for a drive's first run: a checklist to fill in beside the drive, judged as it grows, and taken away."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import Any

import ipywidgets as widgets
import traitlets

from helpers.answer import Answer, Row, TakeAway
from helpers.caution import DANGER, Caution
from helpers.drive.commissioning import (
    LIVE,
    MEASURE,
    OUTCOMES,
    Checklist,
    CommissioningStep,
    judge,
    marked,
    must_come_first,
    next_step,
    open_steps,
    step_called,
    steps,
    touch_limit,
    us_practice,
)
from helpers.errors import Unreadable, WorkbookError
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, PAPER, PURPLE, SAND, SKY, Drawing
from helpers.panels.kit.fields import Field
from helpers.panels.kit.network_field import network_field
from helpers.panels.kit.panel import Panel
from helpers.plan.first_run import checklist_csv, first_run_parts, read_checklists, wrong
from helpers.plan.model import Network, Plan
from helpers.plan.record import Part, page, record_html
from helpers.plan.sheets import PlanUnreadable, as_table
from helpers.verdict import Degree, Finding, worst, worst_first
from helpers.wording import capital_first, counted, short

_HTML = "text/html"
_GROUPS = {"dead": "dead", "alone": "on its own", "hand over": "hand over to the bus"}
_UNITS = {"": "no reading", "text": "in words", "address": "an address"}


def first_run_view(checklist: Checklist, name: str, plan: Plan | None = None,
                   others: Sequence[Checklist] = ()) -> Answer:  # fmt: skip
    """One step of a drive's list, what is wrong with the list so far, and the files to take away.

    others: the lists of further drives, which go into the same files; plan: the plan whose site record they join.
    """
    step, findings = step_called(name), judge(checklist)
    told = sorted(worst_first(wrong(findings)), key=lambda finding: finding.rule != LIVE)  # what can kill comes first
    left = open_steps(checklist)
    first = must_come_first(checklist, name)
    return Answer(
        _sentence(checklist, told, left),
        degree=worst(told) if told or not left else None,
        because=_said(told[0]) if told else "",
        caution=_caution(step, first),
        pictures=[strip(checklist, name)],
        rows=_card(step, first),
        folded=[
            (f"All {len(told)} findings", _finding_rows(told) if len(told) > 1 else ()),
            (f"All {len(steps())} steps of {short(checklist.drive)}", _all_rows(checklist)),
        ],
        sources=[f"step {step.order}, {step.name}: {step.cited}", *(f"{f.rule}: {f.source}" for f in told)],
        files=_files((checklist, *others), plan),
    )


def _sentence(checklist: Checklist, told: Sequence[Finding], left: Sequence[CommissioningStep]) -> str:
    count, drive = len(steps()), short(checklist.drive)
    past = f"{drive}: {count - len(left)} of {count} steps"
    following = next_step(checklist)
    if told:
        return f"{past} past, {len(told)} finding{'s' if len(told) > 1 else ''}."
    if following is None:
        return f"{drive}: all {count} steps are past. The drive is proved on its own, and set for the bus."
    if len(left) == count:
        return f"{drive}: nothing is written down yet. Begin with step {following.order}, {following.name}."
    return f"{past} past, in order so far. Next: step {following.order}, {following.name}."


def _said(finding: Finding) -> str:
    rule = capital_first(finding.rule)
    other = f" ({us_practice()})" if finding.rule == LIVE else ""
    return f"{rule}, {finding.place}: {finding.found}; allowed is: {finding.allowed}{other}. {finding.to_do}"


def _caution(step: CommissioningStep, first: Sequence[CommissioningStep]) -> tuple[Caution, ...]:
    not_yet = ", ".join(f"“{each.name}”" for each in first if each.safety)
    stop = [Caution(DANGER, f"Not yet: {not_yet} must come first.")] if not_yet else []
    return (*stop, *step.caution)


def _card(step: CommissioningStep, first: Sequence[CommissioningStep]) -> list[Row]:
    head = f"step {step.order} of {len(steps())}: {step.name}"
    lines = [("do", step.do), ("you should see", step.see), ("why", step.why)]
    if step.name == MEASURE:
        limit = touch_limit()
        lines.insert(2, ("limit", f"{limit.last:g} V DC ({limit.cited}). {us_practice()}."))
    if first:
        lines.insert(0, ("first", ", ".join(f"{each.order} {each.name}" for each in first)))
    return [{"": what, head: words} for what, words in lines]


def _finding_rows(told: Sequence[Finding]) -> list[Row]:
    return [
        {"verdict": f.degree, "rule": f.rule, "step": f.place, "found": f.found, "what to do": f.to_do} for f in told
    ]


def _all_rows(checklist: Checklist) -> list[Row]:
    rows = list[Row]()
    for step in steps():
        result = checklist.result(step.name)
        rows.append(
            {"step": f"{step.order} {step.name}", "outcome": result.outcome, "turn": result.turn or "",
             "reading": short(result.reading), "remark": short(result.remark), "who": short(result.who)}
        )  # fmt: skip
    return rows


def _files(checklists: Sequence[Checklist], plan: Plan | None) -> list[TakeAway]:
    parts = first_run_parts(checklists)
    title = Part("First runs", 1, tuple(f"{what}: {'_' * 36}" for what in ("Site", "Date", "Done by")))
    files = [
        TakeAway("first-run.csv", checklist_csv(checklists)),
        TakeAway("first-run.html", page((title, *parts)).encode(), _HTML),
    ]
    if plan:
        files.append(TakeAway("site-record-with-first-runs.html", record_html(plan, parts).encode(), _HTML))
    return files


# -- the strip ----------------------------------------------------------------------------------------

_PITCH, _SIDE, _TOP, _GAP = 31, 27, 22, 14


def strip(checklist: Checklist, here: str) -> Drawing:
    """All steps in a row, in their groups: done, impossible, out of order, still open; the one in hand is framed."""
    bad = {f.place: f.degree for f in sorted(wrong(judge(checklist)), key=lambda finding: finding.degree)}
    signs = {step.name: _sign(checklist, step, bad) for step in steps()}
    says = "; ".join(f"step {step.order} {step.name}: {signs[step.name][0]}" for step in steps())
    sheet = Drawing(2 * _GAP + _PITCH * len(steps()) + 12, 84, f"{says}. In hand: {here}")
    x, group = 2.0, ""
    for step in steps():
        if step.group != group:
            x += _GAP if group else 0
            sheet.text(x, 14, _GROUPS[step.group], size=12, anchor="start", bold=True)
            group = step.group
        _, sign, ink, fill = signs[step.name]
        now = step.name == here
        sheet.box(x, _TOP, _SIDE, _SIDE, fill=fill, stroke=INK if now else GREY, line=3.5 if now else 1.0, round_=4)
        sheet.text(x + _SIDE / 2, _TOP + 18, step.order, size=12, bold=now)
        sheet.text(x + _SIDE / 2, _TOP + _SIDE + 16, sign, size=13, fill=ink, bold=True)
        x += _PITCH
    sheet.text(2, 81, "✓ done · – not possible · ▲ ■ look here · thick frame: the step in hand", size=11, fill=GREY,
               anchor="start")  # fmt: skip
    return sheet


def _sign(checklist: Checklist, step: CommissioningStep, bad: Mapping[str, Degree]) -> tuple[str, str, str, str]:
    outcome = checklist.result(step.name).outcome
    if step.name in bad:
        broken = bad[step.name].forbidden
        return bad[step.name].words, "■" if broken else "▲", PURPLE if broken else ORANGE, SAND
    if outcome == "done":
        return outcome, "✓", BLUE, SKY
    return (outcome, "–", INK, SKY) if outcome == "not possible" else ("open", "", GREY, PAPER)


# -- filling in ---------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Desk:
    """What is on the desk: the lists by drive, the drive and the step in hand, and what was refused last."""

    drive: str
    step: str
    lists: Mapping[str, Checklist] = field(default_factory=dict)
    refused: WorkbookError | None = None

    @property
    def checklist(self) -> Checklist:
        """The list of the drive in hand."""
        return self.lists.get(self.drive, Checklist(self.drive))


class Entry(widgets.VBox):
    """The fields in which a step is written down. `value` is the `Desk`; the panel follows it."""

    value = traitlets.Any()

    def __init__(self, drives: Sequence[str]) -> None:
        wide, style = widgets.Layout(width="290px"), {"description_width": "80px"}
        self.drive = widgets.Combobox(value=drives[0], options=tuple(drives), description="drive",
                                      continuous_update=False, style=style, layout=wide)  # fmt: skip
        self.step = widgets.Dropdown(description="step", style=style, layout=wide)
        self.outcome = widgets.Dropdown(options=OUTCOMES, description="outcome", style=style, layout=wide)
        self.reading = widgets.Text(style=style, layout=wide, description="reading")
        self.remark = widgets.Text(style=style, layout=wide, description="remark")
        self.who = widgets.Text(style=style, layout=wide, description="who")
        self.write = widgets.Button(description="Write it down", button_style="primary", layout=wide,
                                    tooltip="Keeps this step and turns to the next")  # fmt: skip
        self.saved = widgets.FileUpload(description="Go on with a saved first-run.csv", accept=".csv", layout=wide)
        self._busy = False
        self.value = Desk(drives[0], steps()[0].name)
        noted = [self.outcome, self.reading, self.remark, self.who]
        super().__init__([self.drive, self.step, *noted, self.write, self.saved])
        self._show()
        self.drive.observe(self._turned_to_drive, "value")
        self.step.observe(self._turned_to_step, "value")
        self.write.on_click(self._written)
        self.saved.observe(self._read, "value")

    def offer(self, drives: Sequence[str]) -> None:
        """Other drives to choose from; a list that was begun, and the drive in hand while it has one, stay."""
        self.drive.options = tuple(drives)
        if self.value.drive not in (*drives, *self.value.lists):
            self.drive.value = drives[0]

    def _put(self, desk: Desk) -> None:
        self.value = desk
        self._show()

    def _show(self) -> None:
        """Fields and lists as the page in hand has them."""
        self._busy = True
        checklist, step = self.value.checklist, step_called(self.value.step)
        result = checklist.result(step.name)
        self.drive.value = self.value.drive
        self.step.options = [(_listed(checklist, each), each.name) for each in steps()]
        self.step.value = step.name
        self.outcome.value = result.outcome if result.outcome == "not possible" else "done"
        self.reading.value, self.remark.value = result.reading, result.remark
        self.reading.placeholder = _UNITS.get(step.reading, f"in {step.reading}")
        self.reading.disabled = not step.reading
        self._busy = False

    def _turned_to_drive(self, _: Any) -> None:
        if not self._busy and self.drive.value.strip():
            drive = self.drive.value.strip()
            known = self.value.lists.get(drive, Checklist(drive))
            self._put(replace(self.value, drive=drive, step=(next_step(known) or steps()[0]).name, refused=None))

    def _turned_to_step(self, _: Any) -> None:
        if not self._busy:
            self._put(replace(self.value, step=self.step.value, refused=None))

    def _written(self, _: Any) -> None:
        desk = self.value
        try:
            checklist = marked(desk.checklist, desk.step, self.outcome.value, reading=self.reading.value,
                               remark=self.remark.value, who=self.who.value)  # fmt: skip
        except WorkbookError as error:
            self.value = replace(desk, refused=error)  # what was typed stays, to be put right
            return
        following = next_step(checklist)
        lists = {**desk.lists, desk.drive: checklist}
        self._put(Desk(desk.drive, following.name if following else desk.step, lists))

    def _read(self, _: Any) -> None:
        if not self.saved.value:
            return
        file = self.saved.value[0]
        try:
            lists = {each.drive: each for each in read_checklists(bytes(file["content"]), file["name"])}
            if not lists:
                raise Unreadable(f"{short(file['name'])} holds no step of any drive.")
        except WorkbookError as error:
            self.value = replace(self.value, refused=_in_rows(file["name"], error))
            return
        drive, checklist = next(iter(lists.items()))
        self._put(Desk(drive, (next_step(checklist) or steps()[0]).name, {**self.value.lists, **lists}))


def _listed(checklist: Checklist, step: CommissioningStep) -> str:
    sign = {"done": "✓ ", "not possible": "– "}.get(checklist.result(step.name).outcome, "")
    return f"{sign}{step.order} {step.name}"


def _in_rows(name: str, error: WorkbookError) -> WorkbookError:
    """Bad rows of a file as a table below one sentence."""
    if not isinstance(error, PlanUnreadable):
        return error
    rows = counted(len(error.problems), "bad row")
    return as_table(error, f"{short(name)}: {rows}. Mend and choose the file again.")


def first_run_panel(*, own: bool = False) -> Panel:
    """The first run of each drive of a network, step by step. own: begin with the user's own network."""
    network = network_field(own=own)
    entry = Entry(_drives(network.value))  # type: ignore[arg-type]

    def offer(_: object) -> None:
        with suppress(WorkbookError):  # the panel meets the same, and says it
            entry.offer(_drives(network.value))  # type: ignore[arg-type]

    network.widget.observe(offer, "value")

    def answer(network: Network, desk: Desk) -> Answer:
        if desk.refused:
            raise desk.refused
        others = [each for drive, each in desk.lists.items() if drive != desk.drive]
        return first_run_view(desk.checklist, desk.step, Plan(network.name, (network,)), others)

    return Panel(
        "The first run, step by step",
        {"network": network, "desk": Field(entry)},
        answer,
        hint="Choose a drive or type your own. “Write it down” keeps the step and turns to the next. Save before you "
        "close the page: nothing is kept without.",
    )


def _drives(network: Network) -> list[str]:
    return [station.name for station in network.slaves if station.kind == "drive"] or ["Drive"]
