"""The answer on a diagnosis: bits, blocks, the description's texts; what it means, where to look, what to do."""

from __future__ import annotations

from dataclasses import dataclass

from helpers import facts
from helpers.answer import Answer, Row
from helpers.bus.recording import recording_text, telegram_meaning
from helpers.bus.recording.telegram_meaning import service_data
from helpers.bus.services import diag_blocks, diagnosis, message, slave_diag
from helpers.bus.services.bits import BitRow, OctetLine
from helpers.bus.services.diag_blocks import Block, ChannelBlock, DeviceBlock, IdentifierBlock
from helpers.bus.services.diagnosis import Advice
from helpers.bus.services.slave_diag import SlaveDiag
from helpers.caution import worst_first
from helpers.device.description.model import Description, ident_text, named
from helpers.device.description.on_bus import diagnosis_texts
from helpers.errors import Unreadable, in_range
from helpers.wording import capital_first, octets_text, short

MOST_PASTED = 100_000  # characters
_OPEN_ADVICE, _MOST_TEXTS = 3, 6
_IDENT = 0xFFF1  # of the invented drive


@dataclass(frozen=True)
class DiagnosisPicture:
    """The three octets of bits, then master and ident number, of a diagnosis that may be given in part."""

    octets: bytes

    @property
    def rows(self) -> tuple[BitRow, ...]:
        """The bits with their meanings."""
        return tuple(slave_diag.bit_rows(self.octets, part=True))

    @property
    def diagnosed(self) -> SlaveDiag:
        """The diagnosis."""
        return slave_diag.decode(self.octets, part=True)

    @property
    def says(self) -> str:
        """The bits that are 1, and the ident number."""
        ones = ", ".join(row.name for row in self.rows if row.value) or "none"
        ident = slave_diag.missing(self.diagnosed) or f"Ident number 16#{self.diagnosed.ident:04X}."
        return f"Bits that are 1: {ones}. {ident}"


def examples() -> dict[str, str]:
    """Diagnoses of invented stations, by name.

    >>> examples()["waits for its parameters"]
    '02 05 00 FF FF F1'
    """
    ready, waits = {"fixed 1", "WD_On"}, {"fixed 1", "Station_Not_Ready"}
    line_break = (IdentifierBlock(frozenset({1})), ChannelBlock(1, 3, 6, direction=1))
    shown = {
        "waits for its parameters": _made({*waits, "Prm_Req"}, slave_diag.NO_MASTER),
        "parameters refused": _made({*waits, "Prm_Req", "Prm_Fault"}, slave_diag.NO_MASTER),
        "configuration refused": _made({*waits, "Prm_Req", "Cfg_Fault"}, slave_diag.NO_MASTER),
        "held by another controller": _made({*ready, "Master_Lock"}, 2),
        "in order": _made(ready),
        "drive too warm, fan worn": _made({*ready, "Ext_Diag"}, blocks=(DeviceBlock(bytes([1, 1])),)),
        "phase missing, as DPV1 tells it": _made(
            {*ready, "Ext_Diag"}, blocks=(diag_blocks.Message("status", 33, 0, data=bytes([1])).block,)
        ),
        "line break at an input": _made({*ready, "Ext_Diag"}, blocks=line_break),
        "data not valid": _made({*ready, "Stat_Diag"}),
        "nobody there (the controller's own note)": _made({"Station_Non_Existent"}, slave_diag.NO_MASTER, ident=0),
    }
    asked = message.request("Slave_Diag", to=12, sender=1, count="counted, 1")
    whole = message.answer(asked, bytes.fromhex(shown["configuration refused"])).octets
    return shown | {"a whole telegram": octets_text(whole)}


def _made(flags: set[str], master: int = 1, blocks: tuple[Block, ...] = (), ident: int = _IDENT) -> str:
    return octets_text(SlaveDiag(frozenset(flags), master, ident, blocks).octets)


