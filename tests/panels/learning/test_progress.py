"""The first page tells a learner where to go on, and never stores what it tells."""

from pathlib import Path

import pytest

from helpers.panels.learning.progress import ProgressPanel, go_on, standings
from helpers.study.banks.registry import BANKS
from helpers.study.lessons import LESSONS
from helpers.study.progress import Attempt, Progress

LESSON = "addresses"
KINDS = list(BANKS[LESSON])


@pytest.fixture
def progress(tmp_path: Path) -> Progress:
    return Progress(tmp_path)


def test_a_right_answer_moves_the_progress_on(progress: Progress) -> None:
    panel = ProgressPanel(lambda: progress)
    assert "Begin with lesson" in panel.shown.value
    progress.record(Attempt(LESSON, KINDS[0], "1", "5", "right"))
    panel.again.click()
    assert f"1 of {len(KINDS)} kinds of question right · you were here last" in panel.shown.value
    assert "Go on with lesson 3" in panel.shown.value
    assert panel.said.value == ""


def test_what_is_stored_holds_no_progress(progress: Progress) -> None:
    before = ProgressPanel(lambda: progress)._repr_mimebundle_()["text/html"]
    progress.record(Attempt(LESSON, KINDS[0], "1", "5", "right"))
    after = ProgressPanel(lambda: progress)
    assert after._repr_mimebundle_()["text/html"] == before
    assert "1 of" in after.shown.value


def test_when_all_is_right_the_way_leads_to_the_own_network() -> None:
    assert "what-if" in go_on(standings({lesson: set(kinds) for lesson, kinds in BANKS.items()}))


def test_deleting_asks_first_and_can_be_refused(progress: Progress) -> None:
    progress.record(Attempt(LESSON, KINDS[0], "1", "5", "right"))
    panel = ProgressPanel(lambda: progress)
    panel.delete.click()
    assert "deletes 1 answers" in panel.said.value
    panel.keep.click()
    assert len(progress.answers()) == 1
    panel.delete.click()
    panel.sure.click()
    assert progress.answers() == []
    assert "Deleted" in panel.said.value


def test_the_answers_can_be_taken_away(progress: Progress) -> None:
    progress.record(Attempt(LESSON, KINDS[0], "1", "5", "right"))
    panel = ProgressPanel(lambda: progress)
    panel.export.click()
    assert 'download="my-answers.csv"' in panel.said.value


def test_trouble_with_the_file_is_told(tmp_path: Path) -> None:
    (tmp_path / "progress.sqlite").write_bytes(b"no database at all" * 100)
    panel = ProgressPanel(lambda: Progress(tmp_path))
    assert "damaged" in panel.said.value


def test_the_map_lists_every_lesson() -> None:
    assert [row.lesson for row in standings({})] == list(LESSONS)
