"""The profile's parameters, limits and error numbers."""

import pytest

from helpers import facts
from helpers.drive.parameters import access
from helpers.errors import OutOfRange, Unknown


def test_profile_parameters():
    known = {p.number: p.name for p in access.profile_parameters()}
    # Heidenhain DPV2 manual p.57, Vacon 100 manual p.25
    assert known[918] == "station address"
    assert known[922] == "selected telegram"
    assert known[access.STORE].startswith("store")
    assert list(known) == sorted(known)
    assert access.profile_parameter(918).type == "Unsigned16"
    assert access.profile_parameter(45) is None


def test_bits_named_by_parameters_933_to_943():
    # ABB FENA-21 manual p.311: bits 11 to 15 of control and status word
    for number in range(933, 938):
        assert f"bit {number - 933 + 11} of the control" in access.profile_parameter(number).name
    for number in range(939, 944):
        assert f"bit {number - 939 + 11} of the status" in access.profile_parameter(number).name


@pytest.mark.parametrize(
    ("number", "acyclic", "says"),
    [
        # SEW manual DH.41B p.77, Toshiba manual E6581738 p.15; the same numbers in both channels
        (0, False, "no parameter of this number"),
        (0, True, "no parameter of this number"),
        (0x11, True, "operating state"),
        (17, False, "operating state"),
        (0x14, True, "not permitted"),
        (0x18, True, "number of values"),
        (0x19, True, "drive object"),
        # 8, 10, 12 to 14, 16, 18, 19 have a meaning in the older cyclic channel only
        (8, True, "reserved"),
        (18, False, "another error"),
        (18, True, "reserved"),
        (25, False, "reserved"),
        (26, True, "reserved"),
        # maker-specific from 101 (65h) on
        (100, False, "reserved"),
        (101, False, "specific to the maker"),
        (0x65, True, "specific to the maker"),
        (255, True, "specific to the maker"),
        (256, True, "no such number"),  # 65h to FFh are the makers': from memory
        (0xFFFF, False, "specific to the maker"),
    ],
)
def test_error_numbers(number, acyclic, says):
    found = access.refusal(number, acyclic=acyclic)
    assert says in found.meaning
    assert found.number == number
    assert found.sentence.startswith(f"Error {number}: ")
    assert found.to_do


def test_errors_that_name_the_subindex():
    # SEW manual DH.41B p.77: 1, 2, 3, 6, 7
    with_subindex = {n for n in range(40) if access.refusal(n, acyclic=True).with_subindex}
    assert with_subindex == {1, 2, 3, 6, 7}


def test_each_number_and_channel_has_one_row():
    rows = facts.rows("parameter_errors")
    for channel in ("cyclic", "acyclic"):
        numbers = [row.whole("number") for row in rows if row["channel"] in ("both", channel)]
        assert len(numbers) == len(set(numbers))


def test_limits_of_several_sources():
    # Eaton manual MN040010EN p.94 says 39, an ABB fieldbus adapter manual 37
    item = "parameters per request"
    assert access.cautious(item, 37)
    assert not access.cautious(item, 38)
    assert not access.cautious(item, 39)
    for beyond in (0, 40):
        with pytest.raises(OutOfRange, match="1 to 39"):
            access.check(item, beyond)
    with pytest.raises(Unknown, match="no limit"):
        access.check("weight", 1)


def test_values():
    assert access.value_of(0xFFFF, 16) == 0xFFFF
    assert access.value_of(-0x8000, 16) == 0x8000
    for beyond in (0x10000, -0x8001):
        with pytest.raises(OutOfRange, match="16 bits carry -32768 to 65535"):
            access.value_of(beyond, 16)
