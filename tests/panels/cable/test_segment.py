"""The segment panels say what the tables say, whatever is typed into them.

Lengths: PROFIBUS Specification (EN 50170 Vol. 2), 1997, p.32, and the device manuals above 1.5 Mbit/s that
data/segment_length.csv names; 32 interfaces with repeaters: M. Felser, PROFIBUS Manual, electrical transmission; stubs:
SICK VISIC100SF manual p.44; the 1 m between devices: Bronkhorst PROFIBUS manual p.9.
"""

import csv
import io
from itertools import pairwise

import pytest
from drawn import check_legible, elements, texts
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.cable.bit_rates import bit_rates
from helpers.bus.cable.laid import even_line
from helpers.bus.cable.repeater import propose
from helpers.bus.cable.segment_answer import MOST_REPEATERS, even_answer, segment_answer
from helpers.errors import WorkbookError
from helpers.panels.cable.division_drawing import division_drawing
from helpers.panels.cable.segment import listed_segment_panel, segment_panel
from helpers.plan.rows import segment_in
from helpers.verdict import VERDICTS

# Why something is not allowed is tested with the rules themselves.
IN_ORDER, CAUTION, FORBIDDEN = VERDICTS


def words(sheet):
    return [text.words for text in texts(sheet)]


@pytest.mark.parametrize(
    ("length_m", "bit_rate", "cable", "degree"),
    [
        (200, 1_500_000, "A", IN_ORDER), (200.01, 1_500_000, "A", FORBIDDEN),
        (100, 12_000_000, "A", IN_ORDER), (100.01, 12_000_000, "A", CAUTION),
        (400, 500_000, "A", IN_ORDER), (400.01, 500_000, "A", FORBIDDEN),
        (1000, 93_750, "A", IN_ORDER), (1000.01, 93_750, "A", CAUTION), (1200, 93_750, "A", CAUTION),
        (1200.01, 93_750, "A", FORBIDDEN),
        (70, 1_500_000, "B", CAUTION), (200, 1_500_000, "B", CAUTION), (200.01, 1_500_000, "B", FORBIDDEN),
        (200, 500_000, "B", CAUTION), (200.01, 500_000, "B", FORBIDDEN), (1, 3_000_000, "B", CAUTION),
    ],
)  # fmt: skip
def test_both_sides_of_each_length(length_m: float, bit_rate: int, cable: str, degree: str) -> None:
    view = even_answer(2, length_m, bit_rate, cable)
    assert view.degree.verdict == degree
    assert bool(view.caution) is (degree != IN_ORDER)


@pytest.mark.parametrize(
    ("stations", "degree"), [(28, IN_ORDER), (29, CAUTION), (31, CAUTION), (32, CAUTION), (33, FORBIDDEN)]
)
def test_both_sides_of_the_number(stations: int, degree: str) -> None:
    view = even_answer(stations, 60, 500_000)
    assert view.degree.verdict == degree
    assert (", trouble" in view.sentence or ": trouble" in view.sentence) is (degree != IN_ORDER)


@pytest.mark.parametrize(
    ("spacing_m", "bit_rate", "degree"),
    [(1, 12_000_000, IN_ORDER), (0.99, 12_000_000, CAUTION), (0.99, 1_500_000, CAUTION), (1, 1_500_000, IN_ORDER)],
)
def test_stations_side_by_side(spacing_m: float, bit_rate: int, degree: str) -> None:
    view = even_answer(10, 90, bit_rate, spacing_m=spacing_m)
    assert view.degree.verdict == degree
    if degree != IN_ORDER:
        # Eight gaps of the cabinet, told in one line.
        assert view.rows[0]["found"] == "0.99 m, station 2 – station 3 and 7 more"
        assert "loop of cable" in view.because


@pytest.mark.parametrize(
    ("stub_m", "device_f", "degree"),
    [(2.0, 0.0, IN_ORDER), (2.0, 1e-12, CAUTION), (2.01, 0.0, CAUTION)],
)
def test_stubs_by_length_and_by_capacitance_with_the_devices(stub_m: float, device_f: float, degree: str) -> None:
    # Ten stubs at 500 kbit/s: 20 m or 0.6 nF for all together, 30 pF a metre.
    view = even_answer(12, 100, 500_000, stub_length_m=stub_m, stub_capacitance_f=device_f)
    assert view.degree.verdict == degree
    assert "10 stubs" in view.pictures[0].says


def test_the_highest_bit_rate_and_why_the_next_fails() -> None:
    view = even_answer(12, 180, 93_750)
    assert "This cable carries up to 1.5 Mbit/s." in view.sentence
    assert view.because == "3 Mbit/s fails: length of the segment 180 m of type A, at most 100 m."
    assert even_answer(12, 90, 93_750).because == ""
    assert "carries up to 12 Mbit/s" in even_answer(12, 90, 93_750).sentence


