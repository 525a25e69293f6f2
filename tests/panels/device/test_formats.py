"""The panels of data formats and identifiers draw any of them legibly, and take what people write."""

import pytest
from drawn import boxes, check_legible, texts
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers.bus.time.format_choice import OFFERS, choice_answer
from helpers.device import choose, formats, signals
from helpers.device.format_answers import (
    FAMILIES,
    LISTED,
    FormatPicture,
    IdentifiersPicture,
    StripsPicture,
    family_answer,
    identifiers_answer,
)
from helpers.device.identifiers import explain
from helpers.errors import Unreadable, WorkbookError
from helpers.panels.device.formats import (
    build_identifier_panel,
    choice_panel,
    family_panel,
    format_drawing,
    identifier_panel,
    identifiers_drawing,
    layout_panel,
    strips_drawing,
)

EVERY = formats.all_formats()
BASIC = ["STW1", "NSOLL_A", "ZSW1", "NIST_A"]
SIGNALS = signals.profile_signals() + signals.demo_signals()
some_needs = st.lists(st.sampled_from(SIGNALS), max_size=8, unique=True)


EVERY = formats.all_formats()
BASIC = ["STW1", "NSOLL_A", "ZSW1", "NIST_A"]
SIGNALS = signals.profile_signals() + signals.demo_signals()
some_needs = st.lists(st.sampled_from(SIGNALS), max_size=8, unique=True)


def own(count, direction="in"):
    return [signals.own_signal(f"word {n}", bits=16, direction=direction) for n in range(count)]


# -- a family side by side ----------------------------------------------------------------------------


def test_the_ppo_types_stand_side_by_side_with_their_published_sizes():
    # 12, 20, 4, 12 and 28 bytes each way: Converteam MV3000e manual p.5-2; ABB FPBA-01 manual p.81.
    answer = family_answer("PPO 1 to 5")
    assert answer.sentence.startswith("5 formats, from 8 to 56 bytes")
    shown = [text.words for text in texts(strips_drawing(answer.pictures[0]))]
    for name, each_way in (("PPO 1", 12), ("PPO 2", 20), ("PPO 3", 4), ("PPO 4", 12), ("PPO 5", 28)):
        assert shown[shown.index(name) :].index(f"{each_way} + {each_way} bytes") > 0
    # 4 parameter words each way in three of them
    assert shown.count("P") == 2 * 3 * 4
    assert "makers use these numbers for different formats" in answer.because


@pytest.mark.parametrize("family", FAMILIES)
def test_every_family_is_drawn_with_one_box_a_word(family):
    listed = FAMILIES[family]()
    sheet = strips_drawing(family_answer(family).pictures[0])
    check_legible(sheet)
    assert len(boxes(sheet)) == sum(len(one.words_out) + len(one.words_in) for one in listed)
    assert all(one.name in sheet.says and f"{one.bytes_both} bytes" in sheet.says for one in listed)


@settings(max_examples=40)
@given(st.sampled_from(EVERY), some_needs)
def test_a_strip_marks_the_words_that_carry_a_need(one, needs):
    sheet = strips_drawing(StripsPicture((one,), tuple(needs)))
    check_legible(sheet)
    bold = sum(text.bold for text in texts(sheet))
    row = choose.choose(needs, formats=[one]).rows[0] if needs else None
    if row:
        carried = [s for s in needs if s.name not in (*row.missing_out, *row.missing_in)]
        assert bold - 2 == sum(signal.words for signal in carried)  # two headings are bold


def test_a_family_is_chosen_in_the_panel():
    panel = family_panel()
    panel.fields["family"].widget.value = "standard telegrams"
    assert "9 formats" in panel.result.value and "All words of these formats are fixed." in panel.result.value


# -- one format word by word --------------------------------------------------------------------------


@settings(max_examples=40)
@given(st.sampled_from(EVERY), some_needs)
def test_a_format_is_drawn_word_by_word_whatever_it_carries(one, needs):
    sheet = format_drawing(FormatPicture(one, tuple(needs)))
    check_legible(sheet)
    assert len(boxes(sheet)) == len(one.words_out) + len(one.words_in)
    assert one.name in sheet.says


def test_the_words_stand_in_the_order_of_the_format():
    # PPO 2: ABB FPBA-01 manual p.81, PKE IND PWE1 PWE2 STW1 ...; the demo drive has its request fields at the end.
    says = FormatPicture(formats.by_name("PPO 2"), (signals.find("CURRENT"),)).says
    assert "PKE, IND, PWE1, PWE2, STW1, NSOLL_A, free, free, free, free" in says
    assert "PKE, IND, PWE1, PWE2, ZSW1, NIST_A, CURRENT, free, free, free" in says
    sheet = format_drawing(FormatPicture(formats.by_name("Mill 7/8 request")))
    assert "STW1, NSOLL_A, REQ_COUNT" in sheet.says
    fills = [fill for *_, fill in boxes(sheet)[:7]]
    assert len(set(fills[:2])) == len(set(fills[2:])) == 1 and fills[0] != fills[2]


def test_the_bytes_under_the_words_are_counted_through():
    numbered = [t.words for t in texts(format_drawing(FormatPicture(formats.by_name("PPO 1")))) if "–" in t.words]
    assert numbered == ["0–1", "2–3", "4–5", "6–7", "8–9", "10–11"] * 2


