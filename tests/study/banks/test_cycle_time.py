"""The questions on bus time, answered a second time from their text alone."""

import re

import pytest

from helpers.study.banks.registry import draw_question, kinds

SEEDS = range(1, 40)
RATES = {"kbit/s": 1e3, "Mbit/s": 1e6}
# PPO types in bytes, both directions: Converteam MV3000e manual p.5-2; ABB FPBA-01 manual p.81.
PPO = {"PPO 1": 24, "PPO 2": 40, "PPO 3": 8, "PPO 4": 24, "PPO 5": 56}


def drawn(kind):
    return [draw_question("cycle-time", kind, seed) for seed in SEEDS]


def rate(question):
    number, unit = re.search(r"[Aa]t ([\d.]+) ([kM]bit/s)", question.text).groups()
    return float(number) * RATES[unit]


def given(question):
    """The table of bus parameters by their names: TSDR with its case, the others without explanation."""
    names = [re.match(r"TSDR, \w+|\w+", row["bus parameter"])[0] for row in question.rows]
    return dict(zip(names, (row["bit times"] for row in question.rows), strict=True))


def test_a_telegram_takes_eleven_bits_an_octet():
    for question in drawn("telegram-time"):
        data = int(re.search(r"carries (\d+) data bytes", question.text)[1])
        # 11n + 99: M. Felser, PROFIBUS Manual, calculation for single masters
        assert question.answer == pytest.approx((11 * data + 99) / rate(question) * 1e6, rel=1e-4)


def test_a_message_cycle_by_hand():
    for question in drawn("message-time"):
        out, into = map(int, re.search(r"gets (\d+) bytes and sends back (\d+)", question.text).groups())
        bits = 11 * (out + into) + 198 + given(question)["TSDR, usual"] + given(question)["TID1"]
        assert question.answer == pytest.approx(bits / rate(question) * 1e6, rel=1e-4)
    for question in drawn("longest-message"):
        both = int(re.search(r"take (\d+) bit times", question.text)[1])
        bits = both + given(question)["TSDR, longest"] + given(question)["TID1"]
        assert question.answer == pytest.approx(bits / rate(question) * 1e6, rel=1e-4)


def test_a_cycle_and_a_lost_telegram_by_hand():
    for question in drawn("cycle-time"):
        stations = int(re.search(r"asks (\d+) drives", question.text)[1])
        message = int(re.search(r"cycle takes (\d+) bit", question.text)[1])
        bits = stations * message + 33 + given(question)["TID1"] + 66 + given(question)["TSL"]
        assert question.answer == pytest.approx(bits / rate(question) * 1e3, rel=1e-4)
    for question in drawn("lost-telegram"):
        request, answer = map(int, re.findall(r"\((\d+) bit\)", question.text))
        late = request + given(question)["TSDR, longest"] + answer + given(question)["TID1"]
        assert question.answer == pytest.approx(
            max(late, request + given(question)["TSL"]) / rate(question) * 1e6, rel=1e-4
        )


def test_a_format_step_is_paid_for_each_drive():
    for question in drawn("format-step"):
        drives = int(question.text.split()[0])
        before = float(re.search(r"cycle takes ([\d.]+) ms", question.text)[1])
        short, long = re.findall(r"PPO \d", question.text)
        extra = drives * 11 * (PPO[long] - PPO[short]) / rate(question) * 1e3
        assert question.answer == pytest.approx(before + extra, rel=2e-3)


def test_the_handbook_counts_33_more_up_to_a_tid1_of_37_and_less_above():
    signs = set()
    for question in drawn("handbook-form"):
        drives = int(re.search(r"For (\d+) drives", question.text)[1])
        tid1 = int(re.search(r"TID1 = (\d+)", question.text)[1])
        # 300 + 11n, M. Felser, PROFIBUS Manual, calculation for single masters
        assert "counts 300 + 11" in question.text and question.answer == drives * (70 - tid1)
        signs.add(question.answer > 0)
    assert signs == {True, False}


