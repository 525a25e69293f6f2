"""How fast the polling panel answers: run with `pytest tests/bench/bench_panels_polling.py`.

Wanted: 150 ms from an input to the finished picture.
"""

from helpers.panels.time.polling import polling_panel


def test_play_one_step(benchmark):
    panel = polling_panel()
    turn = iter(list(range(1, 21)) * 10_000)

    def step():
        panel.fields["step"].widget.value = next(turn)

    benchmark(step)
    assert not panel.said.value


def test_let_a_station_fall_silent(benchmark):
    panel = polling_panel()
    turn = iter([10, 0] * 100_000)

    def fall_silent():
        panel.fields["silent"].widget.value = next(turn)

    benchmark(fall_silent)
    assert not panel.said.value


def test_open(benchmark):
    benchmark(polling_panel)
