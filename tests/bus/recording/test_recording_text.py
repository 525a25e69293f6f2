"""Pasted recordings: every usual spelling gives the same octets, and what can't be read is told by line."""

import mangled
import pytest
from hypothesis import given
from hypothesis import strategies as st

from helpers.bus.recording import recorded_lines, telegram_meaning
from helpers.bus.recording.recording_text import Reader, read
from helpers.errors import OutOfRange, Unreadable
from helpers.facts import DATA

STATUS = bytes.fromhex("10 02 01 49 4C 16")


@pytest.mark.parametrize(
    "text",
    [
        "10 02 01 49 4C 16",
        "10 02 01 49 4c 16\r\n",
        "  10  02\t01 49 4C 16  ",
        "100201494C16",
        "1002 0149 4C16",
        "10,02,01,49,4C,16",
        "10, 02, 01, 49, 4C, 16",
        "10;02;01;49;4C;16",
        "10-02-01-49-4C-16",
        "10:02:01:49:4C:16",
        "0x10 0x02 0x01 0x49 0x4C 0x16",
        "0X10,0x2,0x1,0x49,0x4c,0x16",
        "0x100201494C16",
        "{0x10, 0x02, 0x01, 0x49, 0x4C, 0x16};",
        "[0x10, 0x02, 0x01, 0x49, 0x4C, 0x16]",
        "16#10 16#02 16#01 16#49 16#4C 16#16",
        "16#10_02_01_49_4C_16",
        "10h 02h 01h 49h 4Ch 16h",
        "010h 2h 1h 49H 4CH 016h",
        "$10 $02 $01 $49 $4C $16",
        "B#16#10 B#16#02 B#16#01 B#16#49 B#16#4C B#16#16",
        "W#16#1002 w#16#0149 W#16#4C16",
        "&H10 &H02 &H01 &H49 &H4C &H16",
        '"\\x10\\x02\\x01\\x49\\x4C\\x16"',
        "10\n02\n01\n49\n4C\n16",
        "10 02 01\n\n\n49 4C 16",
        "10 02 01\r49 4C 16",
        "\ufeff10 02 01 49 4C 16",
        "10 02 01 49 4C 16 // status of station 2",
        "12:34:56 10 02 01 49 4C 16",
        "12:34:56.789 10 02 01 49 4C 16",
        "12:34:56,789123: 10 02 01 49 4C 16",
        "[12:34:56.789] 10 02 01 49 4C 16",
        "2026-05-01 12:34:56.123 10 02 01 49 4C 16",
        "2026-05-01T12:34:56.123456Z 10 02 01 49 4C 16",
        "01.05.2026 12:34:56 10 02 01 49 4C 16",
        "5/1/26 1:34:56 pm 10 02 01 49 4C 16",
        "0.001234 10 02 01 49 4C 16",
        "+0,001234 10 02 01 49 4C 16",
        "(0.5) 10 02 01 49 4C 16",
        "12 ms 10 02 01 49 4C 16",
        "1234us: 10 02 01 49 4C 16",
        "t = 3.5 µs 10 02 01 49 4C 16",
        "7) 10 02 01 49 4C 16",
        "#7 10 02 01 49 4C 16",
        "7. 12:34:56 10 02 01 49 4C 16",
        "Tx: 10 02 01 49 4C 16",
        "request 10 02 01 49 4C 16",
        "-> 10 02 01 49 4C 16",
        "1 -> 2: 10 02 01 49 4C 16",
        "1→2 10 02 01 49 4C 16",
        "[0.5] 1->2: Tx 10 02 01 49 4C 16",
        "0000: 10 02 01 49 4C 16",
        "00000000  10 02 01 49 4C 16                     |...IL.|",
        "00000000: 1002 0149 4c16                           ...IL.",
        "0000 10 02 01\n0003 49 4C 16\n0006",
        "0000000 10 02 01\n0000003 49 4C 16",
        "0x0000: 10 02 01\n0x0003: 49 4C 16",
        "7;12:00:00.000818;Req;1;12;10 02 01 49 4C 16;ok",
        "17\t0,000818\trequest\t10 02 01 49 4C 16\tgood",
        '"17","0.000818","SD1","10 02 01 49 4C 16"',
        "0.1,0x10,,\n0.2,0x02,,\n0.3,0x01,,\n0.4,0x49,,\n0.5,0x4C,,\n0.6,0x16,,",
        "12:00:01;10h\n12:00:01;02h\n12:00:01;01h\n12:00:02;49h\n12:00:02;4Ch\n12:00:02;16h",
    ],
)
def test_every_usual_spelling(text):
    found = read(text)
    assert found.octets.hex(" ") == STATUS.hex(" ")
    assert (found.problems, found.unread) == ((), 0)


