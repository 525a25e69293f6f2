"""Panel for the ends of a segment: turn the switches, and read what the rules and a meter say."""

from __future__ import annotations

from collections.abc import Collection
from functools import cache

import ipywidgets as widgets
import traitlets

from helpers.answer import Answer, Row
from helpers.bus.cable.bit_rates import bit_rates
from helpers.bus.cable.laid import LONGEST_M, Piece, Plug, Segment
from helpers.bus.cable.line_picture import LinePicture
from helpers.bus.cable.termination import check_termination, switches
from helpers.bus.circuit import meter
from helpers.bus.circuit.dc import Solved, idle_window
from helpers.bus.circuit.elements import Circuit as Circuit
from helpers.bus.circuit.elements import circuit_of, known
from helpers.bus.circuit.faults import terminator_unpowered
from helpers.bus.circuit.meter import volts_text
from helpers.bus.circuit.network import DGND_MODELS, branches
from helpers.errors import one_of
from helpers.facts import Fact, one, rows
from helpers.panels.cable.plugs import KINDS
from helpers.panels.cable.segment_drawing import line_drawing
from helpers.panels.kit import fields
from helpers.panels.kit.panel import Panel
from helpers.safe_work import cautions
from helpers.verdict import Degree, Finding, worst, worst_first

# A line of the invented Saltmarsh Mill, made shorter for the panel.
NAMES = ("Controller", "Dryer fan 1", "Dryer fan 2", "Cooling fan", "Dust filter fan", "Discharge screw")
NOWHERE, LEFT_END, RIGHT_END, BOTH_ENDS = OWN = ("nowhere", "at the left end", "at the right end", "at both ends")
NOBODY = "nobody"
DGND_WORDS = {
    "common": "DGND taken as joined between all stations, by the plant and not by the bus cable",
    "isolated": "DGND taken as apart at every station",
    "earthed": "DGND taken as joined to the shield at every station",
}
_MOST_ROWS = 4
_RULES = ("both ends", "supplied", "in the device", "device and plug", "own supply", "own supply, end device off",
          "repeater terminates", "sides of the plug")  # fmt: skip


def line(
    on: Collection[int],
    *,
    bit_rate: float,
    length_m: float = 100.0,
    plug: str = "cutting",
    own: str = NOWHERE,
    off: str = NOBODY,
    exchanged: str = NOBODY,
) -> Segment:
    """Six stations, evenly spread, with the terminators on at the plugs numbered in `on`, from 1.

    own: where a terminator with its own supply sits, one of `OWN`; off and exchanged: the name of the device
    without supply, and of the one whose plug has its cables exchanged.

    >>> [plug.terminator_on for plug in line({1, 6}, bit_rate=500_000).plugs]
    [True, False, False, False, False, True]
    """
    one_of("own supply", own, OWN)
    last = len(NAMES)
    owners = {NOWHERE: (), LEFT_END: (1,), RIGHT_END: (last,), BOTH_ENDS: (1, last)}[own]
    plugs = tuple(
        Plug(
            name,
            kind="controller" if n == 1 else "drive",
            plug_type=plug,
            terminator_on=n in on,
            own_supply=n in owners,
            powered=name != off,
            sides_exchanged=name == exchanged,
        )
        for n, name in enumerate(NAMES, 1)
    )
    return Segment("segment", plugs, (Piece(length_m / (last - 1)),) * (last - 1), bit_rate)


def termination_view(
    on: Collection[int],
    bit_rate: float,
    length_m: float = 100.0,
    plug: str = "cutting",
    own: str = NOWHERE,
    off: str = NOBODY,
    exchanged: str = NOBODY,
    dgnd: str = "common",
) -> Answer:
    """What the rules say of these switches, and what a meter reads at every plug."""
    segment = line(on, bit_rate=bit_rate, length_m=length_m, plug=plug, own=own, off=off, exchanged=exchanged)
    findings = worst_first(check_termination(segment))
    circuit = circuit_of(segment)
    # Solved once for all plugs; `meter` would solve the same network anew at each.
    idle, dead = Solved(branches(circuit, dgnd=dgnd)), Solved(branches(circuit, devices="unplugged"))
    volts = [idle.volts((n, "B"), (n, "A")) for n in range(len(NAMES))]
    ohms = [dead.ohms((n, "A"), (n, "B")) for n in range(len(NAMES))]
    readings = [f"{volts_text(v)} · {meter.ohms_text(r)}" for v, r in zip(volts, ohms, strict=True)]
    low, high = idle_window()
    return Answer(
        f"{_said(findings)} {_read(volts, ohms)}",
        degree=worst(findings),
        because=f"{_switches(segment)} {DGND_WORDS[dgnd]}. {_dead(segment, circuit, dgnd)}".strip(),
        caution=cautions("measure ohms"),
        pictures=[LinePicture((segment,), notes=dict(zip(NAMES, readings, strict=True)), marks=_marks(findings))],
        rows=_rows(findings),
        folded=[("What a meter reads at each plug, and what is healthy", _readings(volts, ohms))],
        sources=[
            *(finding.source for finding in findings),
            f"idle voltage {low:.2f} V to {high:.2f} V without receivers, resistors within their tolerance: calculated "
            f"from the resistors, {one('terminator', name='rt_ohm').cited}",
            f"threshold of a receiver: {one('rs485', name='threshold_v').cited}",
        ],
    )


def _said(findings: tuple[Finding, ...]) -> str:
    troubles = [finding for finding in findings if finding.degree]
    if not troubles:
        return "Both ends are terminated and fed, and nothing between them."
    first = troubles[0]
    more = f" ({len(troubles) - 1} more below)" if len(troubles) > 1 else ""
    return f"{first.place.partition(': ')[2] or first.place}: {first.found}{more}."


