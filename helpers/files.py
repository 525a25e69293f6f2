"""Opens files that a person names, so that no name makes the workbook wait or fill the memory: only a file, and a
bounded one. A device such as `/dev/zero` has no end, and a pipe is silent until somebody writes.

It also knows the folder in which the workbook keeps what a user makes.
"""

from __future__ import annotations

import os
import stat
from pathlib import Path
from typing import BinaryIO

import platformdirs

from helpers.errors import Unreadable

FOLDER_VARIABLE = "WORKBOOK_PROGRESS"


def read_bounded(path: str | Path, most_bytes: int, advice: str = "") -> bytes:
    """The bytes of a file.

    Parameters: path; most_bytes, allowed size; advice, a sentence for whoever has a larger one.
    Errors: `Unreadable` if there is no such file, if it is no file, may not be read, or is too large.
    """
    with open_file(path) as file:
        return take_bounded(file, Path(path).name, most_bytes, advice)


def open_file(path: str | Path) -> BinaryIO:
    """An open file; `Unreadable` if it is a folder, a device or a pipe, is not there, or may not be read."""
    shown = repr(str(path)[:200])
    try:
        mode = Path(path).stat().st_mode  # before it is opened: to open a pipe is to wait
        if stat.S_ISDIR(mode):
            raise Unreadable(f"{shown} is a folder; give the file in it.")
        if not stat.S_ISREG(mode):
            raise Unreadable(f"{shown} is no file but a device or a pipe of this computer; give the name of a file.")
        return Path(path).open("rb")
    except (OSError, ValueError) as error:
        if isinstance(error, Unreadable):
            raise
        raise Unreadable(f"{shown} can't be read: {getattr(error, 'strerror', None) or error}.") from None


def take_bounded(file: BinaryIO, name: str, most_bytes: int, advice: str = "") -> bytes:
    """What an open file holds; `Unreadable` as soon as it is more than allowed."""
    content = file.read(most_bytes + 1)
    if len(content) > most_bytes:
        raise Unreadable(f"{name} has more than {most_bytes / 1e6:g} MB, which is what is allowed. {advice}".rstrip())
    return content


def own_folder() -> Path:
    """The user's own folder: what WORKBOOK_PROGRESS names (a stick, say), else the usual one of this computer."""
    named = os.environ.get(FOLDER_VARIABLE)
    if not named:
        return usual_folder()
    try:
        return Path(named).expanduser()
    except RuntimeError:  # ~somebody who is not known here: taken as it stands, and told when it can't be used
        return Path(named)


def usual_folder() -> Path:
    """Where this computer keeps what programs store for the user."""
    return Path(platformdirs.user_data_dir("fieldbus-workbook", appauthor=False))


def make_own_folder(folder: Path) -> None:
    """Make the user's own folder. One that the user named may be on a stick that is not plugged in: then its
    parents are not made up.
    """
    folder.mkdir(parents=folder == usual_folder(), exist_ok=True)
