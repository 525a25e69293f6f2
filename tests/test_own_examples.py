"""The octets of panels, pages, questions and commands are of our own: none is a maker's printed example.

`data/published/` holds printed octets for the checks. What counts as the same:

- octets are compared as octets: spaces, commas, case, `16#`, `0x`, a final `h`, words of four digits are all one;
- a row of four octets or more, found anywhere in a row of octets. Of an acyclic service the block that it carries
  counts too, and of a frame the process data (control or status word with its speed);
- of the scaled words, those that somebody chose. 100 %, the quarters, the limits and the smallest step follow from the
  format itself and are in every text on it, as 16#047F is.

Not compared, because no maker chose a number in them:

- rows that are calculated: nobody has printed them. The request for the status of station 2 by station 1 is on every
  bus with these two addresses;
- configuration identifiers: they follow from the length, or are the profile's own names of its telegrams.
"""

import base64
import html
import inspect
import re
from functools import cache
from html.parser import HTMLParser
from importlib import import_module
from pathlib import Path

import ipywidgets as widgets
import nbformat
import pytest
from store_outputs import notebooks

from helpers import facts, panels
from helpers.shell.main import EXAMPLES, commands
from helpers.study.banks.registry import BANKS, draw_question

ROOT = facts.DATA.parent
FEWEST = 4  # octets: below that, the standard leaves hardly anything to choose
SEEDS = range(1, 13)

_OCTETS = r"(?:16#|0x|\\x)?(?:[0-9A-Fa-f]{2})+h?"
_RUN = re.compile(rf"(?<![0-9A-Za-z#]){_OCTETS}(?:[\s,;]*{_OCTETS})*(?![0-9A-Za-z])")
_MARKS = re.compile(r"16#|0x|\\x|h|[\s,;]", re.IGNORECASE)


def runs(text):
    """The rows of octets in a text, each as bytes."""
    for found in _RUN.finditer(text):
        digits = _MARKS.sub("", found[0])
        if len(digits) % 2 == 0:
            yield bytes.fromhex(digits)


@cache
def published():
    """Each printed row of octets, and what is printed there."""
    known = {}
    for table in ("bus_services", "bus_telegrams", "drive_acyclic", "drive_frames", "drive_parameter_channel"):
        for row in facts.rows(f"published/{table}"):
            if row.standing == "calculated":
                continue
            octets = bytes.fromhex(row["octets"])
            told = f"{row.place}: {row['octets']}"
            known[octets] = told
            if table == "drive_acyclic":
                known[octets[4:]] = f"the block in {told}"
            if table == "drive_frames":
                word, speed = row.whole("word"), row.whole("speed")
                known[word.to_bytes(2, "big") + speed.to_bytes(2, "big")] = f"the process data in {told}"
    return {octets: told for octets, told in known.items() if len(octets) >= FEWEST and any(octets)}


@cache
def chosen_words():
    """Scaled words that do not follow from their format alone."""
    chosen = []
    for row in facts.rows("published/drive_scaling"):
        limit_or_step = (
            row["remark"].startswith(("upper limit", "lower limit", "smallest step")) or row["word"] == "16#FFFF"
        )
        if row.number("percent") % 25 and not limit_or_step:
            chosen.append(row["word"])
    return chosen


def printed_in(text):
    """What is printed somewhere else of this text."""
    found = [told for run in runs(text) for octets, told in published().items() if octets in run]
    return found + [word for word in chosen_words() if re.search(rf"{word}\b", text, re.IGNORECASE)]


class _Tables(HTMLParser):
    """The columns of the tables in a page, each as one text: octets may stand below each other."""

    def __init__(self):
        super().__init__()
        self.rows, self.cell = [], None

    def handle_starttag(self, tag, attrs):
        if tag == "tr":
            self.rows.append([])
        elif tag in ("td", "th") and self.rows:
            self.cell = ""

    def handle_endtag(self, tag):
        if tag in ("td", "th") and self.cell is not None:
            self.rows[-1].append(self.cell)
            self.cell = None

    def handle_data(self, data):
        if self.cell is not None:
            self.cell += data


def texts_of_page(page):
    """What stands in a page: its text, each part for itself, the columns of its tables, and its drawings."""
    yield re.sub(r"<[^>]+>", " | ", page)
    for coded in re.findall(r"base64,([\w+/=]+)", page):
        yield re.sub(r"<[^>]+>", " | ", base64.b64decode(coded).decode(errors="replace"))
    yield from (html.unescape(alt) for alt in re.findall(r'alt="([^"]*)"', page))
    tables = _Tables()
    tables.feed(page)
    for n in range(max(map(len, tables.rows), default=0)):
        cells = [row[n] for row in tables.rows if n < len(row)]
        yield " ".join(cell for cell in cells if re.fullmatch(r"(?:[0-9A-F]{2}\s*)+", cell))


