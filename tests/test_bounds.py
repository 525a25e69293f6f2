"""Files made to take minutes and gigabytes: each gets a clear sentence in seconds and 300 MB, in page and shell."""

import io
import os
import zipfile

import pytest
from limited import MOST_MB, python, shell
from plan_tables import as_csv, as_xlsx, demo

(PLAN,) = as_xlsx(demo()).values()
SHEET = "xl/worksheets/sheet3.xml"

# One process for many files, since to begin one takes longer than to refuse a file. Its peak is that of the worst.
IN_SHELL = """
from helpers.shell.main import main
for path in sys.argv[2:]:
    print(path, main([*sys.argv[1].split(), path]), file=sys.stderr)
"""
# What a page does with a file that was uploaded; the sentence is what its panel shows.
IN_PAGE = """
from pathlib import Path
from helpers.errors import WorkbookError
from helpers.panels.device.description import description_called
from helpers.panels.kit.fields import Upload
from helpers.panels.network.network_plan import uploaded_plan
for path in sys.argv[1:]:
    upload = [Upload(Path(path).name, Path(path).read_bytes())]
    try:
        uploaded_plan(upload) if "plan" in path else description_called("your upload", upload)
        print(path, 0, file=sys.stderr)
    except WorkbookError as error:
        print(error, path, 2, sep="\\n", file=sys.stderr)
"""


def told(ran, paths):
    """For each file its exit status and what was said of it; no file may end the process."""
    assert (ran.status, "Traceback" in ran.err) == (0, False), ran.err
    assert ran.peak_mb < MOST_MB
    rest, found = ran.err.replace("\n2", " 2"), {}
    for path in paths:
        before, mark, rest = rest.partition(f"{path} ")
        assert mark, f"nothing was said of {path}: {before[-300:]}"
        found[path] = (int(rest[0]), " ".join(before.split()))
    return found


def workbook(part=SHEET, *, instead=None, name=None):
    """The demo plan as a workbook, with one part changed, or under another name inside the zip."""
    packed = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(PLAN)) as old, zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as new:
        for each in old.namelist():
            content = old.read(each)
            if each == part:
                each, content = name or each, instead(content)
            elif name:
                content = content.replace(os.path.basename(part).encode(), os.path.basename(name).encode())
            new.writestr(each, content)
    return packed.getvalue()


def behind_rows(more):
    return lambda content: content.replace(b"</sheetData>", b"</sheetData>" + more)


def merged(columns):
    cells = "".join(f'<mergeCell ref="{letter}1:{letter}1048576"/>' for letter in "ABCDEFGHIJ"[:columns])
    return workbook(instead=behind_rows(f"<mergeCells>{cells}</mergeCells>".encode()))


def before(mark, more):
    return lambda content: content.replace(mark, more + mark)


def rows(count):
    return before(b"</sheetData>", b"<row><c/></row>" * count)


STRINGS = b'<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
WORKBOOKS = {
    "one whole column merged": (lambda: merged(1), "merges or links the cells A1:A1048576"),
    "ten whole columns merged": (lambda: merged(10), "merges or links the cells A1:A1048576"),
    "a link over a whole sheet": (
        lambda: workbook(instead=behind_rows(b'<hyperlinks><hyperlink ref="A1:XFD1048576"/></hyperlinks>')),
        "merges or links the cells A1:XFD1048576",
    ),
    "a sheet that is not named .xml": (
        lambda: workbook(instead=rows(1_500_000), name="xl/worksheets/sheet3.bin"),
        "unpacks to 2",
    ),
    "many short rows": (lambda: workbook(instead=rows(350_000)), "holds more than 60000 cells"),
    "a rule for a million cells": (
        lambda: workbook(instead=behind_rows(b'<conditionalFormatting sqref="' + b"A1 " * 1_500_000 + b'"/>')),
        "holds more than 60000 cells",
    ),
    "a million formats": (
        lambda: workbook("xl/styles.xml", instead=before(b"</cellXfs>", b"<xf/>" * 900_000)),
        "holds more than 60000 cells",
    ),
    "a document type": (
        lambda: workbook(instead=lambda c: b'<!DOCTYPE worksheet [<!ENTITY a "aaaa">]>' + c[c.index(b"<worksheet") :]),
        "declares a document type",
    ),
    "one cell far to the right": (
        lambda: workbook(instead=before(b"</sheetData>", b'<row r="4999"><c r="GR4999"><v>1</v></c></row>')),
        "has 4999 rows of 200 columns; allowed are 60000 cells",
    ),
}  # fmt: skip


def test_workbooks_that_would_expand_are_refused_before_they_do(tmp_path):
    sentences = {}
    for n, (make, sentence) in enumerate(WORKBOOKS.values()):
        path = tmp_path / f"plan-{n}.xlsx"
        path.write_bytes(make())
        assert path.stat().st_size < 100_000
        sentences[str(path)] = sentence
    for ran in (python(IN_SHELL, "plan check", *sentences), python(IN_PAGE, *sentences)):
        for path, (status, said) in told(ran, sentences).items():
            assert (status, sentences[path] in said) == (2, True), said


