"""A technician's own plan through the browser: chosen, judged, refused in words, and its verdict saved as a file."""

import csv
import io

import pytest
from plan_tables import as_csv, as_xlsx, demo, put, row_of

pytestmark = pytest.mark.browser

PAGE = "what-if/network-plan.ipynb"
MARKUP = '<img src=x onerror="window.done=1"><script>window.done=1</script>'


@pytest.fixture
def upload(lab, tmp_path):
    """Chooses files, given by name and content, as a hand would with the button."""

    def choose(files):
        for name, content in files.items():
            (tmp_path / name).write_bytes(content)
        with lab.page.expect_file_chooser() as chooser:
            lab.notebook.locator("button.jupyter-button", has_text="Upload your plan").click()
        chooser.value.set_files([tmp_path / name for name in files])

    return choose


def test_a_plan_is_uploaded_refused_mended_and_its_verdict_saved(lab, upload):
    lab.open(PAGE)
    lab.run_all()
    upload(as_xlsx(demo()))
    lab.shows("Mill line: all 97 checks are in order.")
    upload(as_csv(put(demo(), "network", 3, "bit rate", "fast")))
    lab.shows("1 fault in the tables. Mend and upload again. The result below is the last good one; it is old.")
    lab.shows("'fast'")
    lab.shows("Mill line: all 97 checks are in order.")
    upload({"plan.xlsx": bytes(5_000_000)})
    lab.shows("plan.xlsx: 5.0 MB; allowed are 2 MB.")
    lab.screenshot("upload-refused")
    upload(as_csv(put(demo(), "stations", row_of(demo(), "stations", name="Cooling fan"), "address", "126")))
    lab.shows("Mill line: 1 is not allowed, 96 checks are in order.")
    lab.choose("show", "save verdict")
    with lab.page.expect_download() as download:
        lab.notebook.locator("a", has_text="verdict.csv").click()
    saved = download.value.path().read_text(encoding="utf-8-sig")
    first = next(csv.DictReader(io.StringIO(saved)))
    assert (first["verdict"], first["place"]) == ("not allowed, cannot work", "Cooling fan")
    assert lab.errors == lab.asked_outside == []


@pytest.mark.parametrize("size_mb", [11, 40])
def test_a_file_too_large_is_refused_in_words_and_the_button_stays_alive(lab, upload, size_mb):
    lab.open(PAGE)
    lab.run_all()
    upload({"plan.xlsx": bytes(size_mb * 1_000_000)})
    lab.shows(f"Not usable: plan.xlsx, {size_mb}.0 MB; at most 10 MB can be uploaded.")
    lab.screenshot(f"upload-of-{size_mb}-mb")
    upload(as_xlsx(demo()))
    lab.shows("Mill line: all 97 checks are in order.")
    assert lab.notebook.locator(".workbook-upload-refused:visible").count() == 0
    assert lab.errors == lab.asked_outside == []


def test_markup_in_a_plan_and_in_a_file_name_is_not_run(lab, upload):
    tables = demo()
    for rows in tables.values():
        for row in rows[2:]:
            row[:] = [MARKUP if text in ("Mill line", "Cooling fan", "PPO 4", "Cabinet 1") else text for text in row]
    lab.open(PAGE)
    lab.run_all()
    upload(as_xlsx(tables))
    lab.shows(MARKUP[:20])
    for show in ("segments", "bus cycle", "save site record", "verdict"):
        lab.choose("show", show)
        lab.wait_idle()
    for name in ("<img src=x onerror=window.done=2>.csv", "<img src=x onerror=window.done=2>.xlsx"):
        upload({name: b"no plan"})
        lab.shows("Not usable")
    lab.page.wait_for_timeout(300)
    assert lab.page.evaluate("window.done") is None
    assert lab.notebook.locator("[onerror], script").count() == 0
    assert lab.errors == lab.asked_outside == []
