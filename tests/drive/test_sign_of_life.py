"""The sign of life in both words, and both ways of counting failures."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers import facts
from helpers.drive import sign_of_life, words
from helpers.errors import OutOfRange, Unknown

WORD = st.integers(0, 0xFFFF)
COUNT = st.integers(0, 15)


def faults(counts, **options):
    return [beat.fault for beat in sign_of_life.watch(counts, **options)]


@given(WORD, COUNT)
def test_the_count_goes_in_and_out_of_a_word(word, count):
    changed = sign_of_life.with_count(word, count)
    assert sign_of_life.count(changed) == count
    assert changed & 0x0FFF == word & 0x0FFF
    # the weights of the bits as the table of the word has them (Kollmorgen AKD2G manual: bit 12 is the lowest)
    names = [row.name for row in words.decode(changed, "control 2") if row.value and row.bit >= 12]
    assert sum(int(name.rsplit(" ", 1)[1]) for name in names) == count


def test_it_counts_from_1_to_15_and_round():
    seen, value = [], 0
    for _ in range(31):
        value = sign_of_life.following(value)
        seen.append(value)
    assert seen[:15] == list(range(1, 16))
    assert seen[15:30] == seen[:15] and seen[30] == 1


@given(COUNT.filter(bool), st.integers(0, 60), st.sampled_from(sign_of_life.METHODS))
def test_a_healthy_partner_is_never_a_fault(start, length, method):
    counts, value = [], start
    for _ in range(length):
        counts.append(value)
        value = sign_of_life.following(value)
    assert not any(faults(counts, tolerance=0, method=method))


@pytest.mark.parametrize("tolerance", [0, 1, 3])
def test_both_sides_of_the_tolerance(tolerance):
    frozen = [5] * (tolerance + 2)
    assert faults(frozen, tolerance=tolerance) == [False] * (tolerance + 1) + [True]
    assert not any(faults(frozen[:-1], tolerance=tolerance))
    # 10 up for each failure, fault above 10 times the parameter (Kollmorgen AKD2G manual)
    assert faults(frozen, tolerance=tolerance, method="error counter") == [False] * (tolerance + 1) + [True]


def test_the_two_methods_differ_in_what_they_forget():
    # one good count clears the failures in a row; the error counter forgets one tenth
    counts = [1, 1, 2, 2, 3]
    assert faults(counts, tolerance=1) == [False] * 5
    beats = sign_of_life.watch(counts, tolerance=1, method="error counter")
    assert [beat.failures for beat in beats] == [0, 10, 9, 19, 18]
    assert [beat.fault for beat in beats] == [False, False, False, True, True]
    assert "earlier failures still count" in beats[-1].sentence


def test_zero_is_the_partners_own_failure():
    (beat,) = sign_of_life.watch([0], tolerance=0)
    assert beat.fault and "0 came" in beat.sentence
    assert [b.fault for b in sign_of_life.watch([0, 1, 2], tolerance=0)] == [True, False, False]


def test_65535_switches_the_monitoring_off():
    assert not any(faults([5] * 50, tolerance=65535))


def test_refused():
    for call in (
        lambda: sign_of_life.with_count(0, 16),
        lambda: sign_of_life.with_count(0, -1),
        lambda: sign_of_life.following(16),
        lambda: sign_of_life.watch([1, 16], tolerance=0),
        lambda: sign_of_life.watch([16, 1], tolerance=0),
        lambda: sign_of_life.watch([], tolerance=65536),
    ):
        with pytest.raises(OutOfRange):
            call()
    with pytest.raises(Unknown, match="in a row"):
        sign_of_life.watch([], tolerance=0, method="guess")


def test_what_one_maker_prints_is_not_called_any_drives():
    one = {row["item"] for row in facts.rows("sign_of_life") if row["makers"] == "1"}
    assert one and one.isdisjoint(row["item"] for row in facts.where("sign_of_life", holds_for="any drive"))
