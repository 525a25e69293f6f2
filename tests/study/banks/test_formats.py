"""The questions on data formats, answered a second time from their text alone."""

import re

import pytest

from helpers.device import formats
from helpers.study.banks.registry import draw_question, kinds

SEEDS = range(1, 120)
# Process data words and parameter channel of PPO 1 to 5: Converteam MV3000e manual p.5-2; ABB FPBA-01 manual p.81.
PPO = {"PPO 1": (True, 2), "PPO 2": (True, 6), "PPO 3": (False, 2), "PPO 4": (False, 6), "PPO 5": (True, 10)}
# Identifier octets of PPO 1 to 5: ABB FPBA-01 manual p.185.
OCTETS = {"PPO 1": "F3 F1", "PPO 2": "F3 F5", "PPO 3": "F1", "PPO 4": "F5", "PPO 5": "F3 F9"}


def drawn(kind):
    return [draw_question("formats", kind, seed) for seed in SEEDS]


def numbers(text):
    return [int(n) for n in re.findall(r"\d+", text)]


def fields_of(octet):
    """Direction, length, unit and wholeness of a compact byte: M. Felser, PROFIBUS Manual, compact format."""
    way = {1: "from the drive to the controller", 2: "from the controller to the drive"}[octet >> 4 & 3]
    return way, (octet & 15) + 1, "word" if octet & 64 else "byte", bool(octet & 128)


def test_two_bytes_for_each_word_of_the_direction_asked():
    for question in drawn("bytes"):
        first = question.text.splitlines()[0]
        channel = 4 if "a parameter channel of 4 words each way" in first else 0
        out = int(re.findall(r"(\d+) process data words from the controller", first)[0])
        into = int(re.findall(r"and (\d+) from the drive", first)[0])
        asked = out if "go from the controller" in question.text else into
        assert question.answer == 2 * (channel + asked)


def test_words_are_those_of_the_rows_of_one_direction():
    for question in drawn("words-needed"):
        rows = [row for row in question.rows if row["direction"] == "from the drive to the controller"]
        assert question.answer == sum(row["bits"] // 16 for row in rows)
        assert {row["bits"] for row in rows} == {16, 32}  # a 32-bit signal is always among them


def test_the_shortest_is_the_first_row_with_room():
    chosen = set()
    for question in drawn("shortest"):
        asked = re.findall(r"\(([A-Z_]+), (\d+) bit\)", question.text)
        needed = {name: int(bits) // 16 for name, bits in asked}
        to_drive = ("AUX_SETPOINT", "TORQUE_LIMIT", "RAMP_TIME")
        channel = "reads parameters of the drive in every cycle" in question.text
        for row in question.rows:
            room = {}
            for way in ("out", "in"):
                fixed = row[f"fixed {way}"].split(", ")
                extra = [w for n, w in needed.items() if (n in to_drive) == (way == "out") and n not in fixed]
                room[way] = row[f"process words {way}"] - len(fixed) >= sum(extra)
            if all(room.values()) and (row["parameter channel"] == "yes" or not channel):
                assert question.answer == row["format"]
                chosen.add(row["format"])
                break
        else:
            pytest.fail(f"nothing fits: {question.text}")
        for row in question.rows:
            if row["format"] in PPO:
                has, words = PPO[row["format"]]
                assert (row["parameter channel"] == "yes") is has
                assert row["process words out"] == row["process words in"] == words
    assert set(PPO) - {"PPO 1"} <= chosen and any(name.startswith("Mill") for name in chosen)


def test_the_cycle_grows_by_eleven_bits_a_byte():
    # 11 bit times a byte: M. Felser, PROFIBUS Manual, calculation for single masters
    for question in drawn("longer-cycle"):
        drives = numbers(question.text)[0]
        rate, unit = re.findall(r"at ([\d.]+) (kbit/s|Mbit/s)", question.text)[0]
        bit_rate = float(rate) * {"kbit/s": 1e3, "Mbit/s": 1e6}[unit]
        before, after = re.findall(r"(PPO \d) \((\d+) bytes out, (\d+) in\)", question.text)
        for name, out, into in (before, after):
            channel, words = PPO[name]
            assert int(out) == int(into) == 2 * (4 * channel + words)
        added = sum(map(int, after[1:])) - sum(map(int, before[1:]))
        assert added >= 0
        assert question.form.same(question.answer, drives * added * 11 / bit_rate * 1e6)


def test_the_last_digit_plus_one_gives_the_process_words():
    for question in drawn("process-words"):
        first, second = re.findall(r"identifiers (F3) (F[0-9A-F])\.", question.text)[0]
        assert (first, question.answer) == ("F3", int(second[1], 16) + 1)


def test_an_identifier_is_read_by_its_bits():
    for question in drawn("read-identifier"):
        octet = int(re.findall(r"16#([0-9A-F]{2})", question.text)[0], 16)
        way, count, unit, whole = fields_of(octet)
        assert question.answer == f"{count} {unit}s, {'whole' if whole else f'each {unit} for itself'}, {way}"
        assert len(question.form.options) == 5


def test_an_identifier_is_written_by_its_bits():
    for question in drawn("write-identifier"):
        way, count, unit, whole = fields_of(question.answer)
        assert f"exchanges {count} {unit}s {way};" in question.text
        assert ("they belong together" in question.text) is whole


def test_the_place_in_the_list_counts_process_data_words_from_one():
    # The list begins with the first process data word, of which two are fixed: Danfoss Vacon 100 PROFIBUS manual p.25.
    for question in drawn("list-place"):
        order = [int(bits) // 16 for bits in re.findall(r"[A-Z_]+, (\d+) bit", question.text)]
        assert question.answer == 2 + sum(order[:-1]) + 1
        assert question.answer <= PPO[re.findall(r"PPO \d", question.text)[0]][1]
        way = "in" if "from the drive to the controller are to carry" in question.text else "out"
        assert ("parameter 916" if way == "in" else "parameter 915") in question.text


def test_formats_that_differ_exchange_nothing():
    for question in drawn("agree"):
        drive, controller = re.findall(r"PPO \d", question.text)[:2]
        assert drive != controller
        assert question.answer == "no data is exchanged; the drive reports a configuration fault"
        assert f"it sends {OCTETS[controller]}; the drive holds {OCTETS[drive]}." in question.steps[1]
        assert any("the machine stops, so ask first" in step for step in question.steps)  # where the hand would move


def test_the_slips_are_the_mistakes_people_make():
    def sentences(kind):
        return {slip.sentence for question in drawn(kind) for slip in question.slips}

    assert "A byte has 11 bits on the wire: start, 8 data bits, parity, stop." in sentences("longer-cycle")
    assert "The octet holds the length less one: add one." in sentences("process-words")
    assert "A signal of 32 bits takes two words." in sentences("shortest")
    assert "A parameter channel travels in each cycle. Here nobody needs it." in sentences("shortest")
    assert "The parameter channel travels in each cycle too, asked for or not." in sentences("bytes")


def test_there_is_a_question_on_each_subject_of_the_lesson():
    assert len(kinds("formats")) >= 6
    assert {one.name for one in formats.ppo_types()} == set(PPO)
