"""A segment written down device by device, and one from a few figures."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.cable.segment_list import cabinet_line, read_segment, write_segment
from helpers.errors import WorkbookError

NAMES = st.sampled_from(["fan", "fan 1", "intake conveyor", "repeater", "PLC", "remote I/O", "Motor (2)", "3rd screw"])


def read(text, **changes):
    return read_segment(text, **{"bit_rate": 500_000, **changes})


def test_the_cable_stands_before_its_device() -> None:
    line = read("controller\n4 m fan\n1.5 m screw")
    assert [d.name for d in line.plugs] == ["controller", "fan", "screw"]
    assert [s.length_m for s in line.pieces] == [4.0, 1.5]


@pytest.mark.parametrize(
    ("written", "length_m"),
    [("4 m fan", 4), ("4 fan", 4), ("10 ft fan", 3.048), ("1,5 m fan", 1.5), ("0.1 km fan", 100), ("50 cm fan", 0.5),
     ("4 main fan", 4), ("4 m 3rd fan", 4)],
)  # fmt: skip
def test_lengths_as_people_write_them(written: str, length_m: float) -> None:
    assert read(f"controller\n{written}").pieces[0].length_m == pytest.approx(length_m)


@pytest.mark.parametrize(
    ("name", "kind"),
    [("repeater 1", "repeater"), ("Engineering computer", "engineering computer"), ("laptop", "engineering computer"),
     ("PLC", "controller"), ("Master", "controller"), ("remote I/O", "remote I/O"), ("coupler", "coupler"),
     ("terminator", "terminator"), ("dryer fan", "drive")],
)  # fmt: skip
def test_the_kind_is_in_the_name(name: str, kind: str) -> None:
    assert read(f"start\n1 m {name}\n1 m end").plugs[1].kind == kind


def test_what_may_stand_after_the_name() -> None:
    line = read("controller\n4 m fan, stub 20 cm, 40 pF, type b\n1 m screw; 2 m; 0.1 nF")
    fan, screw = line.plugs[1:]
    assert (fan.stub_length_m, fan.stub_capacitance_f, fan.stub_cable) == (0.2, 4e-11, "B")
    assert (screw.stub_length_m, screw.stub_capacitance_f, screw.stub_cable) == (2.0, 1e-10, "A")
    assert [s.cable for s in line.pieces] == ["B", "A"]


def test_columns_of_a_spreadsheet() -> None:
    line = read("\tcontroller\t\t\n4\tfan\t2\t40 pF\n1.5\tscrew")
    assert [s.length_m for s in line.pieces] == [4, 1.5]
    assert (line.plugs[1].stub_length_m, line.plugs[1].stub_capacitance_f) == (2, 4e-11)


def test_a_name_given_twice_is_numbered() -> None:
    names = [d.name for d in read("controller\n1 m fan\n1 m fan\n1 m fan").plugs]
    assert names == ["controller", "fan", "fan (2)", "fan (3)"]


def test_the_ends_are_terminated() -> None:
    assert [d.terminator_on for d in read("controller\n1 m fan\n1 m screw").plugs] == [True, False, True]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "number of devices is 0; allowed is 2 to 200"),
        ("controller", "number of devices is 1"),
        ("controller\n" * 201, "number of devices is 201"),
        ("controller\nfan", "line 2, 'fan': write the cable from the device before first"),
        ("controller\n4 m", "line 2, '4 m': write the cable"),
        ("4 m\n4 m fan", "line 1, '4 m': write the cable"),
        ("4 m controller\n4 m fan", "line 1, .* has 4 m of cable before it; allowed is none"),
        ("controller\n4 m fan, red", "line 2, 'red' is not known; after the name may stand"),
        ("controller\n4 m fan, type C", "stub cable of fan is 'C'; known are A, B"),
        ("controller\n4 m fan, 1 mF stub", "is not known"),
        ("controller\n999999999 m fan", "length of a section is 999999999 m"),
        ("controller\n1,2,3 m fan", "is not a unit of length"),
    ],
)
def test_what_cannot_be_read_is_named_with_its_line(text: str, says: str) -> None:
    with pytest.raises(WorkbookError, match=says):
        read(text)


@given(st.text())
def test_any_text_is_read_or_refused_with_a_sentence(text: str) -> None:
    try:
        read(text)
    except WorkbookError as error:
        assert str(error)


@given(st.lists(st.tuples(NAMES, st.integers(0, 900), st.integers(0, 90), st.integers(0, 90)), min_size=1, max_size=9))
def test_what_is_written_is_read_again(rows: list[tuple[str, int, int, int]]) -> None:
    kinds = ["A", "B"] * len(rows)
    text = "controller\n" + "\n".join(
        f"{m / 10} m {n}, stub {s / 10} m, {pf} pF, type {kind}"
        for (n, m, s, pf), kind in zip(rows, kinds, strict=False)
    )
    line = read(text)
    again = read(write_segment(line))
    assert again == line


def test_a_cabinet_at_the_far_end_of_the_cable() -> None:
    line = cabinet_line(stations=5, length_m=90, bit_rate=12_000_000, spacing_m=1, stub_length_m=2)
    assert [s.length_m for s in line.pieces] == [87, 1, 1, 1]
    assert line.length_m == 90
    assert [d.stub_length_m for d in line.plugs] == [0, 2, 2, 2, 0]
    even = cabinet_line(stations=4, length_m=90, bit_rate=500_000, stub_capacitance_f=3e-11)
    assert [s.length_m for s in even.pieces] == [30, 30, 30]
    assert [d.stub_capacitance_f for d in even.plugs] == [0, 3e-11, 3e-11, 0]


def test_two_stations_have_all_the_cable_between_them() -> None:
    assert cabinet_line(stations=2, length_m=90, bit_rate=500_000, spacing_m=5).length_m == 90


def test_stations_that_need_more_cable_than_there_is() -> None:
    assert cabinet_line(stations=12, length_m=10, bit_rate=500_000, spacing_m=1).pieces[0].length_m == 0
    with pytest.raises(WorkbookError, match=r"11 stations 1 m apart take 10 m of cable; allowed is at most .*9.9 m"):
        cabinet_line(stations=12, length_m=9.9, bit_rate=500_000, spacing_m=1)
