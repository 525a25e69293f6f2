"""Panels for device descriptions: read one and choose its modules; hold two issues of one beside each other."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from helpers.answer import Answer
from helpers.device.description.model import Description
from helpers.errors import WorkbookError
from helpers.panels.device.description_files import ACCEPTED, CHOICES, MOST_BYTES, UPLOADED, description_called
from helpers.panels.device.description_octets import read_values
from helpers.panels.device.description_views import SHOWN, description_view
from helpers.panels.device.revision_view import ANY, CHANGED, revision_view
from helpers.panels.device.revision_view import SHOWN as REVISIONS_SHOWN
from helpers.panels.kit import fields
from helpers.panels.kit.fields import Field, Upload
from helpers.panels.kit.panel import Panel

NOTHING = "– nothing –"
PLACES = 3
_MOST_MODULES = 300  # in a list to choose from


class ModuleLists:
    """Keeps lists of modules in step with a description, and turns to what was uploaded.

    Its observers come before those of the panel, so that the panel finds the lists in order.
    """

    def __init__(self, choice: Field, files: Field, lists: Sequence[tuple[Any, str]]) -> None:
        self.choice, self.files, self.lists = choice, files, lists
        files.widget.observe(self._uploaded, "value")
        choice.widget.observe(self._list, "value")
        self._list()

    def _uploaded(self, _: Any) -> None:
        self.choice.widget.value = UPLOADED
        self._list()

    def _list(self, _: Any = None) -> None:
        try:
            description = description_called(str(self.choice.value), self.files.value)  # type: ignore[arg-type]
        except WorkbookError:
            return  # the panel meets the same, and says it
        names = _names(description)
        for widget, first in self.lists:
            options = [first, *names] if first else names or [NOTHING]
            if list(widget.options) != options:
                widget.options = options


def _names(description: Description) -> list[str]:
    return list(dict.fromkeys(module.name for module in description.modules[:_MOST_MODULES]))


def description_panel() -> Panel:
    """One description: what it says, its findings, its modules, the octets of a choice, and what the bus tells."""
    choice, files = fields.choice("description", CHOICES), fields.upload("Upload your own", ACCEPTED)
    places = [fields.choice(f"module in place {n}", [NOTHING]) for n in range(1, PLACES + 1)]
    ModuleLists(choice, files, [(place.widget, "" if n == 0 else NOTHING) for n, place in enumerate(places)])

    def answer(description: str, files: Sequence[Upload], show: str, values: dict[str, str], **chosen: str) -> Answer:
        modules = [name for name in chosen.values() if name != NOTHING]
        return description_view(description_called(description, files), show, modules, values)

    return Panel(
        "Read a device description",
        {
            "description": choice,
            "files": files,
            "show": fields.choice("show", SHOWN),
            **{f"place_{n}": place for n, place in enumerate(places, 1)},
            "values": fields.lines("values", "", read_values, rows=3),
        },
        answer,
        hint=f"Modules and values count under “{SHOWN[3]}”. Values: one a line, as in “when the bus fails = ramp "
        f"down”. A file of your own has up to {MOST_BYTES / 1e6:.0f} MB and stays on this computer. The drives and "
        "their maker are invented.",
    )


def revision_panel() -> Panel:
    """Two descriptions: what changed, which change breaks a configured network, and what then has to be done."""
    old, new = fields.choice("older", CHOICES), fields.choice("newer", CHOICES, CHOICES[1])
    old_files, new_files = fields.upload("Upload the older", ACCEPTED), fields.upload("Upload the newer", ACCEPTED)
    used = fields.choice("module in use", [ANY])
    ModuleLists(old, old_files, [(used.widget, ANY)])
    ModuleLists(new, new_files, [])

    def answer(old: str, old_files: Sequence[Upload], new: str, new_files: Sequence[Upload], used: str,
               show: str) -> Answer:  # fmt: skip
        return revision_view(description_called(old, old_files), description_called(new, new_files), used, show)

    return Panel(
        "What does the newer description change?",
        {
            "old": old,
            "old_files": old_files,
            "new": new,
            "new_files": new_files,
            "used": used,
            "show": fields.choice("show", REVISIONS_SHOWN, CHANGED),
        },
        answer,
        hint="Both sides take a demo description, which is invented, or a file of your own. Change the order, and see "
        "that going back is a change too.",
    )
