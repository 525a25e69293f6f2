"""Signatures of the demo site are shipped: they are what running gives now, and are not used once they are stale."""

import json
import math
import os
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

from helpers.line.faults.catalogue import by_key
from helpers.line.practice import cache_key, signature_file, signatures
from helpers.line.practice.case import draw_case, mill
from helpers.line.practice.expected import Expected
from helpers.line.practice.marking import mark
from helpers.line.practice.session import Session
from helpers.line.practice.signature import EYE, METER, PARTS, RUNNING, SCOPE
from helpers.line.practice.signature_file import Kept
from helpers.line.practice.signatures import SHIPPED, Signatures

ROOT = Path(__file__).parents[3]
ANEW = "The plan, the code or a table has changed: make them anew with  python -m helpers.panels.practice.fault_table"


@cache
def shipped():
    """What is shipped, be it stale or not."""
    text = SHIPPED.read_text(encoding="utf-8")
    return signature_file.from_text(text, json.loads(text)[0][1])


def close(mine, theirs):
    """Equal; numbers may differ by one in their last digit, for a processor may round the other way."""
    assert list(mine) == list(theirs)
    for what, one in mine.items():
        other = theirs[what]
        assert (one.texts, one.changes) == (other.texts, other.changes), what
        assert (one.low, one.high) == pytest.approx((other.low, other.high), rel=0.006, abs=0.011), what
    return True


# -- what is shipped --------------------------------------------------------------------------------------------------


def test_they_are_of_this_plan_this_code_and_these_tables(tmp_path):
    assert Signatures(mill(), tmp_path).progress == 1, ANEW


def test_the_file_stays_small():
    assert len(SHIPPED.read_bytes()) < 1_000_000


# One part of each group of faults; those whose running takes longest are left to the command that makes all anew.
SAMPLE = [
    ("terminator missing", EYE),
    ("core open", METER),
    ("cores swapped", SCOPE),
    ("stub", SCOPE),
    ("wrong address", EYE),
    ("wrong address", RUNNING),
    ("format differs", EYE),
    ("setpoint source local", RUNNING),
    ("supply off", METER),
    ("short", RUNNING),
]


@pytest.mark.parametrize(("key", "part"), SAMPLE)
def test_a_sample_is_what_running_gives_now(key, part):
    anew = Signatures(mill())
    places = [chosen for chosen in anew.all if chosen.fault is by_key(key)]
    chosen = places[len(places) // 2]
    mine, theirs = anew._made(chosen, part), shipped().parts[key, chosen.place.words, part]
    assert mine.keys() == theirs.keys()
    assert all(close(lines, theirs[spot]) for spot, lines in mine.items())


@pytest.mark.parametrize("part", PARTS)
def test_the_healthy_site_is_what_running_gives_now(part):
    mine, theirs = Signatures(mill())._sound(part), shipped().healthy[part]
    assert mine.keys() == theirs.keys()
    assert all(close(lines, theirs[spot]) for spot, lines in mine.items())


# -- stale or not -----------------------------------------------------------------------------------------------------


@pytest.fixture
def as_if_current(monkeypatch):
    """As if what is shipped were of this code, so that these tests tell something while it waits to be made anew."""
    monkeypatch.setattr(signatures, "of_code", lambda: shipped().stamp.split("-")[0])
    monkeypatch.setattr(signatures, "of_installation", of_mill_alone)


def of_shipped_faults(folder):
    """Signatures of the demo site; a fault that came after them is left out."""
    found = Signatures(mill(), folder)
    found.all = tuple(c for c in found.all if (c.fault.key, c.place.words, EYE) in shipped().parts)
    assert len(found.all) > 300
    return found


def of_mill_alone(installation):
    return shipped().stamp.split("-")[1] if installation == mill() else "0" * 16


def test_the_first_case_is_marked_in_full_and_nothing_is_run(tmp_path, monkeypatch, as_if_current):
    session = Session(draw_case(1, 1))
    session.take("stations")

    def no_more(*_):
        raise AssertionError("A fault was run.")

    for name in ("of_one_size", "signature"):
        monkeypatch.setattr(signatures, name, no_more)
    found = of_shipped_faults(tmp_path)
    found.start()
    assert not found.working and not list(tmp_path.iterdir())
    marks = mark(session, (), found, seconds=0)
    assert not marks.left.unknown and marks.left.fitting and marks.path
    assert marks.part("evidence").word != "open" and marks.part("time").word != "open"


def test_another_installation_or_other_code_has_to_be_worked_out(tmp_path, monkeypatch, as_if_current):
    assert of_shipped_faults(tmp_path).progress == 1
    assert Signatures(mill()).progress == 0, "without a folder all is made anew"
    other = mill().with_stretch(0, noise_v=(0.1,) * len(mill().stretches[0].noise_v))
    assert Signatures(other, tmp_path).progress == 0
    monkeypatch.setattr(signatures, "of_code", lambda: "0" * 12)
    assert of_shipped_faults(tmp_path).progress == 0


def test_all_code_that_is_loaded_to_make_signatures_counts():
    # what Python itself says that it has loaded
    ask = (
        "import sys, helpers.line.practice.signature, helpers.line.faults.catalogue\n"
        "print(*(m.__file__ for n, m in sys.modules.items() if n.startswith('helpers.')), sep='\\n')"
    )
    told = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True, cwd=ROOT)
    loaded = {Path(line).resolve() for line in told.stdout.splitlines() if not line.endswith("__init__.py")}
    assert len(loaded) > 50 and loaded <= set(cache_key.code())
    names = {path.name for path in cache_key.code()}
    assert {"line.py", "medium.py", "at_the_cable.py", "catalogue.py", "waveform.py"} <= names
    assert not {"marking.py", "session.py", "story.py", "practice.py"} & names


