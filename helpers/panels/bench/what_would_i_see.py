"""What would I see if …: a fault put into one's own network, and every reading that it changes."""

from __future__ import annotations

import asyncio
import time
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from helpers.answer import Answer, Row
from helpers.drive.states import STATES
from helpers.line.faults.catalogue import by_key
from helpers.line.faults.fault import Chosen
from helpers.line.instruments import catalogue
from helpers.line.instruments.reading import Reading, differences, instrument, instruments
from helpers.line.plant.build import installation_of
from helpers.line.plant.installation import Installation
from helpers.line.station.drive import DriveApplication
from helpers.line.traffic.line import Line
from helpers.panels.bench.bench_plan import PlanTool
from helpers.panels.bench.bench_state import EXCHANGES, state_of
from helpers.panels.bench.bench_tools import SIMULATION, WIDE, FaultTool, Tool
from helpers.panels.kit.as_html import html_of
from helpers.panels.kit.panel import at_rest
from helpers.plan.model import Plan
from helpers.plan.my_networks import demo_network
from helpers.safe_work import cautions

TITLE = "What would I see if …"
_CHOOSE = "Choose a fault and its place, then press “Show me”."
_EXAMPLE = ("format differs", 0)  # the fault that stands there first, and which of its places
_BEFORE_S, _AFTER_S, _PART_S = 2.0, 6.0, 0.25  # simulated: how long it runs in order, then with the fault; in parts
_AHEAD_S = 0.9  # the first reading counts for a second; what comes and goes has to come within it
_SLICE_S, _PAUSE_S = 0.05, 0.02  # real time: work in one go, and rest for whatever else the kernel has to do
_OPEN_ROWS, _EACH, _MOST_NAMED = 12, 2, 6


class Looked:
    """A line that has run, and every reading taken of it. Iterating does the work in small parts and yields its share.

    fault: what is put in once the line has started; None for the healthy one. One in the project or the program is in
    from the start: to load it into a line that runs would stop every drive, and that is not what is asked.
    """

    def __init__(self, plan: Installation, fault: Chosen | None = None) -> None:
        changed = fault.put(plan) if fault else plan
        loaded = changed.loaded is not plan.loaded
        self.line = Line(changed if loaded else plan)
        self.fault, self._later = fault, None if loaded else fault
        self._plan = plan
        self.readings: list[Reading] = []

    def __iter__(self) -> Iterator[float]:
        places = {each.key: catalogue.places(self._plan, each.key) for each in instruments()}
        parts = int((_BEFORE_S + _AFTER_S) / _PART_S)
        whole = parts + sum(len(found) for found in places.values())
        for n in range(parts):
            if n == int(_BEFORE_S / _PART_S) and self._later:
                self.line.change(self._later.put)
            self.line.run(_PART_S)
            yield (n + 1) / whole
        for _ in range(int(2 * self._period_s / _PART_S)):
            if self._comes_soon():
                break
            self.line.run(_PART_S)
            yield parts / whole
        for key, found in places.items():
            for place in found:
                if place in catalogue.places(self.line.installation, key):
                    self.readings.append(catalogue.take(self.line, key, place))
                yield (parts + len(self.readings)) / whole

    @property
    def _period_s(self) -> float:
        """How often comes what comes and goes; 0 if nothing does."""
        now = self.line.installation
        often = [flicker.every_s for stretch in now.stretches for flicker in stretch.flickers]
        often += [max(device.supply_drops_s, device.fault_returns_s) for device in now.devices]
        return max(often, default=0.0)

    def _comes_soon(self) -> bool:
        if any(device.fault_returns_s for device in self.line.installation.devices):
            drives = self.line.applications.values()
            return any(drive.fault is not None for drive in drives if isinstance(drive, DriveApplication))
        return self.line.now_s % self._period_s > self._period_s - _AHEAD_S


def plant_notices(healthy: Line, faulty: Line) -> tuple[str, ...]:
    """What people at the machines notice, without any instrument: one sentence for all stations that do the same."""
    alike: dict[tuple[str, str], list[str]] = {}
    for device in healthy.installation.stations:
        was, now = _seen(healthy, device.name), _seen(faulty, device.name)
        if was != now:
            alike.setdefault((was, now), []).append(device.name)
    return tuple(
        f"{names[0]} {now}; healthy, it {was}."
        if len(names) == 1
        else f"{_named(names)}: each {now}; healthy, it {was}."
        for (was, now), names in alike.items()
    )


def _named(names: list[str]) -> str:
    rest = len(names) - _MOST_NAMED
    return ", ".join(names[:_MOST_NAMED]) + (f" and {rest} more" if rest > 0 else "")


def _seen(line: Line, name: str) -> str:
    drive, exchanges = line.applications[name], state_of(line, name) == EXCHANGES
    if not isinstance(drive, DriveApplication):
        return "has valid data" if exchanges else "has no valid data"
    percent = round(drive.speed_percent / 5) * 5
    does = f"turns at about {percent} %" if percent else "stands"
    if percent and not STATES[drive.state][1]:
        does = "coasts to a stop"  # its speed of this moment would tell nothing
    return f"{does} with fault {drive.fault.number}, {drive.fault.name}" if drive.fault else does


