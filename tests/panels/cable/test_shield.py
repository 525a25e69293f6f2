"""The panels on shield, coupling and earth wires show what the calculations below them give."""

import re

import pytest
from drawn import check_chart
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.cable.bonding import CabinetsPicture, compensation_answer
from helpers.bus.cable.earth_wire import wire_answer
from helpers.bus.cable.interference import coupling_answer, coupling_table, disturbers
from helpers.panels.cable.shield import cabinets_drawing, compensation_panel, coupling_panel, wire_panel
from helpers.panels.kit.as_html import html_of
from helpers.panels.kit.chart import curves_chart
from helpers.safe_work import cautions
from helpers.verdict import Degree


def on_the_sheet(drawing) -> bool:
    places = [float(x) for x in re.findall(r'(?:x|x1|x2|cx)="([-\d.]+)"', drawing.svg)]
    heights = [float(y) for y in re.findall(r'(?:y|y1|y2|cy)="([-\d.]+)"', drawing.svg)]
    return (
        all(0 <= x <= drawing.width for x in places)
        and all(0 <= y <= drawing.height for y in heights)
        and "nan" not in drawing.svg
    )


# -- two earths that differ ---------------------------------------------------------------------------


def earths(cause=(2.0, "V"), source_ohm=0.5, cable_m=100.0, area_mm2=16.0, bond_m=100.0, contact_ohm=0.0):
    return compensation_answer(cause, source_ohm, cable_m, area_mm2, bond_m, contact_ohm)


def test_the_shares_of_shield_and_conductor() -> None:
    # By hand: shield 1 Ω, 16 mm² of 100 m 0.1078 Ω (1/58 Ω·mm²/m, IEC 60028, from memory). Together 0.0973 Ω, with
    # 0.5 Ω of earth path 3.35 A; of these 0.1078 / 1.1078 = 9.7 % stay in the shield.
    shown = earths()
    assert shown.sentence.startswith("The shield carries 0.33 A, that is 9.7 % of 3.3 A.")
    assert shown.degree is Degree.IN_ORDER
    chosen = next(row for row in shown.rows if row[""])
    assert (chosen["bonding conductor"], chosen["in the shield"], chosen["in the conductor"]) == (
        "16 mm²", "0.33 A", "3 A"
    )  # fmt: skip


def test_alone_the_shield_carries_it_all() -> None:
    shown = earths(area_mm2=0.0)
    # 2 V over 0.5 Ω + 1 Ω.
    assert "all of the current: 1.3 A" in shown.sentence
    assert shown.degree is Degree.CAUTION
    assert shown.rows[0]["share of the shield"] == "100 %"
    assert "no bonding conductor" in shown.pictures[0].says


def test_a_current_through_the_earth_is_a_voltage_over_its_path() -> None:
    assert earths(cause=(4.0, "A")).sentence == earths(cause=(2.0, "V")).sentence


def test_a_painted_contact_spoils_the_conductor() -> None:
    good, bad = earths(bond_m=20.0), earths(bond_m=20.0, contact_ohm=0.5)
    share = [re.search(r"that is ([\d.]+) %", shown.sentence)[1] for shown in (good, bad)]
    # 21.6 mΩ beside 1 Ω: 2.1 %; with two contacts of 0.5 Ω it is 1.0216 Ω: 51 %.
    assert share == ["2.1", "51"]
    assert (good.degree, bad.degree) == (Degree.IN_ORDER, Degree.CAUTION)  # half of it is no other way than the shield


@pytest.mark.parametrize(
    ("contact_ohm", "degree"), [(0.045, Degree.IN_ORDER), (0.047, Degree.CAUTION), (0.1, Degree.CAUTION)]
)
def test_contacts_with_more_resistance_than_the_copper_are_not_in_order(contact_ohm, degree) -> None:
    # By hand: 85 m of 16 mm² are 91.6 mΩ (1/58 Ω·mm²/m, IEC 60028, from memory), two contacts of 45.8 mΩ as much.
    # 100 mΩ is a lug on paint: more than a quarter of the current stays in the shield.
    shown = earths(cable_m=85.0, bond_m=85.0, contact_ohm=contact_ohm)
    assert shown.degree is degree
    assert ("Take off the paint" in shown.because) == (degree is Degree.CAUTION)


def test_no_voltage_no_current() -> None:
    shown = earths(cause=(0.0, "V"), area_mm2=0.0)
    assert shown.sentence.startswith("No voltage")
    assert shown.degree is Degree.IN_ORDER
    assert {row["share of the shield"] for row in shown.rows} == {"–"}