def shown_by(widget):
    """The texts of a widget and of those in it: values, choices and labels."""
    for name in ("value", "description", "tooltip", "placeholder"):
        said = getattr(widget, name, None)
        if isinstance(said, str):
            yield from texts_of_page(said)
    options = getattr(widget, "options", ())
    for option in options.items() if isinstance(options, dict) else options:
        for part in option if isinstance(option, tuple) else (option,):
            yield part.hex() if isinstance(part, bytes) else str(part)
    for child in getattr(widget, "children", ()):
        yield from shown_by(child)


def panel_functions():
    for path in sorted(Path(panels.__file__).parent.glob("*/*.py")):
        module = import_module(f"helpers.panels.{path.parent.name}.{path.stem}")
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if not name.endswith("_panel") or function.__module__ != module.__name__:
                continue
            if all(p.default is not p.empty for p in inspect.signature(function).parameters.values()):
                yield pytest.param(function, id=f"{path.stem}.{name}")


@pytest.mark.parametrize("panel", list(panel_functions()))
def test_no_panel_starts_with_a_printed_example(panel):
    made = panel()
    assert isinstance(made, widgets.Widget)
    texts = list(shown_by(made))
    assert texts
    assert not [hit for text in texts for hit in printed_in(text)]


@pytest.mark.parametrize("path", notebooks(), ids=lambda path: path.stem)
def test_no_page_shows_a_printed_example(path):
    texts = []
    for cell in nbformat.read(path, as_version=4).cells:
        texts.append(cell.source)
        for output in cell.get("outputs", []):
            texts.append(output.get("text", ""))
            for kind, data in output.get("data", {}).items():
                texts += texts_of_page(data) if kind == "text/html" else [str(data)]
    assert not [hit for text in texts for hit in printed_in(text)]


@pytest.mark.parametrize("lesson", BANKS)
def test_no_question_asks_or_answers_with_a_printed_example(lesson):
    for kind in BANKS[lesson]:
        for seed in SEEDS:
            asked = draw_question(lesson, kind, seed)
            texts = [asked.text, asked.written, *asked.steps, *(slip.sentence for slip in asked.slips)]
            texts += [str(cell) for row in asked.rows for cell in row.values()]
            assert not [hit for text in texts for hit in printed_in(text)], (kind, seed)


def test_no_command_shows_a_printed_example():
    def every(commands):
        for command in commands:
            yield command
            yield from every(command.parts)

    texts = [EXAMPLES, *(command.examples for command in every(commands()))]
    assert len(texts) > 10
    assert not [hit for text in texts for hit in printed_in(text)]


@pytest.mark.parametrize(
    "path", sorted((ROOT / "helpers").rglob("*.py")), ids=lambda path: str(path.relative_to(ROOT / "helpers"))
)
def test_no_docstring_or_constant_is_a_printed_example(path):
    assert not printed_in(path.read_text(encoding="utf-8"))


@pytest.mark.parametrize(
    "path", sorted(p for p in (facts.DATA / "demo").rglob("*") if p.suffix in (".csv", ".txt", ".gsd")),
    ids=lambda path: path.name,
)  # fmt: skip
def test_no_demo_file_holds_a_printed_example(path):
    assert not [hit for line in path.read_text(encoding="latin-1").splitlines() for hit in printed_in(line)]


# --- the search itself must be able to find and to pass over ----------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "13 9A 00 00 00 00 00 65",
        "as in 139A 0000 0000 0065.",
        "139a000000000065",
        "16#13, 16#9A, 16#00, 16#00, 16#00, 16#00, 16#00, 16#65",
        r"b'\x13\x9a\x00\x00\x00\x00\x00\x65'",
        "0x13 0x9A 0x00 0x00 0x00 0x00 0x00 0x65",
        "13h 9Ah 00h 00h 00h 00h 00h 65h",
        "68 0C 0C 68 13 9A 00 00 00 00 00 65 16",  # inside a longer row
        "09 01 01 01 10 00 03 96 00 00",  # the block without its service
        "04 7F 34 15",  # the process data of a frame
        "16#3415 is 81.4 %",
    ],
)
def test_a_printed_example_is_found(text):
    assert printed_in(text)


@pytest.mark.parametrize(
    "text",
    [
        "04 7F",
        "16#047F",
        "16#4000 is 100 %",
        "00 00 00 00",
        "F3 F1",
        "10 6E 00 00 00 00 00 50",
        "13 9A | 00 00 00 00 00 65",  # two rows of octets
        "E5",
        "",
    ],
)
def test_what_the_standard_forces_or_is_our_own_is_passed_over(text):
    assert not printed_in(text)


def test_octets_below_each_other_in_a_table_are_found():
    octets = ["13", "9A", "00", "00", "00", "00", "00", "65"]
    rows = "".join(f"<tr><td>{n}</td><td>{octet}</td></tr>" for n, octet in enumerate(octets))
    assert [hit for text in texts_of_page(f"<table>{rows}</table>") for hit in printed_in(text)]
