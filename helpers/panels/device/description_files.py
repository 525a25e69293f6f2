"""The device descriptions that the panels show: the invented ones of the workbook, and what a person uploads."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from helpers.device.description.keywords import keywords
from helpers.device.description.model import Description
from helpers.device.description.read import ENDINGS, read_description
from helpers.errors import Unreadable, WorkbookError
from helpers.facts import DATA
from helpers.panels.kit.fields import Upload
from helpers.wording import short

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


def named(description: Description) -> str:
    """Device and issue, for a sentence."""
    device = short(description.text("Model_Name")) or short(description.file_name) or "a device without a name"
    issue = short(description.text("Revision"))
    return f"{device}, issue {issue}" if issue else device


def ident_text(description: Description) -> str:
    """The ident number as people write it."""
    return "none" if description.ident is None else f"16#{description.ident:04X}"


def cited_for(keyword: str) -> str:
    """Where it is known from what a keyword means."""
    return keywords()[keyword.lower()].fact.cited
