"""The telegram panels: what they say against the octets themselves, and nonsense in every field."""

import pytest
from drawn import boxes, check_legible, texts
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.recording import telegram_meaning
from helpers.bus.services import message
from helpers.bus.telegram.frame import Frame, frame, write
from helpers.errors import WorkbookError
from helpers.panels.kit.as_html import html_of
from helpers.panels.telegrams.telegram_maker import made, maker_panel, maker_view
from helpers.panels.telegrams.telegrams import (
    OCTETS,
    ORDER,
    UNUSUAL,
    examples,
    octet_rows,
    summary,
    telegram_drawing,
    telegram_panel,
    telegram_view,
)

DEMO = next(iter(examples().values()))


def told(octets):
    return next(iter(telegram_meaning.read(octets)))


def test_requests_and_answers_stand_in_pairs():
    rows = telegram_view(DEMO, ORDER, 5).rows
    by_number = {row["no."].removesuffix(" ◀"): row for row in rows}
    assert by_number["5"]["no."] == "5 ◀" and by_number["5"]["pair"] == "→ 6" and by_number["6"]["pair"] == "← 5"
    assert by_number["5"]["time stamp"] == "0.001991" and by_number["5"]["line"] == 7  # the seventh line of the file
    assert "15 requests, 10 answers, 2 tokens" in telegram_view(DEMO).sentence


def test_the_table_tells_who_speaks_to_whom_then_what_then_the_octets_and_no_kind():
    rows = telegram_view(DEMO, ORDER, 5).rows
    assert list(rows[0])[:6] == ["no.", "who to whom", "meaning", "remark", "octets", "pair"] and "kind" not in rows[0]
    by_number = {row["no."].removesuffix(" ◀"): row for row in rows}
    assert by_number["3"]["who to whom"] == "master 1 to station 12"
    assert by_number["4"]["who to whom"] == "station 12 to master 1"
    assert by_number["6"]["who to whom"] == "no address in it" and by_number["6"]["octets"] == "E5"
    token = telegram_view("DC 02 01 DC 01 01", ORDER).rows
    assert [row["who to whom"] for row in token] == ["master 1 to master 2", "master 1 to itself"]
    (damaged,) = (row for row in telegram_view(DEMO, UNUSUAL).rows if row["no."] == "18")
    assert (damaged["who to whom"], damaged["meaning"]) == ("", "damaged")


def test_what_was_skipped_is_counted_in_the_heading():
    table = "no.;time;octets\n1;0.1;DC 01 01\n2;0.2;\n3;0.3;E5"
    for show in (ORDER, UNUSUAL):
        assert "2 lines skipped in whole or in part" in telegram_view(table, show).sentence
    assert "skipped" not in telegram_view(DEMO).sentence


def test_a_published_status_request_is_told_octet_by_octet():
    view = telegram_view("0x10, 0x02, 0x01, 0x49, 0x4C, 0x16")  # octets after M. Felser, PROFIBUS Manual
    assert (
        view.sentence
        == "No. 1, SD1 request from master 1 to station 2 – FDL status: asks whether a station is there. No answer."
    )
    names = [(row["value"], row["name"]) for row in view.rows]
    assert names == [("10", "SD1"), ("02", "DA"), ("01", "SA"), ("49", "FC"), ("4C", "FCS"), ("16", "ED")]
    assert [text.words for text in texts(view.pictures[0]) if text.bold] == ["SD1", "DA", "SA", "FC", "FCS", "ED"]


def test_an_answer_names_its_request_and_a_request_its_answer():
    assert "Its answer is no. 6: received." in telegram_view(DEMO, OCTETS, 5).sentence
    assert "It answers no. 5: locked, ident 16#FFF1" in telegram_view(DEMO, OCTETS, 6).sentence


def test_errors_are_located():
    view = telegram_view(DEMO, OCTETS, 18)
    assert "No. 18 is damaged: octet 20: FCS is 16#4E" in view.sentence
    assert sum(text.words == "wrong" for text in texts(view.pictures[0])) == 1
    unusual = telegram_view(DEMO, UNUSUAL)
    assert unusual.sentence.startswith("7 of 29") and len(unusual.rows) == 7
    assert telegram_view("DC 01 01", UNUSUAL).sentence == "Nothing unusual."


