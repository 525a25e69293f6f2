"""The networks that a user keeps: nothing kept is lost, whatever goes wrong with another one."""

import os
import signal
import subprocess
import sys
import time
from dataclasses import replace

import pytest
from plan_tables import DEMO, as_csv, demo, put, row_of

from helpers.errors import Unknown, Unreadable, WorkbookError
from helpers.plan.my_networks import DEMO_SITE, DEMOS, MyNetworks, checked_name, demo_plan, my_networks, plan_named
from helpers.plan.read import read_plan

posix = pytest.mark.skipif(os.name == "nt", reason="Windows has no SIGKILL and no rights of this kind")
MILL = read_plan(DEMO)


@pytest.fixture
def mine(tmp_path):
    return MyNetworks(tmp_path / "networks")


def test_the_folder_is_beside_the_progress(tmp_path, monkeypatch):
    monkeypatch.setenv("WORKBOOK_PROGRESS", str(tmp_path / "stick"))
    my_networks().save("Mill", MILL)
    assert [file.name for file in (tmp_path / "stick" / "networks").iterdir()] == ["Mill.zip"]


def test_looking_leaves_no_trace(mine):
    assert mine.names() == () and mine.chosen() == DEMO_SITE
    assert [offer.words for offer in mine.offers()] == [
        "Saltmarsh Mill (invented)",
        "the Mill extended: Mill line (invented)",
        "the Mill extended: Silo line (invented)",
    ]
    assert not mine.folder.exists()


def test_a_kept_plan_is_the_plan_with_its_device_descriptions(mine):
    tables = put(demo(), "stations", row_of(demo(), "stations", name="Cooling fan"), "device description", "own.gsd")
    description = (DEMO.parent / "descriptions" / "Mil_FFF1.gsd").read_bytes()
    plan = read_plan(as_csv(tables) | {"own.gsd": description})
    assert mine.save("My plant", plan) == "My plant"
    again = MyNetworks(mine.folder).read("My plant")
    assert again.networks == plan.networks and again.name == "My plant"
    assert [file.content for file in again.networks[0].descriptions] == [description]


def test_a_kept_plan_can_be_taken_away_and_given_by_its_path(mine, tmp_path):
    mine.save("My plant", MILL)
    (tmp_path / "taken.zip").write_bytes(mine.file("my plant"))
    assert plan_named(str(tmp_path / "taken.zip")).networks == MILL.networks


def test_a_plan_that_could_not_be_read_again_is_refused_before_it_is_kept(mine):
    network = MILL.networks[0]
    segments = (replace(network.segments[0], plugs=(network.segments[0].plugs[0],) * 9), network.segments[1])
    mine.save("Mill", MILL)
    with pytest.raises(Unreadable, match=r"'Mill' can't be kept as it is: .*expected a name not yet used"):
        mine.save("Mill", replace(MILL, networks=(replace(network, segments=segments),)), overwrite=True)
    assert mine.read("Mill").networks == MILL.networks


def test_a_taken_name_is_not_overwritten_unless_asked(mine):
    mine.save("Mill", MILL)
    with pytest.raises(Unreadable, match="keep a network 'Mill' already"):
        mine.save("mill ", demo_plan("the Mill extended"))
    assert mine.read("Mill").networks == MILL.networks
    assert mine.save("mill", demo_plan("the Mill extended"), overwrite=True) == "Mill"
    assert mine.names() == ("Mill",) and len(mine.read("MILL").networks) == 2


def test_rename_and_remove_concern_one_network_only(mine):
    for name in ("a", "b"):
        mine.save(name, MILL)
    mine.choose("a")
    with pytest.raises(Unreadable, match="'b' already"):
        mine.rename("a", "B")
    assert mine.rename("a", "c") == "c" and mine.names() == ("b", "c") and mine.chosen() == "c"
    assert mine.rename("c", "C") == "C" and mine.names() == ("b", "C")
    mine.remove("C")
    assert mine.names() == ("b",) and mine.chosen() == DEMO_SITE
    with pytest.raises(Unknown, match="kept are: b"):
        mine.remove("C")


def test_what_was_chosen_stays_chosen_for_the_next_page(mine):
    mine.save("Mill", MILL)
    mine.choose("Mill")
    assert MyNetworks(mine.folder).chosen() == "Mill"
    mine.choose("the Mill extended")
    assert mine.chosen() == "the Mill extended"
    (mine.folder / "chosen.txt").write_bytes(b"\xff\xfe nonsense" * 1000)
    assert mine.chosen() == DEMO_SITE


@pytest.mark.parametrize(
    "name",
    ["", "  ", "a/b", "a\\b", "..", ".hidden", "end.", "what?", "a:b", "x" * 61, "🙂" * 50, "CON", "nul.x", "lpt1",
     "saltmarsh  MILL", "bell\a", "half \ud800"],
)  # fmt: skip
def test_a_name_that_no_file_can_bear_is_refused_with_a_sentence(mine, name):
    with pytest.raises(Unreadable):
        mine.save(name, MILL)
    assert mine.names() == ()


@pytest.mark.parametrize("name", ["Straße 7", "Linie (neu)", "工場", "cafe\u0301", "a.b", "x" * 60])
def test_names_in_other_languages_are_kept(mine, name):
    kept = mine.save(name, MILL)
    assert mine.names() == (kept,) and kept == checked_name(name)
    assert mine.read(name).networks == MILL.networks


