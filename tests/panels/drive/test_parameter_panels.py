"""The panels for parameters: printed octets come out, old answers are told from new, and nonsense gets a sentence."""

import pytest

from helpers.drive.parameters.parameter_channel import PLAIN, decode
from helpers.drive.parameters.parameter_store import demo_store, respond
from helpers.drive.parameters.parameter_text import tasks
from helpers.panels.drive.acyclic import decode_panel, decode_view, request_panel, request_view, time_panel, time_view
from helpers.panels.drive.device_request import device_request_panel, lists_panel, lists_view
from helpers.panels.drive.device_request import request_view as own_view
from helpers.panels.drive.parameter_channel import (
    answer_panel,
    answer_view,
    dialogue_panel,
    dialogue_view,
    octets_of,
    task_panel,
    task_view,
)


def talked(lines, work=2, hold=0, running=False, rights=True, report=False, power_off=False):
    return dialogue_view(tasks(lines), work, hold, running, rights, report, power_off)


def moved(panel, *changes, same=()):
    """Moves the controls one after the other; each gives another result, those named in `same` excepted."""
    before = panel.result.value
    for name, value in changes:
        panel.fields[name].widget.value = value
        assert not panel.said.value, (name, panel.said.value)
        assert panel.result.value != before or name in same, name
        before = panel.result.value


def refused(panel, name, *nonsense):
    """Nonsense gets a sentence, the last good result stays, and a sound input is taken again."""
    sound, before = panel.fields[name].widget.value, panel.result.value
    for typed in nonsense:
        panel.fields[name].widget.value = typed
        assert "Not usable" in panel.said.value and "failed here" not in panel.said.value, (name, typed)
        assert before.split(">", 1)[1] == panel.result.value.split(">", 1)[1]
    panel.fields[name].widget.value = sound
    assert not panel.said.value


@pytest.mark.parametrize(
    ("identifier", "number", "subindex", "value", "octets"),
    [
        (1, 922, 0, 0, "13 9A 00 00 00 00 00 00"),  # Toshiba manual E6581738 p.17
        (2, 927, 0, 1, "23 9F 00 00 00 00 00 01"),  # Lenze 931M/W manual p.46
        (6, 964, 0, 0, "63 C4 00 00 00 00 00 00"),  # Toshiba manual E6581738 p.17
        (3, 121, 5, -2, "30 79 00 00 FF FF FF FE"),  # calculated from the layout; no array, so no subindex
        (9, 964, 5, 0, "93 C4 00 00 00 00 00 00"),  # calculated: the number of elements belongs to no element
        (4, 110, 5, 0, "40 6E 05 00 00 00 00 00"),  # from memory: IND names the element of the description
    ],
)
def test_a_task_becomes_its_octets(identifier, number, subindex, value, octets):
    view = task_view(identifier, number, subindex, value, PLAIN)
    assert view.sentence.startswith(octets) and len(view.rows) == 10
    assert bool(view.caution) is (identifier in (2, 3))


def test_the_subindex_may_stand_in_the_other_byte():
    low = task_view(7, 915, 3, 140, "free, subindex")
    assert low.sentence.startswith("73 93 00 03 00 00 00 8C") and low.rows[3]["octets"] == "00 03"
    assert "counts elements from 1" in task_view(7, 915, 3, 140, PLAIN).because


def test_a_page_in_ind_takes_the_number_beyond_1999_and_says_how_it_is_known():
    # Bit 7 of the page adds 2000: from memory.
    for index, ind in (("subindex, page bits", "02 80"), ("page bits, subindex", "80 02")):
        view = task_view(6, 2110, 2, 0, index)
        assert view.sentence.startswith(f"60 6E {ind}") and "+2000" in view.pictures[0].svg
        assert any("page" in source and "memory" in source for source in view.sources)
        assert "parameter 2110: 80" in answer_view(None, octets_of(f"40 6E {ind} 00 00 00 50"), index).sentence
    assert not any("page:" in source for source in task_view(6, 110, 2, 0, "subindex, page bits").sources)
    # Page n: the number less n times 2000, in the first octet: Delta PD-01 manual p.17.
    counted = task_view(1, 4110, 0, 0, "page number, subindex")
    assert counted.sentence.startswith("10 6E 02 00") and any("p.17 (device manual)" in s for s in counted.sources)
    panel = task_panel()
    panel.fields["number"].widget.value = "2110"
    assert "manual" in panel.said.value and "IND" in panel.said.value
    panel.fields["ind"].widget.value = "subindex, page bits"
    assert not panel.said.value and "parameter 2110" in panel.result.value


