"""The shell: every example of the help runs as it is shown, exit statuses mean something, errors are sentences.

What the answers say is tested beside each calculation; here it is that the shell hands it on.
"""

import os
import re
import shlex
import signal
import subprocess
import sys

import openpyxl
import pytest
from plan_tables import DEMO, as_csv, demo, put, row_of

from helpers import facts
from helpers.shell.main import EXAMPLES, commands, main

ROOT = facts.DATA.parent


def every_command(parts=None, before=()):
    for command in commands() if parts is None else parts:
        yield (*before, command.name), command
        yield from every_command(command.parts, (*before, command.name))


def shown():
    """Each example of the help: what is typed, and the lines shown below it."""
    for _, command in every_command():
        for block in re.split(r"^\$ python -m helpers ", command.examples, flags=re.MULTILINE)[1:]:
            typed, _, answer = block.partition("\n")
            yield pytest.param(typed, answer.rstrip("\n"), id=typed)


@pytest.fixture
def run(capsys, monkeypatch):
    """Run a command from the top of the repository; gives exit status, answer and error."""
    monkeypatch.chdir(ROOT)

    def typed(line):
        try:
            status = main(shlex.split(line) if isinstance(line, str) else line)
        except SystemExit as stopped:  # the way argparse ends
            status = stopped.code
        out, err = capsys.readouterr()
        return status, out, err

    return typed


def plan_folder(path, tables):
    path.mkdir()
    for name, content in as_csv(tables).items():
        (path / name).write_bytes(content)
    return path


@pytest.mark.parametrize(("typed", "answer"), list(shown()))
def test_examples_of_the_help_give_what_they_show(run, typed, answer):
    status, out, err = run(typed)
    assert (status in (0, 1), err) == (True, "")
    assert answer, "an example shows its answer"
    # a line of three dots stands for any lines left out
    parts = [re.escape(part) for part in re.split(r"^\.\.\.$", answer, flags=re.MULTILINE)]
    assert re.fullmatch("(?s)" + ".*".join(parts), out.rstrip("\n")), out


@pytest.mark.parametrize("typed", ["", "many", "70000", "-1", "1,5", "B5B5"])
def test_no_error_number_gets_a_sentence(run, typed):
    status, out, err = run(["parameter", "about", "--error", "--", typed])
    assert (status, out) == (2, "") and err.endswith(".\n")


def test_the_parameter_channel_is_read_with_a_page_only_where_the_manual_says_so(run):
    octets = "10 6E 00 80 00 00 00 50"
    plain, paged = (
        run(f"parameter answer {octets}")[1],
        run(f'parameter answer {octets} --ind "subindex, page bits"')[1],
    )
    assert "parameter 110 " in plain.replace("\n", " \n") and "16#80" in plain
    assert "parameter 2110" in paged
    status, out, err = run('parameter task "read 2110"')
    assert (status, out) == (2, "") and "manual" in err
    alone = run("parameter answer 96 13 00 00 00 00 15 00")[1]
    assert "bit 11 is 0" in alone and "parameter 918, 21" in alone
    held = run('parameter answer 96 13 00 00 00 00 15 00 --request "13 96 00 00 00 00 00 00"')[1]
    assert "bytes are exchanged" in " ".join(held.split()) and "has changed" not in held


def test_every_command_that_takes_arguments_shows_an_example():
    assert [name for name, command in every_command() if command.run and not command.examples] == [("plan", "columns")]


@pytest.mark.parametrize("line", re.findall(r"python -m helpers (.*)", EXAMPLES))
def test_examples_of_the_front_help_run(run, line):
    assert run(line)[0] in (0, 1)


@pytest.mark.parametrize("name", [name for name, _ in every_command()], ids=" ".join)
def test_every_command_has_help_that_ends_with_its_examples(run, name):
    status, out, _ = run([*name, "--help"])
    assert status == 0
    command = dict(every_command())[name]
    assert out.rstrip().endswith(command.examples.rstrip()) if command.examples else out


