"""The repairs of the practice line: each cures what it restores, and elsewhere changes what it changes and no more."""

from dataclasses import replace
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from line_nets import demo

from helpers.errors import Unknown
from helpers.facts import DATA, rows
from helpers.line.faults.catalogue import FAULTS, by_key, possible
from helpers.line.faults.fault import Chosen, combined
from helpers.line.plant.build import installation_of
from helpers.line.plant.compare import differences, healthy
from helpers.line.plant.place import Place, controller, find
from helpers.line.repairs.catalogue import REPAIRS
from helpers.line.repairs.catalogue import by_key as repair
from helpers.plan.read import read_plan

RATES = (1_500_000.0, 12_000_000.0, 93_750.0)
# These move a terminator or open a door to something else whatever the plan says.
MOVE = {"terminator on", "terminator off", "fit box", "take box off"}


@cache
def mill(bit_rate=RATES[0]):
    return installation_of(replace(read_plan(DATA / "demo/saltmarsh-mill").networks[0], bit_rate=bit_rate))


def put(key, words, seed=1):
    fault = by_key(key)
    return fault.put(demo(), find(words, fault.places(demo())), seed)


def done(key, words, installation, value=None):
    action = repair(key)
    place = find(words, action.places(installation))
    return action.do(installation, place, action.planned(demo(), place) if value is None else value)


def ways(broken, fault, place, plan):
    """What each way of curing a fault leaves, where it can be done."""
    for way in fault.cures:
        now = broken
        for key in way:
            action = repair(key)
            spots = action.meeting(now, place)
            if len(spots) != 1:
                break
            now = action.do(now, spots[0], action.planned(plan, spots[0]))
        else:
            yield way, now


# -- the table ------------------------------------------------------------------------------------------------------


def test_every_repair_costs_time_and_every_cure_is_a_repair():
    keys = [action.key for action in REPAIRS]
    assert len(keys) == len(set(keys)) == len({action.name for action in REPAIRS})
    assert max(len(action.name) for action in REPAIRS) <= 53, "the list in a panel shows no more"
    assert sorted(keys) == sorted(row["key"] for row in rows("practice_costs"))
    assert all(0 < action.minutes <= 240 for action in REPAIRS)
    assert {row["standing"] for row in rows("practice_costs")} == {"common practice"}
    assert {key for fault in FAULTS for way in fault.cures for key in way} <= set(keys)
    assert all(action.places(mill()) for action in REPAIRS)
    with pytest.raises(Unknown, match="seat board"):
        repair("wait and see")


def test_the_caution_stands_where_the_hand_moves():
    inside = {"seat board", "exchange device", "connect earth wire", "mend supply", "mend release", "wire cabinet"}
    for action in REPAIRS:
        text = action.care.words
        assert ("DANGER: Mains voltage inside kills" in text and "DANGER: The DC link" in text) == (
            action.key in inside
        )
        assert not action.restarts or "may start at once, without another hand" in text, action.key
        moves = "stays in the engineering computer" not in action.hazards
        assert ("may start" in text) == moves, action.key
    assert "never bridge" in repair("mend release").care.words
    assert "lock on the switch stays" in repair("switch on").care.words
    assert "Dark is not dead" in repair("power cycle").care.words
    assert "before the drive's own switch" in repair("mend supply").care.words
    assert "Measure it, AC and DC, before you touch" in repair("connect shield").care.words


# -- it cures -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("bit_rate", RATES)
def test_every_fault_at_every_place_is_cured_by_its_repair(bit_rate):
    plan = mill(bit_rate)
    for fault, place, _ in possible(plan):
        broken = fault.put(plan, place, 5)
        assert not healthy(broken, plan)
        left = {way: differences(now, plan) for way, now in ways(broken, fault, place, plan)}
        assert len(left) == len(fault.cures) and set(left.values()) == {()}, (fault.key, place.words, left)


def test_a_cure_is_known_by_what_it_restores():
    words = "between Repeater and Intake conveyor"
    assert healthy(done("replace piece", words, put("shield open", words)), demo())
    assert healthy(done("connect shield", words, put("shield open", words)), demo())
    assert not healthy(done("connect shield", words, put("core open", words)), demo())
    exchanged = done("exchange device", "Cooling fan", put("fault returns", "Cooling fan"))
    assert not healthy(exchanged, demo()), "what opens the release is outside the drive"


def test_what_is_set_waits_for_the_supply_and_what_is_changed_for_loading():
    broken = put("format differs", "Cooling fan")
    fixed = done("set format", "Cooling fan", broken)
    assert fixed.device("Cooling fan").settings.active == broken.device("Cooling fan").settings.active
    assert healthy(done("power cycle", "Cooling fan", fixed), demo())
    program = put("bytes swapped", "program for Cooling fan")
    changed = done("program byte order", "program for Cooling fan", program)
    assert changed.loaded == program.loaded
    assert healthy(done("load controller", "Controller", changed), demo())
    at_once = done("set run source", "Cooling fan", put("run source local", "Cooling fan"))
    assert healthy(at_once, demo())


