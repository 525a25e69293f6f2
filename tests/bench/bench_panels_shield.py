"""How fast the panels on separation, shield and earth answer: run with `pytest tests/bench/bench_panels_shield.py`."""

from helpers.bus.cable.bonding import CabinetsPicture, compensation_answer
from helpers.bus.cable.earth_wire import wire_answer
from helpers.bus.cable.interference import coupling_answer, disturbers
from helpers.bus.cable.separation import TrayPicture, separation_answer
from helpers.panels.cable.separation import separation_panel, tray_drawing
from helpers.panels.cable.shield import cabinets_drawing, compensation_panel, wire_panel
from helpers.panels.kit.as_html import html_of
from helpers.plan.my_networks import demo_plan
from helpers.plan.rows import neighbour_rows, neighbours_in

MILL = neighbour_rows(demo_plan("the Mill extended").networks[0])
FULL = [(f"Cable {n}", "motor", "", "", "", f"{n}", f"0.{n % 10}{n % 7}", "", "slanting") for n in range(1, 101)]


def test_separation_of_the_demo_site(benchmark):
    benchmark(lambda: html_of(separation_answer(neighbours_in(MILL)), draw={TrayPicture: tray_drawing}))


def test_separation_of_a_hundred_cables(benchmark):
    benchmark(lambda: html_of(separation_answer(neighbours_in(FULL)), draw={TrayPicture: tray_drawing}))


def test_current_through_the_shield(benchmark):
    benchmark(
        lambda: html_of(
            compensation_answer((2.0, "V"), 0.5, 85, 16, 85, 0.001), draw={CabinetsPicture: cabinets_drawing}
        )
    )


def test_coupling_of_a_neighbour(benchmark):
    disturber = disturbers()["motor, no shield"]
    benchmark(lambda: html_of(coupling_answer(disturber, 20, 0.1, 0.05)))


def test_a_wire_to_earth(benchmark):
    benchmark(lambda: html_of(wire_answer(0.3, 4, 0.025, 10e6)))


def test_a_new_list_in_the_panel(benchmark):
    table = separation_panel().fields["runs"].widget
    lists = [MILL, FULL]

    def turn():
        lists.reverse()
        table.put(lists[0])

    benchmark(turn)


def test_opening_the_panels(benchmark):
    benchmark(lambda: (separation_panel(), compensation_panel(), wire_panel()))
