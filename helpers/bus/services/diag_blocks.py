"""The blocks of a diagnosis behind its six standard octets.

    00 + length   the station's own: length counts the header; DPV1 fills it with an alarm or a status message
    01 + length   by identifier: one bit for each place of the configuration, bit 0 of the first octet is place 0
    10 + number   by channel, always three octets: identifier · direction and channel · type and error
    11 + number   a revision (from memory)

The first two bits of the header are those above. A length of 0 marks a block that is not complete: what follows is no
block. Sources: PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.729; Omron PRM21 manual p.171 for the channels;
M. Felser, PROFIBUS Manual, alarm messages, for alarms and status messages. Their fourth octet is from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from helpers import facts
from helpers.bus.services.bits import OctetLine, placed
from helpers.errors import Unknown, in_range, one_of

CHANNEL_OCTETS = 3
SOURCE = "PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.729"
_LONGEST = 63  # the header has six bits for the length


@dataclass(frozen=True)
class DeviceBlock:
    """A block whose content is the station's own: `data` are the octets behind the header."""

    data: bytes

    @property
    def octets(self) -> bytes:
        """The block with its header."""
        return _long(0b00, self.data)


@dataclass(frozen=True)
class IdentifierBlock:
    """Which places of the configuration (counted from 0) report something; `size` octets hold their bits."""

    places: frozenset[int]
    size: int = 1

    @property
    def octets(self) -> bytes:
        """The block with its header. Raises `OutOfRange` for a place that its octets don't reach."""
        in_range("number of octets of bits", self.size, 0, _LONGEST - 1, source=SOURCE)
        for place in self.places:
            in_range("place", place, 0, 8 * self.size - 1, source=f"{self.size} octets of bits")
        bits = bytearray(self.size)
        for place in self.places:
            bits[place // 8] |= 1 << place % 8
        return _long(0b01, bytes(bits))


@dataclass(frozen=True)
class ChannelBlock:
    """One channel: the place it belongs to (from 0), its number, direction, type and error, as numbers of the table."""

    place: int
    channel: int
    error: int
    type: int = 1
    direction: int = 0

    @property
    def octets(self) -> bytes:
        """The three octets."""
        for name, value, most in (
            ("place", self.place, 63),
            ("channel", self.channel, 63),
            ("direction", self.direction, 3),
            ("type", self.type, 7),
            ("error", self.error, 31),
        ):
            in_range(name, value, 0, most, source=f"Omron PRM21 manual p.171; {SOURCE}")
        return bytes((0x80 | self.place, self.direction << 6 | self.channel, self.type << 5 | self.error))

    @property
    def error_name(self) -> str:
        """The error in words: `maker` and `reserved` for the codes without a meaning of their own."""
        return name("error", self.error)


@dataclass(frozen=True)
class RevisionBlock:
    """A revision number, 0 to 63 (from memory)."""

    number: int

    @property
    def octets(self) -> bytes:
        """The single octet."""
        in_range("revision", self.number, 0, 63, source="six bits")
        return bytes((0xC0 | self.number,))


Block = DeviceBlock | IdentifierBlock | ChannelBlock | RevisionBlock


@dataclass(frozen=True)
class Message:
    """What DPV1 puts into a station's own block: an alarm or a status message.

    `kind` is alarm or status, `code` its type, `slot` the module; `sequence`, `acknowledge` and `specifier` stand in
    the fourth octet; `data` follows.
    """

    kind: str
    code: int
    slot: int
    sequence: int = 0
    acknowledge: bool = False
    specifier: int = 0
    data: bytes = b""

    @property
    def block(self) -> DeviceBlock:
        """The block that carries it. Raises `Unknown` for another kind, `OutOfRange` for too large a number."""
        one_of("kind of message", self.kind, [row["name"] for row in facts.where("alarm_types", field="kind")])
        for what, value, most in (
            ("type", self.code, 127),
            ("slot", self.slot, 255),
            ("sequence", self.sequence, 31),
            ("specifier", self.specifier, 3),
        ):
            in_range(what, value, 0, most)
        fourth = self.sequence << 3 | self.acknowledge << 2 | self.specifier
        return DeviceBlock(bytes((self.code | (self.kind == "status") << 7, self.slot, fourth)) + self.data)


def decode(octets: bytes) -> tuple[tuple[Block, ...], bytes]:
    """The blocks one after the other, and what is left: octets that are no whole block. Raises nothing.

    >>> (places, channel), rest = decode(bytes.fromhex("45 01 10 04 00 80 02 24"))
    >>> sorted(places.places), channel.error_name, rest
    ([0, 12, 18], 'overload', b'')
    """
    blocks: list[Block] = []
    at = 0
    while at < len(octets):
        header = octets[at]
        kind, low = header >> 6, header & 0x3F
        size = (low, low, CHANNEL_OCTETS, 1)[kind]
        if not size or at + size > len(octets):
            break
        blocks.append(_block(kind, low, octets[at + 1 : at + size]))
        at += size
    return tuple(blocks), octets[at:]


def _block(kind: int, low: int, data: bytes) -> Block:
    if kind == 0b00:
        return DeviceBlock(data)
    if kind == 0b01:
        bits = int.from_bytes(data, "little")
        return IdentifierBlock(frozenset(n for n in range(8 * len(data)) if bits >> n & 1), len(data))
    if kind == 0b10:
        return ChannelBlock(low, data[0] & 0x3F, data[1] & 0x1F, data[1] >> 5, data[0] >> 6)
    return RevisionBlock(low)


def message(block: DeviceBlock) -> Message | None:
    """A station's own block read as DPV1 fills it; None if it is too short for that.

    >>> message(DeviceBlock(bytes.fromhex("01 02 09")))
    Message(kind='alarm', code=1, slot=2, sequence=1, acknowledge=False, specifier=1, data=b'')
    """
    if len(block.data) < 3:
        return None
    first, slot, fourth = block.data[:3]
    kind = name("kind", first >> 7)
    return Message(kind, first & 0x7F, slot, fourth >> 3, bool(fourth & 4), fourth & 3, block.data[3:])


@cache
def name(field: str, code: int) -> str:
    """The name of a code of the channel errors or the alarms; `reserved` where the table has none.

    Parameters: field, `error`, `type` or `direction` of a channel; `kind`, `alarm`, `status`, `specifier` or `module`.

    >>> name("error", 6), name("alarm", 2), name("alarm", 20)
    ('line break', 'process alarm', 'reserved')
    """
    row = _row(field, code)
    return row["name"] if row else "reserved"


@cache
def _row(field: str, code: int) -> facts.Fact | None:
    found = facts.where("channel_errors", field=field) or facts.where("alarm_types", field=field)
    if not found:
        raise Unknown(f"no field {field!r} in data/channel_errors.csv or data/alarm_types.csv.")
    return next((row for row in found if row.whole("first") <= code <= row.whole("last")), None)


def explain(block: Block, first: int, *, dpv1: bool | None = None) -> tuple[OctetLine, ...]:
    """The octets of a block, line by line.

    Parameters: first, the number of the block's first octet; dpv1 as for `slave_diag.explain`.

    >>> for line in explain(ChannelBlock(0, 2, 4), 7):
    ...     print(line.first, line.octets.hex(" ").upper(), line.name, "–", line.meaning)
    7 80 channel block – identifier 0 (place 1)
    8 02 direction and channel – channel 2, direction not said
    9 24 type and error – 1 bit: overload
    """
    return tuple(placed(_pieces(block, dpv1), block.octets, first))


def _pieces(block: Block, dpv1: bool | None) -> Iterator[tuple[int, str, str]]:
    if isinstance(block, DeviceBlock):
        yield 1, "station's own block", f"{len(block.data) + 1} octets with this one"
        read = message(block) if dpv1 is not False else None
        if read:
            yield from _of_message(read, certain=bool(dpv1))
        elif block.data:
            yield len(block.data), "own data", "the station's manual or its description says what they mean"
    elif isinstance(block, IdentifierBlock):
        yield 1, "identifier block", f"{block.size + 1} octets with this one"
        for n, octet in enumerate(block.octets[1:]):
            here = (8 * n + bit for bit in range(8) if octet >> bit & 1)
            told = ", ".join(f"{_identifier(place)} reports a fault" for place in here) or "no fault"
            yield 1, f"identifiers {8 * n} to {8 * n + 7}", told
    elif isinstance(block, ChannelBlock):
        direction = name("direction", block.direction)
        way = f"direction {direction}" if direction == "not said" else direction
        code = "" if block.error_name not in ("maker", "reserved") else f" (code {block.error})"
        yield 1, "channel block", _identifier(block.place)
        yield 1, "direction and channel", f"channel {block.channel}, {way}"
        yield 1, "type and error", f"{name('type', block.type)}: {block.error_name}{code}"
    else:
        yield 1, "revision", f"revision {block.number} (from memory)"


def _identifier(number: int) -> str:
    """Identifiers are counted from 0 in a diagnosis; the places of a configuration are counted from 1."""
    return f"identifier {number} (place {number + 1})"


def _of_message(read: Message, *, certain: bool) -> Iterator[tuple[int, str, str]]:
    doubt = "" if certain else "if the station works by DPV1: "
    yield 1, f"{read.kind} type", f"{doubt}{name(read.kind, read.code)}"
    yield 1, "slot", f"{doubt}slot {read.slot}"
    row = _row("specifier", read.specifier)
    said = ", ".join(filter(None, (row["name"], row["meaning"]))) if row else ""
    more = "; a further acknowledgement is asked for" if read.acknowledge else ""
    yield 1, "specifier", f"{doubt}number {read.sequence}, {said}{more}"
    if read.kind == "status" and name("status", read.code) == "module status":
        for n, octet in enumerate(read.data):
            states = [f"module {4 * n + i + 1} {name('module', octet >> 2 * i & 3)}" for i in range(4)]
            yield 1, "module status", doubt + ", ".join(states)
    elif read.data:
        yield len(read.data), f"{read.kind} data", "the station's manual or its description says what they mean"


def why_rest(rest: bytes) -> str:
    """Why octets behind the last block are no block.

    >>> why_rest(bytes.fromhex("45 01"))
    'the header 16#45 announces 5 octets, 2 are there: the diagnosis is cut off, or the length is wrong'
    """
    header = rest[0]
    size = CHANNEL_OCTETS if header >> 6 == 0b10 else header & 0x3F
    if not size:
        return f"the header 16#{header:02X} has length 0: the block is not complete, and nothing can be read behind it"
    return (
        f"the header 16#{header:02X} announces {size} octets, {len(rest)} are there: the diagnosis is cut off, or the "
        "length is wrong"
    )


def _long(kind: int, data: bytes) -> bytes:
    in_range("length of a block", len(data) + 1, 1, _LONGEST, "octets", SOURCE)
    return bytes((kind << 6 | len(data) + 1,)) + data
