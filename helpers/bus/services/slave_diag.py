"""Slave_Diag: what a station says of its state, octet by octet.

    1 to 3  bits (`data/diagnosis_bits.csv`)
    4       address of the master that parametrised it; FF: none has
    5, 6    ident number, high octet first
    7 …     blocks: the station's own, by identifier, by channel

What it means and what to do about it is told by `helpers.bus.services.diagnosis`; what the blocks hold by
`helpers.bus.services.diag_blocks`. Sources: Thermo Micro-Tech 9101 manual p.C-75, Norgren FD67 manual p.45, TR C58
manual p.109; PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.729 for the blocks.
"""

from __future__ import annotations

from dataclasses import dataclass

from helpers.bus.services import bits, diag_blocks
from helpers.bus.services.bits import BitRow, OctetLine
from helpers.bus.services.diag_blocks import Block
from helpers.errors import in_range

TABLE = "diagnosis_bits"
BIT_OCTETS = (1, 2, 3)
STANDARD_OCTETS = bits.limit("Slave_Diag", "octets")[0]
NO_MASTER = 0xFF
FIXED = "fixed 1"


@dataclass(frozen=True)
class SlaveDiag:
    """The diagnosis of one station.

    `flags` are the names of the bits of octets 1 to 3 that are 1. `blocks` are the whole blocks behind octet 6; `rest`
    is what follows them and can't be read as a block. `given` counts the standard octets that were there to be read:
    of a diagnosis that somebody noted by hand often the first three only; what was not given has its default.
    """

    flags: frozenset[str] = frozenset({FIXED})
    master: int = NO_MASTER
    ident: int = 0
    blocks: tuple[Block, ...] = ()
    rest: bytes = b""
    given: int = STANDARD_OCTETS

    @property
    def octets(self) -> bytes:
        """The octets of the diagnosis."""
        return encode(self)


def encode(diagnosis: SlaveDiag) -> bytes:
    """The octets of a diagnosis.

    Raises `Unknown` for a bit that does not exist, `OutOfRange` for a value that its octets can't hold.

    >>> encode(SlaveDiag(frozenset({"fixed 1", "Station_Not_Ready", "Prm_Req"}), ident=0xFFF1)).hex(" ").upper()
    '02 05 00 FF FF F1'
    """
    bits.check(TABLE, diagnosis.flags)
    in_range("master address", diagnosis.master, 0, 0xFF, source="one octet")
    in_range("ident number", diagnosis.ident, 0, 0xFFFF, source="two octets")
    in_range("standard octets given", diagnosis.given, len(BIT_OCTETS), STANDARD_OCTETS)
    head = bytes(
        (
            *(bits.octet_of(TABLE, n, diagnosis.flags) for n in BIT_OCTETS),
            diagnosis.master,
            *diagnosis.ident.to_bytes(2, "big"),
        )
    )
    octets = head[: diagnosis.given] + b"".join(block.octets for block in diagnosis.blocks) + diagnosis.rest
    _check_length(octets, part=diagnosis.given < STANDARD_OCTETS)
    return octets


def decode(octets: bytes, *, part: bool = False) -> SlaveDiag:
    """What the octets of a diagnosis say. Raises `OutOfRange` for fewer than 6 or more than 244 of them.

    A block that is cut off, and all that follows it, stands in `rest`. With `part` three octets are enough, as a person
    notes them; a telegram always bears all six.

    >>> found = decode(bytes.fromhex("08 0C 00 01 FF F1 84 41 26"))
    >>> found.master, hex(found.ident), found.blocks[0].error
    (1, '0xfff1', 6)
    """
    _check_length(octets, part=part)
    flags = frozenset().union(*(bits.flags(TABLE, n, octets[n - 1]) for n in BIT_OCTETS))
    given = min(len(octets), STANDARD_OCTETS)
    master = octets[3] if given > len(BIT_OCTETS) else NO_MASTER
    ident = int.from_bytes(octets[4:6].ljust(2, b"\0"), "big")
    blocks, rest = diag_blocks.decode(bytes(octets[STANDARD_OCTETS:]))
    return SlaveDiag(flags, master, ident, blocks, rest, given)


def missing(diagnosis: SlaveDiag) -> str:
    """What can't be said of a diagnosis because its octets were not given; empty if all were.

    >>> missing(decode(bytes.fromhex("06 0C 00"), part=True))
    'Octets 4 to 6 were not given: the master, the ident number, and whether blocks follow can not be told.'
    """
    if diagnosis.given == STANDARD_OCTETS:
        return ""
    first = diagnosis.given + 1
    which = f"Octets {first} {'to' if first < 5 else 'and'} 6 were" if first < STANDARD_OCTETS else "Octet 6 was"
    master = "the master, " if diagnosis.given == len(BIT_OCTETS) else ""
    return f"{which} not given: {master}the ident number, and whether blocks follow can not be told."


def _check_length(octets: bytes, *, part: bool) -> None:
    """Raise `OutOfRange` unless so many octets can be a diagnosis, or a part of one that can be read."""
    _, most, source = bits.limit("Slave_Diag", "octets")
    if part:
        in_range("number of octets of Slave_Diag", len(octets), len(BIT_OCTETS), most, source=source)
    else:
        bits.check_length("Slave_Diag", octets)


def bit_rows(octets: bytes, *, part: bool = False) -> tuple[BitRow, ...]:
    """All bits of the first three octets, bit 7 of octet 1 first. Raises as `decode`.

    >>> [row.name for row in bit_rows(bytes.fromhex("02 05 00 FF FF F1")) if row.value]
    ['Station_Not_Ready', 'fixed 1', 'Prm_Req']
    """
    _check_length(octets, part=part)
    return tuple(row for n in BIT_OCTETS for row in bits.rows(TABLE, n, octets[n - 1]))


def explain(octets: bytes, *, dpv1: bool | None = None, part: bool = False) -> tuple[OctetLine, ...]:
    """Every octet of a diagnosis. Raises as `decode`.

    Parameters: dpv1, whether the station works by DPV1: then its own blocks are alarms and status messages; None: not
    known, then such a reading is offered.

    >>> for line in explain(bytes.fromhex("02 05 00 FF FF F1")):
    ...     print(line.octets.hex(" ").upper(), line.name, "–", line.meaning)
    02 Station_Status_1 – Station_Not_Ready: the station is not ready for data exchange
    05 Station_Status_2 – fixed 1: always 1 in an answer of a station; Prm_Req: the station wants parameters and \
configuration (anew)
    00 Station_Status_3 – no bit is 1
    FF Master_Add – no master has parametrised the station
    FF F1 ident number – 16#FFF1
    """
    found = decode(octets, part=part)
    pieces = [(1, f"Station_Status_{n}", bits.sentence(TABLE, n, octets[n - 1])) for n in BIT_OCTETS]
    pieces += [(1, "Master_Add", _master_text(found.master)), (2, "ident number", f"16#{found.ident:04X}")]
    if found.given < STANDARD_OCTETS:
        pieces[-1] = (2, "ident number", "not whole")
    lines = [line for line in bits.placed(pieces, octets) if line.octets]
    first = STANDARD_OCTETS + 1
    for block in found.blocks:
        lines += diag_blocks.explain(block, first, dpv1=dpv1)
        first += len(block.octets)
    if found.rest:
        lines.append(OctetLine(first, found.rest, "rest", diag_blocks.why_rest(found.rest)))
    return tuple(lines)


def _master_text(master: int) -> str:
    if master == NO_MASTER:
        return "no master has parametrised the station"
    return f"parametrised by the master with address {master}"
