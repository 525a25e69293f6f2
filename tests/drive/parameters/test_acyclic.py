"""Acyclic requests and responses against printed octets, and as a code that loses nothing."""

import math
import struct

import pytest
from golden import both_ways
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.drive.parameters import acyclic
from helpers.drive.parameters.acyclic import Address, ParameterValues, Request, Response
from helpers.errors import OutOfRange, Unknown, Unreadable, WorkbookError

PRINTED = {(row["name"], row["direction"]): row["octets"] for row in facts.rows("published/drive_acyclic")}
SERVICE = 4  # octets of the service before the block


def block(name, direction):
    return bytes.fromhex(PRINTED[name, direction])[SERVICE:]


@pytest.mark.parametrize(
    ("name", "request_", "response"),
    [
        # ABB FPBA-01 manual p.170: word 3 is the station address
        (
            "read PNU 918",
            Request("read", (Address(918),), reference=9),
            Response("read", False, 1, (ParameterValues(0x42, (3,)),), reference=9),
        ),
        # Toshiba manual E6581738 p.32: a good change is answered by the header alone
        (
            "change PNU 927",
            Request("change", (Address(927, elements=1),), (ParameterValues(0x06, (0,)),)),
            Response("change", False, 1),
        ),
        # Toshiba manual, sibling of E6581738, p.42: 16#31EC = 12780
        (
            "read a maker's parameter",
            Request("read", (Address(1000, 0xFD04, 1),)),
            Response("read", False, 1, (ParameterValues(0x42, (12780,)),)),
        ),
    ],
)
def test_printed_octets_both_ways(name, request_, response):
    both_ways(block(name, "written"), request_, decode=acyclic.decode_request, encode=acyclic.encode_request)
    both_ways(block(name, "read back"), response, decode=acyclic.decode_response, encode=acyclic.encode_response)
    assert acyclic.belongs(request_, response) == ""


def test_lengths_of_the_formula():
    # Eaton manual MN040010EN p.94: a request to read n parameters has 4 + 6 n octets
    for n in (1, 2, 39):
        assert len(acyclic.encode_request(Request("read", (Address(918),) * n))) == 4 + 6 * n
    # ABB FPBA-01 manual p.115 prints 14h for a request of two parameters that has 24 octets, that is 18h
    two = Request("change", (Address(927), Address(928)), (ParameterValues(0x42, (1,)),) * 2)
    assert len(acyclic.encode_request(two)) == 0x18


def test_odd_octets_are_filled_up():
    # ABB RETA-02 manual p.84
    assert acyclic.encode_values(ParameterValues(0x05, (7,))) == bytes([0x05, 1, 7, 0])
    assert acyclic.encode_values(ParameterValues(0x05, (7, 8))) == bytes([0x05, 2, 7, 8])
    assert acyclic.decode_values(bytes([0x05, 1, 7, 0, 0x42, 1, 0, 9]), 2) == (
        ParameterValues(5, (7,)),
        ParameterValues(0x42, (9,)),
    )


def test_failed_parameters():
    # Lenze manual EDS84DMOTPBUS p.57: format 44, number of values, error number, subindex
    # KEB F5 manual p.19: format 40 for the parameters that were changed
    octets = bytes.fromhex("05 82 01 03 40 00 44 01 00 11 44 02 00 02 00 07")
    response = acyclic.decode_response(octets)
    assert response.failed and response.kind == "change"
    assert [group.error for group in response.values] == [None, 0x11, 2]
    assert "operating state" in response.values[1].sentence
    assert response.values[2].sentence.endswith("It concerns subindex 7.")
    assert response.values[0].sentence == "Zero: no value"
    assert acyclic.encode_response(response) == octets
    assert ParameterValues(0x44).error is None


FORMATS = [f.code for f in acyclic.formats()]


@st.composite
def groups(draw, codes=FORMATS):
    code = draw(st.sampled_from(codes))
    octets = acyclic.format_of(code).octets
    return ParameterValues(code, tuple(draw(st.lists(st.integers(0, (1 << 8 * octets) - 1), max_size=4))))


ADDRESSES = st.builds(
    Address,
    st.integers(1, 0xFFFF),
    st.integers(0, 0xFFFE),
    st.integers(0, 234),
    st.sampled_from([0x10, 0x20, 0x30]),
)


@st.composite
def requests(draw):
    addresses = tuple(draw(st.lists(ADDRESSES, min_size=1, max_size=5)))
    kind = draw(st.sampled_from(acyclic.KINDS))
    values = tuple(draw(groups()) for _ in addresses) if kind == "change" else ()
    return Request(kind, addresses, values, draw(st.integers(1, 255)), draw(st.integers(0, 254)))


@st.composite
def responses(draw):
    kind, failed = draw(st.sampled_from(acyclic.KINDS)), draw(st.booleans())
    count = draw(st.integers(1, 6))
    values = tuple(draw(groups()) for _ in range(count)) if failed or kind == "read" else ()
    return Response(kind, failed, count, values, draw(st.integers(1, 255)), draw(st.integers(0, 254)))


@given(requests())
def test_requests_survive_their_octets(request_):
    assert acyclic.decode_request(acyclic.encode_request(request_)) == request_


@given(responses())
def test_responses_survive_their_octets(response):
    octets = acyclic.encode_response(response)
    assert len(octets) % 2 == 0
    assert acyclic.decode_response(octets) == response
    for group in response.values:
        assert group.sentence


