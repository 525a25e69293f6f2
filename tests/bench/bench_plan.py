"""Speed of the network plan: 125 stations on 10 segments, invented. The aim is 50 ms for a check."""

from dataclasses import replace

from helpers.bus.cable.laid import Piece, Segment
from helpers.plan.check import check, check_network
from helpers.plan.figures import summarize
from helpers.plan.model import Network, Plan, Station
from helpers.plan.read import read_plan
from helpers.plan.save import plan_files


def big_plan(stations=125, segments=10):
    """A line of segments one behind the other; a controller and 124 drives, 9 repeaters."""
    parts = []
    for n in range(segments):
        first, last = n * stations // segments, (n + 1) * stations // segments
        names = [(f"Station {a}", a) for a in range(first + 1, last + 1)]
        rows = [(f"Repeater {n}", None), *names, (f"Repeater {n + 1}", None)][n == 0 : None if n < segments - 1 else -1]
        members = tuple(
            Station(
                position=place,
                name=name,
                kind="repeater" if address is None else "controller" if address == 1 else "drive",
                address=address,
                terminator_on=place in (1, len(rows)),
                format_drive="PPO 4",
                format_controller="PPO 4",
                min_slave_interval_s=0.001,
                watchdog_s=1.0,
            )
            for place, (name, address) in enumerate(rows, 1)
        )
        parts.append(Segment(str(n + 1), members, (Piece(10.0),) * (len(members) - 1), 1.5e6))
    return Plan("big", (Network("line", 1.5e6, "A", tuple(parts)),))


PLAN = big_plan()


def test_check_of_125_stations_on_10_segments(benchmark):
    findings = benchmark(check, PLAN)
    assert sum(finding.rule == "address" for finding in findings) == 125


def test_check_of_125_stations_each_with_its_device_description(benchmark):
    (network,) = PLAN
    described = [
        replace(part, plugs=tuple(replace(s, description="Mil_FFF1.gsd", ident=0xFFF1) for s in part.plugs))
        for part in network.segments
    ]
    plan = replace(PLAN, networks=(replace(network, segments=tuple(described)),))
    assert sum(finding.rule == "ident number" for finding in benchmark(check, plan)) == 124


def test_check_of_one_network(benchmark):
    benchmark(check_network, PLAN.networks[0])


def test_summary_with_cycle_at_every_bit_rate(benchmark):
    assert benchmark(summarize, PLAN.networks[0]).slaves == 124


def test_reading_csv(benchmark):
    files = plan_files(PLAN, workbook=False)
    assert benchmark(read_plan, files).networks == PLAN.networks


def test_reading_workbook(benchmark):
    files = plan_files(PLAN, workbook=True)
    assert benchmark(read_plan, files).networks == PLAN.networks
