"""The octets that start a station: as chosen, as published, as read back, with what the station would object to."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers import facts
from helpers.bus.recording.start_up_octets import (
    assembled,
    build_answer,
    offered_bits,
    read_answer,
    read_groups,
    read_watchdog,
)
from helpers.bus.services import set_prm
from helpers.device.description.modules import configure
from helpers.device.description.read import read_description
from helpers.errors import OutOfRange, Unknown, Unreadable, WorkbookError
from helpers.verdict import Degree

FOLDER = facts.DATA / "demo" / "descriptions"
MILL, COMPACT, OLD = (read_description(FOLDER / f"Mil_FFF{n}.gsd") for n in (1, 2, 3))
SETUP = configure(MILL, ["PPO 4"])


def test_published_octets():
    # ABB FPBA-01 manual p.76; the watchdog factors are put in (1 and 1).
    (row, *_) = facts.where("published/bus_services", service="Set_Prm")
    made = assembled(
        configure(COMPACT),
        ident=0x0959,
        watchdog=(1, 1),
        extra=("Sync_Req", "Freeze_Req"),
    )
    assert made.octets[:7].hex(" ").upper() == row["octets"]


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("200 ms", 0.2), ("0,05 s", 0.05), ("200", 0.2), ("1 x 20", (1, 20)), ("2×10", (2, 10)), ("off", 0.0), ("", 0.0)],
)
def test_a_watchdog_as_people_write_it(typed, meant):
    assert read_watchdog(typed) == meant


@pytest.mark.parametrize("typed", ["0 x 20", "1 x 256", "soon", "-1 ms x", "-1 ms", "651 s"])
def test_a_watchdog_that_can_not_be(typed):
    with pytest.raises(WorkbookError):
        read_watchdog(typed)


@settings(max_examples=50, deadline=None)
@given(st.integers(1, 255), st.integers(1, 255), st.sampled_from((0.01, 0.001)))
def test_the_watchdog_both_ways(one, two, base_s):
    # PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.734 eq. 8: base · factor 1 · factor 2.
    made = assembled(SETUP, watchdog=(one, two), base_s=base_s)
    assert made.octets[1:3] == bytes((one, two))
    time_s = made.watchdog_s(dpv1=True)
    assert time_s == pytest.approx(base_s * one * two)
    assert assembled(SETUP, watchdog=time_s, base_s=base_s).watchdog_s(dpv1=True) == pytest.approx(time_s)


def test_the_bits_of_dpv1_come_into_the_octets_that_the_description_gives():
    made = assembled(SETUP, base_s=0.001, extra=("Fail_Safe",))
    assert len(made.user) == len(SETUP.user_parameters)
    assert made.user[0] == 0xC4  # Optris DP manual p.18; C4 is the default of a Lenze EPM station
    assert made.user[3:] == SETUP.user_parameters[3:]
    plain = configure(OLD)
    assert assembled(plain, base_s=0.001).user == bytes([0x84, 0, 0]) + plain.user_parameters


def test_lock_groups_and_offered_bits():
    locks = {"locked": 0x88, "released": 0x48, "only min TSDR": 0x08}  # Norgren FD67 manual p.26
    for lock, octet in locks.items():
        assert assembled(SETUP, lock=lock).octets[0] == octet
    assert assembled(SETUP, watchdog=0.0).octets[0] == 0x80
    assert assembled(SETUP, groups=read_groups("1; 8")).octets[6] == 0x81
    assert read_groups("none") == frozenset()
    with pytest.raises(OutOfRange):
        read_groups("9")
    assert "WD_On" not in offered_bits() and {"Sync_Req", "Fail_Safe"} <= set(offered_bits())
    for name in offered_bits():
        assert set_prm.decode(assembled(SETUP, extra=(name,)).octets)


def test_the_answer_tells_octets_and_objections():
    answer = build_answer(MILL, ["PPO 4"], {"when the bus fails": "ramp down"})
    assert answer.degree is Degree.IN_ORDER and answer.caution
    assert sum(len(bytes.fromhex(row["value"])) for row in answer.rows) == 14
    wrong = build_answer(MILL, ["PPO 4"], None, ident=0xFFF2)
    assert wrong.degree is Degree.BY_STANDARD and "16#FFF2" in wrong.because and "16#FFF1" in wrong.because
    assert build_answer(OLD, [], None, base_s=0.001).degree is Degree.CANNOT_WORK
    assert build_answer(MILL, ["PPO 4"], None, watchdog=0.0).degree is Degree.CAUTION


def test_a_module_in_a_slot_that_does_not_take_it_is_not_in_order():
    # slot 1 of the demo description does not list the option, slot 2 takes nothing else
    for chosen in (["option: 16 inputs"], ["PPO 4", "PPO 4"]):
        answer = build_answer(MILL, chosen, None)
        assert answer.degree is Degree.CANNOT_WORK and "does not take it" in answer.because
    assert build_answer(MILL, ["PPO 4", "option: 16 inputs"], None).degree is Degree.IN_ORDER


@pytest.mark.parametrize("lock", ["released", "only min TSDR"])
def test_who_does_not_lock_does_not_start(lock):
    # Norgren FD67 manual p.26, Festo CP-FB13 manual p.2-33: only bit 7 without bit 6 gives the station to the master
    answer = build_answer(MILL, ["PPO 4"], None, lock=lock)
    assert answer.degree is Degree.CAUTION and "does not start" in answer.because


def test_what_is_put_together_is_read_back_with_its_names():
    made = build_answer(MILL, ["PPO 4"], {"delay before a stop, in 10 ms": "250"}, watchdog=(3, 7))
    octets = b"".join(bytes.fromhex(row["value"]) for row in made.rows)
    read = read_answer(octets.hex(), MILL)
    assert read.degree is Degree.IN_ORDER and "210 ms" in read.sentence
    values = dict(read.folded)["The station's own parameters, with the values sent"]
    assert {row["parameter"]: row["value sent"] for row in values}["delay before a stop, in 10 ms"] == "250"


def test_what_can_not_be():
    with pytest.raises(Unreadable):
        read_answer("")
    with pytest.raises(Unknown):
        build_answer(MILL, ["PPO 9"])
