"""Nothing a learner typed is lost: killed kernels, two notebooks, full disks, damaged files."""

import contextlib
import csv
import os
import signal
import sqlite3
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import pytest

from helpers.errors import WorkbookError
from helpers.files import own_folder
from helpers.study import progress as module
from helpers.study.progress import FILE, Attempt, Progress, own_progress

posix = pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL, no limit of file size, no uid")


def answer(kind="free-address", verdict="right", lesson="addresses", **more):
    return Attempt(lesson, kind, "1", "7", verdict, **more)


def run(code: str, *arguments: object, **more: object) -> subprocess.CompletedProcess[str]:
    """Run code in a process of its own, with `answer` and `Progress` at hand."""
    return subprocess.run([sys.executable, "-c", START + code, *map(str, arguments)], capture_output=True, text=True,
                          check=True, timeout=60, **more)  # fmt: skip


START = """
import os, signal, sys
from pathlib import Path
from helpers.study.progress import Attempt, Progress
progress = Progress(Path(sys.argv[1]))
def answer(n):
    return Attempt('addresses', 'kind', str(n), 'typed', 'right')
"""


def checked(folder: Path) -> list[Attempt]:
    """All answers of a folder, of which SQLite itself says that it is sound."""
    file = sqlite3.connect(folder / FILE)
    assert file.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    file.close()
    return Progress(folder).answers()


# -- what is kept -------------------------------------------------------------------------------------


def test_answers_are_there_for_the_next_kernel(tmp_path):
    first, second = answer(), answer("rotary", "slip")
    progress = Progress(tmp_path)
    assert progress.record(first) == progress.record(second) == ""
    assert Progress(tmp_path).answers() == [first, second]


def test_before_the_first_answer_there_is_no_file(tmp_path):
    progress = Progress(tmp_path)
    assert (progress.answers(), progress.right(), progress.last_place(), progress.trouble) == ([], {}, None, "")
    assert list(tmp_path.iterdir()) == []


def test_progress_counts_kinds_answered_right_without_the_steps(tmp_path):
    progress = Progress(tmp_path)
    for one in (
        answer("rotary", "wrong"),
        answer("rotary"),
        answer("rotary"),
        answer("usable", "slip"),
        answer("dip-set", steps_seen=True),
        answer("count", lesson="segments"),
    ):
        progress.record(one)
    assert progress.right() == {"addresses": {"rotary"}, "segments": {"count"}}
    assert progress.last_place() == ("segments", "count")


def test_any_text_is_kept_as_it_was_typed(tmp_path):
    odd = Attempt("l", "k", 'Ann\'s "set"', "'; DROP TABLE answers; -- µΩ 数 \x00 \n", "wrong")
    Progress(tmp_path).record(odd)
    assert Progress(tmp_path).answers() == [odd]


def test_the_file_holds_no_more_than_it_must(tmp_path):
    Progress(tmp_path).record(answer())
    columns = sqlite3.connect(tmp_path / FILE).execute("SELECT name FROM pragma_table_info('answers')").fetchall()
    assert {name for (name,) in columns} == {
        "lesson", "kind", "seed", "typed", "verdict", "steps_seen", "at", "id"}  # fmt: skip


def test_the_folder_can_be_named(tmp_path, monkeypatch):
    monkeypatch.setenv("WORKBOOK_PROGRESS", str(tmp_path / "stick"))
    assert own_folder() == tmp_path / "stick"
    assert own_progress() is own_progress()
    assert own_progress().record(answer()) == ""
    assert (tmp_path / "stick" / FILE).is_file()
    monkeypatch.delenv("WORKBOOK_PROGRESS")
    assert "fieldbus-workbook" in str(own_folder())


# -- two notebooks, killed kernels --------------------------------------------------------------------


def test_two_notebooks_write_at_the_same_time(tmp_path):
    code = "for n in range(25): assert progress.record(answer(n)) == ''"
    both = [subprocess.Popen([sys.executable, "-c", START + code, str(tmp_path)]) for _ in range(2)]
    assert [process.wait(60) for process in both] == [0, 0]
    assert sorted(int(a.seed) for a in checked(tmp_path)) == sorted([*range(25), *range(25)])


