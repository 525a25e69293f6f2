"""Checking a plan: the healthy demo with faults planted one by one, and all at once.

What each rule allows is tested beside the rule with its source; here it counts that every fault is found,
once, at its place, and that nothing else is said. The plan and the faults are invented.
"""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from line_nets import row
from plan_tables import DEMO, as_csv, demo, plans, put, row_of

from helpers import facts
from helpers.bus.cable.bit_rates import bit_rates
from helpers.plan.check import check, remarks, sentence
from helpers.plan.figures import cycle
from helpers.plan.model import Plan
from helpers.plan.read import read_plan
from helpers.plan.rules import RULES
from helpers.verdict import FINDING_COLUMNS, VERDICTS, Degree, findings_table

FORBIDDEN, CAUTION = "not allowed", "outside cautious practice"
DEMO_PLAN = read_plan(DEMO)
MILL = DEMO_PLAN.networks[0]


def station(name, heading, value, segment=None):
    """A fault planted in one cell of the table of stations."""

    def plant(tables, network):
        where = {"network": network, "name": name} | ({"segment": segment} if segment else {})
        put(tables, "stations", row_of(tables, "stations", **where), heading, value)

    return plant


def cable(to, heading, value):
    def plant(tables, network):
        put(tables, "cable", row_of(tables, "cable", network=network, to=to), heading, value)

    return plant


def of_network(heading, value):
    def plant(tables, network):
        put(tables, "network", row_of(tables, "network", network=network), heading, value)

    return plant


def both(*plants):
    def plant(tables, network):
        for each in plants:
            each(tables, network)

    return plant


# network, what is planted, and the one finding that it must give: rule, place, verdict
FAULTS = [
    ("Mill line", station("Cooling fan", "address", "126"), "address", "Cooling fan", FORBIDDEN),
    (
        "Mill line",
        station("Dryer fan 2", "address", "10"),
        "address given twice",
        "Dryer fan 1, Dryer fan 2",
        FORBIDDEN,
    ),
    (
        "Mill line",
        station("Dryer fan 1", "terminator on", "yes"),
        "termination: both ends",
        "segment 1: Dryer fan 1",
        FORBIDDEN,
    ),
    (
        "Mill line",
        station("Repeater", "terminator on", "no", segment="2"),
        "termination: both ends",
        "segment 2: Repeater",
        FORBIDDEN,
    ),
    (
        "Mill line",
        station("Discharge screw", "terminator on", "yes"),
        "termination: both ends",
        "segment 2: Discharge screw",
        FORBIDDEN,
    ),
    (
        "Mill line",
        station("Controller", "plug", "device"),
        "termination: in the device",
        "segment 1: Controller",
        CAUTION,
    ),
    ("Mill line", cable("Intake conveyor", "length", "250"), "length of the segment", "segment 2", FORBIDDEN),
    (
        "Mill line",
        station("Intake conveyor", "format in controller", "PPO 4"),
        "same format",
        "Intake conveyor",
        FORBIDDEN,
    ),
    (
        "Mill line",
        both(
            station("Bucket elevator", "format in drive", "long format"),
            station("Bucket elevator", "format in controller", "Long Format"),
        ),
        "known format",
        "Bucket elevator",
        CAUTION,
    ),
    ("Mill line", station("Remote I/O", "watchdog", "0"), "watchdog", "Remote I/O", CAUTION),
    ("Mill line", station("Dust filter fan", "watchdog", "800 s"), "watchdog", "Dust filter fan", FORBIDDEN),
    ("Loading line", of_network("highest station address", "21"), "HSA", "Discharge screw", CAUTION),
    ("Loading line", station("Cooling fan", "stub length", "5"), "length of all stubs", "segment 1", CAUTION),
    (
        "Loading line",
        station("Bucket elevator", "stub capacitance", "250"),
        "capacitance of all stubs",
        "segment 2",
        CAUTION,
    ),
    (
        "Loading line",
        cable("Dryer fan 2", "length", "0.3"),
        "cable between devices",
        "segment 1: Dryer fan 1 – Dryer fan 2",
        CAUTION,
    ),
    (
        "Loading line",
        station("Controller", "may be off", "yes"),
        "termination: own supply, end device off",
        "segment 1: Controller",
        CAUTION,
    ),
    ("Loading line", station("Dryer fan 1", "min slave interval", "20"), "min slave interval", "Dryer fan 1", CAUTION),
    ("Loading line", station("Controller", "address", "15"), "controllers first", "Controller", CAUTION),
    ("Loading line", station("Dust filter fan", "unit load", "30"), "unit loads", "segment 1", FORBIDDEN),
    ("Pit line", of_network("bit rate", "1 Mbit/s"), "bit rate", "network", FORBIDDEN),
    (
        "Mill line",
        station("Discharge screw", "device description", "Mil_0815.gsd"),
        "device description",
        "Discharge screw",
        CAUTION,
    ),
    (
        "Mill line",
        station("Dust filter valve", "ident number", "16#FFF1"),
        "ident number",
        "Dust filter valve",
        FORBIDDEN,
    ),
    (
        "Loading line",
        station("Discharge screw", "device description", "slow.gsd"),
        "bit rate of a station",
        "Discharge screw",
        FORBIDDEN,
    ),
    (
        "Loading line",
        station("Dust filter valve", "device description", "switches.gsd"),
        "setting of the bit rate",
        "Dust filter valve",
        CAUTION,
    ),
    (
        "Loading line",
        both(
            station("Intake conveyor", "format in drive", "PPO 5"),
            station("Intake conveyor", "format in controller", "PPO 5"),
        ),
        "format in the description",
        "Intake conveyor",
        FORBIDDEN,
    ),
    (
        "Loading line",
        station("Dryer fan 2", "min slave interval", "0.9"),
        "min slave interval described",
        "Dryer fan 2",
        CAUTION,
    ),
]

