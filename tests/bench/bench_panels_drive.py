"""How fast the panels for setpoints and parameters answer: run with `pytest tests/bench/bench_panels_drive.py`.

Wanted: 150 ms from an input to the finished picture.
"""

from helpers.panels.drive.parameters import device_request_panel, dialogue_panel, lists_panel, request_panel, task_panel
from helpers.panels.drive.scaling import setpoint_panel, two_sides_panel


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


def test_another_task(benchmark):
    moved(benchmark, task_panel(), "identifier", [7, 2])


def test_another_cycle_in_the_dialogue(benchmark):
    panel = dialogue_panel()
    panel.fields["listed"].widget.value = "read 918\nread 110\nwrite 110 = 95\n" * 10
    moved(benchmark, panel, "work", [5, 6])


def test_another_acyclic_request(benchmark):
    panel = request_panel()
    panel.fields["listed"].widget.value = "read 918\n" * 39
    moved(benchmark, panel, "busy", [3, 4])


def test_another_running_number(benchmark):
    moved(benchmark, device_request_panel(), "count", ["8", "9"])


def test_another_format_for_the_lists(benchmark):
    moved(benchmark, lists_panel(), "name", ["PPO 5", "PPO 2"])
