"""Answers on telegrams against the octets themselves: pairs, damage, counts, and what is put together."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.recording import telegram_meaning
from helpers.bus.recording.answers import (
    ERRORS,
    OCTETS,
    ORDER,
    PAGE,
    PER_PAGE,
    UNUSUAL,
    examples,
    made,
    maker_answer,
    octet_rows,
    recording_answer,
    summary,
    tally,
    telegram_answer,
)
from helpers.bus.recording.recording_statistics import Recording
from helpers.bus.telegram.frame import frame, write
from helpers.errors import OutOfRange, WorkbookError
from helpers.panels.telegrams.recording import long_recording

DEMO = next(iter(examples().values()))


def told(octets):
    return next(iter(telegram_meaning.read(octets)))


def test_requests_and_answers_stand_in_pairs():
    rows = telegram_answer(DEMO, ORDER, 5).rows
    by_number = {row["no."].removesuffix(" ◀"): row for row in rows}
    assert by_number["5"]["no."] == "5 ◀" and by_number["5"]["pair"] == "→ 6" and by_number["6"]["pair"] == "← 5"
    assert by_number["5"]["time stamp"] == "0.001991" and by_number["5"]["line"] == 7  # the seventh line of the file
    assert "15 requests, 10 answers, 2 tokens" in telegram_answer(DEMO).sentence


def test_the_table_tells_who_speaks_to_whom_then_what_then_the_octets_and_no_kind():
    rows = telegram_answer(DEMO, ORDER, 5).rows
    assert list(rows[0])[:6] == ["no.", "who to whom", "meaning", "remark", "octets", "pair"] and "kind" not in rows[0]
    by_number = {row["no."].removesuffix(" ◀"): row for row in rows}
    assert by_number["3"]["who to whom"] == "master 1 to station 12"
    assert by_number["4"]["who to whom"] == "station 12 to master 1"
    assert by_number["6"]["who to whom"] == "no address in it" and by_number["6"]["octets"] == "E5"
    token = telegram_answer("DC 02 01 DC 01 01", ORDER).rows
    assert [row["who to whom"] for row in token] == ["master 1 to master 2", "master 1 to itself"]
    (damaged,) = (row for row in telegram_answer(DEMO, UNUSUAL).rows if row["no."] == "18")
    assert (damaged["who to whom"], damaged["meaning"]) == ("", "damaged")


def test_what_was_skipped_is_counted_in_the_heading():
    table = "no.;time;octets\n1;0.1;DC 01 01\n2;0.2;\n3;0.3;E5"
    for show in (ORDER, UNUSUAL):
        assert "2 lines skipped in whole or in part" in telegram_answer(table, show).sentence
    assert "skipped" not in telegram_answer(DEMO).sentence


def test_an_answer_names_its_request_and_a_request_its_answer():
    assert "Its answer is no. 6: received." in telegram_answer(DEMO, OCTETS, 5).sentence
    assert "It answers no. 5: locked, ident 16#FFF1" in telegram_answer(DEMO, OCTETS, 6).sentence


def test_lines_that_can_not_be_read_are_said_and_a_number_beyond_shows_the_last():
    answer = telegram_answer("DC 01 01\nhello there\nDC 01 02\n" + "what\n" * 9, OCTETS, 99)
    assert "There are 2 telegrams, so the last one is shown. Line 2:" in answer.because
    assert "7 more lines could not be read" in answer.because
    assert answer.sentence == "No. 2, token from master 2 to master 1 – 2 hands the token to 1."
    many = telegram_answer("\n".join(["10 02 01 49 4C 16"] * 60), UNUSUAL)
    assert len(many.rows) == 40 and "The first 40 are listed." in many.because


@settings(max_examples=50)
@given(st.text(max_size=40))
def test_any_text_gets_an_answer_or_a_sentence(typed):
    try:
        telegram_answer(typed)
    except WorkbookError as error:
        assert str(error).endswith(".") and len(str(error)) < 400


def test_a_summary_counts_one_and_many():
    assert summary(tally([told(b"\xe5")])) == "1 telegram: 1 answer; 1 that nobody asked for."


# -- the maker ----------------------------------------------------------------------------------------


def test_the_bit_times_are_eleven_an_octet():
    # 11n + 99: M. Felser, PROFIBUS Manual, calculation for single masters
    answer = maker_answer("Data_Exchange", sender=1, to=12, data=bytes(4), count="counted, 1")
    assert f"{11 * 4 + 99} bit times" in answer.because and answer.caution
    assert not maker_answer("Data_Exchange", sender=1, to=12, data=b"", count="counted, 1").caution
    assert maker_answer("Data_Exchange", sender=1, to=12, data=bytes(244), count="counted, 1").sentence.endswith("…")


@pytest.mark.parametrize(
    ("service", "to", "data", "says"),
    [
        ("token", 2, b"\1", "carries no data"),
        ("FDL status", 2, b"\1", "carries no data"),
        ("token", 127, b"", "allowed is 0 to 126"),
        ("Slave_Diag", 127, b"", "only what nobody answers"),
        ("FDL status", 127, b"", "only what nobody answers"),
        ("Set_Prm", 5, b"", "nothing to say without data"),
        ("Data_Exchange", 5, bytes(247), "allowed is 0 to 246"),
    ],
)
def test_what_can_not_be_put_together_is_refused(service, to, data, says):
    with pytest.raises(WorkbookError, match=says):
        made(service, sender=1, to=to, data=data)


@pytest.mark.parametrize("octets", [write(frame(to=5, sender=1, fc=0x5D, data=bytes(20))), b"\xdc\1\2"])
def test_every_octet_is_in_the_table(octets):
    rows = octet_rows(told(octets))
    assert b"".join(bytes.fromhex(row["value"]) for row in rows) == octets


def counted(text):
    found = Recording(text)
    for _ in found:
        pass
    return found


def test_counts_the_unusual_and_a_page():
    found = counted(long_recording(120))
    assert "read to the end" in recording_answer(found, "line").sentence
    stations = recording_answer(found, "line").rows
    assert sum(row["not answered"] for row in stations) == found.unusual["no answer"] > 0
    odd = recording_answer(found, "line", ERRORS)
    assert "Damaged 1" in odd.because or "damaged 1" in odd.because
    assert {row["what"] for row in odd.rows} == {"no answer", "damaged"}
    page = recording_answer(found, "line", PAGE, first=100)
    assert [row["no."] for row in page.rows] == list(range(100, 100 + PER_PAGE))
    assert page.rows[0]["time stamp"] and page.folded[0][0] == "No. 100, octet by octet"
    with pytest.raises(OutOfRange):
        recording_answer(found, "line", PAGE, first=0)


def test_lines_that_could_not_be_read_are_named():
    answer = recording_answer(counted("DC 01 01\n" + "no octets\n" * 5), "notes")
    assert "Line 2:" in answer.because and "; 5 lines skipped in whole or in part" in answer.sentence
