"""What the masters of a ring send in every rotation: the token, and the look into the gap behind each of them."""

from __future__ import annotations

from functools import lru_cache

from helpers.bus.telegram import frame as frames
from helpers.bus.telegram import function_code
from helpers.bus.telegram.frame import Frame


@lru_cache(1024)
def token(receiver: int, sender: int) -> bytes:
    """The token from one master to the next, or to itself.

    >>> token(1, 1).hex(" ").upper()
    'DC 01 01'
    """
    return frames.write(Frame("token", receiver, sender))


@lru_cache(1024)
def poll(address: int, sender: int) -> bytes:
    """The question whether somebody is at an address of the gap.

    >>> poll(2, 1).hex(" ").upper()
    '10 02 01 49 4C 16'
    """
    return frames.frame(to=address, sender=sender, fc=function_code.request("FDL status")).octets


def in_ring(asked_by: int, own: int) -> bytes:
    """The answer of a master that takes part in the ring.

    >>> in_ring(1, 2).hex(" ").upper()
    '10 01 02 30 33 16'
    """
    return frames.frame(to=asked_by, sender=own, fc=function_code.answer("OK", "master in ring")).octets