def test_a_damaged_file_is_told_and_left_and_the_others_are_read(mine):
    for name in ("good", "bad"):
        mine.save(name, MILL)
    content = bytearray((mine.folder / "bad.zip").read_bytes())
    content[len(content) // 3] ^= 0xFF
    (mine.folder / "bad.zip").write_bytes(content)
    with pytest.raises(Unreadable, match=r"'bad' can't be read: .*left as it is.*Your other networks are not touched"):
        mine.read("bad")
    assert mine.read("good").networks == MILL.networks
    assert "good" in {offer.plan for offer in mine.offers()}
    assert (mine.folder / "bad.zip").read_bytes() == content
    mine.save("bad", MILL, overwrite=True)
    assert mine.read("bad").networks == MILL.networks


@pytest.mark.parametrize("content", [b"", b"no zip", b"PK\x03\x04" + bytes(60), b"PK\x05\x06" + bytes(18)])
def test_rubbish_in_the_folder_is_offered_as_what_it_is(mine, content):
    mine.save("good", MILL)
    (mine.folder / "rubbish.zip").write_bytes(content)
    (mine.folder / "notes.txt").write_text("mine")
    assert mine.names() == ("good", "rubbish")
    assert [offer.words for offer in mine.offers()][-2:] == ["good", "rubbish (can't be read)"]
    with pytest.raises(Unreadable, match="rubbish"):
        mine.network("rubbish")


def test_a_file_that_unpacks_to_far_more_than_a_plan_is_refused(mine):
    from helpers.plan.record import zipped

    mine.save("good", MILL)
    (mine.folder / "bomb.zip").write_bytes(zipped({"network.csv": bytes(50_000_000)}))
    with pytest.raises(Unreadable, match=r"unpacks to 50\.0 MB"):
        mine.read("bomb")


def test_another_network_of_a_kept_plan_is_found_by_its_name(mine):
    mine.save("two", demo_plan("the Mill extended"))
    assert mine.network("two", "Silo line").name == "Silo line"
    assert mine.network("two", "gone").name == "Mill line"
    assert [offer.words for offer in mine.offers()][-2:] == ["two: Mill line", "two: Silo line"]


def test_a_plan_is_found_by_a_kept_name_a_demo_name_or_a_path(tmp_path, monkeypatch):
    monkeypatch.setenv("WORKBOOK_PROGRESS", str(tmp_path))
    my_networks().save("data", demo_plan("the Mill extended"))
    assert len(plan_named("DATA").networks) == 2, "a kept name goes before a folder of that name"
    assert plan_named("saltmarsh mill") == demo_plan()
    assert plan_named(str(DEMO)).networks == MILL.networks
    with pytest.raises(Unknown, match="networks by name are: data, Saltmarsh Mill, the Mill extended"):
        plan_named("nowhere")


def test_the_demo_plans_say_that_they_are_invented():
    for name in DEMOS:
        assert demo_plan(name).networks and demo_plan(name).name == name


# -- two notebooks, killed kernels, folders that refuse ------------------------------------------------

_SAVE = """
import sys
from pathlib import Path
from helpers.errors import WorkbookError
from helpers.plan.my_networks import MyNetworks, demo_plan
mine, plan = MyNetworks(Path(sys.argv[1])), demo_plan(sys.argv[2])
for n in range(int(sys.argv[3])):
    try:
        mine.save(f"{sys.argv[4]} {n}", plan, overwrite=len(sys.argv) > 5)
        print("kept", n, flush=True)
    except WorkbookError:
        pass
"""


def saving(folder, demo, times, name, *more):
    arguments = [sys.executable, "-c", _SAVE, str(folder), demo, str(times), name, *more]
    return subprocess.Popen(arguments, stdout=subprocess.PIPE, text=True)


def test_two_notebooks_that_save_at_once_lose_nothing(mine):
    first, second = saving(mine.folder, DEMO_SITE, 40, "net"), saving(mine.folder, "the Mill extended", 40, "net")
    kept = [set(process.communicate(timeout=60)[0].split("\n")) - {""} for process in (first, second)]
    assert not kept[0] & kept[1] and len(kept[0] | kept[1]) == 40, "each name went to exactly one of the two"
    assert len(mine.names()) == 40
    for n in range(40):
        assert len(mine.read(f"net {n}").networks) == (1 if f"kept {n}" in kept[0] else 2)


@posix
def test_a_kernel_that_is_killed_while_it_saves_leaves_whole_files_only(mine):
    for _ in range(5):
        process = saving(mine.folder, "the Mill extended", 100_000, "net", "overwrite")
        assert process.stdout.readline() == "kept 0\n"
        time.sleep(0.02)
        process.send_signal(signal.SIGKILL)
        process.communicate()
        assert all(len(mine.read(name).networks) == 2 for name in mine.names())


@posix
def test_a_folder_that_may_not_be_written_is_told(mine, tmp_path):
    (tmp_path / "networks").write_text("a file in its place")
    with pytest.raises(WorkbookError, match=r"can't be changed .*WORKBOOK_PROGRESS can name another"):
        mine.save("Mill", MILL)
    assert mine.names() == () and mine.chosen() == DEMO_SITE


def test_a_stick_that_is_not_plugged_in_is_not_made_up(tmp_path):
    with pytest.raises(WorkbookError, match="can't be changed"):
        MyNetworks(tmp_path / "no-stick" / "progress" / "networks").save("Mill", MILL)
    assert not (tmp_path / "no-stick").exists()
