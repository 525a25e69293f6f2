"""The octets of one service, where a person has given those alone, a whole telegram, or a recording with it."""

from __future__ import annotations

from typing import NamedTuple

from helpers.bus.recording import telegram_meaning
from helpers.errors import Unreadable


class Found(NamedTuple):
    """What a telegram carries for a service, and the station that it is about; -1 where no telegram tells it."""

    station: int
    data: bytes


def service_data(octets: bytes, service: str, role: str) -> tuple[Found, ...]:
    """The data of a service in what was given, in order.

    Parameters: octets, as read; service, as in `data/saps.csv`; role, REQUEST or ANSWER of `telegram_meaning`.
    Return: one for each telegram; where there is no telegram with data, the octets themselves are the data.
    Errors: `Unreadable` where telegrams are there, but none with this service.

    >>> service_data(bytes.fromhex("02 05 00 FF FF F1"), "Slave_Diag", telegram_meaning.ANSWER)[0].station
    -1
    >>> asked = bytes.fromhex("68 0C 0C 68 85 81 7D 3D 3E 88 01 14 0B FF F1 00 96 16")
    >>> service_data(asked, "Set_Prm", telegram_meaning.REQUEST)[0].data.hex(" ").upper()
    '88 01 14 0B FF F1 00'
    """
    pieces = list(telegram_meaning.read(octets))
    whole = [one.frame for one in pieces if one.frame and one.frame.kind == "SD2"]
    if not whole:
        return (Found(-1, octets),)
    found = tuple(
        Found(one.frame.receiver if role == telegram_meaning.REQUEST else one.frame.sender, one.frame.user_data)
        for one in pieces
        if one.frame and one.role == role and one.service == service and one.frame.user_data
    )
    if not found:
        raise Unreadable(f"no {role} with {service} is among these telegrams; the telegram reader tells what they are.")
    return found