@given(
    st.lists(st.binary(min_size=1, max_size=20), min_size=1, max_size=8),
    st.sampled_from(
        ["{:02X}", "{:02x}", "0x{:02X}", "0x{:X}", "16#{:02X}", "{:02X}h", "0{:02X}h", "${:02x}", "\\x{:02x}"]
    ),
    st.sampled_from([" ", ", ", ",", ";", "\t", "  "]),
    st.sampled_from(["", "12:00:{n:02}.5 ", "[{n}.25] ", "{n} ms: ", "Rx: ", "{n}) "]),
    st.sampled_from(["\n", "\r\n", "\r", "\n\n"]),
)
def test_octets_are_read_as_they_were_written(lines, spelling, between, front, line_end):
    written = [front.format(n=n) + between.join(map(spelling.format, line)) for n, line in enumerate(lines)]
    found = read(line_end.join(written))
    assert found.octets == b"".join(lines)
    assert not found.problems
    assert len(found.lines) == len(lines)
    at = 0
    for n, line in enumerate(lines):
        for place in range(len(line)):
            assert found.line_of(at + place).first == at
            assert found.place(at + place).endswith(f"octet {place + 1}")
        assert found.lines[n].stamp == {"1": f"12:00:{n:02}.5", "[": f"{n}.25", "{n} ": f"{n} ms"}.get(
            front[:4] if front.startswith("{n} ") else front[:1], ""
        )
        at += len(line)


def test_time_stamps_are_kept():
    found = read("12:34:56.789 10 02 01\n[0,001234] Tx: 49 4C\n16")
    assert [(line.number, line.stamp, line.first) for line in found.lines] == [
        (1, "12:34:56.789", 0),
        (2, "0,001234", 3),
        (3, "", 5),
    ]
    assert found.place(5) == "line 3, octet 1"
    for wrong in (-1, 6):
        with pytest.raises(OutOfRange):
            found.place(wrong)


def test_rows_of_a_table_keep_their_time_stamps_and_give_no_octets_of_other_columns():
    found = read("No;Time;DA;FC;Data\n12;0.000818;12;SRD;10 02 01\n13;0.000920;12;no answer;\n14;0.001022;1;;49 4C 16")
    assert found.octets == STATUS
    assert [(line.number, line.stamp) for line in found.lines] == [(2, "0.000818"), (4, "0.001022")]
    assert [problem.line for problem in found.problems] == [1, 3]
    assert all("holds no octets" in problem.sentence for problem in found.problems)


def test_an_odd_number_in_front_can_be_told_from_an_octet_by_a_colon():
    with pytest.raises(Unreadable, match="put a colon behind it, as in 12345: 10 02"):
        read("12345 10 02 01 49 4C 16")
    assert read("12345: 10 02 01 49 4C 16").octets == STATUS


def test_a_bare_number_in_front_is_an_octet():
    assert read("12 10 02").octets == b"\x12\x10\x02"
    # as is one that counts nothing
    assert read("FACE 10 02").octets == b"\xfa\xce\x10\x02"
    assert read("0000 1002 0149").octets == bytes.fromhex("0000 1002 0149")
    assert read("0000 10 02\n0007 01 49").octets == bytes.fromhex("10 02 0007 01 49")
    assert read("0000 10 02\n0002 01\n0000 49").octets == bytes.fromhex("10 02 01 49")


