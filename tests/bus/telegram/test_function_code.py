"""Function codes against the published list, both directions."""

import pytest

from helpers.bus.telegram import function_code
from helpers.bus.telegram.function_code import COUNTS, STATIONS, answer, decode, next_count, request
from helpers.errors import OutOfRange, Unknown


@pytest.mark.parametrize(
    ("octet", "asks", "function", "second"),
    [
        # M. Felser, PROFIBUS Manual, function code: bit 6 request, bit 5 FCB, bit 4 FCV, low nibble the function
        (0x49, True, "FDL status", "not counted"),
        (0x6D, True, "SRD high", "first"),
        (0x5D, True, "SRD high", "counted, 0"),
        (0x7D, True, "SRD high", "counted, 1"),
        (0x7C, True, "SRD low", "counted, 1"),
        (0x43, True, "SDA low", "not counted"),
        (0x44, True, "SDN low", "not counted"),
        (0x45, True, "SDA high", "not counted"),
        (0x46, True, "SDN high", "not counted"),
        (0x47, True, "MSRD", "not counted"),
        (0x4E, True, "ident", "not counted"),
        (0x4F, True, "LSAP status", "not counted"),
        (0xC0, True, "clock value", "not counted"),
        (0x40, True, "time event", "not counted"),
        (0x00, False, "OK", "slave"),
        (0x11, False, "UE", "master not ready"),
        (0x22, False, "RR", "master ready"),
        (0x33, False, "RS", "master in ring"),
        (0x08, False, "DL", "slave"),
        # from memory
        (0x09, False, "NR", "slave"),
        (0x0A, False, "DH", "slave"),
        (0x0C, False, "RDL", "slave"),
        (0x0D, False, "RDH", "slave"),
    ],
)
def test_published_codes_both_ways(octet, asks, function, second):
    found = decode(octet)
    assert (found.octet, found.request, found.function, found.second) == (octet, asks, function, second)
    assert found.source
    assert (request if asks else answer)(function, second) == octet


def test_who_is_answered():
    # SDN means: send data with no acknowledgement; M. Felser, PROFIBUS Manual, function code
    silent = {decode(octet).function for octet in range(256) if decode(octet).request and not decode(octet).answered}
    assert silent == {"SDN low", "SDN high", "clock value", "time event", "reserved"}
    assert not any(decode(octet).answered for octet in range(256) if not decode(octet).request)


def test_every_octet_has_an_answer():
    for octet in range(256):
        found = decode(octet)
        assert found.text.startswith("request: " if octet & 0x40 else "answer: ")
        assert found.meaning
        assert found.second in (COUNTS if found.request else STATIONS)
    assert decode(0x41).function == "reserved"
    # bit 7 belongs to the clock value alone
    assert {decode(octet).function for octet in range(128, 256)} == {"reserved", "clock value"}
    assert "bit 7 is 1" in decode(0xC9).meaning and "bit 7 is 1" in decode(0x88).meaning
    with pytest.raises(OutOfRange):
        decode(256)


def test_every_known_code_is_made_from_its_name():
    for octet in range(256):
        found = decode(octet)
        if found.function != "reserved":
            assert (request if found.request else answer)(found.function, found.second) == octet


def test_frame_count_turns_over():
    counts = ["first"]
    for _ in range(4):
        counts.append(next_count(counts[-1]))
    assert counts == ["first", "counted, 0", "counted, 1", "counted, 0", "counted, 1"]
    bits = [request("SRD high", count) >> 4 & 3 for count in counts]
    assert bits == [2, 1, 3, 1, 3]  # FCB 1 FCV 0, then FCV 1 with FCB 0, 1, 0, 1
    assert next_count("not counted") == "not counted"


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: request("DL"),
        lambda: request("SRD high", "third"),
        lambda: answer("SRD high"),
        lambda: answer("DL", "drive"),
        lambda: next_count("second"),
    ],
)
def test_names_that_do_not_exist(wrong):
    with pytest.raises(Unknown, match="known are"):
        wrong()


def test_text():
    assert "FCB 1, FCV 0" in decode(0x6D).text
    assert decode(0x33).text.endswith("from a master in ring")
    assert function_code.REQUEST == 0x40


def test_a_function_is_none_of_the_other_fields_of_the_octet():
    for name in ("counted, 0", "not counted", "request"):
        with pytest.raises(Unknown, match="function of a request"):
            request(name)
