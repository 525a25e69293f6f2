"""How fast the panels of states and words answer, drawing included: pytest tests/bench/bench_panels_states.py.

The aim is 150 ms for each answer.
"""

from random import Random

import pytest

from helpers.drive import timeline
from helpers.drive.record_answer import demo_record, read_record, record_answer
from helpers.drive.state_answers import state_answer, stop_answer, wish_answer
from helpers.drive.word_answers import TwoWordsPicture, compare_answer
from helpers.panels.drive.states import DRAW, state_panel, wish_panel
from helpers.panels.drive.words import compare_drawing
from helpers.panels.kit.as_html import html_of


def test_a_word(benchmark):
    benchmark(lambda: html_of(state_answer("ready for switching on", 0x047E, 0x047F), draw=DRAW))


def test_a_wish(benchmark):
    benchmark(lambda: html_of(wish_answer("run", "fault reaction", 0x047F, 6), draw=DRAW))


def test_the_controller_stops(benchmark):
    benchmark(lambda: html_of(stop_answer(0), draw=DRAW))


def test_a_bit_pressed_in_the_state_panel(benchmark):
    panel = state_panel()
    place = panel.fields["control"].around.children[0].children[2].children[-1]

    def press():
        place.value = not place.value

    benchmark(press)


def test_a_step_in_the_wish_panel(benchmark):
    panel = wish_panel()
    slider = panel.fields["step"].widget

    def move():
        slider.value = 1 if slider.value > 1 else 2

    benchmark(move)


def test_two_words_compared(benchmark):
    benchmark(lambda: html_of(compare_answer("status", 0x0337, 0x02B8), draw={TwoWordsPicture: compare_drawing}))


def test_a_record_with_signs_of_life(benchmark):
    samples = read_record(demo_record("dust filter: signs of life"))
    benchmark(lambda: html_of(record_answer(samples)))


@pytest.mark.parametrize("record", ["two words", "any words and signs of life"])
def test_a_record_of_a_thousand_lines(benchmark, record):
    draw = Random(1)
    words, head = ("16#047E,16#0231", "16#047F,16#0237"), "time (ms),control,status"
    lines = [f"{n},{words[n % 2]}" for n in range(1000)]
    if record != "two words":
        head += ",control 2,status 2"
        lines = [f"{n},{','.join(f'16#{draw.randrange(65536):04X}' for _ in range(4))}" for n in range(1000)]
    samples = read_record("\n".join([head, *lines]))

    def anew():
        timeline._events.cache_clear()
        html_of(record_answer(samples))

    benchmark(anew)
