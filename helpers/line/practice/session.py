"""One person at work on a case: readings, repairs, isolating the bus, and what each costs in minutes.

What the gate refuses is noted; it counts as a breach only if somebody could have been hurt by it. An action at the
wrong place costs its time and does no other harm.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from helpers.errors import one_of
from helpers.line.gate import ALIVE, DEAD, STATES, Gate, Refused
from helpers.line.hazard import care
from helpers.line.instruments import io_sheet
from helpers.line.instruments.catalogue import NOWHERE, take
from helpers.line.instruments.reading import Reading, instrument
from helpers.line.plant import compare
from helpers.line.plant.installation import Installation
from helpers.line.plant.place import Place, polled
from helpers.line.practice.case import Case
from helpers.line.practice.observation import Observation, usual, watch
from helpers.line.repairs.catalogue import by_key
from helpers.line.station.drive import DriveApplication
from helpers.line.times import size, steps
from helpers.line.traffic.line import Line

STANDING, TURNING = "standing", "turning"

T = TypeVar("T")


@dataclass(frozen=True)
class Entry:
    """One line of the log: at which minute it ended, what was done, what came of it.

    reading: the one that was taken. evidence: it tells of the case as it was drawn, not of a line that was changed.
    refused: the gate let it not be done. breach: somebody could have been hurt by it. repair: key of the repair that
    was done. written: the station whose outputs a person has written. bus: how the bus is since this, where it was
    isolated or brought back.
    """

    minute: float
    what: str
    result: str
    reading: Reading | None = None
    evidence: bool = False
    refused: bool = False
    breach: bool = False
    repair: str = ""
    written: str = ""
    bus: str = ""


class Session:
    """Work on one case. `minutes` have passed; `bus` is "alive" or "dead"; `log` holds everything, in its order."""

    def __init__(self, case: Case) -> None:
        self.case = case
        self.minutes = 0.0
        self.log: list[Entry] = []
        self.line = Line(case.faulty)
        self.gate = Gate(self.line, lambda: (self.minutes, self.line.bits))
        # Somebody has acknowledged or written words: what moves is no longer as the fault alone would have it.
        self._touched = False
        self._sheets: set[str] = set()  # stations whose words were looked at
        watch(self.line)

    @property
    def bus(self) -> str:
        """How the bus is: "alive" or "dead"."""
        return self.gate.bus

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
        """Take a reading. `Refused` with the reason if the bus is in the wrong state for it."""
        what = instrument(key)
        name = f"{what.name}, {place.words}" if place.words else what.name
        if self.bus == ALIVE and what.bus != DEAD:
            self.line.run(size("before_reading_s"))
        before = self.installation
        reading = self._through(name, lambda: self.gate.take(key, place))
        if key == "io sheet":
            self._sheets.add(place.device)
        unchanged = not compare.differences(before, self.case.faulty)
        self._note(
            name, reading.text, what.minutes, reading=reading, evidence=unchanged and not (what.moves and self._touched)
        )
        return reading

    def see(self, station: str) -> tuple[io_sheet.Word, ...]:
        """Look at the words of a station. Raises as `io_sheet.words` and `take`."""
        one_of("station", station, [handler.name for handler in self.line.handlers])
        self.take("io sheet", self._in_project(station))
        return io_sheet.words(self.line, station)

    def on_sheet(self, station: str) -> bool:
        """True if somebody has looked at the words of the station."""
        return station in self._sheets

    def watch(self) -> Observation:
        """Watch the plant for a while, as its people do."""
        self._through("watch the plant", lambda: self.gate.ask(care("watch"), ALIVE))
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
        """Take the whole bus out of operation. The steps, to be shown."""
        if self.bus == ALIVE:
            self._through("isolate the bus", self.gate.isolate)
            self._note("isolate the bus", STATES[DEAD], size("isolate_minutes"), bus=DEAD)
        return steps("isolate")

    def restore(self, *, people_clear: bool = False) -> tuple[str, ...]:
        """Bring the bus back into operation; motors may start, so people have to be clear. The steps."""
        if self.bus == DEAD:
            self._said(people_clear, self.gate.machines(care("restore")))
            self._through("bring the bus back", self.gate.restore)
            self._touched = False
            self.line.run(size("settle_s"))
            self._note("bring the bus back", STATES[ALIVE], size("restore_minutes"), bus=ALIVE)
        return steps("restore")

    # -- doing --------------------------------------------------------------------------------------------------------

    # people_clear says so now, for all machines that may start with the action. Without it a word that was given to the
    # gate before counts, while it holds.

    def repair(self, key: str, place: Place, value: Any = None, *, people_clear: bool = False) -> bool:
        """Do a repair; None for the value is what the network plan says. True if it has changed anything.

        Refused in the wrong state of the bus, and where a motor may start without the word that people are clear.
        """
        what = by_key(key)
        name = f"{what.name}, {place.words}"
        if value is None:
            value = what.planned(self.case.installation, place)
        self._said(people_clear, self.gate.machines(what.care, place.device))
        changed = self._through(name, lambda: self.gate.repair(what, place, value))
        if self.bus == ALIVE:
            self.line.run(size("after_change_s"))
        result = "Done; something is different now." if changed else "Done; it was the same before."
        self._note(name, result, what.minutes, repair=key)
        return changed

    def acknowledge(self, drive: str, *, people_clear: bool = False) -> str:
        """Acknowledge the fault of a drive at its front; a motor may start with it."""
        what = f"acknowledge at {drive}"
        drives = self._drives()
        one_of("drive", drive, drives)
        fault = drives[drive].fault
        self._said(people_clear, (drive,))
        said = self._through(what, lambda: self.gate.press(drive, "acknowledge"))
        self._touched = self._touched or fault is not None  # without a fault nothing happens
        self.line.run(size("after_change_s"))
        self._note(what, said, size("acknowledge_minutes"))
        return said

    def write(self, address: str, value: int, *, people_clear: bool = False) -> Reading:
        """Write outputs by hand in place of the program, and look at what moves and at the station's words.

        The program stays cut off from the station until `release`, or until the bus was off or the controller loaded.
        Raises as `io_sheet.write`.
        """
        station = io_sheet.station_of(self.line, address, value)
        what = f"write 16#{value:04X} to {address.strip()}"
        before = self._shaft(station)
        self._said(people_clear, (station,))
        self._through(what, lambda: self.gate.write(address, value))
        self._touched = True
        self.line.run(size("settle_s"))
        reading = take(self.line, "io sheet", self._in_project(station))
        self._sheets.add(station)
        result = f"The shaft: {before} before, {self._shaft(station)} now." if before else "Done."
        if not self.installation.running:
            result += " The controller is in stop: it sends zeros all the same."
        self._note(f"{what}, {station}", result, size("write_minutes"), reading=reading, written=station)
        return reading

    def release(self, *, people_clear: bool = False) -> tuple[str, ...]:
        """Let the controller's program write all outputs again; a motor may start with that.

        Return: the stations whose outputs a person has written.
        """
        what, by_hand = "release the outputs", io_sheet.forced(self.line)
        if by_hand:
            self._said(people_clear, by_hand)
            self._through(what, self.gate.release)
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

    def _said(self, people_clear: bool, machines: tuple[str, ...]) -> None:
        if people_clear:
            self.gate.say_clear(machines)

    def _through(self, what: str, work: Callable[[], T]) -> T:
        """Do what the gate lets through, and note what it refuses."""
        try:
            return work()
        except Refused as refused:
            self._note(what, str(refused), 0.0, refused=True, breach=refused.unsafe)
            raise

    def _note(self, what: str, result: str, minutes: float, **more: Any) -> None:
        self.minutes += minutes
        self.log.append(replace(Entry(self.minutes, what, result), **more))
