"""The waveform bench and the bouncing edge: what they say is what the circuit does, and what they draw can be read."""

import re
import xml.etree.ElementTree as ET

import pytest
from drawn import check_chart

from helpers.bus.circuit.margin import margins
from helpers.bus.circuit.trial_line import ends, plugs, trial_line
from helpers.errors import OutOfRange
from helpers.panels.cable.bounce import bounce_panel, bounce_view, far_ends
from helpers.panels.cable.waveform import waveform_panel, waveform_view
from helpers.panels.kit.as_html import html_of
from helpers.panels.kit.chart import curves_chart
from helpers.panels.kit.drawing import Drawing
from helpers.verdict import Degree


def drawing(view):
    return next(picture for picture in view.pictures if isinstance(picture, Drawing))


def words(sheet):
    return [element.text for element in ET.fromstring(sheet.svg).iter() if element.tag.endswith("text")]


def test_a_healthy_line_is_in_order_and_every_bit_is_sure():
    view = waveform_view()
    assert view.degree is Degree.IN_ORDER
    assert "All 220 bits are sure" in view.sentence and "All other stations hear everything" in view.sentence
    assert "While nobody sends: 1.07 V." in view.sentence


def test_the_numbers_below_the_stations_are_the_margins_of_the_circuit():
    line = trial_line(right="missing", bit_rate=1_500_000)
    expected = margins(line.circuit, bit_rate=1_500_000, sending=2).least
    view = waveform_view(right="missing", sender=3)
    shown = [f"{round(volts, 2) + 0.0:.2f}".replace("-", "−") for volts in expected.values()]
    assert [word for word in words(drawing(view)) if re.fullmatch(r"−?\d+\.\d\d", word)] == shown
    folded = {row["station"]: row for row in view.folded[0][1]}
    assert [folded[n + 1]["least margin"] for n in range(8)] == [f"{volts} V" for volts in shown]
    assert folded[3][""] == "sends"


def test_a_terminator_pulled_is_loud_at_a_high_bit_rate_and_quiet_at_a_low_one():
    loud, quiet = waveform_view(right="missing", bit_rate=12_000_000), waveform_view(right="missing", bit_rate=93_750)
    assert "are not sure" in loud.sentence and "All 220 bits are sure" in quiet.sentence
    assert loud.degree is quiet.degree is Degree.BY_EVERY_SOURCE
    assert quiet.rows[0]["found"] == "no terminator at this end"


def test_both_terminators_dead_leave_no_idle_level():
    view = waveform_view(left="dead, VP on DGND", right="dead, VP on DGND")
    assert "While nobody sends: 0.00 V, no level" in view.sentence
    assert "live on" in view.because
    assert "live on" not in waveform_view(left="dead, VP on DGND", sender="last").because


def test_who_is_looked_at():
    assert "station 5" in waveform_view(receiver=5).pictures[1].says
    assert "station 8" in waveform_view(receiver="last").pictures[1].says
    worst = waveform_view(right="missing", bit_rate=12_000_000)
    column = {row["station"]: float(row["least margin"].replace("−", "-")[:-2]) for row in worst.folded[0][1]}
    looked_at = int(re.search(r"at station (\d+)", worst.sentence)[1])
    assert looked_at != 1 and column[looked_at] == min(column.values())


@pytest.mark.parametrize(("name", "value"), [("sender", 9), ("sender", 0), ("receiver", 9), ("receiver", -1)])
def test_a_station_that_is_not_there_is_refused(name, value):
    with pytest.raises(OutOfRange, match="allowed is 1 to 8"):
        waveform_view(**{name: value})


@pytest.mark.parametrize("end", ends())
@pytest.mark.parametrize("stations", [2, 32])
def test_every_choice_gives_a_picture_that_can_be_read(end, stations):
    for plug in plugs() if stations == 2 else list(plugs())[:1]:
        view = waveform_view(
            stations=stations, left=end, right=end, plug=plug, stub_m=1, bit_rate=12_000_000, length_m=0.5
        )
        assert "nan" not in view.sentence and "nan" not in drawing(view).svg
        sheet = drawing(view)
        assert sum(bool(re.fullmatch(r"−?\d+\.\d\d", word)) for word in words(sheet)) == stations
        assert f"{stations} " in sheet.says and len(view.rows) <= 3


def test_a_line_without_length():
    view = waveform_view(length_m=0, receiver=1, sender=1)
    assert "nan" not in view.sentence and "nan" not in drawing(view).svg
    assert "sends, looked at" in words(drawing(view))