def seen_view(chosen: Chosen, healthy: Looked, faulty: Looked) -> Answer:
    """Both sets of readings side by side, where they differ."""
    pairs = differences(healthy.readings, faulty.readings)
    notices = plant_notices(healthy.line, faulty.line)
    noticed = " ".join(notices) or "Nobody at the machines would notice it within these seconds."
    by_instrument = {
        each.key: [pair for pair in pairs if pair[0].instrument == each.key]
        for each in instruments()
        if any(pair[0].instrument == each.key for pair in pairs)
    }
    first = [row for found in by_instrument.values() for row in _rows(found[:1])[:_EACH]]
    return Answer(
        f"{chosen.fault.name}, {chosen.place.words}: {len(pairs)} of {len(healthy.readings)} readings differ.",
        because=f"{chosen.fault.what} The plant: {noticed}",
        caution=cautions("cabinet", "only calculated"),
        rows=first[:_OPEN_ROWS],
        folded=[(f"{instrument(key).name}: all that differs", _rows(found)) for key, found in by_instrument.items()],
    )


def _rows(pairs: list[tuple[Reading, Reading]]) -> list[Row]:
    """Each line of a reading that differs."""
    rows: list[Row] = []
    for mine, theirs in pairs:
        was, now = dict(mine.lines), dict(theirs.lines)
        for what in dict.fromkeys((*was, *now)):
            if was.get(what) != now.get(what):
                rows.append(
                    {
                        "instrument": instrument(mine.instrument).name,
                        "where": mine.place,
                        "looked at": what,
                        "healthy": was.get(what, "–"),
                        "with the fault": now.get(what, "–"),
                    }
                )
    return rows


@lru_cache(maxsize=1)
def _example() -> tuple[Looked, Chosen, Looked]:
    plan = installation_of(demo_network())
    fault = by_key(_EXAMPLE[0])
    chosen = Chosen(fault, fault.places(plan)[_EXAMPLE[1]])
    healthy, faulty = Looked(plan), Looked(plan, chosen)
    for each in (healthy, faulty):
        for _ in each:
            pass
    return healthy, chosen, faulty


class WhatWouldISee(Tool):
    """Chooses a network and a fault, works in the background, and shows both sets of readings."""

    def __init__(self, plan: Plan | Path | str | None = None) -> None:
        self.task: asyncio.Task[None] | None = None
        self._turn = 0  # counts what was begun, so that work that was replaced sees it and ends
        self.plan = PlanTool(plan, self._changed)
        self._healthy: Looked | None = None
        self.installation = self.plan.begin(installation_of)
        self.bar = widgets.FloatProgress(min=0, max=1, description="done", layout=widgets.Layout(width=f"{WIDE}px"))
        self.show = self.button("Show me", self._begin, SIMULATION)
        self.fault = FaultTool(lambda: self.installation, self.show, self.bar)
        self.result = widgets.HTML()
        title = widgets.HTML(f"<b style='font-size:16px'>{TITLE}</b>")
        scroll = widgets.Layout(width="700px", height="520px", overflow="auto", margin="0 0 0 10px")
        left = widgets.VBox([self.plan, self.fault])
        super().__init__([title, widgets.HBox([left, widgets.VBox([self.result], layout=scroll)])])
        self.layout = widgets.Layout(width="1150px", padding="4px 0")
        self.result.value = self._still = f"<p>{_CHOOSE}</p>"
        self._start_sentence = _CHOOSE
        if self.plan.network == demo_network():
            self._show_example()

    def _show_example(self) -> None:
        """One fault of the demo site: it shows what the answer looks like, also before the cell has run."""
        healthy, chosen, faulty = _example()
        view = seen_view(chosen, healthy, faulty)
        self._still, self._start_sentence, self._healthy = html_of(view, still=True), view.sentence, healthy
        self.fault.group.value = chosen.fault.group
        self.fault.fault.value = chosen.fault
        self.fault.place.value = chosen.place
        self._tell(view)

    def _tell(self, view: Answer) -> None:
        self.result.value = f'<div style="line-height:1.35">{html_of(view)}</div>'

    def _changed(self) -> None:
        """Another network: nothing is known of it yet."""
        self.installation = installation_of(self.plan.network)
        self._healthy, self._turn, self.bar.value = None, self._turn + 1, 0.0
        self.result.value = f"<p>Another network. {_CHOOSE}</p>"
        self.fault.refresh()

    def _begin(self) -> None:
        if (chosen := self.fault.chosen) is None:
            self.result.value = "<p>This fault has no place in this network. Choose another one.</p>"
            return
        self._turn += 1
        work = self._work(self._turn, chosen)
        try:
            self.task = asyncio.get_running_loop().create_task(work)
        except RuntimeError:
            asyncio.run(work)

    async def _work(self, turn: int, chosen: Chosen) -> None:
        """A slice at a time; between two, anybody may act, and a new choice takes the place of this one."""
        try:
            healthy, faulty = self._healthy or Looked(self.installation), Looked(self.installation, chosen)
            todo = [faulty] if self._healthy else [healthy, faulty]
            for n, each in enumerate(todo):
                until = time.perf_counter() + _SLICE_S
                for share in each:
                    if time.perf_counter() > until:
                        self.bar.value = (n + share) / len(todo)
                        await asyncio.sleep(_PAUSE_S)
                        if turn != self._turn:
                            return
                        until = time.perf_counter() + _SLICE_S
            self._healthy, self.bar.value = healthy, 1.0
            self.guarded(lambda: self._tell(seen_view(chosen, healthy, faulty)))
        except Exception as error:  # nobody waits for this task, so nobody else would tell
            self.say(f"The workbook itself failed here ({type(error).__name__}: {error}).")

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        """What a notebook stores: the live panel, and for a reader without a kernel one example."""
        return at_rest(super()._repr_mimebundle_(**kwargs), TITLE, self._start_sentence, self._still)


def what_would_i_see_panel(plan: Plan | Path | str | None = None) -> WhatWouldISee:
    """A fault in one's own network, and what it changes. plan: a network plan, or where it is stored; else the demo."""
    return WhatWouldISee(plan)
