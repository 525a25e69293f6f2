"""The panel that plays a rotation: it tells what the calculation says, at every step, and draws inside its sheet."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.cable.bit_rates import bit_rates
from helpers.bus.telegram.frame import read
from helpers.bus.time.answers import rotation_answer
from helpers.bus.time.cycle import one_cycle
from helpers.bus.time.timing import bus_timing
from helpers.errors import OutOfRange
from helpers.panels.time.polling import CONTROLLER, demo_line, demo_stations, polling_panel, rotation_drawing

STEPS = 20  # token, nine requests with their answers, one look into the gap
ADDRESSES = [station.address for station in demo_line()]


def at(step: int, rate: float = 1_500_000, silent: int | None = None):
    names = {station.address: station.name for station in demo_stations()}
    return rotation_answer(demo_line(silent), step, bit_rate=rate, controller=CONTROLLER, names=names, off={0})


def words_in(answer) -> list[str]:
    return re.findall(r"<text[^>]*>([^<]*)</text>", rotation_drawing(*answer.pictures).svg)


def test_the_demo_line_carries_what_its_plan_says() -> None:
    # Invented: data/demo/saltmarsh-mill. A drive told to run at half speed: 16#047F (ABB FPBA-01 manual p.142) and
    # 16#2000, half of the 16#4000 that is 100 %.
    line = {station.name: station for station in demo_line()}
    assert len(line) == 9
    assert line["Dust filter valve"].outputs == bytes.fromhex("047F 2000")
    assert line["Dryer fan 1"].inputs[:4] == bytes.fromhex("0337 2000")
    assert (len(line["Remote I/O"].outputs), len(line["Remote I/O"].inputs)) == (2, 2)


@given(st.integers(1, STEPS), st.sampled_from(bit_rates()), st.none() | st.sampled_from(ADDRESSES))
def test_every_step_tells_sender_receiver_octets_and_clock(step: int, rate: float, silent: int | None) -> None:
    shown = at(step, rate, silent)
    drawing = rotation_drawing(*shown.pictures)
    assert shown.sentence.startswith(f"Telegram {step} of {STEPS}, at ")
    octets = bytes.fromhex(re.search(r": ((?:[0-9A-F]{2} ?)+);", drawing.says)[1])
    (piece,) = read(octets)
    assert not piece.problem
    assert shown.rows[0]["bit times"] == 11 * len(octets)
    assert len(shown.sentence) < 105
    assert len(shown.because) < 125
    for x in re.findall(r' x="([-\d.]+)"', drawing.svg):
        assert 0 <= float(x) <= drawing.width
    assert drawing.width <= 760
    assert drawing.height <= 330


@pytest.mark.parametrize("rate", bit_rates())
def test_the_whole_rotation_is_the_cycle(rate: float) -> None:
    last = at(STEPS, rate).rows[-1]["bit times"]
    assert last == one_cycle([station.exchange for station in demo_line()], bit_rate=rate).bits


def test_the_clock_runs_on_without_a_hole() -> None:
    ends = [at(step).rows[-1]["bit times"] for step in range(1, STEPS + 1)]
    takes = [sum(row["bit times"] for row in at(step).rows[:2]) for step in range(1, STEPS + 1)]
    assert ends == [sum(takes[: n + 1]) for n in range(STEPS)]


def test_a_silent_station_is_asked_twice_and_the_others_wait() -> None:
    address, name = ADDRESSES[2], demo_line()[2].name
    told = [at(step, silent=address) for step in range(1, STEPS + 1)]
    about = [view for view in told if f"{name} (address {address})" in view.sentence]
    assert [("again" in view.sentence, "answers" in view.sentence) for view in about] == [(False, False), (True, False)]
    assert all(view.rows[1]["bit times"] == bus_timing(1_500_000).tsl_bits for view in about)
    assert "silent" in words_in(about[0])
    assert told[-1].rows[-1]["bit times"] > at(STEPS).rows[-1]["bit times"]


def test_silence_costs_more_than_an_answer_at_every_bit_rate() -> None:
    for rate in bit_rates():
        assert at(STEPS, rate, 22).rows[-1]["bit times"] > at(STEPS, rate).rows[-1]["bit times"]


def test_who_sends_and_who_is_meant_is_said_in_words() -> None:
    token, request, answer = (words_in(at(step)) for step in (1, 2, 3))
    assert "keeps it" in token
    assert {"sends", "is meant", "to 3", "from 1", "request"} <= set(request)
    assert {"sends", "is meant", "to 1", "from 3", "answer"} <= set(answer)


@pytest.mark.parametrize("step", [0, STEPS + 1])
def test_a_step_that_is_not_there_is_refused(step: int) -> None:
    with pytest.raises(OutOfRange, match=f"telegram is {step}; allowed is 1 to 20"):
        at(step)


def test_the_panel_opens_stopped_at_the_first_request_and_plays_to_the_end() -> None:
    panel = polling_panel()
    play = panel.fields["step"].around.children[1]
    assert "Telegram 2 of 20" in panel.result.value
    assert not play.playing
    assert play.max == STEPS
    for step in range(1, STEPS + 1):
        play.value = step
        assert f"Telegram {step} of {STEPS}" in panel.result.value
    panel.fields["silent"].widget.value = 22
    panel.fields["bit_rate"].widget.value = 12_000_000.0
    assert panel.said.value == ""
    assert "Nobody answers" not in panel.result.value  # the last step is the gap poll
    panel.fields["step"].widget.value = 18
    assert "Nobody answers" in panel.result.value
    panel.fields["silent"].widget.value = 0
    assert "Nobody answers" not in panel.result.value