@given(
    st.one_of(st.binary(max_size=60), st.builds(bytes.__add__, st.just(b"\x01\x02\x01\x01"), st.binary(max_size=40)))
)
def test_any_octets_are_read_or_refused_in_words(octets):
    for decode in (acyclic.decode_request, acyclic.decode_response):
        try:
            decode(octets)
        except WorkbookError as refused:
            assert str(refused).endswith(".")


@given(requests(), st.data())
def test_a_cut_request_never_reads_as_whole(request_, data):
    octets = acyclic.encode_request(request_)
    with pytest.raises(Unreadable):
        acyclic.decode_request(octets[: data.draw(st.integers(0, len(octets) - 1))])
    with pytest.raises(Unreadable):
        acyclic.decode_request(octets + b"\x00")


@given(st.floats(width=32, allow_nan=False))
def test_floats_as_the_struct_module_has_them(number):
    group = acyclic.values("Float", [number])
    assert group.raw[0].to_bytes(4, "big") == struct.pack(">f", number)
    assert group.readable == (number,)


@pytest.mark.parametrize(
    ("name", "low", "high"), [("Integer8", -128, 127), ("Unsigned16", 0, 65535), ("N2", -32768, 32767)]
)
def test_both_ends_of_a_format(name, low, high):
    assert acyclic.values(name, [low, high]).readable == (low, high)
    for beyond in (low - 1, high + 1):
        with pytest.raises(OutOfRange, match=name):
            acyclic.values(name, [beyond])


def test_values_refused():
    with pytest.raises(Unreadable, match="not whole"):
        acyclic.values("Word", [0.5])
    with pytest.raises(Unreadable, match="not whole"):
        acyclic.values("Word", [math.nan])
    with pytest.raises(Unreadable, match="is a text"):
        acyclic.values("Word", "A")
    with pytest.raises(Unreadable, match="too large"):
        acyclic.values("Float", [1e300])
    with pytest.raises(OutOfRange, match="character"):
        acyclic.values("VisibleString", "€")
    with pytest.raises(Unknown, match="known are Boolean"):
        acyclic.values("Quadword", [1])
    with pytest.raises(Unknown, match="16#45"):
        acyclic.format_of(0x45)


def test_what_does_not_fit_a_request():
    good = (Address(918),)
    for request_ in (
        Request("read", good, reference=0),
        Request("read", good, reference=256),
        Request("read", good, axis=255),
        Request("read", ()),
        Request("read", good * 40),
        Request("read", (Address(0),)),
        Request("read", (Address(0x10000),)),
        Request("read", (Address(918, 0xFFFF),)),
        Request("read", (Address(918, elements=235),)),
        Request("change", good, (ParameterValues(0x05, (0,) * 256),)),
        Request("change", good, (ParameterValues(0x05, (0x100,)),)),
        Request("change", good, (ParameterValues(0x05, (0,) * 229),)),
    ):
        with pytest.raises(OutOfRange):
            acyclic.encode_request(request_)
    with pytest.raises(Unknown, match="attribute"):
        acyclic.encode_request(Request("read", (Address(918, attribute=0x40),)))
    # 240 octets fit, 242 do not
    assert len(acyclic.encode_request(Request("change", good, (ParameterValues(0x05, (0,) * 228),)))) == 240
    assert len(acyclic.encode_response(Response("read", False, 1, (ParameterValues(0x42, (0,) * 117),)))) == 240
    with pytest.raises(OutOfRange, match="240"):
        acyclic.encode_response(Response("read", False, 1, (ParameterValues(0x42, (0,) * 118),)))


def test_groups_of_values_are_counted():
    with pytest.raises(WorkbookError, match="0 groups of values; got 1"):
        Request("read", (Address(918),), (ParameterValues(0x42, (1,)),))
    with pytest.raises(WorkbookError, match="1 groups of values; got 0"):
        Request("change", (Address(918),))
    with pytest.raises(WorkbookError, match="response has 1"):
        Response("change", True, 1)
    with pytest.raises(Unknown):
        Request("fetch", ())
    with pytest.raises(Unknown):
        Response("fetch", False, 0)


@pytest.mark.parametrize(
    ("decode", "octets", "says"),
    [
        (acyclic.decode_request, "01 01 01", "at least 4 octets; got 3"),
        (acyclic.decode_request, "01 03 01 01", "request identifier is 3"),
        (acyclic.decode_request, "01 01 01 02 10 00 03 96 00 00", "need 16 octets for their addresses; got 10"),
        (acyclic.decode_response, "01 05 01 01", "response identifier is 16#05"),
        (acyclic.decode_response, "01 01 01 02 42 01 00 03", "before the values of parameter 2 of 2"),
        (acyclic.decode_response, "01 01 01 01 42 02 00 03", "2 values of 2 octets"),
        (acyclic.decode_response, "01 02 01 01 42 01 00 03", "4 octets are left over"),
    ],
)
def test_where_it_breaks_off(decode, octets, says):
    with pytest.raises(Unreadable, match=says):
        decode(bytes.fromhex(octets))


def test_a_response_to_another_request():
    request = Request("read", (Address(918),), reference=9)
    value = (ParameterValues(0x42, (3,)),)
    assert "reference 8" in acyclic.belongs(request, Response("read", False, 1, value, reference=8))
    assert "axis 2" in acyclic.belongs(request, Response("read", False, 1, value, reference=9, axis=2))
    assert "to change" in acyclic.belongs(request, Response("change", False, 1, reference=9))
    assert "2 parameters" in acyclic.belongs(request, Response("read", False, 2, value * 2, reference=9))
