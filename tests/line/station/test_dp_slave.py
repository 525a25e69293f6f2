"""The states of a DP slave, seen through its telegrams alone.

Order of the states: Lika SFA-10000 manual p.15. Lock and unlock: Norgren FD67 manual p.26 and Festo CP-FB13 manual
p.2-33. What leads back, and the answer RS, are from memory.
"""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.services import message, set_prm, slave_diag
from helpers.bus.services.diag_blocks import DeviceBlock
from helpers.bus.telegram import frame as frames
from helpers.bus.telegram.function_code import next_count
from helpers.device.identifiers import decode
from helpers.line.station.dp_slave import EXCHANGE, WAIT_CFG, WAIT_PRM, DpSlave

OWN = decode(bytes.fromhex("F1"))  # 2 words in and out
ADDRESS, MASTER = 9, 1


class Load:
    """An application that remembers what it was told."""

    def __init__(self):
        self.got, self.lost, self.reports, self.answer = [], 0, (), b"\x11\x22\x33\x44"

    def take_outputs(self, octets):
        self.got.append(octets)

    def bus_lost(self):
        self.lost += 1

    def inputs(self):
        return self.answer

    def advance(self, dt_s):
        pass

    def blocks(self):
        return self.reports

    def power_up(self):
        pass


def bare(**changes):
    """A Set_Prm with neither lock nor unlock: only min TSDR and the station's own parameters are overwritten."""
    return set_prm.build(**{"ident": 0xFFF1, "flags": (), **changes}).octets


class Bench:
    """A slave under power, and a controller that counts its frames."""

    def __init__(self, **changes):
        self.load = Load()
        self.slave = DpSlave(ident=0xFFF1, own=OWN, address=ADDRESS, application=self.load, **changes)
        self.slave.power_up(0.0, address=ADDRESS, own=OWN)
        self.count, self.now = "first", 0.0

    def ask(self, service, data=b"", *, to=ADDRESS, sender=MASTER, again=False):
        if not again:
            self.sent = message.request(service, to=to, sender=sender, data=data, count=self.count).octets
            if service != "Global_Control":
                self.count = next_count(self.count)
        answer = self.slave.answer(self.sent, self.now)
        return None if answer is None else next(frames.read(answer)).frame

    def diagnosis(self, **how):
        return slave_diag.decode(self.ask("Slave_Diag", **how).user_data)

    def parameters(self, **changes):
        given_ = {"ident": 0xFFF1, "watchdog_s": 0.1, "flags": ("Lock_Req", "WD_On"), **changes}
        return self.ask("Set_Prm", set_prm.build(**given_).octets)

    def start(self, **changes):
        self.parameters(**changes)
        self.ask("Chk_Cfg", OWN.octets)
        return self


def test_the_way_into_data_exchange():
    bench = Bench()
    assert bench.slave.state == WAIT_PRM
    assert {"Prm_Req", "Station_Not_Ready"} <= bench.diagnosis().flags
    assert bench.parameters().kind == "SC"
    assert bench.slave.state == WAIT_CFG
    assert bench.ask("Chk_Cfg", OWN.octets).kind == "SC"
    assert bench.slave.state == EXCHANGE
    said = bench.diagnosis()
    assert said.flags == {"fixed 1", "WD_On"}
    assert (said.master, said.ident) == (MASTER, 0xFFF1)
    assert bench.ask("Data_Exchange", bytes.fromhex("047F0000")).data == bench.load.answer
    assert bench.load.got == [bytes.fromhex("047F0000")]


@pytest.mark.parametrize(
    ("service", "data"), [("Data_Exchange", bytes(4)), ("Chk_Cfg", OWN.octets)], ids=["data", "configuration"]
)
def test_what_comes_too_early_is_refused(service, data):
    bench = Bench()
    assert bench.ask(service, data).fc & 0x0F == 3  # RS
    assert bench.slave.state == WAIT_PRM


def test_a_wrong_ident_number_is_a_parameter_fault():
    bench = Bench()
    bench.parameters(ident=0xFFF2)
    assert bench.slave.state == WAIT_PRM
    assert "Prm_Fault" in bench.diagnosis().flags
    bench.parameters()
    assert "Prm_Fault" not in bench.diagnosis().flags


@pytest.mark.parametrize("octets", [0, 1, 2, 3, 4])
def test_another_number_of_own_parameters_is_a_parameter_fault(octets):
    bench = Bench(user_octets=2)
    bench.parameters(user=bytes(octets))
    assert (bench.slave.state == WAIT_CFG) == (octets == 2)
    assert ("Prm_Fault" in bench.diagnosis().flags) == (octets != 2)


