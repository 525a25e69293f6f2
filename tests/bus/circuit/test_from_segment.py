"""The circuit of a planned segment against what the rules say of its switches."""

from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.cable.segment import even_line
from helpers.bus.cable.termination import pieces, terminated
from helpers.bus.circuit.dc import Solved
from helpers.bus.circuit.from_segment import circuit_of
from helpers.bus.circuit.margin import highest_bit_rate
from helpers.bus.circuit.network import branches

LINE = even_line(stations=6, length_m=60, bit_rate=1_500_000)


@given(
    st.lists(st.tuples(st.booleans(), st.booleans(), st.sampled_from(["cutting", "through"])), min_size=6, max_size=6)
)
def test_the_rules_and_the_circuit_cut_the_line_into_the_same_pieces(switches):
    devices = tuple(
        replace(device, terminator_on=on, sides_exchanged=exchanged, plug=plug)
        for device, (on, exchanged, plug) in zip(LINE.devices, switches, strict=True)
    )
    planned = replace(LINE, devices=devices)
    solved = Solved(branches(circuit_of(planned), devices="unplugged"))
    together = [piece for piece in pieces(planned) for _ in piece]
    for a in range(6):
        for b in range(6):
            assert solved.connected((a, "A"), (b, "A")) == (together[a] is together[b])


def test_devices_become_plugs_with_what_they_carry():
    fast = terminated(even_line(stations=4, length_m=90, bit_rate=12_000_000, stub_length_m=1.5))
    bus = circuit_of(fast)
    assert [len(plug.terminators) for plug in bus.plugs] == [1, 0, 0, 1]
    assert [plug.stub_m for plug in bus.plugs] == [0, 1.5, 1.5, 0]
    assert highest_bit_rate(bus) is not None


def test_a_device_without_supply_leaves_its_terminator_dead_and_its_own_supply_stays_on():
    off = replace(LINE.devices[5], powered=False, terminator_on=True, unit_load=0.5, stub_capacitance_f=40e-12)
    box = replace(LINE.devices[0], kind="terminator", terminator_on=False)
    bus = circuit_of(replace(LINE, devices=(box, *LINE.devices[1:5], off)))
    assert bus.plugs[5].terminators[0].supply == "dead"
    assert (bus.plugs[5].receiver.unit_loads, bus.plugs[5].receiver.capacitance_f) == (0.5, 40e-12)
    assert bus.plugs[0].receiver is None and bus.plugs[0].terminators[0].supply == "on"
