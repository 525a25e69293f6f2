"""The panel of the I/O image draws legibly, for few stations and for many, and takes what people write."""

import base64
import re

from drawn import boxes, check_legible, texts
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.device import formats
from helpers.device.io_answers import RulerPicture, StationPicture, io_image_answer
from helpers.device.io_checks import overlaps
from helpers.device.io_image import NUMBERINGS, ImageStation, lay_out, rules
from helpers.line.instruments import io_sheet
from helpers.panels.device.io_image import DRAW, io_image_panel, ruler, station_drawing
from helpers.panels.kit.as_html import html_of
from helpers.plan.rows import IO_STATIONS, io_stations_in, pasted
from helpers.verdict import Degree


def stations(text):
    """Stations as pasted: name, format, bus address, first byte of inputs, of outputs."""
    return io_stations_in(pasted(text, IO_STATIONS))


TWO = stations("Fan 1, PPO 3, 5\nFan 2, PPO 1, 6")
MANY = tuple(
    ImageStation(f"a station with a long name, number {n}", formats.by_name("PPO 5"), (), n) for n in range(126)
)


names_as_read = st.text(max_size=50).map(lambda name: "".join(filter(str.isprintable, name)))


@st.composite
def some_images(draw):
    names = draw(st.lists(names_as_read, min_size=1, max_size=5, unique=True))
    starts = st.none() | st.integers(0, 60) | st.integers(0, 60000)
    stations = [
        ImageStation(n, draw(st.sampled_from(formats.all_formats())), (), 3, draw(starts), draw(starts)) for n in names
    ]
    return lay_out(stations, first_in=draw(st.integers(0, 30)))


@settings(max_examples=25)
@given(some_images(), st.sampled_from(NUMBERINGS))
def test_both_drawings_are_legible_whatever_is_laid_where(image, numbering):
    sheet = ruler(RulerPicture(image))
    check_legible(sheet)
    crosses = [text for text in texts(sheet) if text.words == "×"]
    common = any(overlaps(image, way) for way in ("out", "in"))
    assert common or not crosses
    assert ("share byte" in sheet.says) is common
    for number in range(1, len(image.stations) + 1):
        check_legible(station_drawing(StationPicture(image, number, numbering)))


def test_a_bus_full_of_stations_with_long_names_is_drawn():
    answer = io_image_answer(MANY, image_bytes=4096, detail=126)
    for picture in answer.pictures:
        check_legible(DRAW[type(picture)](picture))
    assert len(boxes(ruler(answer.pictures[0]))) == 2 * 126
    assert not answer.rows and answer.folded[0][0] == "The 126 stations"
    assert len(html_of(answer, draw=DRAW)) < 2_000_000


def test_the_detail_has_a_box_for_each_value_and_its_address_below():
    # PPO 1: four parameter words, then control word and setpoint: Converteam MV3000e manual p.5-2
    image = lay_out(TWO, first_out=256, first_in=128)
    shown = [text.words for text in texts(station_drawing(StationPicture(image, 2)))]
    assert len(boxes(station_drawing(StationPicture(image, 2)))) == 12
    assert [w for w in shown if w.startswith("%Q")] == [f"%QW{n}" for n in range(260, 272, 2)]
    assert "%IW66" in [text.words for text in texts(station_drawing(StationPicture(image, 2, "word numbers")))]


def test_a_station_without_bytes_one_way_says_so():
    answer = io_image_answer(stations("Switches, 16#10"))
    assert "1 byte" not in answer.sentence or answer.degree is Degree.IN_ORDER
    assert all(
        "no bytes this way" in [text.words for text in texts(DRAW[type(picture)](picture))]
        for picture in answer.pictures
    )
    assert answer.rows[0]["outputs at"] == "–" and answer.rows[0]["format"] == "16#10"


def test_the_panel_answers_and_names_what_it_cannot_use():
    panel = io_image_panel()
    table = panel.fields["stations"].widget
    assert [row[0] for row in table.rows][:2] == ["Bin level switches", "Dryer fan 1"]
    assert "invented" in table.network.label
    assert "Odd byte" in panel.result.value
    panel.fields["rule"].widget.value = "even bytes"
    assert "In order" in panel.result.value and "No byte belongs to two" in panel.result.value
    for name, value, message in (
        ("stations", (("Fan 1", "PPO 77", "", "", ""),), "Row 1, column format in controller"),
        ("first_in", "-1", "allowed is 0 to 65535"),
        ("grid_bytes", "ask Tom", "not a whole number"),
        ("detail", "0", "allowed is 1 to 126"),
    ):
        before = panel.fields[name].widget.value
        panel.fields[name].widget.value = value
        assert message in panel.said.value and "opacity" in panel.result.value
        panel.fields[name].widget.value = before
    assert not panel.said.value
    panel.fields["rule"].widget.value = "grid"
    panel.fields["detail"].widget.value = "99"  # the last one is shown
    pictures = re.findall(r"svg\+xml;base64,([\w+/=]+)", panel.result.value)
    assert "Station 4, Intake conveyor" in base64.b64decode(pictures[1]).decode()
    assert "%QB1240" in panel.result.value  # 600 + 20 × 32
    assert set(rules()) == set(panel.fields["rule"].widget.options)


def test_inputs_and_outputs_begin_at_unequal_bytes_on_the_page_and_on_the_bench():
    # %IB400 and %QB600 of an image of 2000 bytes: the workbook's own choice, by no program's example
    panel = io_image_panel()
    assert "%IB400" in panel.result.value and "%QB600" in panel.result.value
    assert io_sheet.FIRST_BYTE == {"in": 400, "out": 600}
    assert [panel.fields[name].widget.value for name in ("first_in", "first_out", "image_bytes")] == [
        "400",
        "600",
        "2000",
    ]
