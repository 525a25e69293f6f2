"""Tools for work on a practice case: measure, see and write words, isolate the bus, repair, say what is wrong."""

from __future__ import annotations

import html
from collections.abc import Callable
from functools import partial
from typing import Any

import ipywidgets as widgets

from helpers.line.gate import ALIVE, DEAD, STATES
from helpers.line.hazard import care, declared
from helpers.line.instruments.io_sheet import Word
from helpers.line.instruments.reading import instrument
from helpers.line.plant.place import Place
from helpers.line.practice.marking import Claim
from helpers.line.practice.session import Session
from helpers.line.station.drive import DriveApplication
from helpers.line.station.keypad import key as front_key
from helpers.line.times import size, steps
from helpers.panels.bench.bench_desk import SheetTool
from helpers.panels.bench.bench_tools import (
    ClearTick,
    FaultTool,
    InstrumentTool,
    RepairTool,
    Tool,
    care_html,
    offer,
    small,
)
from helpers.panels.kit.as_html import steps_html
from helpers.panels.practice.practice_cells import faulty_drives
from helpers.written import whole

# Does something with the session: a function whose first argument is still missing. Two of them can be compared.
Work = Callable[[partial[Any]], None]


class MeasureTool(InstrumentTool):
    """Takes the reading as a step of the session. work: does something with the session."""

    def __init__(self, session: Callable[[], Session], work: Work) -> None:
        self._work = work
        super().__init__(lambda: session().installation)

    def refresh(self) -> None:
        """The session has gone on; what was said of the last click stays."""
        self._list()

    def _take(self) -> None:
        self._work(partial(Session.take, key=self.instrument.value, place=self.place.value))


class WordsTool(SheetTool):
    """The bench's I/O test sheet, with what it costs: the words of a station stand there once they were looked at."""

    def __init__(self, session: Callable[[], Session], work: Work) -> None:
        self._session, self._work = session, work
        self.look = self.button("See these words", self._look, partial(care, "see words"))
        minutes = instrument("io sheet").minutes
        once = f"{minutes:g} min for each station. Then its words stay live."
        super().__init__(lambda: session().gate)
        self.insert(widgets.HBox([self.look, widgets.HTML(small(once))]), before=self.range)
        self.write.description, self.write.layout.width = f"Write, {size('write_minutes'):g} min", "120px"

    def _look(self) -> None:
        self._work(partial(Session.see, station=self.station.value))

    def _show(self) -> None:
        self.look.disabled = not self.station.value
        super()._show()

    def _value(self, word: Word, reading: str) -> str:
        session = self._session()
        if session.bus != ALIVE:
            return "bus isolated"
        return super()._value(word, reading) if session.on_sheet(word.station) else "not looked at"

    def _write(self) -> None:
        self._work(partial(Session.write, address=self.out.value, value=whole(self.value.value)))

    def _release(self) -> None:
        self._work(partial(Session.release))


