"""The questions on who speaks when, answered a second time from their text alone.

Lengths: M. Felser, PROFIBUS Manual, calculation for single masters – 11 bits a character, 11n + 99 for a data
telegram, 33 for the token, TSDR 32, TID1 37. LE and FCS: Gantner Combilog manual p.118 and p.120.
"""

import re

import pytest

from helpers.bus.telegram.frame import read
from helpers.study.banks.registry import draw_question

SEEDS = range(1, 200)
# Slot time in bit times by bit rate: M. Felser, PROFIBUS Manual, timing.
SLOT = {"500 kbit/s": 200, "1.5 Mbit/s": 300, "3 Mbit/s": 400, "12 Mbit/s": 1000}


def drawn(kind):
    return [draw_question("who-speaks", kind, seed) for seed in SEEDS]


def numbers(text):
    return [int(n) for n in re.findall(r"\d+", text)]


def after(word, text):
    return int(re.search(rf"(\d+) {word}", text)[1])


def test_a_data_telegram_has_11n_and_99_bit_times():
    for question in drawn("telegram-length"):
        assert question.answer == 11 * after("bytes", question.text) + 99


def test_le_counts_three_bytes_beside_the_data():
    for question in drawn("length-byte"):
        assert question.answer == after("bytes", question.text) + 3


def test_the_check_sum_makes_a_telegram_that_is_read_without_complaint():
    for question in drawn("check-sum"):
        line = question.text.splitlines()[1]
        for value, good in ((question.answer, True), *((slip.answer, False) for slip in question.slips)):
            (piece, *rest) = read(bytes.fromhex(line.replace("FCS", f"{value:02X}")))
            assert (not piece.problem and not rest) is good


def test_bytes_tell_who_asks_whom():
    seen = set()
    for question in drawn("who-to-whom"):
        octets = bytes.fromhex(question.text.splitlines()[1])
        verb = "asks" if octets[6] & 0x40 else "answers"
        seen.add(verb)
        assert question.answer == f"{octets[5]} {verb} {octets[4]}"
        assert len(question.slips) == 3
    assert seen == {"asks", "answers"}


def test_all_drives_once_take_267_and_11_for_each_byte():
    # PROFIBUS Specification p.900 eq. 21 with the handbook's lengths: 2·99 + 11·bytes + 32 + 37 bit times.
    for question in drawn("poll-time"):
        found = re.search(
            r"At ([\d.]+) (k|M)bit/s a controller asks (\d+) drives, each with (\d+) .* (\d+) bytes in", question.text
        )
        rate = float(found[1]) * {"k": 1e3, "M": 1e6}[found[2]]
        count, out, back = (int(found[n]) for n in (3, 4, 5))
        assert "(TSDR)" in question.text and "32 bit times" in question.text and "37 bit times" in question.text
        assert question.answer == pytest.approx(count * (267 + 11 * (out + back)) / rate * 1000)


def test_a_silent_station_costs_two_requests_and_two_slot_times():
    seen = set()
    for question in drawn("silent-station"):
        rate, slot = re.search(r"At ([\d.]+ .bit/s) the slot time is (\d+)", question.text).groups()
        seen.add(rate)
        assert int(slot) == SLOT[rate]
        assert question.answer == 2 * (11 * after("bytes", question.text) + 99 + int(slot))
    assert seen == set(SLOT)


def test_each_master_hands_the_token_on_once():
    for question in drawn("token"):
        masters = after("controllers?", question.text) + ("engineering computer" in question.text)
        assert question.answer == 33 * masters


def test_nine_bytes_stand_around_the_data():
    for question in drawn("overhead"):
        data = after("bytes", question.text)
        assert question.answer == pytest.approx(100 * 9 / (9 + data), abs=0.001)


def test_in_no_situation_a_drive_speaks_unasked():
    seen = set()
    for question in drawn("may-speak"):
        seen.add(question.text.splitlines()[-1])
        assert len(question.slips) == 3
        assert not question.answer.startswith(("at once", "straight", "whenever"))
    assert len(seen) == 4


@pytest.mark.parametrize("kind", ["telegram-length", "length-byte", "silent-station", "token"])
def test_the_first_step_shows_the_way_and_not_the_result(kind):
    for question in drawn(kind):
        assert not re.search(rf"\b{question.answer:.0f}\b", question.steps[0])
