"""Tools for a line that runs, each a widget of its own: put a fault in, take a reading, do a repair.

A tool knows the line only by the functions that it is given, and tells what was done by another one. So the bench and
any other panel with a line can use it.
"""

from __future__ import annotations

import html
from collections.abc import Callable, Iterable, Sequence
from functools import partial
from typing import Any, TypeVar

import ipywidgets as widgets

from helpers.answer import Row
from helpers.bus.cable.bit_rates import bit_rate_text
from helpers.errors import WorkbookError
from helpers.line.faults.catalogue import FAULTS, GROUPS
from helpers.line.faults.fault import Chosen
from helpers.line.gate import ALIVE, ANY, DEAD, Gate
from helpers.line.hazard import Care, declared
from helpers.line.hazard import care as care_of
from helpers.line.instruments import catalogue
from helpers.line.instruments.reading import Reading, instrument, instruments
from helpers.line.plant.installation import Installation
from helpers.line.plant.place import Place
from helpers.line.repairs import cable, device, project
from helpers.line.repairs.repair import Repair
from helpers.panels.kit.as_html import caution, fold, table
from helpers.panels.kit.drawing import ORANGE
from helpers.panels.kit.panel import trouble_rows
from helpers.wording import capital_first

T = TypeVar("T")

WIDE = 426  # px
_LABEL = "72px"
GROUP_WORDS = {
    "ends": "ends of the cable",
    "cable": "cable and plugs",
    "shield": "shield and earth",
    "addresses": "addresses",
    "settings": "settings of a device",
    "project": "project in the engineering computer",
    "program": "program of the controller",
    "drive": "drive and its supply",
}
_WORK = {"cable and plugs": cable.REPAIRS, "devices": device.REPAIRS, "project and controller": project.REPAIRS}
SIMULATION = partial(care_of, "simulation")
BUS_WORDS = {ALIVE: "bus in operation", DEAD: "bus isolated", ANY: "at any time"}
_PLANNED = "as in the plan"
_OPEN_ROWS = 3  # of what is wrong in a plan
_KEPT = 6  # readings that stay in the list


class Tool(widgets.VBox):
    """Controls with a line above them that says what went wrong. An error never leaves a callback unseen."""

    ticks: tuple[ClearTick, ...] = ()

    def __init__(self, children: Sequence[widgets.Widget]) -> None:
        self.said = widgets.HTML()
        self._troubles = 0  # told so far
        super().__init__([self.said, *children], layout=widgets.Layout(width=f"{WIDE + 10}px"))

    def guarded(self, work: Callable[[], object]) -> None:
        """Do something, and say in words if it can't be done."""
        before = self._troubles
        try:
            work()
        except WorkbookError as error:
            self.say(str(error), error.rows)
        except Exception as error:
            self.say(f"The workbook itself failed here ({type(error).__name__}: {error}).")
        else:
            if self._troubles == before:  # else a control that this work has turned has told of one
                self.say("")

    def say(self, trouble: str, rows: Sequence[Row] = ()) -> None:
        """A sentence on what is not usable, and the table that belongs to it; "" takes both away."""
        self._troubles += bool(trouble)
        self.said.value = trouble and (
            f'<p role="alert" style="border-left:6px solid {ORANGE};padding-left:8px;margin:0;line-height:1.3">'
            f"<b>Not usable:</b> {html.escape(trouble)}</p>{trouble_rows(rows, _OPEN_ROWS)}"
        )

    def button(
        self, label: str, work: Callable[[], object], care: Callable[[], Care], *, tip: str = "", width: int = 130
    ) -> widgets.Button:
        """A button whose work is guarded. care: what the action behind it declares, as it stands now."""
        made: Any = widgets.Button(description=label, tooltip=tip or label, layout=widgets.Layout(width=f"{width}px"))
        made.care = care
        made.on_click(lambda _: self.guarded(work))
        return made

    def list_of(self, label: str, options: Iterable[Any] = (), changed: Callable[[], object] | None = None) -> Any:
        """A drop-down list of the tool's width."""
        made = widgets.Dropdown(
            options=list(options),
            description=label,
            style={"description_width": _LABEL},
            layout=widgets.Layout(width=f"{WIDE}px"),
        )
        if changed:
            made.observe(lambda _: self.guarded(changed), "value")
        return made

    def insert(self, control: widgets.Widget, *, before: widgets.Widget) -> None:
        """Put one more control among those of the tool."""
        box: Any = self  # widgets have no types, and mypy can't tell that of `children`
        controls = list(box.children)
        controls.insert(controls.index(before), control)
        box.children = controls

    def line_of(self, label: str, value: str, changed: Callable[[], object] | None = None, *, width: int = 200) -> Any:
        """A text field."""
        made = widgets.Text(
            value=value,
            description=label,
            continuous_update=False,
            style={"description_width": _LABEL},
            layout=widgets.Layout(width=f"{width}px"),
        )
        if changed:
            made.observe(lambda _: self.guarded(changed), "value")
        return made


