"""What a diagnosis means, what to look at first, and what to do.

The state of the station is the first row of `data/diagnosis_states.csv` whose bit is 1: what stands further up has to
be put right before anything below it can be. Then follow the pieces of advice of `data/diagnosis_advice.csv`, one for
each thing that the diagnosis reports. Both tables are common practice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache

from helpers import facts
from helpers.bus.services import bits, diag_blocks, slave_diag
from helpers.bus.services.diag_blocks import Block, ChannelBlock, DeviceBlock, IdentifierBlock
from helpers.bus.services.slave_diag import NO_MASTER, SlaveDiag
from helpers.caution import Caution
from helpers.safe_work import listed


@dataclass(frozen=True)
class Advice:
    """One thing that a diagnosis reports: what it means, where to look first, what to do, and with what caution."""

    about: str
    meaning: str
    look_first: str
    to_do: str
    caution: tuple[Caution, ...]
    source: str


@dataclass(frozen=True)
class DiagnosisReading:
    """What a diagnosis says altogether: the state, its sentence, and the advice, the most urgent first."""

    state: str
    sentence: str
    advice: tuple[Advice, ...]


Texts = Callable[[Block], Sequence[str]]


def _none(block: Block) -> Sequence[str]:
    """No description is at hand."""
    return ()


def read(diagnosis: SlaveDiag, *, texts: Texts = _none, dpv1: bool | None = None) -> DiagnosisReading:
    """The state of a station, and what to do about it.

    Parameters: texts, what the description of the station says about a block of it; dpv1 as for `slave_diag.explain`.

    >>> found = read(slave_diag.decode(bytes.fromhex("06 0C 00 01 FF F1")))
    >>> found.state
    'configuration refused'
    >>> found.advice[0].look_first
    'Which data format is set in the station, and which in the controller?'
    """
    name, meaning = _state(diagnosis.flags)
    return DiagnosisReading(name, meaning, advice(diagnosis, texts=texts, dpv1=dpv1))


@cache
def _state(flags: frozenset[str]) -> tuple[str, str]:
    """Name and sentence of the first state of the table that these bits show; its last row asks for no bit."""
    states = facts.rows("diagnosis_states")
    row = next(row for row in states if not row.has("ones") or row["ones"] in flags)
    return row["name"], row["meaning"]


def advice(diagnosis: SlaveDiag, *, texts: Texts = _none, dpv1: bool | None = None) -> tuple[Advice, ...]:
    """One piece of advice for each thing that asks for something, the most urgent first; empty if nothing does.

    That a station reports a fault of its own is told by its blocks; without any, it stands alone. Parameters as `read`.

    >>> advice(SlaveDiag(frozenset({"fixed 1", "WD_On"}), master=1))
    ()
    """
    if not {slave_diag.FIXED, "Station_Non_Existent"} & diagnosis.flags:
        return (_advice("no diagnosis", slave_diag.FIXED, "bit 2 of octet 2 is 0; a station always sends it as 1", ""),)
    order = [row["ones"] for row in facts.rows("diagnosis_states") if row.has("ones")]
    head = bytes(bits.octet_of(slave_diag.TABLE, n, diagnosis.flags) for n in slave_diag.BIT_OCTETS)
    told = {row.name: row for row in slave_diag.bit_rows(head, part=True) if row.value}
    blocks = list(_of_blocks(diagnosis, texts, dpv1))
    found = [
        _advice(bit, bit, told[bit].meaning, told[bit].source)
        for bit in [*order, "Ext_Diag_Overflow"]
        if bit in told and not _goes_without_saying(bit, diagnosis.flags) and not (bit == "Ext_Diag" and blocks)
    ]
    found += blocks
    running = not {"Prm_Req", "Prm_Fault", "Station_Non_Existent", "Master_Lock"} & diagnosis.flags
    if running and diagnosis.master == NO_MASTER and diagnosis.given > len(slave_diag.BIT_OCTETS):
        found.append(_advice("no master", "octet 4", "no master has parametrised the station", ""))
    elif running and "WD_On" not in diagnosis.flags:
        found.append(_advice("watchdog off", "WD_On", "the watchdog of the station is off", ""))
    return tuple(found)


def summary(octets: bytes) -> str:
    """A diagnosis in one line. Raises as `slave_diag.decode`.

    >>> summary(bytes.fromhex("02 05 00 FF FF F1"))
    'waits for parameters; no master; ident 16#FFF1'
    >>> summary(bytes.fromhex("08 0C 00 01 FF F1 84 41 26"))
    'in data exchange, with a fault of its own: line break; master 1; ident 16#FFF1'
    """
    found = slave_diag.decode(octets)
    reports = [text for block in found.blocks if (text := _in_short(block))]
    told = f": {', '.join(reports)}" if reports else ""
    master = "no master" if found.master == NO_MASTER else f"master {found.master}"
    return f"{_state(found.flags)[0]}{told}; {master}; ident 16#{found.ident:04X}"


def _in_short(block: object) -> str:
    if isinstance(block, ChannelBlock):
        return block.error_name if block.error_name not in ("maker", "reserved") else f"error {block.error}"
    if isinstance(block, IdentifierBlock) and block.places:
        return f"identifier {', '.join(map(str, sorted(block.places)))}"
    return "own data" if isinstance(block, DeviceBlock) and block.data else ""


def _goes_without_saying(bit: str, flags: frozenset[str]) -> bool:
    """A station that still has to be parametrised, or that is not there, is not ready either: one advice is enough."""
    others = {"Prm_Req", "Prm_Fault", "Cfg_Fault", "Station_Non_Existent", "Master_Lock"} & flags
    return (bit == "Station_Not_Ready" and bool(others)) or (bit == "Prm_Req" and bool(others - {"Prm_Req"}))


def _of_blocks(diagnosis: SlaveDiag, texts: Texts, dpv1: bool | None) -> Iterator[Advice]:
    """What each block reports, with the texts of the description where there are any."""
    first = slave_diag.STANDARD_OCTETS + 1
    for block in diagnosis.blocks:
        last = first + len(block.octets) - 1
        where, own = f"block, octets {first} to {last}", ", ".join(texts(block))
        told = diag_blocks.explain(block, first, dpv1=dpv1)[1:]
        if isinstance(block, ChannelBlock):
            yield _of_channel(block, own)
        elif isinstance(block, IdentifierBlock) and block.places:
            faults = ", ".join(f"identifier {place} (place {place + 1})" for place in sorted(block.places))
            yield _advice("identifier block", where, f"{faults} reports a fault", diag_blocks.SOURCE)
        elif isinstance(block, DeviceBlock) and own:
            yield _advice("own text", where, own, "the device description")
        elif isinstance(block, DeviceBlock) and block.data and "Ext_Diag" in diagnosis.flags:
            octets = block.data.hex(" ").upper()
            meaning = "; ".join(f"{line.name}: {line.meaning}" for line in told)
            yield _advice("own block", where, f"{octets[:47]}{'…' if len(octets) > 47 else ''}: {meaning}", "")
        first = last + 1


def _of_channel(block: ChannelBlock, own: str) -> Advice:
    where = f"identifier {block.place}, channel {block.channel}, {diag_blocks.name('type', block.type)}"
    code = f" {block.error}" if block.error_name in ("maker", "reserved") else ""
    row = facts.where("channel_errors", field="error", name=block.error_name)[0]
    return _advice(block.error_name, where, f"{block.error_name}{code}{f': {own}' if own else ''}", row.cited)


def _advice(key: str, about: str, meaning: str, source: str) -> Advice:
    row = facts.one("diagnosis_advice", about=key)
    cited = "; ".join(filter(None, (source, f"advice: {row.cited}")))
    return Advice(about, meaning, row["look_first"], row["to_do"], listed(row["caution"]), cited)