def test_the_demo_drive_tells_name_unit_and_sign():
    assert "110 is: ramp up time, in steps of 0.1 s" in task_view(2, 110, 0, 95, PLAIN).because
    assert "With its sign the value is -70000" in task_view(1, 121, 0, 0, PLAIN).because
    assert "With its sign the value is -70000" in own_view(6, 7, 2, 121, -70000, running=False).because
    assert "In the demo drive" not in task_view(2, 110, 0, 7000, PLAIN).because  # refused: no value
    assert "not used" in task_view(1, 110, 0, 0, PLAIN).pictures[0].svg


def test_answers_are_read_and_held_against_the_request():
    answer = octets_of("139A 0000 0000 0065")  # Toshiba manual E6581738 p.17
    assert "parameter 922: 101" in answer_view(None, answer, PLAIN).sentence
    assert "Answered" in answer_view(octets_of("13 9A 00 00 00 00 00 00"), answer, PLAIN).because
    assert "task before" in answer_view(octets_of("13 96 00 00 00 00 00 00"), answer, PLAIN).because
    refusal = answer_view(None, octets_of("70 2D 80 00 00 00 00 00"), PLAIN)  # Delta PD-01 manual p.19
    assert "no parameter of this number" in refusal.sentence
    no_right = answer_view(None, octets_of("80 6E 00 00 00 00 00 00"), PLAIN)  # answer 8: Lenze 931M/W manual p.43
    assert "no right to change" in no_right.sentence
    assert "value is -2" in answer_view(None, octets_of("10 70 00 00 00 00 FF FE"), PLAIN).because
    assert "value is -70000" in answer_view(None, octets_of("20 79 00 00 FF FE EE 90"), PLAIN).because


def test_the_dialogue_tells_old_answers_from_new():
    assert "belongs" in talked("read 918\nread 110").sentence
    hasty = talked("read 918\nread 110", hold=2)
    assert "Wrong for task 1, 2" in hasty.sentence and hasty.rows[1]["taken"].startswith("13 96")
    assert "no new task" in talked("write 110 = 95\nwrite 110 = 95").rows[1]["why"]
    assert "report" in talked("read 918", report=True).pictures[0].says
    assert "Error 17" in talked("write 112 = -100", running=True).rows[0]["why"]
    assert talked("write 110 = 95", rights=False).rows[0]["why"].startswith("No right")


def test_what_is_not_stored_is_lost():
    assert "lost at power off" in talked("write 110 = 95").because
    assert "110 is now 80" in talked("write 110 = 95", power_off=True).because
    assert "110 is now 95. All was stored" in talked("write 110 = 95\nwrite 971 = 1", power_off=True).because
    assert "outlives" in talked("write 110 = 95\nwrite 971 = 1").because
    assert "Nothing has changed" in talked("read 918").because


def test_an_acyclic_request_and_its_response():
    view = request_view(tasks("read 918"), 9, 1, 1, 2, running=False)
    assert view.pictures[0].says.count("still working") == 2
    assert view.folded[0][1][0]["octets"] == "5F"  # ABB FPBA-01 manual p.170
    assert view.rows == [{"parameter": "read 918", "what comes back": "Unsigned16: 21"}]
    assert "header alone" in request_view(tasks("write 110 = 95"), 1, 1, 0, 0, running=False).sentence
    failed = request_view(tasks("write 110 = 95\nwrite32 120 = 1"), 1, 1, 0, 0, running=False)
    assert "1 of 2 parameters refused" in failed.sentence and "read only" in failed.rows[1]["what comes back"]
    assert failed.rows[0]["what comes back"] == "changed"


@pytest.mark.parametrize(
    ("octets", "said"),
    [
        ("5F 01 2F 0A 09 01 01 01 10 00 03 96 00 00", "request to read 1"),  # ABB FPBA-01 manual p.170
        ("5E 01 2F 08 09 01 01 01 42 01 00 03", "all done"),  # the same
        ("DE 80 B5 00", "still working"),  # SEW manual DH.41B p.79
        ("5E 01 2F F0", "Is the response ready"),
        ("5F 01 2F 0A", "confirmed"),
        ("5E 00 2F 08 01 81 01 01 44 01 00 00", "something failed"),  # calculated from the layout
    ],
)
def test_acyclic_octets_are_read(octets, said):
    assert said in decode_view(bytes.fromhex(octets)).sentence


