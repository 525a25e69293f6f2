"""Speed of fault-finding practice: a case, the signature of one fault, of all in the demo site, and marking."""

from random import Random

import pytest
from line_nets import demo, row

from helpers.line.faults.catalogue import by_key
from helpers.line.faults.fault import Chosen
from helpers.line.instruments.catalogue import places
from helpers.line.plant.build import installation_of
from helpers.line.practice.cache_key import of_code
from helpers.line.practice.case import draw_case
from helpers.line.practice.marking import mark
from helpers.line.practice.session import Session
from helpers.line.practice.signature import PARTS, signature, variants
from helpers.line.practice.signatures import Signatures

# Of so many faults of the demo site the time of all is estimated.
SAMPLE = 20


def small():
    return installation_of(row(3, 1_500_000))


@pytest.mark.parametrize("grade", [1, 2, 3])
def test_draw_a_case_in_the_demo_site(benchmark, grade):
    seeds = iter(range(100, 200))
    benchmark.pedantic(lambda: draw_case(next(seeds), grade), rounds=5)


def test_signature_of_one_fault(benchmark):
    fault = by_key("core open")
    several = variants(small(), Chosen(fault, fault.places(small())[0]))
    benchmark.pedantic(lambda: [signature(several, part) for part in PARTS], rounds=3)


@pytest.mark.parametrize("part", PARTS)
def test_signatures_of_the_demo_site(benchmark, part, capsys):
    """One round is one fault; what all of them would take is printed."""
    signatures = Signatures(demo())
    those = iter(Random(1).sample(signatures.all, SAMPLE))
    benchmark.pedantic(lambda: signature(variants(demo(), next(those)), part), rounds=SAMPLE)
    all_s = benchmark.stats.stats.mean * len(signatures.all) if benchmark.stats else 0.0
    with capsys.disabled():
        print(f"\n{part}: {len(signatures.all)} faults at all their places would take {all_s / 60:.1f} min")


def test_mark_a_session(benchmark):
    case = draw_case(1, 1, small())
    signatures = Signatures(small())
    signatures.all = tuple(c for c in signatures.all if c.fault.grade == 1)
    signatures.work(600)
    session = Session(case)
    session.take("stations")
    benchmark.pedantic(lambda: mark(session, (), signatures), rounds=5)


def test_take_up_what_is_shipped(benchmark, tmp_path):
    def first():
        of_code.cache_clear()
        return Signatures(demo(), tmp_path)

    assert benchmark.pedantic(first, rounds=5).progress == 1


@pytest.mark.parametrize("grade", [1, 2, 3])
def test_mark_a_first_case_of_the_demo_site(benchmark, grade, tmp_path):
    session = Session(draw_case(1, grade))
    for key in ("stations", "controller", "look", "front", "io sheet"):
        session.take(key, places(session.installation, key)[-1])
    marks = benchmark.pedantic(lambda: mark(session, (), Signatures(session.case.installation, tmp_path)), rounds=5)
    assert not marks.left.unknown
