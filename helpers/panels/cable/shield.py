"""Panels for shield and earth: two earths that differ, a neighbour beside the bus cable, a wire to earth."""

from __future__ import annotations

from collections.abc import Callable

from helpers import facts
from helpers.bus.cable.bonding import CabinetsPicture, Cause, compensation_answer, conductor_areas
from helpers.bus.cable.earth_wire import HIGH_HZ, LOW_HZ, wire_answer
from helpers.bus.cable.interference import FAR_M, NEAR_M, coupling_answer, disturbers
from helpers.errors import Unreadable, in_range
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, ORANGE, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.quantity import quantity
from helpers.written import number, read_quantity

# -- two earths that differ ---------------------------------------------------------------------------


def cabinets_drawing(picture: CabinetsPicture) -> Drawing:
    """Two cabinets and the three ways between them, the thicker the more of the current each carries."""
    now = picture.current
    sheet = Drawing(760, 138, picture.says)
    for x, name in ((8.0, "cabinet 1"), (652.0, "cabinet 2")):
        sheet.box(x, 6, 100, 88, fill=SKY, round_=4)
        sheet.text(x + 50, 24, name, size=12, bold=True)
        sheet.line(x + 50, 94, x + 50, 118, width=2)
    sheet.line(58, 118, 702, 118, stroke=GREY, width=2, dash="8 5")
    sheet.box(200, 106, 360, 24, fill=SAND, stroke=GREY, round_=4)
    sheet.text(380, 122, picture.earth, size=12)
    whole = now.total_a or 1.0
    _arrow(sheet, 40, picture.shield, now.shield_a / whole, ORANGE)
    if picture.area_mm2:
        _arrow(sheet, 80, picture.bond, now.bond_a / whole, BLUE)
    else:
        sheet.text(380, 80, picture.bond, size=12, fill=GREY)
    return sheet


def _arrow(sheet: Drawing, y: float, words: str, share: float, colour: str) -> None:
    """A line from cabinet to cabinet, the thicker the more of the current it carries."""
    sheet.line(108, y, 652, y, stroke=colour, width=1.5 + 7 * share)
    if share:
        sheet.path([(618, y - 8), (638, y), (618, y + 8)], stroke=colour, fill=colour)
    sheet.text(380, y - 8, words, size=12, bold=True)


def _read_cause(typed: str) -> Cause:
    """`2 V` or `5 A`; a bare number is a voltage."""
    for kind, unit, most in (("voltage", "V", 1000.0), ("current", "A", 1000.0)):
        try:
            value = read_quantity(typed, kind, unit)
        except Unreadable:
            continue
        in_range("between the earths", value, 0, most, unit)
        return value, unit
    raise Unreadable(f"{typed[:40]!r} is neither a voltage nor a current; write for example 2 V or 5 A.")


def _milliohm(typed: str) -> float:
    value = number(typed.casefold().replace("mω", "").replace("mohm", ""))
    in_range("contact", value, 0, 10_000, "mΩ")
    return value / 1000


def compensation_panel() -> Panel:
    """What flows through the shield when two earths differ, with and without a bonding conductor."""
    areas = [("none", 0.0), *((quantity(area, "mm²"), area) for area in conductor_areas())]
    example = facts.one("conductors", quantity="bonding area").number("value") * 1e6
    return Panel(
        "How much current flows through the shield?",
        {
            "cause": fields.text("between earths", "2 V", _read_cause),
            "source_ohm": fields.with_unit("earth path", "0.5 Ω", "resistance", "ohm", 1e-3, 1e3),
            "cable_m": fields.with_unit("bus cable", "85 m", "length", "m", 1, 10_000),
            "area_mm2": fields.choice("bonding conductor", areas, example),
            "bond_m": fields.with_unit("its length", "85 m", "length", "m", 0.1, 10_000),
            "contact_ohm": fields.text("each contact, mΩ", "1", _milliohm),
        },
        compensation_answer,
        draw={CabinetsPicture: cabinets_drawing},
        hint="Between the earths: the voltage measured with the shield open at one end (2 V), or a current that flows "
        "through the plant's earth anyway (5 A). Earth path: the resistance of earth and source together; if it is "
        "not known, try 0.1 Ω and 10 Ω and see what changes. A painted contact may have hundreds of mΩ.",
    )


# -- a neighbour beside it ----------------------------------------------------------------------------


def coupling_panel() -> Panel:
    """What a cable beside the bus cable couples into it, against distance and length."""
    return Panel(
        "What does a neighbour couple into the shield?",
        {
            "disturber": fields.choice("neighbour", list(disturbers().items())),
            "parallel_m": fields.with_unit("side by side", "20 m", "length", "m", 0.1, 10_000),
            "distance_m": fields.with_unit("distance", "0.1 m", "length", "m", NEAR_M, FAR_M),
            "height_m": fields.with_unit("above the metal", "5 cm", "length", "m", 0.005, 10),
        },
        coupling_answer,
        hint="Above the metal: how high both cables lie over the tray, the duct or the mounting plate. Cables that lie "
        "on the metal have a small loop. Cables in the air, far from any earthed metal, have a great one.",
    )


# -- a wire to earth ----------------------------------------------------------------------------------


def _hertz(label: str) -> Callable[[str], float]:
    def read(typed: str) -> float:
        value = read_quantity(typed, "frequency", "Hz")
        in_range(label, value, LOW_HZ, HIGH_HZ, "Hz")
        return value

    return read


def wire_panel() -> Panel:
    """What a wire to earth is worth at the frequencies of a drive."""
    noise = facts.one("oscilloscope", quantity="noise of drives")
    return Panel(
        "How good is this earth wire?",
        {
            "length_m": fields.with_unit("length", "30 cm", "length", "m", 0.02, 1000),
            "area_mm2": fields.choice("wire", [(quantity(area, "mm²"), area) for area in conductor_areas()], 4.0),
            "width_m": fields.with_unit("flat braid, width", "25 mm", "length", "mm", 0.003, 0.2),
            "frequency_hz": fields.text("frequency", "10 MHz", _hertz("frequency")),
        },
        wire_answer,
        hint=f"The noise of a drive is strongest from its switching frequency up, and lies mostly below {noise['mhz']} "
        f"MHz ({noise.cited}). The braid is taken as 2 mm thick.",
    )