def test_the_running_number_decides_whether_the_drive_acts():
    assert "Parameter 110 is 95" in own_view(6, 7, 2, 110, 95, running=False).sentence
    same = own_view(7, 7, 2, 110, 95, running=False)
    assert "does nothing" in same.sentence and "numbers agree" in same.pictures[0].says
    assert "not while running" in own_view(6, 7, 2, 112, -100, running=True).sentence
    assert "no such parameter" in own_view(6, 7, 1, 5, 0, running=False).sentence


def test_the_lists_of_the_free_words():
    panel = lists_panel()
    rows = lists_view("PPO 4", panel.fields["needs"].value).rows
    assert [r["write"] for r in rows if r["signal"].startswith("ENERGY")] == ["916.4 = 146", "916.5 = 146"]
    assert [r["acyclic subindex"] for r in rows if r["signal"] == "CURRENT"] == ["2"]
    assert "no free word" in lists_view("PPO 3", ()).sentence
    # The demo drive takes each of these writes, to the last word of its longest format: answer 4, Lenze manual p.43.
    for name in ("PPO 4", "PPO 5"):
        view = lists_view(name, panel.fields["needs"].value)
        for row in [*view.rows, *view.folded[0][1]]:
            assert respond(demo_store(), decode(octets_of(row["cyclic task"])))[0].identifier == 4
    moved(panel, ("name", "PPO 5"), ("needs", "TORQUE"))
    refused(panel, "needs", "warp drive")


def test_time_by_both_ways():
    assert "1000 parameters: 15000 ms" in time_view(1000, 3, 10, pause=False).sentence  # 5 cycles of 3 ms for each
    view = time_view(10, 2.0, 10.0, pause=False)
    assert "120 ms over the cyclic channel, 102 ms by acyclic" in view.sentence  # 60 and 51 cycles of 2 ms
    panel = time_panel()
    moved(panel, ("parameters", "100"), ("cycle_ms", "1,5"), ("work_ms", "0"), ("pause", True))
    refused(panel, "cycle_ms", "0", "soon")


def test_every_control_acts_and_nonsense_gets_a_sentence():
    panel = task_panel()
    moved(panel, ("identifier", 7), ("number", "915"), ("subindex", "3"), ("value", "16#8C"),
          ("ind", "free, subindex"))  # fmt: skip
    refused(panel, "number", "2000", "512000", "-1", "", "ramp")
    refused(panel, "value", "5000000000", "70000", "1,5")  # task 7 carries a word

    panel = answer_panel()
    moved(panel, ("answer", "70 6E 00 00 00 00 00 02"), ("asked", "20 6E 00 00 00 00 27 0F"),
          ("ind", "free, subindex"), ("asked", ""), ("answer", "10 6E 00 80 00 00 00 50"),
          ("ind", "subindex, page bits"), same=("ind",))  # fmt: skip
    assert "parameter 2110" in panel.result.value
    panel.fields["answer"].widget.value = "96 13 00 00 00 00 15 00"
    panel.fields["ind"].widget.value = PLAIN
    assert "exchanged" in panel.result.value and "parameter 918" in panel.result.value
    refused(panel, "answer", "", "13 9A", "hello", "13 9A 00 00 00 00 00 65 00", "16#")

    panel = dialogue_panel()
    moved(panel, ("listed", "read 964.2\nwrite 110 = 95\nwrite 112 = -10"), ("work", 4), ("hold", 3), ("running", True),
          ("hold", 0), ("rights", False), ("report", True), ("rights", True), ("power_off", True),
          same=("running",))  # fmt: skip
    refused(panel, "listed", "", "do something", "write 110 = 70000", "read 964.1 x 2", "pause 3")

    panel = request_panel()
    moved(panel, ("listed", "write 112 = -100"), ("reference", "7"), ("axis", "0"), ("slot", "3"), ("busy", 4),
          ("running", True))  # fmt: skip
    refused(panel, "listed", "", "pause", "read 918; write 110 = 5", "write 110 = x")
    refused(panel, "reference", "0", "256")

    panel = decode_panel()
    moved(panel, ("octets", "5F 01 2F 0A 09 01 01 01 10 00 03 96 00 00"))
    refused(panel, "octets", "", "5F 01 2F 0A 09", "A1 00 00 00", "what?")

    panel = device_request_panel()
    moved(panel, ("before", "9"), ("count", "9"), ("count", "10"), ("task", 3), ("number", "112"), ("value", "-10"),
          ("running", True))  # fmt: skip
    refused(panel, "value", "99999", "")
    refused(panel, "count", "-1", "65536")
