"""The line, live: a network on the bench that runs, with its picture, switches, faults, instruments and repairs."""

from __future__ import annotations

import asyncio
import html
import math
import time
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from helpers.errors import WorkbookError
from helpers.line.gate import DEAD, STATES, Gate
from helpers.line.traffic.line import Line
from helpers.panels.bench.bench_desk import FrontTool, RecordingTool, SheetTool
from helpers.panels.bench.bench_drawing import ALL, bench_drawing, live
from helpers.panels.bench.bench_plan import PlanTool, PlantTool
from helpers.panels.bench.bench_state import Bench, Seen, counted, look
from helpers.panels.bench.bench_tools import SIMULATION, WIDE, FaultTool, ReadingTool, RepairTool, Tool, offer
from helpers.panels.kit.panel import at_rest
from helpers.plan.model import Plan
from helpers.quantity import time_text

TITLE = "My network on the bench"
SPEEDS = {
    "1/1000 of real time": 0.001,
    "1/100 of real time": 0.01,
    "1/10 of real time": 0.1,
    "real time": 1.0,
    "10 × real time": 10.0,
    "as fast as it can": math.inf,
}
TICK_S, BUSY_S = 0.1, 0.04  # real time: from update to update, and how much of it an update may take
_REST_S = 0.03  # between two updates, for whatever else the kernel has to do
_LEAST_S = 0.02  # of it for the line, even if the picture takes long
_ALONE_S = 600.0  # it runs so long by itself, then it waits for a hand
HIGH = 530  # px: with the line above it fits on a small screen
PANES = ("Fault", "Measure", "Repair", "Plant", "Record", "Words", "Front")


