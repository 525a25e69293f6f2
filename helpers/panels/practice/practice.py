"""Fault-finding practice: a complaint, free use of instruments, a repair, a diagnosis, and marks for the way there.

What takes long is done in a thread, one thing after the other, so the kernel goes on answering.
"""

from __future__ import annotations

import asyncio
import html
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import Any, NamedTuple

import ipywidgets as widgets

from helpers.errors import OutOfRange, WorkbookError
from helpers.line.evidence.table import Evidence, evidence_of
from helpers.line.gate import ALIVE
from helpers.line.hazard import care
from helpers.line.plant.build import installation_of
from helpers.line.plant.installation import Installation
from helpers.line.practice.case import GRADES, Case, draw_case
from helpers.line.practice.marking import Claim, Marks, mark
from helpers.line.practice.session import Session
from helpers.line.practice.story import story
from helpers.panels.bench.bench_tools import SIMULATION, Tool
from helpers.panels.cable.segment_drawing import line_drawing
from helpers.panels.kit.as_html import fold
from helpers.panels.kit.network_field import network_at, network_options
from helpers.panels.kit.panel import at_rest
from helpers.panels.network.network_drawing import demo_site
from helpers.panels.practice.practice_tools import BusTool, ClaimTool, MeasureTool, MendTool, WordsTool
from helpers.panels.practice.practice_views import (
    GRADE_WORDS,
    complaint_html,
    log_html,
    marks_html,
    standing_words,
    story_html,
)
from helpers.plan.answers import network_picture
from helpers.plan.model import Network
from helpers.plan.my_networks import demo_network
from helpers.written import whole

TITLE = "Fault-finding practice"
START_SENTENCE = (
    "Choose a grade and a case number, then press “Take this case”. The plant says what is wrong; you measure, repair, "
    "and name the cause. Every step costs minutes. The site is the invented Saltmarsh Mill, or a network of your own."
)
PANES = ("Measure", "Words", "Bus", "Repair", "Diagnosis")
LOG, PLANT, MARKS, STORY = SHOWN = ("Log", "The plant", "Marks", "What each reading said")
_MOST_CASES = 999_999
_HIGH = 420
_MOST_JOBS = 2  # one that is being done, and one that waits
# One thread for everything that belongs to a session: it is not made for two at once.
_THREAD = ThreadPoolExecutor(1, thread_name_prefix="practice")


class Job(NamedTuple):
    """What a click asks for: the work, what follows with its result, and the words to show meanwhile.

    session: the one that it belongs to; None for any.
    """

    work: partial[Any]
    then: Callable[[Any], object]
    words: str
    session: Session | None = None

    def same(self, other: Job) -> bool:
        """True if both ask for the same."""
        mine, theirs = ((job.work.func, job.work.args, job.work.keywords) for job in (self, other))
        return mine == theirs