def _read(volts: list[float], ohms: list[float]) -> str:
    """The readings in one sentence, and what they tell a receiver."""
    least = known("rs485", "threshold_v")
    dead = [name for name, v in zip(NAMES, volts, strict=True) if abs(v) <= least]
    shown = [" to ".join(dict.fromkeys((say(min(values)), say(max(values))))) for values, say in
             ((volts, volts_text), (ohms, meter.ohms_text))]  # fmt: skip
    told = f"Idle, B against A: {shown[0]}. Bus dead, A to B: {shown[1]}."
    if dead:
        where = ", ".join(dead) if len(dead) < len(NAMES) else "every station"
        told += f" With {least:g} V or less the idle level is undefined: {where}."
    return told


def _switches(segment: Segment) -> str:
    """How the switches should stand, in one sentence."""
    on = [str(n) for n, switch in enumerate(switches(segment), 1) if switch.on]
    own = any(plug.own_supply for plug in segment.plugs)
    why = "; the terminator with its own supply does the rest" if own else ""
    where = f"on at {' and '.join(on)}, off at all others" if on else "off at every plug"
    return f"The switches belong: {where}{why}."


def _dead(segment: Segment, circuit: Circuit, dgnd: str) -> str:
    """What else a device without supply can make of the reading."""
    n = next((n for n, plug in enumerate(segment.plugs) if plug.terminator_on and not plug.powered), None)
    if n is None:
        return ""
    other = volts_text(meter.volts(terminator_unpowered(circuit, n, which=0), n, dgnd=dgnd))
    return f"The device without supply is taken to lay VP on DGND; if it leaves VP free, its plug reads {other}."


def _marks(findings: tuple[Finding, ...]) -> dict[str, Degree]:
    marks: dict[str, Degree] = {}
    for finding in findings:
        name = finding.place.partition(": ")[2]
        marks[name] = max(finding.degree, marks.get(name, Degree.IN_ORDER))
    return marks


def _rows(findings: tuple[Finding, ...]) -> list[Row]:
    listed: list[Row] = [
        {"where": f.place.partition(": ")[2] or "the segment", "found": f.found, "verdict": f.degree, "to do": f.to_do}
        for f in findings
    ]
    if len(listed) <= _MOST_ROWS:
        return listed
    left = len(listed) - _MOST_ROWS + 1
    return [*listed[: _MOST_ROWS - 1], {"where": f"… {left} more", "found": "", "verdict": "", "to do": "These first."}]


def _readings(volts: list[float], ohms: list[float]) -> list[Row]:
    listed: list[Row] = [
        {"plug": f"{n} {name}", **_reading(v, r)}
        for n, (name, v, r) in enumerate(zip(NAMES, volts, ohms, strict=True), 1)
    ]
    return [*listed, _healthy()]


@cache
def _healthy() -> Row:
    circuit = circuit_of(line({1, len(NAMES)}, bit_rate=bit_rates()[0], length_m=0))
    volts, ohms = meter.volts(circuit), meter.ohms(circuit)
    return {"plug": "healthy, on a short cable", **_reading(volts, ohms)}


def _reading(volts: float, ohm: float) -> Row:
    return {"idle, B against A": volts_text(volts), "bus dead, A to B": meter.ohms_text(ohm)}


def termination_rules() -> tuple[Fact, ...]:
    """The rules on terminators with their sources, as the verdicts use them."""
    return tuple(row for row in rows("wiring_rules") if row["rule"] in _RULES)


# -- the panel ----------------------------------------------------------------------------------------


class PlugSwitches(widgets.HBox):
    """One button for each plug; `value` holds the numbers, from 1, of those whose terminator is on."""

    value = traitlets.Tuple()

    def __init__(self, names: Collection[str], on: Collection[int]) -> None:
        self.buttons = [
            widgets.ToggleButton(value=n in on, layout=widgets.Layout(width="46px", padding="0", margin="1px"))
            for n in range(1, len(names) + 1)
        ]
        self.names = tuple(names)
        super().__init__(self.buttons)
        for button in self.buttons:
            button.observe(self._turned, "value")
        self._turned(None)

    def _turned(self, _: object) -> None:
        for n, (button, name) in enumerate(zip(self.buttons, self.names, strict=True), 1):
            state = "on" if button.value else "off"
            button.description, button.tooltip = f"{n} {state}", f"terminator at plug {n}, {name}: {state}"
        self.value = tuple(n for n, button in enumerate(self.buttons, 1) if button.value)


@cache
def _devices() -> tuple[tuple[str, str], ...]:
    return ((NOBODY, NOBODY), *((f"{n} {name}", name) for n, name in enumerate(NAMES, 1)))


def termination_panel() -> Panel:
    """Turn the terminator switches of a line, and see what the rules and a meter say."""
    row = PlugSwitches(NAMES, {1, len(NAMES)})
    label = widgets.HTML("terminator switches, plug 1 to 6")
    return Panel(
        "Which terminators are on?",
        {
            "on": fields.Field(row, around=widgets.VBox([label, row])),
            "plug": fields.choice("every plug", KINDS),
            "own": fields.choice("with own supply", OWN),
            "off": fields.choice("without supply", _devices()),
            "exchanged": fields.choice("sides exchanged", _devices()),
            "bit_rate": fields.bit_rate(1_500_000),
            "length_m": fields.with_unit("length of cable", "100 m", "length", "m", 0, LONGEST_M / 50),
            "dgnd": fields.choice("DGND", DGND_MODELS),
        },
        termination_view,
        draw={LinePicture: line_drawing},
        hint="Below each station stands what a meter would read at its plug: volts with the bus idle, ohms with the "
        "bus dead and every device unplugged.",
    )