def test_exit_status_of_plan_check(run, tmp_path):
    assert run(["plan", "check", str(DEMO)])[0] == 0
    careful = put(demo(), "stations", row_of(demo(), "stations", name="Remote I/O"), "watchdog", "0")
    status, out, _ = run(["plan", "check", str(plan_folder(tmp_path / "careful", careful))])
    assert (status, "OUTSIDE CAUTIOUS PRACTICE\n  rule        watchdog\n  where       Remote I/O" in out) == (0, True)
    broken = put(careful, "stations", row_of(demo(), "stations", name="Cooling fan"), "address", "127")
    put(broken, "network", 3, "highest station address", "")
    status, out, _ = run(["plan", "check", str(plan_folder(tmp_path / "broken", broken))])
    assert status == 1
    assert out.index("NOT ALLOWED, CANNOT WORK\n  rule        address\n  where       Cooling fan") < out.index(
        "OUTSIDE CAUTIOUS PRACTICE\n"
    )
    unreadable = put(broken, "stations", 5, "position", "first")
    put(unreadable, "cable", 5, "length", "far")
    status, out, err = run(["plan", "check", str(plan_folder(tmp_path / "unreadable", unreadable))])
    assert (status, out) == (2, "")
    assert err.splitlines() == [
        "table stations, row 5, column position: found 'first'; expected a whole number, 0 or more, for example 3.",
        "table cable, row 5, column length: found 'far'; expected a length of 0 to 100000 m, in that unit or with its "
        "own, for example 12 m, or ?, about 20 m, 10 to 30 m.",
    ]


def test_plan_check_all_lists_what_is_in_order(run):
    few, many = (run(f"plan check data/demo/saltmarsh-mill {option}")[1] for option in ("", "--all"))
    assert "in order" in many
    assert len(many.splitlines()) > 40 > len(few.splitlines())


def test_plan_blank_and_copy(run, tmp_path):
    status, out, _ = run(["plan", "blank", str(tmp_path / "blank.xlsx")])
    assert (status, out) == (0, f"written: {tmp_path / 'blank.xlsx'}\n")
    assert openpyxl.load_workbook(tmp_path / "blank.xlsx").sheetnames == ["network", "stations", "cable", "neighbours"]
    status, _, err = run(["plan", "blank", str(tmp_path / "blank.xlsx")])
    assert status == 2
    assert "is there already" in err
    assert run(["plan", "copy", str(DEMO), str(tmp_path / "copy")])[0] == 0
    assert run(["plan", "check", str(tmp_path / "copy")])[0] == 0


def test_plan_figures_of_one_network(run):
    assert "Mill line" in run('plan figures data/demo/saltmarsh-mill --network "Mill line"')[1]
    status, _, err = run("plan figures data/demo/saltmarsh-mill --network Mill")
    assert (status, "known are Mill line" in err) == (2, True)


def test_a_place_that_can_not_be_written_gives_a_sentence(run, tmp_path):
    (tmp_path / "file").write_text("x")
    status, _, err = run(["plan", "blank", str(tmp_path / "file" / "plan.xlsx")])
    assert status == 2
    assert "can't be used" in err


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("plan check nowhere", "is not there"),
        ("address", "no address is given"),
        ("address 300", "allowed is 0 to 127"),
        ("address twelve", "is not a whole number"),
        ('address --dip "ON MAYBE"', "MAYBE"),
        ("address --rotary 1G", "1G"),
        ("address --new fans", "fans=3"),
        ("segment --length long --stations 3", "is not a length"),
        ("segment --length 10 --stations 1", "allowed is 2 to"),
        ("segment --length 10 --stations 3 --rate 1Mbit/s", "bit rate"),
        ("cycle --stations 8", "--format"),
        ('cycle --stations 8 --format "PPO 4" --out 3', "--format"),
        ('cycle --stations 8 --format "PPO 9"', "known are"),
        ("cycle --stations 126 --out 1 --in 1", "allowed is 1 to 125"),
        ("cycle --stations 8 --out 300 --in 1", "244"),
        ("cycle --stations 1000000000 --out 1 --in 1", "allowed is 1 to 125"),
        ("words status", "no word is given"),
        ("words status 99999", "allowed is 0 to 65535"),
        ("words control --on 0 --off 0", "0"),
        ("state fault", "--wish run"),
        ("state fault 0 0 --wish run", "--wish run"),
        ("state broken 0 0", "known are"),
        ("state fault 0 16#1FFFF", "allowed is 0 to 65535"),
        ("state fault 0 0 --option bits=1", "known are disable"),
        ("state fault 0 0 --option disable=brakes", "known are"),
        ("state fault --wish fly", "known are run"),
        ("nonsense", "invalid choice"),
        ("", "required"),
    ],
)
def test_what_is_not_understood_gives_a_sentence_and_status_2(run, line, said):
    status, out, err = run(line)
    assert status == 2
    assert said in err
    assert "Traceback" not in err
    assert out == ""


def test_status_1_where_the_answer_breaks_the_standard(run):
    assert run("address 127")[0] == 1
    assert run("address 3 3")[0] == 1
    assert run("address 3 4")[0] == 0
    assert run("segment --length 201 --stations 5 --rate 1.5Mbit/s")[0] == 1
    assert run("segment --length 200 --stations 5 --rate 1.5Mbit/s")[0] == 0


