"""An answer as text: everything that it says is there, no line is wider than a window, a verdict stands in words."""

from hypothesis import given
from hypothesis import strategies as st

from helpers.answer import Answer
from helpers.safe_work import cautions
from helpers.shell.text import WIDTH, say, text_of
from helpers.verdict import Degree

WORDS = st.lists(st.text("abcdefgh", min_size=1, max_size=12), min_size=1, max_size=40).map(" ".join)
ROWS = st.lists(st.fixed_dictionaries({"what": WORDS, "n": st.integers(0, 99), "why": WORDS}), min_size=1, max_size=4)


@given(WORDS, WORDS, ROWS, st.sampled_from([None, *Degree]))
def test_all_that_an_answer_says_is_printed_within_the_window(sentence, because, rows, degree) -> None:
    text = text_of(Answer(sentence, degree, because, rows=rows, folded=[("More", rows)], sources=["here"]))
    assert max(map(len, text.splitlines())) <= WIDTH
    flat = " ".join(text.split())
    assert f"{sentence} {because}" in flat
    assert "More" not in flat and "source: here" not in flat
    told = text_of(Answer(sentence, degree, because, rows=rows, folded=[("More", rows)], sources=["here"]),
                   everything=True, sources=True)  # fmt: skip
    assert "\nMore\n" in told and told.endswith("\nsource: here")
    assert [str(row["n"]) in told for row in rows] == [True] * len(rows)


def test_a_verdict_stands_in_words_and_gives_the_status(capsys) -> None:
    assert [say(Answer("So.", degree)) for degree in (None, *Degree)] == [0, 0, 0, 0, 1, 1, 1]
    assert capsys.readouterr().out.splitlines() == ["So.", *(f"{degree.words.upper()}: So." for degree in Degree)]


def test_rows_with_a_verdict_are_read_one_by_one() -> None:
    rows = [{"verdict": Degree.CAUTION, "place": "fan 1", "found": "", "to do": "Look."}] * 2
    text = text_of(Answer("Two.", rows=rows))
    assert text.count("OUTSIDE CAUTIOUS PRACTICE\n  place  fan 1\n  to do  Look.") == 2


def test_cautions_come_with_their_signal_words() -> None:
    assert "WARNING: Sent to a live drive" in text_of(Answer("Run.", caution=cautions("word starts")))


def test_what_an_option_would_show_is_named(capsys) -> None:
    answer = Answer("So.", folded=[("Every check", [{"check": 1}]), ("Nothing", [])])
    for everything, shown in ((None, "So.\n"), (False, "So.\n\nwith --all: Every check\n"),
                              (True, "So.\n\nEvery check\ncheck\n1\n")):  # fmt: skip
        say(answer, everything=everything)
        assert capsys.readouterr().out == shown
