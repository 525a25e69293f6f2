"""How fast the panels for setpoints and parameters answer: run with `pytest tests/bench/bench_panels_drive.py`.

Wanted: 150 ms from an input to the finished picture.
"""

from helpers.panels.scaling import setpoint_panel, two_sides_panel


def moved(benchmark, panel, field, values):
    """Gives the field one value after the other."""
    turn = iter(list(values) * 100_000)

    def move():
        panel.fields[field].widget.value = next(turn)

    benchmark(move)
    assert not panel.said.value


def test_type_another_setpoint(benchmark):
    moved(benchmark, setpoint_panel(), "entered", ["0.8 m/s", "16#E000", "45 Hz"])


def test_move_the_wanted_speed(benchmark):
    moved(benchmark, two_sides_panel(), "wanted", [60, 61])
