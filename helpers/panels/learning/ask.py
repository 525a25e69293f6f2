"""The question widget: asks, reads, marks, shows the steps when they are due, and keeps the learner's progress."""

from __future__ import annotations

import asyncio
import html
from collections.abc import Callable
from typing import Any

import ipywidgets as widgets

from helpers.panels.kit.as_html import table
from helpers.panels.kit.drawing import BLUE, GREY, ORANGE
from helpers.study.banks.registry import STANDARD_SEED, draw_question, kinds
from helpers.study.forms import Bits, Choice
from helpers.study.marking import Marking, Verdict, mark, steps_offered
from helpers.study.progress import STEPS_SHOWN, Attempt, own_progress
from helpers.study.question import Question

# ipywidgets holds back a choice while an earlier one is under way, but never a click: so long a click waits for it.
_MOMENT_S = 0.1
HOW = "Run the cell (click in it, then Shift+Enter) to answer here."


def ask(lesson: str, kind: str = "", seed: int | str = STANDARD_SEED) -> Ask:
    """A lesson's questions one after another, or the questions of one kind.

    The widget opens at the first kind not yet answered right, so a learner finds the place again.
    """
    return Ask(lesson, [kind] if kind else kinds(lesson), seed)


class Ask(widgets.VBox):
    """The live question. `question` is the one on show; `tries` counts the wrong tries at it."""

    def __init__(self, lesson: str, kinds: list[str], seed: int | str) -> None:
        self.lesson, self.kinds, self.seed = lesson, kinds, seed
        self.still = [draw_question(lesson, kind, seed) for kind in kinds]
        self.number, self.redrawn, self.tries, self.solved = 0, 0, 0, False
        self.field: _Field
        self.heading, self.text = widgets.HTML(), widgets.HTML()
        self.field_box = widgets.HBox(layout=widgets.Layout(flex_flow="row wrap"))
        self.said, self.steps, self.note = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self.check = self._button("Check", "Mark what is filled in; Enter in the field does the same", self._check)
        self.show_steps = self._button("Show the steps", "The way to the answer; open after a second try", self._steps)
        self.another = self._button("Another question", "The same kind with other numbers", self._another)
        self.next = self._button("Next question", "The next kind of question of this lesson", self._next)
        buttons = [self.check, self.show_steps, self.another] + [self.next] * (len(kinds) > 1)
        super().__init__(
            [self.heading, self.text, self.field_box, widgets.HBox(buttons), self.said, self.steps, self.note],
            layout=widgets.Layout(padding="6px 0", max_width="760px"),
        )
        self._guarded(self._open)

    # -- what the buttons do ----------------------------------------------------------------------

    def _open(self) -> None:
        right = own_progress().right().get(self.lesson, set())
        self.number = next((n for n, kind in enumerate(self.kinds) if kind not in right), 0)
        self._show(self.still[self.number])
        self._note(own_progress().trouble)

    def _check(self) -> None:
        typed = self.field.typed()
        result = mark(self.question, typed)
        if result.verdict is Verdict.RIGHT:
            self.show_steps.disabled = False
        elif result.counts:
            self.tries += 1
            self.show_steps.disabled = not steps_offered(self.tries)
        seen = result.counts and not self.solved and own_progress().saw_steps(*self._asked)
        self.said.value = _said(result, typed, after=self._after(result, seen))
        if result.counts and not self.solved:
            self.solved = result.verdict is Verdict.RIGHT
            self._note(own_progress().record(Attempt(*self._asked, typed, result.verdict.value, steps_seen=seen)))

    @property
    def _asked(self) -> tuple[str, str, str]:
        return self.lesson, self.question.kind, str(self.question.seed)

    def _steps(self) -> None:
        lines = "".join(f"<li>{_lines(step)}</li>" for step in self.question.steps)
        self.steps.value = (
            f"<p style='margin:4px 0 0'><b>The steps</b></p><ol style='line-height:1.4;margin:0'>{lines}</ol>"
            f"<p style='margin:0'>Answer: <b>{html.escape(self.question.written)}</b></p>"
        )
        # Kept on the disk: whoever comes round to the same numbers again, or runs the cell again, has seen the answer.
        if not self.solved and not own_progress().saw_steps(*self._asked):
            self._note(own_progress().record(Attempt(*self._asked, "", STEPS_SHOWN, steps_seen=True)))

    def _another(self) -> None:
        self.redrawn += 1
        seed = self.seed + self.redrawn if isinstance(self.seed, int) else f"{self.seed}/{self.redrawn}"
        self._show(draw_question(self.lesson, self.kinds[self.number], seed))
        self.field.focus()

    def _next(self) -> None:
        self.number, self.redrawn = (self.number + 1) % len(self.kinds), 0
        self._show(self.still[self.number])
        self.field.focus()

    # -- what is shown ----------------------------------------------------------------------------

    def _show(self, question: Question) -> None:
        self.question, self.tries, self.solved = question, 0, False
        place = f"Question {self.number + 1} of {len(self.kinds)}" if len(self.kinds) > 1 else "Question"
        self.heading.value = (
            f"<b style='font-size:16px'>{place}</b> "
            f"<span style='color:{GREY}'>· number set {html.escape(str(question.seed))}</span>"
        )
        self.text.value = f"<div style='line-height:1.4'>{_asked(question)}</div>"
        self.field = _Field(question, lambda: self._soon(self._check))
        self.field_box.children = self.field.widgets
        self.said.value = self.steps.value = ""
        self.show_steps.disabled = True

    def _after(self, result: Marking, seen: bool) -> str:
        if seen and result.verdict is Verdict.RIGHT:
            return "Its steps were shown, so this one does not count yet: take another question."
        if result.verdict in (Verdict.SLIP, Verdict.WRONG) and steps_offered(self.tries):
            return "The steps can be shown now."
        return ""

    def _note(self, trouble: str) -> None:
        right = len(own_progress().right().get(self.lesson, set()) & set(self.kinds))
        if len(self.kinds) > 1:
            done = f"Answered right so far: {right} of {len(self.kinds)} kinds of question."
        else:
            done = "You have answered this kind of question right." if right else ""
        alert = f"<p role='alert' style='border-left:6px solid {ORANGE};padding-left:8px;margin:2px 0'>"
        self.note.value = (f"{alert}<b>Your progress:</b> {html.escape(trouble)}</p>" if trouble else "") + (
            f"<p style='color:{GREY};margin:2px 0'>{done}</p>" if done else ""
        )

    def _button(self, label: str, tip: str, work: Callable[[], None]) -> widgets.Button:
        button = widgets.Button(description=label, tooltip=tip, layout=widgets.Layout(width="auto"))
        button.on_click(lambda _: self._soon(work))
        return button

    def _soon(self, work: Callable[[], None]) -> None:
        try:
            asyncio.get_running_loop().call_later(_MOMENT_S, self._guarded, work)
        except RuntimeError:  # without a loop there is no browser, and nothing under way
            self._guarded(work)

    def _guarded(self, work: Callable[[], None]) -> None:
        # An exception that leaves a callback is shown nowhere in the browser, so it is shown here.
        try:
            work()
        except Exception as error:
            self.said.value = (
                f"<p role='alert'><b>The workbook itself failed here</b> "
                f"({html.escape(f'{type(error).__name__}: {error}')}). Run the cell again.</p>"
            )

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        """What a notebook stores: the live question, and for a reader without a kernel all questions to read."""
        bundle: dict[str, Any] = dict(super()._repr_mimebundle_(**kwargs))
        count = f"{len(self.still)} questions" if len(self.still) > 1 else "Question"
        bundle["text/plain"] = f"{count}: {self.still[0].text.splitlines()[0]}"
        asked = "".join(f"<li>{_asked(question)}{_options(question)}</li>" for question in self.still)
        bundle["text/html"] = (
            f"<p><b>{count}</b>, number set {html.escape(str(self.seed))}</p><ol>{asked}</ol><p><i>{HOW}</i></p>"
        )
        return bundle


