"""How fast the address panels answer: run with `pytest tests/bench/bench_panels_addresses.py`.

Wanted: 150 ms from an input to the finished picture.
"""

from helpers.panels.network.addresses import address_panel, new_line_panel
from helpers.panels.network.switches import switch_panel


def test_paste_a_list_of_125_addresses_each_too_high(benchmark):
    panel = address_panel()
    panel.fields["hsa"].widget.value = "0"
    lists = [[(f"station of the {n}th group", str(n), "drive") for n in range(first, 126)] for first in (1, 2)]
    turn = iter(lists * 100_000)

    def paste():
        panel.fields["stations"].widget.put(next(turn))

    benchmark(paste)
    assert not panel.said.value


def test_type_an_address(benchmark):
    panel = switch_panel()
    turn = iter(["85", "42"] * 100_000)

    def type_it():
        panel.fields["address"].widget.value = next(turn)

    benchmark(type_it)
    assert not panel.said.value


def test_choose_other_switches(benchmark):
    panel = switch_panel()
    turn = iter(["2 rotary switches, 0 to F", "7 DIP switches"] * 100_000)

    def choose():
        panel.fields["kind"].widget.value = next(turn)

    benchmark(choose)
    assert not panel.said.value


def test_propose_a_line_of_125(benchmark):
    panel = new_line_panel()
    lines = [[(f"group {name}", "10") for name in names] for names in ("abcdefghijkl", "klmnopqrstuv")]
    turn = iter(lines * 100_000)

    def propose():
        panel.fields["groups"].widget.put(next(turn))

    benchmark(propose)
    assert not panel.said.value


def test_open_all_three(benchmark):
    benchmark(lambda: (address_panel(), new_line_panel(), switch_panel()))