def test_too_many_stations_are_allowed_at_no_bit_rate_and_a_full_segment_keeps_its_own() -> None:
    over, full = even_answer(33, 100, 500_000), even_answer(32, 100, 500_000)
    assert "It is allowed at no bit rate: unit loads 33" in over.sentence
    assert "carries" not in over.sentence and "fails" not in over.because
    assert "This cable carries up to 12 Mbit/s." in full.sentence


def test_where_sources_disagree_both_answers_are_given() -> None:
    low = even_answer(12, 1100, 93_750)
    assert "Only by the most lenient sources this cable carries up to 93.75 kbit/s." in low.sentence
    assert "9.6 kbit/s fails by the strictest source" in low.because
    stubs = even_answer(12, 100, 500_000, stub_length_m=0.5)
    assert "up to 500 kbit/s; by the most lenient sources 1.5 Mbit/s." in stubs.sentence
    assert "No bit rate carries this cable in one segment." in even_answer(2, 1300, 9600).sentence


def test_a_line_too_long_is_divided_and_drawn_to_scale() -> None:
    view = even_answer(12, 390, 1_500_000)
    assert view.degree.verdict == FORBIDDEN
    assert view.because.startswith("At 1.5 Mbit/s it needs 2 repeaters: 1 at ")
    scale = division_drawing(view.pictures[1])
    assert sum(w.startswith(("1: ", "2: ")) for w in words(scale)) == 2
    assert not view.folded  # two places are in the sentence
    assert even_answer(12, 990, 1_500_000).folded[0][0] == "Where the repeaters go"


def test_the_places_of_the_repeaters_are_those_of_the_proposal() -> None:
    view = even_answer(60, 990, 1_500_000)
    proposal = propose(even_line(stations=60, length_m=990, bit_rate=1_500_000))
    rows = view.folded[0][1]
    assert [row["bus interfaces"] for row in rows] == [segment.interfaces for segment in proposal.segments]
    assert [row["between"] for row in rows[:-1]] == [f"{p.after} and {p.before}" for p in proposal.places]
    assert rows[-1]["then"] == ""


def test_too_many_repeaters_are_not_proposed() -> None:
    view = even_answer(12, 20_000, 12_000_000)
    assert view.because.startswith("It would take 199 repeaters or more: at most 3 by the strictest source, 10 by")
    assert len(view.pictures) == 1
    nine = even_answer(12, 1900, 1_500_000)
    assert "Repeaters in line: " in nine.because


def test_what_no_repeater_can_help_is_said() -> None:
    long_stub = even_answer(12, 500, 500_000, stub_length_m=30)
    assert long_stub.because.startswith(
        "No repeater helps: station 2 between two repeaters at 500 kbit/s has stubs 30 m"
    )
    only_lenient = even_answer(12, 390, 1_500_000, stub_length_m=0.5)
    assert "repeaters by the most lenient sources: 1 at" in only_lenient.because
    reserve = even_answer(30, 60, 500_000)
    assert reserve.because.startswith("Plan a repeater before the next station comes.")


def test_the_table_has_the_troubles_first_and_the_rest_in_one_line() -> None:
    good = even_answer(12, 180, 1_500_000)
    assert {row["rule"] for row in good.rows} >= {"length of the segment", "bus interfaces", "unit loads"}
    bad = even_answer(40, 390, 500_000)
    assert [row["verdict"].verdict for row in bad.rows] == [FORBIDDEN, CAUTION, IN_ORDER]
    assert bad.rows[-1]["rule"] == "the others"
    close = [PLC, *((f"fan {n}", "drive", f"0.{n} m", "", "", "") for n in range(1, 9))]
    many = segment_answer(segment_in(close, bit_rate=12_000_000))
    assert len(many.rows) == 5
    assert many.rows[3] == {"rule": "… 5 more", "found": "see segment.csv", "allowed": "", "verdict": ""}


def test_the_file_to_save_holds_every_finding() -> None:
    view = even_answer(12, 180, 1_500_000)
    table = list(csv.DictReader(io.StringIO(view.files[0].content.decode("utf-8-sig"))))
    assert len(table) == 5
    assert view.files[0].name == "segment.csv"


PLC = ("PLC", "controller", "", "", "", "")


def test_the_list_begins_with_the_first_segment_of_the_mill_and_has_the_other_one() -> None:
    panel = listed_segment_panel()
    assert panel._good.degree.verdict == IN_ORDER
    assert panel._good.sentence.startswith("9 bus interfaces on 16 m of type A at 1.5 Mbit/s.")
    table = panel.fields["stations"].widget
    assert [row[0] for row in table.rows][:2] == ["Controller", "Engineering computer"]
    assert table.part.options == ("1", "2")
    table.part.value = "2"
    assert "4 bus interfaces on 88 m" in panel.result.value and panel.said.value == ""
    table.network.value = ("the Mill extended", "Silo line")
    assert "5 bus interfaces on 145 m of type A at 3 Mbit/s" in panel.result.value


