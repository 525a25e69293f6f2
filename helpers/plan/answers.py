"""What is said of a network plan: its verdict, its segments, its bus cycle, and the files it leaves behind."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from helpers.answer import Answer, Row, TakeAway
from helpers.bus.cable.bit_rates import any_bit_rate_text, bit_rate_text
from helpers.bus.cable.laid import Segment
from helpers.bus.cable.line_picture import LinePicture
from helpers.errors import one_of
from helpers.plan.check import check, check_network, remarks
from helpers.plan.figures import Summary, cable_text, cycle, open_m, summarize
from helpers.plan.model import Network, Plan, stations_of, titled
from helpers.plan.my_networks import kept_files
from helpers.plan.record import record_html, record_text, verdict_csv, verdict_xlsx, zipped
from helpers.plan.save import plan_files
from helpers.quantity import quantity, time_text
from helpers.safe_work import cautions
from helpers.verdict import VERDICTS, Degree, Finding, worst, worst_first
from helpers.wording import counted, short

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
_TOGETHER, _FEW = 2, 10  # segments in one drawing, and plugs of a segment whose names stand below them


def plan_answer(plan: Plan, network: str = "", show: str = VERDICT, segment: str = WORST) -> Answer:
    """What a plan says: the verdict, the segments, the bus cycle, or files to save.

    A network or segment that the plan does not have stands for the first network, and for the worst segment.
    """
    one_of("view", show, SHOWN)
    chosen = next((each for each in plan if each.name == network), plan.networks[0])
    if show == VERDICT:
        return verdict_answer(plan, chosen)
    if show == SEGMENTS:
        return _segments_answer(chosen, segment)
    if show == CYCLE:
        return network_cycle_answer(chosen)
    return _files_answer(plan, show)


@lru_cache(maxsize=64)
def _findings(network: Network) -> tuple[Finding, ...]:
    return worst_first(check_network(network))


@lru_cache(maxsize=16)
def _summary(network: Network) -> Summary:
    return summarize(network)


def verdict_answer(plan: Plan, network: Network, *, whole: bool = False) -> Answer:
    """The verdict on one network of a plan. whole: every finding stands open, none is folded away."""
    findings = _findings(network)
    told, kept = remarks(findings), [finding for finding in findings if not finding.degree]
    rows = _remark_rows(told, len(told) if whole else _SAME_RULE)
    open_rows = len(rows) if whole else _OPEN_ROWS
    rest = rows[open_rows:]
    return Answer(
        f"{short(network.name)}: {_verdict_counts(findings)}",
        degree=worst(findings),
        because=_which_plan(plan, network),
        caution=cautions("cabinet", "bus comes and goes") if told else (),
        rows=rows[:open_rows],
        folded=[
            (f"{counted(len(rest), 'more line')} of the verdict", rest),
            (f"In order: {counted(len(kept), 'check')}", _in_order_rows(kept)),
        ],
        sources=[f"{finding.rule}: {finding.source}" for finding in told],
    )


def _verdict_counts(findings: Sequence[Finding]) -> str:
    verdicts = (*VERDICTS, Degree.DEPENDS.verdict)
    kept, advised, forbidden, unsure = (sum(f.degree.verdict == verdict for f in findings) for verdict in verdicts)
    if not forbidden + advised + unsure:
        return f"all {kept} checks are in order."
    parts = [f"{forbidden} {'are' if forbidden > 1 else 'is'} not allowed"] * bool(forbidden)
    parts += [f"{unsure} {'depend' if unsure > 1 else 'depends'} on lengths that are open"] * bool(unsure)
    parts += [f"{advised} {'are' if advised > 1 else 'is'} outside cautious practice"] * bool(advised)
    return f"{', '.join(parts)}, {kept} {'checks are' if kept != 1 else 'check is'} in order."


def _which_plan(plan: Plan, network: Network) -> str:
    """Which plan this is, and how its other networks stand."""
    others = [f"{short(each.name)}, {worst(_findings(each)).words}" for each in plan if each is not network]
    if not others:
        return f"Plan: {short(plan.name)}."
    shown = "; ".join(others[:3]) + (f"; and {len(others) - 3} more" if len(others) > 3 else "")
    return f"Plan: {short(plan.name)}. Also in it: {shown}."


def _remark_rows(told: Sequence[Finding], most: int = _SAME_RULE) -> list[Row]:
    """What asks for something; of many findings on one rule only the first ones in full."""
    groups: dict[tuple[Degree, str], list[Finding]] = {}
    for finding in told:
        groups.setdefault((finding.degree, finding.rule), []).append(finding)
    rows: list[Row] = []
    for (degree, rule), group in groups.items():
        rows += [
            {"verdict": degree, "rule": rule, "where": short(f.place), "found": short(f.found, 120),
             "allowed": f.allowed, "what to do": f.to_do}
            for f in group[:most]
        ]  # fmt: skip
        if rest := group[most:]:
            names = short(", ".join(finding.place for finding in rest))
            rows.append({"verdict": degree, "rule": rule, "where": f"and {len(rest)} more: {names}", "found": "",
                         "allowed": "", "what to do": f"“{SAVE_VERDICT}” has them all."})  # fmt: skip
    return rows


def _in_order_rows(kept: Sequence[Finding]) -> list[Row]:
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


def _segments_answer(network: Network, segment: str) -> Answer:
    findings = _findings(network)
    about = {part.name: [f for f in remarks(findings) if _is_about(f, part)] for part in network.segments}
    ordered = sorted(network.segments, key=lambda part: (-worst(about[part.name]), -len(about[part.name])))
    shown = [part for part in network.segments if part.name == segment]
    if not shown and network.has_known_rate:
        shown = ordered if _fit_together(network) else ordered[:1]
    drawn = shown if network.has_known_rate else []
    rows: list[Row] = [
        {
            "segment": short(part.name),
            "stations": len(part.plugs),
            "cable in m": cable_text(part.length_m, span_m) if (span_m := open_m([part])) else round(part.length_m, 3),
            "worst of the segment": worst(about[part.name]),
            "": "◀ drawn" if part in drawn else "",
        }
        for part in sorted(ordered, key=lambda part: part not in drawn)
    ]
    return Answer(
        f"{short(network.name)}: {_which(network, drawn)}",
        degree=worst(finding for part in drawn or ordered for finding in about[part.name]),
        pictures=[_picture(network, drawn)] if drawn else [],
        rows=rows[:_OPEN_ROWS],
        folded=[
            (f"{len(rows) - _OPEN_ROWS} more segments", rows[_OPEN_ROWS:]),
            ("What the verdict says of what is drawn", _remark_rows([f for part in drawn for f in about[part.name]])),
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


def _fit_together(network: Network) -> bool:
    """True if all segments can be drawn below each other, and the rest of the panel still has room."""
    return len(network.segments) <= _TOGETHER and all(len(part.plugs) <= _FEW for part in network.segments)


def _picture(network: Network, segments: Sequence[Segment]) -> LinePicture:
    alone = len(segments) < len(network.segments)
    stations = [station for segment in segments for station in stations_of(segment)]
    return LinePicture(
        tuple(titled(segment) for segment in network.segments if segment in segments),
        notes=_leads_to(network, segments[0]) if alone else {},
        marks=_marks(network, _findings(network)),
        places={station.name: station.place for station in stations if station.place},
    )


def network_picture(network: Network, title: str = "") -> LinePicture:
    """All segments of a network with what joins them, and the cabinets they stand in."""
    places = {station.name: station.place for station in network.stations if station.place}
    return LinePicture(tuple(titled(segment) for segment in network.segments), title or network.name, places=places)


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


def _leads_to(network: Network, segment: Segment) -> dict[str, str]:
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


def network_cycle_answer(network: Network) -> Answer:
    """The bus cycle of a network at every bit rate, and the network in figures."""
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
    times = (
        f"every station is asked once in {time_text(here.typical_s)}; at best in {time_text(here.best_s)}, "
        f"at worst in {time_text(here.worst_s)}."
        if here
        else "no bit rate of DP; these are the ones there are."
    )
    unknown = short(", ".join(summary.not_counted))
    bus = cycle(network, summary.rates[0].bit_rate)
    return Answer(
        f"{short(network.name)} at {any_bit_rate_text(network.bit_rate)}: {times}",
        because=f"{counted(summary.slaves, 'station')}, {summary.bytes_out} bytes out and "
        f"{summary.bytes_in} bytes in. Plan with the worst: one telegram is lost and sent again."
        + (f" Their formats are not known, so their data is not counted: {unknown}." if unknown else ""),
        rows=rows,
        folded=[("The network in figures", figures)],
        sources=[part.source for part in bus.typical.parts if part.source] if bus else [],
    )


# -- files --------------------------------------------------------------------------------------------


def _files_answer(plan: Plan, show: str) -> Answer:
    if show == SAVE_VERDICT:
        what, files = "its verdict, on all networks", files_of_verdict(plan)
    elif show == SAVE_RECORD:
        what, files = "a record to print, complete on site and sign", files_of_record(plan)
    else:
        what, files = "tidied up, and a blank plan to fill in", (*files_of_plan(plan), *blank_files())
    rows: list[Row] = [{"file": file.name, "holds": holds} for file, holds in files]
    return Answer(
        f"{short(plan.name)}: {what}. Click a name to save the file.", rows=rows, files=[file for file, _ in files]
    )


Files = tuple[tuple[TakeAway, str], ...]

_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
_ZIP, _HTML, _TEXT = "application/zip", "text/html", "text/plain;charset=utf-8"


@lru_cache(maxsize=2)
def files_of_verdict(plan: Plan) -> Files:
    """All findings on all networks as a table; each file with what it holds."""
    findings = check(plan)
    return (
        (TakeAway("verdict.xlsx", verdict_xlsx(findings), _XLSX), "every finding with its source, to filter and sort"),
        (TakeAway("verdict.csv", verdict_csv(findings)), "the same, for any program"),
    )


@lru_cache(maxsize=2)
def files_of_record(plan: Plan) -> Files:
    """The site record of all networks."""
    return (
        (
            TakeAway("site-record.html", record_html(plan).encode(), _HTML),
            "stations, cable, verdict and bus cycle on pages to print; date and signatures by hand",
        ),
        (TakeAway("site-record.txt", record_text(plan).encode(), _TEXT), "the same as plain text"),
    )


@lru_cache(maxsize=2)
def files_of_plan(plan: Plan) -> Files:
    """The plan as it was understood, as a workbook and as tables."""
    return (
        _workbook(plan, "plan.xlsx", "this plan as a workbook, every value in the unit of its heading"),
        _tables(plan, "plan-csv.zip", "the same as tables, with its device descriptions; upload it as it is"),
    )


@lru_cache(maxsize=1)
def blank_files() -> Files:
    """A plan with headings, explanations and examples only."""
    return (
        _workbook(None, "blank-plan.xlsx", "an empty workbook to fill in; each column is explained in it"),
        _tables(None, "blank-plan-csv.zip", "the same as tables; unpack it and fill them in"),
    )


def _workbook(plan: Plan | None, name: str, holds: str) -> tuple[TakeAway, str]:
    return TakeAway(name, plan_files(plan, workbook=True)["plan.xlsx"], _XLSX), holds


def _tables(plan: Plan | None, name: str, holds: str) -> tuple[TakeAway, str]:
    return TakeAway(name, zipped(kept_files(plan) if plan else plan_files(None, workbook=False)), _ZIP), holds
