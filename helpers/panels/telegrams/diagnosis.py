"""The diagnosis reader: bits one by one, blocks, the description's texts; what it means, where to look, what to do."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import ipywidgets as widgets

from helpers import facts
from helpers.answer import Answer, Row
from helpers.bus.recording import recording_text, telegram_meaning
from helpers.bus.recording.service_octets import service_data
from helpers.bus.services import diag_blocks, diagnosis, message, slave_diag
from helpers.bus.services.bits import BitRow, Line
from helpers.bus.services.diag_blocks import Block, ChannelBlock, DeviceBlock, IdentifierBlock
from helpers.bus.services.diagnosis import Advice
from helpers.bus.services.slave_diag import SlaveDiag
from helpers.caution import worst_first
from helpers.device.description.model import Description, ident_text, named
from helpers.device.description.on_bus import diagnosis_texts
from helpers.errors import Unreadable, in_range
from helpers.panels.device.description import ACCEPTED, CHOICES, UPLOADED, description_called
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import GREY, INK, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.fields import Field, Upload
from helpers.panels.kit.panel import Panel
from helpers.wording import capital_first, short

NO_DESCRIPTION = "– none –"
DPV1 = {"not known": None, "yes": True, "no": False}
MOST_PASTED = 100_000  # characters
_OPEN_ADVICE, _MOST_TEXTS = 3, 6
_IDENT = 0xFFF1  # of the invented drive


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
    return shown | {"a whole telegram": whole.hex(" ").upper()}


def _made(flags: set[str], master: int = 1, blocks: tuple[Block, ...] = (), ident: int = _IDENT) -> str:
    return SlaveDiag(frozenset(flags), master, ident, blocks).octets.hex(" ").upper()


def diagnosis_view(
    text: str, number: int = 1, description: Description | None = None, dpv1: bool | None = None
) -> Answer:
    """What a diagnosis says.

    Parameters: text, its octets, a telegram or a recording with it, as pasted; number, which of several (beyond the
    last one: the last); description, of the station, for the texts of its own; dpv1, whether it works by DPV1, None
    where nobody knows. Raises `Unreadable`, and `OutOfRange` for fewer than three octets or too many.
    """
    in_range("pasted text", len(text), 0, MOST_PASTED, "characters")
    if not text.strip():
        raise Unreadable("there are no octets yet; paste a diagnosis as hexadecimal, for example 02 05 00 FF FF F1.")
    all_found = service_data(recording_text.read(text).octets, "Slave_Diag", telegram_meaning.ANSWER)
    station, octets = all_found[min(number, len(all_found)) - 1]
    diagnosed = slave_diag.decode(octets, part=True)

    def texts(block: Block) -> tuple[str, ...]:
        return block_texts(block, description) if description else ()

    read = diagnosis.read(diagnosed, texts=texts, dpv1=dpv1)
    advice = [_advice_row(one) for one in read.advice]
    lines = slave_diag.explain(octets, dpv1=dpv1, part=True)
    return Answer(
        f"{capital_first(read.state)}. {read.sentence}",
        because=" ".join(filter(None, (
            _which(station, min(number, len(all_found)), len(all_found)),
            _own_texts(diagnosed, description),
            _other_device(diagnosed, description),
            slave_diag.missing(diagnosed),
            "" if advice else "Nothing in it asks for anything to be done.",
        ))),
        caution=worst_first(each for one in read.advice for each in one.caution),
        pictures=[bits_drawing(octets)],
        rows=advice[:_OPEN_ADVICE],
        folded=[
            (f"{len(advice) - _OPEN_ADVICE} more things that it reports", advice[_OPEN_ADVICE:]),
            ("Octet by octet, blocks included", [_octet_row(line) for line in lines]),
            ("All bits, and what each means", [bit_row(row) for row in slave_diag.bit_rows(octets, part=True)]),
        ],
        sources=[one.source for one in read.advice] or [slave_diag.bit_rows(octets, part=True)[0].source],
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


def _octet_row(line: Line) -> Row:
    last = line.first + len(line.octets) - 1
    place = f"{line.first} to {last}" if last > line.first else str(line.first)
    return {"octet": place, "value": line.octets.hex(" ").upper(), "name": line.name, "meaning": line.meaning}


def bit_row(row: BitRow) -> Row:
    """One bit as a row of a table, with who says it: some are written by the controller, not by the station."""
    told_by = facts.one(slave_diag.TABLE, octet=row.octet, bit=row.bit)["set_by"]
    return {
        "octet": row.octet, "bit": row.bit, "value": row.value, "name": row.name, "meaning": row.meaning,
        "set by": told_by,
    }  # fmt: skip


_COLUMN, _LINE, _TOP = 196.0, 17.0, 24.0


def bits_drawing(octets: bytes) -> Drawing:
    """The three octets of bits side by side, bit 7 at the top; then master and ident number."""
    rows = slave_diag.bit_rows(octets, part=True)
    ones = ", ".join(row.name for row in rows if row.value) or "none"
    found = slave_diag.decode(octets, part=True)
    sheet = Drawing(
        758,
        _TOP + 8 * _LINE + 8,
        f"Bits that are 1: {ones}. {slave_diag.missing(found) or f'Ident number 16#{found.ident:04X}.'}",
    )
    for n in slave_diag.BIT_OCTETS:
        x = 6 + (n - 1) * _COLUMN
        sheet.text(x, 16, f"octet {n}: {octets[n - 1]:02X}", size=13, anchor="start", bold=True)
        for row in rows:
            if row.octet != n:
                continue
            y = _TOP + (7 - row.bit) * _LINE
            sheet.box(x + 14, y, 16, 14, fill=INK if row.value else PAPER, line=1)
            sheet.text(x + 22, y + 11, row.value, size=11, bold=True, fill=PAPER if row.value else GREY)
            sheet.text(x + 4, y + 11, row.bit, size=11, fill=GREY)
            name = row.name if not row.name.startswith("reserved") else "reserved"
            sheet.text(x + 36, y + 12, name, size=12, anchor="start", bold=bool(row.value),
                       fill=INK if row.value else GREY)  # fmt: skip
    x = 6 + 3 * _COLUMN
    given, whole = found.given, slave_diag.STANDARD_OCTETS
    master = "FF: no master" if found.master == slave_diag.NO_MASTER else f"{found.master:02X}: master {found.master}"
    behind = len(octets) - whole
    others = (
        ("octet 4", master if given > len(slave_diag.BIT_OCTETS) else "not given", SKY),
        ("octets 5 and 6", f"ident 16#{found.ident:04X}" if given == whole else "not given", SKY),
        ("octets 7 and on", f"{behind} in blocks" if behind > 0 else "none" if given == whole else "not given", SAND),
    )
    for n, (name, said, fill) in enumerate(others):
        sheet.text(x, 16 + n * 46, name, size=13, anchor="start", bold=True)
        sheet.box(x, 22 + n * 46, 148, 20, fill=fill, line=1)
        sheet.text(x + 6, 36 + n * 46, said, size=12, anchor="start")
    return sheet


def with_examples(label: str, ready: dict[str, str], *, rows: int) -> Field:
    """A field for pasted octets, with a list of examples above it that fills it in."""
    own = "your own, typed or pasted below"
    field = fields.lines(label, next(iter(ready.values())), rows=rows)
    choose = widgets.Dropdown(
        options=[*ready, own], description="example", layout=field.widget.layout, style=field.widget.style
    )

    def fill(change: dict[str, str]) -> None:
        field.widget.value = ready.get(change["new"], field.widget.value)

    def typed(change: dict[str, str]) -> None:
        choose.value = next((name for name, text in ready.items() if text == change["new"]), own)

    choose.observe(fill, "value")
    field.widget.observe(typed, "value")
    return Field(field.widget, field.read, around=widgets.VBox([choose, field.widget]))


def description_or_none() -> tuple[Field, Field]:
    """A list of descriptions that begins with none, and a button to upload one; an upload turns the list to it."""
    choice = fields.choice("description", [NO_DESCRIPTION, *CHOICES])
    files = fields.upload("Upload your own", ACCEPTED)

    def uploaded(_: Any) -> None:
        choice.widget.value = UPLOADED

    files.widget.observe(uploaded, "value")
    return choice, files


def chosen_description(choice: str, files: Sequence[Upload]) -> Description | None:
    """The description chosen; None for none."""
    return None if choice == NO_DESCRIPTION else description_called(choice, files)


def diagnosis_panel() -> Panel:
    """Paste a diagnosis, or choose an example: what it means, where to look first, what to do."""
    choice, files = description_or_none()

    def answer(text: str, number: int, description: str, files: Sequence[Upload], dpv1: str) -> Answer:
        return diagnosis_view(text, number, chosen_description(description, files), DPV1[dpv1])

    return Panel(
        "What does this diagnosis mean?",
        {
            "text": with_examples("octets", examples(), rows=5),
            "number": fields.whole("no. in the text", "1", 1, 1_000_000),
            "description": choice,
            "files": files,
            "dpv1": fields.choice("works by DPV1", list(DPV1)),
        },
        answer,
        hint="Six octets or more, or the first three alone; a whole telegram, or a recording; any usual spelling. The "
        "station's own texts come from its description. The examples are from Saltmarsh Mill, an invented site. Bit 7 "
        "is the highest; it stands at the left when an octet is written out.",
    )
