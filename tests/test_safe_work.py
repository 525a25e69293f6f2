"""One text on isolation, the signal words from the table, and no page that says the whole twice.

Isolation: DEHN, Dead working according to the five safety rules (after EN 50110-1): disconnect completely, secure
against re-connection, verify absence of voltage (tester checked before and after), earth and short-circuit, protect
against adjacent live parts. The steps between them (stored energy, try to start, waiting) are common practice.
Signal words: ANSI Z535.6 and ISO 3864-2.
"""

import csv
import json
import re
from pathlib import Path

import pytest

from helpers import facts, safe_work
from helpers.caution import DANGER, SIGNALS
from helpers.drive.commissioning import steps
from helpers.panels.kit.safe_work import SafeWork

ROOT = facts.DATA.parent
PAGES = sorted((ROOT / "workbook").rglob("*.ipynb"))
REFERENCE = re.compile(r"isolation, every step", re.I)
# What sends a hand in: a cover, a cabinet or a drive that is opened, or its parts that are named as a danger.
HAND = re.compile(r"(DC links?|[Mm]ains)\b[^.]*\b(kill|near|cover|inside|behind)|hand goes in", re.I)
# Steps of the isolation, told as orders one after the other: these stand in one table only.
STEPS_TOLD = re.compile(
    r"\block\b(?! on| is| stays)[^.]*\b(wait|measure)\b|\bisolate\b[^.]*\b(lock|wait|measure)\b", re.I
)


def texts():
    """Every text that a person may read: data, code, README and the cells of the pages, with its place."""
    for path in sorted((ROOT / "data").rglob("*.csv")):
        if "published" not in path.parts and path.name != "safe_work.csv":
            for line in csv.reader(path.read_text(encoding="utf-8").splitlines()):
                yield from ((f"{path.name}: {line[0]}", cell) for cell in line)
    for path in sorted((ROOT / "helpers").rglob("*.py")):
        code = path.read_text(encoding="utf-8")
        yield from ((path.name, re.sub(r'"\s+f?"', "", text)) for text in re.findall(r'(?:f?"[^"\n]*"\s*)+', code))
    yield from (("README.md", line) for line in (ROOT / "README.md").read_text(encoding="utf-8").splitlines())
    for path in PAGES:
        for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]:
            if cell["cell_type"] == "markdown":
                yield from ((path.name, line) for line in "".join(cell["source"]).splitlines())


def seen(page: Path) -> str:
    """A page as it is stored: its texts, and what its cells show as HTML."""
    cells = json.loads(page.read_text(encoding="utf-8"))["cells"]
    shown = [out.get("data", {}).get("text/html", "") for cell in cells for out in cell.get("outputs", [])]
    told = [cell["source"] for cell in cells if cell["cell_type"] == "markdown"]
    return "\n".join("".join(text) for text in [*told, *shown])


def test_isolation_has_the_five_rules_in_their_order_and_what_stands_between_them():
    names = list(safe_work.isolation())
    assert names == ["switch off", "isolate", "own lock and tag", "block", "try to start", "wait", "prove the tester",
                     "measure", "prove it again", "guard", "earth"]  # fmt: skip
    measure = safe_work.isolation()["measure"]
    for words in ("AC and DC", "phase to phase", "each phase to earth", "motor terminals", "DC+ to DC−",
                  "relay, brake, heater"):  # fmt: skip
        assert words in measure
    assert "category" in safe_work.isolation()["prove the tester"]
    assert "switch" in safe_work.isolation()["try to start"].lower()


def test_the_steps_stand_in_one_table_only():
    told = safe_work.steps("isolate")
    assert [(place, text) for place, text in texts() if any(step in text for step in told)] == []
    assert [(place, text) for place, text in texts() if STEPS_TOLD.search(text)] == []


def test_whatever_sends_a_hand_in_asks_for_every_step():
    themselves = {f"commissioning_steps.csv: {step.order}" for step in steps() if step.name in ("isolate", "wait")}
    found = [(place, text) for place, text in texts() if HAND.search(text) and not REFERENCE.search(text)]
    assert [(place, text) for place, text in found if place not in themselves] == []


def test_a_waiting_time_is_read_on_the_warning_label_or_in_the_manual():
    asked = re.compile(r"nameplate(?!s and)[^.;]*\b(wait|time|min)\b|\b(wait|time)\b[^.;]*nameplate", re.I)
    assert [(place, text) for place, text in texts() if asked.search(text)] == []
    assert "warning label or the manual" in safe_work.isolation()["wait"]


def test_secured_is_told_once_and_what_is_none():
    (said,) = safe_work.steps("secured")
    for none in ("control word", "stop key", "emergency stop", "controller in stop"):
        assert none in said.split("blocked.")[1]


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_a_page_says_the_whole_once_and_names_the_qualified_once(page):
    shown = seen(page)
    assert len(re.findall("qualified", shown, re.I)) <= 1
    assert shown.count(safe_work.steps("isolate")[2]) <= 1
    assert shown.count(safe_work.steps("secured")[0]) <= 1
    # A short line refers to the steps: then they stand on this page.
    if REFERENCE.search(shown):
        assert safe_work.steps("isolate")[2] in shown
    if re.search("secured against starting", shown, re.I):
        assert "Secured against starting:</b>" in shown


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_every_caution_of_a_page_bears_one_of_the_four_words(page):
    marked = re.findall(r"⚠\s*(?:<b>|\*\*)?\s*(\w+)", seen(page))
    # The sign says that somebody can be hurt (ANSI Z535.6): a NOTICE bears none.
    assert [word for word in marked if word not in SIGNALS[1:]] == []


def test_every_caution_of_the_table_is_used_and_speaks_with_its_signal_word():
    code = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "helpers").rglob("*.py"))
    named = {key.strip() for row in facts.rows("diagnosis_advice") for key in row["caution"].split(";")}
    for row in facts.rows("cautions"):
        assert f'"{row["caution"]}"' in code or f"'{row['caution']}'" in code or row["caution"] in named, row
        assert row["words"].endswith(".")
        (told,) = safe_work.cautions(row["caution"])
        assert told.signal in SIGNALS
        # What kills is live; a motor that may start could.
        assert (told.signal == DANGER) == bool(re.search("kill|DC link|live parts|live\\. First", told.words)), told


def test_no_code_types_a_signal_word():
    typed = re.compile(rf'"(?:{"|".join(SIGNALS)}|Caution)[:."]')
    for path in (ROOT / "helpers").rglob("*.py"):
        assert not typed.search(path.read_text(encoding="utf-8")), path


def test_the_page_shows_names_and_every_step():
    shown = SafeWork()._repr_html_()
    assert all(name in shown for name in safe_work.isolation()) and "<details" in shown
    assert "<details" not in SafeWork(unfolded=True)._repr_html_()
    assert shown.count("<li>") == 11 and "Grain dust" in shown
    assert repr(SafeWork()).splitlines()[3] == " 3. " + safe_work.steps("isolate")[2]