def test_an_address_over_the_bus_is_put_right_the_same_way_and_not_at_the_device():
    broken, valve = put("duplicate over the bus", "Dust filter valve"), "Dust filter valve"
    turned = done("power cycle", valve, done("set address", valve, broken))
    assert differences(turned, demo()) == differences(broken, demo()) != ()
    assert healthy(done("address over the bus", valve, broken), demo())
    # The ident number must match, and only a station with supply takes it: M. Felser, PROFIBUS Manual, address changes.
    other = combined(demo(), [Chosen(f, find(w, f.places(demo()))) for f, w in (
        (by_key("duplicate over the bus"), valve), (by_key("ident mismatch"), f"{valve} in the project"))])  # fmt: skip
    assert done("address over the bus", valve, other) == other
    dark = broken.with_device(valve, powered=False)
    assert done("address over the bus", valve, dark) == dark


def test_loading_brings_everything_that_was_changed():
    scaled = put("scaling wrong", "program for Dryer fan 1")
    two = done("address in the project", "Cooling fan in the project", scaled, 40)
    assert [text for text in differences(two, demo()) if text.endswith("loaded")] == ["Dryer fan 1: program, loaded"]
    loaded = [text for text in differences(done("load controller", "Controller", two), demo()) if "loaded" in text]
    assert loaded == ["Dryer fan 1: program, loaded", "Cooling fan: address, loaded"]


# -- it does no more ------------------------------------------------------------------------------------------------


def test_a_repair_of_what_is_right_changes_nothing():
    for action in REPAIRS:
        for place in action.places(demo()):
            after = action.do(demo(), place, action.planned(demo(), place))
            if action.key not in MOVE:
                assert after == demo(), (action.key, place.words)
            if place in action.places(after):
                assert action.do(after, place, action.planned(demo(), place)) == after, "twice is as once"


def test_terminators_can_be_moved_and_moved_back():
    moved = done("terminator on", "plug of Cooling fan", done("terminator off", "plug of Controller", demo()))
    assert differences(moved, demo()) == ("segment 1, plug 1 (Controller)", "segment 1, plug 6 (Cooling fan)")
    assert moved.stretches[0].circuit.cut_side(5) == "right", "the usual plug cuts off its outgoing cable"
    back = done("terminator on", "plug of Controller", done("terminator off", "plug of Cooling fan", moved))
    assert healthy(back, demo())
    boxed = done("fit box", "plug of Cooling fan", demo())
    assert boxed.stretches[0].circuit.cut_side(5) is None
    assert healthy(done("take box off", "plug of Cooling fan", boxed), demo())


@settings(max_examples=50, deadline=None)
@given(st.data())
def test_a_repair_elsewhere_leaves_the_fault(data):
    plan = mill(data.draw(st.sampled_from(RATES[:2])))
    fault, place, _ = data.draw(st.sampled_from(possible(plan)))
    broken = fault.put(plan, place, data.draw(st.integers(0, 99)))
    local = [action for action in REPAIRS if action.places(broken) != controller(broken)]
    action = data.draw(st.sampled_from(local))
    spots = [spot for spot in action.places(broken) if not spot.meets(place)]
    if spots:
        spot = data.draw(st.sampled_from(spots))
        after = action.do(broken, spot, action.planned(plan, spot))
        assert set(differences(after, plan)) >= set(differences(broken, plan))


def test_other_values_can_be_chosen_and_other_places_are_refused():
    address = repair("set address")
    fan = find("Cooling fan", address.places(demo()))
    assert address.choices(demo(), fan) == tuple(range(1, 126))  # usable addresses: M. Felser, PROFIBUS Manual
    assert address.do(demo(), fan, 77).device("Cooling fan").settings.set.address == 77
    assert address.planned(demo(), fan) == 12
    slower = done("set bit rate", "Controller", demo(), 500_000.0)
    assert slower.bit_rate == 500_000 and slower.delay_bits < demo().delay_bits
    assert healthy(done("set bit rate", "Controller", slower), demo())
    with pytest.raises(Unknown, match="can't be at 'the roof'"):
        address.do(demo(), Place("the roof"), 3)


def test_every_choice_can_be_made():
    for action in REPAIRS:
        place = action.places(demo())[0]
        for value in action.choices(demo(), place):
            after = action.do(demo(), place, value)
            assert (value == action.planned(demo(), place)) == (after == demo()), (action.key, value)