# Device descriptions beside the plan, each with one fault of its own put into a demo description.
_DESCRIPTIONS = DEMO.parent / "descriptions"
BESIDE = {
    "slow.gsd": (_DESCRIPTIONS / "Mil_FFF1.gsd").read_bytes().replace(b"1.5M_supp = 1", b"1.5M_supp = 0"),
    "switches.gsd": (_DESCRIPTIONS / "Mil_FFF2.gsd").read_bytes().replace(b"Baud_supp = 1", b"Baud_supp = 0"),
}


def three_lines():
    """The tables of the demo three times over, under three names."""
    tables = demo()
    for rows in tables.values():
        body = rows[2:]
        for name in ("Loading line", "Pit line"):
            rows += [[name, *row[1:]] for row in body]
    return tables


def said(plan):
    return [(finding.rule, finding.place, finding.degree.verdict) for finding in remarks(check(plan))]


def test_healthy_plan_has_no_remark():
    assert said(DEMO_PLAN) == []
    assert said(read_plan(as_csv(three_lines()))) == []


def test_planted_faults_give_exactly_those():
    tables = three_lines()
    for network, plant, *_ in FAULTS:
        plant(tables, network)
    findings = remarks(check(read_plan(as_csv(tables) | BESIDE)))
    expected = {(rule, f"{network}: {place}", verdict) for network, _, rule, place, verdict in FAULTS}
    assert len(FAULTS) == len(expected) == 26
    assert {(f.rule, f.place, f.degree.verdict) for f in findings} == expected
    assert len(findings) == 26
    assert all(f.to_do and f.source and f.allowed for f in findings)


@pytest.mark.parametrize(
    ("network", "plant", "rule", "place", "verdict"), FAULTS, ids=[f"{f[2]} {f[3]}" for f in FAULTS]
)
def test_each_planted_fault_alone_gives_one_finding(network, plant, rule, place, verdict):
    tables = demo()
    plant(tables, "Mill line")
    assert said(read_plan(as_csv(tables) | BESIDE)) == [(rule, place, verdict)]


MORE = [
    (
        station("Remote I/O", "own-supply terminator", "yes"),
        "termination: both ends",
        "segment 1: Remote I/O",
        FORBIDDEN,
    ),
    (station("Controller", "kind", "engineering computer"), "controller", "network", CAUTION),
    (station("Bucket elevator", "format in drive", ""), "format stated", "Bucket elevator", CAUTION),
    (
        both(
            station("Bucket elevator", "format in drive", ""),
            station("Bucket elevator", "format in controller", ""),
        ),
        "format stated",
        "Bucket elevator",
        CAUTION,
    ),
    (
        both(
            station("Remote I/O", "format in drive", "EF " * 8),  # 8 × 16 words of output: 256 bytes
            station("Remote I/O", "format in controller", "EF " * 8),
        ),
        "length of data",
        "Remote I/O",
        FORBIDDEN,
    ),
    (of_network("highest station address", "200"), "HSA", "network", FORBIDDEN),
    (station("Dryer fan 1", "address", "300"), "address", "Dryer fan 1", FORBIDDEN),
    (station("Dryer fan 1", "watchdog", "15"), "watchdog", "Dryer fan 1", CAUTION),
    (station("Dryer fan 1", "watchdog", "5"), "watchdog", "Dryer fan 1", CAUTION),
]


@pytest.mark.parametrize(("plant", "rule", "place", "verdict"), MORE, ids=[f"{f[1]} {n}" for n, f in enumerate(MORE)])
def test_further_faults_give_one_finding_each(plant, rule, place, verdict):
    tables = demo()
    if rule == "address":
        of_network("highest station address", "")(tables, "Mill line")
    plant(tables, "Mill line")
    assert said(read_plan(as_csv(tables))) == [(rule, place, verdict)]


