"""The faults of the practice line: each changes something, at every place, and what it does follows from physics."""

import math
from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from line_nets import demo, row

from helpers.bus.cable.laid import Piece, Plug
from helpers.bus.circuit import meter
from helpers.bus.time.timing import bus_timing, longest_delay_bits
from helpers.errors import OutOfRange, Unknown
from helpers.facts import DATA
from helpers.line.faults.catalogue import FAULTS, GROUPS, by_key, possible
from helpers.line.faults.fault import Chosen, combined, exclude
from helpers.line.faults.program import standing_task
from helpers.line.plant.build import installation_of
from helpers.line.plant.changes import delay_bits, with_pieces
from helpers.line.plant.compare import differences, healthy
from helpers.line.plant.noise import noise_v
from helpers.line.plant.place import Place, find, plugs
from helpers.line.repairs.catalogue import by_key as repair
from helpers.line.traffic.line import Line
from helpers.line.traffic.medium import Medium
from helpers.plan.read import read_plan

RATES = (1_500_000.0, 12_000_000.0, 93_750.0)
WIRES = {"A": "B", "B": "A"}


@cache
def mill(bit_rate=RATES[0]):
    return installation_of(replace(read_plan(DATA / "demo/saltmarsh-mill").networks[0], bit_rate=bit_rate))


def put(key, words, seed=1, plan=None):
    plan = plan or demo()
    fault = by_key(key)
    return fault.put(plan, find(words, fault.places(plan)), seed)


def chosen(key, words, plan=None):
    fault = by_key(key)
    return Chosen(fault, find(words, fault.places(plan or demo())))


# -- the table ------------------------------------------------------------------------------------------------------


def test_there_are_enough_faults_and_each_is_told_apart_by_its_words():
    assert len(FAULTS) >= 36
    assert len({f.key for f in FAULTS}) == len({f.name for f in FAULTS}) == len({f.what for f in FAULTS}) == len(FAULTS)
    assert {f.grade for f in FAULTS} == {1, 2, 3}
    assert max(len(f.name) for f in FAULTS) <= 53, "the list in a panel shows no more"
    assert all(f.what.count(".") == 1 and f.what.endswith(".") for f in FAULTS), "one sentence each"
    assert set(GROUPS) == {"ends", "cable", "shield", "addresses", "settings", "project", "program", "drive"}
    with pytest.raises(Unknown, match="core open"):
        by_key("bad luck")


def test_every_fault_can_be_somewhere_in_the_demo_plan_at_one_of_the_bit_rates():
    assert {f.key for rate in RATES for f in FAULTS if f.places(mill(rate))} == {f.key for f in FAULTS}
    assert not by_key("crowded").places(mill()), "no source asks for a spacing at 1.5 Mbit/s without exception"
    assert {c.fault.grade for c in possible(mill(), most_grade=1)} == {1}


@pytest.mark.parametrize("bit_rate", RATES)
def test_every_fault_at_every_place_is_another_installation_and_the_same_for_the_same_seed(bit_rate):
    plan = mill(bit_rate)
    for fault, place, _ in possible(plan):
        broken = fault.put(plan, place, 7)
        assert differences(broken, plan), (fault.key, place.words)
        assert broken == fault.put(plan, place, 7), (fault.key, place.words)
        for segment, stretch in enumerate(broken.stretches):
            assert len(stretch.noise_v) == len(stretch.devices) == len(stretch.circuit.plugs)
            if stretch.circuit != plan.stretches[segment].circuit:
                assert math.isfinite(meter.volts(stretch.circuit)), (fault.key, place.words)


def test_places_have_names_of_their_own_and_others_are_refused():
    for fault in FAULTS:
        words = [place.words for place in fault.places(mill())]
        assert len(words) == len(set(words))
    with pytest.raises(Unknown, match="can't be at 'the roof'; places for it are: plug of Remote I/O"):
        by_key("cut off in the middle").put(demo(), Place("the roof"))


