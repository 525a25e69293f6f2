"""The ways through repeaters of a line, a star and a ring."""

import pytest

from helpers.bus.cable.ways import ways


@pytest.mark.parametrize(
    ("joins", "longest"),
    [
        ({}, 0),
        ({"R1": ("1", "2")}, 1),
        ({"R1": ("1", "2"), "R2": ("2", "3"), "R3": ("3", "4")}, 3),
        ({"R1": ("hub", "1"), "R2": ("hub", "2"), "R3": ("hub", "3"), "R4": ("hub", "4")}, 2),
        ({"R1": ("1", "2"), "R2": ("3", "4")}, 1),
        ({"R1": ("1", "2"), "R2": ("2", "3"), "R3": ("3", "1")}, 1),
    ],
)
def test_the_longest_chain_of_a_line_a_star_and_a_ring(joins: dict[str, tuple[str, str]], longest: int) -> None:
    lengths_m = dict.fromkeys((segment for pair in joins.values() for segment in pair), 10.0) or {"1": 10.0}
    found = ways(lengths_m, joins)
    assert max(len(way.repeaters) for way in found) == longest
    assert all(way.length_m == 10.0 * len(way.segments) == 10.0 * (len(way.repeaters) + 1) for way in found)
