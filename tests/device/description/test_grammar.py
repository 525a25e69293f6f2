"""Statements of a device description. Frame, keywords and blocks: ISO 15745-3:2003, p.188; the cases are made up."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.device.description import grammar
from helpers.device.description.grammar import Problem, Span, Statement, Word, lines, number, statement, statements
from helpers.errors import WorkbookError


def values(text):
    found = statement(text)
    assert isinstance(found, Statement), found
    return found.values


@pytest.mark.parametrize(
    ("written", "value"),
    [
        ("243", 243), ("0xF3", 243), ("0XF3", 243), ("0xf3", 243), ("16#F3", 243), ("0F3h", 243), ("0F3H", 243),
        ("2#11110011", 243), ("0b11110011", 243), ("007", 7), ("0", 0), ("-5", -5), ("+5", 5), ("-0x10", -16),
        ("4294967295", 2**32 - 1), ("0xFFFFFFFF", 2**32 - 1),
    ],
)  # fmt: skip
def test_every_number_format(written, value):
    assert number(written) == value
    assert values(f"Max = {written}") == (value,)
    assert values(f"Max(1) = {written},  {written}") == (value, value)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ('Module = "Mill 2/3" 0xE1,0xD2', Statement(1, "Module", None, ("Mill 2/3", 0xE1, 0xD2))),
        ("24V_Pins=0", Statement(1, "24V_Pins", None, (0,))),
        ("187.5_supp\t=\t1", Statement(1, "187.5_supp", None, (1,))),
        ("EndModule", Statement(1, "EndModule")),
        ("17", Statement(1, "", None, (17,))),
        ('Text(0) = "off"', Statement(1, "Text", 0, ("off",))),
        ('Text( -1 ) = ""', Statement(1, "Text", -1, ("",))),
        ('ExtUserPrmData = 3 "delay"', Statement(1, "ExtUserPrmData", None, (3, "delay"))),
        ("Unsigned8 3 0-10", Statement(1, "Unsigned8", None, (3, Span(0, 10)))),
        ("Signed8 -5 -10-10", Statement(1, "Signed8", None, (-5, Span(-10, 10)))),
        ("Signed8 -5 -10--2", Statement(1, "Signed8", None, (-5, Span(-10, -2)))),
        ("BitArea(4-7) 1 0,1, 5", Statement(1, "BitArea", Span(4, 7), (1, 0, 1, 5))),
        ("Unit_Diag_Area = 16 - 23", Statement(1, "Unit_Diag_Area", None, (Span(16, 23),))),
        ('Slot(1) = "format" 2 1-4', Statement(1, "Slot", 1, ("format", 2, Span(1, 4)))),
        ("Slave_Family = 1@Fans@Large fans", Statement(1, "Slave_Family", None, (1, "@Fans@Large fans"))),
        ("Own = Word(3)", Statement(1, "Own", None, (Word("Word", 3),))),
        ('Umlaut_Größe = "ä;ö"', Statement(1, "Umlaut_Größe", None, ("ä;ö",))),
    ],
)
def test_forms_of_a_statement(text, found):
    assert statement(text, 1) == found


@pytest.mark.parametrize(
    ("text", "keyword", "found", "expected"),
    [
        ("Max_Module =", "Max_Module", "the end of the line", "a number"),
        ('Vendor_Name = "Mill', "Vendor_Name", "'\"Mill'", "a closing quote"),
        ("User_Prm_Data = 1,2,", "User_Prm_Data", "the end of the line", "a number"),
        ("User_Prm_Data = 0x1G", "User_Prm_Data", "'0x1G'", "a number"),
        ("Text(1 = 2", "Text", "'= 2'", "a closing bracket"),
        ("Text() = 2", "Text", "') = 2'", "a number or a range such as 0-7"),
        ("= 5", "", "'= 5'", "a word or a number"),
        ("Max = 12345678901", "Max", "'12345678901'", "a number"),
        ("Max = 1" + "x" * 60, "Max", "…", "a number"),
    ],
)
def test_a_problem_names_keyword_find_and_expectation(text, keyword, found, expected):
    problem = statement(text, 9)
    assert isinstance(problem, Problem)
    assert (problem.line, problem.keyword) == (9, keyword)
    assert found in problem.found
    assert expected in problem.expected
    assert problem.text.startswith("line 9")
    assert len(problem.found) < 50


NUMBERS = st.one_of(
    st.integers(-(10**9), 10**9).map(str),
    st.integers(0, 2**32 - 1).map(hex),
    st.integers(0, 255).map("0{:02X}h".format),
)
WORDS = st.from_regex(r"[A-Za-z_][A-Za-z0-9_.]{0,12}", fullmatch=True)
TEXTS = st.text(st.characters(blacklist_characters='"\r\n', blacklist_categories=["Cs"]), max_size=20).map(
    '"{}"'.format
)
ITEMS = st.one_of(NUMBERS, TEXTS, st.tuples(NUMBERS, TEXTS).map(" ".join), st.lists(NUMBERS, min_size=1).map(",".join))
PLAIN = st.builds(
    "{}{}{}={}{}".format, WORDS, NUMBERS.map("({})".format) | st.just(""), st.sampled_from(["", " ", "\t"]),
    st.sampled_from(["", " ", "\t "]), ITEMS,
)  # fmt: skip


@given(PLAIN)
def test_the_quick_form_says_what_the_parser_says(text):
    assert grammar._PLAIN.fullmatch(text)
    assert statement(text) == grammar._parsed(text)


@given(st.text(st.sampled_from('aZ_.0159xXh#=(),-@" \t;Ä+'), max_size=30))
def test_any_line_gives_a_statement_or_a_problem_and_both_ways_agree(text):
    text = text.strip()
    if not text:
        return
    found, parsed = statement(text), grammar._parsed(text)
    assert isinstance(found, Statement | Problem)
    assert found == parsed


@given(st.text(max_size=8))
def test_a_number_is_read_or_refused(text):
    try:
        assert isinstance(number(text or "x"), int)
    except (WorkbookError, ValueError):
        assert not grammar._ONE_NUMBER.fullmatch(text)


def test_lines_end_in_every_way():
    assert lines("a\r\nb\nc\rd\r\r\ne") == ["a", "b", "c", "d", "e"]


def test_comments_and_continuation_lines():
    rows = ['A = "x;y" ; remark \\', "  ; only a remark", "", "B = 1, \\ ; goes on", "\t2,\\", "3", "C"]
    assert list(statements(rows)) == [
        Statement(1, "A", None, ("x;y",)),
        Statement(4, "B", None, (1, 2, 3)),
        Statement(7, "C"),
    ]


def test_a_line_that_goes_on_into_nothing_is_a_problem():
    assert [one.text for one in statements(["B = 1,\\"], 3)] == [
        "line 3, B: found the end of the file; expected the line on which this one goes on."
    ]


@pytest.mark.parametrize(
    "line",
    [
        "A = " + "x" * 50_000 + '" ; "" ;' + "y" * 50_000,  # a quote that nothing closes, behind a long word
        "A = " + '"a;' * 30_001,  # quotes and semicolons in turn, the last one open
        "A = " + '"";"' * 30_001,
        'A = "' + ";" * 100_000,
        "A = " + '"" ' * 30_000 + '"',  # no comment at all
    ],
    ids=["open-quote", "odd", "even-and-odd", "semicolons", "no-comment"],
)
def test_a_line_of_quotes_and_semicolons_ends(line):
    # An expression that tries every way to split such a line into runs would take 2 to the 50 000 steps here.
    (found,) = statements([line])
    assert isinstance(found, Statement | Problem)
    assert found.keyword == "A"
