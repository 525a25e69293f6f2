"""Hexadecimal octets as people and programs write them: `10 02`, `0x10`, `16#10`, `10h`, `$10`, `10-02`, `1002`."""

from __future__ import annotations

import re
from functools import lru_cache

BETWEEN = re.compile(r"[\s,;{}\[\]()\"']+")
# One written octet, or several in one piece; the mark says that they are hexadecimal.
WRITTEN = re.compile(
    r"(?P<mark>0x|(?:[bw]\#|dw\#)?16\#|\\x|&h|\$)?(?P<digits>[0-9a-f]+(?:_[0-9a-f]+)*)(?P<h>h)?", re.IGNORECASE
)
_JOINED = re.compile(r"[0-9a-f]{2}(?:([:-])[0-9a-f]{2})(?:\1[0-9a-f]{2})*|(?:\\x[0-9a-f]{2})+", re.IGNORECASE)
_MARKED = re.compile(r"(?:0x|(?:[bw]\#|dw\#)?16\#|\\x|&h|\$).*|[0-9a-f]+h", re.IGNORECASE)


def plain(text: str) -> bytes:
    """The octets of a text that holds pairs of digits and nothing else; empty if it holds more."""
    try:
        return bytes.fromhex(text.replace(",", " "))
    except ValueError:
        return b""


def read(text: str, dumped: bool = False) -> tuple[bytes, str]:
    """The octets of a text, and the first piece that is none; empty if it was read to the end.

    A dump shows its octets once more as characters, behind `|` or two blanks: that part is no complaint.

    >>> read("0x41, 0x2A ok")
    (b'A*', 'ok')
    """
    body = text.partition("//")[0].partition("|")[0] if "|" in text or "//" in text else text
    if whole := plain(body):
        return whole, ""
    octets = bytearray()
    for piece in BETWEEN.split(body):
        if piece:
            known = _piece(piece) if len(piece) <= _SHORT else _read_piece(piece)
            if known is None:
                return bytes(octets), "" if dumped and octets else piece
            octets += known
    return bytes(octets), ""


def marked(text: str) -> bool:
    """True where a text says itself that it is hexadecimal: `0x10`, `10h`."""
    return bool(_MARKED.fullmatch(text))


def _read_piece(written: str) -> bytes | None:
    """The octets of one piece in any spelling; None if it is none."""
    if _JOINED.fullmatch(written):
        return bytes.fromhex(re.sub(r"[:-]|\\x", "", written, flags=re.IGNORECASE))
    found = WRITTEN.fullmatch(written)
    if not found:
        return None
    digits = found["digits"].replace("_", "")
    if found["h"] and len(digits) == 3 and digits[0] == "0":
        digits = digits[1:]  # 0E5h: the zero only says that a number begins
    if len(digits) == 1 and (found["mark"] or found["h"]):
        digits = "0" + digits
    return None if len(digits) % 2 else bytes.fromhex(digits)


_SHORT = 64  # characters; the same few spellings come again and again, a long one hardly
_piece = lru_cache(4096)(_read_piece)
