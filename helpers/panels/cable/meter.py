"""A meter with two probes on a segment with one thing wrong: what it reads, beside what it should read."""

from __future__ import annotations

from math import isnan

from helpers.answer import Answer
from helpers.bus.circuit import meter
from helpers.bus.circuit.elements import Circuit, evenly_spaced
from helpers.bus.circuit.faults import CATALOGUE
from helpers.bus.circuit.network import DGND_MODELS, PINS
from helpers.errors import in_range
from helpers.facts import one
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, PAPER, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.safe_work import cautions

HEALTHY = "nothing wrong"
DEAD, IDLE = "bus dead: resistance", "bus idle: voltage"
_CAUTION = {DEAD: "measure ohms", IDLE: "measure volts"}
_UNPLUGGED = "Unplugged, each plug's DGND and VP lead to its own terminator only."
_DRIFTS = "drifts"
_MODEL = {
    "common": "DGND of all stations joined, not to the shield",
    "isolated": "each station has its own DGND",
    "earthed": "each DGND joined to the shield at its plug",
}


def reading_text(value: float, state: str) -> str:
    """A reading as a meter shows it.

    >>> reading_text(112.68, DEAD), reading_text(float("inf"), DEAD), reading_text(1.0712, IDLE)
    ('113 Ω', 'open', '1.07 V')
    """
    return meter.ohms_text(value) if state == DEAD else meter.volts_text(value)


def _read(segment: Circuit, state: str, first: tuple[int, str], second: tuple[int, str], dgnd: str) -> float:
    (plug, pin), (second_plug, second_pin) = first, second
    if state == DEAD:
        return meter.ohms(segment, plug, pin, second_pin, second_plug=second_plug, dgnd=dgnd)
    return meter.volts(segment, plug, pin, second_pin, second_plug=second_plug, dgnd=dgnd)


def meter_view(
    fault: str, stations: int, length_m: float, state: str,
    red_plug: int, red_pin: str, black_plug: int, black_pin: str, dgnd: str = "common",
) -> Answer:  # fmt: skip
    """What the meter reads between two pins, here and on the same segment with nothing wrong. Plugs count from 1."""
    for name, plug in (("plug of the red probe", red_plug), ("plug of the black probe", black_plug)):
        in_range(name, plug, 1, stations, source=f"the segment has {stations} plugs, counted from 1")
    healthy = evenly_spaced(stations, length_m)
    here = CATALOGUE[fault](healthy) if fault != HEALTHY else healthy
    probes = ((red_plug - 1, red_pin), (black_plug - 1, black_pin))
    shown = reading_text(_read(here, state, *probes, dgnd), state)
    wanted = reading_text(_read(healthy, state, *probes, dgnd), state)
    if isnan(_read(here, state, *probes, dgnd)):
        because = "Nothing joins these two pins: a real meter shows what it picks up, and wanders. That is no reading."
    elif shown == wanted and fault != HEALTHY:
        because = "The reading is that of a healthy segment: this measurement does not show the fault. Try other pins."
    elif shown == wanted:
        because = "So reads a healthy segment."
    else:
        because = f"A healthy segment reads {wanted} here."
    wrong = f"What is wrong: {fault}. " if fault != HEALTHY else ""
    return Answer(
        "The meter drifts." if shown == _DRIFTS else f"The meter reads {shown}.",
        because=f"{wrong}{because} {_UNPLUGGED if state == DEAD else f'DGND in this circuit: {_MODEL[dgnd]}.'}",
        caution=cautions(_CAUTION[state], "dust"),
        pictures=[probe_drawing(stations, (red_plug, red_pin), (black_plug, black_pin), shown)],
        rows=_all_pairs(here, healthy, red_plug, dgnd),
        sources=[
            f"terminator: {one('terminator', name='rt_ohm').cited}",
            f"input of a station, one unit load: {one('rs485', name='unit_load_ohm').cited}",
            f"cable type A at its greatest resistance: {_loop('A')}",
            "solved as a network (calculated)",
        ],
    )


def _loop(cable: str) -> str:
    """Where the resistance of both cores of a cable is from."""
    if cable == "A":
        return one("cable_types", cable="A", quantity="loop resistance").cited
    return one("line_electrical", cable=cable, quantity="loop_ohm_per_m").cited


