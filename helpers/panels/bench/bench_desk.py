"""Tools at the desk and at the front of a drive: telegrams, the I/O test sheet, keys. Each is a widget of its own."""

from __future__ import annotations

import html
from collections.abc import Callable
from functools import partial
from itertools import islice
from typing import Any

import ipywidgets as widgets

from helpers.answer import Row
from helpers.bus.recording import telegram_meaning
from helpers.bus.recording.answers import telegram_row
from helpers.caution import Caution
from helpers.device.formats import BYTES_PER_WORD, by_name
from helpers.errors import WorkbookError
from helpers.line.gate import Gate
from helpers.line.hazard import care, declared
from helpers.line.instruments import io_sheet
from helpers.line.instruments.at_the_device import bus_state
from helpers.line.station.drive import DriveApplication
from helpers.line.station.keypad import front, keys
from helpers.line.traffic.line import Line
from helpers.panels.bench.bench_tools import WIDE, ClearTick, Tool, care_html, offer, small
from helpers.panels.kit.as_html import caution, table
from helpers.wording import short
from helpers.written import whole

_TELEGRAMS, _LETTERS = 12, 76  # two lines for each, so that the newest is seen without scrolling


# -- telegrams --------------------------------------------------------------------------------------------------------


def telegram_rows(line: Line, most: int = _TELEGRAMS) -> list[Row]:
    """The last telegrams of the recording in the words of the telegram reader, each with its time."""
    heard = line.recording.last(most)
    rate = line.installation.bit_rate
    names = {one.address: one.name for one in line.installation.loaded.stations}
    rows: list[Row] = []
    for one in heard:
        for read in islice(telegram_meaning.read(one.octets), 1):
            row = telegram_row(read, names)
            said = str(row["meaning"]) if one.whole else "damaged: this is not what was sent"
            rows.append(
                {
                    "who to whom": row["who to whom"],
                    "what it says": short(said, _LETTERS),
                    "at": f"{one.at_bits / rate:.5f} s",
                }
            )
    return rows


class RecordingTool(Tool):
    """Recording on and off, and the last telegrams in words."""

    def __init__(self, line: Callable[[], Line]) -> None:
        self._line = line
        self.on = widgets.Checkbox(description="record", indent=False, layout=widgets.Layout(width="120px"))
        self.on.observe(lambda _: self.guarded(self._switch), "value")
        self.clear = self.button("Clear", self._clear, partial(care, "record"), width=90)
        self.result = widgets.HTML()
        super().__init__([widgets.HBox([self.on, self.clear]), self.result])
        self.refresh()

    def _switch(self) -> None:
        self._line().recording.on = self.on.value
        self._show()

    def _clear(self) -> None:
        self._line().recording.clear()
        self._show()

    def _show(self) -> None:
        book = self._line().recording
        lost = f", {book.lost} older ones made room" if book.lost else ""
        state = "Recording" if book.on else "Recording is off"
        rows = telegram_rows(self._line())
        said = f"{state}: {len(book)} telegrams kept{lost}.{' The last ones, newest at the end:' if rows else ''}"
        self.result.value = small(f"{said}{table(rows) if rows else ''}")

    def refresh(self) -> None:
        """The line goes on."""
        self._line().recording.on = self.on.value
        self.guarded(self._show)


# -- the I/O test sheet -----------------------------------------------------------------------------------------------


_ROW = widgets.Layout(height="24px", min_height="24px")
_READING = widgets.Layout(width="106px", height="24px")
_NO_STATION = "an address of no station"


class WordRow(widgets.HBox):
    """One word of the sheet: address, name and value, and beside it how it is read."""

    def __init__(self, changed: Callable[[], object]) -> None:
        self.words = widgets.HTML(layout=widgets.Layout(width="310px"))
        self.reading: Any = widgets.Dropdown(layout=_READING)
        self.reading.observe(lambda _: changed(), "value")
        super().__init__([self.words, self.reading], layout=_ROW)

    def lay(self, word: io_sheet.Word, reading: str) -> None:
        """Another word stands here now."""
        self.reading.tooltip = f"how {word.address} is read"
        if self.reading.options != word.readings:
            self.reading.options = word.readings
        self.reading.value = reading

    def tell(self, word: io_sheet.Word, value: str) -> None:
        """What the word says now. Where it is tight the name is cut, never the value, which stands before it."""
        name = html.escape(word.name)
        said = f"<b>{word.address}</b> <code>{html.escape(value)}</code> {name}"
        cut = "white-space:nowrap;overflow:hidden;text-overflow:ellipsis"
        self.words.value = small(f'<div style="{cut}" title="{name}">{said}</div>')