def test_segment_without_a_bit_rate_names_the_highest_by_all_sources_and_by_some(run):
    # type A: 1000 m by common practice, 1200 m by EN 50170 Vol. 2 (1997) p.32
    status, out, _ = run("segment --length 1100 --stations 5")
    assert status == 0
    assert "Only by the most lenient sources this cable carries up to 93.75 kbit/s." in " ".join(out.split())
    whole = run("segment --length 50 --stations 5")[1]
    assert whole.startswith("IN ORDER: ") and whole.endswith("This cable carries up to 12 Mbit/s.\n")


def test_a_segment_that_no_bit_rate_makes_legal_says_so_and_why(run):
    # 32 unit loads at most: the rows of data/station_limits.csv.
    out = " ".join(run("segment --length 100 --stations 33")[1].split())
    assert out.startswith("NOT ALLOWED") and "It is allowed at no bit rate: unit loads 33" in out
    assert "at most 32 unit loads" in out
    assert "12 Mbit/s" not in out


def test_figures_of_a_network_without_stations_to_poll(run, tmp_path):
    tables = demo()
    for name, kept in (("stations", 4), ("cable", 3)):
        del tables[name][kept:]
    status, out, _ = run(["plan", "figures", str(plan_folder(tmp_path / "pair", tables))])
    assert status == 0
    assert "there is no bus cycle" in out


def test_address_is_read_from_switches(run):
    assert run('address --dip "OFF ON ON ON ON ON ON"')[1].startswith("NOT ALLOWED, CANNOT WORK: Address 126 = 16#7E")
    assert run("address --dip 0111111")[1].startswith("NOT ALLOWED, CANNOT WORK: Address 126 = 16#7E")
    assert run("address --rotary 7E")[1].startswith("NOT ALLOWED, CANNOT WORK: Address 126 = 16#7E")
    assert run('address 0 --kind "engineering computer"')[1].startswith(
        "IN ORDER: Address 0 = 16#00 = 2#0000_0000: engineering practice."
    )


def test_a_full_line_has_no_free_address(run):
    assert "no address is free" in run(["address", *map(str, range(1, 126))])[1]


def test_a_word_that_can_start_a_motor_comes_with_a_caution(run):
    assert "WARNING: Sent to a live drive" in run("words control 16#047F")[1]
    assert "WARNING: Sent to a live drive" in run("words control 16#047E 16#047F")[1]
    assert "WARNING" not in run("words control 16#047E")[1]
    assert "WARNING" not in run("words status 16#0337")[1]
    assert "no bit differs" in run("words status 16#0337 16#0337")[1]


def test_state_tells_why_and_warns(run):
    assert "16#047F" in run("state operation 16#047F 16#047F --setpoint 0")[1]
    assert "The setpoint is 0" in run("state operation 16#047F 16#047F --setpoint 0")[1]
    assert "led from its own panel" in run('state "ready for switching on" 16#047E 16#047F --local')[1]
    assert "cause of the fault is still there" in run("state fault 16#047F 16#04FE --cause")[1]
    assert "Ramp stop → ready for switching on" in run('state "ramp stop" 16#047E 16#047E --standstill')[1]
    zeros = run("state operation 16#047F 16#0000")[1]
    assert "Remedy" in zeros
    assert "this too" not in zeros
    assert "Bit 1 is 0: OFF2" in run('state "switched on" 16#047F 0')[1]
    assert run("state operation --wish run")[1].startswith("Nothing to send")


LONG = [
    "state fault 16#047F --wish run",
    'state "switched on" 16#047F 0',
    "plan columns",
    "plan check data/demo/saltmarsh-mill --all",
    "plan figures data/demo/saltmarsh-mill",
    "words status 16#0337 --sources",
    "segment --length 1300 --stations 40 --rate 12Mbit/s --stub 3 --all",
    "address --new intake=9 dryer=20 silo=30 yard=40",
    "address 0 3 3 126 127",
    "cycle --stations 125 --out 244 --in 244 --masters 3 --length 1km --repeaters 2",
]


@pytest.mark.parametrize("line", LONG)
def test_answers_fit_100_columns(run, line):
    status, out, _ = run(line)
    assert status in (0, 1)
    assert max(len(row) for row in out.splitlines()) <= 100


