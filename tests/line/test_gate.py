"""One gate for bench and practice: what it refuses, in which words, and how long a word that people are clear holds."""

from functools import cache, partial

import pytest
from line_nets import row

from helpers.caution import NOTICE
from helpers.errors import Unknown, Unreadable
from helpers.facts import rows
from helpers.line.gate import ALIVE, DEAD, Gate, Refused
from helpers.line.hazard import ASKS, EVERYWHERE, HERE, ISOLATED, Care, care, declared, hazard
from helpers.line.instruments.catalogue import places
from helpers.line.instruments.io_sheet import image
from helpers.line.instruments.reading import instrument, instruments
from helpers.line.plant.build import installation_of
from helpers.line.plant.place import find
from helpers.line.practice.case import Case
from helpers.line.practice.observation import usual
from helpers.line.practice.session import Session
from helpers.line.repairs.catalogue import REPAIRS, by_key
from helpers.line.station.keypad import keys
from helpers.line.traffic.line import Line


@cache
def small():
    return installation_of(row(2, 1_500_000))


def running():
    line = Line(small())
    line.run(7)
    return Gate(line)


def session():
    return Session(Case(1, 2, small(), (), small(), usual(small()), False, "", "", ()))


def place(key, words):
    return find(words, by_key(key).places(small()))


# -- every action declares its hazard ---------------------------------------------------------------------------------


def declarations():
    yield from ((f"repair {each.key}", each.hazards) for each in REPAIRS)
    yield from ((f"instrument {each.key}", each.hazards) for each in instruments())
    yield from ((f"key {each.key}", each.hazards) for each in keys())
    yield from ((f"action {each['action']}", each["hazards"]) for each in rows("actions"))


@pytest.mark.parametrize(("action", "text"), tuple(declarations()))
def test_every_action_declares_its_hazards_or_why_there_are_none(action, text):
    told = declared(text)
    assert bool(told.hazards) != bool(told.because), action


@pytest.mark.parametrize("text", ["", "  ", "none", "none, because ", "none, because   ", "none; starts"])
def test_a_declaration_that_says_nothing_is_refused(text):
    with pytest.raises(Unreadable, match="has to name its hazards"):
        declared(text)
    with pytest.raises(Unknown, match="starts any"):
        declared("starts; explodes")


def test_each_hazard_is_declared_by_some_action_and_tells_what_happens():
    used = {each.key for _, text in declarations() for each in declared(text).hazards}
    assert used == {each["hazard"] for each in rows("hazards")}
    for each in map(hazard, used):
        assert each.caution.words.endswith(".") and each.asks in ("", *ASKS)
        assert each.asks not in (HERE, EVERYWHERE) or each.caution.injures, "a motor that starts can hurt"


def test_what_needs_an_isolated_bus_has_a_hazard_that_says_why_and_the_other_way_round():
    for each in (*REPAIRS, *instruments()):
        told = declared(each.hazards)
        assert bool(told.asking(ISOLATED)) == (each.bus == DEAD), each.key


def test_whatever_changes_the_line_asks_for_the_people():
    desk = {each.key for each in REPAIRS if declared(each.hazards).because}
    assert all("project" in key or "program" in key or key == "load description" for key in desk)
    for each in REPAIRS:
        assert each.key in desk or each.care.asking(HERE, EVERYWHERE), each.key
    assert care("release").asking(HERE) and care("write").asking(HERE) and care("restore").asking(EVERYWHERE)


def test_words_by_hand_are_said_to_pass_the_interlocks_of_this_machine_and_its_neighbours():
    assert "interlocks" in care("write").words and "before and behind" in care("write").words


# -- one gate ---------------------------------------------------------------------------------------------------------

TRIES = {
    "ohms": (
        lambda g: g.take("ohms", places(small(), "ohms")[1]),
        lambda s: s.take("ohms", places(small(), "ohms")[1]),
    ),
    "seat board": (
        lambda g: g.repair(by_key("seat board"), place("seat board", "Drive 1")),
        lambda s: s.repair("seat board", place("seat board", "Drive 1")),
    ),
    "terminator off": (
        lambda g: g.repair(by_key("terminator off"), place("terminator off", "plug of Drive 2")),
        lambda s: s.repair("terminator off", place("terminator off", "plug of Drive 2")),
    ),
    "acknowledge": (lambda g: g.press("Drive 1", "acknowledge"), lambda s: s.acknowledge("Drive 1")),
    "write": (lambda g: g.write(out(g.line), 0x047E), lambda s: s.write(out(s.line), 0x047E)),
}  # fmt: skip


def out(line, station="Drive 1"):
    return f"%QW{image(line).stretch(station, 'out').first_byte}"


