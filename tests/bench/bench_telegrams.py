"""How fast telegrams are written, read and explained. Run: pytest tests/bench/bench_telegrams.py.

Wanted: 250 000 telegrams a second for frames, 20 000 for the explanation. `extra_info` holds the rate of the median.
The recording is a line of 30 stations with 12 bytes each way, all of them different, with tokens, status polls and
a diagnosis now and then.
"""

import random

import pytest

from helpers.bus.recording import recording_text, telegram_meaning
from helpers.bus.services import message
from helpers.bus.telegram import frame as frames
from helpers.bus.telegram.frame import Frame, frame, write

DIAGNOSIS = bytes.fromhex("08 0C 00 01 FF F1 84 41 26")


def recording(cycles):
    draw = random.Random(4)
    found = []
    for cycle in range(cycles):
        for station in range(2, 32):
            count = ("counted, 0", "counted, 1")[cycle % 2]
            asked = message.request("Data_Exchange", to=station, sender=1, data=draw.randbytes(12), count=count)
            found += [asked, message.answer(asked, draw.randbytes(12))]
        asked = message.request("Slave_Diag", to=2 + cycle % 30, sender=1)
        found += [asked, message.answer(asked, DIAGNOSIS), Frame("token", 1, 1), frame(to=99, sender=1, fc=0x49)]
    return found


TELEGRAMS = recording(400)
OCTETS = b"".join(map(write, TELEGRAMS))


def rate(benchmark, count):
    if not benchmark.stats:
        return  # run once to see that it runs, not measured
    benchmark.extra_info["telegrams a second"] = round(count / benchmark.stats.stats.median)
    print(f"\n{benchmark.name}: {benchmark.extra_info['telegrams a second']:,} telegrams a second")


def test_frames_are_read(benchmark):
    def read():
        for _ in frames.read(OCTETS):
            pass

    benchmark(read)
    rate(benchmark, len(TELEGRAMS))


def test_frames_are_written(benchmark):
    benchmark(lambda: [write(one) for one in TELEGRAMS])
    rate(benchmark, len(TELEGRAMS))


def test_meaning_and_pairs(benchmark):
    def read():
        for _ in telegram_meaning.read(OCTETS):
            pass

    benchmark(read)
    rate(benchmark, len(TELEGRAMS))


def test_every_octet_explained(benchmark):
    def explain():
        for one in telegram_meaning.read(OCTETS):
            _ = one.lines

    benchmark(explain)
    rate(benchmark, len(TELEGRAMS))


@pytest.mark.parametrize("front", ["", "12:34:56.789 "], ids=["plain", "with time stamps"])
def test_ten_megabytes_of_text_are_read(benchmark, front):
    lines = [f"{front}{write(one).hex(' ')}" for one in TELEGRAMS]
    text = "\n".join(lines * (1 + 10_000_000 // sum(map(len, lines))))
    benchmark.pedantic(recording_text.read, (text,), rounds=3)


def test_noise_is_passed_over(benchmark):
    """The hardest input known: every octet promises a telegram of 110 octets."""
    benchmark.pedantic(lambda: list(frames.read(b"\x68" * 100_000)), rounds=3)
