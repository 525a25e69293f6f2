"""The margin panel tells which pairs of stations lose bits, and no pair twice."""

import re

import numpy as np
import pytest
from drawn import check_chart

from helpers.bus.circuit.faults import HEALTHY
from helpers.bus.circuit.margin import MarginMatrix, margins_answer, margins_matrix
from helpers.panels.cable.waveform import margins_panel
from helpers.panels.kit.chart import matrix_chart


def test_a_pulled_terminator_is_loud_when_fast_and_silent_when_slow() -> None:
    pulled = "terminator missing at the far end"
    assert "every pair has margin" in margins_answer(HEALTHY, 6, 100.0, 0.0, 12e6).sentence
    assert "pairs have no margin" in margins_answer(pulled, 6, 100.0, 0.0, 12e6).sentence
    assert "every pair has margin" in margins_answer(pulled, 6, 100.0, 0.0, 93_750).sentence


@pytest.mark.parametrize("count", [3, 13, 14, 32])
def test_a_lost_pair_is_marked_by_more_than_colour(count: int) -> None:
    volts = np.ones((count, count))
    volts[0, 2], volts[1, 2] = -0.3, -0.01
    chart = matrix_chart(margins_matrix(MarginMatrix(tuple(range(count)), volts)))
    check_chart(chart)
    assert "worst: 1 to 3, −0.3 V" in chart.says
    bold = re.findall(r'<text [^>]*font-weight="bold">([^<]*)<', chart.svg)
    assert bold == ["−0.3", "&lt; 0"]
    assert chart.svg.count(">1.0<") == count * (count - 1) - 2


def test_controls_answer_and_nonsense_gets_a_sentence() -> None:
    panel = margins_panel()
    before = panel.result.value
    panel.fields["stub_m"].widget.value = "3 m"
    assert panel.result.value != before and panel.said.value == ""
    panel.fields["length_m"].widget.value = "-3 m"
    assert "Not usable" in panel.said.value
