"""The line of the rules and the circuit are one line."""

from math import inf

import pytest

from helpers.bus.cable.termination import check_termination, cut_parts
from helpers.bus.circuit.trial_line import ends, plugs, trial_line
from helpers.errors import OutOfRange, Unknown
from helpers.verdict import Degree, worst


@pytest.mark.parametrize("side", ["left", "right"])
@pytest.mark.parametrize("name", ends())
def test_an_end_is_in_order_for_the_rules_only_if_it_is_on(side, name):
    line = trial_line(bit_rate=1_500_000, **{side: name})
    assert (worst(check_termination(line.laid)) is Degree.IN_ORDER) == (name == "on")
    untouched = trial_line(bit_rate=1_500_000)
    changed = [n for n, (a, b) in enumerate(zip(line.circuit.plugs, untouched.circuit.plugs, strict=True)) if a != b]
    assert changed == ([] if name == "on" else [0 if side == "left" else 7])


@pytest.mark.parametrize("side", ["left", "right"])
def test_rules_and_circuit_cut_the_same_cable(side):
    line = trial_line(**{side: "cable in wrong side"})
    at = 0 if side == "left" else 7
    assert line.circuit.cut_side(at) == ("right" if side == "left" else "left")
    assert [len(part) for part in cut_parts(line.laid)] == ([1, 7] if side == "left" else [7, 1])


def test_lengths_stubs_and_plugs_are_the_same():
    line = trial_line(stations=5, length_m=80, stub_m=2, plug=list(plugs())[3])
    assert line.circuit.length_m == pytest.approx(line.laid.length_m) == pytest.approx(80)
    assert [plug.stub_m for plug in line.circuit.plugs] == [d.stub_length_m for d in line.laid.plugs]
    assert sum(plug.stub_m for plug in line.circuit.plugs) == 6
    assert {plug.inductor_h for plug in line.circuit.plugs} == {0}


def test_an_open_end_is_open_for_the_wave_too():
    assert {name for name, end in ends().items() if end.ohm == inf} == {"missing", "cable in wrong side"}
    assert ends()["two on"].ohm == pytest.approx(ends()["on"].ohm / 2)


def test_a_name_that_is_not_known_is_refused():
    for wrong in ({"left": "off"}, {"right": ""}, {"plug": "gold"}):
        with pytest.raises(Unknown, match="known are"):
            trial_line(**wrong)
    for wrong in ({"stations": 1}, {"length_m": -1}, {"stub_m": -1}):
        with pytest.raises(OutOfRange, match="allowed"):
            trial_line(**wrong)
