"""Speed of the practice panel and of the table of faults; printed, not asserted."""

from helpers.line.practice.case import draw_case
from helpers.panels.practice.fault_table import BY_INSTRUMENT, fault_table_view
from helpers.panels.practice.practice import PracticePanel


def test_a_row_of_the_table_is_shown(benchmark):
    benchmark(fault_table_view, BY_INSTRUMENT, "stub", "ohms")


def test_a_case_is_opened(benchmark):
    """In the live panel this runs in a thread."""
    panel = PracticePanel()
    benchmark.pedantic(panel.begin.click, rounds=3, iterations=1)
    assert panel.session is not None


def test_a_pane_is_shown(benchmark):
    case = draw_case(1, 1)
    panel = PracticePanel(lambda seed, grade: case)
    panel.begin.click()

    def turn():
        for pane in panel.pane.options:
            panel.pane.value = pane

    benchmark(turn)
