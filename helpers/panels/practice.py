"""Fault-finding practice: a complaint, free use of instruments, a repair, a diagnosis, and marks for the way there.

What takes long is done in a thread, one thing after the other, so the kernel goes on answering.
"""

from __future__ import annotations

import asyncio
import atexit
import html
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from functools import cache
from typing import Any, TypeVar

import ipywidgets as widgets

from helpers.errors import OutOfRange, WorkbookError
from helpers.line.practice.case import GRADES, Case, draw_case, mill
from helpers.line.practice.marking import Marks, mark
from helpers.line.practice.session import ALIVE, Session
from helpers.line.practice.signatures import Signatures
from helpers.line.practice.story import story
from helpers.panels.bench_tools import Tool
from helpers.panels.network_drawing import demo_site
from helpers.panels.panel import HOW
from helpers.panels.practice_tools import BusTool, ClaimTool, MeasureTool, MendTool
from helpers.panels.practice_views import (
    GRADE_WORDS,
    complaint_html,
    log_html,
    marks_html,
    progress_words,
    standing_words,
    story_html,
)
from helpers.panels.view import fold
from helpers.study.progress import own_folder
from helpers.written import whole

T = TypeVar("T")

TITLE = "Fault-finding practice"
START_SENTENCE = (
    "Choose a grade and a case number, then press “Take this case”. The plant says what is wrong; you measure, repair, "
    "and name the cause. Every step costs minutes. The site is the invented Saltmarsh Mill."
)
PANES = ("Measure", "Bus", "Repair", "Diagnosis")
LOG, PLANT, MARKS, STORY = SHOWN = ("Log", "The plant", "Marks", "What each reading said")
_MOST_CASES = 999_999
_LOOK_S = 2.0  # between two looks at how far the background has come
_MARK_S, _STORY_S = 3.0, 1.0  # for what the background has not made yet; the rest stays open
_HIGH = 420
# One thread for everything that belongs to a session or to the signatures: neither is made for two at once.
_THREAD = ThreadPoolExecutor(1, thread_name_prefix="practice")


@cache
def own_signatures() -> Signatures:
    """What each single fault of the demo site lets the instruments say, kept beside the learner's progress."""
    folder = own_folder() / "practice"
    with suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True)
    signatures = Signatures(mill(), folder)
    atexit.register(signatures.stop)
    return signatures


