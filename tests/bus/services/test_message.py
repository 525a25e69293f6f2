"""Services as telegrams: access points, functions and short forms, and that every one is read as it was sent."""

import pytest
from golden import both_ways
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.bus.recording import telegram_meaning
from helpers.bus.services import message
from helpers.bus.telegram import frame as frames
from helpers.bus.telegram.frame import ABSENT
from helpers.bus.telegram.function_code import COUNTS, decode
from helpers.bus.time.timing import telegram_bits, wire_bits
from helpers.errors import OutOfRange, Unknown

# M. Felser, PROFIBUS Manual, list of SAPs
SAPS = {
    "Ext_User_Prm": 53,
    "Set_Slave_Add": 55,
    "Rd_Inp": 56,
    "Rd_Outp": 57,
    "Global_Control": 58,
    "Get_Cfg": 59,
    "Slave_Diag": 60,
    "Set_Prm": 61,
    "Chk_Cfg": 62,
    "Data_Exchange": ABSENT,
}
ANSWERED = [service for service in SAPS if service != "Global_Control"]


def read(octets):
    (found,) = frames.read(octets)
    return found.frame


def test_access_points_are_the_published_ones():
    assert {service: message.sap_of(service) for service in message.services()} == SAPS
    assert {service: message.service_at(sap) for service, sap in SAPS.items()} == dict(zip(SAPS, SAPS, strict=True))
    assert message.MASTER_SAP == 62
    assert message.service_at(49) == message.service_at(48) == "class-2 connection"  # Balluff BTL7-T500 manual p.27
    assert message.service_at(1) == ""


@pytest.mark.parametrize(
    ("octets", "service", "sent"),
    # calculated from the published tables: delimiters, access points, function code, FCS
    [
        ("68 05 05 68 85 81 6D 3C 3E ED 16", "Slave_Diag", {"to": 5, "sender": 1, "count": "first"}),
        ("68 05 05 68 85 81 5D 3B 3E DC 16", "Get_Cfg", {"to": 5, "sender": 1, "count": "counted, 0"}),
        ("68 07 07 68 FF 81 46 3A 3E 00 00 3E 16", "Global_Control", {"to": 127, "sender": 1, "data": bytes(2)}),
        (
            "68 05 05 68 05 01 7D 04 7F 06 16",
            "Data_Exchange",
            {"to": 5, "sender": 1, "data": b"\x04\x7f", "count": "counted, 1"},
        ),
        ("10 05 01 7D 83 16", "Data_Exchange", {"to": 5, "sender": 1, "count": "counted, 1"}),
    ],
)
def test_requests_octet_by_octet(octets, service, sent):
    both_ways(octets, message.request(service, **sent), decode=read, encode=frames.write)


@given(
    st.sampled_from(ANSWERED),
    st.integers(0, 126),
    st.integers(0, 126),
    st.binary(max_size=244),
    st.sampled_from(COUNTS),
    st.binary(max_size=244),
    st.sampled_from(["DL", "DH"]),
)
def test_a_request_and_its_answer_are_read_as_they_were_sent(service, to, sender, data, count, inputs, function):
    asked = message.request(service, to=to, sender=sender, data=data, count=count)
    answered = message.answer(asked, inputs, function=function)
    both_ways(asked.octets, asked, decode=read, encode=frames.write)
    both_ways(answered.octets, answered, decode=read, encode=frames.write)
    assert (asked.receiver, asked.sender, asked.dsap, asked.user_data) == (to, sender, SAPS[service], data)
    one, other = telegram_meaning.read(asked.octets + answered.octets)
    assert (one.role, one.service, one.partner) == ("request", service, 2)
    assert (other.role, other.service, other.partner) == ("answer", service, 1)
    if inputs:
        assert (answered.user_data, answered.receiver, answered.sender) == (inputs, sender, to)


def test_short_forms():
    # from memory; 66 and 11 bit: M. Felser, PROFIBUS Manual, calculation for single masters
    asked = message.request("Data_Exchange", to=5, sender=1, count="counted, 1")
    assert (asked.kind, wire_bits(len(asked.octets))) == ("SD1", telegram_bits("SD1"))
    assert wire_bits(len(message.answer(asked).octets)) == 11
    # something new to tell, but no inputs to tell it with
    told = message.answer(asked, function="DH")
    assert (told.kind, decode(told.fc).function) == ("SD1", "DH")


def test_a_refusal():
    asked = message.request("Get_Cfg", to=5, sender=1)
    refused = message.answer(asked, function="RS")
    assert (refused.kind, refused.receiver, refused.sender) == ("SD1", 1, 5)
    one, other = telegram_meaning.read(asked.octets + refused.octets)
    assert one.partner == 2
    assert "does not offer this service access point" in other.meaning


def test_what_is_answered():
    # M. Felser, PROFIBUS Manual, list of SAPs: Global_Control is not answered, Set_Prm and Chk_Cfg by SC
    assert message.answered_by("Global_Control") == "none"
    assert message.answered_by("Set_Prm") == message.answered_by("Chk_Cfg") == "SC"
    assert message.answered_by("class-2 connection") == ""
    command = message.request("Global_Control", to=127, sender=1, data=bytes(2), count="counted, 1")
    assert decode(command.fc).text.startswith("request: SDN high")
    assert decode(command.fc).second == "not counted"


def test_data_at_both_sides_of_the_limit():
    # M. Felser, PROFIBUS Manual, telegram formats: 244 with both access points, 246 without
    for service, most in (("Set_Prm", 244), ("Data_Exchange", 246)):
        assert len(message.request(service, to=5, sender=1, data=bytes(most)).octets) == 255
        with pytest.raises(OutOfRange):
            message.request(service, to=5, sender=1, data=bytes(most + 1))


def test_names_that_do_not_exist():
    for wrong in (
        lambda: message.request("Diag", to=5, sender=1),
        lambda: message.sap_of("class-2 connection"),
        lambda: message.answer(message.request("Get_Cfg", to=5, sender=1), function="SRD high"),
    ):
        with pytest.raises(Unknown, match="known are"):
            wrong()


def test_every_service_has_its_form():
    assert {row["service"] for row in facts.rows("service_forms")} == set(SAPS)
