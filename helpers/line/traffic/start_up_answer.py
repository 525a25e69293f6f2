"""The answer on the start of one station of the practice line, step by step: what is sent, who knows what."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache, lru_cache, partial
from typing import NamedTuple

from helpers import facts
from helpers.answer import Answer, Row
from helpers.bus.recording.answers import octet_rows, telegram_row
from helpers.bus.recording.telegram_meaning import REQUEST
from helpers.bus.services import diagnosis
from helpers.caution import Caution
from helpers.errors import in_range, one_of
from helpers.line.faults import catalogue as faults
from helpers.line.faults.settings import with_values
from helpers.line.plant.build import installation_of
from helpers.line.plant.changes import edited
from helpers.line.plant.installation import Installation
from helpers.line.plant.place import Place
from helpers.line.repairs import catalogue as repairs
from helpers.line.traffic.line import Line
from helpers.line.traffic.start_up import StartUpStep, steps
from helpers.plan.my_networks import demo_network
from helpers.safe_work import cautions
from helpers.wording import short

_SHOWN = 5  # steps in the picture
STATION = "Cooling fan"
BEFORE, AFTER = 8, 8  # steps before and after something is put right
MOST = BEFORE + AFTER + 2
_SLOW = 93_750.0  # bit/s: at the mill's own bit rate no watchdog is shorter than its cycle
_SEED = 3


@dataclass(frozen=True)
class StartCase:
    """One start: what is wrong with it, and the repairs that put it right, in their order."""

    words: str
    make: Callable[[Installation], Installation]
    cure: tuple[str, ...] = ()
    bit_rate: float = 0.0


def _fault(words: str, key: str, bit_rate: float = 0.0) -> StartCase:
    fault = faults.by_key(key)

    def make(installation: Installation) -> Installation:
        place = next(place for place in fault.places(installation) if place.device == STATION)
        return fault.put(installation, place, _SEED)

    return StartCase(words, make, fault.cures[0], bit_rate)


def _never_loaded(installation: Installation) -> Installation:
    """Another format was set at the drive and in the project; the project was saved, and the controller not loaded."""
    changed = with_values(installation, STATION, data_format="PPO 2")
    return edited(changed, STATION, data_format="PPO 2")


@cache
def cases() -> dict[str, StartCase]:
    """What can be wrong, by its words.

    >>> list(cases())[:2]
    ['nothing', 'ident number of another device']
    """
    known = (
        StartCase("nothing", lambda installation: installation),
        _fault("ident number of another device", "ident mismatch"),
        _fault("another data format in the drive", "format differs"),
        _fault("too many parameter octets", "wrong parameters"),
        _fault("wrong address at the drive", "wrong address"),
        _fault("address set, drive not off since", "address not active"),
        _fault("watchdog too short", "watchdog short", _SLOW),
        StartCase("saved, but never loaded", _never_loaded, ("load controller",)),
        StartCase("drive still switched off", partial(Installation.with_device, name=STATION, powered=False),
             ("switch on",)),
    )  # fmt: skip
    return {case.words: case for case in known}


@dataclass(frozen=True)
class Act:
    """What a person does between two steps."""

    number: int
    words: str
    caution: tuple[Caution, ...]


@dataclass(frozen=True)
class LadderPicture:
    """The last steps of a start: what the controller does next, what is sent, and the state of the station."""

    items: tuple[StartUpStep | Act, ...]

    @property
    def shown(self) -> tuple[StartUpStep | Act, ...]:
        """The steps that are shown."""
        return self.items[-_SHOWN:]

    @property
    def says(self) -> str:
        """Each step with its service and the state of the station."""
        return "; ".join(
            f"step {item.number}: by hand"
            if isinstance(item, Act)
            else f"step {item.number}: {item.service}, {item.station}"
            for item in self.shown
        )


class Start(NamedTuple):
    """A start: its steps and acts, and beside each of them the installation as it then is."""

    items: tuple[StartUpStep | Act, ...]
    plants: tuple[Installation, ...]


@cache
def _mill(bit_rate: float) -> Installation:
    """The demo site, at its own bit rate or at another."""
    network = demo_network()
    return installation_of(replace(network, bit_rate=bit_rate or network.bit_rate))


@lru_cache(maxsize=32)
def start(wrong: str, put_right: bool) -> Start:
    """The start of the cooling fan, the recording of the practice line cut into steps.

    Parameters: wrong, one of `cases()`; put_right, whether somebody puts it right after the eighth step.
    """
    one_of("what is wrong", wrong, cases())
    case = cases()[wrong]
    healthy = _mill(case.bit_rate)
    line = Line(case.make(healthy))
    if not (put_right and case.cure):
        return Start(steps(line, STATION, BEFORE + AFTER), (line.installation,) * (BEFORE + AFTER))
    told: list[StartUpStep | Act] = list(steps(line, STATION, BEFORE))
    plants = [line.installation] * BEFORE
    for key in case.cure:
        repair = repairs.by_key(key)
        (place,) = repair.meeting(line.installation, Place(STATION, STATION))
        value = repair.planned(healthy, place)
        line.change(partial(repair.do, place=place, value=value))
        told.append(Act(len(told) + 1, repair.name, repair.care.cautions))
        plants.append(line.installation)
    last = steps(line, STATION, AFTER, first=len(told) + 1)
    return Start((*told, *last), (*plants, *(line.installation for _ in last)))


def set_where(plant: Installation) -> list[Row]:
    """What is saved, what is loaded, and what counts in the drive, side by side; a line that differs is marked."""
    saved, loaded, device = plant.edited.station(STATION), plant.loaded.station(STATION), plant.device(STATION)
    active = device.settings.active
    watchdogs = [f"{one.watchdog_s * 1000:g} ms" if one.watchdog_s else "off" for one in (saved, loaded)]
    told = (
        ("address", saved.address, loaded.address, active.address),
        ("data format", saved.data_format, loaded.data_format, active.data_format),
        ("ident number", f"16#{saved.ident:04X}", f"16#{loaded.ident:04X}", f"16#{device.ident:04X}"),
        ("own parameters", *(f"{octets} octets" for octets in (len(saved.user), len(loaded.user), device.user_octets))),
        ("watchdog", *watchdogs, "as it is sent"),
    )
    rows: list[Row] = []
    for what, *values in told:
        known = {str(value) for value in values if value != "as it is sent"}
        rows.append({
            "": what, "saved in the engineering computer": str(values[0]), "loaded in the controller": str(values[1]),
            "active in the drive": str(values[2]), "alike?": "yes" if len(known) == 1 else "◀ no",
        })  # fmt: skip
    return rows


def start_up_answer(wrong: str, put_right: bool, number: int) -> Answer:
    """One step of a start, with those before it.

    Parameters: wrong, one of `cases()`; put_right, whether it is put right after the eighth step; number, of the step
    (beyond the last one: the last). Raises `Unknown`, `OutOfRange`.
    """
    in_range("step", number, 1, MOST)
    told, plants = start(wrong, put_right)
    number = min(number, len(told))
    here = told[number - 1]
    compared = ("What is saved, loaded and active", set_where(plants[number - 1]))
    picture = LadderPicture(told[:number])
    if isinstance(here, Act):
        return Answer(
            f"Step {number}, by hand: {here.words[0].lower()}{here.words[1:]}.",
            because=f"Then go on, and watch what the controller of {STATION.lower()} does by itself.",
            caution=here.caution,
            pictures=[picture],
            folded=[compared],
        )
    read = diagnosis.read(here.diagnosis) if here.diagnosis else None
    advice: list[Row] = [
        {"reports": one.about, "look at first": one.look_first, "what to do": one.to_do}
        for one in (read.advice if read else ())
    ]
    return Answer(
        f"Step {number}: {_said(here)}",
        because=f"The controller now {here.controller}; the station: {here.station}. " + (
            f"Last diagnosis: {read.state}. {read.sentence}" if read else "No diagnosis has been fetched yet."),
        caution=cautions("data exchange") if (here.service, here.station) == ("Data_Exchange", "data exchange") else (),
        pictures=[picture],
        rows=advice[:2],
        folded=[
            compared,
            *((f"{one.kind} {one.way or 'answer'}, octet by octet", octet_rows(one)) for one in here.telegrams[-2:]),
            ("The telegrams of this station so far", _so_far(told[:number])),
        ],
        sources=[one.source for one in (read.advice[:2] if read else ())]
        + [f"order of the services: {facts.one('start_up_order', step=1).cited}"],
    )  # fmt: skip


def _said(step: StartUpStep) -> str:
    asked = next(one for one in step.telegrams if one.role == REQUEST)
    answer = step.answer
    said = f"Answer: {short(answer.meaning, 90)}." if answer else unanswered(step)
    return f"{step.service} – {short(asked.meaning, 90)}. {said}"


def unanswered(step: StartUpStep) -> str:
    """That a request had no answer, and how often it was tried."""
    tries = sum(one.role == REQUEST for one in step.telegrams)
    return f"No answer, {'twice' if tries == 2 else f'{tries} times' if tries > 1 else 'once'}."


def _so_far(told: tuple[StartUpStep | Act, ...]) -> list[Row]:
    rows: list[Row] = []
    for item in told:
        if isinstance(item, StartUpStep):
            stamps = [line.split("  ", 1) for line in item.text.splitlines()]
            for one, (at, octets) in zip(item.telegrams, stamps, strict=False):
                listed = {name: value for name, value in telegram_row(one).items() if name != "pair"}
                rows.append({"step": item.number, "time": at, **listed, "octets": short(octets, 62)})
    return rows
