"""Panels for the addresses of a line: judge a list that is there, propose one for a line that is to come."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from functools import cache

from helpers import facts
from helpers.answer import Answer, Row, TakeAway
from helpers.bus.address.address import LAST_USABLE, Holder, Proposed, check, classify, next_free, propose
from helpers.bus.address.address_list import read_groups, read_list, runs, write_list
from helpers.errors import OutOfRange
from helpers.facts import DATA
from helpers.panels.kit import fields
from helpers.panels.kit.panel import Panel
from helpers.panels.network.address_ruler import Mark, ruler
from helpers.plan import convert
from helpers.plan.read import read_plan
from helpers.safe_work import cautions
from helpers.spreadsheet import csv_file
from helpers.verdict import Degree, Finding, worst, worst_first
from helpers.written import whole

_MOST_ROWS = 4
_MOST_LINES = 10
_MOST_FOLDED = 200
_NAME = 60  # characters of names in a cell


@cache
def demo_addresses() -> str:
    """The stations of the invented Saltmarsh Mill, as `read_list` reads them."""
    network = read_plan(DATA / "demo" / "saltmarsh-mill").networks[0]
    return write_list(sorted(convert.holders(network), key=lambda holder: holder.address))


# -- a list that is there -----------------------------------------------------------------------------


def address_view(listed: Sequence[Holder], hsa: int | None = None, start: int = 1) -> Answer:
    """The verdict on a list of addresses, worst first, the next free one, and all of them on a ruler."""
    findings = check(listed, hsa)
    troubles = [finding for finding in worst_first(findings) if finding.degree]
    free, free_words = _free(listed, start)
    return Answer(
        f"{len(listed)} address{'es' if len(listed) > 1 else ''}{_said(troubles)}. {free_words}",
        degree=worst(findings),
        because=_because(troubles),
        caution=cautions("open drive", "address counts later") if troubles else (),
        pictures=[ruler(_marks(listed, findings), free=free, hsa=hsa)],
        rows=_rows(listed, troubles),
        folded=[("All findings", [_trouble_row(t) for t in troubles[:_MOST_FOLDED]])] * (len(troubles) > _MOST_ROWS),
        sources=[f"{finding.rule}: {finding.source}" for finding in findings],
        files=[TakeAway("addresses.csv", _csv([_finding_row(finding) for finding in worst_first(findings)]))],
    )


def _said(troubles: Sequence[Finding]) -> str:
    if not troubles:
        return ", all different and all usable"
    broken = sum(finding.degree.forbidden for finding in troubles)
    parts = [(broken, "against the standard"), (len(troubles) - broken, "against cautious practice")]
    return ": " + ", ".join(f"{count} {words}" for count, words in parts if count)


def _free(listed: Sequence[Holder], start: int) -> tuple[int | None, str]:
    try:
        free = next_free((holder.address for holder in listed), start)
    except OutOfRange:
        return None, f"From {start} to {LAST_USABLE} no address is free."
    return free, f"Next free from {start}: {free}."


def _because(troubles: Sequence[Finding]) -> str:
    if not troubles:
        return f"Every address once, each from 1 to {LAST_USABLE}, 0 for the engineering computer only."
    return f"Allowed: {troubles[0].allowed}. Source: {troubles[0].source}."


def _marks(listed: Sequence[Holder], findings: Sequence[Finding]) -> list[Mark]:
    """One mark for each address; an address that several have is judged by how it is shared."""
    # `check` begins with one finding for each station, in the order of the list.
    own = {holder.address: finding.degree for holder, finding in zip(listed, findings, strict=False)}
    names: dict[int, list[str]] = {}
    for holder in listed:
        names.setdefault(holder.address, []).append(holder.name)
    return [
        Mark(address, f"{address} {names[address][0]}", own[address])
        if len(names[address]) == 1
        else Mark(address, f"{address} given {len(names[address])} times", Degree.CANNOT_WORK)
        for address in sorted(names)
    ]


def _rows(listed: Sequence[Holder], troubles: Sequence[Finding]) -> list[Row]:
    """The troubles, as many as a panel holds, and in one line the addresses that nothing is said about."""
    shown = troubles if len(troubles) <= _MOST_ROWS else troubles[: _MOST_ROWS - 1]
    rows = [_trouble_row(trouble) for trouble in shown]
    if left := troubles[len(shown) :]:
        rules = ", ".join(f"{count} × {rule}" for rule, count in Counter(t.rule for t in left).items())
        rows.append({"where": f"… {len(left)} more", "found": rules, "verdict": "", "to do": "All are below."})
    named = {name for trouble in troubles for name in trouble.place.split(", ")}
    good = [holder.address for holder in listed if holder.name not in named]
    if good:
        found = f"{len(good)} address{'es' if len(good) > 1 else ''}: {runs(good)}"
        rows.append({"where": "the others" if troubles else "all", "found": found, "verdict": Degree.IN_ORDER,
                     "to do": ""})  # fmt: skip
    return rows


def _trouble_row(finding: Finding) -> Row:
    return {"where": _short(finding.place), "found": _found(finding), "verdict": finding.degree, "to do": finding.to_do}


def _found(finding: Finding) -> str:
    """What was found, with its rule where the words alone do not tell it."""
    return f"{finding.rule}: {finding.found}" if finding.rule == "number of stations" else finding.found


def _finding_row(finding: Finding) -> Row:
    return {"rule": finding.rule, "where": finding.place, "found": finding.found, "allowed": finding.allowed,
            "verdict": finding.verdict, "to do": finding.to_do, "source": finding.source}  # fmt: skip


def _csv(rows: Sequence[Mapping[str, object]]) -> bytes:
    return csv_file([rows[0], *(row.values() for row in rows)])


def _short(text: str) -> str:
    return text if len(text) <= _NAME else text[: _NAME - 1] + "…"


def _hsa(typed: str) -> int | None:
    return whole(typed) if typed.strip() else None


def address_panel() -> Panel:
    """Judge a list of addresses: paste your own over that of the demo site."""
    listed = fields.lines("addresses", demo_addresses(), read_list, rows=13)
    listed.widget.style.description_width = "72px"  # leaves more room for names
    return Panel(
        "Are these addresses in order?",
        {
            "listed": listed,
            "hsa": fields.text("HSA, if known", "126", _hsa),
            "start": fields.whole("next free from", "10", 0, LAST_USABLE),
        },
        address_view,
        hint="One station a line, the address first: 10 dryer fan 1. Or paste two columns of a spreadsheet. HSA is the "
        "highest station address set in the controllers.",
    )


# -- a list for a new line ----------------------------------------------------------------------------


def new_line_view(groups: Mapping[str, int], controllers: int = 1) -> Answer:
    """Addresses for a new line, with room to grow in each group."""
    lines = propose(groups, controllers)
    first = facts.one("address_practice", rule="first controller").whole("value")
    starts: list[int] = []
    place = 1 + controllers
    for count in groups.values():
        starts.append(lines[place].address)
        place += count
    ends = [*(start - 1 for start in starts[1:]), LAST_USABLE]
    rows: list[Row] = [
        {"group": "engineering computer", "addresses": str(lines[0].address), "room up to": "", "why": lines[0].why},
        {"group": "controller" + "s" * (controllers > 1), "addresses": runs(range(first, first + controllers)),
         "room up to": starts[0] - 1, "why": lines[1].why},
    ]  # fmt: skip
    for (name, count), start, end in zip(groups.items(), starts, ends, strict=True):
        addresses = runs(range(start, start + count))
        rows.append({"group": _short(name), "addresses": addresses, "room up to": end, "why": lines[-1].why})
    last = LAST_USABLE + 1
    keep = facts.one("address_practice", rule="free for new devices")["advice"]
    rows.append({"group": "new devices", "addresses": str(last), "room up to": "", "why": keep})
    stations = sum(groups.values())
    room = LAST_USABLE - controllers - stations
    source = facts.one("address_practice", rule="first controller").cited
    return Answer(
        f"{stations} station{'s' if stations > 1 else ''} and {controllers} "
        f"controller{'s' if controllers > 1 else ''} fit; {room} addresses are left for later.",
        because=f"{lines[-1].why} Source for the order: {source}; groups with room to grow are common practice.",
        pictures=[ruler(_group_marks(lines, groups, starts))],
        rows=_fold(rows),
        sources=[classify(LAST_USABLE).source, *(row.cited for row in facts.rows("address_practice"))],
        files=[TakeAway("new-line.csv", _csv([_proposed_row(line) for line in lines]))],
    )


def _group_marks(lines: Sequence[Proposed], groups: Mapping[str, int], starts: Sequence[int]) -> list[Mark]:
    heads = dict(zip(starts, groups.items(), strict=True))
    marks = []
    for line in lines:
        words = f"{line.address} {line.holder}" if line.kind != "drive" else ""
        if line.address in heads:
            name, count = heads[line.address]
            words = f"{runs(range(line.address, line.address + count))} {name}"
        marks.append(Mark(line.address, words))
    return marks


def _fold(rows: list[Row]) -> list[Row]:
    """As many rows as a panel holds, the last one among them; the file has them all."""
    if len(rows) <= _MOST_LINES:
        return rows
    kept, left = rows[: _MOST_LINES - 2], rows[_MOST_LINES - 2 : -1]
    more: Row = {"group": f"… {len(left)} more", "addresses": "", "room up to": "", "why": "See new-line.csv."}
    return [*kept, more, rows[-1]]


def _proposed_row(line: Proposed) -> Row:
    return {"address": line.address, "station": line.holder, "kind": line.kind, "why": line.why}


def new_line_panel() -> Panel:
    """Propose addresses for a new line: groups of stations, controllers, room to grow."""
    groups = fields.lines("groups", "dryer 5\nintake 3\ndust filter 2", read_groups, rows=6)
    groups.widget.style.description_width = "72px"
    return Panel(
        "Addresses for a new line",
        {
            "groups": groups,
            "controllers": fields.slider("controllers", 1, 1, 4),
        },
        new_line_view,
        hint="One group a line: its name and how many stations it has. Repeaters have no address and are not counted.",
    )