@settings(max_examples=40, deadline=None)
@given(st.data())
def test_faults_fit_any_row_of_drives(data):
    count = data.draw(st.integers(1, 40))
    rate = data.draw(st.sampled_from(RATES))
    plan = installation_of(row(count, rate, per_segment=12, computer=data.draw(st.sampled_from([None, 0]))))
    fault = data.draw(st.sampled_from([f for f in FAULTS if f.places(plan)]))
    place = data.draw(st.sampled_from(fault.places(plan)))
    assert differences(fault.put(plan, place, data.draw(st.integers(0, 2**32))), plan)


# -- two at once ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("first", "second"),
    [
        (("terminator missing", "plug of Controller"), ("terminator unpowered", "plug of Controller")),
        (("terminator missing", "plug of Controller"), ("terminator doubled", "plug of Controller")),
        (("wrong address", "Cooling fan"), ("duplicate address", "Cooling fan")),
        (("wrong address", "Cooling fan"), ("address as delivered", "Cooling fan")),
        (("core open", "between Repeater and Intake conveyor"), ("short", "between Repeater and Intake conveyor")),
        (("supply off", "Cooling fan"), ("supply drops", "Cooling fan")),
        (("controller in stop", "Controller"), ("controller in stop", "Controller")),
    ],
)
def test_two_at_one_thing_exclude_each_other(first, second):
    pair = chosen(*first), chosen(*second)
    assert exclude(demo(), *pair)
    assert exclude(demo(), *reversed(pair))
    with pytest.raises(OutOfRange, match="can't be together"):
        combined(demo(), pair)


def cured(installation, one, plan):
    """After the first way of its cures that can be done there, with the values of the plan; None if none can be."""
    for way in one.fault.cures:
        now = installation
        for key in way:
            action = repair(key)
            spots = action.meeting(now, one.place)
            if not spots:
                break
            now = action.do(now, spots[0], action.planned(plan, spots[0]))
        else:
            return now
    return None


@settings(max_examples=50, deadline=None)
@given(st.data())
def test_any_two_are_there_together_and_both_can_be_put_right(data):
    plan = mill(data.draw(st.sampled_from(RATES[:2])))
    pair = [data.draw(st.sampled_from(possible(plan)))._replace(seed=data.draw(st.integers(0, 99))) for _ in "ab"]
    if exclude(plan, *pair):
        assert exclude(plan, *reversed(pair))
        return
    both = combined(plan, pair)
    assert not differences(both, combined(plan, pair[::-1]))
    alone = {text for one in pair for text in differences(one.put(plan), plan)}
    assert set(differences(both, plan)) == alone
    for order in (pair, pair[::-1]):
        now = both
        for one in order:
            now = cured(now, one, plan) or now
        if healthy(now, plan):
            return
    pytest.fail(f"{[(one.fault.key, one.place.words) for one in pair]}: {differences(now, plan)}")


# -- what it does to the circuit ------------------------------------------------------------------------------------


def ohms(installation, words, first="A", second="B"):
    place = find(words, plugs(installation))
    return meter.ohms(installation.stretches[place.segment].circuit, place.plug, first, second)


def test_a_meter_finds_the_terminators_by_their_220_ohms():
    # 220 Ω each: PROFIBUS Specification (EN 50170 Vol. 2), 1997, line termination. In parallel 110 Ω, three 73 Ω.
    far = "plug of Discharge screw"
    assert ohms(demo(), far) == pytest.approx(110, abs=4)
    assert ohms(put("box missing", far), "plug of Repeater in segment 2") == pytest.approx(220, abs=0.1)
    doubled = put("terminator doubled", "plug of Repeater in segment 2")
    loop = 0.110 * 88  # Ω/m of type A, the same document p.32, and the length of the segment
    assert ohms(doubled, far) == pytest.approx(1 / (1 / 220 + 1 / (110 + loop)), abs=0.1)
    assert ohms(put("plug and box", far), far) == pytest.approx(220 / 3, abs=2)
    assert ohms(put("terminator in the middle", "plug of Engineering computer"), "plug of Controller") == pytest.approx(
        220 / 3, abs=1
    )
    assert ohms(put("box unpowered", far), far) == pytest.approx(ohms(demo(), far), rel=0.2)


