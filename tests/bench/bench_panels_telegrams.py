"""How fast the telegram and time panels answer, and how long a recording of 10 MB takes.

Run: pytest tests/bench/bench_panels_telegrams.py. Wanted: 150 ms from an input to the finished picture; for the long
recording a step short enough that a Stop button is heard.
"""

import itertools
import time

import pytest

from helpers.bus.recording.answers import recording_answer
from helpers.bus.recording.recording_statistics import Recording
from helpers.bus.recording.wrong_bits import TELEGRAMS
from helpers.bus.telegram.hamming import counted
from helpers.bus.time.answers import ALONE, SECOND
from helpers.panels.kit.as_html import html_of
from helpers.panels.telegrams.recording import long_recording, recording_panel
from helpers.panels.telegrams.telegrams import distance_panel, maker_panel, telegram_panel
from helpers.panels.time.response import response_panel

TEN_MEGABYTES = 10_000_000


def changing(benchmark, panel, field, values):
    turn = itertools.cycle(values)  # the first differs from what is there, or the first round measures nothing
    widget = panel.fields[field].widget

    def change():
        widget.value = next(turn)

    benchmark(change)
    assert not panel.said.value


def test_another_telegram_of_a_recording(benchmark):
    changing(benchmark, telegram_panel(), "number", [str(number) for number in range(1, 30)])


def test_other_octets(benchmark):
    lines = long_recording(100)
    changing(benchmark, telegram_panel(), "text", [lines[at:] for at in range(20)])


def test_another_data_byte_to_put_together(benchmark):
    changing(benchmark, maker_panel(), "data", ["04 7E 00 00", "04 7F 20 00"])


def test_other_wrong_bits(benchmark):
    changing(benchmark, distance_panel(), "wrong", [1, 2, 3, 4])


def test_count_out_a_telegram_for_the_first_time(benchmark):
    octets = TELEGRAMS["two output bytes, SD2"]
    benchmark(lambda: counted.__wrapped__(octets))


@pytest.mark.parametrize(("stations", "data_format"), [(6, "PPO 4"), (125, "2/2")])
def test_another_master(benchmark, stations, data_format):
    panel = response_panel()
    panel.fields["stations"].widget.put([(f"drive {n}", data_format) for n in range(stations)])
    changing(benchmark, panel, "other", [SECOND, ALONE])


def ten_megabytes():
    return long_recording(9_000)[:TEN_MEGABYTES]


def test_ten_megabytes_are_read_and_counted(benchmark):
    text = ten_megabytes()
    longest = []

    def read():
        found, before, steps = Recording(text), time.perf_counter(), []
        for _ in found:
            steps.append(time.perf_counter() - before)
            before = time.perf_counter()
        longest.append(max(steps))

    benchmark.pedantic(read, rounds=3)
    benchmark.extra_info["longest step in ms"] = round(max(longest) * 1000)
    print(f"\nlongest step: {benchmark.extra_info['longest step in ms']} ms")


def test_a_page_from_the_middle(benchmark):
    found = Recording(ten_megabytes())
    for _ in found:
        pass
    turn = itertools.cycle(range(1, found.telegrams, 7_919))
    benchmark(lambda: html_of(recording_answer(found, "line", "telegrams", first=next(turn))))


def test_open_the_recording_panel(benchmark):
    benchmark(recording_panel)