class PracticePanel(Tool):
    """The live panel. `session` is the work on the case that is open, None before the first one.

    draw, evidence: where cases of the demo site, and the table of evidence of an installation, come from.
    """

    def __init__(
        self,
        draw: Callable[[int, int], Case] = draw_case,
        evidence: Callable[[Installation], Evidence] = evidence_of,
    ) -> None:
        self._draw_case, self._evidence = draw, evidence
        self.session: Session | None = None
        self.marks: Marks | None = None
        self.task: asyncio.Task[None] | None = None
        self._jobs: list[Job] = []
        self._told: tuple[str, ...] = ()
        self._earlier = ""
        self._tools: dict[str, Any] = {}
        self._bar()
        self._site = site = demo_site().html
        intro = f'<p style="line-height:1.4;margin:4px 0">{html.escape(START_SENTENCE)}</p>'
        self._still = intro + site
        self.body = widgets.VBox([widgets.HTML(self._still)])
        super().__init__([self.bar, self.complaint, self.body])
        self.children = [self.bar, self.complaint, self.said, self.body]
        self.layout = widgets.Layout(width="1140px", padding="4px 0")

    def _bar(self) -> None:
        title = widgets.HTML(f"<b style='font-size:16px'>{TITLE}</b>", layout=widgets.Layout(width="200px"))
        self.grade = self.list_of("grade", [(GRADE_WORDS[grade], grade) for grade in GRADES])
        self.grade.layout.width, self.grade.style.description_width = "320px", "45px"
        self.number = self.line_of("case no.", "1", width=140)
        self.number.style.description_width = "55px"
        self.begin = self.button("Take this case", self._take_case, SIMULATION, width=120)
        self.another = self.button(
            "Another case", self._another, SIMULATION, tip="The next number of this grade", width=115
        )
        self.watch = self.button(
            "Does it run now?", self._watch, partial(care, "watch"), tip="Watch the plant for 5 min", width=140
        )
        self.watch.disabled = True
        row = widgets.HBox([title, self.grade, self.number, self.begin, self.another, self.watch])
        options, start = network_options(own=False)
        self.network = self.list_of("network", options)
        self.network.value, self.network.layout.width = start, "400px"
        self.standing = widgets.HTML()
        self.bar = widgets.VBox([row, widgets.HBox([self.network, self.standing])])
        self.complaint = widgets.HTML()

    # -- a case ---------------------------------------------------------------------------------------------------

    def _another(self) -> None:
        seed = self._seed() % _MOST_CASES + 1 if self.session else self._seed()
        self._draw(seed)
        self.number.value = str(seed)

    def _seed(self) -> int:
        seed = whole(self.number.value)
        if not 1 <= seed <= _MOST_CASES:
            raise OutOfRange(f"Case number {seed}: allowed are 1 to {_MOST_CASES}. Each number is another case.")
        return seed

    def _take_case(self) -> None:
        self._draw(self._seed())

    def _draw(self, seed: int) -> None:
        chosen = network_at(self.network.value)
        network = None if chosen == demo_network() else chosen
        work = partial(self._drawn, seed, self.grade.value, network)
        self._begin(Job(work, partial(self._opened, network), "The plant calls: a case is drawn"))

    def _drawn(self, seed: int, grade: int, network: Network | None) -> Session:
        case = draw_case(seed, grade, installation_of(network)) if network else self._draw_case(seed, grade)
        return Session(case)

    def _opened(self, network: Network | None, session: Session) -> None:
        self._site = (line_drawing(network_picture(network)) if network else demo_site()).html
        if self.session and self.session.log:  # the log of the case before stays readable
            self._earlier = fold(f"Log of the case before: {self.session.case.complaint}", log_html(self.session.log))
        self.session, self.marks, self._told = session, None, ()
        self.complaint.value = complaint_html(session.case)
        if not self._tools:
            self._build()
        self._tools["Diagnosis"].forget()
        self.shown.value, self.pane.value = LOG, PANES[0]
        self._show()

    def _build(self) -> None:
        """The tools, which need a line, with the first case."""
        self._tools = {
            "Measure": MeasureTool(self._now, self._do),
            "Words": WordsTool(self._now, self._do),
            "Bus": BusTool(self._now, self._do),
            "Repair": MendTool(self._now, self._do),
            "Diagnosis": ClaimTool(self._now, self._mark),
        }
        look = {"button_width": "auto"}
        self.pane = widgets.ToggleButtons(options=PANES, style=look, layout=widgets.Layout(width="426px"))
        self.pane.observe(lambda _: self.guarded(self._show), "value")
        self.shown = widgets.ToggleButtons(options=SHOWN, style=look)
        self.shown.observe(lambda _: self.guarded(self._show), "value")
        self.inside, self.result = widgets.VBox(), widgets.HTML()
        left = widgets.VBox([self.pane, self.inside], layout=widgets.Layout(width="440px", flex="0 0 440px"))
        # Focusable, so that the keyboard can scroll a long log.
        box = widgets.VBox([self.result], layout=widgets.Layout(height=f"{_HIGH}px", overflow="auto"))
        box.tabbable = True
        right = widgets.VBox([self.shown, box], layout=widgets.Layout(width="680px"))
        self.body.children = [widgets.HBox([left, right])]

    def _now(self) -> Session:
        assert self.session is not None  # the tools exist with the first session only
        return self.session

    # -- work on it -----------------------------------------------------------------------------------------------

    def _do(self, action: partial[Any]) -> None:
        session = self._now()
        self.shown.value = LOG
        self._begin(Job(partial(action, session), lambda _: None, "At work", session))

    def _watch(self) -> None:
        self._do(partial(Session.watch))

    def _mark(self) -> None:
        session, claims = self._now(), self._tools["Diagnosis"].claims
        words = "Your readings are held against every single fault"
        self._begin(Job(partial(self._found, session, claims), self._marked, words, session))

    def _found(self, session: Session, claims: tuple[Claim, ...]) -> tuple[Marks, tuple[str, ...]]:
        evidence = self._evidence(session.case.installation)
        marks = mark(session, claims, evidence)
        return marks, story(session, marks, evidence)

    def _marked(self, found: tuple[Marks, tuple[str, ...]]) -> None:
        self.marks, self._told = found
        self.shown.value = MARKS

    def _begin(self, job: Job) -> None:
        """Do it in the thread if there is a loop to come back to; else, as in a script, at once.

        A click while something else is being done waits for its turn, so that no click is lost; the second click of a
        double one asks for nothing more.
        """
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            try:
                job.then(job.work())
            finally:
                self._show()
            return
        if self._jobs and job.same(self._jobs[-1]):
            return
        if len(self._jobs) == _MOST_JOBS:
            raise OutOfRange("One thing is being done and the next one waits. Press again when they are ready.")
        self.say("")  # what was wrong with the one before
        self._jobs.append(job)
        self._tell()
        if len(self._jobs) == 1:
            self.task = loop.create_task(self._work_off())

    async def _work_off(self) -> None:
        """One job after the other. Nobody waits for this task, so nobody else would tell what goes wrong in it."""
        loop = asyncio.get_running_loop()
        while self._jobs:
            job, trouble = self._jobs[0], ""
            self._tell()
            try:
                if job.session in (None, self.session):  # else another case was opened meanwhile
                    job.then(await loop.run_in_executor(_THREAD, job.work))
            except WorkbookError as error:
                trouble = str(error)
            except Exception as error:
                trouble = f"The workbook itself failed here ({type(error).__name__}: {error})."
            finally:
                del self._jobs[0]
            try:
                self._show()
            except Exception as error:
                trouble = trouble or f"The workbook itself failed here ({type(error).__name__}: {error})."
            if trouble:
                self.say(trouble)

    # -- what is shown --------------------------------------------------------------------------------------------

    def _tell(self) -> None:
        said = [standing_words(self.session)] if self.session else []
        said += [f"{job.words} …" for job in self._jobs[:1]] + ["the next click waits" for _ in self._jobs[1:]]
        self.standing.value = f'<p role="status" style="margin:0;line-height:1.3">{html.escape(" · ".join(said))}</p>'

    def _show(self) -> None:
        self._tell()
        if self.session is None:
            return
        self.watch.disabled = self.session.bus != ALIVE
        tool = self._tools[self.pane.value]
        if self.inside.children != (tool,):
            self.inside.children = (tool,)
        if hasattr(tool, "refresh"):
            tool.refresh()
        if self.shown.value == PLANT:
            self.result.value = "<p>As it should be; what is wrong is not drawn.</p>" + self._site
        elif self.shown.value == LOG or self.marks is None:
            told = "" if self.shown.value == LOG else "<p>First name a cause under “Diagnosis” and press “Mark it”.</p>"
            self.result.value = told + log_html(self.session.log) + self._earlier
        else:
            self.result.value = marks_html(self.marks) if self.shown.value == MARKS else story_html(self._told)

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        """What a notebook stores: the live panel, and for a reader without a kernel the site and how to begin."""
        return at_rest(super()._repr_mimebundle_(**kwargs), TITLE, START_SENTENCE, self._still)


def practice_panel() -> PracticePanel:
    """Cases without end on the demo site."""
    return PracticePanel()