class _Field:
    """The field that fits the form of the answer: a list to choose from, a row of switches, or a line of text."""

    def __init__(self, question: Question, entered: Callable[[], None]) -> None:
        form = question.form
        self.widgets: tuple[widgets.Widget, ...]
        self.typed: Callable[[], str]
        if isinstance(form, Choice):
            box = widgets.RadioButtons(options=form.options, value=None, layout=widgets.Layout(width="max-content"))
            self.widgets, self._first, self.typed = (box,), box, lambda: box.value or ""
        elif isinstance(form, Bits):
            places = [_place(label) for label in form.labels]
            apart = widgets.Layout(margin="0 16px 0 0")  # or long labels run into each other
            self.widgets = tuple(widgets.VBox([widgets.HTML(html.escape(p.name)), p], layout=apart) for p in places)
            self._first, self.typed = places[0], lambda: "".join(p.description for p in places)
        else:
            line = widgets.Text(description="Your answer", placeholder=form.expected,
                                style={"description_width": "90px"}, layout=widgets.Layout(width="520px"))  # fmt: skip
            line.on_msg(lambda _, content, __: entered() if content.get("event") == "submit" else None)
            unit = widgets.HTML(html.escape(getattr(form, "unit", "")))
            self.widgets, self._first, self.typed = (line, unit), line, lambda: line.value

    def focus(self) -> None:
        """Put the keyboard into the field."""
        self._first.focus()


def _place(label: str) -> widgets.ToggleButton:
    """One place of a bit pattern: a button that shows 0 or 1."""
    place = widgets.ToggleButton(description="0", tooltip=f"{label}: 0", layout=widgets.Layout(width="64px"))
    place.name = label

    def turned(change: Any) -> None:
        place.description = "1" if change["new"] else "0"
        place.tooltip = f"{label}: {place.description}"

    place.observe(turned, "value")
    return place


def _lines(text: str) -> str:
    return html.escape(text).replace("\n", "<br>")


def _asked(question: Question) -> str:
    return f"<p style='margin:2px 0'>{_lines(question.text)}</p>" + (table(question.rows) if question.rows else "")


def _options(question: Question) -> str:
    if not isinstance(question.form, Choice):
        return ""
    return "<ul>" + "".join(f"<li>{html.escape(option)}</li>" for option in question.form.options) + "</ul>"


def _said(result: Marking, typed: str, *, after: str) -> str:
    colour = BLUE if result.verdict is Verdict.RIGHT else ORANGE
    read = f" (Read as {html.escape(result.read)}.)" if result.read not in ("", typed.strip()) else ""
    return (
        f"<p role='status' style='border-left:6px solid {colour};padding-left:8px;margin:4px 0;line-height:1.4'>"
        f"<b><span style='color:{colour}'>{result.verdict.sign}</span> {result.verdict.words}.</b> "
        f"{_lines(result.sentence)}{read}{' ' + html.escape(after) if after else ''}</p>"
    )
