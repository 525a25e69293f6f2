"""What is said of addresses, a list of them, a list for a new line, and of switches.

Ranges: M. Felser, PROFIBUS Manual, addressing – stations 0 to 125, 126 as delivered, 127 to all.
"""

import csv
import io
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.address.address import Holder
from helpers.bus.address.answers import address_list_answer, new_line_answer, switches_answer
from helpers.bus.address.switches import (
    RotarySwitches,
    described,
    setting_text,
)
from helpers.errors import WorkbookError
from helpers.verdict import Degree


def view(text: str, hsa: int | None = None, start: int = 1):
    """The answer on stations written as `10 fan, 11 screw`; one without a name is called after its place."""
    stations = []
    for n, entry in enumerate(re.split(r"[,\n]", text), 1):
        address, _, name = entry.strip().partition(" ")
        kind = "engineering computer" if name.startswith("engineering") else "drive"
        stations.append(Holder(name or f"line {n}", kind, int(address)))
    return address_list_answer(stations, hsa, start)


@pytest.mark.parametrize(
    ("text", "degree"),
    [("125 fan", Degree.IN_ORDER), ("126 fan", Degree.CANNOT_WORK), ("127 fan", Degree.CANNOT_WORK),
     ("128 fan", Degree.CANNOT_WORK),
     ("0 fan", Degree.CAUTION), ("0 engineering computer", Degree.IN_ORDER), ("-1 fan", Degree.CANNOT_WORK),
     ("5 fan, 5 screw", Degree.CANNOT_WORK), ("5 fan, 6 screw", Degree.IN_ORDER)],
)  # fmt: skip
def test_both_sides_of_each_threshold(text: str, degree: Degree) -> None:
    shown = view(text)
    assert shown.degree is degree
    assert bool(shown.caution) is (degree is not Degree.IN_ORDER)


def test_an_address_given_twice_is_named_in_sentence_table_and_drawing() -> None:
    shown = view("5 fan, 5 screw, 6 filter")
    assert shown.sentence.startswith("3 addresses: 1 against the standard. ")
    assert shown.rows[0]["where"] == "fan, screw"
    assert shown.rows[0]["found"] == "5 is given 2 times"
    assert shown.rows[-1]["found"] == "1 address: 6"
    assert "5 given 2 times (not allowed, cannot work)" in shown.pictures[0].says


def test_a_station_above_the_hsa_is_found() -> None:
    assert view("31 fan", 31).degree is Degree.IN_ORDER
    shown = view("32 fan", 31)
    assert shown.degree is Degree.CAUTION
    assert shown.rows[0]["found"] == "32 is above the HSA of 31"


def test_a_full_line_has_no_free_address_and_too_full_a_one_is_refused() -> None:
    full = "\n".join(map(str, range(1, 126)))
    assert "From 1 to 125 no address is free." in view(full).sentence
    assert view(full).degree is Degree.IN_ORDER
    assert view(f"{full}\n0 engineering computer").degree is Degree.CAUTION  # 126 in operation: sources disagree
    assert view(f"{full}\n0 engineering computer\n0 fan").degree is Degree.CANNOT_WORK


def test_every_finding_is_in_the_file_when_the_table_is_cut() -> None:
    shown = view("\n".join(map(str, range(1, 60))), 9)
    assert len(shown.rows) <= 5
    (file,) = shown.files
    rows = list(csv.DictReader(io.StringIO(file.content.decode("utf-8-sig"))))
    assert sum("above the HSA" in row["found"] for row in rows) == 50
    assert f"… {50 - 3} more" in [row["where"] for row in shown.rows]


def test_a_new_line_keeps_0_and_126_and_starts_groups_at_tens() -> None:
    # 0 for the engineering computer, controllers from 1: M. Felser, PROFIBUS Manual, addressing.
    shown = new_line_answer({"dryer": 5, "intake": 3}, 2)
    told = [(row["group"], row["addresses"], row["room up to"]) for row in shown.rows]
    assert told == [
        ("engineering computer", "0", ""), ("controllers", "1, 2", 9), ("dryer", "10 to 14", 19),
        ("intake", "20 to 22", 125), ("new devices", "126", ""),
    ]  # fmt: skip
    assert "115 addresses are left" in shown.sentence


GROUPS = st.dictionaries(st.text("abcdefgh ", min_size=1, max_size=30), st.integers(1, 9), min_size=1, max_size=12)


@given(GROUPS, st.integers(1, 4))
def test_a_proposal_is_a_list_that_the_other_panel_finds_in_order(groups: dict[str, int], controllers: int) -> None:
    shown = new_line_answer(groups, controllers)
    (file,) = shown.files
    rows = list(csv.DictReader(io.StringIO(file.content.decode("utf-8-sig"))))
    again = [Holder(row["station"], row["kind"], int(row["address"])) for row in rows]
    assert address_list_answer(again).degree is Degree.IN_ORDER
    assert len(again) == 1 + controllers + sum(groups.values())
    assert len(shown.rows) <= 10
    hidden = sum(int(n) for row in shown.rows for n in re.findall(r"… (\d+) more", str(row["group"])))
    assert len(shown.rows) + hidden - bool(hidden) == 3 + len(groups)


def test_over_the_bus_has_no_address_and_no_verdict() -> None:
    shown = switches_answer(described("8 DIP switches, 1 for the bus"), "ON OFF OFF OFF OFF OFF OFF ON")
    assert shown.degree is None
    assert "do not count" in shown.sentence
    assert shown.pictures[0].says.endswith("; address set over the bus")
    with pytest.raises(WorkbookError, match="give an address"):
        setting_text(RotarySwitches(), None)


def test_all_seven_on_is_the_broadcast_address() -> None:
    # M. Felser, PROFIBUS Manual, addressing: 127 is the broadcast address; no station may have it.
    assert switches_answer(described("7 DIP switches"), "1111111").degree is Degree.CANNOT_WORK


def test_a_table_is_cut_only_where_it_holds_more_than_it_shows() -> None:
    four = view("1\n1\n2\n2\n3\n3\n4\n4")
    assert not [row for row in four.rows if "more" in row["where"]]
    five = view("1\n1\n2\n2\n3\n3\n4\n4\n5\n5")
    assert [row["where"] for row in five.rows if "more" in row["where"]] == ["… 2 more"]
    assert five.files[0].name == "addresses.csv"