@pytest.mark.parametrize("key", TRIES)
def test_bench_and_practice_refuse_the_same_in_the_same_words(key):
    at_gate, in_session = TRIES[key]
    with pytest.raises(Refused) as bench:
        at_gate(running())
    with pytest.raises(Refused) as practice:
        in_session(session())
    assert str(bench.value) == str(practice.value)


def test_nothing_is_measured_dead_or_opened_while_drives_turn():
    gate = running()
    assert not gate.line.applications["Drive 1"].machine.standstill
    with pytest.raises(Refused, match=r"isolated, locked and measured dead.*NOTICE.*false") as ohms:
        gate.take("ohms", places(small(), "ohms")[1])
    with pytest.raises(Refused, match="DANGER: Mains voltage inside kills") as board:
        gate.repair(by_key("seat board"), place("seat board", "Drive 1"))
    assert board.value.unsafe and not ohms.value.unsafe, "a false reading hurts nobody"
    assert instrument("ohms").bus == DEAD and NOTICE in str(ohms.value)
    gate.isolate()
    assert gate.line.applications["Drive 1"].machine.standstill
    assert gate.take("ohms", places(small(), "ohms")[1]).lines
    gate.repair(by_key("seat board"), place("seat board", "Drive 1"))
    with pytest.raises(Refused, match="needs it in operation"):
        gate.press("Drive 1", "stop")
    with pytest.raises(Refused, match="people are clear of Drive 1, Drive 2,"):
        gate.restore()
    gate.say_clear(("Drive 1", "Drive 2"))
    gate.restore()
    assert gate.bus == ALIVE


def release(gate):
    return gate.release()


def terminator(gate, key="terminator off"):
    return gate.repair(by_key(key), place(key, "plug of Drive 2"))


def test_a_word_for_one_machine_is_none_for_another_and_goes_with_the_action():
    gate = running()
    gate.say_clear(("Drive 1",))
    with pytest.raises(Refused, match="people are clear of Drive 2"):
        gate.press("Drive 2", "acknowledge")
    gate.press("Drive 1", "acknowledge")
    with pytest.raises(Refused, match="people are clear of Drive 1"):
        gate.press("Drive 1", "acknowledge")


def test_a_word_ends_when_time_passes_and_when_the_machine_changes():
    gate = running()
    gate.say_clear(("Drive 1",))
    gate.line.run(0.001)
    with pytest.raises(Refused, match="The plant has changed since you said it"):
        gate.press("Drive 1", "start")
    gate.say_clear(("Drive 1", "Drive 2"))
    gate.line.change(lambda now: now.with_device("Drive 1", powered=False))
    assert gate.clear(("Drive 2",)) and not gate.clear(("Drive 1",))


def test_a_terminator_and_a_release_ask_for_every_machine_that_may_start():
    gate = running()
    gate.say_clear(("Drive 2",))
    with pytest.raises(Refused, match="of Drive 1, Drive 2, and say so"):
        terminator(gate)
    gate.say_clear(("Drive 1", "Drive 2"))
    assert terminator(gate)
    gate.say_clear(("Drive 1",))
    gate.write(out(gate.line), 0x047E)
    gate.line.run(30)
    with pytest.raises(Refused, match="people are clear of Drive 1,") as stands:
        release(gate)
    assert stands.value.unsafe
    gate.say_clear(("Drive 1",))
    assert release(gate) == ("Drive 1",)


def test_only_a_motor_that_stands_can_start():
    gate = running()
    gate.say_clear(("Drive 1",))
    gate.write(out(gate.line), 0x047F)
    gate.line.run(1)
    with pytest.raises(Refused) as turns:
        release(gate)
    assert not turns.value.unsafe


def test_a_device_that_is_no_station_may_bring_back_any():
    gate = running()
    assert gate.machines(by_key("power cycle").care, "Drive 1") == ("Drive 1",)
    assert gate.machines(by_key("power cycle").care, "Repeater 1") == ("Drive 1", "Drive 2")
    assert gate.machines(by_key("program task").care, "Drive 1") == ()
    assert gate.machines(Care((), "of a reason"), "Drive 1") == ()


def test_many_machines_are_counted_few_are_named():
    gate = Gate(Line(installation_of(row(5, 1_500_000))))
    with pytest.raises(Refused, match="clear of all 5 machines of this network"):
        gate.repair(
            by_key("controller to run"), find("Controller", by_key("controller to run").places(gate.line.installation))
        )


def test_a_wrong_place_key_or_address_is_told_before_the_gate_asks():
    gate = running()
    for wrong in (partial(gate.press, "Drive 9", "start"), partial(gate.press, "Drive 1", "launch")):
        with pytest.raises(Unknown):
            wrong()