def test_without_supply_the_idle_line_has_no_voltage():
    # Two terminators at 5 V give about 1.1 V, one about 0.6 V: B. & B. Electronics application note (1997), bias.
    healthy_v = meter.volts(demo().stretches[1].circuit)
    broken = put("box unpowered", "plug of Discharge screw")
    assert 1.0 < healthy_v < 1.2
    assert 0.4 < meter.volts(broken.stretches[1].circuit) < 0.7


@pytest.mark.parametrize("seed", range(3))
def test_a_short_shows_its_distance_and_a_broken_core_one_terminator(seed):
    # Loop resistance of type A: 110 Ω/km, PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.32.
    words = "between Repeater and Intake conveyor"
    shorted = put("short", words, seed)
    (fault,) = shorted.stretches[1].circuit.sections[0].faults
    assert ohms(shorted, "plug of Repeater in segment 2") == pytest.approx(
        1 / (1 / 220 + 1 / (0.110 * fault.at_m + 1e-9)), abs=0.05
    )
    assert ohms(put("core open", words, seed), "plug of Repeater in segment 2") == pytest.approx(220, abs=0.1)


def test_a_contact_adds_its_ohms_and_a_shield_that_is_open_none():
    words, near = "between Repeater and Intake conveyor", "plug of Repeater in segment 2"
    far = "plug of Intake conveyor"
    (contact,) = put("bad contact", words).stretches[1].circuit.sections[0].faults
    assert 250 <= contact.ohm <= 600  # from memory, data/practice_faults.csv
    circuit, bad = demo().stretches[1].circuit, put("bad contact", words).stretches[1].circuit
    one_core = [meter.ohms(c, 0, contact.core, contact.core, second_plug=1) for c in (circuit, bad)]
    other = WIRES[contact.core]
    assert one_core[0] < 6 < one_core[1]
    assert meter.ohms(bad, 0, other, other, second_plug=1) < 6
    open_shield = put("shield open", words)
    assert ohms(open_shield, near) == pytest.approx(ohms(demo(), near))
    assert ohms(open_shield, far) == pytest.approx(ohms(demo(), far))


def test_the_plug_that_cuts_off_leaves_the_stations_behind_it_alone():
    medium = Medium(put("cut off in the middle", "plug of Cooling fan"))
    assert medium.clean("Controller", "Cooling fan")
    assert medium.chance("Controller", "Dust filter fan", 20) < 1e-6


def test_a_loose_core_is_a_broken_one_for_a_moment():
    broken = put("loose core", "between Repeater and Intake conveyor")
    stretch = broken.stretches[1]
    (loose,) = stretch.flickers
    assert stretch.circuit == demo().stretches[1].circuit
    assert 0.05 <= loose.open_s <= 0.3 and 3 <= loose.every_s <= 10  # from memory, data/practice_faults.csv
    before, then = (broken.open_at(loose.every_s - share * loose.open_s) for share in (1.5, 0.5))
    assert before == frozenset() and then == {loose}
    whole, opened = (meter.ohms(stretch.live(frozenset(), now)) for now in (before, then))
    assert whole == pytest.approx(110, abs=4) and opened == pytest.approx(220, abs=0.1)


def test_an_overloaded_segment_has_33_unit_loads_or_more():
    # 32 unit loads are what a driver has to bear: Texas Instruments SLLA628.
    for seed in range(20):
        circuit = put("overloaded", "plug of Cooling fan", seed).stretches[0].circuit
        assert 33 <= sum(plug.receiver.unit_loads for plug in circuit.plugs) <= 40


