"""Which network lies on the bench: one that the cell gives, one of the user's own, or a demo; and its switches."""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import TypeVar

import ipywidgets as widgets

from helpers.answer import Row
from helpers.bus.cable.bit_rates import bit_rate_text, bit_rates
from helpers.caution import worst_first
from helpers.errors import WorkbookError
from helpers.line.gate import ALIVE, STATES, Gate
from helpers.line.hazard import Care, care
from helpers.line.repairs.catalogue import by_key
from helpers.line.times import steps
from helpers.panels.bench.bench_state import Bench
from helpers.panels.bench.bench_tools import ClearTick, Tool, offer, small
from helpers.panels.kit.as_html import caution, fold, steps_html
from helpers.panels.kit.network_field import network_at, network_options
from helpers.plan.figures import taken
from helpers.plan.model import Network, Plan
from helpers.plan.read import read_plan

T = TypeVar("T")

_GIVEN = "the plan of this cell"
_HINT = "A network of your own is kept on the page <i>network plan</i>; after that, run this cell again."
_CYCLE = by_key("power cycle").care


class PlanTool(Tool):
    """Choose the network. chosen: told of each new one; what it raises is said, and the choice before stays in use.

    plan: one that the cell gives; without it the list begins with the network that the user has chosen.
    """

    def __init__(self, plan: Plan | Path | str | None, chosen: Callable[[], object]) -> None:
        self._given = plan if plan is None or isinstance(plan, Plan) else read_plan(Path(plan))
        given = [(f"{network.name}, {_GIVEN}", (_GIVEN, network.name)) for network in self._given or ()]
        options, start = network_options(own=True)
        self.network_list = self.list_of("network", [*given, *options])
        self.network_list.value = given[0][1] if given else start
        self.note = widgets.HTML(small(_HINT))
        super().__init__([self.network_list, self.note])
        self._chosen = chosen
        self.network_list.observe(self._turned, "value")

    @property
    def network(self) -> Network:
        """The network that is chosen. Raises what the reading of a kept one raises."""
        plan, name = self.network_list.value
        return self._given.network(name) if self._given and plan == _GIVEN else network_at((plan, name))

    def begin(self, build: Callable[[Network], T]) -> T:
        """What is built of the network that stands there first; of the demo site if one's own can't be built."""
        try:
            return self._built(build)
        except WorkbookError as error:
            if self._given:
                raise
            self.network_list.unobserve(self._turned, "value")
            self.network_list.value = network_options(own=False)[1]
            self.network_list.observe(self._turned, "value")
            Tool.say(self, f"{error} This is the demo site in its place.", error.rows)
            return self._built(build)

    def _built(self, build: Callable[[Network], T]) -> T:
        """What is built of the network; below the list stands what its open lengths count as."""
        built = build(self.network)
        self.note.value = small(f"{html.escape(taken(self.network))} {_HINT}")
        return built

    def _turned(self, _: object) -> None:
        self.guarded(lambda: self._built(lambda network: self._chosen()))

    def say(self, trouble: str, rows: Sequence[Row] = ()) -> None:
        """What is wrong with a plan; the network before it stays."""
        super().say(trouble and f"{trouble} The network before it stays in use.", rows)


class PlantTool(Tool):
    """The switches of the plant: the bus isolated and back, controller to run and stop, bit rate, supplies."""

    def __init__(self, bench: Callable[[], Bench], changed: Callable[[], object]) -> None:
        self._bench, self._changed = bench, changed
        self._known: Bench | None = None
        self.stands, self.steps = widgets.HTML(), widgets.HTML()
        self.clear_all, self.clear_one = (ClearTick(self._gate) for _ in range(2))
        self.ticks = (self.clear_all, self.clear_one)
        self.isolate = self.button("Isolate the bus", self._isolate, partial(care, "isolate"))
        self.restore = self.button("Bring it back", self._restore, partial(care, "restore"))
        to_run, to_stop = by_key("controller to run").care, care("stop controller")
        rates, off, on, cycle = by_key("set bit rate").care, care("switch off"), by_key("switch on").care, _CYCLE
        run = self._switch("Controller: run", to_run, lambda b: b.switch_controller(run=True))
        stop = self._switch("Controller: stop", to_stop, lambda b: b.switch_controller(run=False))
        self.rate = self.list_of("bit rate", [(bit_rate_text(rate), float(rate)) for rate in bit_rates()])
        set_rate = self._switch("Set bit rate", rates, lambda b: b.set_bit_rate(self.rate.value))
        self.device = self.list_of("supply of", (), self._aim)
        again = self._switch("Off and on again", cycle, lambda b: b.power_cycle(self.device.value), one=True)
        without = self._switch("Off", off, lambda b: b.supply(self.device.value, on=False), one=True, width=70)
        with_it = self._switch("On", on, lambda b: b.supply(self.device.value, on=True), one=True, width=70)
        told = worst_first(each for asked in (to_run, rates, off) for each in asked.cautions)
        row = widgets.HBox
        super().__init__([
            self.stands, self.steps, row([self.isolate, self.restore]), widgets.HTML(small(caution(*told))),
            self.clear_all, row([run, stop]), self.rate, set_rate,
            self.device, self.clear_one, row([again, without, with_it]),
        ])  # fmt: skip
        self.refresh()

    def _gate(self) -> Gate:
        return self._bench().gate

    def _switch(
        self, label: str, asked: Care, work: Callable[[Bench], object], *, one: bool = False, width: int = 130
    ) -> widgets.Button:
        """A switch of the whole plant, or of one device."""

        def turn() -> None:
            name = self.device.value if one else self._bench().plan.controller.name
            tick = self.clear_one if one else self.clear_all
            tick.once(lambda: self._gate().ask(asked, ALIVE, name))
            work(self._bench())
            self._changed()

        return self.button(label, turn, lambda: asked, width=width)

    def _isolate(self) -> None:
        self._gate().isolate()
        self._changed()

    def _restore(self) -> None:
        self.clear_all.once(self._gate().restore)
        self._changed()

    def _aim(self) -> None:
        """Which machines may start."""
        gate = self._gate()
        self.clear_all.concern(gate.machines(care("restore")))
        self.clear_one.concern(gate.machines(_CYCLE, self.device.value) if self.device.value else ())

    def refresh(self) -> None:
        """The line is another one, or a switch was turned."""
        now = self._bench().line.installation
        if self._known is not self._bench():
            self._known, self.rate.value = self._bench(), now.bit_rate
        offer(self.device, [(d.name, d.name) for d in now.devices if d.is_station or d.kind == "repeater"])
        alive = self._gate().bus == ALIVE
        self.isolate.disabled, self.restore.disabled = not alive, alive
        way = "isolate" if alive else "restore"
        self.steps.value = fold(f"The bus is {STATES[self._gate().bus]}. The steps to {way} it", steps_html(steps(way)))
        self._aim()
        run = "run" if now.running else "stop"
        off = ", ".join(device.name for device in now.devices if not device.powered)
        self.stands.value = (
            f'<p style="line-height:1.3;margin:0">The controller is in <b>{run}</b>, the bus at '
            f"<b>{bit_rate_text(now.bit_rate)}</b>.{html.escape(f' Without supply: {off}.' if off else '')}</p>"
        )
