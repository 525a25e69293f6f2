"""What telegrams mean: pairs, repetitions, damage, and every octet explained; the demo recording; any octets at all."""

import contextlib
from itertools import accumulate

import mangled
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers import facts
from helpers.bus.recording import recording_text
from helpers.bus.recording.telegram_meaning import ANSWER, REQUEST, ServiceData, read, service_data
from helpers.bus.services import message, set_prm
from helpers.bus.telegram import function_code
from helpers.bus.telegram.frame import Frame, frame
from helpers.errors import Unreadable, WorkbookError

RECORDING = (facts.DATA / "demo" / "bus_recording.txt").read_text(encoding="utf-8")
ASKED = message.request("Data_Exchange", to=12, sender=1, data=bytes(4), count="counted, 0")
ANSWERED = message.answer(ASKED, bytes(6))
TOKEN = Frame("token", 1, 1)
STRANGE = bytes.fromhex("00 55")


def recording(*pieces):
    return b"".join(piece if isinstance(piece, bytes) else piece.octets for piece in pieces)


def told(*pieces):
    return list(read(recording(*pieces)))


def covers(one):
    sizes = [len(line.octets) for line in one.lines]
    assert b"".join(line.octets for line in one.lines) == one.octets
    assert [line.first for line in one.lines] == [1, *(1 + end for end in accumulate(sizes))][: len(sizes)]
    assert all(line.name and line.meaning for line in one.lines)


# -- the demo recording -------------------------------------------------------------------------------


def test_the_start_of_a_station_in_the_demo_recording():
    # The order of the services at a start: Moxa MGate 4101 manual p.A-4
    pasted = recording_text.read(RECORDING)
    found = list(read(pasted.octets))
    assert not pasted.problems
    order = [one.service for one in found if one.role == "request" and one.frame.receiver != 2]
    assert order[:6] == ["Slave_Diag", "Set_Prm", "Chk_Cfg", "Slave_Diag", "Slave_Diag", "Global_Control"]
    assert set(order[6:]) == {"Data_Exchange", "Slave_Diag"}
    states = [one.meaning.split(";")[0] for one in found if one.service == "Slave_Diag" and one.role == "answer"]
    assert states == [
        "waits for parameters",
        "not ready yet",
        "in order",
        "in data exchange, with a fault of its own: line break",
    ]
    for one in found:
        covers(one)


def test_what_is_unusual_in_the_demo_recording():
    pasted = recording_text.read(RECORDING)
    found = list(read(pasted.octets))
    unusual = {pasted.line_of(one.at).number: one.remark for one in found if one.remark}
    assert unusual == {
        4: "no answer",
        19: "no answer that could be read",
        20: "octet 20: FCS is 16#4E, but the octets from DA on add up to 16#5E; one of them or FCS is wrong",
        21: "repeated: same octets and same frame count as before",
        24: "16#00 begins no telegram",
        30: "no answer",
        31: "repeated: same octets and same frame count as before; no answer",
    }
    for one in found:
        if one.partner:
            other = found[one.partner - 1]
            assert other.partner == one.number
            assert {one.role, other.role} == {"request", "answer"}
    # all others are answered, but for what nobody answers
    alone = [one for one in found if not one.partner and one.role == "request" and not one.remark]
    assert [one.service for one in alone] == ["Global_Control"]


def test_the_configuration_seen_at_the_start_names_the_data():
    found = list(read(recording_text.read(RECORDING).octets))
    data = [one for one in found if one.service == "Data_Exchange" and one.role == "answer"][-1]
    words = [line for line in data.lines if line.name.startswith("input")]
    assert [line.name for line in words] == [f"input word {n}" for n in range(1, 7)]
    assert words[0].meaning == "16#0337, place 1"
    assert "new diagnosis" in data.meaning


# -- pairs --------------------------------------------------------------------------------------------


def test_a_request_and_its_answer():
    asked, answered = told(ASKED, ANSWERED)
    assert (asked.role, asked.way, asked.partner, asked.remark) == ("request", "master 1 to station 12", 2, "")
    assert (answered.role, answered.way, answered.partner, answered.remark) == (
        "answer",
        "station 12 to master 1",
        1,
        "",
    )
    assert (asked.meaning, answered.meaning) == ("4 output bytes: 00 00 00 00", "6 input bytes: 00 00 00 00 00 00")


