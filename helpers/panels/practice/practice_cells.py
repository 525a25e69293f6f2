"""Work on a practice case in a lesson's cell: one line for a reading, one for a repair, places by their words."""

from __future__ import annotations

from typing import Any

from helpers.answer import Row
from helpers.line.instruments.catalogue import places
from helpers.line.plant.place import find
from helpers.line.practice.session import Session
from helpers.line.repairs.catalogue import by_key
from helpers.line.station.drive import DriveApplication


def reading(session: Session, key: str, words: str = "") -> list[Row]:
    """Take a reading, and give it as the rows of a table.

    words: the place, as it is called in the plant. `Unknown` with the list for another place; else as `Session.take`.
    """
    taken = session.take(key, find(words, places(session.installation, key)))
    return [{"looked at": what, "seen": seen} for what, seen in taken.lines]


def repair(session: Session, key: str, words: str, value: Any = None, *, people_clear: bool = False) -> str:
    """Do a repair at a place, and give its line in the log. Raises as `Session.repair`."""
    session.repair(key, find(words, by_key(key).places(session.installation)), value, people_clear=people_clear)
    return f"{session.log[-1].what}. {session.log[-1].result}"


def log_rows(session: Session) -> list[Row]:
    """The log, line by line: at which minute it ended, and what was done."""
    return [{"min": entry.minute, "what": entry.what} for entry in session.log]


def faulty_drives(session: Session) -> list[str]:
    """The drives that show a fault now."""
    drives = session.line.applications.items()
    return [name for name, drive in drives if isinstance(drive, DriveApplication) and drive.fault]


def acknowledge_all(session: Session, *, people_clear: bool = False) -> str:
    """Acknowledge at each drive that shows a fault, one after the other. Raises as `Session.acknowledge`."""
    waiting = faulty_drives(session)
    for name in waiting:
        session.acknowledge(name, people_clear=people_clear)
    return f"Acknowledged: {', '.join(waiting) or 'nothing, no drive shows a fault'}."
