"""One gate before everything that a person does to a line, on the bench and in the practice alike.

It refuses what needs an isolated bus while the bus is in operation, and the other way round. Where a motor may start,
it asks for the word that people are clear, for each machine. That word holds for one action, and only until the
machine's state or the plant's clock changes.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, TypeGuard

from helpers.errors import WorkbookError, one_of
from helpers.line.hazard import EVERYWHERE, HERE, ISOLATED, Care, care, declared
from helpers.line.instruments import io_sheet
from helpers.line.instruments.catalogue import NOWHERE, take
from helpers.line.instruments.reading import Reading, instrument
from helpers.line.plant import compare
from helpers.line.plant.installation import Installation
from helpers.line.plant.place import Place
from helpers.line.repairs.repair import Repair
from helpers.line.station import keypad
from helpers.line.station.drive import DriveApplication
from helpers.line.traffic.line import Line

ALIVE, DEAD, ANY = "alive", "dead", "any"
STATES = {ALIVE: "in operation", DEAD: "isolated, locked, measured dead"}
_NEEDS = {
    ALIVE: "The bus is isolated; this needs it in operation. Bring it back first.",
    DEAD: "The bus is in operation; this needs it isolated, locked and measured dead.",
}
_FEW = 3  # machines that are named one by one


class Refused(WorkbookError):
    """What can't be done as the plant stands. unsafe: somebody could have been hurt by it."""

    def __init__(self, sentence: str, *, unsafe: bool = False) -> None:
        super().__init__(sentence)
        self.unsafe = unsafe


class Gate:
    """The gate of one line. `bus` is "alive" or "dead".

    clock: what tells that time has passed at the plant; without one, the line's own time.
    """

    def __init__(self, line: Line, clock: Callable[[], object] | None = None) -> None:
        self.line, self.bus = line, ALIVE
        self._clock = clock or (lambda: line.bits)
        self._said: dict[str, object] = {}  # machine: how it and the clock stood when people were said to be clear

    # -- the word that people are clear -------------------------------------------------------------------------------

    def machines(self, asked: Care, *names: str) -> tuple[str, ...]:
        """The machines that may start with an action at these devices; () where none can.

        Whatever is no station, as a repeater, can bring back any of them.
        """
        every = tuple(device.name for device in self.line.installation.stations)
        if self.bus == DEAD and asked is not care("restore"):
            return ()
        if asked.asking(EVERYWHERE) or (asked.asking(HERE) and not set(names) <= set(every)):
            return every
        return tuple(dict.fromkeys(names)) if asked.asking(HERE) else ()

    def say_clear(self, machines: Iterable[str]) -> None:
        """Somebody says that people are clear of these machines, as they stand now."""
        self._said |= {name: self._stands(name) for name in machines}

    def forget(self) -> None:
        """Take back every word that people are clear."""
        self._said.clear()

    def clear(self, machines: Iterable[str]) -> bool:
        """True if the word holds for all of these machines."""
        return all(name in self._said and self._said[name] == self._stands(name) for name in machines)

    def _stands(self, name: str) -> object:
        drive, slave = self.line.applications[name], self.line.slaves[name]
        own = (drive.powered, drive.state, drive.fault, drive.machine.speed_rpm) if _is_drive(drive) else ()
        return self._clock(), slave.state, own

    # -- asking -------------------------------------------------------------------------------------------------------

    def ask(self, asked: Care, bus: str, *names: str) -> None:
        """Ask for an action at these devices. `Refused` with the sentence that says what is missing."""
        if bus not in (self.bus, ANY):
            reasons = asked.asking(ISOLATED) if bus == DEAD else ()
            said = " ".join(str(each.caution) for each in reasons)
            raise Refused(f"{_NEEDS[bus]} {said}".strip(), unsafe=any(each.caution.injures for each in reasons))
        machines = self.machines(asked, *names)
        if not machines:
            return
        if not self.clear(machines):
            late = any(name in self._said for name in machines)
            before = "The plant has changed since you said it. " if late else ""
            said = " ".join(str(each.caution) for each in asked.asking(HERE, EVERYWHERE))
            raise Refused(
                f"{before}First see that people are clear of {self.named(machines)}, and say so. {said}",
                unsafe=any(self._can_start(name) for name in machines),
            )
        self.forget()

    def named(self, machines: tuple[str, ...]) -> str:
        """Machines in words."""
        return ", ".join(machines) if len(machines) <= _FEW else f"all {len(machines)} machines of this network"

    def _can_start(self, name: str) -> bool:
        """A motor that turns already can't start."""
        drive = self.line.applications[name]
        return not _is_drive(drive) or drive.machine.standstill

    # -- doing --------------------------------------------------------------------------------------------------------

    def isolate(self) -> None:
        """Take the whole bus out of operation. The plant stops its drives first, so their motors stand."""
        if self.bus == DEAD:
            return
        self.ask(care("isolate"), ALIVE)
        for application in self.line.applications.values():
            if _is_drive(application):
                application.machine.halt()
        self.bus = DEAD

    def restore(self) -> None:
        """Bring the bus back into operation. The controller was without supply too, and forgets words by hand."""
        if self.bus == ALIVE:
            return
        self.ask(care("restore"), DEAD)
        self.bus = ALIVE
        io_sheet.release(self.line)
        self.line.power_cycle(*(device.name for device in self.line.installation.stations if device.powered))

    def take(self, key: str, place: Place = NOWHERE) -> Reading:
        """Take a reading."""
        what = instrument(key)
        self.ask(declared(what.hazards), what.bus, place.device)
        return take(self.line, key, place)

    def repair(self, repair: Repair, place: Place, value: Any = None) -> bool:
        """Do a repair; True if it has changed anything. A device that it restarts has its supply off and on."""
        before = self.line.installation
        after = repair.do(before, place, value)  # a wrong place is told before the gate asks
        self.ask(repair.care, repair.bus, place.device)
        self.line.change(lambda _: after)
        by_name = self.line.installation.by_name
        if self.bus == ALIVE and repair.restarts and place.device in self.line.slaves and by_name[place.device].powered:
            self.line.power_cycle(place.device)
        return bool(compare.differences(self.line.installation, before))

    def switch(self, asked: Care, name: str, work: Callable[[Installation], Installation]) -> None:
        """Turn a switch of the plant at a device."""
        self.ask(asked, ALIVE, name)
        self.line.change(work)

    def press(self, drive: str, key: str) -> str:
        """Press a key at the front of a drive; what it has done."""
        drives = {name: each for name, each in self.line.applications.items() if _is_drive(each)}
        one_of("drive", drive, drives)
        self.ask(declared(keypad.key(key).hazards), ALIVE, drive)
        return keypad.press(drives[drive], key)

    def write(self, address: str, value: int) -> str:
        """Write outputs by hand in place of the program; the station that has them. Raises as `io_sheet.write`."""
        station = io_sheet.station_of(self.line, address, value)
        self.ask(care("write"), ALIVE, station)
        return io_sheet.write(self.line, address, value)

    def release(self) -> tuple[str, ...]:
        """Let the program write all outputs again; the stations whose outputs a person has written."""
        by_hand = io_sheet.forced(self.line)
        if by_hand:
            self.ask(care("release"), ALIVE, *by_hand)
            io_sheet.release(self.line)
        return by_hand


def _is_drive(application: object) -> TypeGuard[DriveApplication]:
    return isinstance(application, DriveApplication)
