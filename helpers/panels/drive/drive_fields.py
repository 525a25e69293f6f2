"""Input fields that belong to a drive: a word with its bits, what the drive knows, and how this drive differs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import ipywidgets as widgets
import traitlets

from helpers import facts
from helpers.drive import words
from helpers.drive.states import Conditions, Options
from helpers.errors import WorkbookError
from helpers.panels.kit import fields
from helpers.panels.kit.fields import Field

CONDITIONS = {
    "standstill": "the motor stands",
    "local": "led from its own panel",
    "cause_present": "the cause of a fault is still there",
    "at_setpoint": "speed in tolerance (status bit 8)",
    "warning": "a warning is present (status bit 7)",
}


class Together(widgets.VBox):
    """Several widgets that count as one: `value` is the tuple of their values. `shown`: boxes that hold them."""

    value = traitlets.Tuple()

    def __init__(self, parts: Sequence[widgets.Widget], *, shown: Sequence[widgets.Widget] = ()) -> None:
        super().__init__(list(shown or parts))
        self.parts = tuple(parts)
        for part in parts:
            part.observe(self._gather, "value")
        self._gather(None)

    def _gather(self, _: object) -> None:
        self.value = tuple(part.value for part in self.parts)


def roomy(field: Field, label: str = "90px") -> Field:
    """The field with a narrower label, so that long texts such as the names of states are seen whole."""
    field.widget.style.description_width = label
    return field


def word_field(label: str, value: int, kind: str = "control") -> Field:
    """A word as text, and below it its 16 bits to press; each follows the other."""
    line = roomy(fields.text(label, words.spelled(value), words.word))
    names = words.bits(kind)
    places = [
        widgets.ToggleButton(description=str(bit), tooltip=f"bit {bit}: {names[bit].name}",
                             layout=widgets.Layout(width="35px", height="26px", padding="0", margin="1px 0"))
        for bit in range(15, -1, -1)
    ]  # fmt: skip
    busy = False

    def follow_text(_: Any) -> None:
        nonlocal busy
        try:
            number = words.word(line.widget.value)
        except WorkbookError:
            return  # the panel says what is wrong with the text; the bits stay
        busy = True
        for bit, place in zip(range(15, -1, -1), places, strict=True):
            place.value = bool(number >> bit & 1)
        busy = False

    def follow_bits(_: Any) -> None:
        if not busy:
            pressed = [bit for bit, place in zip(range(15, -1, -1), places, strict=True) if place.value]
            line.widget.value = words.spelled(words.encode(kind, on=pressed))

    follow_text(None)
    line.widget.observe(follow_text, "value")
    for place in places:
        place.observe(follow_bits, "value")
    rows = [widgets.HBox(places[:8]), widgets.HBox(places[8:])]
    return Field(line.widget, line.read, around=widgets.VBox([line.widget, *rows]))


def conditions_field(*ticked: str) -> Field:
    """What else the drive knows, as boxes to tick; reads as `Conditions`."""
    boxes = [
        widgets.Checkbox(value=name in ticked, description=words_, indent=False,
                         layout=widgets.Layout(width="290px", height="24px"))
        for name, words_ in CONDITIONS.items()
    ]  # fmt: skip
    group = Together(boxes)
    return Field(group, lambda values: Conditions(**dict(zip(CONDITIONS, values, strict=True))))


def options_field() -> Field:
    """The points on which drives differ, folded up; reads as `Options`."""
    table = facts.rows("drive_options")
    names = list(dict.fromkeys(row["field"] for row in table))
    lists = []
    for name in names:
        rows = [row for row in table if row["field"] == name]
        lists.append(
            widgets.Dropdown(
                options=[row["choice"] for row in rows],
                value=next(row["choice"] for row in rows if row["default"] == "yes"),
                description=rows[0]["option"],
                tooltip="; ".join(f"{row['choice']}: {row['meaning']}" for row in rows),
                style={"description_width": "0px"},  # for screen readers alone: beside the list, one of them is cut off
                layout=widgets.Layout(width="254px"),
            )
        )
    named = [widgets.VBox([widgets.Label(one.description), one]) for one in lists]
    group = Together(lists, shown=named)
    folded = widgets.Accordion([group], titles=("Here drives differ",), layout=widgets.Layout(width="300px"))
    return Field(group, lambda values: Options(**dict(zip(names, values, strict=True))), around=folded)