def test_lines_that_can_not_be_read_are_said_and_a_number_beyond_shows_the_last():
    view = telegram_view("DC 01 01\nhello there\nDC 01 02\n" + "what\n" * 9, OCTETS, 99)
    assert "There are 2 telegrams, so the last one is shown. Line 2:" in view.because
    assert "7 more lines could not be read" in view.because
    assert view.sentence == "No. 2, token from master 2 to master 1 – 2 hands the token to 1."
    many = telegram_view("\n".join(["10 02 01 49 4C 16"] * 60), UNUSUAL)
    assert len(many.rows) == 40 and "The first 40 are listed." in many.because


@pytest.mark.parametrize("size", [1, 17, 18, 40, 60, 244])
def test_the_drawing_shows_every_octet_or_says_how_many_are_left_out(size):
    one = told(frame(to=5, sender=1, fc=0x5D, data=bytes(size)).octets)
    sheet = telegram_drawing(one)
    check_legible(sheet)
    left_out = [int(text.words[1:]) for text in texts(sheet) if text.words.startswith("+")]
    assert len(boxes(sheet)) + sum(left_out) == len(one.octets)


@settings(max_examples=50)
@given(st.binary(min_size=1, max_size=60), st.sampled_from([ORDER, OCTETS, UNUSUAL]), st.integers(1, 70))
def test_any_octets_get_an_answer(octets, show, number):
    view = telegram_view(octets.hex(" "), show, number)
    assert view.sentence.endswith(".") and html_of(view)


@settings(max_examples=50)
@given(st.text(max_size=40))
def test_any_text_gets_an_answer_or_a_sentence(typed):
    try:
        telegram_view(typed)
    except WorkbookError as error:
        assert str(error).endswith(".") and len(str(error)) < 400


def test_a_summary_counts_one_and_many():
    assert summary([told(b"\xe5")]) == "1 telegram: 1 answer; 1 that nobody asked for."


def test_the_panel_takes_examples_and_own_octets():
    panel = telegram_panel()
    choose, box = panel.fields["text"].around.children
    choose.value = "short acknowledgement"
    assert box.value == "E5" and "SC answer" in panel.result.value
    box.value = "DC 02 01"
    assert choose.value.startswith("your own") and "1 hands the token to 2" in panel.result.value
    for nonsense in ("", "   ", "no octets at all", "4" * 300_001):
        box.value = nonsense
        assert "Not usable" in panel.said.value and "1 hands the token to 2" in panel.result.value
    box.value = DEMO
    assert choose.value.startswith("start of the cooling fan") and not panel.said.value
    panel.fields["number"].widget.value = "nonsense"
    assert "Not usable" in panel.said.value


# -- the maker ----------------------------------------------------------------------------------------


def test_what_is_put_together_reads_back():
    for service in message.services():
        panel = maker_panel()
        panel.fields["service"].widget.value = service
        assert not panel.said.value
        octets = bytes.fromhex(panel._good.sentence)
        assert told(octets).service == service
    assert made("FDL status", sender=1, to=2).octets.hex() == "10020149" + "4c16"  # M. Felser, PROFIBUS Manual
    assert made("token", sender=1, to=1) == Frame("token", 1, 1)


def test_the_bit_times_are_eleven_an_octet():
    # 11n + 99: M. Felser, PROFIBUS Manual, calculation for single masters
    view = maker_view("Data_Exchange", 1, 12, bytes(4), "counted, 1")
    assert f"{11 * 4 + 99} bit times" in view.because and view.caution
    assert not maker_view("Data_Exchange", 1, 12, b"", "counted, 1").caution
    assert maker_view("Data_Exchange", 1, 12, bytes(244), "counted, 1").sentence.endswith("…")


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


def test_the_maker_takes_nonsense_with_a_sentence():
    panel = maker_panel()
    for name, typed in (("sender", "127"), ("to", "fan"), ("data", "xyz"), ("data", "00 " * 245)):
        good = panel.fields[name].widget.value
        panel.fields[name].widget.value = typed
        assert "Not usable" in panel.said.value
        panel.fields[name].widget.value = good
        assert not panel.said.value


@pytest.mark.parametrize("octets", [write(frame(to=5, sender=1, fc=0x5D, data=bytes(20))), b"\xdc\1\2"])
def test_every_octet_is_in_the_table(octets):
    rows = octet_rows(told(octets))
    assert b"".join(bytes.fromhex(row["value"]) for row in rows) == octets
