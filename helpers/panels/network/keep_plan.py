"""Keeps the plan that is shown as one of the user's own: keep, rename, remove, and what other pages begin with."""

from __future__ import annotations

import asyncio
import html
import threading
from collections.abc import Callable
from functools import partial
from typing import Any

import ipywidgets as widgets

from helpers.errors import WorkbookError
from helpers.panels.kit.drawing import ORANGE
from helpers.plan.model import Plan
from helpers.plan.my_networks import DEMOS, MyNetworks, Progress


def _evidence(plan: Plan, progress: Progress) -> None:
    """The table by which practice marks: some minutes of work, so only in the background, never in a plain script."""
    if threading.current_thread() is not threading.main_thread():
        from helpers.line.evidence.make import make_evidence  # large, and needed only now

        make_evidence(plan, progress)


# What is made of a plan once it is kept. Each gets the plan, and a function to tell how far it is; it works in a thread
# of its own, while a bar shows the share.
ON_SAVED: tuple[Callable[[Plan, Progress], object], ...] = (_evidence,)
_LOOK_S = 0.3  # between two looks at how far it is

_WIDE = widgets.Layout(width="290px")
_STYLE = {"description_width": "130px"}


class Keeper(widgets.VBox):
    """The controls. plans: the list in which a plan is chosen; shown: the plan that is chosen there."""

    def __init__(self, mine: MyNetworks, plans: Any, shown: Callable[[], Plan], uploaded: str) -> None:
        self._mine, self._plans, self._shown, self._uploaded = mine, plans, shown, uploaded
        self.task: asyncio.Task[None] | None = None
        self.name = widgets.Text(description="name", placeholder="my plant", style=_STYLE, layout=_WIDE)
        self.sure = widgets.Checkbox(description="replace it, or remove it for good", indent=False, layout=_WIDE)
        self.keep = self._button("Keep", "Keep the plan that is shown under this name", self._keep)
        self.rename = self._button("Rename", "Give the kept plan that is shown this name", self._rename)
        self.remove = self._button("Remove", "Remove the kept plan that is shown", self._remove)
        self.begin = widgets.Dropdown(description="pages begin with", style=_STYLE, layout=_WIDE)
        self.bar = widgets.FloatProgress(min=0, max=1, layout=widgets.Layout(width="290px", display="none"))
        self.said = widgets.HTML()
        self.refresh()
        self.begin.observe(lambda change: self._guarded(partial(self._mine.choose, change.new)), "value")
        buttons = widgets.HBox([self.keep, self.rename, self.remove])
        super().__init__([self.name, self.sure, buttons, self.begin, self.bar, self.said])

    def refresh(self, show: str | None = None) -> None:
        """Bring both lists up to date, and show a plan."""
        kept, now = self._mine.names(), show or self._plans.value
        everything = [*DEMOS, *kept, self._uploaded]
        if list(self._plans.options) != everything:
            self._plans.options = everything
        self._plans.value = now if now in everything else everything[0]
        if self.begin.options != (*DEMOS, *kept):
            self.begin.options = (*DEMOS, *kept)
        self.begin.value = self._mine.chosen()

    # -- what a person does -------------------------------------------------------------------------------

    def _keep(self) -> None:
        plan = self._shown()
        name = self._mine.save(self.name.value, plan, overwrite=self.sure.value)
        self._mine.choose(name)
        self.refresh(name)
        self._say(f"{name} is kept. The what-if pages begin with it the next time they are run.")
        self._follow(self._mine.read(name))

    def _rename(self) -> None:
        name = self._mine.rename(self._own(), self.name.value)
        self.refresh(name)
        self._say(f"It is called {name} now.")

    def _remove(self) -> None:
        name = self._own()
        if not self.sure.value:
            raise WorkbookError(f"This removes {name} for good. Tick the box above, then press again.")
        self._mine.remove(name)
        self.refresh(next(iter(DEMOS)))
        self._say(f"{name} is removed.")

    def _own(self) -> str:
        name = str(self._plans.value)
        if name not in self._mine.names():
            raise WorkbookError(f"{name} is not one of your own. Choose a network of your own under “plan”.")
        return name

    # -- after it is kept ---------------------------------------------------------------------------------

    def _follow(self, plan: Plan) -> None:
        """Make what is made of a kept plan, in the background where there is one."""
        if not ON_SAVED:
            return
        try:
            self.task = asyncio.get_running_loop().create_task(self._work(plan))
        except RuntimeError:
            for make in ON_SAVED:
                make(plan, self._told)

    async def _work(self, plan: Plan) -> None:
        self.bar.layout.display = ""
        try:
            for make in ON_SAVED:
                made = asyncio.get_running_loop().run_in_executor(None, make, plan, self._told)
                while not made.done():
                    await asyncio.sleep(_LOOK_S)
                await made
        except Exception as error:  # nobody waits for this task, so nobody else would tell
            self._say(f"{plan.name} is kept, but what is made of it failed: {error}", trouble=True)
        finally:
            self.bar.layout.display = "none"

    def _told(self, share: float, words: str) -> None:
        self.bar.value = share
        self._say(words)

    # -- what is said -------------------------------------------------------------------------------------

    def _button(self, label: str, tip: str, work: Callable[[], object]) -> widgets.Button:
        button = widgets.Button(description=label, tooltip=tip, layout=widgets.Layout(width="92px"))
        button.on_click(lambda _: self._guarded(work))
        return button

    def _guarded(self, work: Callable[[], object]) -> None:
        # An exception that leaves a callback is shown nowhere in the browser, so it is shown here.
        try:
            work()
        except WorkbookError as error:
            self._say(str(error).partition("\n")[0], trouble=True)
        except Exception as error:
            self._say(f"The workbook itself failed here ({type(error).__name__}: {error}).", trouble=True)
        else:
            self.sure.value = False

    def _say(self, words: str, *, trouble: bool = False) -> None:
        mark = f' role="alert" style="border-left:6px solid {ORANGE};padding-left:8px' if trouble else ' style="'
        self.said.value = f'<p{mark};line-height:1.3;margin:0">{html.escape(words)}</p>'
