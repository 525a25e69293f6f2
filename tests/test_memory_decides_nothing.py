"""Nobody is told off, and no question is decided, on what stands from memory alone.

Findings of every kind are gathered from the invented plans, descriptions and lists with faults in them; questions are
drawn from every bank.
"""

import re
from itertools import chain
from pathlib import Path

import pytest

from helpers.bus.address.address import KINDS, Holder
from helpers.bus.address.address import check as check_addresses
from helpers.bus.cable.bit_rates import bit_rates
from helpers.bus.cable.bonding import check_bond
from helpers.bus.cable.cable import Sheet, check_length, check_sheet
from helpers.bus.cable.laid import Piece as Piece
from helpers.bus.cable.laid import cable_types, even_line
from helpers.bus.cable.segment import check as check_segment
from helpers.bus.cable.separation import CROSSINGS, DIVIDERS, USES, Run, check_run
from helpers.device.description.checks import check as check_description
from helpers.device.description.read import read_description
from helpers.drive.commissioning import Checklist, judge, marked, steps
from helpers.facts import DATA, STANDINGS
from helpers.plan.check import check as check_plan
from helpers.plan.read import read_plan
from helpers.study.banks.registry import BANKS, draw_question
from helpers.verdict import Finding

DESCRIPTIONS = sorted((DATA / "demo" / "descriptions").glob("*.gs?"))
CITED = re.compile(rf"\(({'|'.join(STANDINGS)})\)|(common practice|own setting|memory)")


def standings(text: str) -> set[str]:
    """The standings that a text cites."""
    return {first or second for first, second in CITED.findall(text)}


def _cut_short(path: Path) -> bytes:
    """A description of which each third line is missing."""
    lines = path.read_bytes().splitlines(keepends=True)
    return b"".join(line for number, line in enumerate(lines) if number % 3 or number == 0)


def findings() -> list[Finding]:
    lines = [
        even_line(stations=stations, length_m=length_m, bit_rate=rate, cable=cable, stub_length_m=stub_m)
        for rate in bit_rates()
        for cable in cable_types()
        for stations, length_m, stub_m in ((3, 1300.0, 0.0), (34, 20.0, 4.0))
    ]
    runs = [
        Run("run", use, volts, "AC", shielded, 20, 0.001, divider, crossing)
        for use in USES
        for volts in (24.0, 230.0, 690.0)
        for shielded in (False, True)
        for divider in DIVIDERS
        for crossing in CROSSINGS
    ]
    hasty, typed = Checklist("drive"), {"V": "400", "min": "1", "%": "5", "address": "5"}
    for step in reversed(steps()):
        hasty = marked(hasty, step.name, "done", reading=typed.get(step.reading, "x"))
    return [
        *check_plan(read_plan(DATA / "demo" / "saltmarsh-mill-extended")),
        *chain(*(check_segment(line) for line in lines)),
        *check_length([Piece(900), Piece(900, "B")], bit_rate=1_500_000, place="mixed"),
        *chain(*(check_sheet(Sheet(1, 1e-9, 1, 0.01), cable) for cable in ("any", *cable_types()))),
        *check_addresses([Holder(f"{kind} {n}", kind, n) for kind in KINDS for n in (0, 5, 126, 127, 200)], 3),
        *chain(*(check_run(run) for run in runs)),
        *chain(*(check_description(read_description(path)) for path in DESCRIPTIONS)),
        *chain(*(check_description(read_description(_cut_short(path))) for path in DESCRIPTIONS)),
        *judge(hasty),
        check_bond(open_v=2, area_mm2=1),
    ]


def test_no_finding_rests_on_memory_alone() -> None:
    told = [finding for finding in findings() if finding.degree]
    assert len({finding.rule for finding in told}) > 25
    assert {f"{f.rule}: {f.source}" for f in told if standings(f.source) == {"memory"}} == set()


def test_what_is_forbidden_names_a_document_or_the_reason_in_itself() -> None:
    for finding in findings():
        if finding.degree.verdict == "not allowed" and "cannot work" not in finding.verdict:
            assert standings(finding.source) & {"standard", "handbook", "publication", "device manual"}, finding


@pytest.mark.parametrize("lesson", BANKS)
def test_no_question_is_decided_by_memory_alone(lesson: str) -> None:
    for kind in BANKS[lesson]:
        for seed in range(1, 9):
            question = draw_question(lesson, kind, seed)
            told = " ".join((*question.steps, question.text, *(str(v) for row in question.rows for v in row.values())))
            # What the question itself gives, such as the resistivity of copper, is no verdict.
            given = {"shield-alone", "shield-share"}
            assert kind in given or standings(told) != {"memory"}, (kind, seed)
