"""Each start ends as its fault demands, and once put right in data exchange."""

import pytest

from helpers.bus.recording import recording_text
from helpers.bus.services import set_prm
from helpers.errors import OutOfRange, Unknown
from helpers.line.traffic.start_up import StartUpStep
from helpers.line.traffic.start_up_answer import (
    BEFORE,
    MOST,
    Act,
    LadderPicture,
    cases,
    set_where,
    start,
    start_up_answer,
)

# What the diagnosis shows in the end: Norgren FD67 manual p.45 for the bits.
BITS = {
    "ident number of another device": "Prm_Fault",
    "another data format in the drive": "Cfg_Fault",
    "too many parameter octets": "Prm_Fault",
    "wrong address at the drive": "Station_Non_Existent",
    "address set, drive not off since": "Station_Non_Existent",
    "watchdog too short": "Prm_Req",
    "saved, but never loaded": "Cfg_Fault",
    "drive still switched off": "Station_Non_Existent",
}


def of_steps(told):
    return [item for item in told.items if isinstance(item, StartUpStep)]


def test_every_case_is_here():
    assert set(cases()) == {"nothing", *BITS}


@pytest.mark.parametrize("wrong", BITS)
def test_a_fault_shows_and_its_repair_leads_into_data_exchange(wrong):
    left = of_steps(start(wrong, False))
    assert any(BITS[wrong] in step.diagnosis.flags for step in left if step.diagnosis)
    assert left[-1].controller != "exchanges data"
    mended = start(wrong, True)
    assert of_steps(mended)[-1].controller == "exchanges data"
    assert of_steps(mended)[-1].station == "data exchange"
    acts = [item for item in mended.items if isinstance(item, Act)]
    assert acts and acts[0].number == BEFORE + 1
    assert [item.number for item in mended.items] == list(range(1, len(mended.items) + 1))
    assert len(mended.items) <= MOST and len(mended.plants) == len(mended.items)
    for n in range(1, MOST + 1):
        assert start_up_answer(wrong, True, n).sentence.endswith(".")


def test_without_a_fault_it_is_the_order_of_the_lesson():
    # Moxa MGate 4101 manual p.A-4.
    told = of_steps(start("nothing", True))
    assert [step.service for step in told[:5]] == [
        "Slave_Diag", "Set_Prm", "Chk_Cfg", "Slave_Diag", "Data_Exchange",
    ]  # fmt: skip
    assert start_up_answer("nothing", False, 5).caution and not start_up_answer("nothing", False, 1).caution


def test_the_station_gets_the_parameters_of_its_description():
    (step,) = [one for one in of_steps(start("nothing", False)) if one.service == "Set_Prm"]
    sent = set_prm.decode(step.telegrams[0].frame.user_data)
    assert sent.user.hex(" ") == "00 00 00 81 00 64 00"  # as data/demo/descriptions/Mil_FFF1.gsd gives them
    assert recording_text.read(step.text).octets.endswith(b"\xe5")


def test_what_is_saved_loaded_and_active_side_by_side():
    plants = start("saved, but never loaded", True).plants
    (row,) = [row for row in set_where(plants[0]) if row["alike?"] != "yes"]
    assert list(row.values())[:4] == ["data format", "PPO 2", "PPO 4", "PPO 2"]
    assert all(row["alike?"] == "yes" for row in set_where(plants[-1]))


def test_limits_and_the_last_step():
    with pytest.raises(OutOfRange):
        start_up_answer("nothing", False, 0)
    with pytest.raises(Unknown, match="watchdog too short"):
        start_up_answer("bad luck", False, 1)
    assert start_up_answer("nothing", False, MOST) == start_up_answer("nothing", False, 16)
    assert "by hand" in LadderPicture(start("watchdog too short", True).items[:9]).says
