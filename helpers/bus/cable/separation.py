"""Separation: which class a cable belongs to, and how far the bus cable must keep from it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache

from helpers.answer import Answer, Row, TakeAway
from helpers.bus.cable.laid import LONGEST_M
from helpers.errors import in_range, one_of
from helpers.facts import Fact, Limit, least, rows, where
from helpers.quantity import quantity
from helpers.safe_work import cautions
from helpers.spreadsheet import rows_file
from helpers.verdict import FINDING_COLUMNS, Degree, Finding, at_least, cited, findings_table, worst, worst_first
from helpers.wording import counted, short

USES = tuple(dict.fromkeys(row["use"] for row in rows("cable_classes")))
SUPPLIES = ("AC", "DC")
DIVIDERS = ("none", "aluminium", "steel")
CROSSINGS = ("none", "right angle", "slanting")

DISTANCE = "distance between cables"

_MOST = 6  # cables in the drawing
_MOST_ROWS = 4
_MOST_NAMES = 2
_MOST_FOLDED = 40


@dataclass(frozen=True)
class Run:
    """Another cable that runs beside the bus cable, or crosses it.

    - use: data, power, motor (from a drive), telephone or outdoor (open to lightning and surges)
    - volts, supply: for the use `power`, voltage in V (AC as effective value) and AC or DC
    - shielded: the other cable has a shield, earthed at both ends
    - parallel_m: length in m over which the two run side by side; 0 where they only cross
    - distance_m: the least distance between the two along that length, in m
    - divider: earthed metal between the two: none, aluminium or steel
    - crossing: none, right angle or slanting
    """

    name: str
    use: str = "power"
    volts: float = 400.0
    supply: str = "AC"
    shielded: bool = False
    parallel_m: float = 0.0
    distance_m: float = 0.0
    divider: str = "none"
    crossing: str = "none"

    def __post_init__(self) -> None:
        one_of(f"use of {self.name}", self.use, USES)
        one_of(f"supply of {self.name}", self.supply, SUPPLIES)
        one_of(f"divider beside {self.name}", self.divider, DIVIDERS)
        one_of(f"crossing of {self.name}", self.crossing, CROSSINGS)
        in_range(f"voltage of {self.name}", self.volts, 0, 1e6, "V", "voltages the workbook takes")
        in_range(f"parallel length of {self.name}", self.parallel_m, 0, LONGEST_M, "m", "lengths the workbook takes")
        in_range(f"distance of {self.name}", self.distance_m, 0, LONGEST_M, "m", "distances the workbook takes")


def cable_class(use: str, volts: float = 0.0, supply: str = "AC") -> str:
    """The class of a cable, by its use and for power cables by its voltage in V.

    Cables of one class may share a duct. Source: M. Felser, PROFIBUS Manual, distances.

    >>> [cable_class("power", volts) for volts in (24, 25, 400, 690)]
    ['signal', 'low voltage', 'low voltage', 'high voltage or high frequency']
    """
    return _class(Run("cable", use, volts, supply))["class"]


def separation_limit(run: Run) -> Limit:
    """The least distance in m between the bus cable and a parallel run.

    Each source that says something on this class, shield and divider counts; none of them makes the
    distance depend on the parallel length. Sources: data/separation.csv.

    >>> limit = separation_limit(Run("mains", volts=400))
    >>> limit.cautious, limit.last
    (0.3, 0.05)
    """
    return _limit(_class(run)["against"], run.shielded, run.divider)


@cache
def _limit(against: str, shielded: bool, divider: str) -> Limit:
    shields, dividers = ("any", "yes" if shielded else "no"), ("any", divider)
    facts = tuple(
        row
        for row in rows("separation")
        if row["against"] == against and row["shielded"] in shields and row["divider"] in dividers
    )
    return least(facts, "distance_m")


def check_run(run: Run) -> tuple[Finding, ...]:
    """The findings on one cable beside the bus cable: its distance, its crossing.

    >>> [f.verdict for f in check_run(Run("mains", volts=230, parallel_m=20, distance_m=0.2))]
    ['outside cautious practice']
    """
    findings = []
    if run.parallel_m > 0:
        findings.append(_check_distance(run))
    if run.crossing != "none":
        findings.append(_check_crossing(run))
    return tuple(findings)


def check_runs(runs: Iterable[Run]) -> tuple[Finding, ...]:
    """The findings on all cables beside one bus cable, in their order."""
    return tuple(finding for run in runs for finding in check_run(run))


def _check_distance(run: Run) -> Finding:
    finding = at_least(
        rule=DISTANCE,
        place=run.name,
        value=run.distance_m,
        limit=separation_limit(run),
        unit="m",
        to_do="Move the cables apart, or put an earthed metal divider between them.",
    )
    beside = "" if run.divider == "none" else f", {run.divider} divider"
    shield = ", shielded" if run.shielded else ""
    found = f"{finding.found} over {run.parallel_m:g} m, class {_class(run)['class']}{shield}{beside}"
    return replace(finding, found=found)


def _check_crossing(run: Run) -> Finding:
    signal = _class(run)["class"] == "signal"
    slanting = run.crossing == "slanting" and not signal
    return Finding(
        "crossing",
        run.name,
        run.crossing,
        "any angle within one class" if signal else "right angle",
        cited(crossing_facts()),
        "Lead the cables across each other at a right angle; a slanting crossing is a parallel run."
        if slanting
        else "",
        Degree.CAUTION if slanting else Degree.IN_ORDER,
    )


@cache
def crossing_facts() -> tuple[Fact, ...]:
    """The sources that ask for crossings at a right angle.

    >>> len(crossing_facts()) > 1
    True
    """
    return where("wiring_rules", rule="right angle")


def _class(run: Run) -> Fact:
    """The first row of data/cable_classes.csv that takes the cable; its rows stand in order of voltage."""
    return next(row for row in rows("cable_classes") if _takes(row, run))


def _takes(row: Fact, run: Run) -> bool:
    if row["use"] != run.use or row["supply"] not in ("", run.supply):
        return False
    below = not row.has("below_v") or run.volts < row.number("below_v")
    up_to = not row.has("up_to_v") or run.volts <= row.number("up_to_v")
    return below and up_to


# -- what is said of it ----------------------------------------------------------------------------

_Judged = tuple[Run, Degree, tuple[Finding, ...]]


@dataclass(frozen=True)
class TrayPicture:
    """The bus cable and its neighbours along the tray, to scale, each with its verdict; a letter for each source."""

    runs: tuple[tuple[Run, Degree], ...]
    letters: Mapping[str, str]

    @property
    def says(self) -> str:
        """Each cable with what it carries, where it lies, and its verdict."""
        cables = "; ".join(f"{_in_words(run)} ({degree.words})" for run, degree in self.runs)
        return f"the bus cable and beside it, to scale: {cables}"


def _in_words(run: Run) -> str:
    parts = [f"{run.name}, {kind(run)}"]
    if run.parallel_m:
        parts.append(f"{quantity(run.distance_m, 'm')} apart over {quantity(run.parallel_m, 'm')}")
    if run.divider != "none":
        parts.append(f"{run.divider} divider")
    if run.crossing != "none":
        parts.append(f"crossing: {run.crossing}")
    return ", ".join(parts)


def kind(run: Run) -> str:
    """What a cable carries, in a few words.

    >>> kind(Run("mains", shielded=True))
    '400 V AC, shielded'
    """
    carries = f"{quantity(run.volts, 'V')} {run.supply}" if run.use == "power" else run.use
    return f"{carries}, shielded" if run.shielded else carries


def asked(run: Run, letters: Mapping[str, str]) -> list[tuple[float, str]]:
    """The distances in m that sources ask for, each with the letters of its sources, the greatest first."""
    by_distance: dict[float, list[str]] = {}
    for fact in separation_limit(run).facts:
        by_distance.setdefault(fact.number("distance_m"), []).append(letters[fact.cited])
    return [(m, " ".join(sorted(set(who)))) for m, who in sorted(by_distance.items(), reverse=True)]


def lettered(facts: Sequence[Fact]) -> dict[str, str]:
    """A letter for each source, in the order in which they come up."""
    return {cited: chr(ord("A") + n) for n, cited in enumerate(dict.fromkeys(fact.cited for fact in facts))}


def separation_answer(runs: Sequence[Run]) -> Answer:
    """The verdict on each cable beside the bus cable, worst first; who asks which distance; a drawing to scale."""
    judged = [(run, check_run(run)) for run in runs]
    worst_at_top: list[_Judged] = sorted(
        ((run, worst(findings), findings) for run, findings in judged), key=lambda item: -item[1]
    )
    every = worst_first(finding for _, _, findings in worst_at_top for finding in findings)
    violations = [item for item in worst_at_top if item[1]]
    letters = lettered([fact for run, _, _ in worst_at_top for fact in _facts(run)])
    return Answer(
        _sentence(runs, violations),
        degree=worst(every),
        because=_because(violations, letters),
        caution=cautions("move cable") if violations else (),
        pictures=[TrayPicture(tuple((run, degree) for run, degree, _ in worst_at_top[:_MOST]), letters)],
        rows=_rows(worst_at_top, violations, letters),
        folded=[("Every cable with its sources", _every(worst_at_top))],
        files=[TakeAway("separation.csv", rows_file(findings_table(every), FINDING_COLUMNS))],
    )


def _facts(run: Run) -> tuple[Fact, ...]:
    """The sources that say something on this cable."""
    distances = separation_limit(run).facts if run.parallel_m else ()
    return distances + (crossing_facts() if run.crossing != "none" else ())


def _sentence(runs: Sequence[Run], violations: Sequence[_Judged]) -> str:
    count = f"{counted(len(runs), 'cable')} beside the bus cable"
    if not violations:
        return f"{count}: none lies too near by any source, none crosses badly."
    broken = [run.name for run, degree, _ in violations if degree.forbidden]
    advised = [run.name for run, degree, _ in violations if degree is Degree.CAUTION]
    parts = [f"too near by every source: {_names(broken)}"] * bool(broken)
    parts += [f"some sources ask for more: {_names(advised)}"] * bool(advised)
    return f"{count}; {'; '.join(parts)}."


def _names(names: Sequence[str]) -> str:
    shown = ", ".join(short(name, 22) for name in names[:_MOST_NAMES])
    return f"{shown} and {len(names) - _MOST_NAMES} more" if len(names) > _MOST_NAMES else shown


def _because(violations: Sequence[_Judged], letters: dict[str, str]) -> str:
    to_do = dict.fromkeys(f.to_do for _, _, findings in violations for f in findings if f.to_do)
    who = "; ".join(f"{letter} {cited}" for cited, letter in letters.items())
    return " ".join([*to_do, f"Who asks: {who}."] if who else to_do)


def _rows(judged: Sequence[_Judged], violations: Sequence[_Judged], letters: dict[str, str]) -> list[Row]:
    """The violations, as many as a panel holds, and in one line the cables that nothing is said about."""
    rows: list[Row] = [
        {"cable": short(run.name, 30),
         "found": "; ".join(_found(run, f) for f in findings if f.degree),
         "asked for": _asked(run, findings, letters), "verdict": degree}
        for run, degree, findings in violations[:_MOST_ROWS]
    ]  # fmt: skip
    if more := len(violations) - len(rows):
        rows.append({"cable": f"… {more} more", "found": "see separation.csv", "asked for": "", "verdict": ""})
    good = [run.name for run, degree, _ in judged if not degree]
    if good:
        which = f"{len(good)}: {_names(good)}"
        rows.append({"cable": "the others" if violations else "all", "found": which, "asked for": "",
                     "verdict": Degree.IN_ORDER})  # fmt: skip
    return rows


def _found(run: Run, finding: Finding) -> str:
    if finding.rule == "crossing":
        return f"{finding.found} crossing"
    return f"{quantity(run.distance_m, 'm')} over {quantity(run.parallel_m, 'm')}"


def _asked(run: Run, findings: Sequence[Finding], letters: dict[str, str]) -> str:
    words = []
    for finding in findings:
        if finding.degree and finding.rule == "crossing":
            who = " ".join(sorted(letters[fact.cited] for fact in crossing_facts()))
            words.append(f"{finding.allowed} ({who})")
        elif finding.degree:
            words += [f"{quantity(m, 'm')} ({who})" for m, who in asked(run, letters)]
    return " · ".join(words)


def _every(judged: Sequence[_Judged]) -> list[Row]:
    """Every finding with all that its sources say, as many as can be read in a page."""
    rows: list[Row] = [
        {"cable": run.name, "carries": kind(run), "rule": f.rule, "found": f.found, "allowed": f.allowed,
         "verdict": f.verdict, "to do": f.to_do, "source": f.source}
        for run, _, findings in judged for f in findings
    ]  # fmt: skip
    return rows[:_MOST_FOLDED]
