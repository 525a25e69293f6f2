"""Signatures: their making in the background and within a time limit, and the file in which they are kept."""

import gzip
import json
import time
from functools import cache
from multiprocessing import active_children
from types import SimpleNamespace

import pytest
from line_nets import row

from helpers.line.instruments.catalogue import take
from helpers.line.plant.build import installation_of
from helpers.line.plant.place import plugs
from helpers.line.practice.signature import EYE, METER, PARTS, RUNNING
from helpers.line.practice.signatures import Signatures
from helpers.line.traffic.line import Line


@cache
def tiny():
    return installation_of(row(1, 1_500_000))


def of(key, folder=None):
    """Signatures of one fault only."""
    found = Signatures(tiny(), folder)
    found.all = tuple(c for c in found.all if c.fault.key == key)
    return found


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """The signature of one fault, and the name and octets of its file."""
    folder = tmp_path_factory.mktemp("kept")
    stop = of("controller in stop", folder)
    assert stop.progress == 0 and stop.work(600) and stop.progress == 1
    (file,) = folder.iterdir()
    return stop, file.name, file.read_bytes()


def test_cheap_parts_of_all_faults_come_before_anything_is_run():
    order = [part for _, part in Signatures(tiny())._missing()]
    assert order == sorted(order, key=PARTS.index)
    assert (order[0], order[-1]) == (EYE, RUNNING) and METER in order


def test_a_process_in_the_background_makes_the_same_and_is_ended(tmp_path):
    signatures = Signatures(tiny(), tmp_path)
    signatures.start()
    signatures.start()  # no second one
    assert len(active_children()) == 1
    give_up = time.monotonic() + 120  # only against a test that hangs
    while not signatures.progress and time.monotonic() < give_up:
        time.sleep(0.05)
    signatures.stop()
    signatures.stop()
    assert not active_children()
    assert 0 < signatures.progress < 1
    again = Signatures(tiny(), tmp_path)
    assert again.progress == signatures.progress
    first = signatures.all[0]
    assert again.known(first, "look")
    anew = Signatures(tiny())
    for place in plugs(tiny()):
        assert again.expected(first, "look", place.words) == anew.expected(first, "look", place.words)


def test_several_processes_share_the_work(tmp_path):
    few = of("controller in stop", tmp_path)
    few.start(processes=3)
    assert len(active_children()) == 3, "four parts of one fault"
    give_up = time.monotonic() + 120  # only against a test that hangs
    while few.working and time.monotonic() < give_up:
        time.sleep(0.05)
    assert few.progress == 1 and not active_children()
    alone = of("controller in stop")
    assert alone.work(600) and alone._parts == few._parts
    assert of("controller in stop", tmp_path).progress == 1, "kept when the last of them is ready"


def test_a_question_ends_with_the_size_that_runs_when_the_time_is_up(monkeypatch):
    clock, made = [0.0], []

    def second(installation, part):
        clock[0] += 1
        made.append((installation, part))
        return {}

    reading = take(Line(tiny()), "controller")
    monkeypatch.setattr("helpers.line.practice.signatures.time", SimpleNamespace(monotonic=lambda: clock[0]))
    monkeypatch.setattr("helpers.line.practice.signatures.of_one_size", second)
    monkeypatch.setattr("helpers.line.practice.signatures.signature", lambda several, part: {})
    shorts = of("short")
    assert len(shorts.all) == 1, "one piece of cable, and a short in three sizes"
    found = shorts.candidates([reading], seconds=1.5)
    assert len(made) == 2 and found.unknown == shorts.all and not found.fitting
    assert shorts.candidates([reading], seconds=-1).unknown == shorts.all
    assert len(made) == 2
    shorts.candidates([reading], seconds=1.5)
    assert len(made) == 3 == len(set(map(repr, made))), "what was run is not run again"
    assert shorts.known(shorts.all[0], "controller")


def test_what_is_made_is_kept_on_the_disk(tmp_path, kept):
    first, name, octets = kept
    (tmp_path / name).write_bytes(octets)
    again = of("controller in stop", tmp_path)
    assert again.progress == 1
    assert again._parts == first._parts


def with_entry(good, entry):
    return gzip.compress(json.dumps([*json.loads(gzip.decompress(good)), entry]).encode())


def of_look(lines):
    return ["controller in stop", "Controller", "eye", [["look", ["plug of Drive 1"], lines]]]


DAMAGED = {
    "empty": lambda good: b"",
    "other": lambda good: b"no such thing",
    "cut off": lambda good: good[: len(good) // 2],
    "changed": lambda good: good[:40] + bytes(40) + good[80:],
    "no list": lambda good: gzip.compress(b"5"),
    "other lists": lambda good: with_entry(good, ["controller in stop", "Controller"]),
    "no such part": lambda good: with_entry(good, ["controller in stop", "Controller", "nose", []]),
    "a list for lines": lambda good: with_entry(
        good, ["controller in stop", "Controller", "eye", [["look", [""], [1]]]]
    ),
    "nothing for a number": lambda good: with_entry(good, of_look({"lit": [None]})),
    "three numbers": lambda good: with_entry(good, of_look({"lit": [1, 2, 3]})),
}


@pytest.mark.parametrize("damage", DAMAGED)
def test_a_damaged_file_is_made_anew(tmp_path, kept, damage):
    _, name, octets = kept
    (tmp_path / name).write_bytes(DAMAGED[damage](octets))
    assert of("controller in stop", tmp_path).progress == 0


def test_a_folder_that_can_not_be_written_does_no_harm(tmp_path):
    lost = of("controller in stop", tmp_path / "gone")
    lost.expected(lost.all[0], "look", "plug of Drive 1")
    assert not lost.save() and lost.progress == 0.25


def test_files_of_other_versions_go_and_nothing_else_does(tmp_path, kept):
    _, name, _ = kept
    own, installation = name.removeprefix("signatures-").split("-")
    other = f"signatures-{own}-{'0' * 16}.json.gz"  # the same version, another installation
    stay = {other, "notes.txt", "signatures.json.gz", f"my-signatures-{'0' * 16}.json.gz", f"signatures-{own}.json.gz"}
    go = {f"signatures-{'0' * 16}.json.gz", f"signatures-{'0' * 12}-{installation}"}
    for file in stay | go:
        (tmp_path / file).write_bytes(b"x")
    signatures = of("controller in stop", tmp_path)
    assert go <= {file.name for file in tmp_path.iterdir()}, "nothing goes before something is saved"
    signatures.expected(signatures.all[0], "look", "plug of Drive 1")
    assert signatures.save()
    assert {file.name for file in tmp_path.iterdir()} == stay | {name}
