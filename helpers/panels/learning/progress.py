"""The learner's own progress on the first page: how far each lesson is, where to go on, export and delete."""

from __future__ import annotations

import html
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from helpers.answer import TakeAway
from helpers.panels.kit.as_html import link, table
from helpers.panels.kit.drawing import ORANGE
from helpers.study.banks.registry import BANKS
from helpers.study.lessons import LESSONS, Standing, progress_table
from helpers.study.progress import Progress, own_progress

HOW = "Run the cell (click in it, then Shift+Enter) to see your own progress."


def standings(right: Mapping[str, set[str]], last: str = "") -> list[Standing]:
    """How far each lesson is, for the kinds answered right in each and the lesson left last."""
    return progress_table(LESSONS, {lesson: tuple(kinds) for lesson, kinds in BANKS.items()}, right, last)


def go_on(lessons: list[Standing]) -> str:
    """The sentence that tells where to go on."""
    open_ones = [row for row in lessons if row.right < row.kinds]
    here = next((row for row in open_ones if row.here), open_ones[0] if open_ones else None)
    if here is None:
        return "Every kind of question is answered right. Go on with the what-if pages, on your own network."
    verb = "Go on with" if any(row.here or row.right for row in lessons) else "Begin with"
    return f"{verb} lesson {here.lesson.number}, {here.lesson.title.lower()}."


def map_html(lessons: list[Standing]) -> str:
    """The lessons as a table: number, title, time, progress in words."""
    return f"<p><b>{html.escape(go_on(lessons))}</b></p>" + table(
        [
            {
                "lesson": row.lesson.number,
                "title": row.lesson.title,
                "takes": f"about {row.lesson.minutes} min",
                "your progress": row.words + (" · you were here last" if row.here else ""),
            }
            for row in lessons
        ]
    )


class ProgressPanel(widgets.VBox):
    """The live table, with buttons to look again, to export and to delete."""

    def __init__(self, progress: Callable[[], Progress] = own_progress) -> None:
        self._progress = progress
        self.shown, self.said = widgets.HTML(), widgets.HTML()
        self.again = self._button("Look again", "Read the progress anew", self.refresh)
        self.export = self._button("Export my answers", "A CSV file that a spreadsheet opens", self._export)
        self.delete = self._button("Delete my answers …", "Asks once more before anything is deleted", self._ask_first)
        self.sure = self._button("Yes, delete all for good", "There is no way back", self._delete)
        self.keep = self._button("No, keep them", "Nothing is deleted", self.refresh)
        self.learner = widgets.Text(placeholder="your name, if the file shall bear it", layout={"width": "240px"})
        self._usual, self._asking = [self.again, self.learner, self.export, self.delete], [self.sure, self.keep]
        self.buttons = widgets.HBox(self._usual)
        super().__init__([self.shown, self.buttons, self.said])
        self.refresh()

    def _button(self, label: str, tip: str, work: Callable[[], None]) -> widgets.Button:
        button = widgets.Button(description=label, tooltip=tip, layout=widgets.Layout(width="auto"))
        button.on_click(lambda _: self._guarded(work))
        return button

    def _guarded(self, work: Callable[[], None]) -> None:
        # An exception that leaves a callback is shown nowhere in the browser, so it is shown here.
        try:
            work()
        except Exception as error:
            self._say(str(error), alert=True)

    def refresh(self) -> None:
        """Show the progress as it is on the disk now."""
        progress = self._progress()
        right = progress.right()
        trouble = progress.trouble  # the next reading may go well again and forget it
        last = progress.last_place()
        self.shown.value = map_html(standings(right, last[0] if last else ""))
        self.buttons.children = self._usual
        self._say(trouble, alert=True)

    def _export(self) -> None:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "my-answers.csv"
            content = self._progress().export(path, self.learner.value.strip()).read_bytes()
        self.said.value = f"<p>Save: {link(TakeAway('my-answers.csv', content))}</p>"

    def _ask_first(self) -> None:
        count = len(self._progress().answers())
        self.buttons.children = self._asking
        self._say(f"This deletes {count} answers. Export them first if you may want them again.", alert=True)

    def _delete(self) -> None:
        said = self._progress().delete(confirm=True)
        self.refresh()
        self._say(said)

    def _say(self, sentence: str, *, alert: bool = False) -> None:
        mark = f" role='alert' style='border-left:6px solid {ORANGE};padding-left:8px'" if alert else ""
        self.said.value = f"<p{mark}>{html.escape(sentence)}</p>" if sentence else ""

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        """What a notebook stores: never a learner's own progress."""
        bundle: dict[str, Any] = dict(super()._repr_mimebundle_(**kwargs))
        bundle["text/plain"] = f"Your progress in {len(LESSONS)} lessons."
        bundle["text/html"] = f"{map_html(standings({}))}<p><i>{HOW}</i></p>"
        return bundle


def progress_panel() -> ProgressPanel:
    """The learner's own progress."""
    return ProgressPanel()
