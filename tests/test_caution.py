"""The signal words and their rank: ANSI Z535.6 has the four, ISO 3864-2 the three that can hurt somebody."""

import pytest

from helpers.caution import CAUTION, DANGER, NOTICE, SIGNALS, WARNING, Caution, worst_first
from helpers.errors import Unknown


def test_four_words_in_their_rank_and_three_of_them_can_hurt():
    assert SIGNALS == ("NOTICE", "CAUTION", "WARNING", "DANGER")
    assert [Caution(word, "").injures for word in SIGNALS] == [False, True, True, True]


def test_a_caution_has_one_of_the_four_words():
    with pytest.raises(Unknown, match="known are NOTICE, CAUTION, WARNING, DANGER"):
        Caution("ATTENTION", "Mind the step.")
    assert str(Caution(DANGER, "Mains inside.")) == "DANGER: Mains inside."


def test_the_worst_stands_first_and_nothing_twice():
    lost, start, slip, mains = (Caution(word, word) for word in (NOTICE, WARNING, CAUTION, DANGER))
    assert worst_first((lost, start, lost, slip, mains, start)) == (mains, start, slip, lost)
    assert worst_first(()) == ()
