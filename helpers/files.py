"""Opens files that a person names, so that no name makes the workbook wait or fill the memory: only a file, and a
bounded one. A device such as `/dev/zero` has no end, and a pipe is silent until somebody writes.
"""

from __future__ import annotations

import stat
from pathlib import Path
from typing import BinaryIO

from helpers.errors import Unreadable


def read_bounded(path: str | Path, most_bytes: int, advice: str = "") -> bytes:
    """The bytes of a file.

    Parameters: path; most_bytes, allowed size; advice, a sentence for whoever has a larger one.
    Errors: `Unreadable` if there is no such file, if it is no file, may not be read, or is too large.
    """
    with open_file(path) as file:
        return take_bounded(file, Path(path).name, most_bytes, advice)


def open_file(path: str | Path) -> BinaryIO:
    """An open file; `Unreadable` if it is a folder, a device or a pipe, is not there, or may not be read."""
    named = repr(str(path)[:200])
    try:
        mode = Path(path).stat().st_mode  # before it is opened: to open a pipe is to wait
        if stat.S_ISDIR(mode):
            raise Unreadable(f"{named} is a folder; give the file in it.")
        if not stat.S_ISREG(mode):
            raise Unreadable(f"{named} is no file but a device or a pipe of this computer; give the name of a file.")
        return Path(path).open("rb")
    except (OSError, ValueError) as error:
        if isinstance(error, Unreadable):
            raise
        raise Unreadable(f"{named} can't be read: {getattr(error, 'strerror', None) or error}.") from None


def take_bounded(file: BinaryIO, name: str, most_bytes: int, advice: str = "") -> bytes:
    """What an open file holds; `Unreadable` as soon as it is more than allowed."""
    content = file.read(most_bytes + 1)
    if len(content) > most_bytes:
        raise Unreadable(f"{name} has more than {most_bytes / 1e6:g} MB, which is what is allowed. {advice}".rstrip())
    return content