def diagnosis_answer(
    text: str, *, number: int = 1, description: Description | None = None, dpv1: bool | None = None
) -> Answer:
    """What a diagnosis says.

    Parameters: text, its octets, a telegram or a recording with it, as pasted; number, which of several (beyond the
    last one: the last); description, of the station, for the texts of its own; dpv1, whether it works by DPV1, None
    where nobody knows. Raises `Unreadable`, and `OutOfRange` for fewer than three octets or too many.
    """
    in_range("pasted text", len(text), 0, MOST_PASTED, "characters")
    if not text.strip():
        raise Unreadable("there are no octets yet; paste a diagnosis as hexadecimal, for example 02 05 00 FF FF F1.")
    all_given = service_data(recording_text.read(text).octets, "Slave_Diag", telegram_meaning.ANSWER)
    station, octets = all_given[min(number, len(all_given)) - 1]
    diagnosed = slave_diag.decode(octets, part=True)

    def texts(block: Block) -> tuple[str, ...]:
        return block_texts(block, description) if description else ()

    read = diagnosis.read(diagnosed, texts=texts, dpv1=dpv1)
    advice = [_advice_row(one) for one in read.advice]
    lines = slave_diag.explain(octets, dpv1=dpv1, part=True)
    return Answer(
        f"{capital_first(read.state)}. {read.sentence}",
        because=" ".join(filter(None, (
            _which(station, min(number, len(all_given)), len(all_given)),
            _own_texts(diagnosed, description),
            _other_device(diagnosed, description),
            slave_diag.missing(diagnosed),
            "" if advice else "Nothing in it asks for anything to be done.",
        ))),
        caution=worst_first(each for one in read.advice for each in one.caution),
        pictures=[DiagnosisPicture(octets)],
        rows=advice[:_OPEN_ADVICE],
        folded=[
            (f"{len(advice) - _OPEN_ADVICE} more things that it reports", advice[_OPEN_ADVICE:]),
            ("Octet by octet, blocks included", [_octet_row(line) for line in lines]),
            ("All bits, and what each means", [bit_row(row) for row in slave_diag.bit_rows(octets, part=True)]),
        ],
        sources=[*(one.source for one in read.advice), slave_diag.bit_rows(octets, part=True)[0].source],
    )  # fmt: skip


def _which(station: int, number: int, count: int) -> str:
    about = f"From station {station}." if station >= 0 else ""
    return f"{about} Diagnosis {number} of {count} in the text." if count > 1 else about


def own_texts(diagnosed: SlaveDiag, description: Description) -> tuple[str, ...]:
    """What the description says about the blocks of the station's own and about its channels."""
    return tuple(dict.fromkeys(text for block in diagnosed.blocks for text in block_texts(block, description)))


def block_texts(block: Block, description: Description) -> tuple[str, ...]:
    """What the description says about one block.

    A block that DPV1 fills begins with its kind; where the description has texts for that kind, only they hold.
    """
    if isinstance(block, DeviceBlock) and block.data:
        kind = block.data[0]
        told = diagnosis_texts(description, block.data, block=kind)
        special = any(text.block == kind for text in description.diagnosis)
        return tuple(one.text for one in told if (one.block == kind) == special)
    if isinstance(block, ChannelBlock) and block.error in description.channel_texts:
        return (description.channel_texts[block.error],)
    return ()


def _own_texts(diagnosed: SlaveDiag, description: Description | None) -> str:
    own = [block for block in diagnosed.blocks if isinstance(block, DeviceBlock | ChannelBlock)]
    if not own:
        return ""
    if description is None:
        return "The station adds something of its own: choose its description, and its texts are shown."
    told = own_texts(diagnosed, description)
    if not told:
        return f"The description of {named(description)} has no text for what the station adds."
    more = f" and {len(told) - _MOST_TEXTS} more" if len(told) > _MOST_TEXTS else ""
    return f"The description says: {', '.join(short(text) for text in told[:_MOST_TEXTS])}{more}."


def _other_device(diagnosed: SlaveDiag, description: Description | None) -> str:
    if (
        description is None
        or diagnosed.given < slave_diag.STANDARD_OCTETS
        or not diagnosed.ident
        or description.ident == diagnosed.ident
    ):
        return ""
    return (
        f"The station says 16#{diagnosed.ident:04X}, the description {ident_text(description)}: it belongs to another "
        "device, and its texts do not hold."
    )


def _advice_row(one: Advice) -> Row:
    return {
        "reports": one.about,
        "what it means": one.meaning,
        "look at first": one.look_first,
        "what to do": one.to_do,
    }


def _octet_row(line: OctetLine) -> Row:
    last = line.first + len(line.octets) - 1
    place = f"{line.first} to {last}" if last > line.first else str(line.first)
    return {"octet": place, "value": octets_text(line.octets), "name": line.name, "meaning": line.meaning}


def bit_row(row: BitRow) -> Row:
    """One bit as a row of a table, with who says it: some are written by the controller, not by the station."""
    told_by = facts.one(slave_diag.TABLE, octet=row.octet, bit=row.bit)["set_by"]
    return {
        "octet": row.octet, "bit": row.bit, "value": row.value, "name": row.name, "meaning": row.meaning,
        "set by": told_by,
    }  # fmt: skip
