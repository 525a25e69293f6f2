"""Lists of addresses as people write them: every spelling, and what cannot be told apart is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.address.address import Holder
from helpers.bus.address.address_list import read_groups, read_list, runs, write_list
from helpers.errors import OutOfRange, Unreadable, WorkbookError


@pytest.mark.parametrize(
    "text",
    ["10 dryer fan 1", "dryer fan 1 = 10", "dryer fan 1:10", "10\tdryer fan 1", "dryer fan 1\t16#0A",
     "0x0A dryer fan 1", " 10   dryer fan 1 ", "10 = dryer fan 1", "\n10 dryer fan 1\n\n", "10\tdryer\tfan 1"],
)  # fmt: skip
def test_one_station_in_every_spelling(text: str) -> None:
    assert read_list(text) == (Holder("dryer fan 1", "drive", 10),)


def test_bare_addresses_get_the_name_of_their_line() -> None:
    assert [(h.address, h.name) for h in read_list("3, 4;5\n7")] == [
        (3, "line 1"), (4, "line 2"), (5, "line 3"), (7, "line 4"),
    ]  # fmt: skip


def test_the_kind_is_taken_from_the_name() -> None:
    kinds = [h.kind for h in read_list("0 Engineering computer, 1 Controller, 2 DP master, 3 fan, - repeater")]
    assert kinds == ["engineering computer", "controller", "controller", "drive"]


@pytest.mark.parametrize(
    "text", ["dryer fan 1", "fan", "10-14 fans", "10 = 11", "fan = 1.5", "fan = ten", "=", "1e3 fan"]
)
def test_an_address_that_cannot_be_told_from_the_name_is_refused_and_the_entry_named(text: str) -> None:
    with pytest.raises(Unreadable, match=r"entry 2, .*which number is the address"):
        read_list(f"3 screw\n{text}")


@pytest.mark.parametrize("text", ["", " \n ,;", "- repeater"])
def test_a_list_without_an_address_is_refused(text: str) -> None:
    with pytest.raises(Unreadable, match="holds no address"):
        read_list(text)


def test_an_address_of_no_network_is_read_and_left_to_the_check() -> None:
    assert [h.address for h in read_list("128 fan, -5 screw, 100000 pump")] == [128, -5, 100000]


def test_a_list_longer_than_any_network_is_refused() -> None:
    assert len(read_list("\n".join(["3 fan"] * 256))) == 256
    with pytest.raises(OutOfRange, match="number of lines is 257"):
        read_list("\n".join(["3 fan"] * 257))


NAMES = st.from_regex(r"[a-z]{3,9}( [a-z]{3,9}| [1-9]){0,2}", fullmatch=True).filter(lambda name: name != "none")


@given(st.lists(st.builds(Holder, NAMES, st.just("drive"), st.integers(0, 127)), min_size=1, max_size=40))
def test_what_is_written_is_read_again(holders: list[Holder]) -> None:
    again = read_list(write_list(holders))
    assert [(h.name, h.address) for h in again] == [(h.name, h.address) for h in holders]


@given(st.text(max_size=200))
def test_any_text_gives_a_list_or_a_sentence(text: str) -> None:
    for read in (read_list, read_groups):
        try:
            assert read(text)
        except WorkbookError as error:
            assert str(error)


@given(st.lists(st.integers(0, 127), min_size=1))
def test_runs_name_every_address_and_no_other(addresses: list[int]) -> None:
    named: set[int] = set()
    for part in runs(addresses).split(", "):
        low, _, high = part.partition(" to ")
        named.update(range(int(low), int(high or low) + 1))
    assert named == set(addresses)


def test_two_neighbours_are_no_run() -> None:
    assert runs([4, 3]) == "3, 4"
    assert runs([5, 4, 3, 3]) == "3 to 5"


@pytest.mark.parametrize("line", ["dryer fans 3", "dryer fans = 3", "dryer fans: 3", "dryer fans\t3", "3 × dryer fans",
                                  "3x dryer fans", "3 * dryer fans"])  # fmt: skip
def test_one_group_in_every_spelling(line: str) -> None:
    assert read_groups(line) == {"dryer fans": 3}


@pytest.mark.parametrize(
    ("text", "said"),
    [("", "no group is given"), ("fans", "is no group"), ("3", "is no group"), ("fans 2\nfans 3", "stands there twice"),
     ("fans two", "is no group"), ("fans 1.5", "is no group")],
)  # fmt: skip
def test_a_line_that_is_no_group_is_refused(text: str, said: str) -> None:
    with pytest.raises(Unreadable, match=said):
        read_groups(text)


@pytest.mark.parametrize(("count", "fits"), [(1, True), (125, True), (0, False), (126, False)])
def test_a_group_has_1_to_125_stations(count: int, fits: bool) -> None:
    # M. Felser, PROFIBUS Manual, addressing: usable are 0 to 125; 0 is kept for the engineering computer.
    if fits:
        assert read_groups(f"fans {count}") == {"fans": count}
    else:
        with pytest.raises(OutOfRange, match="allowed is 1 to 125"):
            read_groups(f"fans {count}")
