"""A cable by its figures per metre, and what it is at a frequency: series impedance, propagation, attenuation.

This file knows nothing of plugs and sections; those are `elements`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np

from helpers.errors import not_negative, one_of, positive
from helpers.facts import one, rows, where

Array = np.ndarray[Any, np.dtype[Any]]
NEPER_DB = 20 / np.log(10)


@dataclass(frozen=True)
class Cable:
    """A cable by its figures per metre. `cable("A")` gives a standard type; `replace` changes a figure.

    impedance_ohm and delay_s_per_m hold between the two cores at high frequency; loop_ohm_per_m is the direct
    current resistance of both cores together; skin_ohm adds skin_ohm·√f to the loop resistance at the frequency f
    in Hz, and as much reactance; common_ohm is the impedance of both cores together against the shield.
    """

    name: str
    impedance_ohm: float
    delay_s_per_m: float
    loop_ohm_per_m: float
    skin_ohm: float
    common_ohm: float
    shield_ohm_per_m: float

    def __post_init__(self) -> None:
        positive("cable impedance", self.impedance_ohm, "Ω")
        positive("cable delay", self.delay_s_per_m, "s/m")
        not_negative("loop resistance", self.loop_ohm_per_m, "Ω/m")
        not_negative("skin effect", self.skin_ohm, "Ω/m per √Hz")
        positive("impedance against the shield", self.common_ohm, "Ω")
        not_negative("shield resistance", self.shield_ohm_per_m, "Ω/m")

    @property
    def capacitance_f_per_m(self) -> float:
        """Core to core: delay divided by impedance [F/m].

        >>> cable("A").capacitance_f_per_m
        3e-11
        """
        return self.delay_s_per_m / self.impedance_ohm


@cache
def cable(kind: str = "A") -> Cable:
    """The cable of a standard type: middle of the impedance allowed, loop resistance at its limit.

    From `data/cable_types.csv` and `data/line_electrical.csv`; the skin effect is fitted to the attenuation there.

    Errors: `Unknown` for a type that is not in the table.

    >>> cable("A").impedance_ohm, cable("A").loop_ohm_per_m
    (150.0, 0.11)
    """
    one_of("cable type", kind, dict.fromkeys(row["cable"] for row in rows("line_electrical")))

    def figure(quantity: str) -> float:
        return one("line_electrical", cable=kind, quantity=quantity).number("value")

    impedance = one("cable_types", cable=kind, quantity="impedance")
    loop = where("cable_types", cable=kind, quantity="loop resistance")
    plain = Cable(
        name=kind,
        impedance_ohm=(impedance.number("low") + impedance.number("high")) / 2,
        delay_s_per_m=figure("delay_s_per_m"),
        loop_ohm_per_m=loop[0].number("high") / 1000 if loop else figure("loop_ohm_per_m"),
        skin_ohm=0.0,
        common_ohm=figure("common_ohm"),
        shield_ohm_per_m=figure("shield_ohm_per_m"),
    )
    return replace(plain, skin_ohm=fitted_skin_ohm(plain))


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

    >>> gamma, impedance = propagation(cable("A"), np.array([16e6]))
    >>> round(float(impedance[0].real), 1), round(float(gamma[0].imag) / (2 * np.pi * 16e6) * 1e9, 2)  # Ω, ns/m
    (151.5, 4.54)
    """
    series = series_ohm_per_m(cable, frequency_hz, skin_ohm=skin_ohm)
    shunt = 2j * np.pi * frequency_hz * cable.capacitance_f_per_m
    return np.sqrt(series * shunt), np.sqrt(series / shunt)


def attenuation_db_per_km(cable: Cable, frequency_hz: float) -> float:
    """How much a kilometre takes from a sine [dB/km].

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