def test_a_notebook_that_waits_in_vain_keeps_its_answer(tmp_path):
    progress = Progress(tmp_path, patience_s=0.05)
    progress.record(answer("rotary"))
    other = sqlite3.connect(tmp_path / FILE, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    said = progress.record(answer("usable"))
    assert "Another notebook is at the progress file. 1 answer is kept in memory" in said
    assert [a.kind for a in progress.answers()] == ["usable"]  # what can be known while the file is locked
    other.execute("ROLLBACK")
    other.close()
    assert progress.right() == {"addresses": {"rotary", "usable"}}
    assert progress.trouble == said  # reading does not make it forget what is unwritten
    assert progress.write() == ""
    assert [a.kind for a in checked(tmp_path)] == ["rotary", "usable"]


@posix
def test_a_kernel_killed_between_answers_loses_none(tmp_path):
    code = "n = 0\nwhile True:\n    progress.record(answer(n)); print(n, flush=True); n += 1"
    process = subprocess.Popen([sys.executable, "-c", START + code, str(tmp_path)], stdout=subprocess.PIPE, text=True)
    assert process.stdout is not None
    for _ in range(20):
        told = process.stdout.readline()
    process.send_signal(signal.SIGKILL)
    rest = process.stdout.read().split()
    process.stdout.close()
    assert process.wait(60) == -signal.SIGKILL
    saved = [int(a.seed) for a in checked(tmp_path)]
    last = int(rest[-1]) if rest else int(told)
    assert saved in (list(range(last + 1)), list(range(last + 2)))  # the one in the air may or may not be there


@posix
def test_a_kernel_killed_in_the_middle_of_a_write_leaves_a_sound_file(tmp_path):
    # The small cache makes SQLite write into the file before the commit, so a journal must take it back.
    Progress(tmp_path).record(answer("before"))
    code = """
import sqlite3
real = sqlite3.connect
def small_cache(*a, **k):
    file = real(*a, **k); file.execute('PRAGMA cache_size = 5'); return file
sqlite3.connect = small_cache
class Endless(list):
    def __iter__(self):
        n = 0
        while True:
            yield answer(n); n += 1
progress._unwritten = Endless([1])
progress.write()
"""
    process = subprocess.Popen([sys.executable, "-c", START + code, str(tmp_path)])
    small = (tmp_path / FILE).stat().st_size
    for _ in range(600):
        if (tmp_path / FILE).stat().st_size > 20 * small:
            break
        time.sleep(0.05)
    process.send_signal(signal.SIGKILL)
    assert process.wait(60) == -signal.SIGKILL
    assert (tmp_path / f"{FILE}-journal").stat().st_size > 0
    progress = Progress(tmp_path)
    assert [a.kind for a in progress.answers()] == ["before"]
    assert progress.record(answer("after")) == ""
    assert [a.kind for a in checked(tmp_path)] == ["before", "after"]


def test_a_write_that_was_done_but_reported_as_failed_counts_once(tmp_path):
    progress, one = Progress(tmp_path), answer()
    progress.record(one)
    progress.record(one)
    assert checked(tmp_path) == [one]


# -- no room, no right to write -----------------------------------------------------------------------


@posix
def test_on_a_full_disk_answers_wait_in_memory(tmp_path):
    # A limit on the size of a file stands for the full disk; it is lifted again, as when room is made.
    code = """
import resource
signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
assert progress.record(answer(0)) == ''
resource.setrlimit(resource.RLIMIT_FSIZE, (os.stat(progress.path).st_size, resource.RLIM_INFINITY))
said = ''
n = 1
while not said:
    said = progress.record(answer(n)); n += 1
progress.record(answer(n))
print(said)
print(n)
assert [a.seed for a in progress.answers()] == [str(i) for i in range(n + 1)]
resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
assert progress.record(answer(n + 1)) == ''
"""
    said, last = run(code, tmp_path).stdout.splitlines()
    assert "the disk may be full" in said
    assert "1 answer is kept in memory and written with your next one" in said
    assert [int(a.seed) for a in checked(tmp_path)] == list(range(int(last) + 2))


def test_the_message_of_a_full_disk_says_so(tmp_path, monkeypatch):
    # SQLite's own "full" comes from its limit of pages, the same code as from a disk without room.
    progress = Progress(tmp_path)
    progress.record(answer())
    real = sqlite3.connect

    def full(*arguments, **more):
        file = real(*arguments, **more)
        file.execute("PRAGMA max_page_count = 1")
        return file

    monkeypatch.setattr(sqlite3, "connect", full)
    said = progress.record(Attempt("l", "k", "1", "x" * 100_000, "wrong"))
    assert said.startswith(f"The disk that holds {tmp_path} is full. Make room on it. 1 answer is kept in memory")
    monkeypatch.undo()
    assert progress.record(answer()) == ""
    assert len(checked(tmp_path)) == 3


@posix
def test_a_folder_that_may_not_be_written_is_named_and_nothing_is_lost():
    # Root may write everywhere, so the child gives its rights away first.
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        Progress(folder).record(answer("rotary"))
        for path in (folder / FILE, folder):
            path.chmod(0o444 if path.is_file() else 0o555)
        code = """
if os.getuid() == 0: os.setuid(65534)
said = progress.record(answer(1))
assert len(progress.answers()) == 2, progress.answers()
assert progress.trouble == said
print(said)
"""
        said = run(code, folder).stdout
        folder.chmod(0o755)
    assert f"The progress file in {name} cannot be used (attempt to write a readonly database)." in said
    assert "1 answer is kept in memory" in said


@posix
def test_a_folder_that_may_not_even_be_looked_into_is_named():
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o000)
        code = """
if os.getuid() == 0: os.setuid(65534)
assert (progress.answers(), progress.right(), progress.trouble) == ([], {}, '')
print(progress.record(answer(1)))
assert len(progress.answers()) == 1
"""
        said = run(code, Path(name) / "inner").stdout
        Path(name).chmod(0o755)
    assert "cannot be used ([Errno 13] Permission denied" in said