def test_a_dangerous_voltage_is_said_before_all_else() -> None:
    # 50 V AC: IEC 60364-4-41, from memory.
    assert earths(cause=(50.0, "V")).caution == cautions("earth voltage")
    assert str(earths(cause=(50.1, "V")).caution[0]).startswith("DANGER: More than 50 V")
    assert "touch nothing" in str(earths(cause=(200.0, "A")).caution)
    # Memory gives no verdict, and nothing is in order either: then the caution stands alone.
    assert [earths(cause=(volts, "V")).degree for volts in (50.0, 50.1)] == [Degree.IN_ORDER, None]


def test_the_window_of_the_receivers_is_told() -> None:
    # −7 V to +12 V: Texas Instruments SLLA628; B&B Electronics application note (1997).
    assert "−7 V to +12 V" in earths().because


@given(
    st.tuples(st.floats(0, 1000), st.sampled_from("VA")), st.floats(1e-3, 1e3), st.floats(1, 1e4),
    st.sampled_from([0.0, 4.0, 16.0, 95.0]), st.floats(0.1, 1e4), st.floats(0, 10),
)  # fmt: skip
@settings(max_examples=60, deadline=None)
def test_any_input_gives_numbers_and_a_drawing(cause, source, cable, area, bond, contact) -> None:
    shown = compensation_answer(cause, source, cable, area, bond, contact)
    assert not re.search(r"\bnan|\binf\b", html_of(shown, draw={CabinetsPicture: cabinets_drawing}))
    assert on_the_sheet(cabinets_drawing(*shown.pictures))
    assert len(shown.rows) <= 8


@pytest.mark.parametrize(
    ("name", "typed"),
    [("cause", "two volts"), ("cause", "3 m"), ("cause", "2000 V"), ("cause", "1001 A"), ("cause", "-1 V"),
     ("source_ohm", "0"), ("cable_m", "0"), ("bond_m", "far"), ("contact_ohm", "-1"), ("contact_ohm", "x"),
     ("contact_ohm", "10001")],
)  # fmt: skip
def test_inputs_that_cannot_be_are_refused_in_the_panel(name: str, typed: str) -> None:
    panel = compensation_panel()
    before = panel._good
    panel.fields[name].widget.value = typed
    assert "Not usable" in panel.said.value
    assert "failed" not in panel.said.value
    assert panel._good is before


@pytest.mark.parametrize("typed", ["100", "100 mΩ", "100 mohm", "100,0"])
def test_contacts_are_given_in_milliohm(typed: str) -> None:
    panel = compensation_panel()
    panel.fields["contact_ohm"].widget.value = typed
    assert panel.fields["contact_ohm"].value == pytest.approx(0.1)
    assert not panel.said.value


# -- a neighbour beside it ----------------------------------------------------------------------------


def test_one_figure_of_the_coupling_by_hand() -> None:
    # µ0/4π · ln(1 + 4·0.05²/0.1²) = 0.1 µH · ln 2 a metre; times 20 m and 1 A in 0.2 µs: 6.9 V.
    shown = coupling_answer(disturbers()["motor, no shield"], 20, 0.1, 0.05)
    assert shown.sentence.startswith("About 7 V in the loop")
    # At 0.2 m: ln 1.25 instead of ln 2, so 2.2 V.
    assert "At twice the distance: about 2 V" in shown.sentence


def test_every_disturber_stands_in_the_table_with_how_it_is_known() -> None:
    shown = coupling_answer(disturbers()["mains, 50 Hz"], 20, 0.1, 0.05)
    assert [row["at this distance, beside"] for row in shown.rows] == list(disturbers())
    assert {row["known"] for row in shown.rows} == {"own setting", "calculated"}


def test_a_run_longer_than_the_edge_says_so() -> None:
    disturber = disturbers()["motor, no shield"]
    assert "count" not in coupling_answer(disturber, 29, 0.1, 0.05).because
    assert "Only the first 30 m count" in coupling_answer(disturber, 31, 0.1, 0.05).because


@given(
    st.sampled_from(sorted(disturbers())), st.floats(0.1, 1e4), st.floats(0.02, 2), st.floats(0.005, 10),
)  # fmt: skip
@settings(max_examples=60, deadline=None)
def test_any_run_gives_numbers_and_a_curve(name: str, length: float, distance: float, height: float) -> None:
    shown = coupling_answer(disturbers()[name], length, distance, height)
    assert not re.search(r"\bnan|\binf\b", html_of(shown, draw={CabinetsPicture: cabinets_drawing}))
    check_chart(curves_chart(shown.pictures[0]))


