"""How fast the panels of states and words answer, drawing included: pytest tests/bench/bench_panels_states.py.

The aim is 150 ms for each answer.
"""

from helpers.panels.states import state_panel, state_view, stop_view, wish_panel, wish_view


def test_a_word(benchmark):
    benchmark(lambda: state_view("ready for switching on", 0x047E, 0x047F).html())


def test_a_wish(benchmark):
    benchmark(lambda: wish_view("run", "fault reaction", 0x047F, 6).html())


def test_the_controller_stops(benchmark):
    benchmark(lambda: stop_view(0).html())


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
