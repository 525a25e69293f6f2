"""The questions on the I/O image, answered a second time from their text alone."""

import re
import struct

from helpers.study.banks.registry import draw_question, kinds

SEEDS = range(1, 61)
# Bytes each way of PPO 1 to 5, and of the parameter channel: Converteam MV3000e manual p.5-2; ABB FPBA-01 manual p.81.
CHANNEL = 8


def drawn(kind):
    return [draw_question("io-image", kind, seed) for seed in SEEDS]


def numbers(text):
    return [int(n) for n in re.findall(r"\d+", text)]


def test_a_word_stands_behind_channel_and_words_before_it():
    for question in drawn("word-address"):
        starts = dict(re.findall(r"(outputs|inputs) begin at byte (\d+)|", question.text))
        starts["inputs"] = re.findall(r"its inputs at byte (\d+)", question.text)[0]
        pzd = int(re.findall(r"Process data word (\d+)", question.text)[0])
        way = "inputs" if "from the drive stands at %IW" in question.text else "outputs"
        assert way == "inputs" or "to the drive stands at %QW" in question.text
        assert question.answer == int(starts[way]) + CHANNEL + 2 * (pzd - 1)


def test_what_the_drive_sends_is_an_input():
    for question in drawn("area"):
        out, into = re.findall(r"outputs begin at byte (\d+) and its inputs at byte (\d+)", question.text)[0]
        assert question.answer == (f"%IW{into}" if "status word" in question.text else f"%QW{out}")
        assert len(question.form.options) == 4


def test_the_next_station_begins_two_bytes_a_word_further():
    for question in drawn("next-start"):
        start, words = re.findall(r"begin at byte (\d+)\..* has (\d+) words this way", question.text)[0]
        assert question.answer == int(start) + 2 * int(words)


def test_bytes_are_twice_the_words():
    for question in drawn("word-number"):
        given = int(re.findall(r"%[IQ]W(\d+)", question.text)[0])
        assert question.answer == (given / 2 if "number counts bytes" in question.text else 2 * given)


def test_a_swapped_word_is_what_a_little_endian_machine_reads():
    for question in drawn("swapped"):
        sent = bytes.fromhex(re.findall(r"16#([0-9A-F]{4})", question.text)[0])
        assert question.answer == struct.unpack("<H", sent)[0]


def test_a_negative_word_is_twos_complement():
    for question in drawn("sign"):
        shown = int(re.findall(r"UINT: (\d+)", question.text)[0])
        assert question.answer == struct.unpack(">h", struct.pack(">H", shown))[0] < 0


def test_a_double_word_has_its_high_word_first():
    for question in drawn("double-word"):
        first, high, second, low = map(int, re.findall(r"%IW(\d+) = (\d+) and %IW(\d+) = (\d+)", question.text)[0])
        assert second == first + 2
        assert question.answer == struct.unpack(">I", struct.pack(">HH", high, low))[0]


def test_a_torn_value_has_the_old_word_that_was_read_first():
    for question in drawn("torn"):
        old, new = map(int, re.findall(r"grows from (\d+) to (\d+)", question.text)[0])
        low_first = "reads the low word first" in question.text
        high, low = (new >> 16, old & 0xFFFF) if low_first else (old >> 16, new & 0xFFFF)
        assert question.answer == (high << 16) + low
        assert question.answer not in (old, new)


def test_bit_7_and_bit_6_say_what_is_whole():
    # M. Felser, PROFIBUS Manual, compact format
    for question in drawn("consistency"):
        octet = int(re.findall(r"16#([0-9A-F]{2})", question.text)[0], 16)
        size = 2 if octet & 0x40 else 1
        each = "the two bytes of each word, not more" if size == 2 else "each byte for itself, not more"
        assert question.answer == (f"all {size * ((octet & 15) + 1)} bytes together" if octet & 0x80 else each)


def test_common_bytes_are_counted_one_by_one():
    for question in drawn("overlap"):
        taken = [byte for r in question.rows for byte in range(r["first byte"], r["first byte"] + 2 * r["words in"])]
        assert question.answer == len(taken) - len(set(taken)) > 0


def test_the_grid_is_first_plus_address_times_step():
    for question in drawn("grid"):
        first, step = map(int, re.findall(r"byte (\d+) \+ bus address × (\d+)", question.text)[0])
        assert question.answer == first + step * int(re.findall(r"has bus address (\d+)", question.text)[0])


def test_the_slips_are_the_mistakes_people_make():
    told = {
        slip.sentence.split(".")[0].split(":")[0] for kind in kinds("io-image") for q in drawn(kind) for slip in q.slips
    }
    for mistake in (
        "In and out are exchanged",
        "The parameter channel was forgotten",
        "Words were taken for bytes",
        "The same number was taken over",
        "One byte too late",
        "That is what was sent",
        "The sign is lost",
        "High and low word are exchanged",
        "Old and new are exchanged",
    ):
        assert mistake in told
    assert any(s.startswith("That is the last byte of this station") for s in told)
    assert len(kinds("io-image")) >= 8 and len(told) >= 30