@pytest.mark.parametrize(
    ("name", "typed"), [("parallel_m", "0"), ("distance_m", "1 cm"), ("distance_m", "3 m"), ("height_m", "x")]
)
def test_a_run_that_cannot_be_is_refused(name: str, typed: str) -> None:
    panel = coupling_panel()
    panel.fields[name].widget.value = typed
    assert "Not usable" in panel.said.value
    assert "failed" not in panel.said.value


# -- a wire to earth ----------------------------------------------------------------------------------


def test_a_short_wire_is_nothing_to_an_ohmmeter_and_much_to_noise() -> None:
    shown = wire_answer(0.3, 4.0, 0.025, 10e6)
    # 0.3 m of 4 mm²: 1.3 mΩ (1/58 Ω·mm²/m, IEC 60028, from memory); about 0.3 µH (1 µH a metre, common practice).
    assert "An ohmmeter shows 1.3 mΩ." in shown.sentence
    ohm = float(re.search(r"has about ([\d.]+) Ω", shown.sentence)[1])
    assert ohm == pytest.approx(2 * 3.1416 * 10e6 * 0.3e-6, rel=0.3)
    assert "isolation, every step" in str(shown.caution)


def test_the_chosen_frequency_is_one_of_the_rows_in_order() -> None:
    frequencies = [row["frequency"] for row in wire_answer(0.3, 4.0, 0.025, 2e6).rows]
    assert frequencies == ["50 Hz", "10 kHz", "1 MHz", "2 MHz", "10 MHz", "30 MHz"]


def test_a_wire_as_long_as_an_aerial_is_called_one() -> None:
    # Wavelength at 10 MHz: 30 m; a tenth is 3 m.
    assert "aerial" not in wire_answer(2.9, 4.0, 0.025, 10e6).because
    assert "The wave is 30 m long" in wire_answer(3.1, 4.0, 0.025, 10e6).because


@given(st.floats(1, 1000), st.sampled_from([2.5, 16.0, 95.0]), st.floats(0.003, 0.2), st.floats(10, 1e8))
@settings(max_examples=60, deadline=None)
def test_any_wire_gives_numbers_and_curves(length: float, area: float, width: float, frequency: float) -> None:
    shown = wire_answer(length, area, width, frequency)
    assert not re.search(r"\bnan|\binf\b", html_of(shown, draw={CabinetsPicture: cabinets_drawing}))
    check_chart(curves_chart(shown.pictures[0]))


@pytest.mark.parametrize(
    ("name", "typed"),
    [("length_m", "1 cm"), ("length_m", "x"), ("width_m", "1 mm"), ("width_m", "20 cm"), ("frequency_hz", "1 Hz"),
     ("frequency_hz", "200 MHz"), ("frequency_hz", "fast")],
)  # fmt: skip
def test_a_wire_that_cannot_be_is_refused(name: str, typed: str) -> None:
    panel = wire_panel()
    panel.fields[name].widget.value = typed
    assert "Not usable" in panel.said.value
    assert "failed" not in panel.said.value


def test_the_table_of_lengths_and_distances_is_the_coupling_itself() -> None:
    motor = disturbers()["motor, no shield"]
    (short, long) = coupling_table(motor, lengths_m=(10, 20), distances_m=(0.1, 0.2), height_m=0.05)
    # As above, by hand: 6.9 V at 0.1 m and 2.2 V at 0.2 m for 20 m.
    assert long == {"side by side in m": 20, "0.1 m apart": 6.9, "0.2 m apart": 2.2}
    assert short["0.1 m apart"] == pytest.approx(long["0.1 m apart"] / 2, abs=0.06)


@pytest.mark.parametrize("parallel_m", [1.0, 20.0, 1000.0])
def test_half_the_length_is_calculated(parallel_m) -> None:
    """Beyond its reach an edge couples no more: half of 1000 m brings what 1000 m bring."""
    for disturber in disturbers().values():
        sentence = coupling_answer(disturber, parallel_m, 0.1, 0.05).sentence
        here, half = re.search(r"About (.*?) in the loop.*at half the length: about (.*?)\.$", sentence).groups()
        assert coupling_answer(disturber, parallel_m / 2, 0.1, 0.05).sentence.startswith(f"About {half} in the loop")
        if parallel_m / 2 > disturber.reach_m:
            assert half == here