def test_from_a_real_shell_and_into_a_closed_pipe():
    line = [sys.executable, "-m", "helpers", "plan", "columns"]
    whole = subprocess.run(line, cwd=ROOT, capture_output=True, text=True, encoding="utf-8", check=False)
    assert (whole.returncode, whole.stderr) == (0, "")
    with subprocess.Popen(line, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        process.stdout.close()
        assert process.stderr.read() == b""
    assert process.returncode == 141  # as a shell tells SIGPIPE


LONG_HELP = [sys.executable, "-m", "helpers", "plan", "--help"]


@pytest.mark.parametrize("line", [LONG_HELP, [*LONG_HELP[:-1], "columns"], [*LONG_HELP[:-2], "address", "127"]])
def test_a_closed_or_full_output_gives_no_traceback(line):
    if sys.platform == "win32":
        pytest.skip("no /dev/full, and no sh to close an output with")
    for where, status in ((">&-", {0, 1}), ("> /dev/full", {2})):
        if where == "> /dev/full" and not os.path.exists("/dev/full"):
            continue
        done = subprocess.run(["sh", "-c", f'"$@" {where}', "sh", *line], cwd=ROOT, capture_output=True, text=True)
        assert "Traceback" not in done.stderr and "Exception" not in done.stderr
        if "--help" not in line:  # argparse keeps to itself that a help text can't be written
            assert done.returncode in status
            assert ("can't be used: No space left on device" in done.stderr) == (status == {2})


def test_ctrl_c_ends_a_command_without_a_traceback():
    # The command waits for what is piped in. When the signal comes it may read already, or be about to.
    # Before `python -m helpers` itself can catch it, the one that begins it here must.
    code = (
        "import runpy, sys\n"
        "try: print('begun', flush=True); runpy.run_module('helpers', run_name='__main__')\n"
        "except KeyboardInterrupt: sys.exit(130)"
    )
    with subprocess.Popen(
        [sys.executable, "-c", code, "telegram", "--file", "-"],
        cwd=ROOT, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    ) as process:  # fmt: skip
        assert process.stdout.readline() == "begun\n"
        process.send_signal(signal.SIGINT)
        told = process.stderr.read()
    assert "Traceback" not in told
    reading = "stopped; what follows had been read by then\nthe recording holds no octets"
    assert process.returncode == (2 if told.startswith(reading) else 130)


def test_ctrl_c_where_a_command_has_nothing_to_show_gives_130(run, monkeypatch):
    def interrupted(asked):
        raise KeyboardInterrupt

    monkeypatch.setattr("helpers.shell.telegram._recording", interrupted)
    assert run("telegram DC 01 01") == (130, "", "")


# A network by its name, in every command that can take one


@pytest.fixture
def own(tmp_path, monkeypatch):
    """The folder of a user who keeps nothing yet."""
    monkeypatch.setenv("WORKBOOK_PROGRESS", str(tmp_path / "own"))
    return tmp_path


def test_a_network_is_kept_and_every_command_takes_it_by_its_name(run, own):
    tables = put(demo(), "stations", row_of(demo(), "stations", name="Cooling fan"), "address", "11")
    folder = plan_folder(own / "tables", tables)
    status, out, _ = run(["plan", "mine", "--keep", str(folder), "My plant"])
    assert status == 0 and "kept: My plant" in out
    assert run("plan check 'my plant'")[0] == 1
    status, out, _ = run("address --plan 'My plant'")
    assert status == 1 and "11 is given 2 times" in out
    assert run("segment --plan 'My plant'")[0] == 0
    assert run("segment --plan 'My plant' --rate '12 Mbit/s' --all")[1].count("Mill line, segment") == 2
    assert run("cycle --plan 'My plant' --rate '500 kbit/s'")[1].startswith(
        "Mill line: at 500 kbit/s the 9 stations are asked once"
    )
    assert run("plan figures 'My plant'")[0] == 0
    assert "renamed: Works" in run("plan mine --rename 'My plant' Works")[1]
    assert "removed: works" in run("plan mine --remove works")[1]
    assert "Works" not in run("plan mine")[1]


def test_one_network_of_a_plan_can_be_asked_for(run, own):
    assert "Silo line: 4 stations" in run("cycle --plan 'the Mill extended' --network 'Silo line'")[1]
    assert "Mill line" not in run("segment --plan 'the Mill extended' --network 'Silo line'")[1]
    assert run("address --plan 'the Mill extended' --network Nothing")[2].startswith("network is 'Nothing'; known are")


@pytest.mark.parametrize("line", ["plan check nowhere", "address --plan nowhere", "segment --plan x", "cycle --plan x"])
def test_a_network_that_is_not_there_gives_a_sentence_with_those_that_are(run, own, line):
    status, out, err = run(line)
    assert (status, out) == (2, "") and "networks by name are: Saltmarsh Mill, the Mill extended" in err


@pytest.mark.parametrize("line", ["segment", "segment --length 5", "cycle", "cycle --format 'PPO 4'"])
def test_neither_figures_nor_a_network_gives_a_sentence(run, line):
    status, _, err = run(line)
    assert status == 2 and "--plan with the name of a network" in err
