"""The telegram panels: what they draw against the octets themselves, and nonsense in every field."""

from itertools import product

import pytest
from drawn import boxes, check_legible, elements, texts
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.recording import telegram_meaning
from helpers.bus.recording.answers import (
    OCTETS,
    ORDER,
    UNUSUAL,
    TelegramPicture,
    examples,
    made,
    telegram_answer,
)
from helpers.bus.recording.wrong_bits import ANYWHERE, TELEGRAMS, WORST, WrongBitsPicture, wrong_places
from helpers.bus.services import message
from helpers.bus.telegram.frame import Frame, frame
from helpers.panels.kit.as_html import html_of
from helpers.panels.telegrams.telegrams import (
    DRAW,
    distance_drawing,
    distance_panel,
    maker_panel,
    telegram_drawing,
    telegram_panel,
)

DEMO = next(iter(examples().values()))


def told(octets):
    return next(iter(telegram_meaning.read(octets)))


def test_a_published_status_request_is_told_octet_by_octet():
    answer = telegram_answer("0x10, 0x02, 0x01, 0x49, 0x4C, 0x16")  # octets after M. Felser, PROFIBUS Manual
    assert (
        answer.sentence
        == "No. 1, SD1 request from master 1 to station 2 – FDL status: asks whether a station is there. No answer."
    )
    names = [(row["value"], row["name"]) for row in answer.rows]
    assert names == [("10", "SD1"), ("02", "DA"), ("01", "SA"), ("49", "FC"), ("4C", "FCS"), ("16", "ED")]
    assert [text.words for text in texts(telegram_drawing(answer.pictures[0])) if text.bold] == [
        "SD1",
        "DA",
        "SA",
        "FC",
        "FCS",
        "ED",
    ]


def test_errors_are_located():
    answer = telegram_answer(DEMO, OCTETS, 18)
    assert "No. 18 is damaged: octet 20: FCS is 16#4E" in answer.sentence
    assert sum(text.words == "wrong" for text in texts(telegram_drawing(answer.pictures[0]))) == 1
    unusual = telegram_answer(DEMO, UNUSUAL)
    assert unusual.sentence.startswith("7 of 29") and len(unusual.rows) == 7
    assert telegram_answer("DC 01 01", UNUSUAL).sentence == "Nothing unusual."


@pytest.mark.parametrize("size", [1, 17, 18, 40, 60, 244])
def test_the_drawing_shows_every_octet_or_says_how_many_are_left_out(size):
    one = told(frame(to=5, sender=1, fc=0x5D, data=bytes(size)).octets)
    sheet = telegram_drawing(TelegramPicture(one))
    check_legible(sheet)
    left_out = [int(text.words[1:]) for text in texts(sheet) if text.words.startswith("+")]
    assert len(boxes(sheet)) + sum(left_out) == len(one.octets)


@settings(max_examples=50)
@given(st.binary(min_size=1, max_size=60), st.sampled_from([ORDER, OCTETS, UNUSUAL]), st.integers(1, 70))
def test_any_octets_get_an_answer(octets, show, number):
    answer = telegram_answer(octets.hex(" "), show, number)
    assert answer.sentence.endswith(".") and html_of(answer, draw=DRAW)


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


def test_the_maker_takes_nonsense_with_a_sentence():
    panel = maker_panel()
    for name, typed in (("sender", "127"), ("to", "fan"), ("data", "xyz"), ("data", "00 " * 245)):
        good = panel.fields[name].widget.value
        panel.fields[name].widget.value = typed
        assert "Not usable" in panel.said.value
        panel.fields[name].widget.value = good
        assert not panel.said.value


TOKEN, STATUS = "token from 1 to 2", "status request, SD1"


@pytest.mark.parametrize(("telegram", "wrong"), [*product(TELEGRAMS, range(5))])
def test_as_many_bits_are_marked_as_are_wrong(telegram, wrong):
    for where, throw in ((WORST, 1), (ANYWHERE, 1), (ANYWHERE, 2)):
        places = wrong_places(TELEGRAMS[telegram], wrong, where, throw)
        assert len(set(places)) == wrong
        sheet = distance_drawing(WrongBitsPicture(TELEGRAMS[telegram], frozenset(places)))
        check_legible(sheet)
        assert sum((text.text or "").startswith("✗") for text in elements(sheet, "text")) == wrong
        assert len(boxes(sheet)) == 11 * len(TELEGRAMS[telegram])


def test_the_panel_answers_its_controls():
    panel = distance_panel()
    panel.fields["telegram"].widget.value = TOKEN
    assert "nobody notices" in panel.result.value
    panel.fields["wrong"].widget.value = 1
    panel.fields["where"].widget.value = ANYWHERE
    before = panel.result.value
    panel.fields["throw"].widget.value = 7
    assert panel.result.value != before and "noticed" in panel.result.value and not panel.said.value
