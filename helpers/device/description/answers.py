"""Answers on a device description: what it says, its findings, its modules, its octets, file against bus."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

from helpers.answer import Answer, Row
from helpers.device.description.checks import check
from helpers.device.description.keywords import bit_rate_keywords, cited_for
from helpers.device.description.model import Description, Module, ident_text, named
from helpers.device.description.on_bus import who_tells
from helpers.device.description.set_up_answer import octets_answer
from helpers.device.identifiers import decode
from helpers.errors import WorkbookError, one_of
from helpers.quantity import about, time_text
from helpers.verdict import Finding, worst
from helpers.wording import counted, short

SAYS, FINDINGS, MODULES, OCTETS, WHO = SHOWN = (
    "what the file says",
    "findings",
    "modules, parameters",
    "octets of my choice",
    "on the bus or not",
)

_OPEN_ROWS = 8
_LONG = 90  # characters in a cell


def description_answer(
    description: Description, show: str = SAYS, chosen: Sequence[str] = (), values: Mapping[str, str] | None = None
) -> Answer:
    """One of the views of a description; `chosen` are modules by name, `values` parameters by name."""
    one_of("view", show, SHOWN)
    if show == SAYS:
        return _says_answer(description)
    if show == FINDINGS:
        return findings_answer(description)
    if show == MODULES:
        return _modules_answer(description)
    if show == OCTETS:
        return octets_answer(description, chosen, values or {})
    return _who_answer(description)


# -- what the file says -------------------------------------------------------------------------------


def _says_answer(description: Description) -> Answer:
    told = _told(description)
    count, remarks = len(description.modules), counted(len(told), "finding")
    rows = _says_rows(description)
    return Answer(
        f"{named(description)}: ident number {ident_text(description)}, {counted(count, 'module')}.",
        degree=worst(check(description)),
        because=f"{remarks} in the file; show “{FINDINGS}”." if told else "Every check of the file is in order.",
        rows=rows,
        folded=[("Keywords that the workbook does not know; they are kept", _unknown_rows(description))],
        sources=[f"{row['keyword']}: {cited_for(str(row['keyword']))}" for row in rows],
    )


def _says_rows(description: Description) -> list[Row]:
    rates = description.bit_rates
    fastest = max(rates, default=0.0)
    answer = next((one.name for rate, one in bit_rate_keywords("MaxTsdr") if rate == fastest), "MaxTsdr_12M")
    bits = description.number(answer)
    units = description.number("Min_Slave_Intervall")
    revision = description.number("GSD_Revision")
    rows = [
        ("ident number", ident_text(description), "Ident_Number"),
        ("maker", short(description.text("Vendor_Name")), "Vendor_Name"),
        ("issue of the device", _issue(description), "Revision"),
        ("language of the file", f"revision {revision}, letters in {description.encoding}", "GSD_Revision"),
        ("bit rates", _rates(rates), "1.5M_supp"),
        ("finds the bit rate", _yes(description, "Auto_Baud_supp", "by itself", "no: set it at the device"),
         "Auto_Baud_supp"),
        ("longest answer time", f"{bits} bit times at {about(fastest, 'bit/s', digits=4)}"
         if fastest and bits is not None else "not said", answer),
        ("shortest time between cycles", "not said" if units is None else time_text(units / 1e4),
         "Min_Slave_Intervall"),
        ("address over the bus", _yes(description, "Set_Slave_Add_supp", "can be set", "no: set it at the device"),
         "Set_Slave_Add_supp"),
        ("modules", _modules(description), "Modular_Station"),
        ("parameters", _parameter_octets(description), "ExtUserPrmData"),
        ("texts for its diagnosis", str(len(description.diagnosis)), "Unit_Diag_Bit"),
    ]  # fmt: skip
    return [{"what": what, "the file says": says or "nothing", "keyword": keyword} for what, says, keyword in rows]


def _modules(description: Description) -> str:
    most = description.number("Max_Module")
    if not description.modular:
        return "one fixed set of identifiers"
    return f"{len(description.modules)}" + (f", of them up to {most} at a time" if most else "")


def _parameter_octets(description: Description) -> str:
    most = description.number("Max_User_Prm_Data_Len")
    if not description.parameters:
        return f"{len(description.octets('User_Prm_Data'))} octets without names"
    return f"{len(description.parameters)} with names" + (f", in up to {most} octets" if most else "")


def _issue(description: Description) -> str:
    issue, hardware, software = (
        short(description.text(name), 20) or "not said" for name in ("Revision", "Hardware_Release", "Software_Release")
    )
    return f"{issue}; hardware {hardware}, software {software}"


def _rates(rates: Sequence[float]) -> str:
    """Bit rates in one line: `9.6, 500 kbit/s, 1.5, 12 Mbit/s`."""
    slow = ", ".join(f"{rate / 1e3:g}" for rate in rates if rate < 1e6)
    fast = ", ".join(f"{rate / 1e6:g}" for rate in rates if rate >= 1e6)
    return ", ".join([f"{slow} kbit/s"] * bool(slow) + [f"{fast} Mbit/s"] * bool(fast)) or "none"


def _yes(description: Description, keyword: str, yes: str, no: str) -> str:
    return yes if description.number(keyword) == 1 else no


def _unknown_rows(description: Description) -> list[Row]:
    return [
        {"line": one.line, "keyword": short(one.keyword), "value": short(", ".join(map(str, one.values)))}
        for one in description.unknown[:100]
    ]


# -- findings -----------------------------------------------------------------------------------------


def _told(description: Description) -> list[Finding]:
    return [finding for finding in check(description) if finding.degree]


def findings_answer(description: Description, open_rows: int | None = _OPEN_ROWS) -> Answer:
    """Every check of the file; what is wrong beyond so many rows is folded up, None folds none."""
    findings = check(description)
    told, kept = _told(description), [finding for finding in findings if not finding.degree]
    rows = [_finding_row(description, finding, before) for before, finding in pairwise([None, *told]) if finding]
    kept_rows: list[Row] = [
        {"rule": f.rule, "where": short(f.place), "found": short(f.found), "allowed": f.allowed, "source": f.source}
        for f in kept
    ]
    remarks = counted(len(told), "finding")
    said = f"{remarks}, {len(kept)} checks in order." if told else f"all {len(kept)} checks are in order."
    return Answer(
        f"{named(description)}: {said}",
        degree=worst(findings),
        because="A file with faults goes back to its maker. Who mends it by hand has a file that nobody answers for."
        if told
        else "",
        rows=rows[:open_rows],
        folded=[
            (f"{len(rows) - (open_rows or 0)} more", rows[open_rows:] if open_rows else []),
            (f"In order: {len(kept)}", kept_rows),
        ],
        sources=[f"{finding.rule}: {finding.source}" for finding in told],
    )


def _finding_row(description: Description, finding: Finding, before: Finding | None) -> Row:
    again = before is not None and before.to_do == finding.to_do
    line, keyword = _place(description, finding)
    return {
        "verdict": finding.degree,
        "line": line or "",
        "keyword or place": short(keyword, 40),
        "found": short(finding.found, _LONG),
        "expected": short(finding.allowed, _LONG),
        "what to do": "as above" if again else finding.to_do,
    }


def _place(description: Description, finding: Finding) -> tuple[int, str]:
    """The line of a finding, 0 if it belongs to none, and the keyword or the place."""
    place = finding.place
    if place.startswith("line "):
        number, _, keyword = place.removeprefix("line ").partition(", ")
        return (int(number), keyword or finding.rule) if number.isdecimal() else (0, place)
    if (statement := description.general.get(place.lower())) is not None:
        return statement.line, place
    module = next((module for module in description.modules if module.name == place), None)
    return (module.line, place) if module else (0, finding.rule if place == "general" else place)


# -- modules and parameters ---------------------------------------------------------------------------


def _modules_answer(description: Description) -> Answer:
    rows = [_module_row(module) for module in description.modules[:200]]
    parameters: list[Row] = [
        {
            "number": number,
            "parameter": short(one.name),
            "default": description.text_of(one, one.default),
            "allowed": short(one.range_text),
            "type": f"{one.kind}, {counted(one.bits, 'bit')}",
        }
        for number, one in list(description.parameters.items())[:200]
    ]
    slots: list[Row] = [
        {"place": one.number, "name": short(one.name), "takes the references": short(_taken(description, one.number))}
        for one in description.slots[:100]
    ]
    count = len(description.modules)
    kind = "modules can be put together" if description.modular else "the identifiers are fixed"
    return Answer(
        f"{named(description)}: {counted(count, 'module')}, {_parameters(description)} with names; {kind}.",
        because="A module of this file is what other descriptions call a data format, an option or a card: a name "
        "for identifiers.",
        rows=rows[:_OPEN_ROWS],
        folded=[
            (f"{len(rows) - _OPEN_ROWS} more modules", rows[_OPEN_ROWS:]),
            (f"Parameters: {len(parameters)}", parameters),
            (f"Slots: {len(slots)}", slots),
        ],
        sources=[f"{keyword}: {cited_for(keyword)}" for keyword in ("Module", "ExtUserPrmData", "Slot")],
    )


def _parameters(description: Description) -> str:
    return counted(len(description.parameters), "parameter")


def _taken(description: Description, number: int) -> str:
    slot = next(one for one in description.slots if one.number == number)
    return ", ".join(
        str(m.reference) for m in description.modules if m.reference is not None and slot.takes(m.reference)
    )


def _module_row(module: Module) -> Row:
    try:
        found = decode(module.identifiers)
        sizes: tuple[object, object] = (found.bytes_out, found.bytes_in)
    except WorkbookError:
        sizes = ("not whole", "not whole")
    return {
        "module": short(module.name, 40),
        "reference": "–" if module.reference is None else module.reference,
        "identifiers": short(module.identifiers.hex(" ").upper(), 40),
        "bytes out": sizes[0],
        "bytes in": sizes[1],
        "own parameters": len(module.layout.references),
        "remark": short(module.info, 40),
    }


# -- on the bus, or in the file -----------------------------------------------------------------------


def _who_answer(description: Description) -> Answer:
    told = who_tells(description)
    silent = sum(not one.on_the_bus for one in told)
    rows: list[Row] = [
        {
            "what": one.what,
            "on the bus": one.on_the_bus or "–",
            "in this file": short(one.in_the_file) or "–",
            "remark": one.remark,
        }
        for one in told
    ]
    return Answer(
        f"{named(description)}: of {len(told)} things to know, {silent} are never said on the bus.",
        because="The station gives its ident number and the octets it works with. The rest you believe the file, so "
        "it has to be the right one.",
        rows=rows,
        sources=[f"{one.what}: {one.source}" for one in told],
    )
