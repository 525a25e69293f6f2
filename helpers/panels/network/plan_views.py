"""What a network plan says, as views of its panel: the verdict, the segments, the bus cycle, the files to save."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from helpers.answer import Answer, Row
from helpers.bus.cable.bit_rates import any_bit_rate_text, bit_rate_text
from helpers.bus.cable.laid import Segment
from helpers.errors import one_of
from helpers.panels.cable.segment_drawing import segment_drawing
from helpers.panels.kit.drawing import Drawing
from helpers.panels.network.plan_files import blank_files, files_of_plan, files_of_record, files_of_verdict
from helpers.plan.check import check_network, remarks
from helpers.plan.figures import Summary, cycle, summarize
from helpers.plan.model import Network, Plan, stations_of, titled
from helpers.quantity import quantity, time_text
from helpers.safe_work import cautions
from helpers.verdict import VERDICTS, Degree, Finding, worst, worst_first
from helpers.wording import short

VERDICT, SEGMENTS, CYCLE, SAVE_VERDICT, SAVE_RECORD, SAVE_PLAN = SHOWN = (
    "verdict",
    "segments",
    "bus cycle",
    "save verdict",
    "save site record",
    "save plan, or a blank",
)
WORST = "the worst first"

_SAME_RULE = 3  # so many findings on one rule stand by themselves
_OPEN_ROWS = 4
_TOGETHER, _HIGHEST = 2, 420  # segments in one drawing; px of a drawing beside which the rest of the panel has room


def plan_view(plan: Plan, network: str = "", show: str = VERDICT, segment: str = WORST) -> Answer:
    """What a plan says: the verdict, the segments, the bus cycle, or files to save.

    A network or segment that the plan does not have stands for the first network, and for the worst segment.
    """
    one_of("view", show, SHOWN)
    chosen = next((each for each in plan if each.name == network), plan.networks[0])
    if show == VERDICT:
        return _verdict_view(plan, chosen)
    if show == SEGMENTS:
        return _segments_view(chosen, segment)
    if show == CYCLE:
        return _cycle_view(chosen)
    return _save_view(plan, show)


@lru_cache(maxsize=64)
def _findings(network: Network) -> tuple[Finding, ...]:
    return worst_first(check_network(network))


@lru_cache(maxsize=16)
def _summary(network: Network) -> Summary:
    return summarize(network)


def _verdict_view(plan: Plan, network: Network) -> Answer:
    findings = _findings(network)
    told = remarks(findings)
    rows = _told_rows(told)
    rest = rows[_OPEN_ROWS:]
    kept = [finding for finding in findings if not finding.degree]
    return Answer(
        f"{short(network.name)}: {_counted(findings)}",
        degree=worst(findings),
        because=_plan_said(plan, network),
        caution=cautions("cabinet", "bus comes and goes") if told else (),
        rows=rows[:_OPEN_ROWS],
        folded=[
            (f"{len(rest)} more line{'s' if len(rest) > 1 else ''} of the verdict", rest),
            (f"In order: {len(kept)} check{'s' if len(kept) > 1 else ''}", _kept_rows(kept)),
        ],
        sources=[f"{finding.rule}: {finding.source}" for finding in told],
    )


def _counted(findings: Sequence[Finding]) -> str:
    verdicts = (*VERDICTS, Degree.DEPENDS.verdict)
    kept, advised, forbidden, unsure = (sum(f.degree.verdict == verdict for f in findings) for verdict in verdicts)
    if not forbidden + advised + unsure:
        return f"all {kept} checks are in order."
    parts = [f"{forbidden} {'are' if forbidden > 1 else 'is'} not allowed"] * bool(forbidden)
    parts += [f"{unsure} {'depend' if unsure > 1 else 'depends'} on lengths that are open"] * bool(unsure)
    parts += [f"{advised} {'are' if advised > 1 else 'is'} outside cautious practice"] * bool(advised)
    return f"{', '.join(parts)}, {kept} {'checks are' if kept != 1 else 'check is'} in order."


def _plan_said(plan: Plan, network: Network) -> str:
    """Which plan this is, and how its other networks stand."""
    others = [f"{short(each.name)}, {worst(_findings(each)).words}" for each in plan if each is not network]
    if not others:
        return f"Plan: {short(plan.name)}."
    shown = "; ".join(others[:3]) + (f"; and {len(others) - 3} more" if len(others) > 3 else "")
    return f"Plan: {short(plan.name)}. Also in it: {shown}; choose it under “network”."


def _told_rows(told: Sequence[Finding]) -> list[Row]:
    """What asks for something; of many findings on one rule only the first ones in full."""
    groups: dict[tuple[Degree, str], list[Finding]] = {}
    for finding in told:
        groups.setdefault((finding.degree, finding.rule), []).append(finding)
    rows: list[Row] = []
    for (degree, rule), group in groups.items():
        rows += [
            {"verdict": degree, "rule": rule, "where": short(f.place), "found": short(f.found, 120),
             "allowed": f.allowed, "what to do": f.to_do}
            for f in group[:_SAME_RULE]
        ]  # fmt: skip
        if rest := group[_SAME_RULE:]:
            names = short(", ".join(finding.place for finding in rest))
            rows.append({"verdict": degree, "rule": rule, "where": f"and {len(rest)} more: {names}", "found": "",
                         "allowed": "", "what to do": f"“{SAVE_VERDICT}” has them all."})  # fmt: skip
    return rows


def _kept_rows(kept: Sequence[Finding]) -> list[Row]:
    """What is in order, in one line for each rule."""
    groups: dict[str, list[Finding]] = {}
    for finding in kept:
        groups.setdefault(finding.rule, []).append(finding)
    return [
        {
            "rule": rule,
            "where": short(group[0].place) if len(group) == 1 else f"at {len(group)} places",
            "found": short(group[0].found) if len(group) == 1 else "",
            "allowed": group[0].allowed,
            "source": group[0].source,
        }
        for rule, group in groups.items()
    ]


# -- the segments -------------------------------------------------------------------------------------


def _segments_view(network: Network, segment: str) -> Answer:
    findings = _findings(network)
    about = {part.name: [f for f in remarks(findings) if _is_about(f, part)] for part in network.segments}
    ordered = sorted(network.segments, key=lambda part: (-worst(about[part.name]), -len(about[part.name])))
    shown = [part for part in network.segments if part.name == segment]
    drawing = None
    if network.has_known_rate:
        if not shown and len(ordered) <= _TOGETHER:
            drawing = _drawing(network, network.segments)
        if drawing and drawing.height <= _HIGHEST:
            shown = ordered
        else:
            shown = shown or ordered[:1]
            drawing = _drawing(network, shown)
    rows: list[Row] = [
        {
            "segment": short(part.name),
            "stations": len(part.plugs),
            "cable in m": round(part.length_m, 3),
            "worst of the segment": worst(about[part.name]),
            "": "◀ drawn" if part in shown else "",
        }
        for part in sorted(ordered, key=lambda part: part not in shown)
    ]
    return Answer(
        f"{short(network.name)}: {_which(network, shown)}",
        degree=worst(finding for part in shown or ordered for finding in about[part.name]),
        pictures=[drawing] if drawing else [],
        rows=rows[:_OPEN_ROWS],
        folded=[
            (f"{len(rows) - _OPEN_ROWS} more segments", rows[_OPEN_ROWS:]),
            ("What the verdict says of what is drawn", _told_rows([f for part in shown for f in about[part.name]])),
        ],
    )


def _which(network: Network, shown: Sequence[Segment]) -> str:
    if not shown:
        return f"{any_bit_rate_text(network.bit_rate)} is no bit rate of DP, so nothing is drawn."
    count = len(network.segments)
    if len(shown) == count:
        length_m = quantity(sum(part.length_m for part in shown), "m")
        return f"its {count} segments, {length_m} of cable." if count > 1 else f"one segment, {length_m} of cable."
    return f"segment {short(shown[0].name)}, of {count}. Choose another under “draw segment”."


def _drawing(network: Network, segments: Sequence[Segment]) -> Drawing:
    alone = len(segments) < len(network.segments)
    stations = [station for segment in segments for station in stations_of(segment)]
    return segment_drawing(
        [titled(segment) for segment in segments],
        notes=_ways(network, segments[0]) if alone else {},
        marks=_marks(network, _findings(network)),
        places={station.name: station.place for station in stations if station.place},
    )


def _is_about(finding: Finding, segment: Segment) -> bool:
    """True if a finding names the segment, or a station of it."""
    own = f"segment {segment.name}"
    if finding.place == own or finding.place.startswith(f"{own}: "):
        return True
    named = set(finding.place.split(", "))
    return any(plug.name in named for plug in segment.plugs)


def _marks(network: Network, findings: Sequence[Finding]) -> dict[str, Degree]:
    """The worst that is said of each station by its name."""
    marks: dict[str, Degree] = {}
    for finding in remarks(findings):
        place = finding.place
        for segment in network.segments:
            place = place.removeprefix(f"segment {segment.name}: ")
        for name in (place, *place.split(", "), *place.split(" – ")):
            marks[name] = max(finding.degree, marks.get(name, Degree.IN_ORDER))
    return marks


def _ways(network: Network, segment: Segment) -> dict[str, str]:
    """Where the repeaters of a segment lead to."""
    leads = {}
    for plug in segment.plugs:
        if plug.is_repeater:
            others = [
                other.name
                for other in network.segments
                if other is not segment and any(p.is_repeater and p.name == plug.name for p in other.plugs)
            ]
            leads[plug.name] = "to segment " + ", ".join(others)
    return leads


# -- the bus cycle ------------------------------------------------------------------------------------


def _cycle_view(network: Network) -> Answer:
    summary = _summary(network)
    figures: list[Row] = [{"what": what, "figure": figure} for what, figure in summary.cells.items()]
    if not summary.rates:
        return Answer(f"{short(network.name)}: no station to poll, so there is no bus cycle.", rows=figures)
    rows: list[Row] = [
        {
            "bit rate": bit_rate_text(row.bit_rate),
            "at best": time_text(row.best_s),
            "typical": time_text(row.typical_s),
            "at worst": time_text(row.worst_s),
            "cable, stubs, spacing": row.cable,
            "set": "◀ in the controller" if row.chosen else "",
        }
        for row in summary.rates
    ]
    here = next((row for row in summary.rates if row.chosen), None)
    said = (
        f"every station is asked once in {time_text(here.typical_s)}; at best in {time_text(here.best_s)}, "
        f"at worst in {time_text(here.worst_s)}."
        if here
        else "no bit rate of DP; these are the ones there are."
    )
    unknown = short(", ".join(summary.not_counted))
    bus = cycle(network, summary.rates[0].bit_rate)
    return Answer(
        f"{short(network.name)} at {any_bit_rate_text(network.bit_rate)}: {said}",
        because=f"{summary.slaves} station{'s' if summary.slaves > 1 else ''}, {summary.bytes_out} bytes out and "
        f"{summary.bytes_in} bytes in. Plan with the worst: one telegram is lost and sent again."
        + (f" Their formats are not known, so their data is not counted: {unknown}." if unknown else ""),
        rows=rows,
        folded=[("The network in figures", figures)],
        sources=[part.source for part in bus.typical.parts if part.source] if bus else [],
    )


# -- files --------------------------------------------------------------------------------------------


def _save_view(plan: Plan, show: str) -> Answer:
    if show == SAVE_VERDICT:
        what, listed = "its verdict, on all networks", files_of_verdict(plan)
    elif show == SAVE_RECORD:
        what, listed = "a record to print, complete on site and sign", files_of_record(plan)
    else:
        what, listed = "tidied up, and a blank plan to fill in", (*files_of_plan(plan), *blank_files())
    rows: list[Row] = [{"file": file.name, "holds": holds} for file, holds in listed]
    return Answer(
        f"{short(plan.name)}: {what}. Click a name to save the file.", rows=rows, files=[file for file, _ in listed]
    )
