"""The golden check itself must be able to fail, in each direction."""

import pytest
from golden import both_ways, octets


def test_octets_as_printed():
    assert octets("13 9A 00 65") == b"\x13\x9a\x00\x65"


def test_both_ways_passes_and_fails():
    both_ways("01 02", 258, decode=lambda b: int.from_bytes(b, "big"), encode=lambda v: v.to_bytes(2, "big"))
    both_ways(b"\x05", 5, decode=lambda b: b[0], encode=lambda v: bytes([v]))
    with pytest.raises(AssertionError):
        both_ways("01 02", 513, decode=lambda b: int.from_bytes(b, "big"), encode=lambda v: v.to_bytes(2, "big"))
    with pytest.raises(AssertionError):
        both_ways("01 02", 258, decode=lambda b: 258, encode=lambda v: b"\x02\x01")
