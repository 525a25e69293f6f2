"""The questions on scaling, answered a second time from their text alone."""

import math
import re
import struct

import pytest

from helpers.study.banks.registry import draw_question

SEEDS = range(1, 60)


def drawn(kind):
    return [draw_question("scaling", kind, seed) for seed in SEEDS]


def numbers(text):
    return [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", re.sub(r"16#[0-9A-F]{4}|N2", "", text))]


def as_number(word):
    """A word read as a signed number of 16 bits, by the struct module."""
    return struct.unpack(">h", word.to_bytes(2, "big"))[0]


def word_in(text):
    return int(next(found for found in re.findall(r"16#([0-9A-F]{4})", text) if found != "4000"), 16)


def test_percent_and_word():
    for question in drawn("percent-to-word"):
        percent = float(re.search(r"wants (-?\d+) %", question.text)[1])
        assert as_number(question.answer) == pytest.approx(percent * 163.84, abs=0.5)
    for question in drawn("word-to-percent"):
        assert question.answer == pytest.approx(as_number(word_in(question.text)) / 163.84, abs=1e-3)
    for question in drawn("bytes-exchanged"):
        assert question.answer == pytest.approx(
            struct.unpack("<h", word_in(question.text).to_bytes(2, "big"))[0] / 163.84, abs=0.01
        )
    for question in drawn("saturated"):
        percent = float(re.search(r"for (-?\d+) %", question.text)[1])
        assert question.answer == (0x7FFF if percent > 0 else 0x8000)


def test_backwards():
    for question in drawn("negative"):
        full, rpm = (
            float(re.search(r"calls (\d+)", question.text)[1]),
            float(re.search(r"at (\d+) rpm", question.text)[1]),
        )
        assert as_number(question.answer) == pytest.approx(-rpm / full * 16384, abs=0.5)


def test_speed_for_a_reference_in_hz():
    # n = 120 · f / poles: Mitsubishi 700 series manual p.250.
    for question in drawn("reference-frequency"):
        hz, _, poles, rpm = numbers(question.text)
        assert question.answer == pytest.approx(rpm / (120 * hz / poles) * 100, rel=1e-4)
        assert question.answer <= 100


def test_machines():
    for question in drawn("belt-to-counts"):
        diameter, ratio, _, full, *_, speed = numbers(question.text)
        turns = question.answer / 16384 * full / ratio / 60
        assert turns * math.pi * diameter == pytest.approx(speed, rel=1e-3)
    for question in drawn("word-to-screw"):
        pitch, ratio, _, full, *_ = numbers(question.text)
        assert question.answer == pytest.approx(word_in(question.text) / 16384 * full / ratio / 60 * pitch, rel=1e-3)
    for question in drawn("fan-power"):
        percent = float(re.search(r"to (\d+) %", question.text)[1])
        assert question.answer == pytest.approx(percent**3 / 1e4, abs=0.01)  # the similarity laws: power ~ n³


def test_resolution():
    for question in drawn("one-count"):
        assert question.answer == pytest.approx(float(re.search(r"calls (\d+)", question.text)[1]) / 16384, rel=1e-4)
    for question in drawn("lost-digit"):
        full = float(re.search(r"calls (\d+)", question.text)[1])
        counts = 16384 if "N2" in question.text else 10000
        step = float(numbers(question.answer)[0])
        # Neighbours in these steps always differ in their word, those ten times as fine do not.
        words = [round(n * step / full * counts) for n in range(200)]
        finer = [round(n * step / 10 / full * counts) for n in range(200)]
        assert len(set(words)) == 200 > len(set(finer))


def test_two_scalings():
    for question in drawn("read-by-another"):
        percent = float(re.search(r"sends (\d+) %", question.text)[1])
        ratio = 1.6384 if "setpoint in N2" in question.text else 1 / 1.6384
        assert question.answer == pytest.approx(min(percent * ratio, 100 if ratio > 1 else 200), abs=0.01)


def test_the_slips_that_the_job_knows_best_are_there():
    told = " ".join(slip.sentence for kind in ("percent-to-word", "negative", "belt-to-counts") for q in drawn(kind)
                    for slip in q.slips)  # fmt: skip
    for words in (
        "16#7FFF",
        "sign is lost",
        "byte",
        "gear ratio",
        "π is forgotten",
        "±10000",
        "diameter",
        "complement",
    ):
        assert words in told, words
