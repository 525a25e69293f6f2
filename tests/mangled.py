"""Inputs that nobody would send: random octets, and good ones with octets changed, lost, doubled or put elsewhere.

The normal run tries 10 000 of them. `WORKBOOK_FUZZ=1000000 pytest tests/bus -k any_octets` tries as many as it says.
"""

import os
import random
from collections.abc import Iterator, Sequence

COUNT = int(os.environ.get("WORKBOOK_FUZZ", "10000"))


def octets(good: Sequence[bytes], count: int = COUNT, *, longest: int = 300, seed: int = 4) -> Iterator[bytes]:
    """So many inputs, the same ones in every run; one in four is random from end to end."""
    draw = random.Random(seed)
    for number in range(count):
        if number % 4 == 0:
            yield draw.randbytes(draw.randrange(longest))
        else:
            yield _mangled(b"".join(draw.choices(good, k=draw.randrange(1, 4))), draw)


def _mangled(whole: bytes, draw: random.Random) -> bytes:
    changed = bytearray(whole)
    for _ in range(draw.randrange(1, 4)):
        at = draw.randrange(len(changed) + 1)
        what = draw.randrange(4)
        if what == 0 and at < len(changed):
            changed[at] ^= 1 << draw.randrange(8)
        elif what == 1:
            changed[at:at] = draw.randbytes(draw.randrange(1, 5))
        elif what == 2:
            del changed[at : at + draw.randrange(1, 8)]
        else:
            changed[at : at + 1] = changed[draw.randrange(len(changed) + 1) :][:6]
    return bytes(changed)
