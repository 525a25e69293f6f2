"""Global_Control: one command to all stations, or to those of some groups; nobody answers.

    1  bits: clear, freeze and unfreeze, sync and unsync (`data/global_control_bits.csv`)
    2  groups, one bit for each; 00 means all stations

Of a pair, the bit that begins with un- wins. Source: ABB FPBA-01 manual p.122; that 00 means all is from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

from helpers.bus.services import bits
from helpers.bus.services.bits import BitRow, OctetLine
from helpers.bus.services.set_prm import GROUPS, groups_of, groups_text
from helpers.errors import in_range

TABLE = "global_control_bits"
SOURCE = bits.limit("Global_Control", "octets")[2]


@dataclass(frozen=True)
class GlobalControl:
    """A command: the names of its bits that are 1, and the groups it is for (none: all stations)."""

    flags: frozenset[str] = frozenset()
    groups: frozenset[int] = frozenset()

    @property
    def octets(self) -> bytes:
        """The octets of the service."""
        return encode(self)


@dataclass(frozen=True)
class Held:
    """What a station holds after commands: outputs held by sync, inputs frozen, outputs cleared."""

    sync: bool = False
    freeze: bool = False
    clear: bool = False


def encode(command: GlobalControl) -> bytes:
    """The two octets. Raises `Unknown` for a bit that does not exist, `OutOfRange` for a group outside 1 to 8.

    >>> encode(GlobalControl(frozenset({"Clear_Data"}))).hex(" ").upper()
    '02 00'
    """
    bits.check(TABLE, command.flags)
    for group in command.groups:
        in_range("group", group, GROUPS[0], GROUPS[-1], source=SOURCE)
    return bytes((bits.octet_of(TABLE, 1, command.flags), sum(1 << group - 1 for group in command.groups)))


def decode(octets: bytes) -> GlobalControl:
    """What the two octets say. Raises `OutOfRange` for another number of octets.

    >>> sorted(decode(bytes.fromhex("28 01")).flags)
    ['Freeze', 'Sync']
    """
    bits.check_length("Global_Control", octets)
    return GlobalControl(bits.flags(TABLE, 1, octets[0]), groups_of(octets[1]))


def bit_rows(octets: bytes) -> tuple[BitRow, ...]:
    """The bits of the first octet, bit 7 first. Raises as `decode`."""
    decode(octets)
    return bits.rows(TABLE, 1, octets[0])


def explain(octets: bytes) -> tuple[OctetLine, ...]:
    """Both octets. Raises as `decode`.

    >>> [line.meaning for line in explain(bytes.fromhex("02 00"))]
    ['Clear_Data: the outputs are cleared', 'all stations']
    """
    command = decode(octets)
    groups = groups_text(command.groups) if command.groups else "all stations"
    pieces = [(1, "Control_Command", bits.sentence(TABLE, 1, octets[0])), (1, "Group_Select", groups)]
    return tuple(bits.placed(pieces, octets))


def summary(octets: bytes) -> str:
    """A command in one line.

    >>> summary(bytes.fromhex("02 00")), summary(bytes.fromhex("00 00"))
    ('Clear_Data, all stations', 'operate, all stations')
    """
    command = decode(octets)
    named = [row.name for row in bits.rows(TABLE, 1, octets[0]) if row.value]
    groups = groups_text(command.groups) if command.groups else "all stations"
    return f"{', '.join(named) or 'operate'}, {groups}"


def concerns(command: GlobalControl, groups: frozenset[int]) -> bool:
    """True if a station with these groups has to obey the command."""
    return not command.groups or bool(command.groups & groups)


def apply(command: GlobalControl, held: Held, *, groups: frozenset[int] = frozenset()) -> Held:
    """What a station holds after a command, from what it held before.

    Parameters: groups, those the station was given in Set_Prm. Sync and freeze last until they are ended; clear
    lasts until the next command that concerns the station.

    >>> apply(GlobalControl(frozenset({"Sync", "Unsync"})), Held(sync=True))
    Held(sync=False, freeze=False, clear=False)
    """
    if not concerns(command, groups):
        return held
    return Held(
        _after(command.flags, "Sync", "Unsync", held.sync),
        _after(command.flags, "Freeze", "Unfreeze", held.freeze),
        "Clear_Data" in command.flags,
    )


def _after(flags: frozenset[str], starts: str, ends: str, before: bool) -> bool:
    return False if ends in flags else (starts in flags or before)


def outputs(held: Held, sent: bytes, *, length: int, fail_safe: bool = False, safe: bytes | None = None) -> bytes:
    r"""What reaches the station's outputs for a data telegram that it has just received.

    Parameters: held, from `apply`; sent, the outputs in the telegram; length, how many it should be; fail_safe,
    whether the station was parametrised for it; safe, its own safe values, all 0 if left out. In clear mode, and for
    an empty telegram, a fail-safe station takes its safe values and any other station zeros. Outputs that sync
    holds back are told by `Held.sync`; a station keeps those itself. Source: common practice.
    Raises `OutOfRange` for another number of outputs than the configuration has.

    >>> outputs(Held(), b"\x04\x7f", length=2), outputs(Held(clear=True), b"\x04\x7f", length=2)
    (b'\x04\x7f', b'\x00\x00')
    >>> outputs(Held(clear=True), b"", length=2, fail_safe=True, safe=b"\x04\x7e")
    b'\x04~'
    """
    zeros = bytes(length)
    if safe is not None:
        in_range("number of safe values", len(safe), length, length, "byte", "the configuration of the station")
    if not sent and fail_safe:
        return zeros if safe is None else safe
    in_range("number of outputs", len(sent), length, length, "byte", "the configuration of the station")
    if held.clear:
        return safe if fail_safe and safe is not None else zeros
    return sent
