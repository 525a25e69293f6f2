"""The cables beside the bus cable: read from their table in every way of writing, and held against the sources."""

import csv

import pytest
from plan_tables import DEMO, as_csv, as_xlsx, demo, put

from helpers.plan.check import check, remarks
from helpers.plan.read import read_plan
from helpers.plan.sheets import PlanUnreadable
from helpers.verdict import Degree

HEADINGS = ["network", "segment", "cable", "carries", "voltage (V)", "supply", "shielded", "parallel", "distance",
            "divider", "crossing"]  # fmt: skip


def beside(*cells):
    """The demo plan with one cable beside its bus cable, in row 2 of the table."""
    return demo() | {"neighbours": [HEADINGS, list(cells)]}


MOTOR = ("Mill line", "2", "Intake motor", "motor", "", "", "", "85 m", "5 cm", "", "")


def only_neighbour(tables):
    (neighbour,) = read_plan(as_csv(tables)).networks[0].neighbours
    return neighbour


def problem(tables):
    with pytest.raises(PlanUnreadable) as refused:
        read_plan(as_csv(tables))
    (found,) = refused.value.problems
    return found


def test_a_plan_without_the_table_says_nothing_of_other_cables():
    assert read_plan(as_csv(demo())).networks[0].neighbours == ()
    assert read_plan(as_csv(demo() | {"neighbours": [HEADINGS]})).networks[0].neighbours == ()


def test_a_row_is_read_with_its_units_and_what_is_empty_has_its_usual_meaning():
    found = only_neighbour(beside(*MOTOR))
    assert (found.name, found.segment, found.use, found.parallel_m, found.distance_m) == (
        "Intake motor", "2", "motor", 85.0, 0.05)  # fmt: skip
    assert (found.supply, found.shielded, found.divider, found.crossing) == ("AC", False, "none", "none")
    assert read_plan(as_xlsx(beside(*MOTOR))).networks[0].neighbours == (found,)
    assert read_plan(as_csv(beside(*MOTOR), delimiter=";", decimal=",")).networks[0].neighbours == (found,)


@pytest.mark.parametrize(
    ("cells", "column", "found"),
    [
        ({"carries": "water"}, "carries", "'water'"),
        ({"carries": ""}, "carries", "nothing"),
        ({"carries": "power"}, "voltage (V)", "nothing"),
        ({"distance": ""}, "distance", "nothing"),
        ({"parallel": "", "crossing": "slanting"}, "parallel", "nothing"),
        ({"parallel": "", "distance": ""}, "crossing", "nothing"),
        ({"parallel": "long"}, "parallel", "'long'"),
        ({"segment": "7"}, "segment", "'7'"),
        ({"network": "Other"}, "network", "'Other'"),
        ({"shielded": "perhaps"}, "shielded", "'perhaps'"),
        ({"crossing": "under"}, "crossing", "'under'"),
    ],
)
def test_a_cell_that_cannot_be_is_named_with_its_row_and_column(cells, column, found):
    tables = beside(*MOTOR)
    for heading, text in cells.items():
        put(tables, "neighbours", 2, heading, text)
    told = problem(tables)
    assert (told.table, told.row, told.column, told.found) == ("neighbours", 2, column.removesuffix(" (V)"), found)


def test_each_cable_gets_its_verdict_at_its_segment():
    # At least 0.1 m by the most lenient source found, 0.3 m by the strictest: ABB AC 800M PROFIBUS manual p.97 and
    # EN 50174-2:2000 table 1, see data/separation.csv.
    for distance, degree in {"5 cm": Degree.BY_EVERY_SOURCE, "20 cm": Degree.CAUTION, "40 cm": Degree.IN_ORDER}.items():
        tables = put(beside(*MOTOR), "neighbours", 2, "distance", distance)
        (told,) = [f for f in check(read_plan(as_csv(tables))) if f.rule == "distance between cables"]
        assert (told.degree, told.place) == (degree, "segment 2: Intake motor")


def test_the_demo_plan_is_in_order_and_the_extended_one_has_cables_too_near():
    with (DEMO.parent / "saltmarsh-mill-extended" / "neighbours.csv").open(encoding="utf-8") as file:
        rows = list(csv.reader(file))[2:]
    plan = read_plan(DEMO.parent / "saltmarsh-mill-extended")
    assert [neighbour.name for neighbour in plan.networks[0].neighbours] == [row[2] for row in rows]
    told = [(f.rule, f.place.rpartition(": ")[2]) for f in remarks(check(plan)) if f.rule in (
        "distance between cables", "crossing")]  # fmt: skip
    assert sorted(told) == [
        ("crossing", "Dryer fan 1 motor"),
        ("distance between cables", "Dryer fan 1 motor"),
        ("distance between cables", "Intake motor"),
        ("distance between cables", "Pit supply"),
    ]
