"""The panels for parameters: every control acts, and nonsense gets a sentence."""

from helpers.drive.parameters.channel_answers import lists_answer, octets_of, task_answer, task_from_fields
from helpers.drive.parameters.parameter_channel import PLAIN, decode, read
from helpers.drive.parameters.parameter_store import demo_store, respond
from helpers.panels.drive.parameter_drawings import channel_drawing
from helpers.panels.drive.parameters import (
    answer_panel,
    decode_panel,
    device_request_panel,
    dialogue_panel,
    lists_panel,
    request_panel,
    task_panel,
    time_panel,
)


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


def test_a_page_has_its_octet_from_the_manual():
    panel = task_panel()
    panel.fields["number"].widget.value = "2110"
    assert "manual" in panel.said.value and "IND" in panel.said.value
    panel.fields["ind"].widget.value = "subindex, page bits"
    assert not panel.said.value and "parameter 2110" in panel.result.value


def test_the_drawing_says_what_ind_holds():
    paged = task_from_fields(identifier=6, number=2110, subindex=2, value=0)
    assert "+2000" in channel_drawing(task_answer(paged, ind="subindex, page bits").pictures[0]).svg
    assert "not used" in channel_drawing(task_answer(read(110)).pictures[0]).svg


def test_every_control_of_the_time_panel_acts():
    panel = time_panel()
    moved(panel, ("parameters", "100"), ("cycle_ms", "1,5"), ("work_ms", "0"), ("pause", True))
    refused(panel, "cycle_ms", "0", "soon")


def test_the_lists_of_the_free_words():
    panel = lists_panel()
    rows = lists_answer("PPO 4", panel.fields["needs"].value).rows
    assert [r["write"] for r in rows if r["signal"].startswith("ENERGY")] == ["916.4 = 146", "916.5 = 146"]
    assert [r["acyclic subindex"] for r in rows if r["signal"] == "CURRENT"] == ["2"]
    assert "no free word" in lists_answer("PPO 3", ()).sentence
    # The demo drive takes each of these writes, to the last word of its longest format: answer 4, Lenze manual p.43.
    for name in ("PPO 4", "PPO 5"):
        view = lists_answer(name, panel.fields["needs"].value)
        for row in [*view.rows, *view.folded[0][1]]:
            assert respond(demo_store(), decode(octets_of(row["cyclic task"])))[0].identifier == 4
    moved(panel, ("name", "PPO 5"), ("needs", "TORQUE"))
    refused(panel, "needs", "warp drive")


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
