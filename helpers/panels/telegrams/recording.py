"""A long recording from a file: read in the background with progress bar and Stop button, then counted and paged."""

from __future__ import annotations

import asyncio
import html
import io
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, BinaryIO

import ipywidgets as widgets

from helpers.bus.recording.answers import COUNTS, ERRORS, PAGE, PER_PAGE, recording_answer
from helpers.bus.recording.recorded_lines import MOST_CHARACTERS
from helpers.bus.recording.recording_statistics import Recording
from helpers.bus.services import message
from helpers.bus.telegram.frame import write
from helpers.errors import WorkbookError, in_range
from helpers.facts import DATA
from helpers.files import open_file
from helpers.opening import OWN_NOTES, WORKBOOK
from helpers.panels.kit import fields
from helpers.panels.kit.as_html import html_of
from helpers.panels.kit.drawing import ORANGE
from helpers.panels.kit.panel import at_rest
from helpers.panels.time.polling import demo_line
from helpers.written import whole

TITLE = "Read a long recording"
_PAUSE_S = 0.3  # between two looks at the counts while reading goes on
_DEMO, _LONG = "start of the cooling fan (invented)", "the mill's line for a while, about 5 MB (made up)"


def demo_recording() -> str:
    """The short recording of the demo site."""
    return (DATA / "demo" / "bus_recording.txt").read_text(encoding="utf-8")


def long_recording(cycles: int = 4_600) -> str:
    """A made-up recording of the demo line in data exchange: now and then an answer is missing or damaged.

    >>> long_recording(1).splitlines()[1]
    '0.000100 68 05 05 68 03 01 5D 00 00 61 16'
    """
    return "\n".join(_lines(cycles))


def _lines(cycles: int) -> Iterator[str]:
    asked, answered = [], []
    for count in ("counted, 0", "counted, 1"):
        for one in demo_line():
            request = message.request("Data_Exchange", to=one.address, sender=1, data=one.outputs, count=count)
            asked.append(write(request).hex(" ").upper())
            answered.append(write(message.answer(request, one.inputs)).hex(" ").upper())
    at = 0
    half = len(asked) // 2
    for cycle in range(cycles):
        yield f"{at / 10_000:.6f} DC 01 01"
        for n in range(half):
            place = cycle % 2 * half + n
            at += 1
            yield f"{at / 10_000:.6f} {asked[place]}"
            at += 1
            odd = (cycle * half + n) % 997
            if odd == 500:
                yield f"{at / 10_000:.6f} {answered[place][:-5]}00 16"
            elif odd:
                yield f"{at / 10_000:.6f} {answered[place]}"


# -- the panel ----------------------------------------------------------------------------------------


