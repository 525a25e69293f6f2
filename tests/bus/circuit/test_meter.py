"""Meter readings that a technician could check with pencil and paper. Network: M. Felser, bus termination."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.circuit.elements import evenly_spaced
from helpers.bus.circuit.faults import (
    CATALOGUE,
    core_open,
    cores_swapped,
    pin_open,
    shorted,
    terminator_missing,
)
from helpers.bus.circuit.meter import distance_m, meter_cases, ohms, readings, volts
from helpers.errors import OutOfRange, Unknown

BUS = evenly_spaced(5, 100)


def parallel(*resistances):
    return 1 / sum(1 / each for each in resistances)


def test_a_dead_healthy_bus():
    assert ohms(BUS) == pytest.approx(parallel(220, 220 + 11))  # 11 Ω: loop of 100 m
    assert ohms(BUS, 2) == pytest.approx(parallel(220 + 5.5, 220 + 5.5))
    assert ohms(BUS, 0, "A", "shield") == ohms(BUS, 0, "B", "shield") == math.inf
    assert ohms(BUS, 0, "A", "A", second_plug=4) == pytest.approx(5.5 - 5.5**2 / (220 + 220 + 11), abs=0.01)
    assert ohms(BUS, 0, "shield", "shield", second_plug=4) == pytest.approx(100 * 0.01)


def test_one_core_open_in_the_middle():
    bus = core_open(BUS, "B", 1, at_m=10.0)
    assert [ohms(bus, 0), ohms(bus, 4)] == pytest.approx([220, 220])
    assert ohms(bus, 0, "B", "B", second_plug=4) == pytest.approx(220 + 220 + 5.5)
    assert [volts(bus, 0), volts(bus, 4)] == pytest.approx([1.08, 1.08], abs=0.03)


@given(st.integers(0, 3), st.floats(0, 25), st.floats(0, 5))
def test_how_far_away_the_short_is(section, at_m, contact_ohm):
    bus = terminator_missing(terminator_missing(BUS, 0))
    bus = shorted(bus, "A", "B", section, at_m=at_m, ohm=contact_ohm)
    assert distance_m(ohms(bus, 0), contact_ohm=contact_ohm) == pytest.approx(25 * section + at_m, abs=1e-3)
    from_the_other_end = distance_m(ohms(bus, 4), contact_ohm=contact_ohm)
    assert from_the_other_end == pytest.approx(100 - 25 * section - at_m, abs=1e-3)


def test_a_short_with_the_terminators_left_on_looks_nearer():
    assert distance_m(ohms(shorted(BUS, section=3, at_m=25.0))) < 100


def test_a_core_on_the_shield():
    bus = shorted(BUS, "A", "shield", 1, at_m=0.0)
    assert ohms(bus, 1, "A", "shield") == pytest.approx(0)
    assert ohms(bus, 0, "A", "shield") == pytest.approx(25 * 0.055 + 25 * 0.01, abs=0.01)
    assert ohms(bus, 1, "B", "shield") == pytest.approx(ohms(bus, 1))
    assert volts(bus, 1, dgnd="earthed") != pytest.approx(volts(bus, 1, dgnd="common"), abs=0.1)


def test_swapped_wires_and_open_pins_hide_from_the_ohmmeter():
    assert ohms(cores_swapped(BUS, 2)) == pytest.approx(ohms(BUS))
    assert volts(cores_swapped(BUS, 2), 2) == pytest.approx(-volts(BUS, 2))
    assert ohms(cores_swapped(BUS, 2), 0, "A", "A", second_plug=2) > 50  # core by core it shows
    assert ohms(pin_open(BUS, "A", 2)) == pytest.approx(ohms(BUS))


def test_supply_pins_of_an_idle_bus():
    assert volts(BUS, 2, "VP", "DGND") == pytest.approx(5.0, abs=0.001)
    assert volts(BUS, 0, "B", "DGND") + volts(BUS, 0, "A", "DGND") == pytest.approx(5 * 0.93, abs=0.1)
    assert ohms(BUS, 0, "VP", "DGND", devices="dead") == pytest.approx(0, abs=0.01)
    assert math.isnan(volts(BUS, 0, "A", "shield"))  # nothing joins them
    assert volts(BUS, 0, "A", "shield", dgnd="earthed") == pytest.approx(volts(BUS, 0, "A", "DGND"), abs=1e-3)
    assert volts(BUS, 1, "B", "B", second_plug=1) == 0


@pytest.mark.parametrize("dgnd", ["common", "isolated", "earthed"])
@pytest.mark.parametrize("name", CATALOGUE)
def test_every_reading_of_every_fault_is_a_number_or_drifts(name, dgnd):
    for (first, second), (ohm, volt) in readings(CATALOGUE[name](BUS), 2, dgnd=dgnd).items():
        assert ohm >= 0
        # Two supplies can lie in a row where DGND is not common. Only the shield may hang free of all the rest.
        assert abs(volt) < 10 or (math.isnan(volt) and "shield" in (first, second))
        assert ohms(CATALOGUE[name](BUS), 2, first, second, dgnd=dgnd) == pytest.approx(ohm, rel=1e-6, abs=1e-6)
        assert volts(CATALOGUE[name](BUS), 2, second, first, dgnd=dgnd) == pytest.approx(volt, nan_ok=True)


@pytest.mark.parametrize(
    ("call", "sentence"),
    [
        (lambda: ohms(BUS, 5), "plug is 5; allowed is 0 to 4"),
        (lambda: volts(BUS, 0, second_plug=-1), "plug is -1"),
        (lambda: readings(BUS, 9), "plug is 9"),
        (lambda: distance_m(-1.0), "loop resistance is -1"),
        (lambda: distance_m(math.inf), "loop resistance is inf"),
        (lambda: distance_m(1.0, contact_ohm=2.0), "no more than the whole"),
    ],
)
def test_bad_numbers_are_refused_with_a_sentence(call, sentence):
    with pytest.raises(OutOfRange, match=sentence):
        call()


@pytest.mark.parametrize(
    ("call", "known"),
    [
        (lambda: ohms(BUS, 0, "C"), "A, B, shield, DGND, VP"),
        (lambda: ohms(BUS, devices="powered"), "unplugged, dead"),
        (lambda: volts(BUS, dgnd="none"), "common, isolated, earthed"),
        (lambda: distance_m(1.0, kind="C"), "A, B"),
    ],
)
def test_unknown_words_are_refused_with_the_list(call, known):
    with pytest.raises(Unknown, match=known):
        call()


def test_an_unplugged_plug_shows_its_own_terminator_at_its_own_pins() -> None:
    # Calculated by hand from VP – 390 – B – 220 – A – 390 – DGND: the other end's 220 Ω lies in parallel with the
    # own one, its VP and DGND hang free.
    bus = evenly_spaced(3, 0)
    assert ohms(bus, 0, "A", "DGND") == pytest.approx(390)
    assert ohms(bus, 0, "B", "VP") == pytest.approx(390)
    assert ohms(bus, 0, "VP", "DGND") == pytest.approx(390 + 110 + 390)
    assert ohms(bus, 1, "A", "DGND") == math.inf  # a plug without a terminator on
    assert ohms(bus, 0, "DGND", "DGND", second_plug=2) == pytest.approx(390 + 390)  # the cable has no DGND core


# -- case by case at one end: worked out again from Ohm's law on 390 Ω – 220 Ω – 390 Ω at 5 V -----------------------


def cases(**line):
    return {case.terminators: case for case in meter_cases(**line)}


def test_a_dead_bus_on_a_short_cable():
    dead_ohms = {name: case.dead_ohm for name, case in cases(length_m=0).items()}
    assert dead_ohms == pytest.approx(
        {
            "both ends on": 110, "far end off": 220, "near end off": 220, "both ends off": math.inf,
            "a third one on in the middle": 220 / 3, "far end twice": 220 / 3,
            "far end on, its device dead and VP free": 110, "far end on, its device dead and VP on DGND": 110,
        }
    )  # fmt: skip


@pytest.mark.parametrize("length_m", [100, 400, 1000])
def test_the_far_terminator_lies_behind_both_cores(length_m):
    far = 220 + 0.11 * length_m
    dead_ohms = {name: case.dead_ohm for name, case in cases(length_m=length_m).items()}
    assert dead_ohms["both ends on"] == pytest.approx(parallel(220, far))
    assert dead_ohms["near end off"] == pytest.approx(far)
    assert dead_ohms["far end off"] == pytest.approx(220)
    assert dead_ohms["far end twice"] == pytest.approx(parallel(220, 110 + 0.11 * length_m))


def test_the_idle_level_with_hardly_a_load():
    """Two stations of 12 kΩ take little; each case from its own divider."""
    idle_volts = {name: case.idle_v for name, case in cases(stations=2, length_m=0).items()}
    assert idle_volts["both ends on"] == pytest.approx(1.10, abs=0.015)
    assert idle_volts["far end off"] == pytest.approx(1.10, abs=0.025)
    assert idle_volts["a third one on in the middle"] == pytest.approx(1.10, abs=0.015)
    assert idle_volts["both ends off"] == pytest.approx(0, abs=1e-9)
    dead = parallel(220, 220, 780)
    assert idle_volts["far end on, its device dead and VP on DGND"] == pytest.approx(5 * dead / (780 + dead), abs=0.01)
    # VP free, DGND common: core A is held at DGND by 390 Ω at either end.
    assert idle_volts["far end on, its device dead and VP free"] == pytest.approx(0.79, abs=0.02)


def test_a_meter_shows_words_and_two_decimals():
    case = cases(stations=2, length_m=0)["both ends off"]
    assert (case.volts, case.ohms) == ("0.00 V", "open")
