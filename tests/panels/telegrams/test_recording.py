"""The recording panel without a browser: it reads in the background, stops, keeps, pages, and refuses."""

import asyncio
import threading
from datetime import UTC, datetime

from helpers.bus.recording import recording_text
from helpers.bus.recording.answers import COUNTS, ERRORS, PAGE, PER_PAGE, recording_answer
from helpers.bus.recording.recording_statistics import Recording
from helpers.opening import ROOT
from helpers.panels.kit.fields import MOST_UPLOAD_BYTES
from helpers.panels.telegrams import recording as panel_module
from helpers.panels.telegrams.recording import demo_recording, long_recording, recording_panel

LONG = long_recording(120)


def upload(panel, content, name="line.txt"):
    panel.upload.value = ({"name": name, "content": memoryview(content), "type": "", "size": len(content),
                           "last_modified": datetime(2030, 1, 1, tzinfo=UTC)},)  # fmt: skip


def test_without_a_loop_the_panel_reads_at_once():
    panel = recording_panel()
    assert "29 telegrams" in panel.result.value and panel.stop.disabled
    upload(panel, LONG.encode())
    assert panel.upload.value == () and panel.bar.value == 1 and panel.stop.disabled
    assert "line.txt: read to the end" in panel.result.value
    panel.again.click()
    assert "29 telegrams" in panel.result.value


def test_a_file_too_large_without_octets_or_empty_is_refused_in_words():
    panel = recording_panel()
    for content, says in (
        (bytes(MOST_UPLOAD_BYTES + 1), "allowed is 1 to 10000000 byte"),
        (b"", "size of the file is 0"),
    ):
        upload(panel, content)
        assert says in panel.said.value and "29 telegrams" in panel.result.value
    upload(panel, "Grüße".encode("latin-1"), "letter <b>.txt")
    assert "letter &lt;b&gt;.txt holds no octets" in panel.said.value
    panel.show.value = PAGE
    assert panel.result.value


def test_a_recording_is_read_from_its_place(tmp_path, monkeypatch):
    monkeypatch.setattr(panel_module, "WORKBOOK", tmp_path)
    (tmp_path / "my-notes").mkdir()
    (tmp_path / "my-notes" / "line 1.txt").write_text(LONG)
    (tmp_path / "elsewhere.txt").write_text("no octets")
    panel = recording_panel()
    panel.place.value = "line 1.txt"
    assert "line 1.txt: read to the end" in panel.result.value and panel.said.value == ""
    for wrong, says in (("nowhere.txt", "can&#x27;t be read"), (".", "is a folder"), ("a\0b", "can&#x27;t be read")):
        panel.place.value = wrong
        assert says in panel.said.value and "line 1.txt: read to the end" in panel.result.value
    panel.place.value = f'"{tmp_path / "elsewhere.txt"}"'
    assert "elsewhere.txt holds no octets" in panel.said.value


def test_stopped_what_was_read_is_kept_and_said(monkeypatch):
    monkeypatch.setattr(recording_text, "LINES_A_STEP", 50)

    async def use():
        panel = recording_panel()
        steps = []
        panel.bar.observe(lambda change: steps.append(change["new"]), "value")
        upload(panel, LONG.encode())
        assert panel.said.value == "" and not panel.stop.disabled, "the kernel is free again at once"
        while len(steps) < 4:
            await asyncio.sleep(0)
        panel.show.value = ERRORS  # looking while it reads
        panel.stop.click()
        await panel.reading
        return panel, steps

    panel, steps = asyncio.run(use())
    assert "% is read so far" in recording_answer(Recording(LONG), "line", stopped=False).sentence
    assert steps == sorted(steps) and 0 < steps[-1] < 1
    assert panel.stop.disabled and "What was read is kept" in panel.result.value
    panel.on.click()
    assert panel.show.value == PAGE and panel.first.value == str(1 + PER_PAGE) and not panel.said.value
    panel.back.click()
    panel.back.click()
    assert panel.first.value == "1"
    panel.first.value = "100000000"
    assert "Not usable" in panel.said.value
    panel.first.value = "3"
    assert panel.said.value == ""


def test_a_new_file_takes_the_place_of_the_one_being_read(monkeypatch):
    monkeypatch.setattr(recording_text, "LINES_A_STEP", 50)

    async def use():
        panel = recording_panel()
        upload(panel, LONG.encode(), "first.txt")
        first = panel.reading
        await asyncio.sleep(0)
        upload(panel, demo_recording().encode(), "second.txt")
        await asyncio.gather(first, panel.reading)
        return panel

    panel = asyncio.run(use())
    assert "second.txt: read to the end, 29 telegrams" in panel.result.value and panel.stop.disabled


def test_while_a_step_is_under_way_others_get_their_turn(monkeypatch):
    begun, go_on = threading.Event(), threading.Event()

    def slow():
        begun.set()
        assert go_on.wait(5)
        return demo_recording()

    async def use():
        panel = recording_panel()
        panel._sources[panel.file.value] = slow
        panel.again.click()
        while not begun.is_set():
            await asyncio.sleep(0)
        panel.show.value = PAGE  # answered although the thread is still at work
        go_on.set()
        await panel.reading
        return panel

    assert "octet by octet" in asyncio.run(use()).result.value


def test_what_fails_in_the_background_is_shown():
    panel = recording_panel()
    panel._sources[panel.file.value] = lambda: 1 / 0
    panel.again.click()
    assert "ZeroDivisionError" in panel.said.value and panel.stop.disabled


def test_the_still_picture_is_that_of_the_demo_recording():
    panel = recording_panel()
    panel.show.value = COUNTS
    bundle = panel._repr_mimebundle_()
    assert "29 telegrams in 427 octets" in bundle["text/plain"] and "<table" in bundle["text/html"]


def test_the_script_in_the_browser_refuses_what_the_kernel_would():
    script = ROOT / ".jupyter" / "labextensions" / "workbook-uploads" / "static" / "remoteEntry.js"
    assert f"const MOST_BYTES = {MOST_UPLOAD_BYTES};" in script.read_text(encoding="utf-8")
