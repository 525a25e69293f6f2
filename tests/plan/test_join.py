"""Rows that can't be joined into one plan: each fault is told once, at its row, and nothing else is told."""

import pytest
from plan_tables import as_csv, demo, put, row_of

from helpers.plan.read import read_plan
from helpers.plan.sheets import PlanUnreadable


def told(tables):
    with pytest.raises(PlanUnreadable) as refused:
        read_plan(as_csv(tables))
    return [(p.table, p.row, p.column, p.found) for p in refused.value.problems]


def station(name, segment="1"):
    return row_of(demo(), "stations", name=name, segment=segment)


def piece(to):
    return row_of(demo(), "cable", to=to)


def test_network_name_used_twice():
    tables = demo()
    tables["network"].append(["mill LINE", "500 kbit/s"])
    assert told(tables) == [("network", 4, "network", "'mill LINE'")]


def test_network_without_stations():
    tables = demo()
    tables["network"].append(["Loading line", "500 kbit/s"])
    assert told(tables) == [("network", 4, "network", "no station of this network")]


def test_station_and_cable_of_an_unknown_network():
    row = station("Cooling fan")
    assert told(put(demo(), "stations", row, "network", "Mil line")) == [("stations", row, "network", "'Mil line'")]
    assert told(put(demo(), "cable", 5, "network", "Mil line")) == [("cable", 5, "network", "'Mil line'")]


def test_cable_of_an_unknown_segment():
    assert told(put(demo(), "cable", 5, "segment", "3")) == [("cable", 5, "segment", "'3'")]


def test_name_used_twice_in_a_segment_and_across_segments():
    row = station("Cooling fan")
    assert ("stations", row, "name", "'dryer fan 1'") in told(put(demo(), "stations", row, "name", "dryer fan 1"))
    row = station("Bucket elevator", "2")
    tables = put(demo(), "stations", row, "name", "Cooling fan")
    for column in ("from", "to"):
        put(tables, "cable", row_of(tables, "cable", **{column: "Bucket elevator"}), column, "Cooling fan")
    assert told(tables) == [("stations", row, "name", "'Cooling fan'")]


def test_position_used_twice():
    row = station("Cooling fan")
    assert told(put(demo(), "stations", row, "position", "5")) == [("stations", row, "position", "5")]


def test_positions_may_have_gaps():
    tables = put(demo(), "stations", station("Repeater"), "position", "90")
    assert len(read_plan(as_csv(tables)).networks[0].segments[0].plugs) == 9


def test_cable_to_a_station_that_is_not_in_the_segment():
    assert told(put(demo(), "cable", piece("Cooling fan"), "to", "Cooling van")) == [
        ("cable", piece("Cooling fan"), "to", "'Cooling van'")
    ]


def test_cable_between_stations_that_are_no_neighbours():
    row = piece("Cooling fan")
    assert told(put(demo(), "cable", row, "to", "Repeater")) == [("cable", row, "to", "'Dryer fan 2' to 'Repeater'")]
    assert told(put(demo(), "cable", row, "to", "Dryer fan 2"))[0][3] == "'Dryer fan 2' to 'Dryer fan 2'"


def test_cable_told_twice_and_cable_missing():
    tables = demo()
    tables["cable"].append(tables["cable"][4])
    assert told(tables) == [("cable", 14, "to", "a second piece from 'Remote I/O' to 'Dryer fan 1'")]
    tables = demo()
    del tables["cable"][4]
    row = station("Remote I/O")
    assert told(tables) == [("stations", row, "name", "no cable from 'Remote I/O' to 'Dryer fan 1'")]


def test_repeater_in_one_segment_only():
    tables = put(demo(), "stations", station("Repeater", "2"), "name", "Repeater 2")
    put(tables, "cable", piece("Intake conveyor"), "from", "Repeater 2")
    assert [(row, found) for _, row, _, found in told(tables)] == [
        (station("Repeater"), "repeater 'Repeater' in this segment only"),
        (station("Repeater", "2"), "repeater 'Repeater 2' in this segment only"),
    ]


def test_segment_apart_from_the_others():
    tables = demo()
    rows = [("3", "1", "Lamp", "30"), ("3", "2", "Horn", "31")]
    width = len(tables["stations"][2])
    for segment, position, name, address in rows:
        row = ["Mill line", segment, position, name, "other", address]
        tables["stations"].append(row + [""] * (width - len(row)))
    tables["cable"].append(["Mill line", "3", "Lamp", "Horn", "5"])
    assert told(tables) == [("stations", 16, "segment", "segment '3', joined with no other")]


def test_ring_of_segments():
    tables = demo()
    for segment, position, neighbour in (("1", "10", "Repeater"), ("2", "5", "Discharge screw")):
        row = tables["stations"][station("Repeater") - 1].copy()
        row[1:4] = [segment, position, "Repeater 2"]
        tables["stations"].append(row)
        tables["cable"].append(["Mill line", segment, neighbour, "Repeater 2", "5"])
    ((table, row, column, found),) = told(tables)
    assert (table, column, found) == ("stations", "segment", "repeater 'Repeater 2' closing a ring of segments")


def test_segment_of_one_station():
    tables = demo()
    del tables["stations"][station("Bucket elevator", "2") - 1 :]
    del tables["stations"][station("Intake conveyor", "2") - 1]
    del tables["cable"][piece("Intake conveyor") - 1 :]
    assert told(tables) == [("stations", station("Repeater", "2"), "segment", "'Repeater' alone in segment 2")]


def test_a_fault_in_one_network_hides_no_fault_of_another():
    tables = demo()
    tables["network"].append(["Loading line", "500 kbit/s", "A", "", ""])
    for table in ("stations", "cable"):
        tables[table] += [["Loading line", *row[1:]] for row in tables[table][2:]]
    put(tables, "stations", station("Cooling fan"), "position", "many")
    put(tables, "cable", 5 + 11, "to", "Nobody")
    assert [(table, row, column) for table, row, column, _ in told(tables)] == [
        ("stations", station("Cooling fan"), "position"),
        ("cable", 16, "to"),
    ]