class SheetTool(Tool):
    """The words of one station by name, live, each read as somebody wants it; and words that a person writes in place
    of the program. A range is typed only for what no station owns.
    """

    def __init__(self, gate: Callable[[], Gate]) -> None:
        self._gate = gate
        self.station = self.list_of("station", (), self._to_station)
        self.range = self.line_of("words", "", self._show, width=WIDE)
        self.range.placeholder = "%IW900 to %IW906"
        self.rows: list[WordRow] = []
        self.sheet: Any = widgets.VBox(layout=widgets.Layout(max_height="200px", overflow="auto", flex="none"))
        self._readings: dict[str, str] = {}  # by address; goes with the station
        self._laid: tuple[tuple[str, str], ...] = ()
        # Blank until a station with a control word is chosen: a start command must not lie ready for anything else.
        self.out, self.value = self.line_of("write to", "", self._typed), self.line_of("value", "")
        self.out.placeholder, self.value.placeholder = f"%QW{io_sheet.FIRST_BYTE['out']}", "16#0000"
        self.clear, self.clear_to_release = ClearTick(gate), ClearTick(gate)
        self.ticks = (self.clear, self.clear_to_release)
        self.write = self.button("Write", self._write, partial(care, "write"), width=90)
        self.release = self.button(
            "Release all", self._release, partial(care, "release"), tip="The program writes the outputs again",
            width=110,
        )  # fmt: skip
        self.forced, self.result = widgets.HTML(), widgets.HTML()
        super().__init__(
            [
                self.station,
                self.range,
                self.sheet,
                self.result,
                widgets.HTML(care_html(care("write"))),
                widgets.HBox([self.out, self.value]),
                self.clear,
                self.write,
                self.forced,
                self.clear_to_release,
                self.release,
            ]
        )
        self.refresh()

    def _line(self) -> Line:
        return self._gate().line

    def _to_station(self) -> None:
        """The words of a station; its control word, if it has one, gets the first word of a start."""
        self._readings = {}
        station = self.station.value
        at = control_word_of(self._line(), station) if station else ""
        self.out.value, self.value.value = (at, "16#047E") if at else ("", "")
        self._show()
        self._aim()

    def _typed(self) -> None:
        """Another address: what is wrong with it is said at once."""
        self._aim()
        if self.out.value.strip():
            io_sheet.station_of(self._line(), self.out.value)

    def _aim(self) -> None:
        """Which machines may start with a word written there, and with a release."""
        gate = self._gate()
        self.clear_to_release.concern(gate.machines(care("release"), *io_sheet.forced(gate.line)))
        try:
            station = io_sheet.station_of(gate.line, self.out.value)
        except WorkbookError:  # said when it is typed, and when somebody writes
            self.clear.concern(())
        else:
            self.clear.concern(gate.machines(care("write"), station))

    def _show(self) -> None:
        station = self.station.value
        self.range.layout.display = "none" if station else ""
        words = io_sheet.words(self._line(), station) if station else ()
        self._lay(words)
        for row, word in zip(self.rows, words, strict=False):
            row.tell(word, self._value(word, row.reading.value))
        free = () if station or not self.range.value.strip() else io_sheet.unowned(self._line(), self.range.value)
        rows: list[Row] = [{"address": one.address, "belongs to": one.name} for one in free]
        self.result.value = small(table(rows)) if rows else ""

    def _lay(self, words: tuple[io_sheet.Word, ...]) -> None:
        """One row for each word; rows are kept, as making one takes longer than all that is told in it."""
        laid = tuple((word.address, word.name) for word in words)
        if laid == self._laid:
            return
        self._laid = ()  # what a list says while it is laid out is nobody's choice
        self.rows += [WordRow(self._read) for _ in range(len(words) - len(self.rows))]
        for row, word in zip(self.rows, words, strict=False):
            row.lay(word, self._readings.get(word.address, word.readings[0]))
        self.sheet.children = self.rows[: len(words)]
        self._laid = laid

    def _read(self) -> None:
        """Somebody wants a word read in another way."""
        if self._laid:
            rows = zip(self._laid, self.rows, strict=False)
            self._readings = {address: row.reading.value for (address, _), row in rows}
            self.guarded(self._show)

    def _value(self, word: io_sheet.Word, reading: str) -> str:
        return io_sheet.shown(word, reading)

    def _tell(self) -> None:
        by_hand = io_sheet.forced(self._line())
        idle = "" if self._line().installation.running else " The controller is in stop: it sends zeros all the same."
        said = f"Written by hand, the program is cut off from: {', '.join(by_hand)}.{idle}" if by_hand else ""
        self.forced.value = small(f"<b>{html.escape(said)}</b>") if said else ""

    def _write(self) -> None:
        self.clear.once(lambda: self._gate().write(self.out.value, whole(self.value.value)))
        self.refresh()

    def _release(self) -> None:
        self.clear_to_release.once(self._gate().release)
        self.refresh()

    def refresh(self) -> None:
        """The line goes on."""
        offer(self.station, [(h.name, h.name) for h in self._line().handlers] + [(_NO_STATION, "")])
        self._tell()
        self._aim()
        try:
            self._show()
        except WorkbookError as error:  # old words must not pass for live ones
            self._lay(())
            self.result.value = small(f"No words are shown: {html.escape(str(error))}")