def test_target_rotation_and_watchdogs_by_hand():
    for question in drawn("target-rotation"):
        worst = int(re.search(r"worst cycle of .* is (\d+) bit", question.text)[1])
        message = int(re.search(r"takes up to (\d+) bit", question.text)[1])
        assert question.answer == pytest.approx(1.1 * (worst + message), abs=1)
    for question in drawn("watchdog"):
        worst = float(re.search(r"worst cycle of ([\d.]+) ms", question.text)[1])
        least = 5 * worst
        assert question.answer % 10 == 0 and least <= question.answer
        # the next step of 10 ms, but for steps that no two factors up to 255 give (PROFIBUS Specification p.734 eq. 8)
        steps = [n for n in range(1, 2000) if any(n % one == 0 and n // one <= 255 for one in range(1, 256))]
        assert question.answer / 10 == next(n for n in steps if 10 * n >= least - 1e-3)
    for question in drawn("watchdog-factors"):
        one, two = map(int, re.findall(r"WD_Fact_\d = (\d+)", question.text))
        assert question.answer == one * two * (1 if "base of 1 ms" in question.text else 10)


def test_the_longest_response_by_hand():
    for question in drawn("response"):
        bus, program, answer, request = (
            float(re.search(pattern, question.text)[1])
            for pattern in (
                r"bus cycle ([\d.]+) ms", r"program cycle ([\d.]+) ms", r"answer ([\d.]+) ms", r"request ([\d.]+) ms",
            )
        )  # fmt: skip
        assert question.answer == pytest.approx(2 * bus + 2 * program + answer + request, rel=1e-3)


def test_two_masters_take_turns():
    for question in drawn("second-master"):
        one, other = map(int, re.findall(r"(\d+) bit times", question.text))
        assert question.answer == pytest.approx((one + other) / rate(question) * 1e3, rel=1e-4)


def test_the_mistakes_people_make_are_among_the_slips():
    said = " ".join(slip.sentence for kind in kinds("cycle-time") for q in drawn(kind) for slip in q.slips)
    for mistake in (
        "8 data bits", "The answer and the time before it", "The silences count too", "min TSDR is the soonest",
        "not once for the network", "bus cycle is not the response time", "as long as the cycle stops the drive",
        "Those are bit times", "second controller is forgotten", "The factors are multiplied",
    ):  # fmt: skip
        assert mistake in said


def slip(question, words):
    (one,) = (slip for slip in question.slips if words in slip.sentence)
    return one.answer


def test_who_forgets_start_parity_and_stop_counts_eight_bits_a_byte():
    # 9 octets around the data of an SD2, 11 bits each: M. Felser, PROFIBUS Manual; without start, parity and stop: 8
    for question in drawn("telegram-time"):
        data = int(re.search(r"carries (\d+) data bytes", question.text)[1])
        assert slip(question, "11 bits") == pytest.approx(8 * (data + 9) / rate(question) * 1e6, rel=1e-4)
    for question in drawn("message-time"):
        out, into = map(int, re.search(r"gets (\d+) bytes and sends back (\d+)", question.text).groups())
        bits = 8 * (out + into + 18) + given(question)["TSDR, usual"] + given(question)["TID1"]
        assert slip(question, "11 bits") == pytest.approx(bits / rate(question) * 1e6, rel=1e-4)
    for question in drawn("format-step"):
        drives = int(re.search(r"^(\d+) drives", question.text)[1])
        (before_out, before_in), (after_out, after_in) = re.findall(r"(\d+) bytes out, (\d+) in", question.text)
        extra = int(after_out) + int(after_in) - int(before_out) - int(before_in)
        # The cycle before is told in ms; all of it is exact to four digits.
        before_ms = float(re.search(r"cycle takes ([\d.]+) ms", question.text)[1])
        wanted = before_ms + 8 * drives * extra / rate(question) * 1e3
        assert slip(question, "11 bits") == pytest.approx(wanted, rel=2e-3)