def changed(name, **values):
    """The demo with some values of one station changed."""

    def segment(part):
        return replace(part, plugs=tuple(replace(s, **values) if s.name == name else s for s in part.plugs))

    return Plan("demo", (replace(MILL, segments=tuple(segment(part) for part in MILL.segments)),))


def test_a_terminator_may_have_a_place_of_its_own_at_the_end_of_the_cable():
    tables = demo()
    station("Discharge screw", "own-supply terminator", "no")(tables, "Mill line")
    row = [""] * len(tables["stations"][1])
    row[:5] = ["Mill line", "2", "5", "Terminator", "terminator"]
    tables["stations"].append(row)
    tables["cable"].append(["Mill line", "2", "Discharge screw", "Terminator", "1.5"])
    assert said(read_plan(as_csv(tables))) == []


def test_formats_agree_by_what_they_mean_not_by_their_spelling():
    # F3 F5 are the identifiers of PPO 2 in ABB FPBA-01 manual p.185
    assert said(changed("Intake conveyor", format_drive="ppo2", format_controller="16#F3 16#F5")) == []
    assert said(changed("Intake conveyor", format_drive="PPO 2", format_controller="F5")) != []


def test_min_slave_interval_is_held_against_the_shortest_cycle():
    # A station makes the bus wait as soon as its interval is longer than the cycle that needs no retries.
    shortest_s = cycle(MILL, intervals=False).best.seconds
    assert said(changed("Dryer fan 1", min_slave_interval_s=shortest_s)) == []
    assert [rule for rule, *_ in said(changed("Dryer fan 1", min_slave_interval_s=shortest_s * 1.001))] == [
        "min slave interval"
    ]


def test_a_watchdog_below_10_ms_needs_the_short_base():
    # At 12 Mbit/s five worst cycles are less than 10 ms. The bases are those of Set_Prm, see the watchdog's own tests.
    plan = changed("Dryer fan 1", watchdog_s=0.009)
    fast = Plan("fast", tuple(replace(network, bit_rate=12e6) for network in plan))
    (finding,) = [f for f in remarks(check(fast)) if f.rule == "watchdog"]
    assert (finding.degree, finding.place) == (Degree.CAUTION, "Dryer fan 1")
    assert "steps of 1 ms" in finding.to_do


def test_worst_comes_first_and_order_of_rules_stays():
    tables = three_lines()
    for network, plant, *_ in FAULTS:
        plant(tables, network)
    findings = check(read_plan(as_csv(tables)))
    verdicts = [VERDICTS.index(finding.degree.verdict) for finding in findings]
    assert verdicts == sorted(verdicts, reverse=True)
    assert {finding.degree for finding in findings} == set(Degree) - {Degree.DEPENDS}


def test_the_table_has_the_columns_a_technician_needs():
    table = findings_table(check(DEMO_PLAN))
    assert all(tuple(row) == FINDING_COLUMNS for row in table)
    assert {row["verdict"] for row in table} == {"in order"}


def test_sentence_counts_each_degree():
    assert sentence(check(DEMO_PLAN)) == f"Everything is in order ({len(check(DEMO_PLAN))} checks)."
    assert sentence(()) == "Nothing to check."
    faulty = check(changed("Cooling fan", address=126, watchdog_s=0.0))
    assert sentence(faulty).startswith("This plan is not allowed as it is: 1 × not allowed, cannot work, 1 × outside")
    careful = check(changed("Cooling fan", watchdog_s=0.0))
    assert sentence(careful).startswith("Nothing is forbidden; cautious practice advises against something: 1 ×")


@pytest.mark.parametrize("bit_rate", bit_rates())
def test_the_demo_can_be_checked_at_every_bit_rate(bit_rate):
    plan = Plan("demo", (replace(MILL, bit_rate=float(bit_rate)),))
    rules = {finding.rule for finding in check(plan)}
    assert {"length of the segment", "watchdog", "slot time", "bus interfaces"} <= rules


def test_more_stations_than_addresses_leave_the_cycle_out():
    many = tuple(replace(MILL.slaves[1], name=f"Fan {n}", position=100 + n, address=n % 126) for n in range(130))
    first = MILL.segments[0]
    pieces = first.pieces + (replace(first.pieces[-1], length_m=1.0),) * len(many)
    crowded = replace(first, plugs=first.plugs + many, pieces=pieces)
    findings = check(Plan("crowd", (replace(MILL, segments=(crowded, MILL.segments[1])),)))
    told = {(f.rule, f.degree.verdict) for f in findings}
    assert {("number of stations", FORBIDDEN), ("unit loads", FORBIDDEN), ("bus interfaces", CAUTION)} <= told
    assert "watchdog" not in {f.rule for f in findings}