def _all_pairs(here: Circuit, healthy: Circuit, plug: int, dgnd: str) -> list[dict[str, object]]:
    """Every pair of pins at one plug, here and healthy; voltage is second pin against first."""
    now, should = (meter.readings(segment, plug - 1, dgnd=dgnd) for segment in (here, healthy))
    return [
        {
            f"at plug {plug}, second against first": f"{first} – {second}",
            "dead, here": reading_text(now[pair][0], DEAD),
            "dead, healthy": reading_text(should[pair][0], DEAD),
            "idle, here": reading_text(now[pair][1], IDLE),
            "idle, healthy": reading_text(should[pair][1], IDLE),
        }
        for pair in now
        for first, second in [pair]
    ]


def probe_drawing(stations: int, red: tuple[int, str], black: tuple[int, str], shown: str) -> Drawing:
    """The line with its plugs, and the meter with a probe at each of two pins."""
    says = f"meter between {red[1]} at plug {red[0]} and {black[1]} at plug {black[0]}: {shown}"
    sheet = Drawing(720, 132, says)
    step = 640 / max(stations - 1, 1)
    sheet.line(40, 24, 40 + step * (stations - 1), 24, stroke=BLUE, width=3)
    for n in range(stations):
        sheet.box(40 + n * step - 5, 17, 10, 14, fill=SKY)
        if n in (0, stations - 1) or stations <= 16:
            sheet.text(40 + n * step, 11, n + 1, size=11, fill=GREY)
    sheet.box(300, 88, 120, 38, fill=PAPER, round_=4, line=2)
    sheet.text(360, 113, shown, size=16, bold=True)
    for (plug, pin), name, x, colour, dash in ((red, "red", 312, ORANGE, "none"), (black, "black", 408, INK, "5 3")):
        top = 40 + (plug - 1) * step
        sheet.line(x, 88, top, 34, stroke=colour, width=2, dash=dash)
        side, anchor = (-20, "end") if name == "red" else (20, "start")
        sheet.text(x + side, 104, f"{name}: {pin}, plug {plug}", size=12, fill=colour, anchor=anchor)
    return sheet


def meter_panel() -> Panel:
    """Two probes on a segment: choose the fault, the pins, and whether the bus is dead or idle."""
    return Panel(
        "Meter",
        {
            "fault": fields.choice("what is wrong", (HEALTHY, *CATALOGUE)),
            "stations": fields.slider("stations", 8, 3, 32),
            "length_m": fields.with_unit("length of cable", "100 m", "length", "m", 0, 1200),
            "state": fields.choice("measure", (DEAD, IDLE)),
            "red_plug": fields.slider("red: plug", 1, 1, 32),
            "red_pin": fields.choice("red: pin", PINS, "B"),
            "black_plug": fields.slider("black: plug", 1, 1, 32),
            "black_pin": fields.choice("black: pin", PINS, "A"),
            "dgnd": fields.choice("DGND", DGND_MODELS),
        },
        meter_view,
    )


def distance_view(loop_ohm: float, leads_ohm: float, cable: str) -> Answer:
    """How far away a short from A to B is."""
    length = meter.distance_m(loop_ohm, kind=cable, contact_ohm=leads_ohm)
    because = "The reading is no more than the test leads: the short is at your feet."
    if length:
        per_m = (loop_ohm - leads_ohm) / length
        because = (
            f"{loop_ohm:g} Ω measured, less {leads_ohm:g} Ω of test leads, at {per_m:.3g} Ω per metre of both cores."
        )
    return Answer(
        f"The short is about {length:.0f} m along the cable.",
        because=because,
        caution=cautions("measure ohms", "dust"),
        rows=[
            {"measured, in Ω": round(leads_ohm + ohm, 1), "distance, in m": round(meter.distance_m(ohm, kind=cable))}
            for ohm in (1.0, 5.0, 10.0, 20.0, 50.0, 100.0)
        ],
        sources=[f"resistance of both cores: {_loop(cable)}. A better cable puts the short farther away."],
    )


def distance_panel() -> Panel:
    """From the resistance between A and B, all terminators off, to the place of a short."""
    return Panel(
        "How far away is the short?",
        {
            "loop_ohm": fields.with_unit("A to B", "11 Ω", "resistance", "ohm", 0, 10_000),
            "leads_ohm": fields.with_unit("test leads", "0.2 Ω", "resistance", "ohm", 0, 100),
            "cable": fields.choice("cable type", ("A", "B")),
        },
        distance_view,
        hint=f"Switch every terminator off first: {one('terminator', name='rt_ohm')['value']} Ω in parallel would "
        "make the short look nearer. "
        "Hold the test leads together to read their own resistance.",
    )
