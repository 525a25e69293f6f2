"""The exported files: CSV read back, and every declaration through a small grammar of IEC 61131-3 declarations."""

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lark import Lark

from helpers.device import formats, signals
from helpers.device.byte_order import iec_type
from helpers.device.io_export import declarations, from_csv, identifier, keywords, to_csv
from helpers.device.io_image import NUMBERINGS, SIZES, ImageStation, lay_out, read_address
from helpers.errors import Unreadable, WorkbookError

# IEC 61131-3, annex with the formal syntax, cut down to global variables at an address: from memory.
GRAMMAR = Lark(
    r"""
    start: "VAR_GLOBAL" declaration* "END_VAR"
    declaration: NAME "AT" ADDRESS ":" TYPE ";"
    NAME: /[A-Za-z_](_?[A-Za-z0-9])*(?![A-Za-z0-9_])/
    ADDRESS: /%[IQ][XBWDL]?[0-9]+/
    TYPE: /BYTE|USINT|SINT|DWORD|WORD|UDINT|UINT|DINT|INT/
    COMMENT: /\(\*((?!\(\*)(.|\n))*?\*\)/
    %ignore /[ \n]+/
    %ignore COMMENT
    """,
    parser="lalr",
)
EVERY = formats.all_formats()
odd_names = st.text(max_size=12) | st.sampled_from(
    [
        "VAR",
        "end_var",
        "1",
        "",
        "*)",
        "(*",
        "%IW0",
        "a__b",
        "_",
        "Lüfter",
        "вентилятор",
        "风机",
        "x" * 300,
        "a\nb",
        "(**)",
    ]
)


@st.composite
def some_images(draw):
    names = draw(st.lists(odd_names, min_size=1, max_size=4, unique=True))
    needs = tuple(draw(st.lists(st.sampled_from(signals.demo_signals()), max_size=4, unique=True)))
    stations = [ImageStation(name, draw(st.sampled_from(EVERY)), needs) for name in names]
    return lay_out(stations, first_in=draw(st.integers(0, 9)), first_out=draw(st.integers(0, 9)))


def declared(text):
    return [tuple(str(token) for token in one.children) for one in GRAMMAR.parse(text).children]


@settings(max_examples=50)
@given(some_images(), st.sampled_from(NUMBERINGS))
def test_every_declaration_is_legal_and_covers_the_image_once(image, numbering):
    text = declarations(image, numbering=numbering)
    found = declared(text)
    names = [name.upper() for name, _, _ in found]
    assert len(set(names)) == len(names)
    assert not set(names) & keywords()
    covered = []
    for _, where, kind in found:
        way, first, length = read_address(where, numbering=numbering)
        assert iec_type(kind).length_bytes == length
        covered += [(way, byte) for byte in range(first, first + length)]
    bytes_ = [(p.direction, b) for p in image.places for b in range(p.first_byte, p.first_byte + p.length_bytes)]
    assert sorted(covered) == sorted(bytes_)
    if numbering == NUMBERINGS[0]:
        assert [where for _, where, _ in found] == [place.address for place in image.places]


def test_a_declaration_as_a_program_would_hold_it():
    image = lay_out([ImageStation("Dryer fan 1", formats.by_name("Mill 2/3"))], first_in=128, first_out=256)
    assert declared(declarations(image)) == [
        ("dryer_fan_1_control_word", "%QW256", "WORD"),
        ("dryer_fan_1_speed_setpoint", "%QW258", "INT"),
        ("dryer_fan_1_status_word", "%IW128", "WORD"),
        ("dryer_fan_1_actual_speed", "%IW130", "INT"),
        ("dryer_fan_1_current", "%IW132", "INT"),
    ]
    first = declarations(image).splitlines()[1]
    assert first.endswith("(* Dryer fan 1: STW1, control word 1; bytes 256 and 257 *)")
    assert declared(declarations(image, numbering="word numbers"))[0][1] == "%QW128"


def test_a_double_word_without_a_number_is_declared_as_its_words():
    image = lay_out([ImageStation("a", formats.by_name("standard telegram 2"))])
    found = declared(declarations(image, numbering="word numbers"))
    assert ("a_speed_setpoint_32_high", "%QW1", "WORD") in found and (
        "a_speed_setpoint_32_low",
        "%QW2",
        "WORD",
    ) in found


def test_the_grammar_refuses_what_is_not_legal():
    for wrong in (
        "a__b AT %QW0 : WORD;",
        "1a AT %QW0 : WORD;",
        "a AT %MW0 : WORD;",
        "a AT %QW0 : WORT;",
        "a_ AT %QW0 : INT;",
    ):
        with pytest.raises(Exception, match=r"Unexpected|No terminal"):
            GRAMMAR.parse(f"VAR_GLOBAL {wrong} END_VAR")


@given(odd_names)
def test_any_name_becomes_an_identifier(name):
    found = identifier(name)
    assert found.isascii() and found.isidentifier() and "__" not in found and not found.endswith("_")
    assert found.upper() not in keywords()
    assert identifier(found) == found


@settings(max_examples=40)
@given(some_images())
def test_a_table_is_read_back_as_it_was(image):
    assert from_csv(to_csv(image.places)) == image.places


def test_the_table_shows_both_numberings():
    image = lay_out([ImageStation("a", formats.by_name("PPO 3"))], first_in=256, first_out=7)
    rows = list(csv.DictReader(io.StringIO(to_csv(image.places))))
    assert [(row["address"], row["word number"]) for row in rows] == [
        ("%QW7", ""), ("%QW9", ""), ("%IW256", "%IW128"), ("%IW258", "%IW129"),
    ]  # fmt: skip
    assert set(SIZES.values()) >= {row["address"][2] for row in rows}


GOOD = to_csv(lay_out([ImageStation("a", formats.by_name("PPO 3"))]).places)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("address,", "adress,", "other columns"),
        (",out,", ",up,", "row 2, direction: 'up'; allowed are out, in"),
        (",out,0,2,", ",out,0,3,", "row 2, length_bytes: '3'; allowed are 1, 2, 4"),
        (",out,0,2,", ",out,zero,2,", "row 2, first_byte: 'zero'"),
        (",yes,", ",perhaps,", "row 2, kept_whole"),
        ("WORD", "WORT", "row 2, type"),
        ("a,out,0", "a,b,out,0", "row 2 has more or fewer cells"),
        ("control_word,WORD,yes", "control_word", "row 2 has more or fewer cells"),
        ("%QW0", '"%QW0"x', "not a CSV table"),
    ],
)  # fmt: skip
def test_a_table_that_was_damaged_is_refused_with_its_place(old, new, message):
    damaged = GOOD.replace(old, new, 1)
    assert damaged != GOOD
    with pytest.raises(Unreadable, match=message):
        from_csv(damaged)


@given(st.text(max_size=60) | st.text(max_size=30).map(lambda text: GOOD + text))
def test_any_text_is_a_table_or_a_sentence(text):
    try:
        from_csv(text)
    except WorkbookError as error:
        assert str(error).endswith(".")


def test_a_word_that_bears_no_signal_is_declared_as_free():
    text = declarations(lay_out([ImageStation("Fan 1", formats.by_name("PPO 4"))]))
    assert text.count("(* Fan 1: free, ") == 8  # four words each way
