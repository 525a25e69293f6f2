"""What is said of a segment: does it keep the rules, how fast may it be, and where must a repeater go."""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import ceil, inf

from helpers.answer import Answer, Row, TakeAway
from helpers.bus.cable.bit_rates import bit_rate_text, bit_rates
from helpers.bus.cable.cable import share_used
from helpers.bus.cable.laid import Segment
from helpers.bus.cable.line_picture import LinePicture
from helpers.bus.cable.repeater import Proposal, check_repeaters, propose
from helpers.bus.cable.segment import Highest, cabinet_line, check, highest_bit_rate
from helpers.errors import OutOfRange
from helpers.quantity import quantity
from helpers.safe_work import cautions
from helpers.spreadsheet import rows_file
from helpers.verdict import Degree, Finding, findings_table, worst, worst_first
from helpers.wording import capital_first, counted

MOST_REPEATERS = 9  # more are not legible in a picture
_MOST_ROWS, _MOST_PLACES, _MOST_SEGMENTS = 4, 2, 20
_ONE_LINE = 50  # letters
# The rules that a repeater can help to keep.
_DIVIDED = ("length of the segment", "bus interfaces", "unit loads", "length of all stubs", "reserve for later")


def segment_answer(segment: Segment, *, whole: bool = False) -> Answer:
    """The verdict on a segment, worst first, its highest bit rate, and its division where it needs one.

    whole: every rule that is not kept has a row, however many.
    """
    findings = worst_first(check(segment))
    needs, proposal = _division(segment, findings)
    strict, lenient = (highest_bit_rate(segment, leniently=leniently) for leniently in (False, True))
    divided = [proposal] if proposal and len(proposal.places) <= MOST_REPEATERS else []
    return Answer(
        f"{_summary(segment, findings)} {_rates(strict, lenient)}",
        degree=worst(findings),
        because=" ".join(filter(None, (needs, _beyond(strict)))),
        caution=cautions("cabinet", "bus comes and goes") if findings[0].degree else (),
        pictures=[LinePicture((segment,), legend=not divided), *divided],
        rows=_rows(findings, len(findings) if whole else _MOST_ROWS),
        folded=[("Where the repeaters go", _places(proposal))]
        if proposal and len(proposal.places) > _MOST_PLACES
        else (),
        sources=[f"{finding.rule}: {finding.source}" for finding in findings],
        files=[TakeAway("segment.csv", rows_file(findings_table(findings)))],
    )


def _summary(segment: Segment, findings: Sequence[Finding]) -> str:
    kinds = " and ".join(sorted({piece.cable for piece in segment.pieces}))
    line = (
        f"{segment.interfaces} bus interfaces on {quantity(segment.length_m, 'm')} of type {kinds} "
        f"at {bit_rate_text(segment.bit_rate)}"
    )
    troubles = list(dict.fromkeys(finding.rule for finding in findings if finding.degree))
    return f"{line}: trouble with {', '.join(troubles)}." if troubles else f"{line}."


def _rates(strict: Highest, lenient: Highest) -> str:
    """The highest bit rate by the strictest source of each rule, and by the most lenient one if it is another."""
    if lenient.at_none:
        first = lenient.why[0]
        return f"It is allowed at no bit rate: {first.rule} {first.found}, {first.allowed}."
    if not lenient.bit_rate:
        return "No bit rate carries this cable in one segment."
    most = bit_rate_text(lenient.bit_rate)
    if strict.bit_rate == lenient.bit_rate:
        return f"This cable carries up to {most}."
    if strict.bit_rate:
        return f"This cable carries up to {bit_rate_text(strict.bit_rate)}; by the most lenient sources {most}."
    return f"Only by the most lenient sources this cable carries up to {most}."


def _beyond(answer: Highest) -> str:
    """Why the next higher bit rate fails."""
    if not answer.why or answer.at_none:
        return ""
    rates, first = bit_rates(), answer.why[0]
    beyond = bit_rate_text(rates[rates.index(answer.bit_rate) + 1] if answer.bit_rate else rates[0])
    strictly = " by the strictest source" if first.degree is Degree.CAUTION and not first.beyond_all else ""
    return f"{beyond} fails{strictly}: {first.rule} {first.found.removesuffix(f' at {beyond}')}, {first.allowed}."


