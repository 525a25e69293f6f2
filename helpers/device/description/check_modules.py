"""Checks of a description's modules, lengths and parameters: do its numbers agree with each other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from helpers import facts
from helpers.device.description.keywords import keywords
from helpers.device.description.model import Description, Layout, Module, Parameter
from helpers.device.description.modules import octets_length, settings_of
from helpers.device.identifiers import Configuration, decode
from helpers.errors import WorkbookError
from helpers.facts import Fact
from helpers.verdict import Degree, Finding, forbidding

_ASK = "Ask the maker for a corrected description."
_FRAME = "ISO 15745-3:2003, annex on the device description, p.188 (standard)"
_ITSELF = "follows from the file itself (calculated)"


def check_modules(description: Description) -> Iterator[Finding]:
    """Identifiers of every module, and the lengths of the device against those of its modules."""
    row = keywords()["module"].fact
    yield finding(
        "modules", "general", str(len(description.modules)), "1 or more", row.cited, _ASK,
        Degree.IN_ORDER if description.modules else Degree.CANNOT_WORK,
    )  # fmt: skip
    read: list[tuple[Module, Configuration]] = []
    for module in description.modules:
        try:
            read.append((module, decode(module.identifiers)))
        except WorkbookError as error:
            yield finding("identifiers", module.name, str(error).rstrip("."), "whole identifiers",
                          row.cited, _ASK, Degree.CANNOT_WORK)  # fmt: skip
    yield from _lengths(description, read)
    yield from _names(description)
    yield from _slots(description)
    low, high = facts.where("description_limits", what="diagnosis")
    if (octets := description.number("Max_Diag_Data_Len")) is not None:
        fits = low.whole("value") <= octets <= high.whole("value")
        yield finding("length of the diagnosis", "Max_Diag_Data_Len", f"{octets} octets",
                      f"{low['value']} to {high['value']} octets", f"{low.cited}; {high.cited}", _ASK,
                      Degree.IN_ORDER if fits else forbidding([low, high]))  # fmt: skip


def _lengths(description: Description, read: list[tuple[Module, Configuration]]) -> Iterator[Finding]:
    limit = facts.most(facts.where("cyclic_lengths", what="cyclic data"), "most_octets")
    for keyword, inward, outward in (("Max_Input_Len", 1, 0), ("Max_Output_Len", 0, 1), ("Max_Data_Len", 1, 1)):
        sizes = [(module.name, inward * found.bytes_in + outward * found.bytes_out) for module, found in read]
        most = description.number(keyword)
        if most is None:
            if description.modular:
                row = keywords()[keyword.lower()].fact
                yield finding("lengths", keyword, "absent", "given for a device with modules",
                              row.cited, _ASK, advised([row]))  # fmt: skip
            continue
        too_long = [name for name, size in sizes if size > most]
        largest = max((size for _, size in sizes), default=0)
        yield finding(
            "lengths", keyword, f"largest module {largest} bytes" + (f": {', '.join(too_long)}" if too_long else ""),
            f"at most {most} bytes", _FRAME, f"{_ASK} Such a module can't be put in.",
            Degree.CANNOT_WORK if too_long else Degree.IN_ORDER,
        )  # fmt: skip
        if keyword != "Max_Data_Len" and most > limit.last:
            yield finding("lengths", keyword, f"{most} bytes", f"at most {limit.last:g} bytes", limit.cited, _ASK,
                          forbidding(limit.facts))  # fmt: skip
    if description.modular and not description.number("Max_Module"):
        yield finding("lengths", "Max_Module", "absent or 0", "1 or more for a device with modules",
                      keywords()["max_module"].fact.cited, _ASK, advised([keywords()["max_module"].fact]))  # fmt: skip


def _names(description: Description) -> Iterator[Finding]:
    names = Counter(module.name for module in description.modules)
    references = Counter(str(one.reference) for one in description.modules if one.reference is not None)
    for what, counts in (("name", names), ("reference number", references)):
        for value, count in counts.items():
            if count > 1:
                yield finding("modules", value, f"the same {what} {count} times", "once", _FRAME, _ASK,
                              Degree.CAUTION)  # fmt: skip


def _slots(description: Description) -> Iterator[Finding]:
    known = [one.reference for one in description.modules if one.reference is not None]
    for slot in description.slots:
        if not any(slot.takes(reference) for reference in known):
            yield finding("slots", f"slot {slot.number}, {slot.name}", "no module of the file fits", "one or more",
                          keywords()["slot"].fact.cited, _ASK, Degree.CAUTION)  # fmt: skip


def check_parameters(description: Description) -> Iterator[Finding]:
    """Parameter octets: their lengths, their references, and each default against what is allowed."""
    plain, stated = description.octets("User_Prm_Data"), description.number("User_Prm_Data_Len")
    if stated is not None and stated != len(plain):
        yield finding("parameter octets", "User_Prm_Data", f"{len(plain)} octets", f"User_Prm_Data_Len = {stated}",
                      _FRAME, f"{_ASK} Set_Prm would have another length than the device expects.",
                      Degree.CANNOT_WORK)  # fmt: skip
    yield from _layout(description, "the device", description.layout, "Max_User_Prm_Data_Len")
    for module in description.modules:
        yield from _layout(description, module.name, module.layout, "Ext_Module_Prm_Data_Len")
    yield from _together(description, len(plain))
    for parameter in description.parameters.values():
        yield from _default(description, parameter)


def _together(description: Description, plain: int) -> Iterator[Finding]:
    """The parameter octets of the device with those of its longest module, against what the device itself allows."""
    most = description.number("Max_User_Prm_Data_Len")
    if most is None:
        return

    def octets(layout: Layout, least: int) -> int:
        return max(octets_length(layout, settings_of(description, layout)), least)

    own = octets(description.layout, plain)
    module = max(description.modules, key=lambda one: octets(one.layout, one.layout.length or 0), default=None)
    added = octets(module.layout, module.layout.length or 0) if module else 0
    if own + added > most:
        with_module = f" and {added} of {module.name}" if module and added else ""
        yield finding("parameter octets", "Max_User_Prm_Data_Len", f"{own} of the device{with_module}: {own + added}",
                      f"at most {most} octets", keywords()["max_user_prm_data_len"].fact.cited,
                      f"{_ASK} Set_Prm would be longer than the device takes.", Degree.CANNOT_WORK)  # fmt: skip


def _layout(description: Description, place: str, layout: Layout, keyword: str) -> Iterator[Finding]:
    if not (layout.constants or layout.references):
        return
    source = keywords()[keyword.lower()].fact.cited
    missing = [number for _, number in layout.references if number not in description.parameters]
    if missing:
        listed = ", ".join(str(number) for number in dict.fromkeys(missing))
        yield finding("references", place, f"parameter {listed}, which the file does not have", "one that it has",
                      _FRAME, _ASK, Degree.CANNOT_WORK)  # fmt: skip
    reach = octets_length(layout, settings_of(description, layout))
    if layout.length is None:
        yield finding("parameter octets", place, f"{keyword} absent", f"{reach} or more", source, _ASK,
                      Degree.CAUTION)  # fmt: skip
        return
    yield finding("parameter octets", place, f"up to octet {reach}", f"{keyword} = {layout.length}", source, _ASK,
                  Degree.IN_ORDER if reach <= layout.length else Degree.CANNOT_WORK)  # fmt: skip


def _default(description: Description, parameter: Parameter) -> Iterator[Finding]:
    place = f"{parameter.name} (line {parameter.line})"
    if not parameter.allows(parameter.default):
        yield finding("default of a parameter", place, str(parameter.default), parameter.range_text,
                      _ITSELF, _ASK, Degree.CAUTION)  # fmt: skip
    if parameter.text_list is None:
        return
    texts = description.texts.get(parameter.text_list)
    if texts is None:
        yield finding("references", place, f"list of texts {parameter.text_list}, which the file does not have",
                      "one that it has", keywords()["prm_text_ref"].fact.cited, _ASK, Degree.CANNOT_WORK)  # fmt: skip
    elif parameter.default not in texts:
        yield finding("texts of a parameter", place, f"no text for the default, {parameter.default}", "one",
                      keywords()["prm_text_ref"].fact.cited, _ASK, Degree.CAUTION)  # fmt: skip


def finding(rule: str, place: str, found: str, allowed: str, source: str, to_do: str, degree: Degree) -> Finding:
    """A finding that asks for something only if it is not in order."""
    return Finding(rule, place, found, allowed, source, "" if degree is Degree.IN_ORDER else to_do, degree)


def advised(facts: Iterable[Fact]) -> Degree:
    """How bad it is to go against facts that ask for care, and forbid nothing; memory asks for nothing."""
    return min(Degree.CAUTION, forbidding(facts))
