"""Lists of stations as people paste them."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.device.io_list import read_stations
from helpers.errors import OutOfRange, Unknown, Unreadable, WorkbookError


def test_name_format_address_and_starts_in_any_usual_writing():
    found = read_stations("# mill\n\nFan 1, ppo4 , 12\nFan 2;PPO 2;%IB300;16#0D;%QW260\nFan 3\tF3 F1\n")
    assert [(s.name, s.format.bytes_in, s.bus_address, s.first_in, s.first_out) for s in found] == [
        ("Fan 1", 12, 12, None, None),
        ("Fan 2", 20, 13, 300, 260),
        ("Fan 3", 12, None, None, None),  # F3 F1 are the octets of PPO 1: ABB FPBA-01 manual p.185
    ]


@pytest.mark.parametrize(
    ("text", "error", "message"),
    [
        ("", Unreadable, "the list is empty"),
        ("# only this", Unreadable, "the list is empty"),
        ("Fan 1", Unreadable, "line 1: 'Fan 1' is not a station"),
        (", PPO 4", Unreadable, "line 1: .* is not a station"),
        ("\nFan 1, PPO 44", Unknown, "line 2: 'PPO 44' is no format; write its name as in PPO 4"),
        ("Fan 1, F3 F", Unknown, "line 1: 'F3 F' is no format"),
        ("Fan 1, C0", Unreadable, "line 1: place 1: the header"),
        ("Fan 1, PPO 4, 126", OutOfRange, "line 1: bus address is 126; allowed is 0 to 125"),
        ("Fan 1, PPO 4, here", Unreadable, "line 1: 'here' is not a whole number"),
        ("Fan 1, PPO 4, %MB4", Unreadable, "line 1: '%MB4' is not an address"),
    ],
)
def test_what_is_no_station_is_refused_with_its_line(text, error, message):
    with pytest.raises(error, match=message):
        read_stations(text)


def test_a_name_keeps_only_what_can_be_shown():
    assert read_stations("Fan\x00 \x1f1, PPO 4")[0].name == "Fan 1"


def test_a_bus_has_126_addresses():
    # 0 to 125: M. Felser, PROFIBUS Manual, addressing
    lines = [f"Fan {n}, PPO 3, {n}" for n in range(126)]
    assert len(read_stations("\n".join(lines))) == 126
    with pytest.raises(OutOfRange, match="more stations than the 126"):
        read_stations("\n".join([*lines, "one more, PPO 3"]))


@given(st.text(max_size=80) | st.text(alphabet="aF3,;%IQB 1\n", max_size=60))
def test_any_text_is_a_list_or_a_sentence(text):
    try:
        assert read_stations(text)
    except WorkbookError as error:
        assert str(error)
