"""Rows of the plan's columns as people type and paste them: what can be read is read, the rest is told by its cell."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.address.address import Holder
from helpers.bus.time.message_cycle import Exchange
from helpers.errors import Unreadable, WorkbookError
from helpers.plan import rows
from helpers.plan.my_networks import DEMO_SITE, demo_network, demo_plan
from helpers.plan.rows import (
    ADDRESSES,
    EXCHANGES,
    GROUPS,
    IO_STATIONS,
    NEIGHBOURS,
    SEGMENT,
    exchanges_in,
    groups_in,
    holders_in,
    io_stations_in,
    neighbours_in,
    pasted,
    segment_in,
)

READERS = {
    ADDRESSES: holders_in,
    EXCHANGES: exchanges_in,
    IO_STATIONS: io_stations_in,
    SEGMENT: lambda texts: segment_in(texts, bit_rate=500_000),
    NEIGHBOURS: neighbours_in,
    GROUPS: groups_in,
}


# -- pasted from a spreadsheet ------------------------------------------------------------------------

FAN = ("Fan 1", "10", "drive")


@pytest.mark.parametrize(
    "text",
    [
        "Fan 1\t10\tdrive",
        "Fan 1;10;drive",
        "Fan 1,10,drive",
        '"Fan 1";"10";"drive"\r\n',
        "name\taddress\tkind\nFan 1\t10\tdrive",
        "kind;address;name\ndrive;10;Fan 1",
        "Address,Kind,NAME\n10,drive,Fan 1",
        "the list of the mill\n\nname\taddress\tkind\nFan 1\t10\tdrive\n\n# a remark\n",
        "segment;position;name;unit load;kind;address\n1;3;Fan 1;1;drive;10",
    ],
)
def test_a_pasted_row_in_every_spelling(text):
    assert pasted(text, ADDRESSES) == [FAN]


def test_columns_that_are_missing_stay_empty():
    assert pasted("Fan 1\t10\nFan 2\t11", ADDRESSES) == [("Fan 1", "10", ""), ("Fan 2", "11", "")]
    assert pasted("address;name\n10;Fan 1", ADDRESSES) == [("Fan 1", "10", "")]


def test_a_decimal_comma_is_none_between_cells_and_a_unit_of_a_heading_goes_with_its_numbers():
    with_tabs = pasted("name\tlength (ft)\nPLC\t\nFan\t1,5\n", SEGMENT)
    assert with_tabs == pasted("name;length (ft)\nPLC;\nFan;1,5\n", SEGMENT)
    assert with_tabs[1][2] == "1,5 ft"
    filled = [(name, "drive", *rest) for name, _, *rest in with_tabs]
    assert segment_in(filled, bit_rate=500_000).length_m == pytest.approx(1.5 * 0.3048)
    assert pasted("Fan\tdrive\t1,5\tA\t0,5\t40", SEGMENT) == [("Fan", "drive", "1,5", "A", "0,5", "40")]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "nothing was pasted"),
        (" \n\t\n", "nothing was pasted"),
        ("name;address;kind", "only headings were pasted"),
        ("a;1;drive;x;y", "row 1 of what was pasted has 5 cells; the table has the columns name, address, kind"),
        ("name;length (lbs)\na;3", "'lbs' is not a unit of length"),
        ("a;1\n" * 251, "251 rows were pasted; allowed are 250"),
    ],
)
def test_what_is_no_table_gets_a_sentence(text, says):
    with pytest.raises(Unreadable, match=says.replace("(", r"\(")):
        pasted(text, SEGMENT if "length" in text else ADDRESSES)


@given(st.text(max_size=80) | st.text("ab1;,\t\n\"'=", max_size=60), st.sampled_from(list(READERS)))
def test_any_paste_gives_rows_or_a_sentence_and_any_rows_a_result_or_a_sentence(text, shape):
    try:
        texts = pasted(text, shape)
        assert texts and all(len(row) == len(shape.columns) for row in texts)
        READERS[shape](texts)
    except WorkbookError as error:
        assert str(error)


@pytest.mark.parametrize("plan", [DEMO_SITE, "the Mill extended"])
def test_the_rows_of_a_network_mean_what_the_network_says(plan):
    for network in demo_plan(plan):
        assert sorted(holders_in(rows.address_rows(network)), key=repr) == sorted(network.holders, key=repr)
        sizes = [(exchange.outputs, exchange.inputs) for exchange in exchanges_in(rows.exchange_rows(network))]
        assert sizes == [(s.exchange.outputs, s.exchange.inputs) for s in network.slaves]
        if network.name != "Silo line":  # it has a drive at 126, put in on purpose
            assert [s.name for s in io_stations_in(rows.io_rows(network))] == [s.name for s in network.slaves]
        for segment in network.segments:
            again = segment_in(rows.segment_rows(network, segment.name), bit_rate=network.bit_rate)
            assert [piece.length_m for piece in again.pieces] == [piece.length_m for piece in segment.pieces]
            assert [(p.name, p.kind, p.stub_length_m) for p in again.plugs] == [
                (p.name, p.kind, p.stub_length_m) for p in segment.plugs
            ]
        if network.neighbours:
            told = [(n.name, n.use, n.parallel_m, n.crossing) for n in neighbours_in(rows.neighbour_rows(network))]
            assert told == [(n.name, n.use, n.parallel_m, n.crossing) for n in network.neighbours]
        assert sum(groups_in(rows.group_rows(network)).values()) == len(network.slaves)


# -- cells --------------------------------------------------------------------------------------------


def test_one_bad_cell_is_one_sentence_with_row_and_column_and_several_are_a_table():
    with pytest.raises(Unreadable, match=r"^Row 2, column address: found 'ten'; expected a whole number") as refused:
        holders_in([FAN, ("Fan 2", "ten", "drive")])
    assert refused.value.rows == ()
    with pytest.raises(Unreadable, match="2 cells can't be used") as refused:
        holders_in([("", "x", "pump")])
    assert [(row["row"], row["column"]) for row in refused.value.rows] == [(1, "address"), (1, "kind")]


def test_empty_rows_are_passed_over_and_the_numbers_of_the_others_stay():
    with pytest.raises(Unreadable, match=r"^Row 3, column address"):
        holders_in([FAN, ("", " ", ""), ("Fan 2", "", "drive")])
    assert len(holders_in([("", "", ""), FAN])) == 1


def test_an_address_of_no_network_is_read_and_left_to_the_check():
    assert [h.address for h in holders_in([("a", "128", ""), ("b", "100000", "")])] == [128, 100000]


def test_what_has_no_address_is_no_holder_and_bare_addresses_get_the_name_of_their_row():
    told = holders_in([("", "3", ""), ("Repeater", "", "repeater"), ("PLC", "1", "controller")])
    assert told == (Holder("row 1", "drive", 3), Holder("PLC", "controller", 1))


def test_a_name_keeps_only_what_can_be_shown():
    assert io_stations_in([("Fan\x00 \x1f1", "PPO 4", "", "", "")])[0].name == "Fan 1"


@pytest.mark.parametrize("reader", [holders_in, exchanges_in, io_stations_in, neighbours_in, groups_in])
def test_a_table_without_rows_is_told(reader):
    with pytest.raises(Unreadable, match="table holds no"):
        reader([])


@pytest.mark.parametrize("shape", list(READERS))
def test_more_rows_than_any_network_has_are_refused(shape):
    with pytest.raises(Unreadable, match="the table has 251 rows; allowed are 250"):
        READERS[shape]([("1",) * len(shape.columns)] * 251)


# -- data formats -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "size"),
    # PPO 3 and 4 from ABB FPBA-01 manual p.185; F3 F1 are the octets of PPO 1 there
    [("PPO 4", (12, 12)), ("ppo3", (4, 4)), ("12/16", (12, 16)), ("0/2 bytes", (0, 2)), ("F3 F1", (12, 12)),
     ("16#11 16#21", (2, 2)), ("Mill 2/3", (4, 6)), ("ST1", (4, 4))],
)  # fmt: skip
def test_a_format_is_read_as_people_write_it(text, size):
    (exchange,) = exchanges_in([("Fan", text)])
    assert (exchange.outputs, exchange.inputs) == size and isinstance(exchange, Exchange)
    (station,) = io_stations_in([("Fan", text, "", "", "")])
    assert (station.format.bytes_out, station.format.bytes_in) == size


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "found nothing"),
        ("PPO 9", "'PPO 9' is no format"),
        ("C0", "the header"),
        ("z" * 300, "is no format"),
    ],
)
def test_what_is_no_format_is_told_by_its_cell(text, says):
    for reader, row in ((exchanges_in, ("Fan", text)), (io_stations_in, ("Fan", text, "", "", ""))):
        with pytest.raises(Unreadable, match=says) as refused:
            reader([row])
        assert str(refused.value).startswith("Row 1, column format in controller") and len(str(refused.value)) < 500


def test_data_that_no_telegram_holds_is_told_by_its_cell():
    # Lenze EPM manual p.267
    with pytest.raises(Unreadable, match=r"format in controller: .*outputs is 245 byte; allowed is 0 to 244"):
        exchanges_in([("Fan", "245/2")])


def test_a_bus_has_addresses_for_125_stations():
    # 0 to 125, and 0 is for the engineering computer: M. Felser, PROFIBUS Manual, addressing
    full = [(f"Fan {n}", "2/2") for n in range(125)]
    assert len(exchanges_in(full)) == 125
    with pytest.raises(Unreadable, match="126 stations; a bus has at most 125"):
        exchanges_in([*full, ("one more", "2/2")])


def test_first_bytes_are_read_with_and_without_their_sign_and_nothing_else():
    for text in ("%IB300", "%ib300", "300", "16#12C"):
        (station,) = io_stations_in([("Fan", "PPO 2", "16#0D", text, "%QB260")])
        assert (station.bus_address, station.first_in, station.first_out) == (13, 300, 260)
    for bad, column in ((("", "%MB4", ""), "first input byte"), (("", "", "%IB4"), "first output byte"),
                        (("", "65536", ""), "first input byte"), (("126", "", ""), "address")):  # fmt: skip
        with pytest.raises(Unreadable, match=f"column {column}"):
            io_stations_in([("Fan", "PPO 2", *bad)])


# -- a segment ----------------------------------------------------------------------------------------

PLC = ("PLC", "controller", "", "", "", "")


def segment(*texts, **more):
    return segment_in(texts, **{"bit_rate": 500_000, **more})


def test_the_cable_of_a_row_comes_from_the_row_above():
    line = segment(PLC, ("Fan", "drive", "4 m", "", "", ""), ("Screw", "drive", "1,5", "b", "20 cm", "40 pF"))
    assert [plug.name for plug in line.plugs] == ["PLC", "Fan", "Screw"]
    assert [(piece.length_m, piece.cable) for piece in line.pieces] == [(4.0, "A"), (1.5, "B")]
    screw = line.plugs[2]
    assert (screw.stub_length_m, screw.stub_cable, screw.stub_capacitance_f) == (0.2, "B", pytest.approx(4e-11))
    assert [plug.terminator_on for plug in line.plugs] == [True, False, True], "its ends are terminated"


def test_the_type_of_cable_is_that_of_the_line_where_a_row_says_none():
    assert segment(PLC, ("Fan", "drive", "4", "", "", ""), cable="B").pieces[0].cable == "B"


def test_a_length_that_nobody_has_measured_is_open_as_in_a_plan():
    lengths = ("", "?", "about 20 m", "10 to 30 m", "12")
    line = segment(PLC, *((f"Fan {n}", "drive", text, "", "", "") for n, text in enumerate(lengths)))
    assert [bool(piece.open) for piece in line.pieces] == [True, True, True, True, False]
    assert (line.pieces[2].length_m, line.pieces[3].open.least, line.pieces[3].open.most) == (20.0, 10.0, 30.0)


@pytest.mark.parametrize(
    ("texts", "says"),
    [
        ([PLC], "two stations or more"),
        ([("PLC", "controller", "3", "", "", ""), ("Fan", "drive", "3", "", "", "")], "none in the first row"),
        ([PLC, ("plc", "drive", "3", "", "", "")], r"Row 2, column name: .* not yet used in row 1"),
        ([PLC, ("Fan", "drive", "far", "", "", "")], r"Row 2, column length: found 'far'"),
        ([PLC, ("Fan", "drive", "3", "C", "", "")], r"Row 2, column cable type: found 'C'"),
        ([PLC, ("Fan", "pump", "3", "", "", "")], r"Row 2, column kind: found 'pump'"),
        ([PLC, ("Fan", "drive", "3", "", "1.234", "")], "a number that can mean one thing only"),
    ],
)
def test_what_is_no_segment_is_told_by_its_cell(texts, says):
    with pytest.raises(WorkbookError, match=says):
        segment(*texts)


# -- neighbours, groups -------------------------------------------------------------------------------


def test_a_neighbour_needs_what_its_kind_and_place_ask_for():
    (motor,) = neighbours_in([("Fan", "motor", "", "", "x", "12", "0,1", "steel", "")])
    assert (motor.use, motor.shielded, motor.parallel_m, motor.distance_m) == ("motor", True, 12.0, 0.1)
    with pytest.raises(Unreadable, match="Row 1, column voltage"):
        neighbours_in([("Mains", "power", "", "", "", "12", "0,1", "", "")])
    with pytest.raises(Unreadable, match="Row 1, column crossing"):
        neighbours_in([("Mains", "power", "400", "", "", "", "", "", "")])


@pytest.mark.parametrize(("count", "fits"), [("1", True), ("125", True), ("0", False), ("126", False), ("x", False)])
def test_a_group_has_1_to_125_stations(count, fits):
    # M. Felser, PROFIBUS Manual, addressing: usable are 0 to 125; 0 is kept for the engineering computer.
    if fits:
        assert groups_in([("fans", count)]) == {"fans": int(count)}
    else:
        with pytest.raises(Unreadable, match="Row 1, column stations"):
            groups_in([("fans", count)])


def test_a_group_twice_is_told():
    with pytest.raises(Unreadable, match=r"Row 2, column group: .* not yet used in row 1"):
        groups_in([("fans", "1"), ("Fans", "2")])


def test_the_demo_network_is_the_one_that_all_start_from():
    assert rows.exchange_rows(demo_network())[0] == ("Remote I/O", "16#11 16#21")