@pytest.mark.parametrize(
    ("pieces", "partners"),
    [
        ((ASKED, Frame("SC")), [2, 1]),
        ((ASKED, STRANGE, ANSWERED), [3, 0, 1]),
        ((ASKED, ASKED, ANSWERED), [0, 3, 2]),
        ((ASKED, TOKEN, ANSWERED), [0, 0, 0]),
        ((ANSWERED,), [0]),
        ((Frame("SC"),), [0]),
        ((ASKED, frame(to=1, sender=13, fc=8, data=b"x")), [0, 0]),  # another station answers
        ((ASKED, frame(to=2, sender=12, fc=8, data=b"x")), [0, 0]),  # to another controller
        ((ASKED, ANSWERED, ANSWERED), [2, 1, 0]),
    ],
)
def test_which_answer_belongs_to_which_request(pieces, partners):
    assert [one.partner for one in told(*pieces)] == partners


def test_no_answer_is_looked_for_behind_much_rubbish():
    damaged = bytearray(ANSWERED.octets)
    damaged[8] ^= 1
    assert told(ASKED, *[bytes(damaged)] * 8, ANSWERED)[0].partner == 10
    found = told(ASKED, *[bytes(damaged)] * 9, ANSWERED)
    assert found[0].partner == 0
    assert found[0].remark == "no answer that could be read"
    assert found[-1].remark == "nobody asked for this answer"
    assert [one.number for one in found] == list(range(1, 12))


def test_what_nobody_answers():
    everybody = message.request("Global_Control", to=127, sender=1, data=b"\x02\x00")
    one, other = told(everybody, Frame("SC"))
    assert (one.way, one.partner, one.remark) == ("master 1 to all stations", 0, "")
    assert one.meaning == "Clear_Data, all stations"
    assert other.remark == "nobody asked for this answer"
    assert told(frame(to=127, sender=1, fc=0x6D))[0].remark == ""  # a request to all can't be answered


def test_repetitions():
    first = message.request("Data_Exchange", to=12, sender=1, data=bytes(4), count="counted, 1")
    other = message.request("Data_Exchange", to=13, sender=1, data=bytes(4), count="counted, 0")
    uncounted = message.request("Data_Exchange", to=12, sender=1, data=bytes(4))

    def repeated(*pieces):
        return [one.number for one in told(*pieces) if one.remark.startswith("repeated")]

    assert repeated(ASKED, ASKED) == [2]
    assert repeated(ASKED, other, ASKED) == [3]  # each pair has a count of its own
    assert repeated(ASKED, first, ASKED) == []
    assert repeated(uncounted, uncounted) == []
    assert repeated(ASKED, uncounted, ASKED) == []  # the count began anew
    assert repeated(ASKED, message.request("Data_Exchange", to=12, sender=1, data=b"more", count="counted, 0")) == []


# -- meaning ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("service", "data", "request_says", "answer", "answer_says"),
    [
        ("Slave_Diag", b"", "asks for the diagnosis", "02 05 00 FF FF F1", "waits for parameters"),
        ("Slave_Diag", b"", "asks", "02 05 00", "can't be read as Slave_Diag: number of octets of Slave_Diag is 3"),
        ("Get_Cfg", b"", "asks for the configuration", "F3 F1", "2 places, 12 bytes out, 12 bytes in"),
        ("Set_Prm", bytes.fromhex("88 01 14 0B FF F1 00"), "watchdog 200 ms", "", "received"),
        ("Set_Prm", b"\x00", "can't be read as Set_Prm", "", "received"),
        ("Chk_Cfg", b"\xf1", "1 place, 4 bytes out", "", "received"),
        ("Chk_Cfg", b"\xc3", "can't be read as Chk_Cfg: place 1", "", "received"),
        ("Set_Slave_Add", bytes.fromhex("0C FF F1 00"), "new address 12", "", "received"),
        ("Rd_Inp", b"", "reads the inputs", "01 02", "2 input bytes: 01 02"),
        ("Rd_Outp", b"", "reads the outputs", "01 02", "2 output bytes: 01 02"),
        ("Data_Exchange", b"", "no outputs; asks for the inputs", "", "received; no inputs"),
        ("Ext_User_Prm", b"\x01\x02", "Ext_User_Prm, 2 data bytes", "", "received"),
        ("Ext_User_Prm", b"", "Ext_User_Prm", "01", "1 data byte"),
    ],
)
def test_what_services_say(service, data, request_says, answer, answer_says):
    asked = message.request(service, to=12, sender=1, data=data, count="counted, 0")
    one, other = told(asked, message.answer(asked, bytes.fromhex(answer)))
    assert (one.service, other.service, other.partner) == (service, service, 1)
    assert request_says in one.meaning
    assert answer_says in other.meaning
    covers(one)
    covers(other)