def test_merged_cells_within_a_table_are_still_read():
    ran = python(
        "from helpers.plan.sheets import read_sheets; print(len(read_sheets({'p.xlsx': sys.stdin.buffer.read()})))",
        stdin=workbook(instead=behind_rows(b'<mergeCells><mergeCell ref="A3:A12"/></mergeCells>')),
    )
    assert (ran.status, ran.out) == (0, "3\n")


def test_line_feeds_without_end_are_refused(tmp_path):
    many, fewer = tmp_path / "many", tmp_path / "fewer"
    for folder, count in ((many, 60_000_000), (fewer, 1_900_000)):
        folder.mkdir()
        for name, content in as_csv(demo()).items():
            (folder / name).write_bytes(content + b"\n" * count * (name == "cable.csv"))
    answers = told(python(IN_SHELL, "plan check", str(many), str(fewer)), [str(many), str(fewer)])
    assert answers[str(many)][0] == answers[str(fewer)][0] == 2
    assert "cable.csv has more than 2 MB" in answers[str(many)][1]
    assert "more rows or columns than allowed: 5000 rows, 200 columns" in answers[str(fewer)][1]


BEGIN = b'#Profibus_DP\nVendor_Name = "Mill"\n'
DESCRIPTIONS = {
    "commas in one line": (BEGIN + b"User_Prm_Data = " + b"," * 1_990_000, 1, "at most 20000 in a statement"),
    "commas in lines": (b",\n" * 1_000_000, 2, "too many lines; allowed are 200000"),
    "numbers in one line": (BEGIN + b"User_Prm_Data = " + b"1," * 990_000, 1, "at most 20000 in a statement"),
    "a line that goes on": (BEGIN + b"Max_Module = " + b"1,\\\n" * 150_000, 1, "at most 20000 in a statement"),
    "one keyword over and over": (BEGIN + b"Max_Module = 1\n" * 100_000, 1, "98999 more places"),
    "ends of old lines": (b"\r" * 1_900_000 + b"x", 2, "too many lines"),
}


def test_descriptions_of_rubbish_are_told_in_bounded_time_and_memory(tmp_path):
    wanted = {}
    for n, (content, status, sentence) in enumerate(DESCRIPTIONS.values()):
        (tmp_path / f"{n}.gsd").write_bytes(content)
        wanted[str(tmp_path / f"{n}.gsd")] = (status, sentence)
    ran = python(IN_SHELL, "description check", *wanted)
    said = " ".join((ran.out + ran.err).split())
    for path, (status, _) in told(ran, wanted).items():
        assert status == wanted[path][0]
        assert wanted[path][1] in said
    for path, (status, _) in told(python(IN_PAGE, *wanted), wanted).items():
        assert status == (2 if wanted[path][0] == 2 else 0)


def test_line_ends_are_told_apart_as_before():
    code = "from helpers.device.description.grammar import lines; print(lines(sys.argv[1]))"
    assert python(code, "a\r\nb\rc\n\nd\r\r\ne\r\rf").out == "['a', 'b', 'c', '', 'd', 'e', '', 'f']\n"


@pytest.mark.skipif(not os.path.exists("/dev/zero"), reason="this system has no /dev/zero")
@pytest.mark.parametrize(
    "line",
    ["plan check /dev/zero", "description check /dev/zero", "telegram --file /dev/zero", "telegram --file {pipe}"],
)
def test_a_device_or_a_pipe_is_no_file(line, tmp_path):
    os.mkfifo(tmp_path / "pipe")
    ran = shell(*line.format(pipe=tmp_path / "pipe").split())
    assert (ran.status, ran.peak_mb < MOST_MB) == (2, True)
    assert "is no file but a device or a pipe" in ran.err or "one file of kind (none)" in ran.err


def test_a_recording_of_line_feeds_is_refused_and_a_pipe_without_end_too(tmp_path):
    (tmp_path / "lines.txt").write_bytes(b"\n" * 60_000_000)
    ran = shell("telegram", "--file", str(tmp_path / "lines.txt"))
    assert (ran.status, ran.peak_mb < MOST_MB) == (2, True)
    assert "has more than 2500000 lines" in ran.err
    ran = shell("telegram", "--file", "-", stdin=b" " * 110_000_000)
    assert (ran.status, ran.peak_mb < MOST_MB) == (2, True)
    assert "has more than 100000000 characters" in ran.err


def test_a_recording_of_40_mb_is_read_from_its_place_in_bounded_memory(tmp_path):
    one = "10 02 01 49 4C 16 " * 60 + "\n"  # long lines, so that there are few places to remember and many octets
    (tmp_path / "line.txt").write_text("0.000123 " + one * (40_000_000 // len(one)))
    code = """
from helpers.bus.recording import recording_text
from helpers.files import open_file
import helpers.panels.telegrams.recording  # what a page has in memory besides
with open_file(sys.argv[1]) as file:
    reader = recording_text.Reader(file)
    print([round(share, 1) for share in reader][-1], len(reader.octets), reader.line_at(6).number)
"""
    ran = python(code, str(tmp_path / "line.txt"))
    assert (ran.status, ran.peak_mb < MOST_MB) == (0, True), ran.peak_mb
    assert ran.out.split() == ["1.0", str(40_000_000 // len(one) * 360), "1"]
