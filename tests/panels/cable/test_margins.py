"""The margin panel tells which pairs of stations lose bits, and no pair twice."""

import numpy as np
import pytest

from helpers.bus.circuit.margin import Matrix
from helpers.panels.cable.margins import margins_panel, margins_view, matrix_drawing
from helpers.panels.cable.meter import HEALTHY


def test_a_pulled_terminator_is_loud_when_fast_and_silent_when_slow() -> None:
    pulled = "terminator missing at the far end"
    assert "every pair has margin" in margins_view(HEALTHY, 6, 100.0, 0.0, 12e6).sentence
    assert "pairs have no margin" in margins_view(pulled, 6, 100.0, 0.0, 12e6).sentence
    assert "every pair has margin" in margins_view(pulled, 6, 100.0, 0.0, 93_750).sentence


@pytest.mark.parametrize("count", [3, 13, 14, 32])
def test_a_lost_pair_is_marked_by_more_than_colour(count: int) -> None:
    volts = np.ones((count, count))
    volts[0, 2], volts[1, 2] = -0.3, -0.01
    sheet = matrix_drawing(Matrix(tuple(range(count)), volts))
    assert "worst: 1 to 3, −0.3 V" in sheet.says
    assert ">−0.3<" in sheet.svg and ">&lt; 0<" in sheet.svg if count <= 13 else sheet.svg.count("<line") == 4


def test_controls_answer_and_nonsense_gets_a_sentence() -> None:
    panel = margins_panel()
    before = panel.result.value
    panel.fields["stub_m"].widget.value = "3 m"
    assert panel.result.value != before and panel.said.value == ""
    panel.fields["length_m"].widget.value = "-3 m"
    assert "Not usable" in panel.said.value