@pytest.mark.parametrize("name", ["a" * 200, "a_" * 100, "a b c d e f g", "ÄÖÜ_" * 9])
def test_a_name_too_long_for_its_box_is_cut(name):
    many = [signals.own_signal(f"{name} {n}", bits=32, direction="in") for n in range(4)]
    check_legible(format_drawing(FormatPicture(formats.by_name("PPO 5"), tuple(many))))


def test_the_layout_panel_takes_signals_and_refuses_rubbish():
    panel = layout_panel()
    panel.fields["needs"].widget.value = "TORQUE\n2 words out"
    assert "word 2 out" in panel.result.value
    panel.fields["needs"].widget.value = "<b>rubbish"
    assert "Not usable" in panel.said.value and "<b>rubbish" not in panel.said.value
    assert "word 2 out" in panel.result.value


# -- signals as people list them ----------------------------------------------------------------------


# -- the shortest format ------------------------------------------------------------------------------


@pytest.mark.parametrize("offered", OFFERS)
@settings(max_examples=15)
@given(needs=some_needs, parameters=st.booleans())
def test_every_offer_and_need_gives_a_view_of_all_its_formats(offered, needs, parameters):
    if not needs and not parameters:
        with pytest.raises(Unreadable, match="tick at least one signal"):
            choice_answer(needs, parameters, offered)
        return
    answer = choice_answer(needs, parameters, offered)
    found = choose.choose(needs, parameters=parameters, formats=OFFERS[offered]())
    assert [row["format"] for row in answer.rows] == [row.format.name for row in found.rows]
    assert [row["carries all"] == "no" for row in answer.rows] == [bool(row["missing"]) for row in answer.rows]
    assert [row["carries all"] != "no" for row in answer.rows] == [row.fits for row in found.rows]
    for picture in answer.pictures:
        check_legible(strips_drawing(picture))
    if found.best is None:
        assert answer.sentence == f"None of the {len(found.rows)} formats carries everything."
        assert "Nearest is" in answer.because


def test_ticks_and_fields_change_the_choice():
    panel = choice_panel()
    assert "Mill 2/3 is the shortest" in panel.result.value
    panel.fields["RAMP_TIME"].widget.value = True
    assert "Mill 3/5 is the shortest" in panel.result.value
    panel.fields["parameters"].widget.value = True
    assert "PPO 2 is the shortest" in panel.result.value
    panel.fields["others"].widget.value = "9 words in"
    assert "None of the 9 formats" in panel.result.value
    panel.fields["bit_rate"].widget.value = 12_000_000.0
    assert "message, 12 Mbit/s" in panel.result.value


def test_nothing_ticked_gets_a_sentence_and_the_last_choice_stays():
    panel = choice_panel()
    for name in (*BASIC, "CURRENT"):
        panel.fields[name].widget.value = False
    assert "tick at least one signal" in panel.said.value
    assert "is the shortest" in panel.result.value


def test_the_drawing_shows_each_bit_of_each_octet():
    octets = explain(bytes.fromhex("F3 F5"))
    sheet = identifiers_drawing(IdentifiersPicture(octets))
    bits = "".join(text.words for text in texts(sheet)[8:] if text.words in ("0", "1"))
    assert bits == "1111001111110101"  # 16#F3 16#F5
    assert "3 + 1 = 4 words" in sheet.says and "5 + 1 = 6 words" in sheet.says


@given(st.binary(max_size=250), st.binary(max_size=8))
def test_any_octets_give_a_view_or_a_sentence(octets, other):
    try:
        answer = identifiers_answer(octets, other)
    except WorkbookError as error:
        assert str(error)
        return
    assert len(answer.rows) <= LISTED + 1
    check_legible(identifiers_drawing(answer.pictures[0]))


@pytest.mark.parametrize("typed", ["", "F3 F", "GG", "243", "<b>", "F3 " * 300, "C3"])
def test_rubbish_gets_a_sentence_and_the_last_reading_stays(typed):
    panel = identifier_panel()
    panel.fields["octets"].widget.value = typed
    assert "Not usable" in panel.said.value and "<b>F" not in panel.said.value
    assert "as in PPO 2" in panel.result.value
    panel.fields["octets"].widget.value = "0xF1"
    assert panel.said.value == "" and "as in PPO 3" in panel.result.value


def test_the_other_side_is_compared_as_soon_as_it_is_filled_in():
    panel = identifier_panel()
    panel.fields["other"].widget.value = "F3 F1"
    assert "Not allowed, cannot work." in panel.result.value
    panel.fields["other"].widget.value = "f3h f5h"
    assert "In order." in panel.result.value


def test_an_identifier_is_put_together_in_the_panel():
    panel = build_identifier_panel()
    panel.fields["out"].widget.value = "3"
    assert "F2" in panel.result.value and "One compact byte is enough." in panel.result.value
    panel.fields["into"].widget.value = "65"
    assert "length in is 65; allowed is 0 to 64" in panel.said.value
    panel.fields["into"].widget.value = "0"
    panel.fields["vendor"].widget.value = "00 " * 15
    assert "number of vendor octets is 15" in panel.said.value
