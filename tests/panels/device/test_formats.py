"""The panels of data formats say what the published layouts and the calculations below say, and draw it legibly."""

import pytest
from drawn import boxes, check_legible, texts
from hypothesis import given, settings
from hypothesis import strategies as st

from helpers import facts
from helpers.device import choose, formats, signals
from helpers.errors import OutOfRange, Unknown, Unreadable, WorkbookError
from helpers.panels.device.formats import (
    FAMILIES,
    OFFERS,
    choice_panel,
    choice_view,
    family_panel,
    family_view,
    format_drawing,
    layout_panel,
    layout_view,
    list_rows,
    read_signals,
    strips_drawing,
)

EVERY = formats.all_formats()
BASIC = ["STW1", "NSOLL_A", "ZSW1", "NIST_A"]
SIGNALS = signals.profile_signals() + signals.demo_signals()
some_needs = st.lists(st.sampled_from(SIGNALS), max_size=8, unique=True)


def own(count, direction="in"):
    return [signals.own_signal(f"word {n}", bits=16, direction=direction) for n in range(count)]


# -- a family side by side ----------------------------------------------------------------------------


def test_the_ppo_types_stand_side_by_side_with_their_published_sizes():
    # 12, 20, 4, 12 and 28 bytes each way: Converteam MV3000e manual p.5-2; ABB FPBA-01 manual p.81.
    view = family_view("PPO 1 to 5")
    assert view.sentence.startswith("5 formats, from 8 to 56 bytes")
    shown = [text.words for text in texts(view.pictures[0])]
    for name, each_way in (("PPO 1", 12), ("PPO 2", 20), ("PPO 3", 4), ("PPO 4", 12), ("PPO 5", 28)):
        assert shown[shown.index(name) :].index(f"{each_way} + {each_way} bytes") > 0
    # 4 parameter words each way in three of them
    assert shown.count("P") == 2 * 3 * 4
    assert "makers use these numbers for different formats" in view.because


@pytest.mark.parametrize("family", FAMILIES)
def test_every_family_is_drawn_with_one_box_a_word(family):
    listed = FAMILIES[family]()
    sheet = family_view(family).pictures[0]
    check_legible(sheet)
    assert len(boxes(sheet)) == sum(len(one.words_out) + len(one.words_in) for one in listed)
    assert all(one.name in sheet.says and f"{one.bytes_both} bytes" in sheet.says for one in listed)


@settings(max_examples=40)
@given(st.sampled_from(EVERY), some_needs)
def test_a_strip_marks_the_words_that_carry_a_need(one, needs):
    sheet = strips_drawing([one], needs)
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
    sheet = format_drawing(one, needs)
    check_legible(sheet)
    assert len(boxes(sheet)) == len(one.words_out) + len(one.words_in)
    assert one.name in sheet.says


def test_the_words_stand_in_the_order_of_the_format():
    # PPO 2: ABB FPBA-01 manual p.81, PKE IND PWE1 PWE2 STW1 ...; the demo drive has its request fields at the end.
    says = format_drawing(formats.by_name("PPO 2"), [signals.find("CURRENT")]).says
    assert "PKE, IND, PWE1, PWE2, STW1, NSOLL_A, free, free, free, free" in says
    assert "PKE, IND, PWE1, PWE2, ZSW1, NIST_A, CURRENT, free, free, free" in says
    sheet = format_drawing(formats.by_name("Mill 7/8 request"))
    assert "STW1, NSOLL_A, REQ_COUNT" in sheet.says
    fills = [fill for *_, fill in boxes(sheet)[:7]]
    assert len(set(fills[:2])) == len(set(fills[2:])) == 1 and fills[0] != fills[2]


def test_the_bytes_under_the_words_are_counted_through():
    numbered = [t.words for t in texts(format_drawing(formats.by_name("PPO 1"))) if "–" in t.words]
    assert numbered == ["0–1", "2–3", "4–5", "6–7", "8–9", "10–11"] * 2


@pytest.mark.parametrize("name", ["a" * 200, "a_" * 100, "a b c d e f g", "ÄÖÜ_" * 9])
def test_a_name_too_long_for_its_box_is_cut(name):
    many = [signals.own_signal(f"{name} {n}", bits=32, direction="in") for n in range(4)]
    check_legible(format_drawing(formats.by_name("PPO 5"), many))


def test_the_two_lists_stand_side_by_side():
    rows = list_rows(formats.by_name("PPO 4"), read_signals("RAMP_TIME, CURRENT, ENERGY"))
    # numbers 1, 2, 5, 6: Eaton MN040010EN p.95; those from 100 on are the invented drive's
    assert [row["number in 915"] for row in rows] == ["1 (fixed)", "5 (fixed)", "122", "0", "0", "0"]
    assert [row["in (list 916)"] for row in rows] == ["ZSW1", "NIST_A", "CURRENT", "ENERGY high", "ENERGY low", "free"]


def test_lists_of_unequal_length_are_filled_up():
    rows = list_rows(formats.by_name("Mill 3/5"), ())
    assert [row["out (list 915)"] for row in rows] == ["STW1", "NSOLL_A", "free", "–", "–"]


def test_a_number_our_sources_do_not_give_is_not_made_up():
    rows = list_rows(formats.by_name("PPO 4"), read_signals("MELD_NAMUR"))
    assert rows[2]["number in 916"] == "see the manual"


def test_what_finds_no_room_is_named_and_a_list_carries_its_caution():
    view = layout_view("PPO 4", read_signals("ENERGY, RUN_TIME, CURRENT"))
    assert "No room for CURRENT." in view.sentence
    assert "secured against starting" in str(view.caution)
    assert not layout_view("PPO 3").caution  # nothing to assign
    assert layout_view("standard telegram 9").because.startswith("All words are fixed.")


