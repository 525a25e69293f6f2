"""A panel for the cables beside a bus cable: which lies too near, by which source, and which crosses badly."""

from __future__ import annotations

from collections.abc import Sequence

from helpers.answer import Answer, Row, TakeAway
from helpers.bus.cable.separation import Run, check_run, crossing_facts, separation_limit
from helpers.facts import Fact
from helpers.panels.cable.tray_drawing import asked, kind, lettered, tray
from helpers.panels.kit.panel import Panel
from helpers.panels.kit.plan_table import PlanTable, table_field
from helpers.plan.record import verdict_csv
from helpers.plan.rows import NEIGHBOURS, neighbour_rows, neighbours_in
from helpers.quantity import quantity
from helpers.safe_work import cautions
from helpers.verdict import Degree, Finding, worst
from helpers.wording import short

_MOST = 6  # cables in the drawing
_MOST_ROWS = 4
_MOST_NAMES = 2
_MOST_FOLDED = 40

_Judged = tuple[Run, Degree, tuple[Finding, ...]]


def separation_view(runs: Sequence[Run]) -> Answer:
    """The verdict on each cable beside the bus cable, worst first; who asks which distance; a drawing to scale."""
    judged = [(run, check_run(run)) for run in runs]
    sorted_: list[_Judged] = sorted(
        ((run, worst(findings), findings) for run, findings in judged), key=lambda item: -item[1]
    )
    troubles = [item for item in sorted_ if item[1]]
    letters = lettered([fact for run, _, _ in sorted_ for fact in _facts(run)])
    return Answer(
        _sentence(runs, troubles),
        degree=worst(finding for _, findings in judged for finding in findings),
        because=_because(troubles, letters),
        caution=cautions("move cable") if troubles else (),
        pictures=[tray([(run, degree) for run, degree, _ in sorted_[:_MOST]], letters)],
        rows=_rows(sorted_, troubles, letters),
        folded=[("Every cable with its sources", _every(sorted_))],
        files=[TakeAway("separation.csv", verdict_csv(f for _, _, findings in sorted_ for f in findings))],
    )


def _facts(run: Run) -> tuple[Fact, ...]:
    """The sources that say something on this cable."""
    distances = separation_limit(run).facts if run.parallel_m else ()
    return distances + (crossing_facts() if run.crossing != "none" else ())


def _sentence(runs: Sequence[Run], troubles: Sequence[_Judged]) -> str:
    count = f"{len(runs)} cable{'s' if len(runs) > 1 else ''} beside the bus cable"
    if not troubles:
        return f"{count}: none lies too near by any source, none crosses badly."
    broken = [run.name for run, degree, _ in troubles if degree.forbidden]
    advised = [run.name for run, degree, _ in troubles if degree is Degree.CAUTION]
    parts = [f"too near by every source: {_names(broken)}"] * bool(broken)
    parts += [f"some sources ask for more: {_names(advised)}"] * bool(advised)
    return f"{count}; {'; '.join(parts)}."


def _names(names: Sequence[str]) -> str:
    shown = ", ".join(short(name, 22) for name in names[:_MOST_NAMES])
    return f"{shown} and {len(names) - _MOST_NAMES} more" if len(names) > _MOST_NAMES else shown


def _because(troubles: Sequence[_Judged], letters: dict[str, str]) -> str:
    to_do = dict.fromkeys(f.to_do for _, _, findings in troubles for f in findings if f.to_do)
    who = "; ".join(f"{letter} {cited}" for cited, letter in letters.items())
    return " ".join([*to_do, f"Who asks: {who}."] if who else to_do)


def _rows(judged: Sequence[_Judged], troubles: Sequence[_Judged], letters: dict[str, str]) -> list[Row]:
    """The troubles, as many as a panel holds, and in one line the cables that nothing is said about."""
    rows: list[Row] = [
        {"cable": short(run.name, 30),
         "found": "; ".join(_found(run, f) for f in findings if f.degree),
         "asked for": _asked(run, findings, letters), "verdict": degree}
        for run, degree, findings in troubles[:_MOST_ROWS]
    ]  # fmt: skip
    if more := len(troubles) - len(rows):
        rows.append({"cable": f"… {more} more", "found": "see separation.csv", "asked for": "", "verdict": ""})
    good = [run.name for run, degree, _ in judged if not degree]
    if good:
        which = f"{len(good)}: {_names(good)}"
        rows.append({"cable": "the others" if troubles else "all", "found": which, "asked for": "",
                     "verdict": Degree.IN_ORDER})  # fmt: skip
    return rows


def _found(run: Run, finding: Finding) -> str:
    if finding.rule == "crossing":
        return f"{finding.found} crossing"
    return f"{quantity(run.distance_m, 'm')} over {quantity(run.parallel_m, 'm')}"


def _asked(run: Run, findings: Sequence[Finding], letters: dict[str, str]) -> str:
    said = []
    for finding in findings:
        if finding.degree and finding.rule == "crossing":
            who = " ".join(sorted(letters[fact.cited] for fact in crossing_facts()))
            said.append(f"{finding.allowed} ({who})")
        elif finding.degree:
            said += [f"{quantity(m, 'm')} ({who})" for m, who in asked(run, letters)]
    return " · ".join(said)


def _every(judged: Sequence[_Judged]) -> list[Row]:
    """Every finding with all that its sources say, as many as can be read in a page."""
    rows: list[Row] = [
        {"cable": run.name, "carries": kind(run), "rule": f.rule, "found": f.found, "allowed": f.allowed,
         "verdict": f.verdict, "to do": f.to_do, "source": f.source}
        for run, _, findings in judged for f in findings
    ]  # fmt: skip
    return rows[:_MOST_FOLDED]


def separation_panel(*, own: bool = False) -> Panel:
    """Judge the cables beside a bus cable: those of a network, or your own list."""
    table = PlanTable(
        NEIGHBOURS,
        (210, 120, 90, 80, 90, 90, 100, 110, 130),
        lambda network, _: neighbour_rows(network),
        own=own,
        shown=6,
        usual="the Mill extended",
    )
    return Panel(
        "Do these cables keep their distance?",
        {"runs": table_field(table, neighbours_in, wide=True)},
        separation_view,
        hint="A length may say its unit: 10 cm. A shield counts when it is earthed at both ends, a divider when it is "
        "metal and earthed.",
    )
