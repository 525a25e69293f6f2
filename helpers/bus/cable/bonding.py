"""The bonding conductor beside a bus cable: its resistance, and what it leaves for the shield to carry."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from math import inf

from helpers.answer import Answer, Row
from helpers.bus.cable.coupling import Compensation, compensating_current, copper_ohm, shield_ohm
from helpers.caution import DANGER, Caution
from helpers.errors import in_range
from helpers.facts import Fact, Limit, one, rows, where
from helpers.quantity import about, quantity
from helpers.safe_work import cautions
from helpers.verdict import Degree, Finding, judge_least

_RULES = ("shield", "cabinet entry", "potential differences", "single earth point", "option board", "contact",
          "flat braid", "building earth", "right angle", "ferrites")  # fmt: skip


def shield_rules() -> tuple[Fact, ...]:
    """The rules of laying that speak of shield, earth and crossings (data/wiring_rules.csv).

    >>> shield_rules()[0]["rule"]
    'shield'
    """
    return tuple(row for rule in _RULES for row in where("wiring_rules", rule=rule))


@cache
def conductor_areas() -> tuple[float, ...]:
    """The usual areas of conductors in mm², smallest first (data/conductor_areas.csv).

    >>> 16.0 in conductor_areas()
    True
    """
    return tuple(sorted(row.number("area_mm2") for row in rows("conductor_areas")))


def bond_ohm(*, area_mm2: float, length_m: float, contact_ohm: float = 0.0) -> float:
    """Resistance in Ω of a copper bonding conductor with the contact at each of its two ends.

    Parameters: area_mm2 in mm², 0 for no conductor (then `inf`); length_m in m; contact_ohm in Ω, of one end.

    >>> round(bond_ohm(area_mm2=16, length_m=100, contact_ohm=0.001), 4)
    0.1098
    """
    in_range("resistance of a contact", contact_ohm, 0, 1e6, "Ω", "values the workbook takes")
    if area_mm2 == 0:
        return inf
    return copper_ohm(length_m=length_m, area_mm2=area_mm2) + 2 * contact_ohm


def shield_current(
    *, open_v: float, source_ohm: float, cable_m: float, area_mm2: float, bond_m: float, contact_ohm: float = 0.0
) -> Compensation:
    """The currents through the shield of a bus cable and a bonding conductor beside it.

    Parameters: open_v in V, between the two earths with the shield open at one end; source_ohm in Ω, of the
    earth path; cable_m in m, of the shield; area_mm2, bond_m, contact_ohm as for `bond_ohm`. A current I
    that flows through the earth path anyway is the same as open_v = I · source_ohm.
    Validity and source: `helpers.bus.cable.coupling.compensating_current`.

    >>> with_bond = shield_current(open_v=2, source_ohm=0.5, cable_m=100, area_mm2=16, bond_m=100)
    >>> round(with_bond.shield_a, 2), round(with_bond.bond_a, 2)
    (0.33, 3.02)
    """
    return compensating_current(
        open_v=open_v,
        source_ohm=source_ohm,
        shield_ohm=shield_ohm(length_m=cable_m),
        bond_ohm=bond_ohm(area_mm2=area_mm2, length_m=bond_m, contact_ohm=contact_ohm),
    )


def check_contacts(*, area_mm2: float, length_m: float, contact_ohm: float) -> Finding:
    """Whether the contacts leave the copper its worth: both together below the resistance of the conductor.

    Two resistances in a row; where the contacts have the greater share, the copper could as well be thinner than half.

    >>> [check_contacts(area_mm2=16, length_m=85, contact_ohm=ohm).verdict for ohm in (0.001, 0.1)]
    ['in order', 'outside cautious practice']
    """
    copper, contacts = bond_ohm(area_mm2=area_mm2, length_m=length_m), 2 * contact_ohm
    rule = one("wiring_rules", rule="contact")
    return Finding(
        rule="contacts of the bonding conductor",
        place="at its ends",
        found=f"two contacts {_milli(contacts)}, copper {_milli(copper)}",
        allowed="less in both contacts than in the copper",
        source=f"{rule['about']}: {rule.cited}; the comparison is calculated",
        to_do="Take off the paint: bare metal, or a toothed washer." if contacts > copper else "",
        degree=Degree.CAUTION if contacts > copper else Degree.IN_ORDER,
    )


def _milli(ohm: float) -> str:
    return "none" if ohm == inf else quantity(float(f"{1000 * ohm:.2g}"), "mΩ")


def check_bond(*, open_v: float, area_mm2: float) -> Finding:
    """Whether a difference of earth potential is met by a bonding conductor of the area that a source names.

    That area is an example in its source, so a smaller one is never said to break the standard.

    >>> [check_bond(open_v=2, area_mm2=area).verdict for area in (0, 10, 16)]
    ['outside cautious practice', 'outside cautious practice', 'in order']
    """
    in_range("voltage between the earths", open_v, 0, 1e6, "V", "values the workbook takes")
    in_range("area of the bonding conductor", area_mm2, 0, 1e4, "mm²", "values the workbook takes")
    example = one("conductors", quantity="bonding area")
    least_mm2 = example.number("value") * 1e6
    degree = judge_least(area_mm2, Limit(least_mm2, -inf, (example,))) if open_v else Degree.IN_ORDER
    return Finding(
        rule="bonding conductor",
        place="between the earths",
        found=quantity(area_mm2, "mm²") if area_mm2 else "no conductor",
        allowed=f"for example {quantity(least_mm2, 'mm²')}" if open_v else "not needed without a voltage",
        source=example.cited,
        to_do="Lay a bonding conductor beside the bus cable, short and with good contacts." if degree else "",
        degree=degree,
    )


# -- what is said of it ----------------------------------------------------------------------------


Cause = tuple[float, str]  # a number in V or in A, and which of the two


@dataclass(frozen=True)
class CabinetsPicture:
    """Two cabinets joined by the bus cable, the bonding conductor beside it, and the earth between them."""

    current: Compensation
    open_v: float
    source_ohm: float
    shield_ohm: float
    area_mm2: float
    bond_m: float

    @property
    def shield(self) -> str:
        """What is written at the shield."""
        return f"shield {about(self.shield_ohm, 'Ω')}: {about(self.current.shield_a, 'A')}"

    @property
    def bond(self) -> str:
        """What is written at the bonding conductor, or in its place."""
        if not self.area_mm2:
            return "no bonding conductor"
        size = f"{quantity(self.area_mm2, 'mm²')}, {quantity(self.bond_m, 'm')}"
        return f"bonding conductor {size}: {about(self.current.bond_a, 'A')}"

    @property
    def earth(self) -> str:
        """What is written at the earth."""
        return f"earth: {about(self.open_v, 'V')} with the shield open, {about(self.source_ohm, 'Ω')}"

    @property
    def says(self) -> str:
        """All three in words."""
        return f"two cabinets joined by the bus cable. {self.shield}; {self.bond}; {self.earth}"


def compensation_answer(
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
        _shares(now, with_bond(0), area_mm2),
        degree=None if danger else degree,  # no earthing makes a dangerous voltage good: then there is only the caution
        because=(f"Of the bonding conductor, {contacts.found}. {contacts.to_do} " if spoiled else "")
        + f"{_rule(finding.allowed, finding.source)} {_open_shield(open_v)} Assumed: direct current or mains "
        f"frequency, shield {about(shield, 'Ω')} ({_shield_source()}), copper at 20 °C.",
        caution=(*danger, *cautions("earth voltage")),
        pictures=[CabinetsPicture(now, open_v, source_ohm, shield, area_mm2, bond_m)],
        rows=[_area_row(area, with_bond(area), area == area_mm2) for area in _shown(area_mm2)],
        sources=[finding.source, *[contacts.source] * spoiled,
                 one("conductors", quantity="copper resistivity").cited, _shield_source(),
                 *(row.cited for row in _common_mode()), rows("conductor_areas")[0].cited],
    )  # fmt: skip


def _shares(now: Compensation, alone: Compensation, area_mm2: float) -> str:
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


def _share_text(share: float) -> str:
    return about(100 * share, "%")


def _common_mode() -> tuple[Fact, Fact]:
    return one("rs485", name="common_mode_low_v"), one("rs485", name="common_mode_high_v")


def _open_shield(open_v: float) -> str:
    low, high = _common_mode()
    bare = f"A shield open at one end carries nothing, but leaves all {about(open_v, 'V')} between the stations; "
    return bare + f"RS-485 receivers bear −{abs(low.number('value')):g} V to +{high['value']} V ({low.standing})."


def _touch(open_v: float) -> tuple[Caution, ...]:
    """What to do above the lowest voltage from which any rule acts, from memory or not: a caution is no verdict."""
    limits = [one("conductors", quantity="touch voltage"), *rows("dc_link")]
    first = min(limits, key=lambda row: row.number("value"))
    if open_v <= first.number("value"):
        return ()
    return (Caution(DANGER, f"More than {first['value']} V ({first.cited}): touch nothing, join nothing, stop. "
                    "Call an electrician."),)  # fmt: skip


def _shield_source() -> str:
    return one("line_electrical", cable="A", quantity="shield_ohm_per_m").cited


def _shown(chosen: float) -> list[float]:
    """Every second usual area, and the one chosen."""
    return sorted({0.0, chosen, *conductor_areas()[1::2]})


def _area_row(area_mm2: float, current: Compensation, chosen: bool) -> Row:
    return {
        "bonding conductor": quantity(area_mm2, "mm²") if area_mm2 else "none",
        "in the shield": about(current.shield_a, "A"),
        "in the conductor": about(current.bond_a, "A"),
        "share of the shield": _share_text(current.shield_a / current.total_a) if current.total_a else "–",
        "voltage left": about(current.voltage_v, "V"),
        "": "◀ chosen" if chosen else "",
    }