def small(words: str) -> str:
    """HTML in small letters, close together: what stands beside controls and has to leave them room."""
    return f'<div style="line-height:1.25;font-size:12px">{words}</div>'


def care_html(care: Care) -> str:
    """What an action declares, where the hand moves: its cautions, or why there is no hazard."""
    if care.because:
        return small(f"<i>No hazard, because {html.escape(care.because)}.</i>")
    return small(caution(*care.cautions))


class ClearTick(widgets.Checkbox):
    """The word that people are clear of the machines which may start; hidden where none can.

    It is given to the gate at the moment of the tick, and goes with the action for which it was given.
    """

    def __init__(self, gate: Callable[[], Gate]) -> None:
        self._gate = gate
        self.machines: tuple[str, ...] = ()
        self.value: bool
        super().__init__(indent=False, layout=widgets.Layout(width=f"{WIDE}px"))
        self.observe(self._turned, "value")

    def concern(self, machines: tuple[str, ...]) -> None:
        """Ask for these machines. A word for others does not hold for them, nor one that the plant has overtaken."""
        if self.value and (machines != self.machines or not self._gate().clear(machines)):
            self.value = False
        self.machines = machines
        self.description = f"People are clear of {self._gate().named(machines)}."
        self.layout.display = "" if machines else "none"

    def once(self, work: Callable[[], T]) -> T:
        """Do the action; the tick goes with it, done or not."""
        try:
            return work()
        finally:
            self.value = False

    def _turned(self, change: Any) -> None:
        if change["new"]:
            self._gate().say_clear(self.machines)
        else:
            self._gate().forget()


def offer(box: Any, options: Sequence[tuple[str, Any]]) -> None:
    """Bring a list up to date; what was chosen stays chosen if it is still there."""
    if list(box.options) != list(options):
        was = box.value
        box.options = list(options)
        values = [value for _, value in options]
        box.value = was if was in values else next(iter(values), None)


def named(places: Iterable[Place]) -> list[tuple[str, Place]]:
    """Places as a list to choose from."""
    return [(place.words, place) for place in places]


# -- faults -----------------------------------------------------------------------------------------------------------


class FaultTool(Tool):
    """Choose a fault by group, kind and place; `chosen` is what stands there, `more` are controls put below."""

    def __init__(self, installation: Callable[[], Installation], *more: widgets.Widget) -> None:
        self._installation = installation
        self.group = self.list_of("group", [(GROUP_WORDS.get(g, g), g) for g in GROUPS], self._list)
        self.fault = self.list_of("fault", (), self._list_places)
        self.place = self.list_of("place")
        self.about = widgets.HTML()
        super().__init__([self.group, self.fault, self.place, self.about, *more])
        self._list()

    def _list(self) -> None:
        offer(self.fault, [(fault.name, fault) for fault in FAULTS if fault.group == self.group.value])
        self._list_places()

    def _list_places(self) -> None:
        found = self.fault.value.places(self._installation())
        offer(self.place, named(found))
        nowhere = "" if found else " <b>There is no place for it in this network.</b>"
        said = f"Grade {self.fault.value.grade} of 3. {html.escape(self.fault.value.what)}{nowhere}"
        self.about.value = f'<p style="line-height:1.3;margin:0">{said}</p>'

    def refresh(self) -> None:
        """The installation has changed: other places may be free."""
        self.guarded(self._list_places)

    @property
    def chosen(self) -> Chosen | None:
        """The fault at its place; None if it has no place in this network."""
        return Chosen(self.fault.value, self.place.value) if self.place.value is not None else None


# -- readings ---------------------------------------------------------------------------------------------------------


def reading_html(reading: Reading, at_s: float) -> str:
    """A reading as a small table, with the minutes that it costs a technician."""
    what = instrument(reading.instrument)
    rows = [{"looked at": one, "seen": seen} for one, seen in reading.lines]
    head = f"{_title(reading)} – {what.minutes:g} min of work, at {at_s:.2f} s"
    return f"<b>{html.escape(head)}</b>{table(rows)}"


def _title(reading: Reading) -> str:
    name = instrument(reading.instrument).name
    return f"{name}, {reading.place}" if reading.place else name


class InstrumentTool(Tool):
    """Choose an instrument, then a place; what taking the reading means is said by who builds on it."""

    def __init__(self, installation: Callable[[], Installation], *below: widgets.Widget) -> None:
        self._installation = installation
        listed = [(f"{each.name} – {each.minutes:g} min, {BUS_WORDS[each.bus]}", each.key) for each in instruments()]
        self.instrument = self.list_of("instrument", listed, self._list)
        self.place = self.list_of("place")
        self.care = widgets.HTML()
        self.take = self.button("Take reading", self._take, self._care)
        super().__init__([self.instrument, self.place, self.care, self.take, *below])
        self._list()

    def _care(self) -> Care:
        return declared(instrument(self.instrument.value).hazards)

    def _list(self) -> None:
        what = instrument(self.instrument.value)
        places = catalogue.places(self._installation(), what.key)
        offer(self.place, [(place.words or "the whole network", place) for place in places])
        self.care.value = small(html.escape(f"{capital_first(what.about)}.")) + care_html(self._care())

    def _take(self) -> None:
        raise NotImplementedError

    def refresh(self) -> None:
        """The line is another one, or has other places."""
        self.guarded(self._list)