def control_word_of(line: Line, station: str) -> str:
    """Where the control word of a station is in the controller's image; "" for one that has none."""
    stretch = io_sheet.image(line).stretch(station, "out")
    try:
        words = by_name(line.handler(station).configured.data_format).words("out")
    except WorkbookError:  # identifiers, not a format by name
        return ""
    places = [BYTES_PER_WORD * n for n, word in enumerate(words) if "STW1" in (word.name, word.signal)]
    return f"%QW{stretch.first_byte + places[0]}" if stretch and places else ""


# -- the front of a drive ---------------------------------------------------------------------------------------------


def front_html(line: Line, name: str) -> str:
    """Lights, display and fault text of a drive."""
    drive = line.applications[name]
    assert isinstance(drive, DriveApplication)
    seen = front(drive, bus_state(line, name))
    rows = [{"light": f"{one.sign} {one.name}", "is": one.pattern, "which means": one.meaning} for one in seen.lights]
    display = "<br>".join(map(html.escape, seen.display)) or "dark"
    frame = "border:2px solid #1b1f24;padding:3px 8px;font-family:monospace;min-height:52px"
    return small(f'<div style="{frame}">{display}</div>{table(rows)}')


class FrontTool(Tool):
    """The front of one drive with its keys."""

    def __init__(self, gate: Callable[[], Gate]) -> None:
        self._gate = gate
        self.drive = self.list_of("drive", (), self._turned)
        self.front, self.done = widgets.HTML(), widgets.HTML()
        self.clear = ClearTick(gate)
        self.ticks = (self.clear,)
        self.key_buttons = {
            each.key: self.button(each.name, partial(self._press, each.key), partial(declared, each.hazards),
                                  tip=f"{each.does}. {declared(each.hazards).words}", width=102)
            for each in keys()
        }  # fmt: skip
        for button in self.key_buttons.values():
            button.layout.padding = "0"
        named = (Caution(c.signal, f"{k.name}: {c.words}") for k in keys() for c in declared(k.hazards).cautions)
        before = widgets.HTML(small(caution(*named)))
        flow = widgets.Layout(flex_flow="row wrap", width=f"{WIDE}px")
        row = widgets.HBox(list(self.key_buttons.values()), layout=flow)
        super().__init__([self.drive, self.front, before, self.clear, row, self.done])
        self.refresh()

    def _line(self) -> Line:
        return self._gate().line

    def _turned(self) -> None:
        self.clear.concern((self.drive.value,) if self.drive.value else ())
        self._show()

    def _press(self, name: str) -> None:
        if self.drive.value is None:
            return
        did = self.clear.once(lambda: self._gate().press(self.drive.value, name))
        self.done.value = small(f"<b>{html.escape(did)}</b>")
        self._show()

    def _show(self) -> None:
        name = self.drive.value
        self.front.value = "<p>There is no drive in this network.</p>" if name is None else front_html(
            self._line(), name
        )  # fmt: skip

    def refresh(self) -> None:
        """The line goes on."""
        drives = [d.name for d in self._line().installation.stations if d.kind == "drive"]
        offer(self.drive, [(name, name) for name in drives])
        self.guarded(self._turned)
