"""What is built, set and loaded: cable and plugs, devices with their settings, and what the controller holds.

An installation is one frozen picture of the plant. A fault, a repair and a turn of a switch are all the same thing: a
function from one installation to another. What then happens on the bus is for `helpers.line.traffic.line` to find out.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property

from helpers import facts
from helpers.bus.cable.laid import Segment
from helpers.bus.circuit.elements import Break, Circuit
from helpers.bus.circuit.faults import Built, CableFault
from helpers.bus.time.timing import rule_bits
from helpers.device.formats import known_configuration
from helpers.device.identifiers import Configuration
from helpers.drive.parameters.parameter_channel import Channel
from helpers.drive.scaling import form
from helpers.drive.settings import Settings
from helpers.drive.states import USUAL, Options
from helpers.errors import Unknown, one_of


def configuration_of(data_format: str) -> Configuration:
    """The configuration that a format's name or the identifiers themselves stand for; `Unknown` for anything else.

    >>> configuration_of("PPO 3").octets.hex(), configuration_of("16#11 16#21").bytes_in
    ('f1', 2)
    """
    found = known_configuration(data_format)
    if found is None:
        raise Unknown(f"{data_format!r} is neither a data format nor configuration identifiers.")
    return found


AS_DELIVERED = Settings()


@dataclass(frozen=True)
class Flicker:
    """A break in one piece of cable that comes and goes: it opens for the last `open_s` of every `every_s` seconds.

    >>> loose = Flicker(0, Break("A"), every_s=5.0, open_s=0.1)
    >>> [loose.is_open(now_s) for now_s in (0.0, 4.8, 4.95, 5.05)]
    [False, False, True, False]
    """

    section: int
    fault: Break
    every_s: float
    open_s: float

    def is_open(self, now_s: float) -> bool:
        """True while it is open."""
        return now_s % self.every_s > self.every_s - self.open_s


@dataclass(frozen=True)
class Stretch(Built):
    """One segment as it is built, and the noise between its cores.

    The plugs laid bear the names of the devices at them; empty for a bare terminator. Whether a device has supply says
    the device. noise_v: effective noise between the cores at each plug [V]. beside: pieces of cable that lie in one
    bundle with a motor cable without shield. flickers: breaks that come and go.
    """

    noise_v: tuple[float, ...] = ()
    beside: frozenset[int] = frozenset()
    flickers: tuple[Flicker, ...] = ()

    @property
    def name(self) -> str:
        """The name of the segment, as the plan has it."""
        return self.laid.name

    @cached_property
    def devices(self) -> tuple[str, ...]:
        """The name of the device at each plug, from the left; empty for a bare terminator."""
        return tuple(plug.name for plug in self.laid.plugs)

    def plug_of(self, device: str) -> int:
        """The number of the plug of a device; `Unknown` if it is not in this segment."""
        one_of("device in the segment", device, self.devices)
        return self.devices.index(device)

    def wrong_at(self, plug: int) -> tuple[CableFault, ...]:
        """What is wrong at a plug."""
        return tuple(fault for fault in self.wrong if fault.plug == plug)

    def wrong_in(self, piece: int) -> tuple[CableFault, ...]:
        """What is wrong in a piece of cable."""
        return tuple(fault for fault in self.wrong if fault.piece == piece)

    def live(self, off: frozenset[str], now_open: frozenset[Flicker] = frozenset()) -> Circuit:
        """The circuit while these devices are off and these breaks open.

        The terminators that a device feeds are without supply while it is off.
        """
        circuit = self.circuit
        for flicker in self.flickers:
            if flicker in now_open:
                faults = circuit.sections[flicker.section].faults
                circuit = circuit.with_section(flicker.section, faults=(*faults, flicker.fault))
        for number, plug in enumerate(self.laid.plugs):
            here = circuit.plugs[number].terminators
            if plug.name in off and here:
                fed = len(here) - plug.own_supply
                dead = tuple(replace(t, supply="dead") if t.supply == "on" else t for t in here[:fed])
                circuit = circuit.with_plug(number, terminators=dead + here[fed:])
        return circuit


@dataclass(frozen=True)
class Device:
    """One device: what it is, whether it lives, and what is set in it.

    ident: its ident number. rates: the bit rates that it can do [bit/s]; empty for all. tsdr_bits: its time to
    answer, None for the usual one. min_slave_interval_s: the controller may not ask it sooner again. board_seated:
    the bus board sits firmly in the drive. supply_drops_s: every so many seconds its supply fails for a moment; 0
    for never. fault_returns_s: its own fault comes back so long after each acknowledgement; 0 for never.
    cause_present: the cause of a fault is there now. machine: the name by which `data/demo/motors.csv` knows what a
    drive turns. board_earthed: the earth wire of its bus board is connected. user_octets: how many octets of
    parameters of its own it takes in Set_Prm. offers: the bits of Set_Prm that it can obey; with DPV1_Enable the first
    three of its own parameters are those of DPV1. address_over_bus: it takes an address by Set_Slave_Add.
    """

    name: str
    kind: str
    ident: int = 0
    settings: Settings = AS_DELIVERED
    rates: frozenset[float] = frozenset()
    tsdr_bits: int | None = None
    min_slave_interval_s: float = 0.0
    powered: bool = True
    board_seated: bool = True
    supply_drops_s: float = 0.0
    fault_returns_s: float = 0.0
    cause_present: bool = False
    machine: str = ""
    options: Options = USUAL
    board_earthed: bool = True
    user_octets: int = 0
    offers: frozenset[str] = frozenset()
    address_over_bus: bool = False

    @property
    def configuration(self) -> Configuration:
        """What it exchanges, by the data format that is active in it."""
        return configuration_of(self.settings.active.data_format)

    @property
    def address(self) -> int:
        """The address at which it answers: the active one."""
        return self.settings.active.address

    @property
    def on_bus(self) -> bool:
        """True if its bus interface has supply."""
        return self.powered and self.board_seated

    @property
    def is_station(self) -> bool:
        """True for a device that a controller polls."""
        return self.kind in ("drive", "remote I/O", "other")


@dataclass(frozen=True)
class Program:
    """What the controller's program does with one drive.

    run: it wants the drive to run. percent: the speed it wants. bit_10: its control words have bit 10, control by
    PLC, at 1. waits: it goes through the start sequence step by step; without, it sends 16#047F from the first cycle
    on. swapped: it writes and reads its words with the bytes exchanged. full_scale: the number that it takes for 100 %.
    task: a parameter task that it writes into the parameter channel once; cleared: it takes the task back after the
    answer. acknowledges: it acknowledges a fault once.
    """

    run: bool = True
    percent: float = 60.0
    bit_10: bool = True
    waits: bool = True
    swapped: bool = False
    full_scale: int = form("N2").full
    task: Channel | None = None
    cleared: bool = True
    acknowledges: bool = False


@dataclass(frozen=True)
class Configured:
    """A station as the engineering computer has it: what the controller will send.

    data_format: a name, or identifiers themselves; what Chk_Cfg sends. ident and user: for Set_Prm. watchdog_s: 0
    switches it off. program: None where nothing but zeros is written.
    """

    name: str
    address: int
    ident: int
    data_format: str
    watchdog_s: float = 0.0
    user: bytes = b""
    program: Program | None = None

    @property
    def configuration(self) -> Configuration:
        """What the controller expects the station to have. Raises `Unknown` for a format that means nothing."""
        return configuration_of(self.data_format)


@dataclass(frozen=True)
class Project:
    """What is saved in the engineering computer, and what is loaded into the controller.

    A station's `program` belongs to it. retries: how often a request without answer is sent again. cycle_s: the time
    of the controller's program [s].
    """

    stations: tuple[Configured, ...]
    address: int = 1
    retries: int = rule_bits("request again")
    cycle_s: float = facts.one("practice_line", name="controller_cycle_s").number("value")

    def station(self, name: str) -> Configured:
        """The station of this name; `Unknown` with the list if there is none."""
        one_of("station in the project", name, (station.name for station in self.stations))
        return next(station for station in self.stations if station.name == name)

    def with_station(self, name: str, **changes: object) -> Project:
        """The project with something changed at one station."""
        changed = replace(self.station(name), **changes)  # type: ignore[arg-type]
        return replace(self, stations=tuple(changed if s.name == name else s for s in self.stations))


@dataclass(frozen=True)
class Installation:
    """Everything that can be wrong or right about a network.

    edited is the project as it stands in the engineering computer, loaded the one that the controller works with.
    running: the controller's program runs; False is the switch at "stop". bit_rate in bit/s, set in the controller.
    delay_bits: 2·TTD between the two stations that lie farthest apart [bit times].
    """

    bit_rate: float
    stretches: tuple[Stretch, ...]
    devices: tuple[Device, ...]
    edited: Project
    loaded: Project
    running: bool = True
    delay_bits: float = 0.0

    def __post_init__(self) -> None:
        at_its_rate = tuple(
            stretch if stretch.laid.bit_rate == self.bit_rate
            else replace(stretch, laid=replace(stretch.laid, bit_rate=self.bit_rate))
            for stretch in self.stretches
        )  # fmt: skip
        object.__setattr__(self, "stretches", at_its_rate)

    @cached_property
    def by_name(self) -> dict[str, Device]:
        """The devices by their names."""
        return {device.name: device for device in self.devices}

    def device(self, name: str) -> Device:
        """The device of this name; `Unknown` with the list if there is none."""
        one_of("device", name, self.by_name)
        return self.by_name[name]

    @property
    def controller(self) -> Device:
        """The controller that polls the stations."""
        return next(device for device in self.devices if device.kind == "controller")

    @property
    def others(self) -> tuple[Device, ...]:
        """Further holders of the token that have supply: second controllers and engineering computers."""
        first = self.controller
        masters = ("controller", "engineering computer")
        return tuple(d for d in self.devices if d.kind in masters and d is not first and d.on_bus)

    @property
    def stations(self) -> tuple[Device, ...]:
        """The devices that a controller polls."""
        return tuple(device for device in self.devices if device.is_station)

    def places(self, device: str) -> Iterator[tuple[int, int]]:
        """Segment and plug, both counted from 0, of each place where a device sits; a repeater has two."""
        for number, stretch in enumerate(self.stretches):
            for plug, name in enumerate(stretch.devices):
                if name == device:
                    yield number, plug

    def place(self, device: str) -> tuple[int, int]:
        """Segment and plug of a device; the first of a repeater's two. `Unknown` if it has none."""
        one_of("device on the cable", device, (name for s in self.stretches for name in s.devices if name))
        return next(self.places(device))

    def with_device(self, name: str, **changes: object) -> Installation:
        """The installation with something changed at one device."""
        changed = replace(self.device(name), **changes)  # type: ignore[arg-type]
        return replace(self, devices=tuple(changed if d.name == name else d for d in self.devices))

    def with_laid(self, segment: int, laid: Segment) -> Installation:
        """The installation with something else laid in one segment; the plugs have to stay the same in number."""
        return self.with_stretch(segment, laid=laid)

    def with_plug(self, segment: int, plug: int, **changes: object) -> Installation:
        """The installation with something changed at one plug as it is laid."""
        return self.with_laid(segment, self.stretches[segment].laid.with_plug(plug, **changes))

    def with_wrong(self, segment: int, *faults: CableFault) -> Installation:
        """The installation with more that is wrong in one segment."""
        return self.with_stretch(segment, wrong=(*self.stretches[segment].wrong, *faults))

    def without_wrong(self, segment: int, gone: Iterable[CableFault]) -> Installation:
        """The installation with these faults of one segment put right."""
        right = frozenset(gone)
        left = tuple(fault for fault in self.stretches[segment].wrong if fault not in right)
        return self.with_stretch(segment, wrong=left)

    def with_stretch(self, segment: int, **changes: object) -> Installation:
        """The installation with something changed in one segment."""
        changed = replace(self.stretches[segment], **changes)  # type: ignore[arg-type]
        stretches = tuple(changed if n == segment else s for n, s in enumerate(self.stretches))
        return replace(self, stretches=stretches)

    def open_at(self, now_s: float) -> frozenset[Flicker]:
        """The breaks that come and go and are open at this moment [s]."""
        return frozenset(f for stretch in self.stretches for f in stretch.flickers if f.is_open(now_s))

    @property
    def off(self) -> frozenset[str]:
        """The names of the devices whose bus interface has no supply."""
        return frozenset(device.name for device in self.devices if not device.on_bus)
