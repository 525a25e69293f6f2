"""Set_Slave_Add: gives a station another address over the bus.

    1     the new address, 0 to 125
    2, 3  ident number of the station, high octet first
    4     00: the address may be changed again; FF: it is locked
    5 …   data that the station is to keep (from memory)

Only a station that waits for parameters takes it, and only one whose description says Set_Slave_Add_supp = 1. Whoever
sends it should first see that the new address is free. Source: M. Felser, PROFIBUS Manual, address changes. That page
prints 00 to FE beside 0 to 125 for the address; 125 is 16#7D.
"""

from __future__ import annotations

from dataclasses import dataclass

from helpers.bus.address.address import classify
from helpers.bus.services import bits
from helpers.bus.services.bits import OctetLine
from helpers.errors import in_range
from helpers.verdict import Degree

SOURCE = bits.limit("Set_Slave_Add", "octets")[2]
MAY_CHANGE, LOCKED = 0x00, 0xFF


@dataclass(frozen=True)
class SetSlaveAdd:
    """A new address for the station with this ident number. `change` is octet 4 as it stands."""

    address: int
    ident: int
    change: int = MAY_CHANGE
    kept: bytes = b""

    @property
    def octets(self) -> bytes:
        """The octets of the service."""
        return encode(self)


def encode(order: SetSlaveAdd) -> bytes:
    """The octets of the service. Raises `OutOfRange` for a value that its octets can't hold.

    An address that no station may have is written all the same, so that what was read can be written again; `explain`
    says what is wrong with it.

    >>> encode(SetSlaveAdd(12, 0xFFF1)).hex(" ").upper()
    '0C FF F1 00'
    """
    in_range("address", order.address, 0, 0xFF, source="one octet")
    in_range("ident number", order.ident, 0, 0xFFFF, source="two octets")
    in_range("octet 4", order.change, 0, 0xFF, source="one octet")
    octets = bytes((order.address, *order.ident.to_bytes(2, "big"), order.change)) + order.kept
    bits.check_length("Set_Slave_Add", octets)
    return octets


def decode(octets: bytes) -> SetSlaveAdd:
    """What the octets say. Raises `OutOfRange` for fewer than 4 of them.

    >>> decode(bytes.fromhex("0C FF F1 FF"))
    SetSlaveAdd(address=12, ident=65521, change=255, kept=b'')
    """
    bits.check_length("Set_Slave_Add", octets)
    return SetSlaveAdd(octets[0], int.from_bytes(octets[1:3], "big"), octets[3], bytes(octets[4:]))


def explain(octets: bytes) -> tuple[OctetLine, ...]:
    """Every octet. Raises as `decode`.

    >>> [line.meaning for line in explain(bytes.fromhex("0C FF F1 FF"))]
    ['12', '16#FFF1', 'locked: the address can not be changed over the bus again']
    """
    order = decode(octets)
    pieces = [
        (1, "new address", _address_text(order.address)),
        (2, "ident number", f"16#{order.ident:04X}"),
        (1, "No_Add_Chg", _change_text(order.change)),
    ]
    if order.kept:
        pieces.append((len(order.kept), "Rem_Slave_Data", "data that the station is to keep (from memory)"))
    return tuple(bits.placed(pieces, octets))


def summary(octets: bytes) -> str:
    """The order in one line.

    >>> summary(bytes.fromhex("0C FF F1 00"))
    'new address 12 for ident 16#FFF1, may be changed again'
    """
    order = decode(octets)
    locked = {MAY_CHANGE: "may be changed again", LOCKED: "locked"}.get(order.change, "octet 4 not defined")
    return f"new address {order.address} for ident 16#{order.ident:04X}, {locked}"


def _address_text(address: int) -> str:
    meant = classify(address, "other")
    return str(address) if meant.degree is Degree.IN_ORDER else f"{address}: {meant.reason}"


def _change_text(change: int) -> str:
    if change == MAY_CHANGE:
        return "the address may be changed over the bus again"
    if change == LOCKED:
        return "locked: the address can not be changed over the bus again"
    return f"16#{change:02X} is not defined; 00 and FF are ({SOURCE})"