class RecordingPanel(widgets.VBox):
    """Reads a recording in a thread, step by step, so that the kernel goes on answering.

    A large one is not uploaded: it is read from its place, piece by piece, and never held as a whole.
    """

    def __init__(self) -> None:
        self._sources: dict[str, Callable[[], str | BinaryIO]] = {_DEMO: demo_recording, _LONG: long_recording}
        self._name, self._recording, self._share = _DEMO, Recording(demo_recording()), 1.0
        for _ in self._recording:
            pass
        self._stopped, self._looked = False, 0.0
        self._turn = 0  # counts what was begun, so that a reading that was replaced sees it and ends
        self.reading: asyncio.Task[None] | None = None
        self.file = fields.choice("recording", list(self._sources)).widget
        self.upload = fields.upload("Upload a text file", ".txt,.csv,.log,.hex").widget
        self.upload.multiple = False
        self.place = fields.text("or file", "").widget
        self.place.placeholder = f"its name in {OWN_NOTES}"
        self.again, self.stop = self._button("Read", self._read_chosen), self._button("Stop", self._stop)
        self.bar = widgets.FloatProgress(
            value=1.0, min=0, max=1, description="read", layout=widgets.Layout(width="290px")
        )
        self.show = fields.choice("show", (COUNTS, ERRORS, PAGE)).widget
        self.first = fields.text("from telegram no.", "1").widget
        self.back, self.on = self._button("◀ earlier", self._earlier), self._button("later ▶", self._later)
        self.said, self.result = widgets.HTML(), widgets.HTML()
        self.stop.disabled = True
        self.file.observe(lambda _: self._guarded(self._read_chosen), "value")
        self.upload.observe(lambda _: self._guarded(self._read_upload), "value")
        self.place.observe(lambda _: self._guarded(self._read_place), "value")
        self.show.observe(lambda _: self._guarded(self._look_again), "value")
        self.first.observe(lambda _: self._guarded(self._look_again), "value")
        hint = (
            f"A text file with octets as hexadecimal, with or without time stamps. Upload up to "
            f"{fields.MOST_UPLOAD_BYTES / 1e6:g} MB. Up to {MOST_CHARACTERS / 1e6:g} MB: copy it into {OWN_NOTES}, and "
            "type its name. The file stays on this computer. Both recordings in the list are invented."
        )
        reading, paging = widgets.HBox([self.again, self.stop]), widgets.HBox([self.back, self.on])
        note = widgets.HTML(f"<p style='line-height:1.35;padding-right:12px'>{hint}</p>")
        left = [self.file, self.upload, self.place, reading, self.bar, self.show, self.first, paging, note]
        super().__init__(
            [
                widgets.HTML(f"<b style='font-size:16px'>{TITLE}</b>"),
                widgets.HBox(
                    [
                        widgets.VBox(left, layout=widgets.Layout(width="310px", flex="0 0 310px")),
                        widgets.VBox([self.said, self.result], layout=widgets.Layout(flex="1 1 auto", min_width="0")),
                    ]
                ),
            ],
            layout=widgets.Layout(padding="6px 0"),
        )
        still = recording_answer(self._recording, _DEMO)
        self._still, self._start_sentence = html_of(still, still=True), still.sentence
        self._look()

    def _button(self, label: str, work: Callable[[], None]) -> widgets.Button:
        button = widgets.Button(description=label, layout=widgets.Layout(width="142px"))
        button.on_click(lambda _: self._guarded(work))
        return button

    def _guarded(self, work: Callable[[], None]) -> None:
        # An exception that leaves a callback is shown nowhere in the browser, so it is shown here.
        try:
            work()
        except WorkbookError as error:
            self._say(str(error))
        except Exception as error:
            self._say(f"The workbook itself failed here ({type(error).__name__}: {error}).")

    def _say(self, trouble: str) -> None:
        self.said.value = (
            f'<p role="alert" style="border-left:6px solid {ORANGE};padding-left:8px;margin:0">'
            f"<b>Not usable:</b> {html.escape(trouble)}</p>" if trouble else ""
        )  # fmt: skip

    # -- reading --------------------------------------------------------------------------------------

    def _read_chosen(self) -> None:
        self._begin(self.file.value, self._sources[self.file.value])

    def _read_upload(self) -> None:
        if not self.upload.value:
            return
        (chosen,) = self.upload.value
        name, content = str(chosen["name"]), bytes(chosen["content"])
        self.upload.value = ()  # the browser's copy is not needed any more
        limit = fields.MOST_UPLOAD_BYTES
        in_range(f"{name}: size of the file", len(content), 1, limit, "byte", "so that memory stays bounded")
        self._begin(name, lambda: io.BytesIO(content))

    def _read_place(self) -> None:
        if typed := self.place.value.strip().strip('"'):
            place = WORKBOOK / OWN_NOTES / Path(typed)  # a whole path stays what it is
            open_file(place).close()  # what is wrong with it is said before the recording on show is given up
            self._begin(place.name, lambda: open_file(place))

    def _begin(self, name: str, source: Callable[[], str | BinaryIO]) -> None:
        """Read in the background if there is a loop to do it on; else, as in a script, at once."""
        self._turn += 1
        self._stopped, self._looked = False, 0.0
        self._say("")
        self.stop.disabled = False
        self.bar.value = 0.0
        self.first.value = "1"
        work = self._read(self._turn, name, source)
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:
            asyncio.run(work)
        else:
            self.reading = loop.create_task(work)

    async def _read(self, turn: int, name: str, source: Callable[[], str | BinaryIO]) -> None:
        """One step after the other in a thread; each is a small part of a second, and between two anybody may act."""
        opened: str | BinaryIO = ""
        try:
            opened = await asyncio.to_thread(source)
            recording = Recording(opened)
            if turn == self._turn:
                self._name, self._recording, self._share = name, recording, 0.0
                steps = iter(recording)
                while not self._stopped and (share := await asyncio.to_thread(next, steps, None)) is not None:
                    if turn != self._turn:
                        return
                    self._share = self.bar.value = share
                    if time.monotonic() - self._looked > _PAUSE_S:
                        self._looked = time.monotonic()
                        self._guarded(self._look)
                self.stop.disabled = True
                self._guarded(self._ended)
        except Exception as error:  # nobody waits for this task, so nobody else would tell
            self.stop.disabled = True
            self._say(str(error) if isinstance(error, WorkbookError) else f"{type(error).__name__}: {error}")
        finally:
            if not isinstance(opened, str):
                opened.close()

    def _ended(self) -> None:
        self._look()
        if not self._recording.octets:
            self._say(f"{self._name} holds no octets; expected is hexadecimal, for example 10 02 01 49 4C 16.")

    def _stop(self) -> None:
        """End the reading behind the step that is under way; what was read by then stays."""
        self._stopped = True

    # -- looking --------------------------------------------------------------------------------------

    def _look_again(self) -> None:
        self._looked = 0.0
        if self.stop.disabled:  # else the reading itself looks, when no thread is at work on the counts
            self._look()

    def _look(self) -> None:
        show = self.show.value if self._recording.telegrams else COUNTS
        answer = recording_answer(
            self._recording, self._name, show, first=self._first(), share=self._share, stopped=self.stop.disabled
        )
        self.result.value = f'<div style="line-height:1.35">{html_of(answer)}</div>'
        self._say("")

    def _first(self) -> int:
        first = whole(self.first.value)
        in_range("telegram", first, 1, max(self._recording.telegrams, 1), source="as many as were read")
        return first

    def _earlier(self) -> None:
        self._turn_page(-PER_PAGE)

    def _later(self) -> None:
        self._turn_page(PER_PAGE)

    def _turn_page(self, by: int) -> None:
        self.show.value = PAGE
        self.first.value = str(min(max(self._first() + by, 1), max(self._recording.telegrams, 1)))

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        """What a notebook stores: the live panel, and for a reader without a kernel the demo recording's counts."""
        return at_rest(super()._repr_mimebundle_(**kwargs), TITLE, self._start_sentence, self._still)


def recording_panel() -> RecordingPanel:
    """Upload or choose a long recording; read it, stop when you have enough, count and page."""
    return RecordingPanel()
