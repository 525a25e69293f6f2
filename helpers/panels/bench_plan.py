"""Which network lies on the bench: a demo plan, one that the cell gives, or one that is uploaded; and its switches."""

from __future__ import annotations

import html
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from helpers.bus.cable import rate_text
from helpers.bus.timing import bit_rates
from helpers.line.repairs.repair import START
from helpers.panels import fields
from helpers.panels.bench_state import Bench
from helpers.panels.bench_tools import WIDE, Tool, offer, small
from helpers.panels.network_plan import DEMOS, PLAN_ENDINGS, UPLOADED, demo_plan, uploaded_plan
from helpers.panels.view import Row, caution
from helpers.plan.model import Network, Plan
from helpers.plan.read import read_plan

_GIVEN = "the plan of this cell"
_FIRST = "Saltmarsh Mill"


class PlanTool(Tool):
    """Choose the network. chosen: told of each new one; what it raises is said, and the choice before stays in use."""

    def __init__(self, plan: Plan | Path | str | None, chosen: Callable[[], object]) -> None:
        self._given = plan if plan is None or isinstance(plan, Plan) else read_plan(Path(plan))
        self._chosen = chosen
        demos = [(f"{name} (invented)", name) for name in sorted(DEMOS, key=lambda name: name != _FIRST)]
        given = [(_GIVEN, _GIVEN)] if self._given else []
        self.plan = self.list_of("plan", [*given, *demos, (UPLOADED, UPLOADED)], self._turned)
        self.files = fields.upload("Upload your plan", ",".join(PLAN_ENDINGS))
        self.files.widget.layout.width = f"{WIDE}px"
        self.network_list = self.list_of("network")
        self._list()
        super().__init__([self.plan, self.files.widget, self.network_list])
        self.network_list.observe(lambda _: self.guarded(self._chosen), "value")
        self.files.widget.observe(lambda _: self.guarded(self._uploaded), "value")

    @property
    def network(self) -> Network:
        """The network that is chosen. Raises what the reading of an upload raises."""
        plan = self._read()
        return next((each for each in plan if each.name == self.network_list.value), plan.networks[0])

    def say(self, trouble: str, rows: Sequence[Row] = ()) -> None:
        """What is wrong with a plan; the network before it stays."""
        super().say(trouble and f"{trouble} The network before it stays in use.", rows)

    def _read(self) -> Plan:
        name = self.plan.value
        if name == _GIVEN and self._given is not None:
            return self._given
        return uploaded_plan(self.files.value) if name == UPLOADED else demo_plan(DEMOS[name])  # type: ignore[arg-type]

    def _list(self) -> bool:
        """Bring the list of networks up to date; True if another one is chosen with it."""
        before = self.network_list.value
        offer(self.network_list, [(network.name, network.name) for network in self._read()])
        return bool(self.network_list.value != before)

    def _turned(self) -> None:
        if not self._list():  # else the list of networks has told already
            self._chosen()

    def _uploaded(self) -> None:
        if self.plan.value == UPLOADED:
            self._turned()
        else:
            self.plan.value = UPLOADED


class PlantTool(Tool):
    """The switches of the plant: controller to run and stop, bit rate, the supply of each device."""

    def __init__(self, bench: Callable[[], Bench], changed: Callable[[], object]) -> None:
        self._bench, self._changed = bench, changed
        self._known: Bench | None = None
        self.stands = widgets.HTML()
        run = self.button("Controller: run", lambda: self._do(lambda b: b.switch_controller(run=True)))
        stop = self.button("Controller: stop", lambda: self._do(lambda b: b.switch_controller(run=False)))
        self.rate = self.list_of("bit rate", [(rate_text(rate), float(rate)) for rate in bit_rates()])
        set_rate = self.button("Set bit rate", lambda: self._do(lambda b: b.set_bit_rate(self.rate.value)))
        self.device = self.list_of("supply of")
        cycle = self.button("Off and on again", lambda: self._do(lambda b: b.power_cycle(self.device.value)))
        off = self.button("Off", lambda: self._do(lambda b: b.supply(self.device.value, on=False)), width=70)
        on = self.button("On", lambda: self._do(lambda b: b.supply(self.device.value, on=True)), width=70)
        care = widgets.HTML(small(caution(START)))
        row = widgets.HBox
        super().__init__([self.stands, care, row([run, stop]), self.rate, set_rate, self.device, row([cycle, off, on])])
        self.refresh()

    def _do(self, work: Callable[[Bench], Any]) -> None:
        work(self._bench())
        self._changed()

    def refresh(self) -> None:
        """The line is another one, or a switch was turned."""
        now = self._bench().line.installation
        if self._known is not self._bench():
            self._known, self.rate.value = self._bench(), now.bit_rate
        offer(self.device, [(d.name, d.name) for d in now.devices if d.is_station or d.kind == "repeater"])
        run = "run" if now.running else "stop"
        off = ", ".join(device.name for device in now.devices if not device.powered)
        self.stands.value = (
            f'<p style="line-height:1.3;margin:0">The controller is in <b>{run}</b>, the bus at '
            f"<b>{rate_text(now.bit_rate)}</b>.{html.escape(f' Without supply: {off}.' if off else '')}</p>"
        )
