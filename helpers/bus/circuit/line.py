"""The cable at a frequency: its series impedance, its propagation, its attenuation.

The cable is any object with the figures of `elements.Cable`; this file knows nothing of plugs and sections.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from helpers.facts import where

if TYPE_CHECKING:
    from helpers.bus.circuit.elements import Cable

Array = np.ndarray[Any, np.dtype[Any]]
NEPER_DB = 20 / np.log(10)


def series_ohm_per_m(cable: Cable, frequency_hz: Array, *, skin_ohm: float | Array | None = None) -> Array:
    """R + k·(1 + j)·√f + jω·L of both cores: direct current resistance, skin effect, inductance [Ω/m].

    skin_ohm takes the place of the cable's own k [Ω/m per √Hz]. The skin effect adds as much reactance as
    resistance, as in any conductor whose skin is thin; the law is taken down to direct current, where it vanishes.
    """
    k = cable.skin_ohm if skin_ohm is None else skin_ohm
    inductance = cable.impedance_ohm * cable.delay_s_per_m
    return cable.loop_ohm_per_m + k * (1 + 1j) * np.sqrt(frequency_hz) + 2j * np.pi * frequency_hz * inductance


def propagation(cable: Cable, frequency_hz: Array, *, skin_ohm: float | Array | None = None) -> tuple[Array, Array]:
    """γ [1/m] and characteristic impedance [Ω] of the pair: √(Z·jωC) and √(Z / jωC); frequency above 0.

    >>> from helpers.bus.circuit.elements import cable
    >>> gamma, impedance = propagation(cable("A"), np.array([16e6]))
    >>> round(float(impedance[0].real), 1), round(float(gamma[0].imag) / (2 * np.pi * 16e6) * 1e9, 2)  # Ω, ns/m
    (151.5, 4.54)
    """
    series = series_ohm_per_m(cable, frequency_hz, skin_ohm=skin_ohm)
    shunt = 2j * np.pi * frequency_hz * cable.capacitance_f_per_m
    return np.sqrt(series * shunt), np.sqrt(series / shunt)


def attenuation_db_per_km(cable: Cable, frequency_hz: float) -> float:
    """How much a kilometre takes from a sine [dB/km].

    >>> from helpers.bus.circuit.elements import cable
    >>> round(attenuation_db_per_km(cable("A"), 16e6), 1)
    41.6
    """
    gamma, _ = propagation(cable, np.array([frequency_hz]))
    return float(gamma.real[0] * 1000 * NEPER_DB)


def fitted_skin_ohm(cable: Cable) -> float:
    """The skin effect that brings a cable nearest to its attenuation figures in `data/line_electrical.csv`.

    Least sum of squared relative differences, by trying 0 to 1 mΩ/m per √Hz in steps of 0.5 µΩ.
    """
    figures = where("line_electrical", cable=cable.name, quantity="attenuation_db_per_km")
    frequency = np.array([row.number("at_hz") for row in figures])[:, None]
    wanted = np.array([row.number("value") for row in figures])[:, None]
    trials = np.linspace(0, 1e-3, 2001)
    gamma, _ = propagation(cable, frequency, skin_ohm=trials)
    misfit = ((gamma.real * 1000 * NEPER_DB / wanted - 1) ** 2).sum(axis=0)
    return float(trials[misfit.argmin()])


def common_mode(cable: Cable) -> Cable:
    """Both cores together against the shield, as a line of its own: a quarter of the loop, plus the shield."""
    return replace(
        cable,
        impedance_ohm=cable.common_ohm,
        loop_ohm_per_m=cable.loop_ohm_per_m / 4 + cable.shield_ohm_per_m,
        skin_ohm=cable.skin_ohm / 4,
    )
