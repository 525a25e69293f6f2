"""What is said of time on the bus, against published sums and against arithmetic done by hand."""

import re

import pytest

from helpers.bus.time.answers import ALONE, COMPUTER, SECOND, response_answer
from helpers.bus.time.message_cycle import Exchange
from helpers.verdict import Degree

SIX = (Exchange(12, 12),) * 6


def row(answer, what):
    return next(row for row in answer.rows if row["what"] == what)


def seconds(text):
    number, unit = text.split()
    return float(number) * {"µs": 1e-6, "ms": 1e-3, "s": 1.0}[unit]


def test_the_three_cases_by_hand():
    # Telegrams of 231 bit (11n + 99: M. Felser, PROFIBUS Manual) at 1.5 Mbit/s; cycles as in the doctest of bus_cycle.
    answer = response_answer(SIX, controller_s=0.020)
    average, worst, best = map(seconds, re.findall(r"[\d.]+ (?:µs|ms|s)\b", answer.sentence)[:3])
    telegrams = 2 * 231 / 1.5e6
    assert best == pytest.approx(telegrams + 0.020, rel=1e-3)
    assert average == pytest.approx(telegrams + 0.020 + 0.010 + 3622 / 1.5e6, rel=1e-3)
    assert worst == pytest.approx(telegrams + 0.040 + 2 * 4979 / 1.5e6, rel=1e-3)


@pytest.mark.parametrize(
    ("watchdog_s", "degree"),
    [
        (0, Degree.CAUTION),
        (0.01, Degree.CAUTION),
        (0.02, Degree.IN_ORDER),
        (0.2, Degree.IN_ORDER),
        (651, Degree.CANNOT_WORK),
    ],
)
def test_the_watchdog_is_judged_on_both_sides(watchdog_s, degree):
    # 650.25 s is the longest: 255 · 255 · 10 ms, PROFIBUS Specification p.734 eq. 8; five worst cycles, common practice
    answer = response_answer(SIX, watchdog_s=watchdog_s)
    assert answer.degree is degree
    assert ("without end" in str(answer.caution)) == (watchdog_s == 0)
    assert any(line["what"] == "watchdog set" for line in answer.rows) == (watchdog_s > 0)


@pytest.mark.parametrize(("watchdog_s", "instead"), [(0.256, "260 ms"), (2.57, "2.58 s"), (0.2, ""), (650.25, "")])
def test_a_time_that_no_two_factors_give_is_named_with_the_next_one(watchdog_s, instead):
    # PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.734 eq. 8: 10 ms times two factors of one octet each
    answer = response_answer(SIX, watchdog_s=watchdog_s)
    (how,) = [line["how"] for line in answer.rows if line["what"] == "watchdog set"]
    assert (f"the next is {instead} = 10 ms ·" in how) if instead else "factors" not in how


def test_a_second_master_lengthens_everything_and_its_share_is_told():
    alone, computer, second = (response_answer(SIX, other=other) for other in (ALONE, COMPUTER, SECOND))
    times = [seconds(row(answer, "bus cycle, typical")["time"]) for answer in (alone, computer, second)]
    assert times == sorted(set(times))
    # token 33 + TID1 37 and a gap poll of 66 + TSL 300, at 1.5 Mbit/s
    assert seconds(row(computer, "of it the second master")["time"]) == pytest.approx(436 / 1.5e6, rel=1e-3)
    # as many stations again: the whole typical cycle once more
    assert times[2] == pytest.approx(2 * times[0], rel=1e-3)
    assert "of it the second master" not in [line["what"] for line in alone.rows]