# -- the strip ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("count", range(1, MOST_REPEATERS + 1))
def test_the_strip_is_to_scale_and_legible(count: int) -> None:
    line = even_line(stations=40, length_m=187.0 * (count + 1), bit_rate=1_500_000)
    proposal = propose(line, anywhere=True)
    assert 1 <= len(proposal.places) <= MOST_REPEATERS
    sheet = division_drawing(proposal)
    check_legible(sheet)
    rects = elements(sheet, "rect")[1:]
    whole = sum(float(r.get("width")) for r in rects)
    for rect, segment in zip(rects, proposal.segments, strict=True):
        share = segment.length_m / sum(s.length_m for s in proposal.segments)
        assert float(rect.get("width")) / whole == pytest.approx(share, abs=1e-4)
    below = [t for t in texts(sheet) if t.bold]
    assert len(below) == len(proposal.places)
    for row in {t.y for t in below}:
        in_row = sorted((t.left, t.right) for t in below if t.y == row)
        assert all(a[1] < b[0] for a, b in pairwise(in_row))


# -- the panels -----------------------------------------------------------------------------------------


def test_lengths_in_feet_are_read_in_feet() -> None:
    panel = segment_panel()
    panel.fields["length_m"].widget.value = "660 ft"
    assert "trouble with length of the segment" in panel.result.value
    assert "201.168 m" in panel.result.value
    panel.fields["length_m"].widget.value = "656 ft"
    assert "In order." in panel.result.value


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("stations", "1", "bus interfaces is 1; allowed is 2 to 200"),
        ("stations", "201", "allowed is 2 to 200"),
        ("stations", "twelve", "is not a whole number"),
        ("length_m", "-5 m", "allowed is 0 to 20000 m"),
        ("length_m", "21 km", "allowed is 0 to 20000 m"),
        ("spacing_m", "20 m", "take 200 m of cable; allowed is at most the whole length, 180 m"),
        ("spacing_m", "often", "is not a length"),
        ("stub_capacitance_f", "12 V", "is not a unit of capacitance"),
        ("stub_capacitance_f", "-5", "input of a device is -5 pF; allowed is 0 to 10000 pF"),
    ],
)
def test_what_cannot_be_used_gets_a_sentence_and_the_last_good_result_stays(field: str, typed: str, says: str) -> None:
    panel = segment_panel()
    panel.fields[field].widget.value = typed
    assert says in panel.said.value
    assert "failed here" not in panel.said.value
    assert "12 bus interfaces on 180 m" in panel.result.value


def test_every_control_changes_the_answer() -> None:
    changes = {"stations": "40", "length_m": "250 m", "bit_rate": 9600, "cable": "B", "spacing_m": "0.5 m",
               "stub_length_m": "2 m", "stub_capacitance_f": "30 pF"}  # fmt: skip
    panel = segment_panel()
    assert set(changes) == set(panel.fields)
    for name, value in changes.items():
        before = panel.result.value
        panel.fields[name].widget.value = value
        assert panel.result.value != before, name
        assert panel.said.value == ""


def test_your_own_list_is_judged_and_a_row_that_is_no_device_is_named() -> None:
    panel = listed_segment_panel()
    table = panel.fields["stations"].widget
    table.put([PLC, ("pump", "drive", "250 m", "", "", ""), ("end", "repeater", "0.5 m", "", "", "")])
    assert "trouble with length of the segment" in panel.result.value
    table.put([PLC, ("pump", "drive", "far", "", "", "")])
    assert "Row 2, column length: found &#x27;far&#x27;" in panel.said.value
    table.put([PLC, ("pump", "drive", "150 to 250 m", "", "", "")])
    assert "1 length not measured: the most likely is taken, 200 m in all" in panel.result.value


@given(
    st.integers(2, 60),
    st.floats(0, 3000),
    st.sampled_from(bit_rates()),
    st.sampled_from(["A", "B"]),
    st.none() | st.floats(0, 20),
    st.floats(0, 30),
    st.floats(0, 1e-9),
)
@settings(max_examples=25)
def test_any_figures_get_an_answer_or_a_sentence(stations, length_m, rate, cable, spacing_m, stub_m, stub_f) -> None:
    try:
        view = even_answer(stations, length_m, rate, cable, spacing_m, stub_m, stub_f)
    except WorkbookError as error:
        assert "take" in str(error)
        return
    assert view.degree == max(row["verdict"] for row in view.rows if row["verdict"] != "")
    assert len(view.rows) <= 6
    assert "inf" not in f"{view.sentence} {view.because}"