CODE = '"""What it is."""\n\nTWO = 2  # two\n\n\ndef name():\n    """Its name."""\n    return "# 1"\n'


@pytest.mark.parametrize(
    ("old", "new", "same"),
    [
        ("What it is", "What it was", True),
        ("Its name", "The name", True),
        ("# two", "# a pair", True),
        ("\n\n\n", "\n\n", True),
        ("\n", "\r\n", True),
        ("= 2", "= 3", False),
        ("# 1", "# 2", False),
        ("    return", "        return", False),
    ],
)
def test_words_about_code_do_not_count_and_code_does(old, new, same):
    assert old in CODE and (cache_key.bare(CODE.replace(old, new)) == cache_key.bare(CODE)) == same


READING = """
import sys
read = set()
sys.addaudithook(lambda event, seen: read.add(str(seen[0])) if event == "open" else None)
from helpers.line.practice.case import mill
from helpers.line.practice.signature import PARTS, of_one_size, variants
from helpers.line.faults.catalogue import possible
site = mill()
from helpers.facts import rows
rows.cache_clear()
read.clear()
for key in ("wrong parameters", "fault returns", "task stands", "shield open"):
    chosen = next(c for c in possible(site) if c.fault.key == key)
    for part in PARTS:
        of_one_size(variants(site, chosen)[0], part)
print(*read, sep="\\n")
"""


def test_all_tables_that_are_read_while_faults_run_count():
    # what Python itself says that it opens
    told = subprocess.run([sys.executable, "-c", READING], capture_output=True, text=True, check=True, cwd=ROOT)
    read = {Path(line).resolve() for line in told.stdout.splitlines() if line.endswith(".csv")}
    assert len(read) > 20 and read <= set(cache_key.tables())
    names = {path.stem for path in cache_key.tables()}
    assert {"practice_line", "practice_work", "bus_timing", "cable_types", "control_word", "drive_constants"} <= names
    assert not {"commissioning_steps", "complaints", "fault_readings", "plan_columns"} & names


def test_where_a_fact_is_from_does_not_count_and_the_fact_does(tmp_path, monkeypatch):
    monkeypatch.setattr(cache_key, "DATA", tmp_path)

    def total(name, text):
        (tmp_path / name).write_text(text, encoding="utf-8")
        return cache_key.of_code.__wrapped__()

    first = total("bus_timing.csv", "name,value,source,standing\na,1,book,handbook\n")
    assert total("bus_timing.csv", "name,value,source,standing\na,1,,memory\n") == first
    assert total("fault_readings.csv", "name,source,standing\na,,calculated\n") == first, "made from signatures"
    assert total("bus_timing.csv", "name,value,source,standing\na,2,book,handbook\n") != first


def test_the_last_digits_of_a_processor_do_not_count():
    device = mill().devices[3]
    near = mill().with_device(device.name, supply_drops_s=5.000000000000001)
    assert cache_key.of_installation(near) == cache_key.of_installation(
        mill().with_device(device.name, supply_drops_s=5.0)
    )
    assert cache_key.of_installation(near) != cache_key.of_installation(mill())


# -- the form in which they are kept ----------------------------------------------------------------------------------


def test_whatever_can_be_read_comes_back_as_it_was():
    lit, number = Expected(frozenset({"lit"})), Expected(frozenset(), 1.0, 1.0)
    healthy = {EYE: {("look", "here"): {"light": lit, "address": Expected(frozenset({"3"})), "level": number}}}
    odd = {
        "light": Expected(frozenset({"true", "1.0", 'a, [b] "c" | Ω'}), changes=True),
        "address": Expected(frozenset({"dark"}), 1.0, 2.5),
        "level": Expected(frozenset(), 1.0, 1.0, True),
    }
    parts = {
        ("a", "here", EYE): {("look", "here"): odd, ("look", "there"): odd, ("other", ""): {"x": lit}},
        ("b", "here", EYE): {("look", "here"): {"level": number, "light": lit}},
        ("c", "here", EYE): {("look", "here"): {**healthy[EYE]["look", "here"], "light": odd["light"]}},
        ("d", "here", EYE): {},
    }
    text = signature_file.to_text(Kept("1", healthy, parts))
    back = signature_file.from_text(text, "1")
    assert (back.healthy, back.parts) == (healthy, parts)
    assert list(back.parts["b", "here", EYE]["look", "here"]) == ["level", "light"], "in their order"
    assert math.isinf(back.healthy[EYE]["look", "here"]["light"].low)
    assert signature_file.from_text(text, "2") is None


def test_the_stamp_is_the_same_in_every_run():
    # Python shuffles its sets anew in each run, by this number.
    tell = "from helpers.line.practice import cache_key, case; print(cache_key.of_installation(case.mill()))"
    told = {
        subprocess.run(
            [sys.executable, "-c", tell],
            env={**os.environ, "PYTHONHASHSEED": seed}, capture_output=True, text=True, check=True, cwd=ROOT,
        ).stdout
        for seed in ("1", "2", "3")
    }  # fmt: skip
    assert len(told) == 1
