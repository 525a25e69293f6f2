"""Speed of fault-finding practice: a case, one fault of the table of evidence, the whole table, and marking."""

from random import Random

import pytest
from line_nets import demo, row

from helpers.line.evidence.make import made_anew, tried
from helpers.line.evidence.table import SHIPPED, demo_evidence, read
from helpers.line.faults.catalogue import by_key, possible
from helpers.line.faults.fault import Chosen
from helpers.line.instruments.catalogue import places
from helpers.line.instruments.catalogue import read as look_at
from helpers.line.plant.build import installation_of
from helpers.line.plant.place import plugs
from helpers.line.practice.case import draw_case
from helpers.line.practice.marking import mark
from helpers.line.practice.session import Session

# Of so many faults of the demo site the time of all is estimated.
SAMPLE = 20


def small():
    return installation_of(row(3, 1_500_000))


@pytest.mark.parametrize("grade", [1, 2, 3])
def test_draw_a_case_in_the_demo_site(benchmark, grade):
    seeds = iter(range(100, 200))
    benchmark.pedantic(lambda: draw_case(next(seeds), grade), rounds=5)


def test_ohms_with_a_fault(benchmark):
    fault = by_key("core open")
    installation = Chosen(fault, fault.places(small())[0]).put(small())
    benchmark.pedantic(lambda: look_at(installation, "ohms", plugs(installation)[0]), rounds=5)


def test_one_fault_in_all_its_sizes(benchmark):
    fault = by_key("core open")
    chosen = Chosen(fault, fault.places(small())[0])
    benchmark.pedantic(lambda: tried(small(), chosen), rounds=3)


def test_evidence_of_the_demo_site(benchmark, capsys):
    """One round is one fault; what all of them would take one process is printed."""
    those = iter(Random(1).sample(possible(demo()), SAMPLE))
    benchmark.pedantic(lambda: tried(demo(), next(those)), rounds=SAMPLE)
    all_s = benchmark.stats.stats.mean * len(possible(demo())) if benchmark.stats else 0.0
    with capsys.disabled():
        print(f"\nall faults of the demo site at all their places would take one process {all_s / 60:.1f} min")


def test_mark_a_session(benchmark):
    case = draw_case(1, 1, small())
    evidence = made_anew(small(), processes=1, faults=[c for c in possible(small()) if c.fault.grade == 1][:10])
    session = Session(case)
    session.take("stations")
    benchmark.pedantic(lambda: mark(session, (), evidence), rounds=5)


def test_take_up_what_is_shipped(benchmark):
    assert benchmark.pedantic(lambda: read(SHIPPED, demo()), rounds=5).complete


@pytest.mark.parametrize("grade", [1, 2, 3])
def test_mark_a_first_case_of_the_demo_site(benchmark, grade):
    session = Session(draw_case(1, grade))
    for key in ("stations", "controller", "look", "front", "io sheet"):
        session.take(key, places(session.installation, key)[-1])
    marks = benchmark.pedantic(lambda: mark(session, (), demo_evidence()), rounds=5)
    assert not marks.left.unknown
