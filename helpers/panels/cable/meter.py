"""Panels for a meter with two probes on a segment with one thing wrong, and for the place of a short."""

from __future__ import annotations

from helpers.bus.circuit.faults import CATALOGUE, HEALTHY
from helpers.bus.circuit.meter import DEAD, IDLE, ProbesPicture, distance_answer, meter_answer
from helpers.bus.circuit.network import DGND_MODELS, PINS
from helpers.facts import one
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, PAPER, SKY, Drawing
from helpers.panels.kit.panel import Panel


def probes_drawing(picture: ProbesPicture) -> Drawing:
    """The line with its plugs, and the meter with a probe at each of two pins."""
    stations, red, black = picture.stations, picture.red, picture.black
    sheet = Drawing(720, 132, picture.says)
    step = 640 / max(stations - 1, 1)
    sheet.line(40, 24, 40 + step * (stations - 1), 24, stroke=BLUE, width=3)
    for n in range(stations):
        sheet.box(40 + n * step - 5, 17, 10, 14, fill=SKY)
        if n in (0, stations - 1) or stations <= 16:
            sheet.text(40 + n * step, 11, n + 1, size=11, fill=GREY)
    sheet.box(300, 88, 120, 38, fill=PAPER, round_=4, line=2)
    sheet.text(360, 113, picture.shown, size=16, bold=True)
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
        meter_answer,
        draw={ProbesPicture: probes_drawing},
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
        distance_answer,
        hint=f"Switch every terminator off first: {one('terminator', name='rt_ohm')['value']} Ω in parallel would "
        "make the short look nearer. "
        "Hold the test leads together to read their own resistance.",
    )
