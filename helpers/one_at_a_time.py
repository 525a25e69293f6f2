"""One program at a time at something that two must not do together; the next one says so, and waits.

The lock is the operating system's, on an open file: it ends with the program that holds it, however that ends. The
file itself stays, and means nothing. Standard library only.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TextIO

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl


@contextmanager
def alone(path: Path, waiting: str) -> Iterator[TextIO]:
    """Holds the lock of this file; says `waiting` if another program has it, and waits for it.

    Raises `OSError` if the file can't be made or opened.
    """
    with path.open("a", encoding="utf-8") as file:
        if not _held(file):
            print(waiting, flush=True)
            while not _held(file):
                time.sleep(0.2)
        yield file


def handed_on(file: TextIO) -> dict[str, Any]:
    """Arguments for `subprocess` with which a child holds the lock too, should this program be killed before it."""
    return {} if sys.platform == "win32" else {"pass_fds": (file.fileno(),)}


def _held(file: TextIO) -> bool:
    try:
        if sys.platform == "win32":
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
