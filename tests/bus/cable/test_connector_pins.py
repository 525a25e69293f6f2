"""The pins of both connectors, as published, with the conflicts kept."""

import pytest

from helpers.facts import where


def signals(connector: str, pin: int) -> set[str]:
    return {row["signal"] for row in where("connector_pins", connector=connector, pin=pin)}


# D-sub: Omron PRT21 manual p.60, Combilog manual p.92, Moeller ZB4-604 manual p.138.
# M12: M. Felser, PROFIBUS Manual, M12 plug.
@pytest.mark.parametrize(
    ("connector", "core", "pin", "signal", "colour"),
    [
        ("D-sub 9", "B", 3, "RxD/TxD-P", "red"),
        ("D-sub 9", "A", 8, "RxD/TxD-N", "green"),
        ("M12 B-coded", "B", 4, "RxD/TxD-P", "red"),
        ("M12 B-coded", "A", 2, "RxD/TxD-N", "green"),
    ],
)
def test_a_is_the_negative_and_b_the_positive_core(
    connector: str, core: str, pin: int, signal: str, colour: str
) -> None:
    rows = where("connector_pins", connector=connector, core=core)
    assert {row.whole("pin") for row in rows} == {pin}
    assert {row["colour"] for row in rows} == {colour}
    assert signal in signals(connector, pin)


@pytest.mark.parametrize(("connector", "pins"), [("D-sub 9", {3, 5, 6, 8}), ("M12 B-coded", {1, 2, 3, 4})])
def test_the_mandatory_pins(connector: str, pins: set[int]) -> None:
    assert {row.whole("pin") for row in where("connector_pins", connector=connector, need="mandatory")} == pins


@pytest.mark.parametrize(("connector", "supply", "ground"), [("D-sub 9", 6, 5), ("M12 B-coded", 1, 3)])
def test_the_pins_that_feed_a_terminator(connector: str, supply: int, ground: int) -> None:
    assert signals(connector, supply) == {"VP"}
    assert signals(connector, ground) == {"DGND"}


@pytest.mark.parametrize(("connector", "count"), [("D-sub 9", 9), ("M12 B-coded", 5)])
def test_every_pin_is_there(connector: str, count: int) -> None:
    assert {row.whole("pin") for row in where("connector_pins", connector=connector)} == set(range(1, count + 1))


def test_where_sources_disagree_both_are_kept() -> None:
    # Older devices put the shield on pin 5 of the M12 plug; a misprint of a manual is no source that disagrees.
    assert signals("D-sub 9", 8) == {"RxD/TxD-N"}
    assert signals("M12 B-coded", 5) == {"unused", "shield"}