class BenchPanel(Tool):
    """The live panel. It starts stopped; a task on the kernel's loop drives it in slices that leave others room."""

    def __init__(self, plan: Plan | Path | str | None = None) -> None:
        self.task: asyncio.Task[None] | None = None
        self._draw_s, self._skip = 0.0, 0
        self._drawn: object = None  # what the picture shows now
        self.plan = PlanTool(plan, self._build)
        self.bench = self.plan.begin(Bench)
        self._bar()
        self.picture = widgets.HTML()
        self._tools()
        # What is tall is scrolled. Without this the browser would press the buttons flat.
        self._shown = widgets.VBox(layout=widgets.Layout(flex="0 0 auto"))
        self.pane = widgets.ToggleButtons(options=PANES, style={"button_width": "auto"},
                                          layout=widgets.Layout(width="448px"))  # fmt: skip
        self.pane.observe(lambda _: self.guarded(self._turn), "value")
        left = widgets.VBox([self.picture], layout=widgets.Layout(width="702px", height=f"{HIGH}px", overflow="auto"))
        right = widgets.VBox([self.pane, self._shown], layout=widgets.Layout(height=f"{HIGH}px", overflow="auto"))
        super().__init__([self.bar, self.told, widgets.HBox([left, right])])
        self.layout = widgets.Layout(width="1150px", padding="4px 0")
        self._turn()
        self._draw()
        seen = self._look()
        self._still = f"<p>{html.escape(self._sentence(seen))}</p>{bench_drawing(seen, self.bench.plan).html}"

    def _bar(self) -> None:
        self.run = widgets.ToggleButton(description="Run", tooltip="Run or pause", layout=widgets.Layout(width="80px"))
        self.run.observe(lambda _: self.guarded(self._run), "value")
        self.step = self.button("One bus cycle", self._step, SIMULATION, width=120)
        self.speed = self.list_of("speed", list(SPEEDS))
        self.speed.value = "real time"
        self.segment = self.list_of("segment", self._segments(), self._draw)
        for box, wide, label in ((self.speed, 230, 50), (self.segment, 190, 65)):
            box.layout.width, box.style.description_width = f"{wide}px", f"{label}px"
        self.again = self.button("Begin anew", self._build, SIMULATION,
                                 tip="The line as planned, all supplies just on", width=110)  # fmt: skip
        title = widgets.HTML(f"<b style='font-size:16px'>{TITLE}</b>", layout=widgets.Layout(width="230px"))
        self.bar = widgets.HBox([title, self.run, self.step, self.speed, self.segment, self.again])
        self.told = widgets.HTML()

    def _tools(self) -> None:
        put = self.button("Put it in", self._put, SIMULATION, width=90)
        self.out = [self.button(f"Take out {n}", self._taker(n - 1), SIMULATION, width=100) for n in (1, 2)]
        self.where = widgets.Checkbox(description="show where the fault is", indent=False,
                                      layout=widgets.Layout(width=f"{WIDE}px"))  # fmt: skip
        self.where.observe(lambda _: self.guarded(self._draw), "value")
        self.within = widgets.HTML()
        tripped = "A drive that has tripped waits for Acknowledge: at its front, or begin anew."
        note = widgets.HTML(f'<p style="line-height:1.3;margin:0">{tripped}</p>')
        row = widgets.HBox([put, *self.out])
        self.fault = FaultTool(lambda: self._line().installation, row, self.within, self.where, note)
        self.reading = ReadingTool(self._gate, lambda reading: self._draw())
        self.repair = RepairTool(self._gate, lambda: self.bench.plan, lambda *done: self._draw())
        self.plant = PlantTool(lambda: self.bench, self._after)
        self.recording, self.sheet, self.front = RecordingTool(self._line), SheetTool(self._gate), FrontTool(self._gate)
        inside = ([self.fault], [self.reading], [self.repair], [self.plan, self.plant], [self.recording], [self.sheet],
                  [self.front])  # fmt: skip
        self.inside: dict[str, list[Any]] = dict(zip(PANES, inside, strict=True))

    def _line(self) -> Line:
        return self.bench.line

    def _gate(self) -> Gate:
        return self.bench.gate

    def _look(self) -> dict[str, Seen]:
        return look(self._line(), isolated=self._gate().bus == DEAD)

    @property
    def _held(self) -> bool:
        """True while somebody has said that people are clear: that word holds for this moment of the plant only."""
        return any(
            tick.value for tools in self.inside.values() for tool in tools for tick in getattr(tool, "ticks", ())
        )

    def _segments(self) -> list[tuple[str, str]]:
        return [(name, name) for name in (ALL, *(stretch.name for stretch in self.bench.plan.stretches))]

    # -- what a person does -------------------------------------------------------------------------------------------

    def _build(self) -> None:
        """The chosen network anew, from the moment at which all supplies are switched on."""
        self.bench = Bench(self.plan.network)
        self.run.value = False
        offer(self.segment, self._segments())
        self.reading.forget()
        self.repair.refresh()
        self._after()

    def _put(self) -> None:
        if chosen := self.fault.chosen:
            self.bench.put(chosen)
            self._after()

    def _taker(self, number: int) -> Callable[[], None]:
        def take() -> None:
            if number < len(self.bench.faults):
                self.bench.take_out(number)
                self._after()

        return take

    def _after(self) -> None:
        """Something was changed by hand."""
        self._turn()
        self._draw()

    def _turn(self) -> None:
        """Show the chosen pane, up to date."""
        for n, button in enumerate(self.out):
            button.disabled = n >= len(self.bench.faults)
        listed = "".join(f"<li>{html.escape(f'{c.fault.name}: {c.place.words}')}</li>" for c in self.bench.faults)
        known = f'<ol style="margin:0">{listed}</ol>' if listed else "nothing"
        self.within.value = f'<div style="line-height:1.3">In now: {known}</div>'
        if self._shown.children != tuple(self.inside[self.pane.value]):
            self._shown.children = self.inside[self.pane.value]
        for tool in self._shown.children:
            if hasattr(tool, "refresh"):
                tool.refresh()

    def _step(self) -> None:
        self.bench.step()
        self._after()

    # -- time ---------------------------------------------------------------------------------------------------------

    def _run(self) -> None:
        self.run.description = "Pause" if self.run.value else "Run"
        if not self.run.value or (self.task and not self.task.done()):
            return
        try:
            self.task = asyncio.get_running_loop().create_task(self._go())
        except RuntimeError:
            self.run.value = False
            raise WorkbookError("Run needs an open notebook. Here, go on with “One bus cycle”.") from None

    async def _go(self) -> None:
        """Update after update; between two, the kernel does what else there is to do."""
        began = last = due = time.perf_counter()
        while self.run.value:
            now = time.perf_counter()
            self.tick(min(now - last, 2 * TICK_S))
            last = now
            if now - began > _ALONE_S:
                self.run.value = False
                self.say(f"Paused by itself after {_ALONE_S / 60:g} minutes. Press Run to go on.")
            due = max(due + TICK_S, now)  # what came late is not made up for
            await asyncio.sleep(max(due - time.perf_counter(), _REST_S))

    def tick(self, real_s: float) -> None:
        """One update: so much real time has passed. What goes wrong stops the line and is said."""
        try:
            budget = max(BUSY_S - self._draw_s, _LEAST_S)
            if not self._held:
                self.bench.advance(real_s * SPEEDS[self.speed.value], budget)
            # A large picture is drawn less often, so that it takes no more than a small one.
            self._skip -= 1
            if self._skip < 0:
                begun = time.perf_counter()
                self._update()
                cost = time.perf_counter() - begun
                self._skip = int(cost / _LEAST_S)
                self._draw_s = cost / (1 + self._skip)
        except Exception as error:
            self.run.value = False
            self.say(f"The workbook itself failed here ({type(error).__name__}: {error}).")

    def _update(self) -> None:
        self._draw()
        for tool in self._shown.children:
            if tool in (self.recording, self.sheet, self.front):
                tool.refresh()

    def _draw(self) -> None:
        """The sentence, and the picture if something in it has changed: a line that runs steadily looks the same."""
        seen = self._look()
        segment, faults = self.segment.value or ALL, tuple(self.bench.faults) if self.where.value else ()
        if (shown := (seen, self.bench.plan, segment, faults)) != self._drawn:
            self.picture.value = live(bench_drawing(seen, self.bench.plan, segment=segment, faults=faults))
            self._drawn = shown
        self.told.value = f'<p style="margin:0;line-height:1.3"><b>{html.escape(self._sentence(seen))}</b></p>'

    def _sentence(self, seen: Mapping[str, Seen]) -> str:
        line = self._line()
        cycle = (
            f", the last bus cycle took {time_text(line.last.bits / line.installation.bit_rate)}" if line.last else ""
        )
        if self._gate().bus == DEAD:
            cycle = f", the bus is {STATES[DEAD]}"
        elif self._held:
            cycle = ", the line waits: people are said to be clear"
        return f"{line.now_s:.3f} s since the supplies were switched on{cycle}. {counted(seen)}."

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        """What a notebook stores: the live panel, and for a reader without a kernel the network as it starts."""
        return at_rest(super()._repr_mimebundle_(**kwargs), TITLE, "the network as it starts.", self._still)


def bench_panel(plan: Plan | Path | str | None = None) -> BenchPanel:
    """The line, live. plan: a network plan, or where it is stored; without one, the demo site."""
    return BenchPanel(plan)
