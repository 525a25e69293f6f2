"""The cable: what the standard allows it to be, and how it damps."""

import numpy as np
import pytest

from helpers.bus.circuit.line import attenuation_db_per_km, cable, common_mode, propagation
from helpers.errors import Unknown
from helpers.facts import one, where


@pytest.mark.parametrize("mhz", [3, 5, 10, 20])
def test_impedance_of_type_a_from_3_to_20_mhz(mhz):
    """135 Ω to 165 Ω: PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.32."""
    _, impedance = propagation(cable("A"), np.array([mhz * 1e6]))
    assert 135 <= abs(impedance[0]) <= 165


@pytest.mark.parametrize("mhz", [0.5, 3, 20])
def test_impedance_of_type_b_above_100_khz(mhz):
    """100 Ω to 130 Ω, same page."""
    _, impedance = propagation(cable("B"), np.array([mhz * 1e6]))
    assert 100 <= abs(impedance[0]) <= 130


@pytest.mark.parametrize(("kind", "share"), [("A", 0.04), ("B", 0.04)])
def test_attenuation_follows_the_figures_of_the_table(kind, share):
    """Type A 2.5, 4, 22, 42 dB/km at 9.6 kHz, 38.4 kHz, 4 MHz, 16 MHz: from memory."""
    figures = where("line_electrical", cable=kind, quantity="attenuation_db_per_km")
    assert len(figures) >= 2
    for figure in figures:
        assert attenuation_db_per_km(cable(kind), figure.number("at_hz")) == pytest.approx(
            figure.number("value"), rel=share
        )


def test_delay_capacitance_and_resistance():
    """Capacitance: below 30 pF/m and 60 pF/m, PROFIBUS Specification 1997 p.32; delay 4.5 to 5 ns/m, from memory."""
    for kind in "AB":
        most = one("cable_types", cable=kind, quantity="capacitance").number("high") * 1e-12
        assert cable(kind).capacitance_f_per_m <= most * 1.000001
        assert 4.5e-9 <= cable(kind).delay_s_per_m <= 5e-9
    assert cable("A").loop_ohm_per_m == pytest.approx(0.110)  # 110 Ω/km, same page


def test_damping_grows_with_the_root_of_frequency_where_the_skin_rules():
    ratio = attenuation_db_per_km(cable("A"), 64e6) / attenuation_db_per_km(cable("A"), 16e6)
    assert ratio == pytest.approx(2, rel=0.05)


def test_at_low_frequency_a_cable_is_resistance_and_capacitance():
    """γ → √(jωRC), a textbook limit; damping and phase are then equal."""
    gamma, _ = propagation(cable("A"), np.array([1.0]))
    assert gamma[0] == pytest.approx(np.sqrt(2j * np.pi * 0.110 * 30e-12), rel=0.01)


def test_common_part_returns_through_the_shield():
    both = common_mode(cable("A"))
    assert both.loop_ohm_per_m == pytest.approx(0.110 / 4 + cable("A").shield_ohm_per_m)
    assert both.impedance_ohm == cable("A").common_ohm


def test_an_unknown_type_is_refused():
    with pytest.raises(Unknown, match="known are A, B"):
        cable("Z")