def test_a_stick_that_is_not_plugged_in_is_not_made_up(tmp_path):
    progress = Progress(tmp_path / "no-stick" / "workbook")
    said = progress.record(answer())
    assert "cannot be used" in said
    assert "WORKBOOK_PROGRESS can name another" in said
    assert progress.right() == {"addresses": {"free-address"}}
    assert not (tmp_path / "no-stick").exists()
    (tmp_path / "no-stick").mkdir()
    assert progress.write() == ""
    assert len(checked(tmp_path / "no-stick" / "workbook")) == 1


def test_the_usual_folder_is_made_with_its_parents(tmp_path, monkeypatch):
    monkeypatch.setattr("helpers.files.usual_folder", lambda: tmp_path / "share" / "workbook")
    monkeypatch.delenv("WORKBOOK_PROGRESS", raising=False)
    assert own_progress().record(answer()) == ""
    assert (tmp_path / "share" / "workbook" / FILE).is_file()


def test_what_is_unwritten_at_the_end_is_tried_once_more(tmp_path):
    code = """
import helpers.study.progress as module
folder = Path(sys.argv[1]) / 'later' / 'workbook'
os.environ['WORKBOOK_PROGRESS'] = str(folder)
assert module.own_progress().record(answer(1)) != ''
folder.parent.mkdir()
"""
    run(code, tmp_path)
    assert len(checked(tmp_path / "later" / "workbook")) == 1


# -- damaged files ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "damage",
    [
        lambda raw: b"this is no database, it is a text that someone saved here by mistake." * 20,
        lambda raw: raw[:100] + os.urandom(len(raw) - 100),
        lambda raw: raw[:16] + b"\xff" * 84 + raw[100:],
        lambda raw: raw[: len(raw) // 2],
    ],
    ids=["no database", "noise", "broken head", "cut off"],
)
@pytest.mark.parametrize("first", ["write", "read"])
def test_a_damaged_file_is_set_aside_and_never_deleted(tmp_path, damage, first):
    for n in range(3):
        Progress(tmp_path).record(answer(f"old {n}"))
    damaged = damage((tmp_path / FILE).read_bytes())
    (tmp_path / FILE).write_bytes(damaged)
    progress = Progress(tmp_path)
    if first == "read":
        assert progress.answers() == []
        said = progress.trouble
        assert progress.record(answer("new")) == ""
    else:
        said = progress.record(answer("new"))
    (aside,) = tmp_path.glob("progress-damaged-*.sqlite")
    assert said == f"The progress file was damaged. It is kept as {aside}, and a new one was begun."
    assert aside.read_bytes() == damaged
    assert [a.kind for a in checked(tmp_path)] == ["new"]


