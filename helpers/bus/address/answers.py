"""What is said of addresses: one of them, a list, a list for a new line, and the switches on a station."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from helpers import facts
from helpers.answer import Answer, Row, TakeAway
from helpers.bus.address.address import (
    HIGHEST,
    LAST_USABLE,
    LOWEST,
    Holder,
    Proposed,
    check,
    classify,
    next_free,
    propose,
    runs,
    spell,
)
from helpers.bus.address.switches import DipSwitches, RotarySwitches, Switches, misreadings, setting_text
from helpers.errors import OutOfRange
from helpers.safe_work import cautions
from helpers.spreadsheet import rows_file
from helpers.verdict import Degree, Finding, findings_table, worst, worst_first
from helpers.wording import counted, short

_MOST_ROWS = 4  # of what is wrong: more are folded up
_MOST_GROUPS = 10
_MOST_FOLDED = 200


@dataclass(frozen=True)
class Mark:
    """An address in use, its verdict, and the words at it; without words there is only the mark."""

    address: int
    words: str
    degree: Degree = Degree.IN_ORDER


@dataclass(frozen=True)
class AddressRuler:
    """Addresses from 0 to 127 along a ruler, in rising order, with the next free one and the HSA, if given."""

    marks: tuple[Mark, ...]
    free: int | None = None
    hsa: int | None = None

    @property
    def says(self) -> str:
        """Every mark with its verdict, then the next free address and the HSA."""
        marks = "; ".join(
            f"{mark.words or mark.address}" + (f" ({mark.degree.words})" if mark.degree else "") for mark in self.marks
        )
        free = f"; next free: {self.free}" if self.free is not None else ""
        hsa = f"; highest station address: {self.hsa}" if self.hsa is not None else ""
        return f"addresses on a ruler from {LOWEST} to {HIGHEST}: {marks or 'none'}{free}{hsa}"


@dataclass(frozen=True)
class SwitchesPicture:
    """The switches as they stand, what each one counts, and the sum."""

    switches: Switches
    setting: str

    @property
    def sum(self) -> str:
        """What the counting switches add up to, in words."""
        if isinstance(self.switches, DipSwitches) and self.switches.over_the_bus(self.setting):
            return "address set over the bus"
        counting = [str(part) for part in self.switches.parts(self.setting) if part]
        total = sum(self.switches.parts(self.setting))
        return f"{' + '.join(counting)} = {total}" if len(counting) > 1 else f"together {total}"

    @property
    def says(self) -> str:
        """How each switch stands, and the sum."""
        if isinstance(self.switches, RotarySwitches):
            signs = zip(self.switches.places, self.setting.strip().upper(), strict=True)
            return "; ".join([*(f"{place} switch at {sign}" for place, sign in signs), self.sum])
        standing = (f"switch {number} {position}" for number, position, _ in self.switches.table(self.setting))
        return "; ".join([*standing, self.sum])


# -- one address, and the switches that give it --------------------------------------------------------


def address_answer(address: int, kind: str = "drive") -> Answer:
    """What one number means as the address of one kind of station, and how the usual switches stand for it."""
    meant, spelling = classify(address, kind), spell(address)
    usual = (("DIP switches, the left one counts 1", DipSwitches()), ("rotary switches, 0 to F", RotarySwitches()))
    return Answer(
        f"Address {spelling.decimal} = {spelling.hexadecimal} = {spelling.binary}: {meant.meaning}.",
        degree=meant.degree,
        because=" ".join(filter(None, (meant.reason, meant.to_do))),
        rows=[{"switches": words, "stand at": setting_text(switches, address)} for words, switches in usual],
        sources=[meant.source],
    )


def switches_answer(switches: Switches, setting: str, kind: str = "drive") -> Answer:
    """The address that a setting gives, the switches as they stand, and what it is misread as."""
    address = switches.address(setting)
    care, picture = cautions("open drive", "address counts later"), SwitchesPicture(switches, setting)
    if address is None:
        delivery = classify(LAST_USABLE + 1)
        return Answer(
            "The switch that hands addressing to the bus is ON: the other switches do not count.",
            because=f"{delivery.reason} {delivery.to_do}",
            caution=care,
            pictures=[picture],
            sources=[delivery.source],
        )
    plain = address_answer(address, kind)
    return Answer(
        plain.sentence,
        degree=plain.degree,
        because=plain.because,
        caution=care,
        pictures=[picture],
        rows=[
            {"also read as": wrong.address, "by": wrong.slip, "what is right": wrong.correction}
            for wrong in misreadings(switches, setting)
            if wrong.address <= HIGHEST
        ],
        sources=[*plain.sources, facts.one("address_practice", rule="free for new devices").cited],
    )


# -- a list that is there -----------------------------------------------------------------------------


def address_list_answer(stations: Sequence[Holder], hsa: int | None = None, start: int = 1) -> Answer:
    """The verdict on a list of addresses, worst first, the next free one, and all of them on a ruler."""
    findings = worst_first(check(stations, hsa))
    violations = [finding for finding in findings if finding.degree]
    free, free_words = _next_free(stations, start)
    return Answer(
        f"{counted(len(stations), 'address', 'addresses')}{_summary(violations)}. {free_words}",
        degree=worst(findings),
        because=_reason(violations),
        caution=cautions("open drive", "address counts later") if violations else (),
        pictures=[AddressRuler(_marks(stations), free=free, hsa=hsa)],
        rows=_violation_rows(stations, violations),
        folded=[("All findings", [_violation_row(v) for v in violations[:_MOST_FOLDED]])]
        * (len(violations) > _MOST_ROWS),
        sources=[f"{finding.rule}: {finding.source}" for finding in findings],
        files=[TakeAway("addresses.csv", rows_file(findings_table(findings)))],
    )


def _summary(violations: Sequence[Finding]) -> str:
    if not violations:
        return ", all different and all usable"
    forbidden = sum(finding.degree.forbidden for finding in violations)
    counts = [(forbidden, "against the standard"), (len(violations) - forbidden, "against cautious practice")]
    return ": " + ", ".join(f"{count} {words}" for count, words in counts if count)


def _next_free(stations: Sequence[Holder], start: int) -> tuple[int | None, str]:
    try:
        free = next_free((station.address for station in stations), start)
    except OutOfRange:
        return None, f"From {start} to {LAST_USABLE} no address is free."
    return free, f"Next free from {start}: {free}."


def _reason(violations: Sequence[Finding]) -> str:
    if not violations:
        return f"Every address once, each from 1 to {LAST_USABLE}, 0 for the engineering computer only."
    return f"Allowed: {violations[0].allowed}. Source: {violations[0].source}."


def _marks(stations: Sequence[Holder]) -> tuple[Mark, ...]:
    """One mark for each address; an address that several have cannot work."""
    sharing: dict[int, list[Holder]] = {}
    for station in stations:
        sharing.setdefault(station.address, []).append(station)
    return tuple(_mark(address, sharing[address]) for address in sorted(sharing))


def _mark(address: int, stations: Sequence[Holder]) -> Mark:
    if len(stations) > 1:
        return Mark(address, f"{address} given {len(stations)} times", Degree.CANNOT_WORK)
    return Mark(address, f"{address} {stations[0].name}", classify(address, stations[0].kind).degree)


def _violation_rows(stations: Sequence[Holder], violations: Sequence[Finding]) -> list[Row]:
    """What is wrong, as much as a panel holds, and in one line the addresses that nothing is said about."""
    shown = violations if len(violations) <= _MOST_ROWS else violations[: _MOST_ROWS - 1]
    rows = [_violation_row(finding) for finding in shown]
    if left := violations[len(shown) :]:
        rules = ", ".join(f"{count} × {rule}" for rule, count in Counter(f.rule for f in left).items())
        rows.append({"where": f"… {len(left)} more", "found": rules, "verdict": "", "to do": "All are below."})
    named = {name for finding in violations for name in finding.place.split(", ")}
    good = [station.address for station in stations if station.name not in named]
    if good:
        rows.append(
            {
                "where": "the others" if violations else "all",
                "found": f"{counted(len(good), 'address', 'addresses')}: {runs(good)}",
                "verdict": Degree.IN_ORDER,
                "to do": "",
            }
        )
    return rows


def _violation_row(finding: Finding) -> Row:
    """One finding; its rule is named where what was found does not tell it."""
    found = f"{finding.rule}: {finding.found}" if finding.rule == "number of stations" else finding.found
    return {"where": short(finding.place), "found": found, "verdict": finding.degree, "to do": finding.to_do}


# -- a list for a new line ----------------------------------------------------------------------------


def new_line_answer(groups: Mapping[str, int], controllers: int = 1) -> Answer:
    """Addresses for a new line, with room to grow in each group."""
    lines = propose(groups, controllers)
    stations = sum(groups.values())
    left = LAST_USABLE - controllers - stations
    source = facts.one("address_practice", rule="first controller").cited
    each: list[Row] = [
        {"address": line.address, "station": line.holder, "kind": line.kind, "why": line.why} for line in lines
    ]
    starts = _group_starts(lines, groups, controllers)
    return Answer(
        f"{counted(stations, 'station')} and {counted(controllers, 'controller')} fit; {left} addresses are left for "
        "later.",
        because=f"{lines[-1].why} Source for the order: {source}; groups with room to grow are common practice.",
        pictures=[AddressRuler(_group_marks(lines, groups, starts))],
        rows=_cut(_group_rows(lines, groups, starts, controllers)),
        folded=[("Every address", each)],
        sources=[classify(LAST_USABLE).source, *(row.cited for row in facts.rows("address_practice"))],
        files=[TakeAway("new-line.csv", rows_file(each))],
    )


def _group_starts(lines: Sequence[Proposed], groups: Mapping[str, int], controllers: int) -> list[int]:
    starts, place = [], 1 + controllers
    for count in groups.values():
        starts.append(lines[place].address)
        place += count
    return starts


def _group_rows(
    lines: Sequence[Proposed], groups: Mapping[str, int], starts: Sequence[int], controllers: int
) -> list[Row]:
    computer, first = lines[:2]
    numbers = runs(range(first.address, first.address + controllers))
    rows = [
        _group_row("engineering computer", str(computer.address), "", computer.why),
        _group_row("controller" + "s" * (controllers > 1), numbers, starts[0] - 1, first.why),
    ]
    ends = [*(start - 1 for start in starts[1:]), LAST_USABLE]
    for (name, count), start, end in zip(groups.items(), starts, ends, strict=True):
        rows.append(_group_row(short(name), runs(range(start, start + count)), end, lines[-1].why))
    advice = facts.one("address_practice", rule="free for new devices")["advice"]
    return [*rows, _group_row("new devices", str(LAST_USABLE + 1), "", advice)]


def _group_row(group: str, addresses: str, room: object, why: str) -> Row:
    return {"group": group, "addresses": addresses, "room up to": room, "why": why}


def _cut(rows: list[Row]) -> list[Row]:
    """As many rows as a panel holds, the last one among them; the file has them all."""
    if len(rows) <= _MOST_GROUPS:
        return rows
    kept, left = rows[: _MOST_GROUPS - 2], rows[_MOST_GROUPS - 2 : -1]
    return [*kept, _group_row(f"… {len(left)} more", "", "", "See new-line.csv."), rows[-1]]


def _group_marks(lines: Sequence[Proposed], groups: Mapping[str, int], starts: Sequence[int]) -> tuple[Mark, ...]:
    heads = dict(zip(starts, groups.items(), strict=True))
    marks = []
    for line in lines:
        words = f"{line.address} {line.holder}" if line.kind != "drive" else ""
        if line.address in heads:
            name, count = heads[line.address]
            words = f"{runs(range(line.address, line.address + count))} {name}"
        marks.append(Mark(line.address, words))
    return tuple(marks)
