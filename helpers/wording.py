"""Puts words, and octets, into sentences."""

from __future__ import annotations


def capital_first(text: str) -> str:
    """The text with a capital in front, as a sentence begins; the rest stays, so that DC and PLC do.

    >>> capital_first("watchdog of the DC link"), capital_first("")
    ('Watchdog of the DC link', '')
    """
    return text[:1].upper() + text[1:]


def counted(number: int, what: str, several: str = "") -> str:
    """A number with its word, in the singular or the plural; `several` where an s behind the word is not enough.

    >>> counted(1, "repeater"), counted(2, "repeater"), counted(2, "address", "addresses")
    ('1 repeater', '2 repeaters', '2 addresses')
    """
    return f"{number} {what if number == 1 else several or f'{what}s'}"


def short(text: str, most: int = 60) -> str:
    """The text as far as a cell or a drawing has room for it: `most` characters, the last of them … if it is cut.

    >>> short("Discharge screw", 9), short("Fan 1", 9)
    ('Discharg…', 'Fan 1')
    """
    return text if len(text) <= most else f"{text[: max(most - 1, 1)]}…"


def octets_text(octets: bytes) -> str:
    """Octets as pairs of hexadecimal digits.

    >>> octets_text(bytes([4, 0x7F]))
    '04 7F'
    """
    return octets.hex(" ").upper()


def bits_text(octet: int) -> str:
    """An octet bit by bit, bit 7 on the left, in IEC 61131-3 spelling.

    >>> bits_text(0x31)
    '2#0011_0001'
    """
    return f"2#{octet >> 4:04b}_{octet & 0xF:04b}"
