"""The bonding conductor: its resistance, and what it leaves for the shield."""

from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.cable.bonding import bond_ohm, check_bond, conductor_areas, shield_current
from helpers.errors import OutOfRange
from helpers.verdict import Degree


def test_copper_and_two_contacts() -> None:
    # IEC 60028, from memory: 1/58 Ω·mm²/m at 20 °C, so 100 m of 16 mm² have 0.1078 Ω.
    assert bond_ohm(area_mm2=16, length_m=100) == pytest.approx(100 / 58 / 16, rel=1e-4)
    assert bond_ohm(area_mm2=16, length_m=100, contact_ohm=0.05) == pytest.approx(100 / 58 / 16 + 0.1, rel=1e-4)
    assert bond_ohm(area_mm2=0, length_m=100, contact_ohm=0.05) == inf


def test_the_shares_by_hand() -> None:
    # Shield 1 Ω (100 m at 10 mΩ/m, from memory), conductor 1/4 Ω: 3 A of source current divide 1 to 4.
    current = shield_current(open_v=3.6, source_ohm=1.0, cable_m=100, area_mm2=100 / 58 / 0.25, bond_m=100)
    assert current.shield_a == pytest.approx(0.6, rel=1e-3)
    assert current.bond_a == pytest.approx(2.4, rel=1e-3)


def test_without_conductor_the_shield_carries_all() -> None:
    current = shield_current(open_v=2, source_ohm=1.0, cable_m=100, area_mm2=0, bond_m=100, contact_ohm=0.1)
    assert (current.shield_a, current.bond_a) == (1.0, 0.0)


@given(st.floats(0.1, 50), st.floats(0.01, 10), st.floats(5, 500), st.sampled_from(conductor_areas()[:-1]))
def test_more_copper_and_better_contacts_relieve_the_shield(
    open_v: float, source: float, length_m: float, area: float
) -> None:
    def shield_a(area_mm2: float, contact: float) -> float:
        return shield_current(open_v=open_v, source_ohm=source, cable_m=length_m, area_mm2=area_mm2, bond_m=length_m,
                              contact_ohm=contact).shield_a  # fmt: skip

    thicker = conductor_areas()[conductor_areas().index(area) + 1]
    assert 0 < shield_a(thicker, 0) < shield_a(area, 0) < shield_a(area, 0.1) < shield_a(0, 0)


def test_sixteen_square_millimetres_are_the_example_of_a_source() -> None:
    # ABB AC 800M PROFIBUS manual p.97: for example 16 mm². An example, so less is never said to break the standard.
    assert check_bond(open_v=2, area_mm2=16).degree is Degree.IN_ORDER
    assert check_bond(open_v=2, area_mm2=15.9).degree is Degree.CAUTION
    none = check_bond(open_v=2, area_mm2=0)
    assert (none.degree, none.found, none.allowed) == (Degree.CAUTION, "no conductor", "for example 16 mm²")
    assert "AC 800M" in none.source and none.to_do


def test_without_a_voltage_no_conductor_is_needed() -> None:
    finding = check_bond(open_v=0, area_mm2=0)
    assert (finding.degree, finding.to_do) == (Degree.IN_ORDER, "")


def test_the_areas_rise() -> None:
    assert list(conductor_areas()) == sorted(set(conductor_areas()))


@pytest.mark.parametrize(
    "call",
    [
        lambda: bond_ohm(area_mm2=-1, length_m=1),
        lambda: bond_ohm(area_mm2=16, length_m=1, contact_ohm=-1),
        lambda: check_bond(open_v=-1, area_mm2=0),
        lambda: check_bond(open_v=1, area_mm2=-1),
        lambda: shield_current(open_v=1, source_ohm=1, cable_m=0, area_mm2=0, bond_m=1),
    ],
)
def test_numbers_that_cannot_be_are_refused(call) -> None:
    with pytest.raises(OutOfRange, match="allowed is"):
        call()