def test_length_and_delay_go_together():
    plan, words = mill(), "between Repeater and Intake conveyor"
    for seed in range(5):
        broken = put("too long", words, seed)
        length_m = broken.stretches[1].circuit.length_m
        assert length_m > 800  # 200 m at 1.5 Mbit/s: PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.32
        more_m = length_m - plan.stretches[1].circuit.length_m
        # there and back at 5 ns/m (from memory)
        assert broken.delay_bits - plan.delay_bits == pytest.approx(2 * more_m * 5e-9 * 1.5e6)


@pytest.mark.parametrize("network", [row(3, 1.5e6), row(30, 1.5e6, per_segment=7)])
def test_the_delay_is_that_of_the_plan(network):
    built = installation_of(network)
    assert delay_bits(built) == pytest.approx(longest_delay_bits(network.ways, 1.5e6))
    assert with_pieces(built, 0, {0: Piece(3.0)}) == built


def test_a_crowd_on_poor_plugs_loses_telegrams_at_12_mbit_s_and_the_same_devices_in_a_row_do_not():
    plan = installation_of(row(30, RATES[1]))
    crowd = put("crowded", "segment 1", plan=plan)
    assert all(section.length_m <= 0.2 for section in crowd.stretches[0].circuit.sections)
    stations = [device.name for device in plan.stations]
    whole = [Medium(plan).chance("Controller", name, 20) for name in stations]
    crowded = Medium(crowd)
    assert min(whole) > 0.999 > 0.5 > min(crowded.chance("Controller", name, 20) for name in stations)


# -- shield and earth -----------------------------------------------------------------------------------------------


def test_noise_of_a_run_is_that_of_two_wires_above_a_plane():
    # C. R. Paul, Introduction to Electromagnetic Compatibility (2006): M' = µ0/4π · ln(1 + 4h²/d²); shares from memory.
    quiet = noise_v(demo(), 1)[0]
    reach_m = 299_792_458 * 0.2e-6 / 2

    def volts(distance_m):
        return 1e-7 * math.log(1 + 4 * 0.05**2 / distance_m**2) * reach_m * (1.0 / 0.2e-6)

    words = "between Repeater and Intake conveyor"
    beside, unshielded = put("beside motor cable", words), put("shield open", words)
    assert beside.stretches[1].noise_v[2] == pytest.approx(math.hypot(quiet, 0.05 * 0.2 * volts(0.02)), rel=1e-3)
    assert unshielded.stretches[1].noise_v[2] == pytest.approx(math.hypot(quiet, 0.05 * volts(0.1)), rel=1e-3)
    assert beside.stretches[0].noise_v == demo().stretches[0].noise_v
    both = combined(demo(), (chosen("beside motor cable", words), chosen("shield open", words)))
    assert both.stretches[1].noise_v[0] > beside.stretches[1].noise_v[0] + unshielded.stretches[1].noise_v[0]


def test_a_short_piece_without_shield_takes_up_little_and_a_board_disturbs_itself_alone():
    short_piece = put("shield open", "between Cooling fan and Dust filter fan")
    assert short_piece.stretches[0].noise_v[0] < 1.5 * noise_v(demo(), 0)[0]
    board = put("earth wire missing", "Cooling fan")
    plug = board.stretches[0].plug_of("Cooling fan")
    quiet = demo().stretches[0].noise_v
    assert board.stretches[0].noise_v[plug] > 2 * quiet[plug]
    assert [n for n, v in enumerate(board.stretches[0].noise_v) if v != quiet[n]] == [plug]


# -- settings, project and program ----------------------------------------------------------------------------------


