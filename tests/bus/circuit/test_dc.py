"""Direct current. Figures marked [C] are hand calculations of the published network, done apart from this code.

The network VP-390-B-220-A-390-DGND: M. Felser, PROFIBUS Manual, bus termination.
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.circuit.dc import ON, Solved, dead_resistance, idle_voltage, idle_window, loop_resistance, two_ends
from helpers.bus.circuit.elements import Sender, Tap, Terminator, evenly_spaced
from helpers.bus.circuit.network import Branch, branches
from helpers.errors import OutOfRange, Unknown


def test_idle_voltage_is_five_volts_divided_by_the_published_resistors():
    assert idle_voltage() == pytest.approx(5 * 220 / (390 + 220 + 390), abs=1e-4)  # F-term: "about 1 V"


def test_idle_pins_against_dgnd_and_current_of_a_terminator():
    solved = Solved(branches(two_ends()))
    assert solved.volts((0, "A"), (0, "DGND")) == pytest.approx(1.95, abs=0.005)  # F-term: A about +2 V
    assert solved.volts((0, "B"), (0, "DGND")) == pytest.approx(3.05, abs=0.005)  # F-term: B about +3 V
    assert solved.volts((0, "VP"), (0, "B")) / 390 == pytest.approx(5e-3, abs=1e-5)  # 5 mA [C]


@pytest.mark.parametrize(("receivers", "volts"), [(0, 1.10), (16, 1.04), (32, 0.99)])
def test_receivers_pull_the_idle_voltage_down(receivers, volts):
    assert idle_voltage(receivers) == pytest.approx(volts, abs=0.005)  # [C]
    by_hand = 5 / 780 / (1 / 220 + 1 / 780 + receivers / 24_000 / 2)  # Norton sources of two terminators [C]
    assert idle_voltage(receivers) == pytest.approx(by_hand, rel=1e-5)


@pytest.mark.parametrize("dgnd", ["common", "isolated", "earthed"])
@pytest.mark.parametrize("receivers", [0, 32])
def test_a_healthy_bus_reads_the_same_whatever_is_done_with_dgnd(dgnd, receivers):
    assert idle_voltage(receivers, dgnd=dgnd) == pytest.approx(idle_voltage(receivers), rel=1e-6)


@pytest.mark.parametrize(
    ("far", "dgnd", "volts"),
    [
        (Terminator(supply="open"), "common", 0.79),
        (Terminator(supply="open", dgnd=False), "common", 0.62),
        (Terminator(supply="open"), "isolated", 0.62),
        (Terminator(supply="dead"), "common", 0.55),
        (Terminator(supply="dead"), "isolated", 0.55),
    ],
)
def test_one_terminator_unpowered(far, dgnd, volts):
    assert idle_voltage(terminators=(ON, far), dgnd=dgnd) == pytest.approx(volts, abs=0.005)  # [C]


def test_a_missing_or_a_third_terminator_hides_from_the_voltmeter():
    assert idle_voltage(terminators=(ON,)) == pytest.approx(1.10, abs=0.001)
    assert idle_voltage(terminators=(ON, ON, ON)) == pytest.approx(1.10, abs=0.001)


def test_idle_windows_by_tolerance():
    assert idle_window() == pytest.approx((1.07, 1.13), abs=0.005)  # ±2 % [C]
    assert idle_window(supply_tolerance=0.05) == pytest.approx((1.01, 1.19), abs=0.005)  # VP ±5 % too [C]


@pytest.mark.parametrize(("length_m", "ohm"), [(0, 110), (100, 112.7), (200, 115.2), (400, 120), (1000, 132)])
def test_two_terminators_from_one_end(length_m, ohm):
    assert dead_resistance(length_m=length_m) == pytest.approx(ohm, abs=0.08)  # [C]
    loop = 0.11 * length_m
    assert dead_resistance(length_m=length_m) == pytest.approx(220 * (220 + loop) / (440 + loop))


@pytest.mark.parametrize(("length_m", "ohm"), [(100, 231), (200, 242), (400, 264), (1000, 330)])
def test_far_terminator_alone(length_m, ohm):
    assert dead_resistance(near=0, length_m=length_m) == pytest.approx(ohm)  # [C]


def test_none_one_three_terminators_and_dead_supplies():
    assert dead_resistance(near=0, far=0, length_m=100) == math.inf
    assert dead_resistance(far=0, length_m=100) == pytest.approx(220)
    assert dead_resistance(middle=1) == pytest.approx(73.33, abs=0.01)
    assert dead_resistance(devices="dead") == pytest.approx(85.8, abs=0.05)  # 220 parallel 780, twice [C]


@pytest.mark.parametrize(("length_m", "ohm"), [(50, 5.5), (100, 11), (200, 22), (400, 44), (1000, 110)])
def test_loop_resistance(length_m, ohm):
    assert loop_resistance(length_m) == pytest.approx(ohm)  # 110 Ω/km: PROFIBUS Specification 1997 p.32


def test_swapped_wires_reverse_the_sign_only_at_that_plug():
    bus = evenly_spaced(5, 100).with_plug(2, swapped=True)
    solved = Solved(branches(bus))
    healthy = Solved(branches(evenly_spaced(5, 100))).volts((2, "B"), (2, "A"))
    assert solved.volts((2, "B"), (2, "A")) == pytest.approx(-healthy)
    assert solved.volts((1, "B"), (1, "A")) > 1


@given(st.lists(st.floats(1, 1e5), min_size=1, max_size=12))
def test_resistors_in_a_row_add_up(ohms):
    chain = Solved([Branch((n, "x"), (n + 1, "x"), ohm) for n, ohm in enumerate(ohms)])
    assert chain.ohms((0, "x"), (len(ohms), "x")) == pytest.approx(sum(ohms), rel=1e-6)


@settings(max_examples=25)
@given(st.integers(0, 20), st.floats(0, 1200), st.integers(0, 20))
def test_resistance_is_the_same_both_ways_and_falls_when_something_is_added(receivers, length_m, more):
    bare = Solved(branches(two_ends(receivers=receivers, length_m=length_m), devices="dead"))
    assert bare.ohms((0, "A"), (0, "B")) == pytest.approx(bare.ohms((0, "B"), (0, "A")))
    loaded = idle_voltage(receivers + more, length_m=length_m)
    assert loaded <= idle_voltage(receivers, length_m=length_m) + 0.002


def test_the_driver_into_its_test_load():
    load = Terminator(rt_ohm=54, rs_ohm=1e9, supply_v=0)
    bus = evenly_spaced(1, 0).with_plug(0, terminators=(load,), receiver=Tap().receiver)
    solved = Solved(branches(bus, driver=(0, Sender(4.0, 46.0, 0.0), 1)))
    assert solved.volts((0, "B"), (0, "A")) == pytest.approx(4 * 54 / 100, rel=0.003)


@pytest.mark.parametrize(
    "call",
    [
        lambda: idle_voltage(-1),
        lambda: idle_voltage(200),
        lambda: idle_voltage(2, length_m=-1),
        lambda: dead_resistance(near=-1),
        lambda: loop_resistance(math.nan),
    ],
)
def test_bad_numbers_are_refused_with_a_sentence(call):
    with pytest.raises(OutOfRange, match="allowed is"):
        call()


def test_unknown_words_are_refused_with_the_list():
    with pytest.raises(Unknown, match="common, isolated, earthed"):
        idle_voltage(dgnd="floating")
    with pytest.raises(Unknown, match="known are A, B"):
        dead_resistance(kind="C")
