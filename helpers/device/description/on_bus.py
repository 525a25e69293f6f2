"""What a device says of itself on the bus, beside what only its description tells.

On the bus a station gives its ident number and the identifiers that it works with. The rest, such as names, ranges
and the meaning of diagnosis bits, is in the file alone, so the file must be the right one.
"""

from __future__ import annotations

from dataclasses import dataclass

from helpers import facts
from helpers.device.description.keywords import keywords
from helpers.device.description.model import Description, DiagText
from helpers.device.description.modules import Setup
from helpers.errors import in_range
from helpers.verdict import Degree, Finding
from helpers.wording import counted

# By how much a number is divided, and the unit that it then has.
_UNITS = {
    "Min_Slave_Intervall": (10, "ms"),
    "MaxTsdr_12M": (1, "bit times at 12 Mbit/s"),
    "Max_Input_Len": (1, "bytes of input at most"),
}


@dataclass(frozen=True)
class WhoTells:
    """One thing to know of a device: how the bus tells it (empty if it does not) and what the description says."""

    what: str
    on_the_bus: str
    in_the_file: str
    remark: str
    source: str


def who_tells(description: Description) -> tuple[WhoTells, ...]:
    """Each thing to know of a device, with who tells it. The rows are those of `data/description_sources.csv`.

    >>> [row.what for row in who_tells(Description()) if not row.on_the_bus][:2]
    ['names of maker and device', 'modules that could be chosen']
    """
    return tuple(
        WhoTells(row["what"], row["on_the_bus"], _said(description, row["keyword"]), row["remark"], row.cited)
        for row in facts.rows("description_sources")
    )


def _said(description: Description, keyword: str) -> str:
    counts = {
        "Module": (len(description.modules), "module"),
        "Unit_Diag_Bit": (len(description.diagnosis), "text"),
        "ExtUserPrmData": (len(description.parameters), "parameter"),
    }
    if keyword in counts:
        return counted(*counts[keyword])
    if keyword == "Ident_Number" and description.ident is not None:
        return f"16#{description.ident:04X}"
    if keyword == "User_Prm_Data" and not description.has(keyword):
        constants = b"".join(octets for _, octets in description.layout.constants)
        return constants.hex(" ").upper()
    if keyword == "12M_supp":
        rates = description.bit_rates
        return f"{len(rates)} bit rates, up to {max(rates) / 1e6:g} Mbit/s" if rates else ""
    if not description.has(keyword):
        return ""
    if keywords()[keyword.lower()].kind == "flag":
        return "yes" if description.number(keyword) else "no"
    if unit := _UNITS.get(keyword):
        return f"{(description.number(keyword) or 0) / unit[0]:g} {unit[1]}"
    if keywords()[keyword.lower()].kind == "octets":
        return description.octets(keyword).hex(" ").upper()
    return description.text(keyword) or str(description.number(keyword))


def compare_with_station(setup: Setup, *, ident: int, identifiers: bytes) -> tuple[Finding, ...]:
    """Hold what a station answered against its description and the modules planned.

    Parameters: setup, as planned; ident, octets 5 and 6 of its diagnosis; identifiers, its answer to Get_Cfg.
    Return: two findings. Errors: `OutOfRange` for an ident number outside 0 to 16#FFFF.
    Source: PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.734 (the ident number of Set_Prm must be the station's).
    """
    in_range("ident number", ident, 0, 0xFFFF, source="two octets of the diagnosis")
    planned = setup.description.ident
    same_ident, same_octets = ident == planned, identifiers == setup.identifiers
    return (
        Finding(
            "ident number", "station", f"16#{ident:04X}", "none" if planned is None else f"16#{planned:04X}",
            "PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.734 (standard)",
            "" if same_ident else "This is another device, or the file of another: find the description with this "
            "ident number, and look at the type plate.",
            Degree.IN_ORDER if same_ident else Degree.BY_STANDARD,
        ),
        Finding(
            "configuration identifiers", "station", identifiers.hex(" ").upper() or "none",
            setup.identifiers.hex(" ").upper(), facts.one("plan_rules", rule="format in the description").cited,
            "" if same_octets else "Choose the modules that the station has, in their order, or set the data format "
            "in the drive; load the controller again.",
            Degree.IN_ORDER if same_octets else Degree.CANNOT_WORK,
        ),
    )  # fmt: skip


def diagnosis_texts(description: Description, data: bytes, *, block: int | None = None) -> tuple[DiagText, ...]:
    """The texts that hold for the octets of a device's own diagnosis, behind the header of the block.

    Parameters: data, these octets; block, the kind of block for texts that belong to one kind only.
    Return: the texts of bits that are set and of numbers that have their value; help texts are left out.
    From memory: bits count from 0, the lowest bit of the first octet.

    >>> texts = (DiagText("Unit_Diag_Bit", 9, 9, 1, "fan worn"),)
    >>> [one.text for one in diagnosis_texts(Description(diagnosis=texts), bytes([0, 2]))]
    ['fan worn']
    """
    bits = int.from_bytes(data, "little")
    listed = description.diagnosis + tuple(text for module in description.modules for text in module.diagnosis)
    return tuple(
        one
        for one in listed
        if one.block in (None, block)
        and one.last_bit < 8 * len(data)
        and (bits >> one.first_bit) & ((1 << (one.last_bit - one.first_bit + 1)) - 1) == one.value
        and not one.keyword.lower().endswith("help")
    )