def test_neither_lock_nor_unlock_changes_nothing_but_min_tsdr_and_the_parameters():
    bench = Bench(user_octets=2)
    # PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.734: the ident number need not be the station's own here.
    assert bench.ask("Set_Prm", bare(min_tsdr_bits=60, ident=0)).kind == "SC"
    assert (bench.slave.state, bench.slave.min_tsdr_bits) == (WAIT_PRM, 60)
    assert bench.diagnosis(sender=2).master == 255, "nobody has become its master"
    bench.start(user=b"\x01\x02")
    assert (bench.slave.state, bench.slave.min_tsdr_bits) == (EXCHANGE, 11)
    assert bench.ask("Set_Prm", bare(min_tsdr_bits=0, user=b"\x03\x04")).kind == "SC"
    assert (bench.slave.state, bench.slave.master, bench.slave.min_tsdr_bits) == (EXCHANGE, MASTER, 11)
    assert bench.slave.parameters.user == b"\x03\x04" and "Lock_Req" in bench.slave.parameters.flags
    assert bench.diagnosis().flags == {"fixed 1", "WD_On"}
    bench.ask("Set_Prm", bare(min_tsdr_bits=99), sender=2)
    assert bench.slave.min_tsdr_bits == 11, "it belongs to another master"


@pytest.mark.parametrize("flags", [("Unlock_Req",), ("Lock_Req", "Unlock_Req")])
def test_unlock_releases_the_station_and_wins_over_lock(flags):
    bench = Bench().start()
    bench.parameters(flags=flags)
    assert bench.slave.state == WAIT_PRM and bench.load.lost == 1
    assert bench.diagnosis().master == 255


def test_a_watchdog_in_steps_of_1_ms_is_obeyed_where_the_station_works_by_dpv1():
    # Optris DP manual p.18: bit 2 of octet 8 makes the steps of the watchdog 1 ms.
    for offers, lost in (({"DPV1_Enable"}, 1), (set(), 0)):
        bench = Bench(user_octets=3, offers=frozenset(offers)).start(watchdog_s=0.1, base_s=0.001, dpv1=())
        assert bench.slave.state == EXCHANGE
        bench.now = 0.11
        bench.slave.look(bench.now)
        assert bench.load.lost == lost


HOLDS = frozenset({"Sync_Req", "Freeze_Req"})


@pytest.mark.parametrize("flag", sorted(HOLDS))
def test_a_station_that_can_not_hold_refuses_to_be_asked_for_it(flag):
    bench = Bench(offers=HOLDS - {flag}).start(flags=("Lock_Req", flag))
    assert bench.slave.state == WAIT_PRM
    assert {"Prm_Fault", "Not_Supported"} <= bench.diagnosis().flags
    assert Bench(offers=HOLDS).start(flags=("Lock_Req", flag)).slave.state == EXCHANGE


def command(bench, octet):
    return bench.ask("Global_Control", bytes((octet, 0)), to=127)


def exchange(bench, octets="047F0000"):
    return bench.ask("Data_Exchange", bytes.fromhex(octets)).data


def test_sync_holds_the_outputs_until_the_next_sync_or_unsync():
    # ABB FPBA-01 manual p.122, Elpro 105U-G manual p.101: outputs are taken over at the command, and held.
    bench = Bench(offers=HOLDS).start(flags=("Lock_Req", *HOLDS))
    exchange(bench, "047E0000")
    command(bench, 0x20)  # sync
    for _ in range(3):
        exchange(bench, "047F0000")
    assert bench.load.got[-1] == bench.slave.outputs == bytes.fromhex("047E0000")
    assert "Sync_Mode" in bench.diagnosis().flags
    command(bench, 0x20)
    assert bench.load.got[-1] == bytes.fromhex("047F0000")
    exchange(bench, "047F1000")
    assert bench.load.got[-1] == bytes.fromhex("047F0000")
    command(bench, 0x10)  # unsync
    assert bench.load.got[-1] == bytes.fromhex("047F1000")
    exchange(bench, "047F2000")
    assert bench.load.got[-1] == bytes.fromhex("047F2000")
    assert "Sync_Mode" not in bench.diagnosis().flags


def test_clear_reaches_the_outputs_that_sync_holds():
    bench = Bench(offers=HOLDS).start(flags=("Lock_Req", *HOLDS))
    exchange(bench)
    command(bench, 0x20)
    command(bench, 0x02)  # clear
    assert bench.load.got[-1] == bytes(4)


def test_freeze_holds_the_inputs_until_the_next_freeze_or_unfreeze():
    bench = Bench(offers=HOLDS).start(flags=("Lock_Req", *HOLDS))
    old, new = exchange(bench), b"\x55\x66\x77\x88"
    command(bench, 0x08)  # freeze
    bench.load.answer = new
    assert [exchange(bench) for _ in range(3)] == [old] * 3
    assert "Freeze_Mode" in bench.diagnosis().flags
    command(bench, 0x08)
    assert exchange(bench) == new
    bench.load.answer = old
    assert exchange(bench) == new
    command(bench, 0x04)  # unfreeze
    assert exchange(bench) == old


@pytest.mark.parametrize("octet", [0x20, 0x08])
def test_what_was_not_asked_for_in_set_prm_is_neither_held_nor_reported(octet):
    bench = Bench(offers=HOLDS).start()
    exchange(bench, "047E0000")
    command(bench, octet)
    bench.load.answer = b"\x55\x66\x77\x88"
    assert exchange(bench, "047F0000") == bench.load.answer and bench.load.got[-1] == bytes.fromhex("047F0000")
    assert not bench.diagnosis().flags & {"Sync_Mode", "Freeze_Mode"}