def test_addresses_are_what_the_fault_says():
    wanted = {s.name: s.address for s in demo().loaded.stations}
    for seed in range(20):
        double = put("duplicate address", "Cooling fan", seed).device("Cooling fan").settings
        assert double.active.address == double.set.address in set(wanted.values()) - {wanted["Cooling fan"]}
        lost = put("wrong address", "Cooling fan", seed).device("Cooling fan").settings
        assert lost.set.address not in wanted.values() and 1 <= lost.set.address <= 125
        waiting = put("address not active", "Cooling fan", seed).device("Cooling fan").settings
        assert waiting.set.address == wanted["Cooling fan"] != waiting.active.address
        twice = put("duplicate in the project", "Cooling fan in the project", seed).loaded
        assert len({s.address for s in twice.stations}) == len(twice.stations) - 1
    assert put("address as delivered", "Cooling fan").device("Cooling fan").address == 126


def at(*addresses):
    """A row of drives at these addresses; the controller asks each at its own, on the bus every one answers."""
    network = row(len(addresses), RATES[0])
    (segment,) = network.segments
    controller, *drives = segment.plugs
    placed = tuple(replace(drive, address=address) for drive, address in zip(drives, addresses, strict=True))
    return installation_of(replace(network, segments=(replace(segment, plugs=(controller, *placed)),)))


@pytest.mark.parametrize("addresses", [(7, 7), (7, 7, 7), (7,), (7, 8), (7, 7, 8), tuple(range(2, 25))])
def test_a_fault_is_offered_only_where_there_is_an_address_for_it(addresses):
    whole = at(*addresses)
    for fault in (f for f in FAULTS if f.group == "addresses"):
        for place in fault.places(whole):
            assert fault.put(whole, place, 1) != whole
    assert bool(by_key("duplicate address").places(whole)) == (len(set(addresses)) > 1)


def test_an_address_over_the_bus_stays_and_only_a_drive_whose_description_allows_it_can_have_one():
    # Set_Slave_Add_supp = 1: M. Felser, PROFIBUS Manual, address changes. Here only the description of drive C says so.
    (place,) = by_key("duplicate over the bus").places(mill())
    assert place.device == "Dust filter valve"
    wanted = {s.name: s.address for s in demo().loaded.stations}
    for seed in range(20):
        settings = put("duplicate over the bus", "Dust filter valve", seed).device("Dust filter valve").settings
        assert settings.set.address == wanted["Dust filter valve"] != settings.active.address in wanted.values()
    line = Line(put("duplicate over the bus", "Dust filter valve"))
    taken = line.installation.device("Dust filter valve").address
    other = next(name for name, address in wanted.items() if address == taken)
    line.run(2.0)
    line.power_cycle("Dust filter valve")
    line.run(2.0)
    assert line.installation.device("Dust filter valve").address == taken, "the supply was off, and it stays"
    assert line.handler("Dust filter valve").counters.lost > 0, "nobody is where it should be"
    assert line.handler(other).counters.damaged > 0, "and two answer at one address"


def test_what_is_not_loaded_is_right_in_the_engineering_computer_alone():
    for seed in range(10):
        broken = put("not loaded", "Cooling fan in the project", seed)
        assert broken.edited == demo().edited != broken.loaded


def test_a_short_watchdog_ends_within_a_cycle_and_there_is_none_so_short_on_a_fast_bus():
    plan = mill(RATES[2])
    broken = put("watchdog short", "Cooling fan in the project", plan=plan)
    line = Line(plan)
    line.run(1.0)
    assert 0.01 <= broken.loaded.station("Cooling fan").watchdog_s <= line.last.bits / plan.bit_rate
    assert not by_key("watchdog short").places(mill(RATES[1]))


def test_an_older_description_has_other_identifiers_of_the_same_length():
    broken = put("description outdated", "Cooling fan in the project").loaded.station("Cooling fan").configuration
    right = demo().loaded.station("Cooling fan").configuration
    assert broken.octets != right.octets
    assert (broken.bytes_in, broken.bytes_out) == (right.bytes_in, right.bytes_out)


# -- the line runs with them ----------------------------------------------------------------------------------------


