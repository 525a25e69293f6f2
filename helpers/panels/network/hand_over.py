"""The panel for the settings that hand a drive to the bus: what is set, what is active, and what the drive does."""

from __future__ import annotations

from typing import Any

import ipywidgets as widgets
import traitlets

from helpers.answer import Answer
from helpers.device.formats import all_formats
from helpers.drive.settings import (
    SOURCES,
    Local,
    RoutesPicture,
    Sent,
    Settings,
    changed,
    choices,
    hand_over_answer,
    own_name,
    power_cycle,
)
from helpers.errors import WorkbookError, in_range
from helpers.panels.kit import fields
from helpers.panels.kit.drawing import BLUE, GREY, INK, ORANGE, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.panel import Panel
from helpers.written import number

_WORDS = [
    ("run: 16#047F", 0x047F),
    ("stop by ramp: 16#047E", 0x047E),
    ("run, bit 10 forgotten: 16#007F", 0x007F),
    ("all zeros: 16#0000", 0x0000),
]
_LOCAL = [
    ("panel: stop, 30 %", Local(panel_percent=30.0)),
    ("panel: run, 30 %", Local(panel_run=True, panel_percent=30.0)),
    ("nothing, 0 %", Local()),
    ("terminals: 40 %", Local(terminals_run=True, terminals_percent=40.0)),
]
_LINKS = [("arrive", "arrive"), ("have stopped", "stopped"), ("none so far", "never came")]


def as_left_by_the_fitter() -> Settings:
    """The start of the panel: set for the bus, but the setpoint was forgotten, and the supply was not off since.

    >>> from helpers.drive.settings import waiting
    >>> waiting(as_left_by_the_fitter())
    ('address', 'data_format')
    """
    settings = Settings()
    for name, value in (("run_source", "bus"), ("address", 12), ("data_format", "PPO 4")):
        settings = changed(settings, name, value)
    return settings


# -- the picture --------------------------------------------------------------------------------------


def routes_drawing(picture: RoutesPicture) -> Drawing:
    """Which source is joined to the run command, which to the setpoint, and what the motor does."""
    active, does = picture.active, picture.does
    sheet = Drawing(700, 132, picture.says)
    for row, (source, words) in enumerate(SOURCES.items()):
        y = 8 + 42 * row
        dead = source == "bus" and not does.exchange
        sheet.box(8, y, 150, 32, fill=PAPER if dead else SKY, stroke=ORANGE if dead else INK, round_=4)
        sheet.text(83, y + 21, f"{words}: no data" if dead else words, size=13, bold=True,
                   fill=ORANGE if dead else INK)  # fmt: skip
    for column, (chosen, words) in enumerate(
        ((active.run_source, "run command"), (active.setpoint_source, "setpoint"))
    ):
        y = 12 + 66 * column
        sheet.box(330, y, 130, 42, fill=SAND, round_=4)
        sheet.text(395, y + 26, words, size=13, bold=True)
        for row, source in enumerate(SOURCES):
            joined = source == chosen
            start = 24 + 42 * row
            if joined:
                sheet.line(158, start, 330, y + 21, stroke=BLUE, width=3)
                sheet.dot(330, y + 21, 5, fill=BLUE, stroke=BLUE)
        sheet.line(460, y + 21, 546, 66, stroke=INK, width=2)
    moves = does.motor != "stands"
    sheet.dot(590, 66, 44, fill=SAND if moves else PAPER, stroke=ORANGE if moves else INK)
    sheet.text(590, 63, "motor", size=12, fill=GREY)
    sheet.text(590, 80, does.motor, size=12, bold=True)
    if moves:
        sheet.text(640, 70, f"{does.speed_percent:g} %", size=14, anchor="start", bold=True)
    return sheet


# -- the controls -------------------------------------------------------------------------------------


class DriveFront(widgets.VBox):
    """The drive's settings, and its supply. `value` is the `Settings`, or what was wrong with an input."""

    value = traitlets.Any()

    def __init__(self, settings: Settings) -> None:
        formats = [each.name for each in all_formats()]
        self.fields = {
            "run_source": fields.choice(own_name("run_source"), [row["choice"] for row in choices("run_source")]),
            "setpoint_source": fields.choice(own_name("setpoint_source"), [r["choice"] for r in choices("run_source")]),
            "address": fields.text(own_name("address"), ""),
            "data_format": fields.choice(own_name("data_format"), formats),
            "on_loss": fields.choice(own_name("on_loss"), [row["choice"] for row in choices("on_loss")]),
        }
        self.known = self.value = settings
        for name, field in self.fields.items():
            now = getattr(settings.set, name)
            field.widget.value = str(now)
            field.widget.observe(self._changed, "value")
        supply = widgets.Button(description="Supply off and on", icon="power-off", layout=widgets.Layout(width="290px"),
                                tooltip="Switches the drive's supply off until it is dark, and on again")  # fmt: skip
        supply.on_click(self._off_and_on)
        self.supply = supply
        super().__init__([*(field.widget for field in self.fields.values()), supply])

    def _changed(self, _: Any) -> None:
        try:
            for name, field in self.fields.items():
                if str(field.value) != str(getattr(self.known.set, name)):
                    self.known = changed(self.known, name, str(field.value))
        except WorkbookError as error:
            self.value = error
        else:
            self.value = self.known

    def _off_and_on(self, _: Any) -> None:
        self.known = power_cycle(self.known)
        self.value = self.known


def _percent(typed: str) -> float:
    value = number(typed.strip().removesuffix("%"))
    in_range("setpoint", value, -200, 200, "%")
    return value


def _settings(value: Settings | WorkbookError) -> Settings:
    if isinstance(value, WorkbookError):
        raise value
    return value


def hand_over_panel() -> Panel:
    """Set the drive, switch its supply, and see what it does when the controller says run."""
    formats = [each.name for each in all_formats()]
    front = DriveFront(as_left_by_the_fitter())
    telegrams = fields.choice("telegrams", _LINKS, "arrive")

    def answer(settings: Settings, local: Local, **sent: Any) -> Answer:
        return hand_over_answer(settings, Sent(**sent), local)

    panel = Panel(
        "What will it do when the controller says run?",
        {
            "settings": fields.Field(front, _settings),
            "local": fields.choice("at the drive itself", _LOCAL, _LOCAL[0][1]),
            "control_word": fields.choice("controller sends", _WORDS, 0x047F),
            "setpoint_percent": fields.text("setpoint word", "60 %", _percent),
            "address": fields.whole("asks address", "12", 0, 126),
            "data_format": fields.choice("with format", formats, "PPO 4"),
            "telegrams": telegrams,
        },
        answer,
        draw={RoutesPicture: routes_drawing},
    )

    def forget(change: Any) -> None:
        """A drive that was without supply, or that is only now led by the bus, has no last command of the bus."""
        if telegrams.widget.value == "stopped" and getattr(change, "new", "bus") == "bus":
            telegrams.widget.value = "never came"

    front.supply.on_click(forget)
    front.fields["run_source"].widget.observe(forget, "value")
    return panel
