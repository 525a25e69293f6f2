"""The answer on an I/O image: how far it reaches, the worst finding first, and files that hold it."""

import pytest

from helpers.device.io_answers import io_image_answer
from helpers.device.io_export import from_csv
from helpers.device.io_image import lay_out
from helpers.plan.rows import IO_STATIONS, io_stations_in, pasted
from helpers.verdict import Degree


def stations(text):
    """Stations as pasted: name, format, bus address, first byte of inputs, of outputs."""
    return io_stations_in(pasted(text, IO_STATIONS))


TWO = stations("Fan 1, PPO 3, 5\nFan 2, PPO 1, 6")


def test_the_sentence_tells_how_far_the_image_reaches():
    answer = io_image_answer(TWO, first_in=256)
    assert answer.degree is Degree.IN_ORDER
    assert answer.sentence == (
        "2 stations: 16 bytes of outputs up to %QB15, 16 bytes of inputs up to %IB271. No byte belongs to two."
    )
    assert "secured against starting" in str(answer.caution)
    assert [row["inputs at"] for row in answer.rows] == ["%IB256 to %IB259", "%IB260 to %IB271"]


@pytest.mark.parametrize(
    ("text", "options", "said"),
    [
        ("a, PPO 3\nb, PPO 3,, %IB3", {}, "Overlap: a and b, inputs: 1 common byte from %IB3"),
        ("a, PPO 3\nb, PPO 3", {"image_bytes": 7}, "Image size: b, outputs: last byte %QB7; the image ends at %QB6"),
        ("a, PPO 3", {"first_in": 7}, "Odd byte: a, inputs: ZSW1, NIST_A at an odd byte"),
        ("a, PPO 3", {"first_in": 7, "numbering": "word numbers"}, "Word number: a, inputs"),
    ],
)
def test_the_worst_finding_comes_first_with_what_to_do(text, options, said):
    answer = io_image_answer(stations(text), **options)
    assert answer.degree is not Degree.IN_ORDER
    assert answer.sentence.startswith(said)
    assert answer.because.startswith("Allowed: ")


def test_the_files_hold_the_image():
    files = {file.name: file.content for file in io_image_answer(TWO).files}
    assert from_csv(files["io-image.csv"].decode("utf-8-sig")) == lay_out(TWO).places
    assert b"fan_1_control_word AT %QW0 : WORD;" in files["io-variables.st"]


def test_a_grid_begins_each_station_at_its_bus_address_times_the_grid():
    # common practice, data/io_layout_rules.csv
    rows = io_image_answer(stations("a, PPO 3, 1\nb, PPO 3, 3"), rule="grid", grid_bytes=16).rows
    assert [row["inputs at"] for row in rows] == ["%IB16 to %IB19", "%IB48 to %IB51"]