def test_each_drive_does_what_its_own_fault_makes_of_it():
    at = {"bit 10 missing": "program for Dryer fan 1", "start sequence": "program for Dryer fan 2",
          "scaling wrong": "program for Cooling fan", "run source local": "Dust filter fan",
          "setpoint source local": "Dust filter valve", "fault returns": "Bucket elevator",
          "address not active": "Discharge screw"}  # fmt: skip
    broken = combined(demo(), [chosen(key, words) for key, words in at.items()])
    line = Line(broken)
    line.run(8.0)
    speed = {device.name: line.applications[device.name].speed_percent for device in broken.stations[1:]}
    assert [name for name, percent in speed.items() if abs(percent) > 10] == ["Intake conveyor"]
    assert line.installation == broken
    assert line.handler("Discharge screw").counters.lost > 0 and line.handler("Bucket elevator").counters.lost == 0
    line.power_cycle("Discharge screw")
    line.run(2.0)
    assert line.handler("Discharge screw").counters.starts == 1
    assert line.installation.device("Discharge screw").address == 22


def test_a_fault_acts_on_a_line_that_runs_and_its_repair_brings_the_station_back():
    line = Line(demo())
    line.run(0.2)
    line.change(lambda now: put("wrong address", "Cooling fan", plan=now))
    line.run(0.2)
    assert line.handler("Cooling fan").counters.lost > 0
    fan = Place("Cooling fan", "Cooling fan")
    line.change(lambda now: repair("set address").do(now, fan, 12))
    line.run(0.2)
    assert line.handler("Cooling fan").inputs is None, "set, but not active yet"
    line.change(lambda now: repair("power cycle").do(now, fan))
    line.run(0.2)
    assert line.handler("Cooling fan").inputs is not None
    assert healthy(line.installation, demo())


def test_slot_time_is_longer_than_any_delay_that_the_faults_make():
    # A station is lost by its waveform or its settings, never because the controller did not wait: TSL of EN 50170.
    for rate in RATES[:2]:
        plan = mill(rate)
        for place in by_key("too long").places(plan):
            assert by_key("too long").put(plan, place, 1).delay_bits < bus_timing(rate).tsl_bits


# -- odd corners ----------------------------------------------------------------------------------------------------


def test_a_bare_terminator_at_an_end_has_a_place_with_words():
    built = installation_of(row(2, 1.5e6))
    stretch = built.stretches[0]
    plugs_and_box = (*stretch.laid.plugs, Plug("", kind="terminator"))
    laid = replace(stretch.laid, plugs=plugs_and_box, pieces=(*stretch.laid.pieces, Piece(1.0)))
    longer = built.with_stretch(0, laid=laid, noise_v=(*stretch.noise_v, 0.05))
    assert plugs(longer)[-1].words == "right end of segment 1"
    assert by_key("terminator missing").places(longer)[-1].words == "right end of segment 1"
    assert "between Drive 2 and right end" in [place.words for place in by_key("core open").places(longer)]


def test_a_change_of_both_projects_leaves_what_was_not_loaded():
    waiting = put("not loaded", "Cooling fan in the project")
    broken = put("scaling wrong", "program for Dryer fan 1", plan=waiting)
    assert broken.loaded.station("Dryer fan 1") == broken.edited.station("Dryer fan 1")
    assert broken.loaded.station("Cooling fan") == waiting.loaded.station("Cooling fan")


def test_a_task_that_the_program_takes_back_counts_as_none():
    plan = demo()
    calm = replace(plan.loaded.station("Intake conveyor").program, task=standing_task())
    calmer = plan.loaded.with_station("Intake conveyor", program=calm)
    assert healthy(replace(plan, edited=calmer, loaded=calmer), plan)
    assert not healthy(put("task stands", "program for Intake conveyor"), plan)
    insistent = replace(plan.loaded, retries=5)
    assert not healthy(replace(plan, edited=insistent, loaded=insistent), plan)
    assert not healthy(replace(plan, delay_bits=99.0), plan)