def test_two_damaged_files_are_both_kept(tmp_path):
    for _ in range(2):
        (tmp_path / FILE).write_bytes(b"no database" * 100)
        Progress(tmp_path).record(answer())
    assert len(list(tmp_path.glob("progress-damaged-*"))) == 2


def test_a_file_that_another_notebook_has_just_replaced_is_left_alone(tmp_path, monkeypatch):
    progress = Progress(tmp_path)
    (tmp_path / FILE).write_bytes(b"no database" * 100)
    write, calls = progress._write, []

    def meanwhile():
        calls.append(1)
        if len(calls) == 1:
            try:
                write()
            finally:
                (tmp_path / FILE).unlink()
                Progress(tmp_path).record(answer("theirs"))
        else:
            write()

    monkeypatch.setattr(progress, "_write", meanwhile)
    assert progress.record(answer("ours")) == ""
    assert [a.kind for a in checked(tmp_path)] == ["theirs", "ours"]
    assert list(tmp_path.glob("progress-damaged-*")) == []


def test_a_file_of_a_newer_workbook_is_left_as_it_is(tmp_path):
    Progress(tmp_path).record(answer("theirs"))
    file = sqlite3.connect(tmp_path / FILE)
    file.execute("PRAGMA user_version = 99")
    file.close()
    before = (tmp_path / FILE).read_bytes()
    progress = Progress(tmp_path)
    assert "was made by a newer workbook" in progress.record(answer("ours"))
    assert [a.kind for a in progress.answers()] == ["ours"]
    assert (tmp_path / FILE).read_bytes() == before


def test_a_folder_in_the_place_of_the_file_is_named(tmp_path):
    (tmp_path / FILE).mkdir()
    assert "cannot be used (unable to open database file)" in Progress(tmp_path).record(answer())


# -- take away, delete --------------------------------------------------------------------------------


def read_csv(path: Path) -> list[list[str]]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        return list(csv.reader(file))


def test_the_export_holds_every_answer(tmp_path):
    progress = Progress(tmp_path / "p")
    (tmp_path / "p").mkdir()
    progress.record(answer("rotary", "slip", at="2001-02-03T04:05:06+00:00"))
    progress.record(Attempt("segments", "length", "2", '1,5 km; "quoted"', "right", True, "2001-02-03T04:06:00+00:00"))
    path = progress.export(tmp_path / "out.csv")
    assert read_csv(path) == [
        ["lesson", "kind", "seed", "typed", "verdict", "steps_seen", "at"],
        ["addresses", "rotary", "1", "7", "slip", "False", "2001-02-03T04:05:06+00:00"],
        ["segments", "length", "2", '1,5 km; "quoted"', "right", "True", "2001-02-03T04:06:00+00:00"],
    ]
    assert path.read_bytes().startswith(b"\xef\xbb\xbf")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["out.csv", "p"]


def test_a_name_goes_into_the_export_only_if_given(tmp_path):
    progress = Progress(tmp_path)
    progress.record(answer())
    assert [row[0] for row in read_csv(progress.export(tmp_path / "out.csv", learner="Ann"))] == ["learner", "Ann"]


def test_the_export_runs_nothing_in_a_spreadsheet(tmp_path):
    progress = Progress(tmp_path)
    for typed in ("=1+1", "@x", "+cmd", "-5", "-5,5", "+3"):
        progress.record(Attempt("l", "k", "1", typed, "wrong"))
    typed = [row[3] for row in read_csv(progress.export(tmp_path / "out.csv"))[1:]]
    assert typed == ["'=1+1", "'@x", "'+cmd", "-5", "-5,5", "+3"]


def test_an_export_that_cannot_be_written_says_why_and_leaves_the_old_one(tmp_path):
    progress = Progress(tmp_path)
    progress.record(answer())
    with pytest.raises(WorkbookError, match=r"Could not write .*nowhere.*choose another place"):
        progress.export(tmp_path / "nowhere" / "out.csv")


