"""What is said of time on the bus, against published sums and against arithmetic done by hand."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.time.answers import ALONE, COMPUTER, SECOND, cycle_answer, response_answer, step_answer
from helpers.bus.time.message_cycle import Exchange
from helpers.device import formats
from helpers.verdict import Degree

SIX = (Exchange(12, 12),) * 6


def row(answer, what):
    return next(row for row in answer.rows if row["what"] == what)


def seconds(text):
    number, unit = text.replace("−", "-").replace("±", "").removeprefix("+").split()
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


def item(answer, name):
    return next(row for row in answer.rows if row["item"] == name)


@pytest.mark.parametrize("drives", [1, 8, 124])
@pytest.mark.parametrize(
    ("before", "after"), [("PPO 3", "PPO 5"), ("PPO 5", "PPO 3"), ("PPO 1", "PPO 4"), ("Mill 2/3", "PPO 2")]
)
def test_a_longer_format_costs_eleven_bits_a_byte_for_each_drive(before, after, drives):  # fmt: skip
    # 11 bit times for each byte: M. Felser, PROFIBUS Manual, calculation for single masters
    more = formats.by_name(after).bytes_both - formats.by_name(before).bytes_both
    view = step_answer(before, after, drives)
    for row in view.rows:
        number, unit = row["bit rate"].split()
        bit_rate = float(number) * {"kbit/s": 1e3, "Mbit/s": 1e6}[unit]
        assert seconds(row["difference"]) == pytest.approx(drives * more * 11 / bit_rate, rel=1e-3)
        assert seconds(row[f"all {after}"]) - seconds(row[f"all {before}"]) == pytest.approx(
            drives * more * 11 / bit_rate, abs=2e-3 * seconds(row[f"all {after}"])
        )
    word = "longer" if more > 0 else "shorter" if more < 0 else "no longer and no shorter"
    assert f"makes the cycle {word}:" in view.sentence


def test_every_bit_rate_has_its_row_and_the_chosen_one_its_mark():
    view = step_answer("PPO 3", "PPO 4", 6, 12_000_000.0)
    assert len(view.rows) == 10  # ABB RPBA-01 manual p.113
    assert [row["bit rate"] for row in view.rows if row["chosen"]] == ["12 Mbit/s"]


def test_the_published_estimate_and_sum_stand_beside_the_calculation():
    # 20 slaves, 80 bytes, 1.5 Mbit/s, 4917 µs with a rounded bit time: M. Felser, PROFIBUS Manual, estimation formula
    view = cycle_answer((Exchange(2, 2),) * 20)
    assert "The estimate says about 4.915 ms (4.424 ms to 5.407 ms)" in view.because
    # 615 for token and gap, 300 + 11n for each message: the same manual, calculation for single masters
    assert item(view, "token and gap poll")["handbook, bit"] == 615
    assert item(view, "together")["handbook, bit"] == 615 + 20 * (300 + 11 * 4)
    # the standard's form by hand: token 33 + TID1 37, gap poll 66 + TSL 300, messages 267 + 11n
    assert item(view, "together")["standard, bit"] == 33 + 37 + 66 + 300 + 20 * (267 + 11 * 4)
    assert item(view, "together")["estimate, bit"] == round(380 + 300 * 20 + 11 * 80 + 75e-6 * 1.5e6)


@settings(max_examples=25)
@given(
    st.lists(st.tuples(st.integers(0, 244), st.integers(0, 244)), min_size=1, max_size=6),
    st.sampled_from([9_600.0, 45_450.0, 500_000.0, 12_000_000.0]),
    st.booleans(),
)
def test_each_column_adds_up_and_the_sentence_gives_the_sum(sizes, bit_rate, computer):
    view = cycle_answer(tuple(Exchange(*size) for size in sizes), bit_rate, masters=1 + computer)
    for head in ("standard, bit", "handbook, bit", "estimate, bit"):
        *items, total = [line[head] for line in view.rows]
        assert sum(items) == pytest.approx(total, abs=len(items))
    typical, best, worst = (seconds(time) for time in re.findall(r"[\d.]+ (?:µs|ms|s)\b", view.sentence))
    assert best <= typical <= worst
    assert typical == pytest.approx(view.rows[-1]["standard, bit"] / bit_rate, rel=2e-3)


def test_a_second_master_lost_telegrams_and_the_cable_lengthen_the_cycle():
    stations = (Exchange(12, 12),) * 6
    plain = cycle_answer(stations)
    for how in ({"masters": 2}, {"lost": 5}, {"length_m": 1000}):
        assert cycle_answer(stations, **how).sentence != plain.sentence
    assert item(cycle_answer(stations, masters=2), "other masters and waiting")["handbook, bit"] == 0


def test_a_slow_station_stretches_the_cycle_and_is_named():
    view = cycle_answer((Exchange(2, 2),) * 1, 12_000_000.0, interval_s=0.001)
    assert "is asked once in 1 ms" in view.sentence and "is waiting for the slowest station" in view.because
    assert "waiting" not in cycle_answer((Exchange(2, 2),) * 1, 12_000_000.0).because


def test_the_bars_say_the_time_of_their_bits():
    # 1.5 Mbit/s: so many bit times / 1.5e6, written with four figures
    answer = cycle_answer((Exchange(2, 2),) * 20)
    bars, over = answer.pictures
    for note, column in zip(bars.notes, ("standard, bit", "handbook, bit", "estimate, bit"), strict=True):
        assert seconds(note.words) == pytest.approx(item(answer, "together")[column] / 1.5e6, rel=2e-4)
        assert note.x == pytest.approx(item(answer, "together")[column], abs=1)
    assert over.upright == [1500]
    assert over.curves[0].x[0] == 9.6 and over.curves[0].x[-1] == 12_000