def test_a_network_without_stations_to_poll_is_checked_without_a_cycle():
    masters = tuple(s for s in MILL.segments[0].plugs if s.is_master)
    pair = replace(MILL.segments[0], plugs=masters, pieces=MILL.segments[0].pieces[:1])
    findings = check(Plan("pair", (replace(MILL, segments=(pair,)),)))
    assert "min slave interval" not in {f.rule for f in findings}


@settings(max_examples=25, deadline=None)
@given(plans())
def test_whatever_a_plan_says_it_can_be_checked(plan):
    findings = check(plan)
    assert all(finding.verdict and finding.rule and finding.place for finding in findings)


# -- every rule has a plan that breaks it and one that keeps it ---------------------------------------


def faulty(plant, rule):
    tables = demo()
    if rule == "address":
        of_network("highest station address", "")(tables, "Mill line")
    plant(tables, "Mill line")
    return read_plan(as_csv(tables) | BESIDE)


def with_neighbour(distance="20 cm", crossing="none"):
    """The demo with a motor cable beside its bus cable."""
    heads = ["network", "segment", "cable", "carries", "voltage (V)", "parallel", "distance", "crossing"]
    cells = ["Mill line", "2", "Intake motor", "motor", "400", "85 m", distance, crossing]
    return read_plan(as_csv(demo() | {"neighbours": [heads, cells]}))


def far():
    """The demo with so much cable that the slot time ends before an answer can be there."""
    return faulty(both(*(cable(to, "length", "9999") for to in ("Dryer fan 1", "Cooling fan", "Intake conveyor"))), "")


def drives(count, per_segment):
    return Plan("row", (row(count, 1.5e6, per_segment=per_segment),))


# Rules that only a plan of another size breaks, or that are broken beside others.
ELSE = {
    "bus interfaces": lambda: drives(33, 40),
    "number of stations": lambda: drives(126, 20),
    "repeaters in line": lambda: drives(18, 3),
    "length over all segments": far,
    "slot time": far,
    "type of the cable": lambda: faulty(cable("Intake conveyor", "cable type", "B"), ""),
    "distance between cables": lambda: with_neighbour(distance="1 cm"),
    "crossing": lambda: with_neighbour(crossing="slanting"),
}
# A rule that judges nothing, and a plan of which it tells something.
TELLING = {"open length": lambda: faulty(cable("Intake conveyor", "length", "about 20 m"), "")}
PLANTED = [(plant, rule) for _, plant, rule, *_ in FAULTS] + [(plant, rule) for plant, rule, *_ in MORE]
BREAKING = [(rule, faulty(plant, rule)) for plant, rule in PLANTED] + [(rule, make()) for rule, make in ELSE.items()]
KEEPING = with_neighbour(distance="60 cm", crossing="right angle")


def findings_of(rule, plan):
    return [finding for network in plan if network.has_known_rate or not rule.needs_rate
            for finding in rule.check(network)]  # fmt: skip


@pytest.mark.parametrize("rule", RULES, ids=[rule.check.__name__ for rule in RULES])
def test_every_rule_is_broken_by_a_plan_and_kept_by_another(rule):
    broken = any(name in {f.rule for f in remarks(findings_of(rule, plan))} for name, plan in BREAKING)
    tells = any(name in {f.rule for f in findings_of(rule, make())} for name, make in TELLING.items())
    name = rule.check.__name__
    assert broken or tells, f"No plan breaks the rule {name} of plan/rules.py: plant a fault in FAULTS, MORE or ELSE."
    assert remarks(findings_of(rule, KEEPING)) == ()


NAMED = {row["rule"] for row in facts.rows("plan_rules")} | {finding.rule for finding in check(KEEPING)}


@pytest.mark.parametrize("name", sorted(NAMED - set(TELLING)))
def test_every_name_of_a_rule_is_that_of_a_planted_fault(name):
    plans_of_it = [plan for rule, plan in BREAKING if rule == name]
    assert plans_of_it, f"No plan breaks the rule {name!r}: plant a fault in FAULTS, MORE or ELSE."
    assert all(name in {finding.rule for finding in remarks(check(plan))} for plan in plans_of_it)
    assert name not in {finding.rule for finding in remarks(check(KEEPING))}


@pytest.mark.parametrize("name", ELSE)
def test_a_plan_of_another_size_breaks_the_rule_that_it_is_named_for(name):
    assert name in {finding.rule for finding in remarks(check(ELSE[name]()))}


@pytest.mark.parametrize("name", TELLING)
def test_a_rule_that_only_tells_is_silent_where_there_is_nothing_to_tell(name):
    assert name in {finding.rule for finding in check(TELLING[name]())}
    assert name not in {finding.rule for finding in check(KEEPING)}