def _division(segment: Segment, findings: Sequence[Finding]) -> tuple[str, Proposal | None]:
    """What to do about the worst finding; if a repeater helps, where it goes, and the proposal."""
    troubles = [finding for finding in findings if finding.degree]
    to_do = troubles[0].to_do if troubles else ""
    if not any(finding.rule in _DIVIDED for finding in troubles):
        return to_do, None
    least = share_used(segment.pieces, segment.bit_rate, cautious=False)
    if _MOST_SEGMENTS < least < inf:
        finding = check_repeaters(ceil(round(least, 6)) - 1, place="the line")
        return f"It would take {finding.found} repeaters or more: {finding.allowed}. {finding.to_do}", None
    refused = ""
    for cautious in (True, False):
        try:
            proposal = propose(segment, cautious=cautious)
        except OutOfRange as error:
            refused = refused or str(error)
        else:
            return _proposed(segment, proposal, cautious) or to_do, proposal if proposal.places else None
    return refused, None


def _proposed(segment: Segment, proposal: Proposal, cautious: bool) -> str:
    """The proposal in words; empty if no repeater is needed."""
    count = len(proposal.places)
    if not count:
        return ""
    by = "" if cautious else " by the most lenient sources"
    where = [
        (f"{n} " if count > 1 else "")
        + f"at {quantity(place.position_m, 'm', decimals=1)}, {quantity(place.from_device_m, 'm')} after {place.after}"
        for n, place in enumerate(proposal.places[:_MOST_PLACES], 1)
    ]
    more = f"; … {count - _MOST_PLACES} more" if count > _MOST_PLACES else ""
    words = [f"At {bit_rate_text(segment.bit_rate)} it needs {counted(count, 'repeater')}{by}: "
             f"{'; '.join(where)}{more}."]  # fmt: skip
    words += [f"{capital_first(f.rule)}: {f.found}, {f.allowed}. {f.to_do}" for f in proposal.findings if f.degree]
    return " ".join([*words, *proposal.remarks[:1]])


def _rows(findings: Sequence[Finding], most_rows: int) -> list[Row]:
    """What is in trouble, each finding once with its places counted, and in one line what is in order."""
    places: dict[tuple[str, str, str, Degree], list[str]] = {}
    for f in findings:
        places.setdefault((f.rule, f.found, f.allowed, f.degree), []).append(f.place)
    violations, kept = list[Row](), list[Row]()
    for (rule, found, allowed, degree), where in places.items():
        at = f", {where[0].partition(': ')[2]}" if ": " in where[0] and degree else ""
        at += f" and {len(where) - 1} more" if len(where) > 1 else ""
        # Short enough for one line of the table; the drawing shows which kinds there are.
        told = found if len(found) <= _ONE_LINE else found.partition(" (")[0]
        most = re.sub("by the (strictest|most lenient)( source)?", r"(\1)", allowed)
        row: Row = {"rule": rule, "found": told + at, "allowed": most, "verdict": degree}
        (violations if degree else kept).append(row)
    if not violations:
        return kept
    shown = violations if len(violations) <= most_rows else violations[: most_rows - 1]
    if left := len(violations) - len(shown):
        shown = [*shown, {"rule": f"… {left} more", "found": "see segment.csv", "allowed": "", "verdict": ""}]
    others = ", ".join(str(row["rule"]) for row in kept)
    return [*shown, {"rule": "the others", "found": others, "allowed": "", "verdict": Degree.IN_ORDER}]


def _places(proposal: Proposal) -> list[Row]:
    rows: list[Row] = []
    for place, segment in zip((*proposal.places, None), proposal.segments, strict=True):
        row: Row = {
            "segment": segment.name,
            "cable": quantity(segment.length_m, "m"),
            "bus interfaces": segment.interfaces,
            "then": f"{place.name} at {quantity(place.position_m, 'm', decimals=1)}" if place else "",
            "between": f"{place.after} and {place.before}" if place else "",
        }
        rows.append(row)
    return rows


def even_answer(
    stations: int,
    length_m: float,
    bit_rate: int,
    cable: str = "A",
    spacing_m: float | None = None,
    stub_length_m: float = 0.0,
    stub_capacitance_f: float = 0.0,
) -> Answer:
    """The verdict on a controller and its stations, evenly spread or `spacing_m` apart in one cabinet."""
    return segment_answer(
        cabinet_line(
            stations=stations,
            length_m=length_m,
            bit_rate=bit_rate,
            cable=cable,
            spacing_m=spacing_m,
            stub_length_m=stub_length_m,
            stub_capacitance_f=stub_capacitance_f,
        )
    )
