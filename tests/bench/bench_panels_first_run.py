"""How fast the first run's panels answer: run with `pytest tests/bench/bench_panels_first_run.py`."""

from itertools import count

from helpers.drive.commissioning import Checklist, marked, step_called, steps
from helpers.drive.settings import Local, RoutesPicture, Sent, hand_over_answer
from helpers.panels.kit.as_html import html_of
from helpers.panels.network.first_run import first_run_panel, first_run_view
from helpers.panels.network.hand_over import as_left_by_the_fitter, hand_over_panel, routes_drawing
from helpers.plan.my_networks import demo_plan

READINGS = {"min": "12", "V": "3 V", "%": "30", "address": "12", "text": "noted", "": ""}


def filled(drive):
    checklist = Checklist(drive)
    for step in steps():
        checklist = marked(checklist, step.name, "done", reading=READINGS[step_called(step.name).reading])
    return checklist


def test_a_list_among_thirty_drives(benchmark):
    others = [filled(f"Drive {n}") for n in range(30)]
    plan, one, remarks = demo_plan(), filled("Fan"), count()
    benchmark(
        lambda: html_of(first_run_view(marked(one, "lock", "done", remark=str(next(remarks))), "wait", plan, others))
    )


def test_writing_a_step_down(benchmark):
    entry = first_run_panel().fields["desk"].widget
    entry.step.value = "lock"

    def write():
        entry.write.click()
        entry.step.value = "lock"

    benchmark(write)


def test_settings_and_controller(benchmark):
    sent, draw = Sent(12, "PPO 4"), {RoutesPicture: routes_drawing}
    benchmark(lambda: html_of(hand_over_answer(as_left_by_the_fitter(), sent, Local()), draw=draw))


def test_switching_the_supply(benchmark):
    front = hand_over_panel().fields["settings"].widget
    addresses = ["12", "13"]

    def turn():
        addresses.reverse()
        front.fields["address"].widget.value = addresses[0]
        front.supply.click()

    benchmark(turn)


def test_opening_the_panels(benchmark):
    benchmark(lambda: (first_run_panel(), hand_over_panel()))
