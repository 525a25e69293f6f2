"""What lies on the bench: a plan's installation as it should be, the line that runs, and the faults put into it.

No widgets here. Time passes in slices that are bounded in real time, so whoever runs it stays free for other work.
"""

from __future__ import annotations

import math
import time
from collections import Counter
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import NamedTuple

from helpers.drive.settings import power_cycle
from helpers.errors import OutOfRange
from helpers.line.faults.fault import Chosen, combined
from helpers.line.gate import DEAD, Gate, Refused
from helpers.line.instruments.at_the_device import bus_state
from helpers.line.plant.build import installation_of
from helpers.line.plant.changes import with_bit_rate
from helpers.line.plant.installation import Device, Installation
from helpers.line.station.drive import DriveApplication
from helpers.line.traffic.line import Line
from helpers.plan.model import Network

MOST_FAULTS = 2
_OFF_S = 0.3  # simulated: long enough for a device to go dark
_A_ROTATION_S = 1e-9  # any time ends with the rotation in which it is over


class Bench:
    """A network on the bench. `plan` is the installation as it should be, with the bit rate and the switch as chosen.

    The line starts with all supplies on at time 0. Raises as `installation_of` for a network that can't run.
    """

    def __init__(self, network: Network, *, seed: int = 1) -> None:
        self.network, self.seed = network, seed
        self.plan = installation_of(network)
        self.line = Line(self.plan, seed=seed)
        self.gate = Gate(self.line)
        self.faults: list[Chosen] = []
        self._owed_s = 0.0
        self._put = 0

    # -- time ---------------------------------------------------------------------------------------------------------

    def step(self) -> None:
        """One rotation of the token: one bus cycle. `Refused` while the bus is isolated."""
        if self.gate.bus == DEAD:
            raise Refused("The bus is isolated: no telegram moves. Bring it back first.")
        self.line.run(_A_ROTATION_S)

    def advance(self, simulated_s: float, budget_s: float, *, clock: Callable[[], float] = time.perf_counter) -> float:
        """Let time pass until so much simulated time is over, or so much real time; the simulated time that passed.

        A slow speed owes less than one bus cycle; it is carried on. What could not be done in time is let go.
        """
        if self.gate.bus == DEAD:
            return 0.0
        begun, end = self.line.now_s, clock() + budget_s
        self._owed_s += simulated_s
        while self._owed_s > 0 and clock() < end:
            before = self.line.now_s
            self.step()
            self._owed_s -= self.line.now_s - before
        self._owed_s = min(self._owed_s, 0.0) if math.isfinite(self._owed_s) else 0.0
        return self.line.now_s - begun

    # -- faults -------------------------------------------------------------------------------------------------------

    def put(self, chosen: Chosen) -> None:
        """Put one more fault in. `OutOfRange` if there are enough, or if it and one that is in exclude each other."""
        if len(self.faults) == MOST_FAULTS:
            raise OutOfRange(
                f"{MOST_FAULTS} faults are in already; allowed are {MOST_FAULTS} at once. Take one out first."
            )
        self._put += 1
        chosen = chosen._replace(seed=self._put)
        combined(self.plan, [*self.faults, chosen])
        self.line.change(chosen.put)
        self.faults.append(chosen)

    def take_out(self, number: int) -> None:
        """Take a fault out, counted from 0; what else was changed by hand is as planned again."""
        rest = [chosen for n, chosen in enumerate(self.faults) if n != number]
        installation = combined(self.plan, rest)
        self.line.change(lambda _: installation)
        self.faults = rest

    # -- switches -----------------------------------------------------------------------------------------------------

    def switch_controller(self, *, run: bool) -> None:
        """The controller's switch: run or stop."""
        self.plan = replace(self.plan, running=run)
        self.line.change(lambda now: replace(now, running=run))

    def set_bit_rate(self, bit_rate: float) -> None:
        """Another bit rate in bit/s, as set in the controller. The stations find it by themselves."""
        self.plan = with_bit_rate(self.plan, bit_rate)
        self.line.change(lambda now: with_bit_rate(now, bit_rate))

    def supply(self, name: str, *, on: bool) -> None:
        """The supply of a device: on or off. With power-up, what was set becomes active."""

        def switched(now: Installation) -> Installation:
            device = now.device(name)
            if device.powered == on:
                return now
            settings = power_cycle(device.settings) if on else device.settings
            return now.with_device(name, powered=on, settings=settings)

        self.line.change(switched)

    def power_cycle(self, name: str) -> None:
        """Off, until it is dark, and on again."""
        self.supply(name, on=False)
        self.line.run(_OFF_S)
        self.supply(name, on=True)


# -- what there is to see ---------------------------------------------------------------------------------------------

EXCHANGES, ZEROS, WAITS_PRM, WAITS_CFG, NOT_THERE, OFF = STATES = (
    "exchanges data",
    "gets zeros only",
    "waits for parameters",
    "waits for configuration",
    "not there",
    "off",
)
_OF_BOARD = {
    "data exchange": EXCHANGES,
    "clear": ZEROS,
    "waiting for parameters": WAITS_PRM,
    "waiting for configuration": WAITS_CFG,
}


def state_of(line: Line, name: str) -> str:
    """The state of a station as a word of `STATES`; "" for a device that is no station and has supply.

    "not there": it has supply, but the controller's telegrams don't reach it.
    """
    device = line.installation.device(name)
    if not device.powered:
        return OFF
    return _OF_BOARD.get(bus_state(line, name), NOT_THERE) if device.is_station else ""


def motion_of(line: Line, name: str) -> str:
    """What a drive does, in a few words; "" for anything else."""
    drive = line.applications.get(name)
    if not isinstance(drive, DriveApplication):
        return ""
    rpm = round(drive.machine.speed_rpm)
    if drive.fault:
        return f"{'turns' if rpm else 'stands'}, fault {drive.fault.number}"
    return f"turns {rpm} rpm" if rpm else "stands"


class Seen(NamedTuple):
    """What can be said of a device at one moment; the texts are empty where there is nothing to say."""

    kind: str
    is_station: bool
    address: str
    state: str
    motion: str


def look(line: Line, *, isolated: bool = False) -> dict[str, Seen]:
    """Every device by its name. The address is the one that it has now; a repeater and a terminator have none.

    isolated: the whole bus is without supply, so all are off and all motors stand.
    """
    now, seen = line.installation, {}
    for one in now.devices:
        state, motion = state_of(line, one.name), motion_of(line, one.name)
        if isolated:
            state, motion = OFF, motion and "stands"
        seen[one.name] = Seen(one.kind, one.is_station, _address(now, one), state, motion)
    return seen


def _address(now: Installation, device: Device) -> str:
    if device.kind in ("repeater", "terminator", "coupler"):
        return ""
    return str(now.loaded.address if device is now.controller else device.address)


def counted(seen: Mapping[str, Seen]) -> str:
    """How many stations are in which state, in words.

    >>> from helpers.plan.my_networks import demo_network
    >>> bench = Bench(demo_network())
    >>> bench.line.run(1)
    >>> counted(look(bench.line))
    '9 exchange data; 8 of 8 drives turn'
    """
    states = Counter(one.state for one in seen.values() if one.is_station)
    told = [
        f"{states[state]} {word}"
        for state, word in zip(STATES, ("exchange data", "get zeros only", "wait for parameters",
                                        "wait for configuration", "not there", "off"), strict=True)
        if states[state]
    ]  # fmt: skip
    drives = [one.motion for one in seen.values() if one.motion]
    turning = sum(motion.startswith("turns") for motion in drives)
    return ", ".join(told) + f"; {turning} of {len(drives)} drives turn"
