"""A long recording through the browser: read in the background, stopped, paged; another one uploaded."""

import pytest

from helpers.panels.telegrams.recording import _LONG, long_recording

pytestmark = pytest.mark.browser


def test_a_long_recording_is_stopped_and_paged_and_another_uploaded(lab, tmp_path):
    (tmp_path / "line.txt").write_text(long_recording(200))
    lab.open("what-if/telegrams.ipynb")
    lab.run_all()
    lab.choose("recording", _LONG)
    lab.shows("% is read so far")
    lab.press("Stop")  # the kernel hears it while it reads
    lab.shows("What was read is kept")
    lab.press("later ▶")
    lab.shows("No. 15, octet by octet")
    lab.screenshot("recording-stopped")
    with lab.page.expect_file_chooser() as chooser:
        lab.notebook.locator("button.jupyter-button", has_text="Upload a text file").click()
    chooser.value.set_files([tmp_path / "line.txt"])
    lab.shows("line.txt: read to the end")
    long = tmp_path / "long.txt"
    long.write_text((long_recording(10) + "\n") * 900)
    assert long.stat().st_size > 10_000_000
    with lab.page.expect_file_chooser() as chooser:
        lab.notebook.locator("button.jupyter-button", has_text="Upload a text file").click()
    chooser.value.set_files([long])
    lab.shows("at most 10 MB can be uploaded")
    lab.screenshot("recording-too-large")
    lab.type_in("or file", str(long))
    lab.shows("long.txt: ")
    lab.press("Stop")
    lab.shows("What was read is kept")
    lab.screenshot("recording-from-its-place")
    assert lab.errors == lab.asked_outside == lab.error_outputs() == []
