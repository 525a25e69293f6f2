"""Octets in every spelling that programs and manuals use; the values are those of the digits, read by hand."""

import pytest

from helpers.bus.telegram.hexadecimal import marked, plain, read


@pytest.mark.parametrize(
    "text",
    ["10 02 E5", "1002E5", "10,02,E5", "10-02-E5", "10:02:e5", "0x10 0x02 0xE5", "16#10 16#02 16#E5", "10h 02h 0E5h",
     "$10 $2 $E5", "&h10 &h2 &hE5", r"\x10\x02\xe5", r"\X10\X02\XE5", "0x1002E5", "16#10_02_E5", "{0x10, 0x02, 0xE5}",
     "10 02 E5 // token", "10 02 E5 | ...", "10 02 E5 | // 44"],
)  # fmt: skip
def test_three_octets_in_every_spelling(text):
    assert read(text) == (b"\x10\x02\xe5", "")


def test_the_first_piece_that_is_none_is_named_unless_it_is_the_text_of_a_dump():
    assert read("10 02 xyz 03") == (b"\x10\x02", "xyz")
    assert read("10 02 xyz", dumped=True) == (b"\x10\x02", "")
    assert read("xyz", dumped=True) == (b"", "xyz"), "a dump begins with octets"
    assert read("10 123") == (b"\x10", "123"), "three digits are no whole octets"
    assert read("") == (b"", "")


def test_pairs_of_digits_alone_are_plain_and_only_a_mark_says_hexadecimal():
    assert plain("10 02,E5") == b"\x10\x02\xe5" and plain("0x10") == plain("1") == b""
    assert all(map(marked, ("0x10", "10h", "16#10", "$10", "0E5h"))) and not any(map(marked, ("10", "E5", "10g")))
