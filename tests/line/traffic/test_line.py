"""The practice line as a whole: its time against the calculation, its telegrams against the lesson, its determinism."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from line_nets import demo, row

from helpers.bus.cable.bit_rates import bit_rates
from helpers.bus.recording.telegram_meaning import read
from helpers.bus.telegram import frame as frames
from helpers.bus.telegram.frame import Frame
from helpers.bus.time import rotation as one_rotation
from helpers.bus.time.cycle import OtherMaster, one_cycle
from helpers.drive.settings import changed
from helpers.line.plant.build import installation_of
from helpers.line.traffic.controller import EXCHANGE
from helpers.line.traffic.line import Line

START = ["Slave_Diag", "Set_Prm", "Chk_Cfg", "Slave_Diag", "Data_Exchange"]


def rotations(line, count):
    """So many undisturbed rotations, one after the other."""
    found = []
    while len(found) < count:
        line.run(1e-9)
        found.append(line.last)
    return found


@pytest.mark.parametrize("bit_rate", bit_rates())
def test_an_undisturbed_rotation_takes_the_calculated_bit_times(bit_rate):
    # The calculation is the standard's: PROFIBUS Specification p.900 eq. 21, see helpers.bus.time.cycle.
    network = row(3, bit_rate, watchdog_s=3)
    installation = installation_of(network)
    line = Line(installation)
    rotations(line, 12)  # all stations are in data exchange by then
    exchanges = [station.exchange for station in network.slaves]
    for rotation in rotations(line, 130):
        calculated = one_cycle(
            exchanges,
            bit_rate=bit_rate,
            gap_answered=rotation.gap_answered,
            delay_bits=installation.delay_bits,
        )
        assert rotation.bits == pytest.approx(calculated.bits, abs=1e-3)
        assert not rotation.disturbed
    assert {n for n, what in line.found.items() if what == "station"} == {2, 3, 4}


def test_the_search_goes_over_all_addresses_up_to_the_highest_of_the_hsa():
    # Elpro 105U-G/905U-G manual p.85: the HSA goes up to 126. The calculation looks no less far.
    line = Line(installation_of(row(1, 1_500_000)))
    line.recording.on = True
    rotations(line, 126)
    polled = [
        t.frame.receiver for t in read(line.recording.octets) if t.service == "FDL status" and t.role == "request"
    ]
    assert polled == [*range(2, 127), 0]
    stations = [one_rotation.Polled(address, f"drive {address}") for address in range(126) if address != 1]
    assert one_rotation.rotation(stations, bit_rate=1_500_000)[-1].receiver == 126


def test_a_second_holder_of_the_token_costs_what_the_calculation_says():
    network = row(4, 1_500_000, computer=60, watchdog_s=3)
    installation = installation_of(network)
    line = Line(installation)
    rotations(line, 12)
    calculated = one_cycle(
        [station.exchange for station in network.slaves],
        bit_rate=1_500_000,
        others=[OtherMaster()],
        delay_bits=installation.delay_bits,
    )
    quiet = [rotation for rotation in rotations(line, 20) if not rotation.gap_answered]
    assert quiet
    for rotation in quiet:
        assert rotation.bits == pytest.approx(calculated.bits, abs=1e-3)


def test_a_station_is_started_by_the_telegrams_of_the_lesson():
    # Moxa MGate 4101 manual p.A-4: diagnosis, parameters, configuration, diagnosis.
    line = Line(demo())
    line.recording.on = True
    line.run(0.5)
    asked = [t for t in read(line.recording.octets) if t.role == "request" and t.frame.receiver == 10]
    asked = [t.service for t in asked if t.service != "FDL status"]  # the look into the gap
    assert asked[:5] == START
    assert set(asked[5:]) == {"Data_Exchange"}
    assert [t.problem for t in frames.read(line.recording.octets) if t.problem] == []


def test_all_stations_of_the_demo_site_get_into_data_exchange():
    line = Line(demo())
    line.run(0.5)
    assert {handler.phase for handler in line.handlers} == {EXCHANGE}
    assert all(h.counters.starts == 1 and not h.counters.repeats for h in line.handlers)


def test_the_same_seed_gives_the_same_recording():
    def recorded(seed):
        line = Line(demo().with_stretch(1, noise_v=(0.45,) * len(demo().stretches[1].devices)), seed=seed)
        line.recording.on = True
        line.run(0.3)
        return line.recording.text(line.installation.bit_rate)

    assert recorded(7) == recorded(7)
    assert recorded(7) != recorded(8)


# -- what comes out by itself -------------------------------------------------------------------------------------


def test_a_pulled_terminator_loses_stations_at_12_mbit_and_is_silent_at_93_75_kbit():
    def lost(bit_rate):
        whole = installation_of(row(12, bit_rate, spacing_m=8))
        line = Line(whole)
        line.run(0.3 if bit_rate > 1e6 else 3)
        assert not any(h.counters.lost or h.counters.repeats for h in line.handlers)
        line.change(lambda i: i.with_plug(0, -1, terminator_on=False))
        line.run(0.3 if bit_rate > 1e6 else 3)
        return {h.name for h in line.handlers if h.counters.lost}, sum(h.counters.repeats for h in line.handlers)

    fast, repeats = lost(12e6)
    assert fast and repeats
    assert len(fast) < 12 or repeats  # which ones depends on the place
    assert lost(93_750) == (set(), 0)


def test_which_stations_are_lost_depends_on_the_end_that_is_open():
    def lost(end):
        whole = installation_of(row(12, 12e6, spacing_m=8))
        line = Line(whole)
        line.run(0.1)
        line.change(lambda i: i.with_plug(0, end, terminator_on=False))
        line.run(0.2)
        return tuple(h.counters.lost > 0 for h in line.handlers)

    assert lost(0) != lost(-1)


def test_two_stations_at_one_address_are_both_lost():
    whole = demo()
    line = Line(whole)
    line.run(0.3)
    line.change(
        lambda i: i.with_device("Cooling fan", settings=changed(i.device("Cooling fan").settings, "address", 10))
    )
    line.run(0.3)
    assert line.handler("Dryer fan 1").phase == EXCHANGE  # it is set, and not active yet
    line.power_cycle("Cooling fan")
    line.run(0.5)
    assert line.handler("Dryer fan 1").counters.damaged
    assert line.handler("Dryer fan 1").phase != EXCHANGE
    assert line.handler("Cooling fan").diagnosis.flags == {"Station_Non_Existent"}


def twins(**changes):
    """Two drives that are equal in all, at one address since the bus was switched on; the controller knows one."""
    network = row(2, 1_500_000)
    installation = installation_of(network)
    settings = changed(installation.device("Drive 2").settings, "address", 2)
    second = replace(settings, active=settings.set)
    loaded = replace(installation.loaded, stations=installation.loaded.stations[:1])
    return replace(installation.with_device("Drive 2", settings=second, **changes), edited=loaded, loaded=loaded)


@pytest.mark.parametrize("tsdr_bits", [None, 11, 30, 300])
def test_equal_answers_of_two_stations_at_one_address_collide_like_any_others(tsdr_bits):
    # On a cable no two devices answer at the same moment to the bit: each has a clock and a time to answer of its own,
    # anywhere between min and max TSDR (PROFIBUS Specification, EN 50170 Vol. 2).
    line = Line(twins(tsdr_bits=tsdr_bits))
    line.recording.on = True
    line.run(0.5)
    handler = line.handler("Drive 1")
    assert handler.phase != EXCHANGE and not handler.counters.starts
    assert handler.counters.damaged and handler.counters.repeats
    answers = [one for one in frames.read(line.recording.octets) if one.frame and one.frame.sender == 2]
    assert not answers, "what is left of two answers is no telegram"
    line.change(lambda i: i.with_device("Drive 2", powered=False))
    line.run(0.5)
    assert handler.phase == EXCHANGE


def test_the_answer_comes_no_sooner_than_the_min_tsdr_that_the_controller_gave():
    def first_answer(min_tsdr_bits):
        line = Line(installation_of(row(1, 1_500_000)))
        line.run(0.1)
        line.slaves["Drive 1"].min_tsdr_bits = min_tsdr_bits
        return rotations(line, 1)[0].bits

    assert first_answer(500) - first_answer(11) > 400


def test_a_repeater_without_supply_takes_its_segment_with_it():
    line = Line(demo())
    line.run(0.3)
    line.change(lambda i: i.with_device("Repeater", powered=False))
    line.run(0.3)
    lost = {h.name for h in line.handlers if h.phase != EXCHANGE}
    assert {"Intake conveyor", "Bucket elevator", "Discharge screw"} <= lost


def test_a_change_of_the_project_acts_only_when_it_is_loaded():
    line = Line(demo())
    line.run(0.3)
    wrong = demo().loaded.with_station("Dryer fan 1", data_format="PPO 2")
    line.change(lambda i: replace(i, edited=wrong))
    line.run(0.3)
    assert line.handler("Dryer fan 1").phase == EXCHANGE
    line.change(lambda i: replace(i, edited=wrong, loaded=wrong))
    line.run(0.3)
    assert "Cfg_Fault" in line.handler("Dryer fan 1").diagnosis.flags


def test_another_ident_number_is_refused_as_a_parameter_fault():
    line = Line(demo().with_device("Dryer fan 1", ident=0xFFF2))
    line.run(0.3)
    assert "Prm_Fault" in line.handler("Dryer fan 1").diagnosis.flags


@pytest.mark.parametrize(("watchdog_s", "runs"), [(0.05, False), (2, True)])
def test_a_watchdog_shorter_than_the_cycle_never_lets_a_station_into_data_exchange(watchdog_s, runs):
    line = Line(installation_of(row(4, 9600, watchdog_s=watchdog_s)))
    line.run(6)
    assert line.last.bits / 9600 > 0.05
    assert all((h.phase == EXCHANGE) == runs for h in line.handlers)


def test_a_stopped_controller_clears_the_outputs():
    line = Line(demo())
    line.run(0.3)
    line.change(lambda i: replace(i, running=False))
    line.run(0.1)
    slave = line.slaves["Dryer fan 1"]
    assert slave.clear and not any(slave.outputs) and slave.state == "data exchange"
    line.change(lambda i: replace(i, running=True))
    line.run(0.3)
    assert not slave.clear and any(slave.outputs)


def test_a_computer_whose_token_is_not_heard_falls_out_of_the_ring_and_the_rest_goes_on():
    line = Line(installation_of(row(3, 1_500_000, computer=60)))
    line.run(0.1)
    with_computer = line.last.bits
    line.change(lambda i: i.with_device("Computer", powered=False))
    line.run(0.1)
    assert line.last.bits < with_computer
    assert {handler.phase for handler in line.handlers} == {EXCHANGE}


def test_a_recording_has_a_bound():
    line = Line(demo())
    line.recording = type(line.recording)(most=100)
    line.recording.on = True
    line.run(0.2)
    assert len(line.recording) == 100
    assert line.recording.lost > 100


# -- whatever happens ----------------------------------------------------------------------------------------------


@settings(max_examples=25, deadline=None)
@given(
    count=st.integers(1, 6),
    bit_rate=st.sampled_from(bit_rates()),
    noise=st.floats(0, 3),
    off=st.integers(0, 6),
    seed=st.integers(0, 99),
)
def test_time_goes_on_and_no_telegram_with_a_wrong_check_sum_is_accepted(count, bit_rate, noise, off, seed):
    whole = installation_of(row(count, bit_rate))
    line = Line(whole.with_stretch(0, noise_v=(noise,) * len(whole.stretches[0].devices)), seed=seed)
    taken = []
    for handler in line.handlers:
        handler.take = lambda octets, take=handler.take: (taken.append(octets), take(octets))[1]
    wait = 4000 / bit_rate
    line.run(wait)
    before = line.now_s
    line.change(lambda i: i.with_device(f"Drive {1 + off % count}", powered=False))
    line.run(wait)
    assert line.now_s >= before + wait
    for octets in set(taken):
        (found,) = frames.read(octets)
        assert isinstance(found.frame, Frame)
