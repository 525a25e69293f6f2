"""The drawing of mutants: what is changed, what is left alone, and that no equivalent one is named without need."""

import csv

import mutants
import pytest

SMALL = '''
"""Not a number: 5."""
LIMIT = 7


class Wire:
    @property
    def length(self) -> "2":
        """Not 3."""

        def inner(more=4):
            return more + 1

        return inner(2, more=9) if self.word == "km" else "so many metres"
'''


@pytest.fixture
def small(tmp_path):
    path = tmp_path / "small.py"
    path.write_text(SMALL, encoding="utf-8")
    return path


def changes(path):
    module, places = mutants.places_of(path)
    return {
        (line, function, mutants._code(module, node), mutants._code(module, new))
        for line, function, node, changed in places
        for new in changed
    }


def test_what_is_reckoned_and_chosen_is_changed(small):
    found = changes(small)
    assert (12, "Wire.length", "more + 1", "more - 1") in found
    assert (12, "Wire.length", "1", "2") in found
    assert (14, "Wire.length", "9", "10") in found
    assert (14, "Wire.length", '"km"', '"KM"') in found
    assert (14, "Wire.length", "inner(2, more=9)", "inner(2, )") in found
    assert any(was == '== "km"' and becomes == '!= "km"' for _, _, was, becomes in found)


def test_sentences_constants_annotations_and_defaults_are_left_alone(small):
    touched = {was for _, _, was, _ in changes(small)}
    assert not touched & {"5", "7", "3", "4", '"2"', '"so many metres"', '"""Not 3."""'}


def test_the_same_seed_draws_the_same_mutants_and_one_that_is_equivalent_is_not_among_them():
    none = frozenset()
    first, left_out = mutants.drawn("study", 5, 1, none)
    assert [each.key for each in first] == [each.key for each in mutants.drawn("study", 5, 1, none)[0]]
    assert len({each.key for each in first}) == 5 and left_out == 0
    second, left_out = mutants.drawn("study", 5, 1, frozenset({first[0].key}))
    assert left_out == 1 and [each.key for each in second[:4]] == [each.key for each in first[1:]]


def test_an_equivalent_mutant_has_a_reason_and_stands_where_it_is_said():
    with mutants.EQUIVALENT.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        assert len(row["reason"].split()) > 3, row
        there = {change[1:] for change in changes(mutants.ROOT / row["file"])}
        assert (row["function"], row["was"], row["becomes"]) in there, f"no such place any more: {row}"
