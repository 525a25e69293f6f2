"""Speed of fault-finding practice: a case, the signature of one fault, and marking from what is made already."""

from dataclasses import replace

from line_nets import row

from helpers.line.build import installation_of
from helpers.line.faults.catalogue import by_key
from helpers.line.faults.fault import Chosen
from helpers.line.practice.case import draw_case
from helpers.line.practice.marking import mark
from helpers.line.practice.session import Session
from helpers.line.practice.signature import PARTS, signature, variants
from helpers.line.practice.signatures import Signatures


def small():
    return installation_of(row(3, 1_500_000))


def test_draw_a_case_in_the_demo_site(benchmark):
    seeds = iter(range(100, 200))
    benchmark.pedantic(lambda: draw_case(next(seeds), 1), rounds=5)


def test_signature_of_one_fault(benchmark):
    fault = by_key("core open")
    several = variants(small(), Chosen(fault, fault.places(small())[0]))
    benchmark.pedantic(lambda: [signature(several, part) for part in PARTS], rounds=3)


def test_mark_a_session(benchmark):
    case = draw_case(1, 1, small())
    signatures = Signatures(small())
    signatures.all = tuple(c for c in signatures.all if c.fault.grade == 1)
    signatures._number = {(c.fault.key, c.place.words): n for n, c in enumerate(signatures.all)}
    signatures.work(600)
    session = Session(replace(case, installation=signatures.installation))
    session.take("stations")
    benchmark.pedantic(lambda: mark(session, (), signatures), rounds=5)
