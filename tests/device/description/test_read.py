"""Reading: what real files do, what is reported of them, and that no octets whatever break it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from mangled import COUNT, octets

from helpers import facts
from helpers.device.description.keywords import end_of, keywords
from helpers.device.description.model import DiagText
from helpers.device.description.read import decode_text, read_description
from helpers.errors import Unknown, Unreadable

DEMO = facts.DATA / "demo/descriptions"
FILES = sorted(DEMO.rglob("*.gs*"))
MODULAR = (DEMO / "Mil_FFF1.gsd").read_text(encoding="ascii")


def read(text):
    return read_description(text.encode())


def problems(text):
    return [problem.text for problem in read("#Profibus_DP\n" + text).problems]


def same(one, other):
    """Equal but for the lines in which things stand, and how the file was coded."""
    return plain(one) == plain(other)


def plain(one):
    return (
        {name: found.values for name, found in one.general.items()},
        [(m.name, m.identifiers, m.reference, m.layout, m.info, m.diagnosis) for m in one.modules],
        {n: (p.name, p.kind, p.default, p.allowed, p.text_list) for n, p in one.parameters.items()},
        one.texts, one.slots, one.diagnosis, one.channel_texts, one.layout,
    )  # fmt: skip


def test_demo_descriptions_are_named_and_say_that_they_are_invented():
    assert [path.name for path in FILES] == [
        "Mil_FFF1.gsd", "Mil_FFF1.gsg", "Mil_FFF2.gsd", "Mil_FFF3.gsd", "Mil_FFF4.gsd", "Mil_FFF1.gsd",
    ]  # fmt: skip
    assert all(b"Invented for this workbook" in path.read_bytes() for path in FILES)


@pytest.mark.parametrize("path", [path for path in FILES if path.stem != "Mil_FFF4"], ids=lambda path: path.name)
def test_good_demo_descriptions_have_no_problems(path):
    found = read_description(path)
    assert found.problems == ()
    assert found.ident == int(path.stem[-4:], 16)


def test_a_modular_description():
    found = read(MODULAR)
    assert (found.modular, found.text("VENDOR_NAME"), found.number("max_module")) == (True, "Saltmarsh Drives", 2)
    assert found.module("Mill 2/3").identifiers.hex() == "e1d2"
    assert found.module(5).name == "PPO 1"
    option = found.module("option: 16 inputs")
    assert (option.layout.length, option.layout.constants, option.layout.references) == (2, ((0, b"\3\0"),), ((0, 5),))
    assert option.info == "terminals 31 to 46"
    assert found.text_of(found.parameters[1], 2) == "2 (keep the last setpoint)"
    assert found.text_of(found.parameters[4], -3) == "-3"
    assert [(slot.number, slot.default) for slot in found.slots] == [(1, 1), (2, 7)]
    assert [found.slots[0].takes(n) for n in (0, 1, 6, 7)] == [False, True, True, False]
    assert DiagText("Unit_Diag_Area", 8, 11, 2, "motor too warm") in found.diagnosis
    assert DiagText("X_Unit_Diag_Bit", 24, 24, 1, "phase missing", 161) in found.diagnosis
    assert found.channel_texts == {16: "input shorted to the supply"}
    assert [one.keyword for one in found.unknown] == ["Mill_Own_Keyword"]
    with pytest.raises(Unknown, match="it has: Mill 2/3, Mill 3/5"):
        found.module("PPO 9")


def test_an_old_description_with_odd_numbers_and_case():
    found = read_description(DEMO / "Mil_FFF3.gsd")
    assert (found.ident, found.octets("User_Prm_Data"), found.number("GSD_Revision")) == (0xFFF3, b"\1\2\3\4\5", 1)
    assert found.module("4 words").identifiers == b"\xf3"


def test_a_german_description():
    found = read_description(DEMO / "Mil_FFF1.gsg")
    assert found.encoding == "Latin-1"
    assert found.parameters[2].name == "Diagnose des Lüfters"


def test_the_faulty_description_reports_all_at_once():
    assert [(one.line, one.keyword) for one in read_description(DEMO / "Mil_FFF4.gsd").problems] == [
        (23, "Auto_Baud_supp"), (26, "Max_Module"), (28, "Max_Output_Len"), (30, "Software_Release"), (40, "Module"),
        (44, "Text"), (45, "Model_Name"),
    ]  # fmt: skip


# -- what real files do: the meaning stays the same ---------------------------------------------------

WAYS = {
    "CR LF": lambda text: text.replace("\n", "\r\n").encode(),
    "CR": lambda text: text.replace("\n", "\r").encode(),
    "mixed ends": lambda text: "".join(
        line + ("\r\n", "\n", "\r")[n % 3] for n, line in enumerate(text.split("\n"))
    ).encode(),
    "UTF-8 mark": lambda text: b"\xef\xbb\xbf" + text.encode(),
    "UTF-16": lambda text: text.encode("utf-16"),
    "UTF-16 big end first": lambda text: b"\xfe\xff" + text.encode("utf-16-be"),
    "tabs": lambda text: text.replace(" = ", "\t=\t").replace("\n", "\t\n\t").encode(),
    "no spaces": lambda text: text.replace(" = ", "=").encode(),
    "end of file sign": lambda text: text.encode() + b"\x1a",
    "text before": lambda text: b'any words = "\n' + text.encode(),
    "second frame": lambda text: text.encode() + b"#Other\nMax_Module = 9\n",
    "empty lines": lambda text: text.replace("\n", "\n\n").replace("\\\n\n", "\\\n").encode(),
}


@pytest.mark.parametrize("way", WAYS)
def test_ways_to_write_a_file_do_not_change_it(way):
    found = read_description(WAYS[way](MODULAR))
    assert found.problems == ()
    assert same(found, read(MODULAR))


@given(st.sampled_from([str.upper, str.lower, str.swapcase, str.title]))
def test_upper_and_lower_case_mean_the_same(way):
    known = {name.lower() for name in keywords()}
    rows = []
    for row in MODULAR.split("\n"):
        word = row.split("(")[0].split("=")[0].split(" ")[0]
        rows.append(row.replace(word, way(word), 1) if word.lower() in known else row)
    found = read("\n".join(rows))
    assert found.problems == ()
    assert plain(found)[:5] == plain(read(MODULAR))[:5]


@pytest.mark.parametrize(
    ("octets", "text", "name"),
    [
        (b"abc", "abc", "ASCII"), ("Lüfter".encode(), "Lüfter", "UTF-8"), (b"L\xfcfter", "Lüfter", "Latin-1"),
        (b"\xef\xbb\xbfL\xc3\xbc", "Lü", "UTF-8"), (b"\xff\xfeL\x00", "L", "UTF-16-LE"), (b"", "", "ASCII"),
    ],
)  # fmt: skip
def test_coding_of_letters(octets, text, name):
    assert decode_text(octets) == (text, name)


@pytest.mark.parametrize("block", ["module", "parameter", "texts", "area", "bits", "slots"])
def test_a_missing_end_line_is_one_problem_and_loses_nothing(block):
    end = end_of(block)
    head, _, tail = MODULAR.rpartition(f"{end}\n")
    found = read(head + tail)
    assert len(found.problems) == 1
    assert f"expected {end} for the" in found.problems[0].text
    assert same(found, read(MODULAR))


# -- what is reported -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("Max_Module = 256", "line 2, Max_Module: found '256'; expected a number from 0 to 255."),
        ("Ident_Number = 0x10000", "line 2, Ident_Number: found '65536'; expected a number from 0 to 65535."),
        ("Fail_Safe = 2", "line 2, Fail_Safe: found '2'; expected 0 or 1."),
        ("Revision = V1.0", "line 2, Revision: found 'V1.0'; expected a text in quotes."),
        ("User_Prm_Data = 1,300", "line 2, User_Prm_Data: found '1, 300'; expected numbers from 0 to 255, with commas "
         "between."),
        ("EndModule", "line 2, EndModule: found it outside its place; expected it inside: module."),
        ("7", "line 2: found a number alone, 7; expected a keyword; only a module has one reference number."),
        ("Module = 5\nEndModule", "line 2, Module: found '5'; expected a name in quotes and its identifiers, 0 to 255 "
         "each."),
        ('Text = "on"', "line 2, Text: found it outside its place; expected it inside: texts."),
        ("Unit_Diag_Bit = 3", "line 2, Unit_Diag_Bit: found '3'; expected a number in brackets behind the keyword."),
        ("Slave_Family = drives", "line 2, Slave_Family: found 'drives'; expected a number, then words behind @ if "
         "wanted."),
        ("PrmText = 1\nEndPrmText", "line 2, PrmText: found a list without texts; expected lines such as Text(0) = "
         '"off".'),
        ("Unit_Diag_Area = 5\nUnit_Diag_Area_End", "line 2, Unit_Diag_Area: found '5'; expected the first and the last "
         "bit, for example 16-23."),
        ('SlotDefinition\nSlot(1) = "x"\nEndSlotDefinition',
         "line 3, Slot: found 'x'; expected a number in brackets, = "
         '"name", the reference of the first module, those allowed.'),
    ],
)  # fmt: skip
def test_a_problem_is_one_sentence(text, sentence):
    assert problems("Auto_Baud_supp = 1\n" + text) == [sentence.replace("line 3", "line 4").replace("line 2", "line 3")]


@pytest.mark.parametrize(
    ("line", "expected"),
    [
        ("Unsigned8", "the default, then the values allowed"),
        ("Bit(16) 0 0-1", "the bit in brackets, 0 to 15"),
        ("Bit 0 0-1", "the bit in brackets, 0 to 15"),
        ("BitArea(3-1) 0 0-1", "the first and the last bit in brackets"),
        ("BitArea(0-16) 0 0-1", "the first and the last bit in brackets"),
        ('Unsigned8 0 "x"', "numbers or one range such as 0-10 behind the default"),
    ],
)
def test_types_of_parameters(line, expected):
    found = problems(f'ExtUserPrmData = 1 "speed"\n{line}\nEndExtUserPrmData')
    assert expected in found[-1]
    assert "0 lines with a type" in found[0]


def test_parameters_that_have_no_name_no_number_or_one_taken():
    head = 'ExtUserPrmData = 1 "speed"\nUnsigned8 0 0-1\nEndExtUserPrmData\n'
    assert "a number of its own; 1 is 'speed'" in problems(head + head)[0]
    assert "a number and a name in quotes" in problems(head.replace('"speed"', ""))[0]
    assert "a number, 0 or more" in problems(head.replace("1 ", ""))[0]


def test_a_file_without_its_frame_is_read_and_reported():
    found = read("Max_Module = 3\n")
    assert (found.number("Max_Module"), [problem.line for problem in found.problems]) == (3, [1])


@pytest.mark.parametrize("octets", [b"", b"\0" * 50, b"hello world", b"#Profibus_DP\n", b"%PDF-1.4\n1 0 obj"])
def test_what_is_no_description_is_refused(octets):
    with pytest.raises(Unreadable, match="is no device description"):
        read_description(octets)


def test_a_file_that_is_not_there():
    with pytest.raises(Unreadable, match="can't be read"):
        read_description(DEMO / "none.gsd")


def test_what_absence_means():
    found = read("#Profibus_DP\nMax_Module = 3")
    assert (found.number("Auto_Baud_supp"), found.number("Max_Input_Len"), found.number("Nobody_knows")) == (
        0,
        None,
        None,
    )
    assert (found.text("Vendor_Name"), found.octets("User_Prm_Data")) == ("", b"")


def test_any_octets_give_a_description_or_the_own_error():
    pieces = [line + b"\n" for path in FILES for line in path.read_bytes().splitlines()]
    answers = 0
    for one in octets(pieces, max(COUNT // 2, 1)):
        try:
            read_description(one)
            answers += 1
        except Unreadable:
            pass
    assert answers


def test_whole_files_with_damage_are_read():
    for one in octets([path.read_bytes() for path in FILES], max(COUNT // 100, 1)):
        try:
            found = read_description(one)
        except Unreadable:
            continue
        assert all(problem.text for problem in found.problems)


def test_a_module_that_is_there_from_the_start_is_told_from_one_that_is_not():
    text = (
        b'#Profibus_DP\nVendor_Name = "Mill"\nModular_Station = 1\n'
        b'Module = "a" 0xF1\nPreset = 1\nEndModule\nModule = "b" 0xF1\nPreset = 0\nEndModule\n'
        b'Module = "c" 0xF1\nEndModule\n'
    )
    assert [module.preset for module in read_description(text).modules] == [True, False, False]


def test_a_refusal_names_the_file_where_it_has_a_name():
    with pytest.raises(Unreadable, match=r"^x\.gsd is no device description"):
        read_description(b"nothing", "x.gsd")
    with pytest.raises(Unreadable, match=r"^the file is no device description"):
        read_description(b"nothing")