def test_the_layout_panel_takes_signals_and_refuses_rubbish():
    panel = layout_panel()
    panel.fields["needs"].widget.value = "TORQUE\n2 words out"
    assert "word 2 out" in panel.result.value
    panel.fields["needs"].widget.value = "<b>rubbish"
    assert "Not usable" in panel.said.value and "<b>rubbish" not in panel.said.value
    assert "word 2 out" in panel.result.value


# -- signals as people list them ----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("typed", "names"),
    [
        ("", []),
        (" , ;\n", []),
        ("current", ["CURRENT"]),
        ("5; zsw1", ["NSOLL_A", "ZSW1"]),
        ("1 word in", ["word 1 in"]),
        ("2 WORDS OUT", ["word 1 out", "word 2 out"]),
        ("drum speed 32 in, level 16 bit out", ["drum speed", "level"]),
    ],
)
def test_signals_are_read_as_people_list_them(typed, names):
    assert [signal.name for signal in read_signals(typed)] == names


def test_an_own_signal_has_its_width_and_direction():
    (drum,) = read_signals("drum speed 32 bits in")
    assert (drum.bits, drum.direction, drum.number) == (32, "in", None)


@pytest.mark.parametrize(
    ("typed", "kind", "says"),
    [
        ("speedo", Unknown, "as in drum speed 32 bit in"),
        ("drum speed 8 bit in", OutOfRange, "16 and 32 bit"),
        ("0 words in", OutOfRange, "allowed is 1 to 20"),
        ("21 words in", OutOfRange, "allowed is 1 to 20"),
        ("x" * 500, Unknown, "is no signal"),
    ],
)
def test_what_is_no_signal_gets_a_sentence(typed, kind, says):
    with pytest.raises(kind, match=says) as caught:
        read_signals(typed)
    assert len(str(caught.value)) < 200


@given(st.text(max_size=40) | st.from_regex(r"[a-zA-Z0-9_ ,]{0,20}(words?|bit)? ?(in|out)?", fullmatch=True))
def test_any_text_gives_signals_or_a_sentence(typed):
    try:
        found = read_signals(typed)
    except WorkbookError as error:
        assert str(error).endswith(".")
    else:
        assert all(signal.direction in ("out", "in") for signal in found)


# -- the shortest format ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("extra", "parameters", "name"),
    [
        # process data words 2, 6 and 10: Converteam MV3000e manual p.5-2. Both sides of each step.
        (0, False, "PPO 3"),
        (1, False, "PPO 4"),
        (4, False, "PPO 4"),
        (5, False, "PPO 5"),
        (0, True, "PPO 1"),
        (1, True, "PPO 2"),
        (8, True, "PPO 5"),
    ],
)
def test_the_sentence_names_the_shortest(extra, parameters, name):
    view = choice_view([*BASIC, *own(extra)], parameters, "PPO 1 to 5")
    assert view.sentence.startswith(f"{name} is the shortest that carries everything")
    chosen = [row["format"] for row in view.rows if row["carries all"] == "▶ shortest"]
    assert chosen == [name]


def test_the_table_says_what_is_missing_and_what_the_others_cost():
    rows = {row["format"]: row for row in choice_view([*BASIC, "CURRENT"], offered="PPO 1 to 5").rows}
    assert [rows[name]["missing"] for name in ("PPO 3", "PPO 4")] == ["1 word in", ""]
    # 11 bit times for each byte (M. Felser, PROFIBUS Manual, calculation for single masters), at 1.5 Mbit/s
    assert rows["PPO 3"]["against the choice"] == f"−{16 * 11 / 1.5:.4g} µs"
    assert rows["PPO 2"]["against the choice"] == f"+{16 * 11 / 1.5:.4g} µs"
    assert rows["PPO 1"]["against the choice"] == "±0 µs"
    assert rows["PPO 4"]["against the choice"] == ""


def test_a_format_with_other_lengths_each_way_is_preferred_where_it_is_shorter():
    view = choice_view([*BASIC, "CURRENT"], offered="PPO 1 to 5 and its own")
    assert (
        view.sentence == "Mill 2/3 is the shortest that carries everything: 4 bytes out and 6 bytes in, in each cycle."
    )
    assert "PPO 3 is shorter, but lacks 1 word in for CURRENT." in view.because
    assert "The largest, PPO 5, would add 46 bytes" in view.because


def test_equally_short_formats_are_named():
    view = choice_view(BASIC, offered="every known format")
    assert "Equally short: standard telegram 1." in view.because


@pytest.mark.parametrize("offered", OFFERS)
@settings(max_examples=15)
@given(needs=some_needs, parameters=st.booleans())
def test_every_offer_and_need_gives_a_view_of_all_its_formats(offered, needs, parameters):
    if not needs and not parameters:
        with pytest.raises(Unreadable, match="tick at least one signal"):
            choice_view(needs, parameters, offered)
        return
    view = choice_view(needs, parameters, offered)
    found = choose.choose(needs, parameters=parameters, formats=OFFERS[offered]())
    assert [row["format"] for row in view.rows] == [row.format.name for row in found.rows]
    assert [row["carries all"] == "no" for row in view.rows] == [bool(row["missing"]) for row in view.rows]
    assert [row["carries all"] != "no" for row in view.rows] == [row.fits for row in found.rows]
    for sheet in view.pictures:
        check_legible(sheet)
    if found.best is None:
        assert view.sentence == f"None of the {len(found.rows)} formats carries everything."
        assert "Nearest is" in view.because


def test_the_rule_is_called_what_it_is():
    view = choice_view(BASIC)
    assert "(common practice)" in view.because
    assert facts.one("format_rules", rule="shortest").standing == "common practice"


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
