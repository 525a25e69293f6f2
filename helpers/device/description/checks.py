"""Holds a description against itself and against the standard: what is missing, and which numbers don't fit together.

`check` runs every check. What is from memory alone says nothing against a file.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from helpers import facts
from helpers.device.description.check_modules import advised, check_modules, check_parameters, finding
from helpers.device.description.keywords import bit_rate_keywords, keywords, revisions
from helpers.device.description.model import Description
from helpers.facts import Fact
from helpers.verdict import Degree, Finding, cited, forbidding, worst_first

SLAVE = 0  # Station_Type of a slave


def check(description: Description) -> tuple[Finding, ...]:
    """Every check of a description, the worst finding first.

    Parameters: description, as read; its `file_name` is compared with the ident number if there is one.
    Return: findings; a problem met while reading is one too.
    """
    return worst_first(
        [
            *_reading(description),
            *check_mandatory(description),
            *check_identity(description),
            *check_bit_rates(description),
            *check_timing(description),
            *check_modules(description),
            *check_parameters(description),
            *_lines(description),
        ]
    )


def check_mandatory(description: Description) -> Iterator[Finding]:
    """Whether every keyword is there that has to be, and each only in a revision that knows it."""
    slave = description.number("Station_Type") in (None, SLAVE)
    listed = [
        one.fact
        for one in keywords().values()
        if one.fact["mandatory"] == "yes" or (slave and one.fact["mandatory"] == "slave" and not one.opens)
    ]
    missing = [row for row in listed if not description.has(row["keyword"])]
    for row in missing:
        yield finding(
            "mandatory keyword", row["keyword"], "absent", "given", row.cited,
            "Ask the maker for a complete description; do not fill in a value that you guess.",
            forbidding([row]),
        )  # fmt: skip
    if not missing:
        count = f"all {len(listed)}"
        yield finding("mandatory keywords", "general", count, count, listed[0].cited, "", Degree.IN_ORDER)
    revision = description.number("GSD_Revision")
    known = {row["keyword"]: revisions().get(row["keyword"].lower()) for row in _given(description)}
    newer = {  # memory of a revision says nothing against a file
        name: since
        for name, since in known.items()
        if revision is not None and since and since[0] > revision and since[1].standing != "memory"
    }
    if newer:
        yield finding(
            "keywords of the revision", "general", ", ".join(newer),
            f"keywords of revision {revision}", cited([row for _, row in newer.values()]),
            "An engineering program may pass over what a later revision brought; ask the maker which revision it is.",
            Degree.CAUTION,
        )  # fmt: skip


def check_identity(description: Description) -> Iterator[Finding]:
    """Revision, protocol, ident number against the file name, kind of device, length of the texts."""
    low, high = facts.where("description_limits", what="revision")
    revision = description.number("GSD_Revision")
    if revision is not None:
        fits = low.whole("value") <= revision <= high.whole("value")
        yield finding(
            "revision", "GSD_Revision", str(revision), f"{low['value']} to {high['value']}",
            f"{low.cited}; {high.cited}", "The workbook may not know all of its keywords: see those listed as unknown.",
            Degree.IN_ORDER if fits else Degree.CAUTION,
        )  # fmt: skip
    for keyword, wanted, words in (("Protocol_Ident", 0, "0 (PROFIBUS DP)"), ("Station_Type", SLAVE, "0 (slave)")):
        if (number := description.number(keyword)) is not None:
            yield finding(
                "kind of station", keyword, str(number), words, keywords()[keyword.lower()].fact.cited,
                "This is not the description of a DP slave.",
                Degree.IN_ORDER if number == wanted else Degree.CANNOT_WORK,
            )  # fmt: skip
    yield from _file_name(description)
    yield from _texts(description)
    if (family := description.number("Slave_Family")) is not None:
        known = facts.where("slave_families", number=family)
        yield finding(
            "kind of device", "Slave_Family", f"{family} ({known[0]['kind']})" if known else str(family), "0 to 12",
            cited(known or facts.rows("slave_families")),
            "Look for the device under its maker's name in the catalogue.",
            Degree.IN_ORDER if known else advised(facts.rows("slave_families")),
        )  # fmt: skip


def _file_name(description: Description) -> Iterator[Finding]:
    if not description.file_name or description.ident is None:
        return
    row = facts.one("description_limits", what="file name")
    ident = f"{description.ident:04X}"
    digits = re.search(r"([0-9A-Fa-f]{4})\.gs.$", description.file_name, re.IGNORECASE)
    same = digits is not None and digits[1].upper() == ident
    yield finding(
        "ident number and file name", description.file_name, f"16#{ident} in the file",
        f"a name that ends with {ident}", row.cited,
        "Ask where the file came from: it may be renamed, or it belongs to another device.",
        Degree.IN_ORDER if same else Degree.CAUTION,
    )  # fmt: skip


def _texts(description: Description) -> Iterator[Finding]:
    row = facts.one("description_limits", what="text")
    for keyword in re.findall(r"\w+_\w+", row["about"]):
        text = description.text(keyword)
        if len(text) > row.whole("value"):
            yield finding(
                "length of a text", keyword, f"{len(text)} characters", f"at most {row['value']} characters", row.cited,
                "An engineering program may cut it; tell the maker.", Degree.CAUTION,
            )  # fmt: skip


def check_bit_rates(description: Description) -> Iterator[Finding]:
    """At least one bit rate; for each its longest answer time; whether the station finds the bit rate by itself."""
    taken = description.bit_rates
    yield finding(
        "bit rates", "general", ", ".join(_rate(rate) for rate in taken) or "none", "at least one",
        bit_rate_keywords("supp")[0][1].fact.cited,
        "Without a bit rate no engineering program can use the station; ask the maker.",
        Degree.IN_ORDER if taken else Degree.CANNOT_WORK,
    )  # fmt: skip
    for rate, one in bit_rate_keywords("MaxTsdr"):
        if rate in taken:
            yield from _answer_time(description, rate, one.fact)
    auto = description.number("Auto_Baud_supp") == 1
    yield finding(
        "automatic bit-rate detection", "Auto_Baud_supp", "yes" if auto else "no",
        "yes; else the bit rate is set at the device", keywords()["auto_baud_supp"].fact.cited,
        "Set the bit rate at the device itself, to that of the line, and switch its supply off and on.",
        Degree.IN_ORDER if auto else Degree.CAUTION,
    )  # fmt: skip


def _answer_time(description: Description, rate: float, row: Fact) -> Iterator[Finding]:
    """MaxTsdr of one bit rate, beside the value that the bus parameters are usually made for."""
    bits = description.number(row["keyword"])
    usual = facts.where("bus_timing", parameter="max_tsdr", kbit_s=rate / 1e3)
    usual_bits = max((one.whole("bits") for one in usual), default=None)
    if bits is None:
        yield finding(
            "longest answer time", row["keyword"], "absent", f"given, for {_rate(rate)}", row.cited,
            "The engineering program takes a value of its own; ask the maker whether it fits.", advised([row]),
        )  # fmt: skip
    elif usual_bits is not None:
        yield finding(
            "longest answer time", row["keyword"], f"{bits} bit times",
            f"1 to {usual_bits} bit times at {_rate(rate)}", "; ".join(one.cited for one in usual),
            "Have the bus parameters calculated with this value: the slot time must be longer than the answer takes.",
            Degree.IN_ORDER if 0 < bits <= usual_bits else Degree.CAUTION,
        )  # fmt: skip


def check_timing(description: Description) -> Iterator[Finding]:
    """The shortest time between two cycles."""
    units = description.number("Min_Slave_Intervall")
    if units is not None:
        yield finding(
            "shortest time between cycles", "Min_Slave_Intervall", f"{units} = {units / 10:g} ms",
            "1 or more, in 100 µs", keywords()["min_slave_intervall"].fact.cited,
            "A station can't be ready in no time; ask the maker for the true value.",
            Degree.IN_ORDER if units > 0 else Degree.CAUTION,
        )  # fmt: skip


def _reading(description: Description) -> Iterator[Finding]:
    for problem in description.problems:
        place = f"line {problem.line}" + (f", {problem.keyword}" if problem.keyword else "")
        yield finding(
            "reading", place, problem.found, problem.expected,
            "ISO 15745-3:2003, annex on the device description, p.188 (standard)",
            "Report the line to the maker; a file that is changed by hand is nobody's description any more.",
            Degree.BY_STANDARD,
        )  # fmt: skip


def _lines(description: Description) -> Iterator[Finding]:
    row = facts.one("description_limits", what="line")
    if description.long_lines:
        yield finding(
            "length of a line", f"line {description.long_lines[0]}", f"{len(description.long_lines)} longer lines",
            f"at most {row['value']} characters", row.cited, "Nothing, if the engineering program takes the file.",
            advised([row]),
        )  # fmt: skip


def _given(description: Description) -> Iterable[Fact]:
    return [keywords()[name].fact for name in description.general if name in keywords()]


def _rate(rate: float) -> str:
    return f"{rate / 1e6:g} Mbit/s" if rate >= 1e6 else f"{rate / 1e3:g} kbit/s"
