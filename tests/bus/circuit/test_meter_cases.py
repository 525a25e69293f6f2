"""The readings of each case, worked out again from Ohm's law.

Network 390 Ω – 220 Ω – 390 Ω on 5 V: M. Felser, PROFIBUS Manual, bus termination. The readings themselves are
calculated, not published.
"""

from math import inf

import pytest

from helpers.bus.circuit.meter_cases import meter_cases


def parallel(*ohms):
    return 1 / sum(1 / ohm for ohm in ohms)


def found(**line):
    return {case.terminators: case for case in meter_cases(**line)}


def test_a_dead_bus_on_a_short_cable():
    ohms = {name: case.dead_ohm for name, case in found(length_m=0).items()}
    assert ohms == pytest.approx(
        {
            "both ends on": 110, "far end off": 220, "near end off": 220, "both ends off": inf,
            "a third one on in the middle": 220 / 3, "far end twice": 220 / 3,
            "far end on, its device dead and VP free": 110, "far end on, its device dead and VP on DGND": 110,
        }
    )  # fmt: skip


@pytest.mark.parametrize("length_m", [100, 400, 1000])
def test_the_far_terminator_lies_behind_both_cores(length_m):
    far = 220 + 0.11 * length_m
    ohms = {name: case.dead_ohm for name, case in found(length_m=length_m).items()}
    assert ohms["both ends on"] == pytest.approx(parallel(220, far))
    assert ohms["near end off"] == pytest.approx(far)
    assert ohms["far end off"] == pytest.approx(220)
    assert ohms["far end twice"] == pytest.approx(parallel(220, 110 + 0.11 * length_m))


def test_the_idle_level_with_hardly_a_load():
    """Two stations of 12 kΩ take little; each case from its own divider."""
    volts = {name: case.idle_v for name, case in found(stations=2, length_m=0).items()}
    assert volts["both ends on"] == pytest.approx(1.10, abs=0.015)
    assert volts["far end off"] == pytest.approx(1.10, abs=0.025)
    assert volts["a third one on in the middle"] == pytest.approx(1.10, abs=0.015)
    assert volts["both ends off"] == pytest.approx(0, abs=1e-9)
    dead = parallel(220, 220, 780)
    assert volts["far end on, its device dead and VP on DGND"] == pytest.approx(5 * dead / (780 + dead), abs=0.01)
    # VP free, DGND common: core A is held at DGND by 390 Ω at either end.
    assert volts["far end on, its device dead and VP free"] == pytest.approx(0.79, abs=0.02)


def test_a_meter_shows_words_and_two_decimals():
    case = found(stations=2, length_m=0)["both ends off"]
    assert (case.volts, case.ohms) == ("0.00 V", "open")