@pytest.mark.parametrize(
    ("text", "octets", "sentence"),
    [
        ("10 02 0 49", "10 02", "2 octets of the line are read, then '0' has an odd number of digits"),
        ("10 02 01 49 4C 1", "10 02 01 49 4C", "for example 01"),
        ("10 0x 02", "10", "1 octet of the line are read, then '0x' is not hexadecimal"),
        ("10 02 status ok", "10 02", "then 'status' is not hexadecimal; the rest of the line is left out"),
        ("10 02\nno answer", "10 02", "'no answer' holds no octets"),
        ("10 02\n12:00:01 no answer", "10 02", "holds no octets"),
        ("10 02\n300000000 ok", "10 02", "then '300000000' has an odd number of digits"),
        ("10 02 " + "xyz" * 20, "10 02", "'xyzxyzxyzxyzxyzxy…' is not hexadecimal"),
        ("10 02\n" + "no " * 20, "10 02", "no no no no no no no no no no no no n…' holds"),
    ],
)
def test_what_can_not_be_read(text, octets, sentence):
    found = read(text)
    assert found.octets == bytes.fromhex(octets)
    assert found.unread == 1
    assert found.problems[0].line == text.count("\n") + 1
    assert sentence in found.problems[0].sentence


@pytest.mark.parametrize("text", ["", " \n \n", "----", "no octets here", "12:34:56", "0010:"])
def test_nothing_to_read(text):
    with pytest.raises(Unreadable, match="holds no octets"):
        read(text)


def test_rulers_remarks_and_lines_of_time_stamps_are_no_problem():
    assert read("// line 3, at night\n-----\n12:34:56\n10 02\n=====").problems == ()


def test_problems_are_counted_and_the_first_hundred_kept():
    found = read("10\n" + "nothing\n" * 500)
    assert (found.unread, len(found.problems)) == (500, 100)


def test_a_long_recording_shows_how_far_it_is_and_can_be_stopped():
    text = "\n".join(["10 02 01 49 4C 16"] * 10_000)
    shares = list(Reader(text))
    assert shares == [0.2, 0.4, 0.6, 0.8, 1.0]
    reader = Reader(text)
    for share in reader:
        if share >= 0.4:
            break
    assert reader.capture.octets == STATUS * 4_000
    assert reader.capture.line_of(6 * 3_999).number == 4_000


def test_too_long(monkeypatch):
    monkeypatch.setattr(recorded_lines, "MOST_CHARACTERS", 10)
    with pytest.raises(OutOfRange, match="allowed is 0 to 10 characters"):
        Reader("10 02 01 49 4C 16")


def test_any_octets_and_any_text_give_an_answer():
    good = [
        "0x10, 0x02",
        "12:34:56.789 10 02 01",
        "[0.5] Tx: 16#10",
        "0010: 10 02 |..|",
        "10h 02h",
        "no answer",
        "\\x10\\x02",
        "1 -> 2:",
        "\n",
        "µs",
    ]
    for octets in mangled.octets([text.encode() for text in good], longest=120):
        text = octets.decode("latin-1")
        try:
            found = read(text)
        except Unreadable as refused:
            assert "holds no octets" in str(refused)
        else:
            assert [line.first for line in found.lines] == sorted({line.first for line in found.lines})
            assert len(found.problems) == min(found.unread, 100)


@given(st.text(max_size=60))
def test_any_text_gives_an_answer(text):
    try:
        read(text)
    except Unreadable as refused:
        assert str(refused).endswith(".")


@pytest.mark.parametrize(
    "piece",
    [
        "a",
        "g",
        "0",
        "-",
        ">",
        "1 ",
        "12:",
        "g,",
        "0x",
        "1.",
        "_",
        " ",
        "(",
        "\\x10",
        "10:",
        "1_",
        "#",
        "t=",
        "a:",
        "ah",
    ],
)
def test_a_long_line_is_no_trap(piece):
    # A pattern that searched again and again would take hours here.
    for text in (piece * 60_000, piece * 60_000 + "!", "10 " + piece * 60_000):
        try:
            read(text)
        except Unreadable as refused:
            assert len(str(refused)) < 400


def _demo_rows() -> list[tuple[str, str]]:
    """The demo recording as pairs: time stamp, octets."""
    text = (DATA / "demo" / "bus_recording.txt").read_text(encoding="utf-8")
    lines = (line for line in text.splitlines() if not line.startswith("//"))
    return [(line.split(maxsplit=1)[0], line.split(maxsplit=1)[1]) for line in lines]