def test_tokens_and_status_polls():
    # published/bus_telegrams
    ready = frame(to=1, sender=2, fc=function_code.answer("OK", "master ready"))
    token, poll, there = told(Frame("token", 3, 1), bytes.fromhex("10 02 01 49 4C 16"), ready)
    assert (token.role, token.meaning) == ("token", "1 hands the token to 3")
    assert (poll.service, poll.meaning, poll.partner) == ("FDL status", "asks whether a station is there", 3)
    assert there.meaning == "a master ready is there"
    assert told(TOKEN)[0].meaning == "the token stays with 1"


def test_services_that_are_not_in_the_tables():
    strange = frame(to=12, sender=1, fc=0x5D, data=b"xyz", dsap=20, ssap=62)
    one, other = told(strange, frame(to=1, sender=12, fc=8, data=b"z", dsap=62, ssap=20))
    assert one.meaning == "SRD high to access point 20, 3 data bytes"
    assert (one.service, one.partner, other.meaning) == ("", 2, "1 data byte")
    assert "not in the table" in {line.name: line.meaning for line in one.lines}["DSAP"]
    assert one.lines[-3].meaning == "3 data bytes of a service that is not known here"
    # from memory: access point 51 carries the data records of the own controller
    records = frame(to=12, sender=1, fc=0x5C, data=bytes.fromhex("5E 00 2F 0A"), dsap=51, ssap=51)
    assert told(records)[0].meaning == "class-1 read or write, 4 data bytes"
    assert told(frame(to=12, sender=1, fc=0x42, data=b"x"))[0].meaning == "reserved, 1 data byte"


def test_refusals_and_answers_without_a_request():
    refused = told(ASKED, message.answer(ASKED, function="RR"))[1]
    assert refused.meaning.startswith("RR: refused")
    alone = told(message.answer(message.request("Slave_Diag", to=5, sender=1), bytes.fromhex("02 05 00 FF FF F1")))[0]
    assert (alone.service, alone.remark) == ("Slave_Diag", "nobody asked for this answer")
    assert alone.meaning.startswith("waits for parameters")
    assert told(frame(to=1, sender=5, fc=0))[0].meaning == "OK: acknowledged"
    assert told(Frame("SC"))[0].meaning == "short acknowledgement"


def test_what_set_prm_says_of_dpv1_is_remembered():
    alarm = bytes.fromhex("08 0C 00 01 FF F1 04 01 02 09")

    def own_block(user):
        prm = message.request("Set_Prm", to=12, sender=1, data=set_prm.SetPrm(0xFFF1, user=user).octets)
        asked = message.request("Slave_Diag", to=12, sender=1)
        return [line.meaning for line in told(prm, Frame("SC"), asked, message.answer(asked, alarm))[-1].lines][-5:-2]

    assert own_block(bytes.fromhex("80 00 00"))[0].startswith("if the station works by DPV1: diagnosis alarm")
    assert own_block(b"")[-1].startswith("the station's manual")


# -- every octet --------------------------------------------------------------------------------------


def test_every_octet_of_a_telegram_with_access_points():
    one = told(message.request("Slave_Diag", to=5, sender=1, count="first"))[0]
    assert [line.name for line in one.lines] == [
        "SD2",
        "LE",
        "LEr",
        "SD2",
        "DA",
        "SA",
        "FC",
        "DSAP",
        "SSAP",
        "FCS",
        "ED",
    ]
    said = {line.name: line.meaning for line in one.lines}
    assert said["LE"] == "5 octets from DA to the last data byte"
    assert said["DA"] == "to station 5; bit 7 is 1: DSAP follows"
    assert said["DSAP"] == "access point 60: Slave_Diag"
    assert said["SSAP"] == "access point 62: cyclic services"
    assert "FCB 1, FCV 0" in said["FC"]
    answer = told(message.answer(message.request("Slave_Diag", to=5, sender=1), bytes(6)))[0]
    said = {line.name: line.meaning for line in answer.lines}
    assert (said["DSAP"], said["SSAP"]) == ("access point 62: cyclic services", "access point 60: Slave_Diag")


