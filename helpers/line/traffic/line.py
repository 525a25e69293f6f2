"""The practice line runs: token, messages, gap, silences, in bit times, one rotation of the token after another.

The order and the silences are those of `bus/time/cycle.py`, so an undisturbed rotation takes exactly the bit
times that it calculates. Between rotations, and in long ones between messages, the drives and their motors move on, and
the controller's program works.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from random import Random
from typing import NamedTuple

from helpers.bus.address.address import gap
from helpers.bus.services import global_control, message
from helpers.bus.services.global_control import GlobalControl
from helpers.bus.telegram import frame as frames
from helpers.bus.time.message_cycle import tsdr_part
from helpers.bus.time.timing import BusTiming, bus_timing, rule_bits
from helpers.drive.settings import NAMES, Settings, needs_power_cycle
from helpers.errors import one_of
from helpers.facts import one
from helpers.line.plant.installation import Device, Installation
from helpers.line.station import stations
from helpers.line.station.dp_slave import OFF, DpSlave
from helpers.line.traffic import token_ring
from helpers.line.traffic.calm import Memory
from helpers.line.traffic.controller import Handler
from helpers.line.traffic.medium import Medium, collided
from helpers.line.traffic.telegram_log import Recording

STEP_S = one("practice_line", name="drive_step_s").number("value")
# How long the supply is gone when it drops, and how often the token is offered to a station that does not take it.
_DROP_S, _TOKEN_TRIES = 0.3, 3
CHARACTER_BITS = rule_bits("character")
# All times are whole multiples of this part of a bit time. So sums are exact, in whatever order they are made.
_PARTS_OF_BIT = 1 << 16


class Rotation(NamedTuple):
    """One rotation of the token: when it began [s], and its length in bit times.

    gap_answered: somebody was found at the address of the gap that was polled. disturbed: something was repeated.
    """

    start_s: float
    bits: float
    gap_answered: bool
    disturbed: bool


def _exact(bits: float) -> float:
    return round(bits * _PARTS_OF_BIT) / _PARTS_OF_BIT


def _restarted(was: Settings, now: Settings) -> bool:
    """True if something is active that becomes so at power-up only."""
    late = (name for name in NAMES if needs_power_cycle(name))
    return any(getattr(was.active, name) != getattr(now.active, name) for name in late)


class Line:
    """A network in simulated time. `change` puts a fault or a repair into it, `run` lets time pass.

    The same seed gives the same recording, whether or not it skips what it knows by heart (`skips`).
    """

    def __init__(self, installation: Installation, *, seed: int = 1, skips: bool = True) -> None:
        self.installation = installation
        self.random = Random(seed)
        self.bits = 0.0
        self.recording = Recording()
        self.last: Rotation | None = None
        self.found: dict[int, str] = {}  # addresses that answered a poll of the gap, and as what
        self.applications = {device.name: stations.make(device) for device in installation.stations}
        self.slaves: dict[str, DpSlave] = {}
        self.handlers: list[Handler] = []
        self.out: set[str] = set()  # masters that do not take the token
        self.asked_at: dict[str, float] = {}  # when each station last heard a request [bit times]
        self.polled: list[tuple[str, int, int]] = []  # of the last rotation: who polled, its address, whom it polled
        self.events = 0  # counts what makes a rotation another one: drives moved on, answers met, a master was found
        self._gap: dict[str, int] = {}  # how far each master is with its gap
        self._skips, self._memory = skips, Memory(self)
        self._begin()

    # -- what a person does to it -------------------------------------------------------------------------------------

    def change(self, change: Callable[[Installation], Installation]) -> None:
        """Put a fault, a repair or a turn of a switch into the installation.

        A device whose supply or board comes back starts up; whatever is set in a device counts as its settings say.
        One whose active address or format has changed was off and on in between. A project that was loaded anew starts
        all stations anew.
        """
        before, self.installation = self.installation, change(self.installation)
        if self.installation is before:
            return
        if self.installation.bit_rate != before.bit_rate:
            self.bits = _exact(self.bits * self.installation.bit_rate / before.bit_rate)  # seconds go on
        self._wire()
        for device in self.installation.stations:
            was = before.by_name[device.name]
            if device == was:
                continue
            stations.adapt(self.applications[device.name], device)
            if device.on_bus and not was.on_bus:
                self._up(device.name)
            elif was.on_bus and not device.on_bus:
                self._down(device.name)
            elif device.on_bus and _restarted(was.settings, device.settings):
                self._down(device.name)
                self._up_as_active(device)
        loaded = self.installation.loaded
        if loaded is not before.loaded or self.installation.bit_rate != before.bit_rate:
            self._load()
        if self.installation.running != before.running:
            self._say_mode()

    def power_cycle(self, *names: str) -> None:
        """Supply off, long enough for the device to go dark, and on again: what was set becomes active."""
        for name in names:
            self._down(name)
        self.run(_DROP_S)
        for name in names:
            self._up(name)

    def run(self, seconds: float) -> None:
        """Let simulated time pass; it ends with the rotation in which the time is over."""
        end = self.bits + seconds * self.installation.bit_rate
        while self.bits < end:
            if not (self._skips and self._memory.replay(end)):
                self._rotate()

    @property
    def now_s(self) -> float:
        """Simulated time since the line was switched on [s]."""
        return self.seconds(self.bits)

    def seconds(self, bits: float) -> float:
        """So many bit times [s]."""
        return bits / self.installation.bit_rate

    def handler(self, name: str) -> Handler:
        """The controller's side of a station; `Unknown` with the list if the loaded project has no such station."""
        one_of("station in the loaded project", name, [handler.name for handler in self.handlers])
        return next(handler for handler in self.handlers if handler.name == name)

    def hears_controller(self, name: str) -> bool:
        """True if a station gets the better part of the controller's telegrams whole."""
        return name not in self._deaf and self._medium.chance(self._master, name, octets=11) > 0.5

    # -- building -----------------------------------------------------------------------------------------------------

    def _begin(self) -> None:
        for device in self.installation.stations:
            self.slaves[device.name] = DpSlave(
                ident=device.ident,
                own=device.configuration,
                address=device.address,
                application=self.applications[device.name],
                user_octets=device.user_octets,
                offers=device.offers,
            )
        self._wire()
        for device in self.installation.stations:
            if device.on_bus:
                self._up_as_active(device)
            else:
                self._down(device.name)
        self._load()

    def _wire(self) -> None:
        """The cable, or who can speak at all, may have changed."""
        installation = self.installation
        self._open = installation.open_at(self.now_s)
        self._medium = Medium(installation, self._open)
        self._timing: BusTiming = bus_timing(installation.bit_rate)
        self._flickers = any(stretch.flickers for stretch in installation.stretches)
        self._tsl = self._timing.tsl_bits
        self._delay = _exact(installation.delay_bits)
        self._after_answer = self._timing.tid1_bits + self._delay
        self._master = installation.controller.name
        self._step_bits = STEP_S * installation.bit_rate
        self.next_step = self.bits + self._step_bits
        self._cycle_bits = installation.loaded.cycle_s * installation.bit_rate
        self._next_cycle = self.bits
        typical = tsdr_part(self._timing, "typical").bits
        self._typical_tsdr = typical
        self._tsdr = {d.name: typical if d.tsdr_bits is None else d.tsdr_bits for d in installation.stations}
        rate = installation.bit_rate
        self._deaf = {d.name for d in installation.stations if d.rates and rate not in d.rates}
        self._others = installation.others
        self.out -= {device.name for device in self._others}
        self._addresses()

    def _addresses(self) -> None:
        """Who listens at which address. A station that can't do the bit rate hears nothing it understands."""
        self._memory.forget()
        self._at: dict[int, list[tuple[str, DpSlave]]] = {}
        for name, slave in self.slaves.items():
            if slave.state != OFF and name not in self._deaf:
                self._at.setdefault(slave.address, []).append((name, slave))

    def _up(self, name: str) -> None:
        """A device gets supply: its settings count from now on."""
        device = self.installation.device(name)
        settings = stations.power_up(self.applications[name], device)
        if settings != device.settings:
            self.installation = self.installation.with_device(name, settings=settings)
            device = self.installation.device(name)
        self.slaves[name].power_up(self.now_s, address=device.address, own=device.configuration)
        self._addresses()

    def _up_as_active(self, device: Device) -> None:
        """A device gets supply and works with what is active; what was set after that still waits."""
        works = replace(device.settings, set=device.settings.active)
        self.installation = self.installation.with_device(device.name, settings=works)
        self._up(device.name)
        if works != device.settings:
            self.installation = self.installation.with_device(device.name, settings=device.settings)
            stations.adapt(self.applications[device.name], device)

    def _down(self, name: str) -> None:
        """The bus board of a device, or the device itself, has no supply any more."""
        self.slaves[name].power_down()
        if not self.installation.device(name).board_seated:
            return
        stations.power_down(self.applications[name])
        self._addresses()

    def _load(self) -> None:
        """The controller takes over its project: every station is started anew."""
        project = self.installation.loaded
        self.handlers = [Handler(station, project.address) for station in project.stations]
        self._cycle_bits = project.cycle_s * self.installation.bit_rate
        slowest = {d.name: d.min_slave_interval_s for d in self.installation.devices}
        pause_s = max((slowest.get(handler.name, 0.0) for handler in self.handlers), default=0.0)
        self._pause_bits = _exact(pause_s * self.installation.bit_rate)
        self._memory.forget()

    def _say_mode(self) -> None:
        """The controller tells all stations whether it is at work; nobody answers."""
        flags = frozenset() if self.installation.running else frozenset({"Clear_Data"})
        data = global_control.encode(GlobalControl(flags))
        own = self.installation.loaded.address
        told = message.request("Global_Control", to=message.EVERYBODY, sender=own, data=data).octets
        self._send(told, self._master)
        self.bits += self._timing.tid2_bits
        for name, slave in self.slaves.items():
            heard, whole = self._medium.heard(self._master, name, told, self.random)
            if whole and name not in self._deaf:
                slave.answer(heard, self.now_s)

    # -- one rotation -------------------------------------------------------------------------------------------------

    def _holders(self) -> list[tuple[str, int]]:
        """Who has the token in turn, and at which address."""
        others = ((d.name, d.address) for d in self._others if d.name not in self.out)
        return [(self._master, self.installation.loaded.address), *others]

    def _rotate(self) -> None:
        before = self._memory.look() if self._skips else None
        start, start_s = self.bits, self.now_s
        self._disturbed, self._gap_answered, self.polled = False, False, []
        holders = self._holders()
        for n, holder in enumerate(holders):
            if not self._token(holders[n - 1], holder):
                continue
            if n == 0:
                for handler in self.handlers:
                    self._message(handler)
                    if self.bits >= self.late_step:
                        self.step()
            self._poll_gap(*holder, following=holders[(n + 1) % len(holders)][1])
        if (missing := self._pause_bits - (self.bits - start)) > 0:
            self.bits += missing
        if self.bits >= self.next_step:
            self.step()
        self.last = Rotation(start_s, self.bits - start, self._gap_answered, self._disturbed)
        if before:
            self._memory.learn(before)

    # -- for a rotation that is known by heart ------------------------------------------------------------------------

    @property
    def draws(self) -> int:
        """How often chance has had a part in what arrives."""
        return self._medium.draws

    @property
    def late_step(self) -> float:
        """When the drives move on even within a rotation, in one that lasts longer than their step [bit times]."""
        return self.next_step + self._step_bits

    def listeners(self, address: int) -> list[DpSlave]:
        """The stations that listen at an address."""
        return [slave for _, slave in self._at.get(address, ())]

    def poll_nobody(self) -> bool:
        """Look into the gaps as the next rotation does; False, and nothing done, if somebody may be there."""
        holders, polls = self._holders(), []
        for n, (name, own) in enumerate(holders):
            if addresses := gap(own, holders[(n + 1) % len(holders)][1]):
                at = (self._gap.get(name, -1) + 1) % len(addresses)
                if addresses[at] in self._at or self._master_at(addresses[at]):
                    return False
                polls.append((name, own, addresses[at], at))
        for name, _, address, at in polls:
            self._gap[name] = at
            self.found.pop(address, None)
        self.polled = [poll[:3] for poll in polls]
        return True

    def pass_over(self, bits: float, *, disturbed: bool) -> None:
        """A rotation of this length has passed; what it did is known."""
        self.last = Rotation(self.now_s, bits, False, disturbed)
        self.bits += bits

    # -- the telegrams of a rotation ----------------------------------------------------------------------------------

    def _token(self, giver: tuple[str, int], taker: tuple[str, int]) -> bool:
        """The token goes on, to itself where there is one master alone; False if the taker does not take it.

        A master that does not hear the token, or is not heard with it, falls out of the ring. The controller then
        makes a new token, as every master does after a time of silence.
        """
        octets = token_ring.token(taker[1], giver[1])
        alone = giver == taker
        for _ in range(1 if alone else _TOKEN_TRIES):
            self._send(octets, giver[0])
            self.bits += self._timing.tid1_bits + (0 if alone else self._delay / 2)
            if alone or self._arrives(giver[0], taker[0], octets)[1]:
                return True
            self._disturbed = True
            self.events += 1
            self.bits += self._tsl
        lost, _ = giver if taker[0] == self._master else taker
        self.out.add(lost)
        return taker[0] == self._master

    def _message(self, handler: Handler) -> None:
        """One request of the controller, repeated if need be, and what comes back."""
        request = handler.request()
        for attempt in range(1 + self.installation.loaded.retries):
            if attempt:
                handler.counters.repeats += 1
                self._disturbed = True
            answer, damaged = self._ask(self._master, handler.address, request)
            if answer is not None:
                handler.take(answer)
                return
            handler.counters.damaged += damaged
        handler.lose()

    def _ask(self, sender: str, address: int, request: bytes) -> tuple[bytes | None, bool]:
        """Send a request and wait: the answer as the sender has it; None, and whether a damaged one came."""
        self._send(request, sender)
        now_s = self.bits / self.installation.bit_rate
        answers: list[tuple[str, bytes]] = []
        for name, slave in self._at.get(address, ()):
            heard, whole = self._arrives(sender, name, request)
            if not whole:
                continue
            self.asked_at[name] = self.bits
            if told := slave.answer(heard, now_s):
                answers.append((name, told))
        if not answers:
            self.bits += self._tsl
            return None, False
        name, said = answers[0]
        self.bits += max(self._tsdr[name], self.slaves[name].min_tsdr_bits)
        heard, whole = self._arrives(name, sender, said, noted=self.recording.on)
        if len(answers) > 1:
            self.events += 1
            said = max((answer for _, answer in answers), key=len)
            heard, whole = collided([answer for _, answer in answers], self.random), False
        elif whole and heard is not said:
            whole = frames.whole(heard) is not None
        if self.recording.on:
            self.recording.note(self.bits, heard, whole)
        self.bits += CHARACTER_BITS * len(said) + self._after_answer
        return (heard, False) if whole else (None, True)

    def _arrives(self, sender: str, receiver: str, octets: bytes, *, noted: bool = False) -> tuple[bytes, bool]:
        """What a receiver has of a telegram, and whether it is whole; of a hopeless one nothing, unless it is noted."""
        if not noted and self._medium.hopeless(sender, receiver, len(octets)):
            return b"", False
        return self._medium.heard(sender, receiver, octets, self.random)

    def _poll_gap(self, name: str, own: int, *, following: int) -> None:
        """One look for a new neighbour: is anybody at the next address between this master and the one that follows?"""
        addresses = gap(own, following)
        if not addresses:
            return
        self._gap[name] = n = (self._gap.get(name, -1) + 1) % len(addresses)
        address = addresses[n]
        self.polled.append((name, own, address))
        poll, master = token_ring.poll(address, own), self._master_at(address)
        if master is None:
            answer, _ = self._ask(name, address, poll)
            self._found(address, "station" if answer else "")
            return
        self.events += 1
        self._send(poll, name)
        if not all(self._arrives(*way, poll)[1] for way in ((name, master.name), (master.name, name))):
            self.bits += self._tsl
            return
        self._gap_answered = True
        self.bits += self._typical_tsdr
        self._send(token_ring.in_ring(own, address), master.name)
        self.bits += self._after_answer
        self.out.discard(master.name)

    def _master_at(self, address: int) -> Device | None:
        return next((device for device in self._others if device.address == address), None)

    def _found(self, address: int, what: str) -> None:
        if what:
            self._gap_answered = True
            self.events += 1
            self.found[address] = what
        else:
            self.found.pop(address, None)

    def _send(self, octets: bytes, sender: str) -> None:
        if self.recording.on:
            heard, whole = (
                (octets, True)
                if sender == self._master
                else self._medium.heard(sender, self._master, octets, self.random)
            )
            self.recording.note(self.bits, heard, whole)
        self.bits += CHARACTER_BITS * len(octets)

    # -- between the telegrams ----------------------------------------------------------------------------------------

    def step(self) -> None:
        """Drives, motors and watchdogs move on; the controller's program works when its cycle is over."""
        self.events += 1
        steps = math.floor((self.bits - self.next_step) / self._step_bits) + 1
        self.next_step += steps * self._step_bits
        now_s = self.now_s
        if self._flickers and (now_open := self.installation.open_at(now_s)) != self._open:
            self._open, self._medium = now_open, Medium(self.installation, now_open)
            self._memory.forget()
        for device in self.installation.stations:
            slave = self.slaves[device.name]
            if device.supply_drops_s:
                self._drop(device, now_s)
            self.applications[device.name].advance(steps * STEP_S)
            slave.look(now_s)
        if self.bits >= self._next_cycle:
            self._next_cycle = self.bits + self._cycle_bits
            for handler in self.handlers:
                handler.work(running=self.installation.running)

    def _drop(self, device: Device, now_s: float) -> None:
        """A supply that fails now and then: gone for a moment at the end of each period."""
        slave = self.slaves[device.name]
        gone = now_s % device.supply_drops_s > device.supply_drops_s - _DROP_S
        if gone and slave.state != OFF:
            self._down(device.name)
        elif not gone and slave.state == OFF and device.on_bus:
            self._up(device.name)