class BusTool(Tool):
    """Isolate the bus and bring it back, with the steps; acknowledge at a drive."""

    def __init__(self, session: Callable[[], Session], work: Work) -> None:
        self._session, self._work = session, work
        self.state, self.steps = widgets.HTML(), widgets.HTML()
        self.clear, self.clear_there = (ClearTick(lambda: session().gate) for _ in range(2))
        self.ticks = (self.clear, self.clear_there)
        self.isolate = self.button("Isolate the bus", self._isolate, partial(care, "isolate"))
        self.restore = self.button("Bring it back", self._restore, partial(care, "restore"))
        self.drive = self.list_of("drive", (), self._aim)
        key = declared(front_key("acknowledge").hazards)
        self.press = self.button("Acknowledge there", self._acknowledge, lambda: key, width=150)
        head = widgets.HTML("<b>A fault shown on a drive</b>")
        super().__init__(
            [
                self.state,
                self.steps,
                self.clear,
                widgets.HBox([self.isolate, self.restore]),
                head,
                self.drive,
                widgets.HTML(care_html(key)),
                self.clear_there,
                self.press,
            ]
        )
        self.refresh()

    def refresh(self) -> None:
        """The steps that come next."""
        session = self._session()
        alive = session.bus == ALIVE
        way, minutes = ("isolate", "isolate_minutes") if alive else ("restore", "restore_minutes")
        next_one = "Isolate it" if alive else "Bring it back"
        said = f"<b>The bus is {STATES[session.bus]}.</b> {next_one}, {size(minutes):g} min:"
        self.state.value = f'<div style="line-height:1.3">{said}</div>'
        self.steps.value = steps_html(steps(way)) + care_html(care(way))
        self.isolate.disabled, self.restore.disabled = not alive, alive
        waiting = faulty_drives(session)
        drives = [n for n, a in session.line.applications.items() if isinstance(a, DriveApplication)]
        # One after the other: at each, somebody has to look anew. Those that wait for it stand first.
        offer(
            self.drive,
            [(f"{n}: fault" if n in waiting else n, n) for n in sorted(drives, key=lambda n: n not in waiting)],
        )
        self._aim()

    def _aim(self) -> None:
        """Which machines may start."""
        gate = self._session().gate
        self.clear.concern(gate.machines(care("restore")) if gate.bus == DEAD else ())
        self.clear_there.concern((self.drive.value,) if gate.bus == ALIVE and self.drive.value else ())

    def _isolate(self) -> None:
        self._work(partial(Session.isolate))

    def _restore(self) -> None:
        self._work(partial(Session.restore))

    def _acknowledge(self) -> None:
        self._work(partial(Session.acknowledge, drive=self.drive.value))


class MendTool(RepairTool):
    """Repairs that cost time and need the bus in the right state; the bench's list of them."""

    def __init__(self, session: Callable[[], Session], work: Work) -> None:
        self._session, self._work = session, work
        super().__init__(lambda: session().gate, lambda: session().case.installation)

    def _do(self) -> None:
        repair, place = self.repair.value, self.place.value
        if place is None:
            self.say("There is no place for it in this network.")
            return
        number = self.value.value
        choices = repair.choices(self._session().installation, place)
        value = choices[number] if isinstance(number, int) else None
        self._work(partial(Session.repair, key=repair.key, place=place, value=value))


class ClaimTool(FaultTool):
    """Say which faults there are, and where; `claims` is what was said."""

    def __init__(self, session: Callable[[], Session], mark: Callable[[], None]) -> None:
        self._claims: list[tuple[str, Claim]] = []
        say = partial(care, "say")
        self.add = self.button("Name this cause", self._add, say, width=140)
        self.back = self.button("Take back the last", self._back, say, width=150)
        self.mark = self.button("Mark it", mark, say, tip="Mark the case; this shows the solution", width=100)
        self.named = widgets.HTML()
        super().__init__(
            lambda: session().case.installation, widgets.HBox([self.add, self.back, self.mark]), self.named
        )
        self._tell()

    @property
    def claims(self) -> tuple[Claim, ...]:
        """The causes that were named."""
        return tuple(claim for _, claim in self._claims)

    def forget(self) -> None:
        """A new case: nothing is named yet."""
        self._claims = []
        self._tell()

    def _add(self) -> None:
        place: Place | None = self.place.value
        if place is None:
            self.say("This fault has no place in this network.")
            return
        claim = Claim(self.fault.value.key, place)
        if claim not in self.claims:
            self._claims.append((f"{self.fault.value.name} – {place.words}", claim))
        self._tell()

    def _back(self) -> None:
        self._claims = self._claims[:-1]
        self._tell()

    def _tell(self) -> None:
        listed = "".join(f"<li>{html.escape(words)}</li>" for words, _ in self._claims)
        said = f"You have named: <ol style='margin:0'>{listed}</ol>" if listed else "You have named no cause yet."
        self.named.value = small(
            f"{said} <i>Marking shows the solution. Repair first, if you want that marked too.</i>"
        )
