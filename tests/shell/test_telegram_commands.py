"""`telegram` and `diagnosis` in the shell: what is shown, what is left out, and what is refused."""

import io
import shlex

import pytest

from helpers import facts
from helpers.bus.recording import telegram_meaning as telegrams
from helpers.shell.main import main

DEMO = "--file data/demo/bus_recording.txt"


@pytest.fixture
def run(capsys, monkeypatch):
    monkeypatch.chdir(facts.DATA.parent)

    def typed(line):
        status = main(shlex.split(line))
        out, err = capsys.readouterr()
        return status, out, err

    return typed


def test_a_recording_with_its_pairs(run):
    status, out, err = run(f"telegram {DEMO}")
    assert (status, err) == (1, "")  # a telegram is damaged
    lines = out.splitlines()
    head = next(n for n, line in enumerate(lines) if line.startswith("no."))
    assert lines[head].split() == [
        "no.",
        "who",
        "to",
        "whom",
        "meaning",
        "remark",
        "octets",
        "pair",
        "line",
        "time",
        "stamp",
    ]
    assert lines[head + 1].split()[:5] == ["1", "master", "1", "to", "the"]
    counts = "15 requests, 10 answers, 2 tokens, 1 damaged, 1 piece of rubbish; 4 without an answer, 2 repeated"
    assert counts in out.replace("\n", " ")
    assert max(map(len, lines)) <= 100


def test_only_so_many_are_shown(run):
    assert "--most 29 shows them all" in run(f"telegram {DEMO} --most 3")[1]
    assert "--most 7 shows them all" in run(f"telegram {DEMO} --most 2 --unusual")[1]
    assert "not shown" not in run(f"telegram {DEMO} --most 29")[1]


def test_one_telegram_octet_by_octet(run):
    status, out, _ = run("telegram 0x10 0x02 0x01 0x49 0x4C 0x16")
    assert (status, out.splitlines()[0]) == (
        0,
        "No. 1, SD1 request from master 1 to station 2 – FDL status: asks whether a station is there. No",
    )
    assert run(f"telegram {DEMO} --octet 18")[0] == 1
    assert "M. Felser" in run("telegram 10 02 01 49 4C 16 --sources")[1].replace("\n", " ")
    assert "nobody asked" in run("telegram E5 --unusual")[1]
    assert "Nothing unusual." in run("telegram DC 01 01 --unusual")[1]


def test_a_recording_that_is_piped_in(run, monkeypatch):
    piped = "12:00:01 DC 01 01\n12:00:02 DC 01 01\n" + "nothing here\n" * 12
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(piped.encode())))
    status, out, _ = run("telegram --file -")
    assert status == 0
    assert "Line 3: 'nothing here' holds no octets" in out
    assert "And 9 more lines could not be read." in out.replace("\n", " ")
    assert "12:00:02" in out and "12 lines skipped in whole or in part" in out.replace("\n", " ")


def test_a_long_recording_shows_its_progress_on_a_screen(run, monkeypatch, tmp_path):
    path = tmp_path / "long.txt"
    path.write_text("DC 01 01\n" * 12_000)
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    status, out, err = run(f"telegram --file {path} --most 1")
    assert (status, "12000 tokens" in out) == (0, True)
    assert "reading: 100%" in err
    assert "explaining:  83%" in err


def test_a_long_recording_can_be_stopped(run, monkeypatch):
    whole = telegrams.read

    def interrupted(octets):
        yield from list(whole(octets))[:2]
        raise KeyboardInterrupt

    monkeypatch.setattr(telegrams, "read", interrupted)
    status, out, err = run("telegram DC 01 01 DC 01 01 DC 01 01")
    assert (status, "2 tokens" in out) == (0, True)
    assert "stopped" in err


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("telegram", "holds no octets"),
        ("telegram no octets", "holds no octets"),
        ("telegram --file nowhere.txt", "can't be read"),
        (f"telegram {DEMO} --most 0", "allowed is 1 to 1000000"),
        ("telegram 10 --octet 4", "telegram is 4; allowed is 1 to 1"),
        ("telegram 10 --octet four", "is not a whole number"),
        ("diagnosis 02 05", "number of octets of Slave_Diag is 2; allowed is 3 to 244"),
        ("diagnosis 68 05 05 68 8C 81 6D 3C 3E F4 16", "no answer with Slave_Diag"),
        ("diagnosis none", "holds no octets"),
    ],
)
def test_what_is_not_understood_gives_a_sentence_and_status_2(run, line, said):
    status, _, err = run(line)
    assert status == 2
    assert said in err


def test_diagnosis_from_octets_or_from_the_whole_telegram(run):
    plain = run("diagnosis 02 05 00 FF FF F1")
    whole = run("diagnosis 68 0B 0B 68 81 8C 08 3E 3C 02 05 00 FF FF F1 85 16")
    assert "From station 12." in whole[1]
    assert plain == (whole[0], whole[1].replace("From station 12.\n", ""), whole[2])
    assert plain[1].startswith("Waits for parameters.")
    assert "look at first" in plain[1]


def test_diagnosis_with_all_bits_and_sources(run):
    status, out, _ = run("diagnosis 08 0C 00 01 FF F1 04 01 02 09 --bits --sources --dpv1")
    assert status == 0
    assert "diagnosis alarm" in out and "if the station works by DPV1" not in out
    assert "Thermo" in out and "common practice" in out
    assert out.count("reserved 3.") == 7
    assert max(map(len, out.splitlines())) <= 100


def test_hands_are_warned_before_they_reach_into_a_drive(run):
    told = " ".join(run("diagnosis 01 00 00 FF 00 00")[1].split())
    assert "DANGER: Mains and DC links are near" in told and "python -m helpers isolation" in told
    assert "Prove the tester again" in run("isolation")[1]