class PracticePanel(Tool):
    """The live panel. `session` is the work on the case that is open, None before the first one.

    draw, signatures: where cases and signatures come from.
    """

    def __init__(
        self,
        draw: Callable[[int, int], Case] = draw_case,
        signatures: Callable[[], Signatures] = own_signatures,
    ) -> None:
        self._draw_case, self._signatures = draw, signatures
        self.session: Session | None = None
        self.marks: Marks | None = None
        self.task: asyncio.Task[None] | None = None
        self._watching: asyncio.Task[None] | None = None
        self._busy = False
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
        self.grade.layout.width, self.grade.style.description_width = "310px", "45px"
        self.number = self.line_of("case no.", "1", width=140)
        self.number.style.description_width = "55px"
        self.begin = self.button("Take this case", self._take_case, width=120)
        self.another = self.button("Another case", self._another, tip="The next number of this grade", width=115)
        self.watch = self.button("Does it run now?", self._watch, tip="Watch the plant for 5 min", width=140)
        self.watch.disabled = True
        row = widgets.HBox([title, self.grade, self.number, self.begin, self.another, self.watch])
        self.standing = widgets.HTML()
        self.bar = widgets.VBox([row, self.standing])
        self.complaint = widgets.HTML()

    # -- a case ---------------------------------------------------------------------------------------------------

    def _another(self) -> None:
        self.number.value = str(self._seed() % _MOST_CASES + 1 if self.session else self._seed())
        self._take_case()

    def _seed(self) -> int:
        seed = whole(self.number.value)
        if not 1 <= seed <= _MOST_CASES:
            raise OutOfRange(f"Case number {seed}: allowed are 1 to {_MOST_CASES}. Each number is another case.")
        return seed

    def _take_case(self) -> None:
        seed, grade = self._seed(), self.grade.value
        self._begin(lambda: Session(self._draw_case(seed, grade)), self._opened, "The plant calls: a case is drawn")

    def _opened(self, session: Session) -> None:
        if self.session and self.session.log:  # the log of the case before stays readable
            self._earlier = fold(f"Log of the case before: {self.session.case.complaint}", log_html(self.session.log))
        self.session, self.marks, self._told = session, None, ()
        self.complaint.value = complaint_html(session.case)
        if not self._tools:
            self._build()
        self._tools["Diagnosis"].forget()
        self.shown.value, self.pane.value = LOG, PANES[0]
        self._show()
        self._work_in_background()

    def _build(self) -> None:
        """The tools, which need a line, with the first case."""
        self._tools = {
            "Measure": MeasureTool(self._now, self._do),
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

    def _do(self, action: Callable[[Session], object]) -> None:
        session = self._now()
        self.shown.value = LOG
        self._begin(lambda: action(session), lambda _: None, "At work")

    def _watch(self) -> None:
        self._do(Session.watch)

    def _mark(self) -> None:
        session, claims, signatures = self._now(), self._tools["Diagnosis"].claims, self._signatures

        def work() -> tuple[Marks, tuple[str, ...]]:
            marks = mark(session, claims, signatures(), seconds=_MARK_S)
            return marks, story(session, marks, signatures(), seconds=_STORY_S)

        self._begin(work, self._marked, "Your readings are held against every single fault")

    def _marked(self, found: tuple[Marks, tuple[str, ...]]) -> None:
        self.marks, self._told = found
        self.shown.value = MARKS

    def _begin(self, work: Callable[[], T], then: Callable[[T], None], words: str) -> None:
        """Do work in the thread if there is a loop to come back to; else, as in a script, at once."""
        if self._busy:
            raise OutOfRange("One thing at a time: the last one is still being done. Press again when it is ready.")
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            try:
                then(work())
            finally:
                self._show()
        else:
            self._wait(words)
            self.task = loop.create_task(self._later(work, then))

    async def _later(self, work: Callable[[], T], then: Callable[[T], None]) -> None:
        trouble = ""
        try:
            then(await asyncio.get_running_loop().run_in_executor(_THREAD, work))
        except WorkbookError as error:
            trouble = str(error)
        except Exception as error:  # nobody waits for this task, so nobody else would tell
            trouble = f"The workbook itself failed here ({type(error).__name__}: {error})."
        self._wait("")
        self.guarded(self._show)
        if trouble:
            self.say(trouble)

    def _wait(self, words: str) -> None:
        self._busy = bool(words)
        self._tell(f"{words} …" if words else "")

    # -- in the background ----------------------------------------------------------------------------------------

    def _work_in_background(self) -> None:
        with suppress(RuntimeError):  # no loop: a script, which makes what it needs when it marks
            if self._watching is None or self._watching.done():
                self._watching = asyncio.get_running_loop().create_task(self._look())

    async def _look(self) -> None:
        """Start making signatures, and look now and then how far they are."""
        loop = asyncio.get_running_loop()
        try:
            await loop.run_in_executor(_THREAD, lambda: self._signatures().start())
            share = 0.0
            while share < 1:
                share = await loop.run_in_executor(_THREAD, lambda: self._signatures().progress)
                self.made = progress_words(share)
                if not self._busy:
                    self._tell()
                await asyncio.sleep(_LOOK_S)
        except Exception as error:  # the practice goes on; marking then makes what it needs itself
            self.made = f"Working out single faults in the background failed ({type(error).__name__}: {error})"
            self._tell()

    made = ""

    # -- what is shown --------------------------------------------------------------------------------------------

    def _tell(self, doing: str = "") -> None:
        said = [standing_words(self.session)] if self.session else []
        said += [words for words in (self.made, doing) if words]
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
        bundle: dict[str, Any] = dict(super()._repr_mimebundle_(**kwargs))
        bundle["text/plain"] = f"{TITLE}: {START_SENTENCE}"
        bundle["text/html"] = f"<p><b>{TITLE}</b></p>{self._still}<p><i>{HOW}</i></p>"
        return bundle


def practice_panel() -> PracticePanel:
    """Cases without end on the demo site."""
    return PracticePanel()