@pytest.mark.parametrize(
    "good",
    [
        ASKED,
        message.request("Slave_Diag", to=5, sender=1),
        Frame("SD3", 5, 1, 0x7D, bytes(8)),
        frame(to=2, sender=1, fc=0x49),
    ],
)
def test_a_damaged_telegram_keeps_the_names_of_its_octets(good):
    names = [line.name for line in told(good)[0].lines if not line.name.startswith("output")]
    wrong = bytearray(good.octets)
    wrong[-1] ^= 1
    (one,) = told(bytes(wrong))
    assert (one.kind, one.role, one.way) == ("damaged", "damaged", "")
    assert one.lines[-1].meaning == one.remark
    assert [line.name for line in one.lines if line.name not in ("data", "damaged")] == [
        n for n in names if n != "data"
    ]
    covers(one)


def test_a_damaged_token_and_plain_rubbish():
    (token,) = told(bytes.fromhex("DC 7F 01"))
    assert [line.name for line in token.lines] == ["SD4", "DA", "SA", "damaged"]
    (rubbish,) = told(STRANGE)
    assert (rubbish.kind, rubbish.lines[0].octets, rubbish.remark) == ("rubbish", STRANGE, "16#00 begins no telegram")


@given(st.binary(max_size=60), st.integers(0, 255), st.integers(0, 255), st.integers(0, 255))
def test_every_whole_telegram_is_explained_to_the_last_octet(data, da, sa, fc):
    for one in told(Frame("SD2" if data else "SD1", da, sa, fc, data), Frame("SC")):
        covers(one)
        assert one.meaning


def test_any_octets_are_explained():
    good = [bytes.fromhex(row[11:]) for row in RECORDING.splitlines()[2:]]
    for octets in mangled.octets(good, longest=120):
        at = 0
        for number, one in enumerate(read(octets), 1):
            assert (one.number, one.at) == (number, at)
            assert bool(one.frame) != (one.role in ("damaged", "rubbish"))
            covers(one)
            at += len(one.octets)
        assert at == len(octets)


def test_names_of_stations_stand_in_place_of_their_addresses():
    asked, token = read(bytes.fromhex("10 0C 01 49 56 16 DC 01 01"))
    assert asked.between({12: "cooling fan"}) == "master 1 to cooling fan (12)"
    assert token.between({1: "controller"}) == "controller (1) to itself"


# ABB FPBA-01 manual p.76, as printed there.
PUBLISHED = bytes.fromhex(facts.where("published/bus_services", service="Set_Prm")[0]["octets"])


def telegrams(data, to=12):
    asked = message.request("Set_Prm", to=to, sender=1, data=data, count="counted, 1")
    return asked.octets + message.answer(asked).octets


def test_octets_alone_are_the_data_themselves():
    assert service_data(PUBLISHED, "Set_Prm", REQUEST) == (ServiceData(-1, PUBLISHED),)


def test_a_telegram_and_several_of_them():
    assert service_data(telegrams(PUBLISHED), "Set_Prm", REQUEST) == (ServiceData(12, PUBLISHED),)
    both = telegrams(PUBLISHED) + telegrams(PUBLISHED[::-1], 5)
    assert service_data(both, "Set_Prm", REQUEST) == (ServiceData(12, PUBLISHED), ServiceData(5, PUBLISHED[::-1]))


def test_the_answer_names_the_station_that_sent_it():
    asked = message.request("Slave_Diag", to=7, sender=1, count="counted, 1")
    answer = message.answer(asked, bytes.fromhex("020500FFFFF1"))
    found = service_data(asked.octets + answer.octets, "Slave_Diag", ANSWER)
    assert found == (ServiceData(7, bytes.fromhex("020500FFFFF1")),)
    assert service_data(answer.octets, "Slave_Diag", ANSWER) == found


def test_telegrams_without_the_service_are_refused_in_words():
    with pytest.raises(Unreadable, match="Chk_Cfg"):
        service_data(telegrams(PUBLISHED), "Chk_Cfg", REQUEST)


@settings(max_examples=50, deadline=None)
@given(st.binary(max_size=40), st.binary(max_size=20))
def test_any_octets_give_an_answer_or_the_projects_own_error(rubbish, more):
    with contextlib.suppress(WorkbookError):
        assert service_data(rubbish + telegrams(PUBLISHED) + more, "Set_Prm", REQUEST)