def test_a_wrong_configuration_is_a_configuration_fault_and_leads_back():
    bench = Bench()
    bench.parameters()
    bench.ask("Chk_Cfg", bytes.fromhex("F3"))
    assert bench.slave.state == WAIT_PRM
    assert {"Cfg_Fault", "Prm_Req"} <= bench.diagnosis().flags


def test_a_second_master_does_not_get_the_station():
    bench = Bench().start()
    bench.ask("Set_Prm", set_prm.build(ident=0xFFF1).octets, sender=2)
    assert bench.diagnosis(sender=2).master == MASTER
    assert bench.slave.state == EXCHANGE
    assert bench.ask("Data_Exchange", bytes(4), sender=2).fc & 0x0F == 3


@pytest.mark.parametrize(("pause", "left"), [(0.09, 0), (0.11, 1)])
def test_the_watchdog_takes_it_out_of_data_exchange(pause, left):
    bench = Bench().start()
    bench.ask("Data_Exchange", bytes.fromhex("047F0000"))
    bench.now = pause
    bench.slave.look(bench.now)
    assert bench.load.lost == left
    assert bench.slave.state == (WAIT_PRM if left else EXCHANGE)


def test_the_watchdog_is_not_saved_by_a_telegram_that_comes_too_late():
    bench = Bench().start()
    bench.ask("Data_Exchange", bytes(4))
    bench.now = 5.0
    assert bench.ask("Data_Exchange", bytes(4)).fc & 0x0F == 3
    assert bench.load.lost == 1


def test_without_a_watchdog_it_waits_for_ever():
    bench = Bench().start(flags=("Lock_Req",), watchdog_s=0)
    bench.now = 1e6
    bench.slave.look(bench.now)
    assert bench.slave.state == EXCHANGE


def test_a_repetition_gets_the_same_answer_and_is_not_worked_twice():
    bench = Bench()
    first = bench.parameters()
    assert bench.ask("", again=True) == first
    assert bench.slave.state == WAIT_CFG


def test_clear_takes_the_outputs_away_and_operate_gives_them_back():
    bench = Bench().start()
    bench.ask("Data_Exchange", bytes.fromhex("047F0000"))
    assert bench.ask("Global_Control", b"\x02\x00", to=127) is None
    assert bench.load.got[-1] == bytes(4)
    bench.ask("Data_Exchange", bytes.fromhex("047F0000"))
    assert bench.load.got[-1] == bytes(4)
    bench.ask("Global_Control", b"\x00\x00", to=127)
    bench.ask("Data_Exchange", bytes.fromhex("047F0000"))
    assert bench.load.got[-1] == bytes.fromhex("047F0000")


def test_news_make_the_answer_high_priority_until_the_diagnosis_was_fetched():
    bench = Bench().start()
    assert bench.ask("Data_Exchange", bytes(4)).fc & 0x0F == 8
    bench.load.reports = (DeviceBlock(b"\x07"),)
    bench.slave.look(0.01)
    assert bench.ask("Data_Exchange", bytes(4)).fc & 0x0F == 10
    said = bench.diagnosis()
    assert "Ext_Diag" in said.flags and said.blocks == bench.load.reports
    assert bench.ask("Data_Exchange", bytes(4)).fc & 0x0F == 8


def test_an_address_over_the_bus_counts_only_where_it_may_change():
    order = bytes.fromhex("14 FFF1 00")
    assert Bench().ask("Set_Slave_Add", order).kind == "SD1"
    bench = Bench(fixed_address=False)
    assert bench.ask("Set_Slave_Add", order).kind == "SC"
    assert bench.slave.address == 20
    assert bench.ask("Slave_Diag") is None
    assert bench.ask("Slave_Diag", to=20) is not None


def test_without_supply_it_is_silent():
    bench = Bench().start()
    bench.slave.power_down()
    assert bench.ask("Slave_Diag") is None
    assert bench.load.lost == 1
    bench.slave.power_up(1.0, address=ADDRESS, own=OWN)
    assert bench.slave.state == WAIT_PRM


@settings(max_examples=200)
@given(octets=st.binary(min_size=1, max_size=40), started=st.booleans())
def test_any_octets_are_answered_or_left_alone(octets, started):
    bench = Bench().start() if started else Bench()
    answer = bench.slave.answer(octets, 0.0)
    if answer is not None:
        assert next(frames.read(answer)).frame is not None
        assert next(frames.read(octets)).frame is not None


@settings(max_examples=100)
@given(st.sampled_from(["Set_Prm", "Chk_Cfg", "Set_Slave_Add", "Get_Cfg", "Slave_Diag"]), st.binary(max_size=30))
def test_any_data_of_a_service_gets_an_answer(service, data):
    bench = Bench(fixed_address=False)
    assert bench.ask(service, data) is not None
