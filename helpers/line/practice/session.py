"""One person at work on a case: readings, repairs, isolating the bus, and what each costs in minutes.

What is done while the bus is in the wrong state for it is refused with its caution, and noted. An action at the wrong
place costs its time and does no other harm.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from helpers.errors import WorkbookError, one_of
from helpers.facts import one
from helpers.line import compare, io_sheet
from helpers.line.drive import DriveApplication
from helpers.line.front import press
from helpers.line.installation import Installation
from helpers.line.instruments.kit import NOWHERE, take
from helpers.line.instruments.reading import Reading, instrument
from helpers.line.line import Line
from helpers.line.place import Place, polled
from helpers.line.practice.case import Case
from helpers.line.practice.observation import Observation, usual, watch
from helpers.line.practice.work import size, steps
from helpers.line.repairs.catalogue import by_key
from helpers.line.repairs.repair import START

ALIVE, DEAD = "alive", "dead"
STANDING, TURNING = "standing", "turning"
STATES = {ALIVE: "in operation", DEAD: "isolated, locked, measured"}
_NEEDS = {
    ALIVE: "The bus is isolated; this needs it in operation. Bring it back first.",
    DEAD: "The bus is in operation; this needs it isolated, locked and measured dead.",
}


@dataclass(frozen=True)
class Entry:
    """One line of the log: at which minute it ended, what was done, what came of it.

    reading: the one that was taken. evidence: it tells of the case as it was drawn, not of a line that was changed.
    breach: it was refused as unsafe or impossible in that state. repair: key of the repair that was done. written: the
    station whose outputs a person has written.
    """

    minute: float
    what: str
    result: str
    reading: Reading | None = None
    evidence: bool = False
    breach: bool = False
    repair: str = ""
    written: str = ""


class Session:
    """Work on one case. `minutes` have passed; `bus` is "alive" or "dead"; `log` holds everything, in its order."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.minutes = 0.0
        self.bus = ALIVE
        self.log: list[Entry] = []
        self.line = Line(case.faulty)
        # Somebody has acknowledged or written words: what moves is no longer as the fault alone would have it.
        self._touched = False
        self._sheets: set[str] = set()  # stations whose words were looked at
        watch(self.line)

    @property
    def installation(self) -> Installation:
        """The plant as it stands now."""
        return self.line.installation

    @property
    def evidence(self) -> tuple[Reading, ...]:
        """The readings that tell of the case as it was drawn."""
        return tuple(entry.reading for entry in self.log if entry.reading and entry.evidence)

    # -- looking ------------------------------------------------------------------------------------------------------

    def take(self, key: str, place: Place = NOWHERE) -> Reading:
        """Take a reading. `WorkbookError` with the caution if the bus is in the wrong state for it."""
        what = instrument(key)
        name = f"{what.name}, {place.words}" if place.words else what.name
        self._need(what.bus, name, what.caution)
        if self.bus == ALIVE:
            self.line.run(size("before_reading_s"))
        before = self.installation
        reading = take(self.line, key, place)
        if key == "io sheet":
            self._sheets.add(place.device)
        unchanged = not compare.differences(before, self.case.faulty)
        self._note(
            name, reading.text, what.minutes, reading=reading, evidence=unchanged and not (what.moves and self._touched)
        )
        return reading

    def see(self, first: str, count: int) -> tuple[io_sheet.Word, ...]:
        """Look at so many words from an address on; each station that has some of them is a reading of its own.

        Raises as `io_sheet.words`, and `WorkbookError` where no station has any of them.
        """
        names = [h.name for h in self.line.handlers if any(_has(h.name, w) for w in self._words(first, count))]
        if not names:
            raise WorkbookError(f"No station has words from {first.strip()} on, as many as {count}. Choose a station.")
        for name in names:
            self.take("io sheet", self._in_project(name))
        return self._words(first, count)

    def _words(self, first: str, count: int) -> tuple[io_sheet.Word, ...]:
        return io_sheet.words(self.line, first, count)

    def on_sheet(self, word: io_sheet.Word) -> bool:
        """True if somebody has looked at the words of the station that has this one; of both, if two have it."""
        return all(h.name in self._sheets for h in self.line.handlers if _has(h.name, word))

    def watch(self) -> Observation:
        """Watch the plant for a while, as its people do."""
        self._need(ALIVE, "watch the plant", "")
        seen = watch(self.line, settle_s=size("after_change_s"))
        good = seen.same(usual(self.case.installation))
        result = "Everything runs as it should." if good else "It does not run as it should yet."
        if by_hand := io_sheet.forced(self.line):
            result += f" But outputs are still written by hand: {', '.join(by_hand)}. Release them."
        self._note("watch the plant", result, size("watch_minutes"))
        return seen

    def runs(self) -> bool:
        """Watch the plant, as `watch` does; True if its people see everything as it should be."""
        return self.watch().same(usual(self.case.installation))

    @property
    def healthy(self) -> bool:
        """True if the plant is again as it was planned, and no output is written by hand.

        Costs no time, and is for marking only.
        """
        return compare.healthy(self.installation, self.case.installation) and not io_sheet.forced(self.line)

    @property
    def tripped(self) -> tuple[str, ...]:
        """The drives that wait for somebody to acknowledge their fault. For marking only, as `healthy`."""
        return tuple(name for name, drive in self._drives().items() if drive.powered and drive.fault)

    def _drives(self) -> dict[str, DriveApplication]:
        return {n: a for n, a in self.line.applications.items() if isinstance(a, DriveApplication)}

    # -- the state of the bus -----------------------------------------------------------------------------------------

    def isolate(self) -> tuple[str, ...]:
        """Take the whole bus out of operation: isolate, lock, wait, measure. The steps, to be shown."""
        if self.bus == ALIVE:
            self.bus = DEAD
            self._note("isolate the bus", STATES[DEAD], size("isolate_minutes"))
        return steps("isolate")

    def restore(self, *, people_clear: bool) -> tuple[str, ...]:
        """Bring the bus back into operation; motors may start, so people have to be clear. The steps."""
        if self.bus == DEAD:
            self._clear("bring the bus back", people_clear)
            self.bus, self._touched = ALIVE, False
            io_sheet.release(self.line)  # the controller was without supply too, and forgets what a person wrote
            self.line.power_cycle(*(device.name for device in self.installation.stations if device.powered))
            self.line.run(size("settle_s"))
            self._note("bring the bus back", STATES[ALIVE], size("restore_minutes"))
        return steps("restore")

    # -- doing --------------------------------------------------------------------------------------------------------

    def repair(self, key: str, place: Place, value: Any = None, *, people_clear: bool = False) -> bool:
        """Do a repair; None for the value is what the network plan says. True if it has changed anything.

        Refused in the wrong state of the bus, and where a motor may start without the word that people are clear.
        """
        what = by_key(key)
        name = f"{what.name}, {place.words}"
        self._need(one("practice_costs", key=key)["bus"], name, what.caution)
        if START in what.caution and self.bus == ALIVE:
            self._clear(name, people_clear)
        if value is None:
            value = what.planned(self.case.installation, place)
        before = self.installation
        self.line.change(lambda now: what.do(now, place, value))
        if self.bus == ALIVE:
            if what.restarts and self.installation.by_name[place.device].powered:
                self.line.power_cycle(place.device)
            self.line.run(size("after_change_s"))
        changed = bool(compare.differences(self.installation, before))
        result = "Done; something is different now." if changed else "Done; it was the same before."
        self._note(name, result, what.minutes, repair=key)
        return changed

    def acknowledge(self, drive: str, *, people_clear: bool) -> str:
        """Acknowledge the fault of a drive at its front; a motor may start with it."""
        what = f"acknowledge at {drive}"
        self._need(ALIVE, what, "")
        drives = self._drives()
        one_of("drive", drive, drives)
        self._clear(what, people_clear)
        self._touched = self._touched or drives[drive].fault is not None  # without a fault nothing happens
        said = press(drives[drive], "acknowledge")
        self.line.run(size("after_change_s"))
        self._note(what, said, size("acknowledge_minutes"))
        return said

    def write(self, address: str, value: int, *, people_clear: bool) -> Reading:
        """Write outputs by hand in place of the program, and look at what moves and at the station's words.

        The program stays cut off from the station until `release`, or until the bus was off or the controller loaded.
        Raises as `io_sheet.write`.
        """
        what = f"write 16#{value:04X} to {address.strip()}"
        self._need(ALIVE, what, io_sheet.WRITE)
        self._clear(what, people_clear)
        before = {name: self._shaft(name) for name in self.line.applications}
        station = io_sheet.write(self.line, address, value)
        self._touched = True
        self.line.run(size("settle_s"))
        reading = take(self.line, "io sheet", self._in_project(station))
        self._sheets.add(station)
        is_drive = bool(before[station])
        result = f"The shaft: {before[station]} before, {self._shaft(station)} now." if is_drive else "Done."
        if not self.installation.running:
            result += " The controller is in stop: it sends zeros all the same."
        self._note(f"{what}, {station}", result, size("write_minutes"), reading=reading, written=station)
        return reading

    def release(self, *, people_clear: bool) -> tuple[str, ...]:
        """Let the controller's program write all outputs again; a motor may start with that.

        Return: the stations whose outputs a person has written.
        """
        by_hand = io_sheet.forced(self.line)
        if by_hand:
            what = "release the outputs"
            self._need(ALIVE, what, io_sheet.WRITE)
            self._clear(what, people_clear)
            io_sheet.release(self.line)
            self.line.run(size("settle_s"))
            self._note(what, f"The program writes again: {', '.join(by_hand)}.", 0.0)
        return by_hand

    def _shaft(self, station: str) -> str:
        """What the shaft of a drive does, in a word or two; "" for another station."""
        drive = self.line.applications[station]
        if not isinstance(drive, DriveApplication):
            return ""
        turns = abs(drive.speed_percent) > size("turns_percent")
        return f"{TURNING} at {drive.speed_percent:.0f} %" if turns else STANDING

    # -- inside -------------------------------------------------------------------------------------------------------

    def _in_project(self, station: str) -> Place:
        return next(place for place in polled(self.installation) if place.device == station)

    def _need(self, bus: str, what: str, caution: str) -> None:
        if bus not in (self.bus, "any"):
            self._refuse(what, f"{_NEEDS[bus]} {caution}".strip())

    def _clear(self, what: str, people_clear: bool) -> None:
        if not people_clear:
            self._refuse(what, "A motor may start. First see that people are clear of the machines, and say so.")

    def _refuse(self, what: str, sentence: str) -> None:
        self._note(what, sentence, 0.0, breach=True)
        raise WorkbookError(sentence)

    def _note(self, what: str, result: str, minutes: float, **more: Any) -> None:
        self.minutes += minutes
        self.log.append(replace(Entry(self.minutes, what, result), **more))


def _has(station: str, word: io_sheet.Word) -> bool:
    return station in word.station.split(" and ")