def test_an_export_is_refused_while_the_answers_cannot_be_read(tmp_path):
    progress = Progress(tmp_path, patience_s=0.05)
    progress.record(answer())
    other = sqlite3.connect(tmp_path / FILE, isolation_level=None)
    other.execute("BEGIN EXCLUSIVE")
    with pytest.raises(WorkbookError, match=r"Nothing was exported\. Another notebook"):
        progress.export(tmp_path / "out.csv")
    with pytest.raises(WorkbookError, match=r"could not be deleted\. Another notebook"):
        progress.delete(confirm=True)
    other.close()
    assert len(progress.answers()) == 1


def test_deleting_asks_first_and_then_leaves_nothing(tmp_path):
    (tmp_path / FILE).write_bytes(b"a damaged file with Ann's answers" * 50)
    progress = Progress(tmp_path)
    for n in range(3):
        progress.record(Attempt("l", "k", str(n), f"a telling text {n}", "wrong"))
    with pytest.raises(WorkbookError, match=r"This deletes 3 answers for good.*delete\(confirm=True\)"):
        progress.delete()
    assert len(progress.answers()) == 3
    assert progress.delete(confirm=True) == "Deleted: 3 answers, 1 damaged files."
    assert progress.answers() == Progress(tmp_path).answers() == []
    assert not any(b"telling" in path.read_bytes() or b"Ann" in path.read_bytes() for path in tmp_path.iterdir())
    assert progress.record(answer()) == ""
    assert len(checked(tmp_path)) == 1


def test_deleting_also_forgets_what_is_only_in_memory(tmp_path):
    progress = Progress(tmp_path / "no-stick" / "workbook")
    progress.record(answer())
    assert progress.delete(confirm=True) == "Deleted: 1 answers, 0 damaged files."
    assert (progress.answers(), progress.trouble) == ([], "")


def test_a_folder_of_somebody_unknown_is_told_and_nothing_is_lost(monkeypatch, tmp_path):
    kept = answer()
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("WORKBOOK_PROGRESS", "~nobody-of-this-name/x")
    progress = own_progress()
    assert "cannot be used" in progress.record(kept) and "kept in memory" in progress.trouble
    assert progress.answers() == [kept]


def test_half_a_pair_of_characters_does_not_block_what_comes_after(tmp_path):
    progress = Progress(tmp_path)
    assert progress.record(Attempt("l", "k", "1", "a\ud800b", "wrong", False, "2001-02-03T04:05:06+00:00", "1")) == ""
    assert progress.record(Attempt("l", "k", "2", "5", "right", False, "2001-02-03T04:05:07+00:00", "2")) == ""
    assert [kept.typed for kept in Progress(tmp_path).answers()] == ["a\\ud800b", "5"]
    assert progress.export(tmp_path / "out.csv").stat().st_size


def test_a_table_without_a_column_is_left_alone_and_told_in_plain_words(tmp_path):
    with contextlib.closing(sqlite3.connect(tmp_path / FILE)) as file:
        file.execute(
            "CREATE TABLE answers (lesson TEXT, kind TEXT, seed TEXT, typed TEXT, steps_seen INTEGER, id TEXT)"
        )
        file.execute("INSERT INTO answers VALUES ('l', 'k', '1', '5', 0, 'x')")
        file.commit()
    before = (tmp_path / FILE).read_bytes()
    progress = Progress(tmp_path)
    kept = answer()
    told = progress.record(kept)
    assert "was not made by this workbook: its table lacks the column verdict, at." in told and "kept in memory" in told
    assert progress.answers() == [kept] and (tmp_path / FILE).read_bytes() == before
    with pytest.raises(WorkbookError, match=r"Nothing was exported.*lacks the column"):
        progress.export(tmp_path / "out.csv")


def test_a_table_with_a_column_more_is_written_to(tmp_path):
    with contextlib.closing(sqlite3.connect(tmp_path / FILE)) as file:
        file.execute(module._TABLE.replace("id TEXT PRIMARY KEY", "id TEXT PRIMARY KEY, room TEXT"))
    kept = answer()
    assert Progress(tmp_path).record(kept) == ""
    assert Progress(tmp_path).answers() == [kept]
