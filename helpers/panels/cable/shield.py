"""Panels for the shield: what flows through it when two earths differ, and what a neighbour couples into it."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache

from helpers import facts
from helpers.answer import Answer, Row
from helpers.bus.cable.bonding import check_bond, check_contacts, conductor_areas, shield_current
from helpers.bus.cable.coupling import Compensation, shield_ohm
from helpers.bus.cable.interference import Disturber, coupled, disturbers
from helpers.caution import DANGER, Caution
from helpers.curves import Axis, Curve, Curves, Note, Points, decades
from helpers.errors import Unreadable, in_range
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, ORANGE, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.quantity import about, quantity
from helpers.safe_work import cautions
from helpers.verdict import Degree
from helpers.written import number, read_quantity

Cause = tuple[float, str]  # a number in V or in A, and which of the two


# -- two earths that differ ---------------------------------------------------------------------------


def compensation_view(
    cause: Cause, source_ohm: float, cable_m: float, area_mm2: float, bond_m: float, contact_ohm: float
) -> Answer:
    """Currents through the shield and a bonding conductor beside it; the same for each usual area."""
    open_v = cause[0] * source_ohm if cause[1] == "A" else cause[0]

    def with_bond(area: float) -> Compensation:
        return shield_current(open_v=open_v, source_ohm=source_ohm, cable_m=cable_m, area_mm2=area, bond_m=bond_m,
                              contact_ohm=contact_ohm)  # fmt: skip

    now, finding = with_bond(area_mm2), check_bond(open_v=open_v, area_mm2=area_mm2)
    contacts = check_contacts(area_mm2=area_mm2, length_m=bond_m, contact_ohm=contact_ohm)
    spoiled = bool(now.total_a and contacts.degree)
    shield = shield_ohm(length_m=cable_m)
    # A conductor that carries less than the shield is no other way.
    advised = spoiled or now.shield_a > now.bond_a
    degree = max(finding.degree, Degree.CAUTION) if advised else finding.degree
    danger = _touch(open_v)
    return Answer(
        _told(now, with_bond(0), area_mm2),
        degree=None if danger else degree,  # no earthing makes a dangerous voltage good: then there is only the caution
        because=(f"Of the bonding conductor, {contacts.found}. {contacts.to_do} " if spoiled else "")
        + f"{_rule(finding.allowed, finding.source)} {_open_shield(open_v)} Assumed: direct current or mains "
        f"frequency, shield {about(shield, 'Ω')} ({_shield_source()}), copper at 20 °C.",
        caution=(*danger, *cautions("earth voltage")),
        pictures=[_two_cabinets(now, open_v, source_ohm, shield, area_mm2, bond_m)],
        rows=[_area_row(area, with_bond(area), area == area_mm2) for area in _shown(area_mm2)],
        sources=[finding.source, *[contacts.source] * spoiled,
                 facts.one("conductors", quantity="copper resistivity").cited, _shield_source(),
                 *(row.cited for row in _common_mode()), facts.rows("conductor_areas")[0].cited],
    )  # fmt: skip


def _told(now: Compensation, alone: Compensation, area_mm2: float) -> str:
    if not now.total_a:
        return "No voltage between the earths: no current flows through the shield."
    if not area_mm2:
        return f"Alone, the shield carries all of the current: {about(now.shield_a, 'A')}."
    share = now.shield_a / now.total_a
    return (
        f"The shield carries {about(now.shield_a, 'A')}, that is {about(100 * share, '%')} of "
        f"{about(now.total_a, 'A')}. Without the bonding conductor it would carry {about(alone.shield_a, 'A')}."
    )


def _rule(allowed: str, source: str) -> str:
    return f"The balancing current must have another way than the shield: a bonding conductor, {allowed} – {source}."


def _percent(share: float) -> str:
    return f"{float(f'{100 * share:.2g}'):.12g} %"


def _common_mode() -> tuple[facts.Fact, facts.Fact]:
    return facts.one("rs485", name="common_mode_low_v"), facts.one("rs485", name="common_mode_high_v")


def _open_shield(open_v: float) -> str:
    low, high = _common_mode()
    said = f"A shield open at one end carries nothing, but leaves all {about(open_v, 'V')} between the stations; "
    return said + f"RS-485 receivers bear −{abs(low.number('value')):g} V to +{high['value']} V ({low.standing})."


def _touch(open_v: float) -> tuple[Caution, ...]:
    """What to do above the lowest voltage from which any rule acts, from memory or not: a caution is no verdict."""
    known = [facts.one("conductors", quantity="touch voltage"), *facts.rows("dc_link")]
    first = min(known, key=lambda row: row.number("value"))
    if open_v <= first.number("value"):
        return ()
    return (Caution(DANGER, f"More than {first['value']} V ({first.cited}): touch nothing, join nothing, stop. "
                    "Call an electrician."),)  # fmt: skip


def _shield_source() -> str:
    return facts.one("line_electrical", cable="A", quantity="shield_ohm_per_m").cited


def _shown(chosen: float) -> list[float]:
    """Every second usual area, and the one chosen."""
    return sorted({0.0, chosen, *conductor_areas()[1::2]})


def _area_row(area_mm2: float, current: Compensation, chosen: bool) -> Row:
    return {
        "bonding conductor": quantity(area_mm2, "mm²") if area_mm2 else "none",
        "in the shield": about(current.shield_a, "A"),
        "in the conductor": about(current.bond_a, "A"),
        "share of the shield": _percent(current.shield_a / current.total_a) if current.total_a else "–",
        "voltage left": about(current.voltage_v, "V"),
        "": "◀ chosen" if chosen else "",
    }


def _two_cabinets(now: Compensation, open_v: float, source_ohm: float, shield: float, area_mm2: float,
                  bond_m: float) -> Drawing:  # fmt: skip
    bond = f"bonding conductor {quantity(area_mm2, 'mm²')}, {quantity(bond_m, 'm')}: {about(now.bond_a, 'A')}"
    upper = f"shield {about(shield, 'Ω')}: {about(now.shield_a, 'A')}"
    earth = f"earth: {about(open_v, 'V')} with the shield open, {about(source_ohm, 'Ω')}"
    middle = bond if area_mm2 else "no bonding conductor"
    sheet = Drawing(760, 138, f"two cabinets joined by the bus cable. {upper}; {middle}; {earth}")
    for x, name in ((8.0, "cabinet 1"), (652.0, "cabinet 2")):
        sheet.box(x, 6, 100, 88, fill=SKY, round_=4)
        sheet.text(x + 50, 24, name, size=12, bold=True)
        sheet.line(x + 50, 94, x + 50, 118, width=2)
    sheet.line(58, 118, 702, 118, stroke=GREY, width=2, dash="8 5")
    sheet.box(200, 106, 360, 24, fill=SAND, stroke=GREY, round_=4)
    sheet.text(380, 122, earth, size=12)
    whole = now.total_a or 1.0
    _arrow(sheet, 40, upper, now.shield_a / whole, ORANGE)
    if area_mm2:
        _arrow(sheet, 80, bond, now.bond_a / whole, BLUE)
    else:
        sheet.text(380, 80, middle, size=12, fill=GREY)
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
        compensation_view,
        hint="Between the earths: the voltage measured with the shield open at one end (2 V), or a current that flows "
        "through the plant's earth anyway (5 A). Earth path: the resistance of earth and source together; if it is "
        "not known, try 0.1 Ω and 10 Ω and see what changes. A painted contact may have hundreds of mΩ.",
    )


# -- a neighbour beside it ----------------------------------------------------------------------------

_NEAR_M, _FAR_M, _POINTS = 0.02, 2.0, 60


@cache
def _distances() -> tuple[float, ...]:
    return tuple(_NEAR_M * (_FAR_M / _NEAR_M) ** (n / (_POINTS - 1)) for n in range(_POINTS))


def coupling_view(disturber: Disturber, parallel_m: float, distance_m: float, height_m: float) -> Answer:
    """Order of magnitude of what one disturber brings into the loop of shield and tray, against the distance."""

    def at(distance: float, source: Disturber = disturber) -> tuple[float, float]:
        found = coupled(source, parallel_m=parallel_m, distance_m=distance, height_m=height_m)
        return found.voltage_v, found.current_a

    here, twice = at(distance_m), at(2 * distance_m)
    half = coupled(disturber, parallel_m=parallel_m / 2, distance_m=distance_m, height_m=height_m)
    points = [(distance, at(distance)[0]) for distance in _distances()]
    reach = (
        f" Only the first {about(disturber.reach_m, 'm')} count: the edge lasts {about(disturber.edge_s, 's')}."
        if parallel_m > disturber.reach_m
        else ""
    )
    return Answer(
        f"About {about(here[0], 'V', digits=1)} in the loop of shield and tray. At twice the distance: about "
        f"{about(twice[0], 'V', digits=1)}; at half the length: about {about(half.voltage_v, 'V', digits=1)}.",
        because="An order of magnitude, to compare one way of laying with another: two single wires above earthed "
        "metal that carries the return current, air between them. What a shield earthed at both ends keeps from the "
        f"cores is not part of it.{reach}",
        pictures=[_against_distance(disturber.name, points, distance_m, parallel_m, here[0], twice[0])],
        rows=[
            {"at this distance, beside": d.name, "voltage in the loop": about(at(distance_m, d)[0], "V", digits=1),
             "current into the shield": about(at(distance_m, d)[1], "A", digits=1),
             "figures": f"{about(d.current_a, 'A')} and {about(d.voltage_v, 'V')} within {about(d.edge_s, 's')}",
             "known": d.cited.partition(" (")[2].rstrip(")") or d.cited}
            for d in disturbers().values()
        ],
        sources=[*(f"{d.name}: {d.about}; {d.cited}" for d in disturbers().values()),
                 "two wires above a plane: C. R. Paul, Introduction to Electromagnetic Compatibility, from memory"],
    )  # fmt: skip


def coupling_table(
    disturber: Disturber, *, lengths_m: Sequence[float], distances_m: Sequence[float], height_m: float
) -> list[Row]:
    """Volts in the loop of shield and tray: a row for each length, a column for each distance."""
    return [
        {"side by side in m": length}
        | {
            f"{distance:g} m apart": round(
                coupled(disturber, parallel_m=length, distance_m=distance, height_m=height_m).voltage_v, 1
            )
            for distance in distances_m
        }
        for length in lengths_m
    ]


def _against_distance(
    name: str,
    points: Sequence[tuple[float, float]],
    distance_m: float,
    parallel_m: float,
    here_v: float,
    twice_v: float,
) -> Curves:
    top_v = max(points[0][1], here_v)
    low_v, high_v = top_v / 10_000, top_v * 1.5
    distances_m, volts = zip(*points, strict=True)
    here = f"{quantity(distance_m, 'm')}: {about(here_v, 'V', digits=1)}"
    return Curves(
        f"voltage in the loop against distance: {name}, {quantity(parallel_m, 'm')} side by side; "
        f"{about(here_v, 'V', digits=1)} at {quantity(distance_m, 'm')}, {about(twice_v, 'V', digits=1)} at "
        f"{quantity(2 * distance_m, 'm')}",
        Axis("distance between the middles of the cables", _NEAR_M, _FAR_M, log=True,
             ticks=[(metres, about(metres, "m")) for metres in _TICKS_M]),
        Axis("voltage in the loop", low_v, high_v, log=True, ticks=decades(low_v, high_v, lambda v: about(v, "V"))),
        [Curve(distances_m, volts, name)],
        [Points([distance_m], [here_v])],
        notes=[Note(distance_m, here_v, here, "above right", bold=True)],
    )  # fmt: skip


_TICKS_M = (0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0)


def coupling_panel() -> Panel:
    """What a cable beside the bus cable couples into it, against distance and length."""
    return Panel(
        "What does a neighbour couple into the shield?",
        {
            "disturber": fields.choice("neighbour", list(disturbers().items())),
            "parallel_m": fields.with_unit("side by side", "20 m", "length", "m", 0.1, 10_000),
            "distance_m": fields.with_unit("distance", "0.1 m", "length", "m", _NEAR_M, _FAR_M),
            "height_m": fields.with_unit("above the metal", "5 cm", "length", "m", 0.005, 10),
        },
        coupling_view,
        hint="Above the metal: how high both cables lie over the tray, the duct or the mounting plate. Cables that lie "
        "on the metal have a small loop. Cables in the air, far from any earthed metal, have a great one.",
    )
