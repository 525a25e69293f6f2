"""Panels for device descriptions: read one and choose its modules; hold two issues of one beside each other.

They show the invented descriptions of the workbook, and what a person uploads.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

from helpers.answer import Answer
from helpers.device.description.answers import SHOWN, description_answer
from helpers.device.description.compare import CHANGED, REVISIONS_SHOWN, revision_answer
from helpers.device.description.model import Description
from helpers.device.description.read import ENDINGS, read_description
from helpers.device.description.set_up_answer import SetUpPicture, read_values
from helpers.errors import Unreadable, WorkbookError
from helpers.facts import DATA
from helpers.panels.kit import fields
from helpers.panels.kit.as_html import Draw
from helpers.panels.kit.drawing import GREY, INK, PAPER, SAND, SKY, Drawing
from helpers.panels.kit.fields import Field, Upload
from helpers.panels.kit.panel import Panel
from helpers.wording import counted

DEMOS = {
    "Mill drive M, 1.1": "Mil_FFF1.gsd",
    "Mill drive M, 2.0": "newer/Mil_FFF1.gsd",
    "Mill M, German": "Mil_FFF1.gsg",
    "Mill drive C": "Mil_FFF2.gsd",
    "Mill drive 1, old": "Mil_FFF3.gsd",
    "one with faults": "Mil_FFF4.gsd",
}
UPLOADED = "your upload"
CHOICES = [*DEMOS, UPLOADED]
MOST_BYTES = 2_000_000  # what is far larger would keep the page waiting
ACCEPTED = ",".join((*ENDINGS, *(ending.upper() for ending in ENDINGS), ".txt"))

_NAME = 60  # characters of a file name in a sentence


def description_called(choice: str, files: Sequence[Upload]) -> Description:
    """The demo description of this name, or the one uploaded. `Unreadable` if that is none."""
    found = _read(tuple(files)) if choice == UPLOADED else _demo(DEMOS[choice])
    if isinstance(found, WorkbookError):
        raise found
    return found


@lru_cache(maxsize=len(DEMOS))
def _demo(name: str) -> Description:
    return read_description(DATA / "demo" / "descriptions" / name)


@lru_cache(maxsize=4)
def _read(files: tuple[Upload, ...]) -> Description | WorkbookError:
    """Read once, though several controls ask: a refusal is kept like a description."""
    if not files:
        return Unreadable("Nothing is uploaded yet; choose one of the demo descriptions, or press the button.")
    if len(files) > 1:
        return Unreadable(f"{len(files)} files are uploaded; choose one device description at a time.")
    (file,) = files
    name, size = file.name[:_NAME], len(file.content)
    if not size:
        return Unreadable(f"{name} is empty (0 bytes): save it again from where it came, or ask the maker for it.")
    if size > MOST_BYTES:
        return Unreadable(
            f"{name}: {size / 1e6:.1f} MB; allowed are {MOST_BYTES / 1e6:.0f} MB here. A larger one can be read in a "
            "shell window: python -m helpers description check, and the name of the file."
        )
    if file.content.startswith((b"PK\x03\x04", b"\x1f\x8b")):
        return Unreadable(f"{name} is a packed file: unpack it first, and upload the description that is in it.")
    try:
        return read_description(file.content, name)
    except WorkbookError as error:
        return error


_BOX, _LEFT, _MOST_BOXES = 27, 92, 23  # px, px, octets in a line of the drawing
_FILLS = (SAND, SKY, PAPER)


def set_up_drawing(picture: SetUpPicture) -> Drawing:
    """The octets of Chk_Cfg and of Set_Prm, each under the place that it belongs to."""
    setup = picture.setup
    identifiers = [(place, octet) for place, module in enumerate(setup.modules, 1) for octet in module.identifiers]
    parameters = [(place, octet) for place, part in enumerate(setup.parts) for octet in part]
    lines = (("Chk_Cfg", "", identifiers), ("Set_Prm", f"from {picture.own_octets + 1}", parameters))
    sheet = Drawing(_LEFT + _BOX * (_MOST_BOXES + 1) + 8, 112, picture.says)
    for n, (service, note, octets) in enumerate(lines):
        y = 6.0 + 46 * n
        sheet.text(4, y + 15, service, anchor="start", bold=True)
        sheet.text(4, y + 29, note or counted(len(octets), "octet"), size=11, anchor="start", fill=GREY)
        if not octets:
            sheet.text(_LEFT, y + 15, "nothing beyond the seventh octet", size=12, anchor="start", fill=GREY)
        shown = octets if len(octets) <= _MOST_BOXES + 1 else octets[:_MOST_BOXES]
        for at, (place, octet) in enumerate(shown):
            x = _LEFT + at * _BOX
            sheet.box(x, y, _BOX - 2, 20, fill=_FILLS[place % len(_FILLS)], stroke=INK, line=1)
            sheet.text(x + _BOX / 2 - 1, y + 15, f"{octet:02X}", size=12)
            if at == 0 or octets[at - 1][0] != place:
                sheet.text(x + 1, y + 33, place, size=11, anchor="start", fill=GREY)
        if len(shown) < len(octets):
            sheet.text(_LEFT + _MOST_BOXES * _BOX + 4, y + 15, f"+{len(octets) - len(shown)}", size=11, anchor="start")
    sheet.text(4, 106, f"Places: {picture.legend}", size=11, anchor="start", fill=GREY)
    return sheet


DRAW: Draw = {SetUpPicture: set_up_drawing}
NOTHING = "– nothing –"
ANY = "not known"
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
        return description_answer(description_called(description, files), show, modules, values)

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
        draw=DRAW,
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
        both = description_called(old, old_files), description_called(new, new_files)
        return revision_answer(*both, None if used == ANY else [used], show=show)

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
