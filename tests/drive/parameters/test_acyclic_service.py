"""The services around a parameter request against printed octets."""

import pytest
from golden import both_ways
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.drive.parameters import acyclic_service as service
from helpers.drive.parameters.acyclic import Address, ParameterValues, Request, Response
from helpers.drive.parameters.acyclic_service import Service, ServiceRefusal
from helpers.errors import OutOfRange, Unknown, Unreadable, WorkbookError

READ_918 = Request("read", (Address(918),), reference=9)
IS_3 = Response("read", False, 1, (ParameterValues(0x42, (3,)),), reference=9)
PRINTED = facts.rows("published/drive_acyclic")


@pytest.mark.parametrize("row", PRINTED, ids=lambda row: f"{row['name']}, {row['direction']}")
def test_printed_octets_both_ways(row):
    octets = bytes.fromhex(row["octets"])
    expected = Service(octets[0], octets[1], len(octets) - 4, octets[4:])
    assert expected.function == (service.WRITE if row["direction"] == "written" else service.READ)
    both_ways(octets, expected, decode=service.decode, encode=service.encode)


@pytest.mark.parametrize("row", PRINTED, ids=lambda row: f"{row['name']}, {row['direction']}")
def test_an_explanation_covers_every_octet_once(row):
    parts = service.explain(bytes.fromhex(row["octets"]))
    assert " ".join(part.octets for part in parts) == row["octets"]
    assert [part.first for part in parts][:5] == [1, 2, 3, 4, 5]
    assert all(part.meaning for part in parts)


def test_building_the_printed_dialogue():
    # ABB FPBA-01 manual p.170
    written, read_back = (bytes.fromhex(row["octets"]) for row in PRINTED if row["name"] == "read PNU 918")
    assert service.encode(service.written(READ_918, slot=1)) == written
    assert service.encode(service.read_back(IS_3, slot=1)) == read_back
    assert "station address" in service.explain(written)[8].meaning
    assert service.explain(read_back)[8].meaning == "parameter 1: Word: 3"


def test_the_printed_length_that_is_wrong():
    # ABB FPBA-01 manual p.115 prints 14h as the length of a request of 24 octets
    two = Request("change", (Address(927), Address(928)), (ParameterValues(0x42, (1,)),) * 2)
    octets = bytearray(service.encode(service.written(two)))
    assert octets[3] == 0x18
    octets[3] = 0x14
    with pytest.raises(Unreadable, match=r"length says 20 octets .16#14., 24 .16#18. follow"):
        service.decode(bytes(octets))
    with pytest.raises(Unreadable, match="length says 20"):
        service.encode(Service(service.WRITE, 0, 20, bytes(24)))


def test_polling_until_ready():
    exchanges = service.poll(READ_918, IS_3, slot=1, refusals=3)
    assert [e.octets[0] for e in exchanges] == [0x5F, 0x5F, *[0x5E, 0xDE] * 3, 0x5E, 0x5E]
    assert [e.sender for e in exchanges] == ["controller", "drive"] * 5
    # SEW manual DH.41B p.79: B5 while busy
    assert exchanges[3].octets == bytes.fromhex("DE 80 B5 00")
    assert "read again" in exchanges[3].sentence
    assert exchanges[-1].sentence == "The response belongs to the request."
    assert len(service.poll(READ_918, IS_3, refusals=0)) == 4
    other = Response("read", False, 1, (ParameterValues(0x42, (3,)),), reference=8)
    assert "another request" in service.poll(READ_918, other)[-1].sentence
    with pytest.raises(OutOfRange):
        service.poll(READ_918, IS_3, refusals=-1)


@pytest.mark.parametrize(
    ("octets", "says"),
    [
        # SEW manual DH.41B p.79: no data record 47, busy, faulty header
        ("DF 80 B0 00", "Write refused, error B0 (access: invalid index): the device has no parameter requests"),
        ("DE 80 B5 00", "still working"),
        ("DF 80 B7 00", "header of the parameter request is faulty"),
        ("DE 80 C2 00", "(resource: busy)."),
        ("DE 80 01 00", "error 01: not in the table"),
        ("DE FE B5 00", "is FE, not 80"),  # decode 80: ABB FPBA-01 manual p.103; the codes of others are not ours
    ],
)
def test_refused_services(octets, says):
    (part,) = service.explain(bytes.fromhex(octets))
    assert says in part.meaning
    assert service.encode(service.decode(bytes.fromhex(octets))) == bytes.fromhex(octets)


def test_explanations_of_other_services():
    assert service.explain(service.encode(service.asked()))[3].meaning == "length: 240 octets, none follow"
    assert service.explain(bytes.fromhex("5E 00 01 02 AA BB"))[-1].meaning == "data"
    assert service.explain(bytes.fromhex("5E 00 01 02 AA BB"))[2].meaning == "data record 1"
    change = Request(
        "change",
        (Address(1000, 2, 3, attribute=0x40), Address(918)),
        (ParameterValues(5, (1,)), ParameterValues(0x40)),
        axis=0,
    )
    octets = bytearray(
        service.encode(service.written(Request("change", (Address(1000, 2, 3), Address(918)), change.values)))
    )
    octets[8], octets[6] = 0x40, 0
    parts = service.explain(bytes(octets))
    assert parts[6].meaning == "the device itself"
    assert parts[8].meaning == "attribute 16#40 of parameter 1000, elements: 3, from subindex 2"
    assert parts[9].meaning == "value of parameter 918 (station address), no array"
    failed = Response("read", True, 1, (ParameterValues(0x44, (0,)),))
    assert "at least one failed" in service.explain(service.encode(service.read_back(failed)))[5].meaning


@given(st.binary(max_size=80), st.sampled_from([0x5E, 0x5F, 0xDE, 0xDF, 0x00]), st.booleans())
def test_any_octets_are_explained_or_refused_in_words(data, function, right_length):
    octets = bytes((function, 0, 0x2F, len(data) if right_length else 7)) + data
    for start in range(5):
        try:
            parts = service.explain(octets[start:])
            assert " ".join(part.octets for part in parts) == octets[start:].hex(" ").upper()
        except WorkbookError as refused:
            assert str(refused).endswith(".")


def test_refused():
    with pytest.raises(Unreadable, match="at least 4"):
        service.decode(b"\x5e\x00\x2f")
    with pytest.raises(Unreadable, match="function is 16#60"):
        service.decode(b"\x60\x00\x2f\x00")
    with pytest.raises(Unreadable, match="a refusal has 4"):
        service.decode(b"\xde\x80\xb5\x00\x00")
    with pytest.raises(Unknown):
        service.encode(Service(0x60, 0, 4))
    with pytest.raises(Unknown):
        service.encode(ServiceRefusal(0x5E, 0xB5))
    for bad in (
        Service(0x5E, 256, 4),
        Service(0x5E, 0, 241),
        Service(0x5E, 0, 4, index=256),
        ServiceRefusal(0xDE, 256),
    ):
        with pytest.raises(OutOfRange):
            service.encode(bad)


@pytest.mark.parametrize(
    "bad", [Service(0x5E, 256, 4), Service(0x5E, 0, 4, index=256), Service(0x5E, -1, 4), ServiceRefusal(0xDE, 256),
            ServiceRefusal(0xDE, 0x80, 256), ServiceRefusal(0xDF, 0x80, 0xB5, -1)],
)  # fmt: skip
def test_what_does_not_fit_an_octet_says_so(bad):
    with pytest.raises(OutOfRange, match=r"0 to 255.*one octet"):
        service.encode(bad)