# One row of a table as recorders save it: n, number of the row; at, time stamp [s]; octets, with blanks between.
TABLES = {
    "comma": lambda n, at, octets: f"{at},{octets},ok",
    "semicolon": lambda n, at, octets: f"{at.replace('.', ',')};{octets};ok",
    "tab": lambda n, at, octets: f"{at}\t{octets}",
    "index": lambda n, at, octets: f"{n};{octets}",
    "padded index": lambda n, at, octets: f"{n:02},{octets}",
    "stamp": lambda n, at, octets: f"12:00:0{at},{octets}",
    "quoted": lambda n, at, octets: f'"{n}","{at}","{octets}"',
    "quoted decimal comma": lambda n, at, octets: f'"{n}","{at.replace(".", ",")}","{octets}"',
    "index and µs": lambda n, at, octets: f"{n}\t{float(at) * 1e6:.0f} µs\t{octets}",
    "index and µs without the unit": lambda n, at, octets: f"{n}\t{float(at) * 1e6:.0f}\t{octets}",
    "index, stations and length": lambda n, at, octets: f"{n};{at};12;01;{len(octets.split())};{octets}",
    "length in brackets": lambda n, at, octets: f"{at}  [{len(octets.split()):02}]  {octets}",
    "length in brackets, a table": lambda n, at, octets: f"{n}\t{at}\t[{len(octets.split()):02}]\t{octets}",
    "an octet a column": lambda n, at, octets: f"{n},{at},{octets.replace(' ', ',')}",
    "an octet a column, length": lambda n, at, octets: f"{n};{len(octets.split()):02};{octets.replace(' ', ';')}",
    "in one piece": lambda n, at, octets: f"{n};{at};{octets.replace(' ', '')}",
    "marked": lambda n, at, octets: f"{n};{at};{' '.join('0x' + one for one in octets.split())}",
}


@pytest.mark.parametrize("spelling", TABLES)
def test_a_table_gives_the_same_telegrams_as_the_plain_recording(spelling):
    rows = _demo_rows()
    plain = read("\n".join(octets for _, octets in rows))
    found = read("\n".join(TABLES[spelling](n, at, octets) for n, (at, octets) in enumerate(rows, 1)))
    assert found.octets.hex(" ") == plain.octets.hex(" ")
    assert [line[:2] for line in found.lines] == [line[:2] for line in plain.lines]
    assert found.unread == 0
    told = [(one.role, one.meaning, one.remark) for one in telegram_meaning.read(found.octets)]
    assert told == [(one.role, one.meaning, one.remark) for one in telegram_meaning.read(plain.octets)]


@pytest.mark.parametrize("spelling", TABLES)
@pytest.mark.parametrize("head", ["no.;time;octets\n", "a,b,c\n", "Saved by the recorder, at night\n\n"])
def test_the_names_of_the_columns_are_skipped_and_counted(spelling, head):
    rows = _demo_rows()
    found = read(head + "\n".join(TABLES[spelling](n, at, octets) for n, (at, octets) in enumerate(rows, 1)))
    assert found.octets == read("\n".join(octets for _, octets in rows)).octets
    assert (found.unread, [problem.line for problem in found.problems]) == (1, [1])


def test_the_column_of_the_octets_holds_a_lone_octet_too():
    found = read("7;0.1;E5\n8;0.2;10 02 01 49 4C 16\n9;0.3;no answer\n10;0.4;10 02\n11;0.5;00")
    assert found.octets.hex(" ") == "e5 10 02 01 49 4c 16 10 02 00"
    assert [line.stamp for line in found.lines] == ["0.1", "0.2", "0.4", "0.5"]
    assert [problem.line for problem in found.problems] == [3]
    # A row alone: the only telegram of one octet
    assert read("7;0.002158;E5;ok").octets == b"\xe5"


def test_damage_in_a_table_is_told_as_in_a_plain_line():
    found = read("1;10 02 01 49 4C 16\n2;10 02 0\n3;DC 01 01")
    assert found.octets.hex(" ") == "10 02 01 49 4c 16 10 02 dc 01 01"
    assert "'0' has an odd number of digits" in found.problems[0].sentence


@pytest.mark.parametrize(
    "text", ["10,02,01\n49,4C,16", "10 02, 01 49, 4C 16", "1002;0149;4C16", "10;02;01;49;4C;16\n// remark; with a sign"]
)
def test_octets_apart_by_a_sign_are_no_table(text):
    assert read(text).octets == STATUS