class ReadingTool(InstrumentTool):
    """Takes readings of the line at a gate, and keeps the last ones in a list. took: told of each reading."""

    def __init__(self, gate: Callable[[], Gate], took: Callable[[Reading], object] = lambda reading: None) -> None:
        self._gate, self._took = gate, took
        self._kept: list[str] = []
        self.minutes = 0.0
        self.result = widgets.HTML()
        super().__init__(lambda: gate().line.installation, self.result)

    def _take(self) -> None:
        line = self._gate().line
        reading = self._gate().take(self.instrument.value, self.place.value)
        self.minutes += instrument(reading.instrument).minutes
        self._kept = [reading_html(reading, line.now_s), *self._kept][:_KEPT]
        before = "".join(self._kept[1:])
        earlier = fold(f"Earlier readings: {len(self._kept) - 1}", before) if before else ""
        total = f"<p style='margin:0;font-size:12px'>All readings so far: {self.minutes:g} min of work.</p>"
        self.result.value = f'<div style="line-height:1.3">{self._kept[0]}{total}{earlier}</div>'
        self._took(reading)

    def forget(self) -> None:
        """Begin a new list."""
        self._kept, self.minutes, self.result.value = [], 0.0, ""
        self.refresh()


# -- repairs ----------------------------------------------------------------------------------------------------------


def value_words(key: str, value: Any) -> str:
    """A value that a repair sets, with its unit where it has one.

    >>> value_words("set bit rate", 1_500_000.0), value_words("watchdog in the project", 0.2)
    ('1.5 Mbit/s', '200 ms')
    """
    if key == "set bit rate":
        return bit_rate_text(value)
    if value is None or isinstance(value, bool):
        return {True: "yes", False: "no", None: "none"}[value]
    if isinstance(value, float):
        return f"{value * 1000:g} ms"
    return ", ".join(value_words("", each) for each in value) if isinstance(value, tuple) else str(value)


class RepairTool(Tool):
    """Choose a repair, its place and, where it has one, the value; then do it.

    gate: that of the line which is worked on. plan: the installation as it should be, from which planned values come.
    did: told of each repair, its place and the value that was set.
    """

    def __init__(
        self,
        gate: Callable[[], Gate],
        plan: Callable[[], Installation],
        did: Callable[[Repair, Place, Any], object] = lambda repair, place, value: None,
    ) -> None:
        self._gate, self._plan, self._did = gate, plan, did
        self.work = self.list_of("work on", _WORK, self._list)
        self.repair = self.list_of("repair", (), self._list_places)
        self.place = self.list_of("place", (), self._list_values)
        self.value = self.list_of("value")
        self.care, self.result = widgets.HTML(), widgets.HTML()
        self.clear = ClearTick(gate)
        self.ticks = (self.clear,)
        self.do = self.button("Do it", self._do, lambda: self.repair.value.care)
        super().__init__([self.work, self.repair, self.place, self.value, self.care, self.clear, self.do, self.result])
        self._list()

    def _list(self) -> None:
        offer(self.repair, [(repair.name, repair) for repair in _WORK[self.work.value]])
        self._list_places()

    def _list_places(self) -> None:
        repair = self.repair.value
        offer(self.place, named(repair.places(self._gate().line.installation)))
        about = f'<p style="line-height:1.3;margin:0">{repair.minutes:g} min, {BUS_WORDS[repair.bus]}.</p>'
        self.care.value = about + care_html(repair.care)
        self._list_values()

    def _list_values(self) -> None:
        repair, place, gate = self.repair.value, self.place.value, self._gate()
        choices = repair.choices(gate.line.installation, place) if place is not None else ()
        offer(
            self.value, [(_PLANNED, _PLANNED), *((value_words(repair.key, each), n) for n, each in enumerate(choices))]
        )
        self.value.layout.display = "" if choices else "none"
        self.clear.concern(gate.machines(repair.care, place.device) if place is not None else ())

    def _do(self) -> None:
        repair, place = self.repair.value, self.place.value
        self.result.value = ""
        if place is None:
            self.result.value = "<p>There is no place for it in this network.</p>"
            return
        gate = self._gate()
        if self.value.value == _PLANNED:
            value = repair.planned(self._plan(), place)
        else:
            value = repair.choices(gate.line.installation, place)[self.value.value]
        self.clear.once(lambda: gate.repair(repair, place, value))
        self.result.value = f"<p style='line-height:1.3'>Done: {html.escape(f'{repair.name} – {place.words}')}.</p>"
        self._did(repair, place, value)
        self._list_places()

    def refresh(self) -> None:
        """The line is another one, or has other places."""
        self.guarded(self._list_places)
