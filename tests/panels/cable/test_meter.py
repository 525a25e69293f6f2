"""The meter panel reads what the network gives, and says whether that is healthy."""

import pytest
from line_nets import demo

from helpers.answer import Answer
from helpers.bus.circuit import meter
from helpers.bus.circuit.faults import CATALOGUE, HEALTHY
from helpers.bus.circuit.meter import DEAD, IDLE, ProbesPicture, distance_answer, meter_answer, reading_text
from helpers.line.instruments.catalogue import places, take
from helpers.line.plant import place as places_of
from helpers.line.traffic.line import Line
from helpers.panels.cable.meter import distance_panel, meter_panel, probes_drawing
from helpers.panels.kit.as_html import html_of


def _view(
    fault: str = HEALTHY, state: str = DEAD, red: tuple[int, str] = (1, "B"), black: tuple[int, str] = (1, "A")
) -> Answer:
    return meter_answer(fault, 8, 100.0, state, *red, *black)


@pytest.mark.parametrize(
    ("fault", "state", "reading"),
    [
        # Calculated figures: two terminators 112.7 Ω at one end of 100 m, one alone 220 Ω, three near 73 Ω;
        # 1.07 V idle with 8 receivers of a full unit load, the sign turned at a swapped plug.
        (HEALTHY, DEAD, "113 Ω"),
        ("terminator missing at the far end", DEAD, "220 Ω"),
        (HEALTHY, IDLE, "1.07 V"),
    ],
)
def test_known_readings(fault: str, state: str, reading: str) -> None:
    assert _view(fault, state).sentence == f"The meter reads {reading}."


def test_a_third_terminator_hides_from_volts_but_not_from_ohms() -> None:
    third = "third terminator on in the middle"
    assert _view(third, IDLE).sentence == "The meter reads 1.08 V."  # healthy: 1.07 V
    assert "A healthy segment reads 113 Ω" in _view(third, DEAD).because


def test_healthy_cores_are_open_to_the_shield() -> None:
    assert _view(red=(1, "A"), black=(1, "shield")).sentence == "The meter reads open."
    shorted = _view("short from A to the shield", red=(1, "A"), black=(1, "shield"))
    assert "A healthy segment reads open here" in shorted.because


def test_two_pins_that_nothing_joins_have_no_voltage_to_read() -> None:
    view = _view(state=IDLE, black=(1, "shield"))
    assert view.sentence == "The meter drifts." and "no reading" in view.because


@pytest.mark.parametrize("fault", [HEALTHY, *CATALOGUE])
@pytest.mark.parametrize("state", [DEAD, IDLE])
def test_every_fault_can_be_measured_with_its_caution(fault: str, state: str) -> None:
    view = _view(fault, state, red=(8, "B"))
    assert view.caution and "nan" not in html_of(view, draw={ProbesPicture: probes_drawing}) and len(view.rows) == 10


def test_a_probe_on_a_plug_that_is_not_there_gets_a_sentence() -> None:
    panel = meter_panel()
    panel.fields["red_plug"].widget.value = 20
    assert "plug of the red probe is 20; allowed is 1 to 8" in panel.said.value
    assert "113 Ω" in panel.result.value
    panel.fields["stations"].widget.value = 32
    assert panel.said.value == ""


def test_the_distance_to_a_short() -> None:
    # 0.11 Ω per metre of both cores: 11 Ω for 100 m (calculated from type A at its limit).
    assert distance_answer(11.0, 0.0, "A").sentence == "The short is about 100 m along the cable."
    assert "at your feet" in distance_answer(0.2, 0.2, "A").because


@pytest.mark.parametrize("typed", ["", "-1", "open", "1e99", "0.1"])
def test_a_distance_that_cannot_be_gets_a_sentence(typed: str) -> None:
    panel = distance_panel()
    panel.fields["loop_ohm"].widget.value = typed
    assert "Not usable" in panel.said.value


def test_bench_and_panel_show_one_number() -> None:
    """The same resistance, at a plug of the practice line and in the panel's own words."""
    line = Line(demo())
    place = places_of.find("plug of Cooling fan", places(line.installation, "ohms"))
    seen = dict(take(line, "ohms", place).lines)["A to B"]
    circuit = line.installation.stretches[place.segment].circuit
    assert seen == reading_text(meter.ohms(circuit, place.plug), DEAD)