@pytest.mark.parametrize("rate", [9600, 1_500_000, 12_000_000])
@pytest.mark.parametrize("right", ["on", "missing"])
def test_the_curve_is_drawn_with_at_most_1200_points_inside_its_frame(rate, right):
    view = waveform_view(bit_rate=rate, right=right)
    shown = view.pictures[1]
    (curve,) = shown.curves
    assert 200 < len(curve.x) <= 1200
    assert (shown.x.first, shown.x.last) == (curve.x[0], curve.x[-1])
    assert shown.y.first < min(curve.y) and max(curve.y) < shown.y.last
    check_chart(curves_chart(shown))
    assert html_of(view, still=True).count("<img") == 2


def test_the_picture_says_up_to_which_frequency_it_goes():
    """3.5 / 8 ns, the rise of data/rs485.csv: 440 MHz."""
    view = waveform_view()
    assert "up to 440 MHz" in view.pictures[1].below[0]
    assert any("edge of 8 ns" in source for source in view.sources)


def test_as_many_crosses_as_bits_not_sure_in_this_character():
    view = waveform_view(right="missing", bit_rate=12_000_000)
    sure, unsure = view.pictures[1].points
    assert (sure.name, unsure.name) == ("read and sure", "read, not sure")
    assert len(sure.x) + len(unsure.x) == 11 and len(unsure.x)
    assert [len(points.x) for points in waveform_view().pictures[1].points] == [11, 0]
    # A dot lies beyond ±0.2 V (RS-485, data/rs485.csv), on the side of the bit that was sent; a cross does not.
    bits = {note.x: note.words for note in view.pictures[1].notes}
    beyond = [(volts if bits[x] == "1" else -volts) > 0.2 for x, volts in zip(sure.x, sure.y, strict=True)]
    short = [(volts if bits[x] == "1" else -volts) <= 0.2 for x, volts in zip(unsure.x, unsure.y, strict=True)]
    assert all(beyond) and all(short)


@pytest.mark.parametrize(
    ("field", "typed"),
    [("length_m", "-1 m"), ("length_m", "5 km"), ("stub_m", "x"), ("sender", "0"), ("receiver", "best"),
     ("sender", "worst"), ("receiver", "1e99"), ("stub_m", "51 m")],
)  # fmt: skip
def test_what_cannot_be_used_gets_a_sentence_and_the_last_result_stays(field, typed):
    panel = waveform_panel()
    panel.fields[field].widget.value = typed
    assert "Not usable" in panel.said.value and "failed" not in panel.said.value
    assert "All 220 bits" in panel.result.value
    panel.fields["right"].widget.value = "missing"
    panel.fields[field].widget.value = {"length_m": "50 m", "stub_m": "0 m", "sender": "LAST", "receiver": "2"}[field]
    assert panel.said.value == "" and "no terminator at this end" in panel.result.value


# -- the bouncing edge --------------------------------------------------------------------------------


def test_the_edge_with_the_terminator_on():
    """Reflection 0.067 at 171.6 Ω on 150 Ω: worked example, 220 Ω and 2 × 390 Ω, by calculation."""
    view = bounce_view(100, "on", 12_000_000)
    assert "(171.6 − 150) / (171.6 + 150) = +0.067" in view.because
    assert "at rest with the first wave" in view.sentence


def test_the_open_end_doubles_and_its_echo_outlasts_the_fast_bits_only():
    fast, slow = bounce_view(100, "missing", 12_000_000), bounce_view(100, "missing", 93_750)
    assert [row["stands at"] for row in fast.rows[::2]] == ["200 %", "82 %", "152 %"]
    assert "bits are read while the line still moves" in fast.sentence
    assert "goes unnoticed" in slow.sentence
    level = [view.pictures[1] for view in (fast, slow, bounce_view(1000, "missing", 12_000_000))]
    assert [len(picture.points[0].x) for picture in level] == [38, 0, 0]
    assert "◆" in level[0].below[0] and "below here" in level[1].below[0] and "too short" in level[2].below[0]
    # 4.5 µs for 1 km (data/line_electrical.csv, 4.5 ns/m); the first bit is read half a bit after its own edge.
    assert level[0].points[0].y[0] == pytest.approx(450e-9 + 0.5 / 12e6, rel=0.01)


def test_a_short_gives_no_level():
    view = bounce_view(50, "shorted", 9600)
    assert "never leaves 0 V" in view.sentence and view.rows[0]["stands at"] == "0 %"


@pytest.mark.parametrize("far", far_ends())
def test_every_far_end_can_be_drawn_at_any_bit_rate(far):
    panel = bounce_panel()
    panel.fields["far"].widget.value = far
    for shown in bounce_view(100, far, 12_000_000).pictures:
        check_chart(curves_chart(shown))
    for _, rate in panel.fields["bit_rate"].widget.options:
        panel.fields["bit_rate"].widget.value = rate
        for length in ("1 m", "3 km"):
            panel.fields["length_m"].widget.value = length
            assert panel.said.value == ""
    panel.fields["length_m"].widget.value = "0 m"
    assert "Not usable" in panel.said.value
